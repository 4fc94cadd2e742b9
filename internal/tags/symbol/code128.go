package symbol

import (
	"fmt"
	"image/color"

	"github.com/boombuler/barcode/code128"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
)

// Code128 makes the symbol of a tag number: 14 digits, two to a symbol character (code set C), 112
// modules with start, check and stop characters. Any other text is refused. The bars have been read
// back by a decoder and found to say the digits.
func Code128(digits string) (Bars, error) {
	if len(digits) != 14 {
		return nil, fmt.Errorf("Code 128 carries the 14 digits of a tag number, not %d characters", len(digits))
	}
	for i := range len(digits) {
		if digits[i] < '0' || digits[i] > '9' {
			return nil, fmt.Errorf("Code 128 carries the 14 digits of a tag number, not %q", digits)
		}
	}
	return Text128(digits)
}

// Text128 makes a symbol of any text of ASCII 32 to 126: no tag, but what a scanner's test shows. The bars have
// been read back by a decoder and found to say the text.
func Text128(text string) (Bars, error) {
	bars, _, err := encode128(text)
	if err != nil {
		return nil, err
	}
	got, err := decode128(bars)
	if err != nil {
		return nil, fmt.Errorf("the Code 128 made for %s cannot be read back: %w", text, err)
	}
	if got != text {
		return nil, fmt.Errorf("the Code 128 made for %s reads %q", text, got)
	}
	return bars, nil
}

// encode128 makes bars, and gives the check character's value. Text outside ASCII 32 to 126 is
// refused: the library takes U+00F1 to U+00F4 (so a name with ñ) for function characters.
func encode128(text string) (Bars, int, error) {
	for _, r := range text {
		if r < 32 || r > 126 {
			return nil, 0, fmt.Errorf("Code 128 cannot carry %q: only the characters from space to ~", r)
		}
	}
	code, err := code128.Encode(text)
	if err != nil {
		return nil, 0, err
	}
	bars := make(Bars, code.Bounds().Dx())
	for x := range bars {
		bars[x] = code.At(x, 0) == color.Black
	}
	return bars, code.CheckSum(), nil
}

// decode128 reads bars at two pixels a module, with their quiet zones.
func decode128(bars Bars) (string, error) {
	row := gozxing.NewBitArray(2 * (len(bars) + 2*QuietCode128))
	for i, dark := range bars {
		if dark {
			row.Set(2 * (i + QuietCode128))
			row.Set(2*(i+QuietCode128) + 1)
		}
	}
	result, err := oned.NewCode128Reader().(oned.RowDecoder).DecodeRow(0, row, nil)
	if err != nil {
		return "", err
	}
	return result.GetText(), nil
}
