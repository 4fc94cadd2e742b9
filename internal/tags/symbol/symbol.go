// Package symbol turns text into bar code symbols, and pictures of symbols back into text. It is
// the only importer of the bar code libraries.
//
// Code128 and QR make symbols as modules, dark or light, for somebody else to draw. Reading back is
// part of making: no symbol is given out that a decoder does not read as the very text that was
// asked for. CheckImage does the same for a finished picture.
//
// A Reader finds the tags in photos. Photos come from anybody, so it looks at a file's head before
// it unpacks the picture, bounds the memory, the number of photos at a time and the tries, and
// survives what the decoders do not. A number in a photo is trusted by its own check digits, and a
// Code 128 only when several lines across it agree.
package symbol

// Quiet zones: the light margin that a reader needs around a symbol, in modules. The symbols of
// this package come without; whoever draws them leaves the margin. ISO/IEC 15417 asks for 10 X left
// and right of Code 128, ISO/IEC 18004 for 4 modules on all sides of a QR code.
const (
	QuietCode128 = 10
	QuietQR      = 4
)

// Bars is a linear symbol, module by module from left to right; true is dark. It begins and ends
// with a dark module.
type Bars []bool

// Matrix is a square symbol of N by N modules, without its quiet zone.
type Matrix struct {
	N    int
	dark []bool // row by row from the top
}

// Size is the number of modules on a side.
func (m Matrix) Size() int { return m.N }

// Dark says whether the module in column x from the left and row y from the top is dark. Modules
// outside the symbol are light, as its quiet zone is.
func (m Matrix) Dark(x, y int) bool {
	return x >= 0 && y >= 0 && x < m.N && y < m.N && m.dark[y*m.N+x]
}
