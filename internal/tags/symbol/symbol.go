// Package symbol turns text into bar code symbols and pictures of symbols back into text. It is
// the only importer of the bar code libraries.
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
