package symbol

import (
	"errors"
	"fmt"
	"strings"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/encoder"
)

// Level is how much of a QR code may be lost and still be read.
type Level uint8

// The two levels that tags use.
const (
	LevelM Level = iota // about 15 % of the codewords
	LevelQ              // about 25 %
)

// String is the level's letter.
func (l Level) String() string {
	switch l {
	case LevelM:
		return "M"
	case LevelQ:
		return "Q"
	}
	return fmt.Sprintf("level %d", uint8(l))
}

func (l Level) level() (decoder.ErrorCorrectionLevel, error) {
	switch l {
	case LevelM:
		return decoder.ErrorCorrectionLevel_M, nil
	case LevelQ:
		return decoder.ErrorCorrectionLevel_Q, nil
	}
	return 0, fmt.Errorf("QR error correction %s does not exist: M or Q", l)
}

// alphanumeric is the set of characters of QR's alphanumeric mode (ISO/IEC 18004, 45 characters).
const alphanumeric = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"

// QR makes the smallest QR code of a level that carries text. The text must consist of the 45
// characters of QR's alphanumeric mode; digits alone are packed closer still. Empty text, other
// characters and text too long for version 40 are refused. The modules have been read back by a
// decoder and found to say the text.
func QR(text string, level Level) (Matrix, error) {
	ec, err := level.level()
	if err != nil {
		return Matrix{}, err
	}
	if err := checkQR(text); err != nil {
		return Matrix{}, err
	}
	code, err := encoder.Encoder_encode(text, ec, nil)
	if err != nil {
		return Matrix{}, fmt.Errorf("a QR code of level %s cannot hold %d characters: %w", level, len(text), err)
	}
	cells := code.GetMatrix()
	m := Matrix{N: cells.GetWidth(), dark: make([]bool, cells.GetWidth()*cells.GetHeight())}
	for y, row := range cells.GetArray() {
		for x, c := range row {
			m.dark[y*m.N+x] = c == 1
		}
	}
	got, err := decodeQR(m)
	if err != nil {
		return Matrix{}, fmt.Errorf("the QR code made for %q cannot be read back: %w", text, err)
	}
	if got != text {
		return Matrix{}, fmt.Errorf("the QR code made for %q reads %q", text, got)
	}
	return m, nil
}

func checkQR(text string) error {
	if text == "" {
		return errors.New("a QR code needs a text")
	}
	for _, r := range text {
		if !strings.ContainsRune(alphanumeric, r) {
			return fmt.Errorf("a QR code of ours cannot carry %q: only digits, capital letters, space and $%%*+-./:", r)
		}
	}
	return nil
}

func decodeQR(m Matrix) (string, error) {
	bits, err := gozxing.NewSquareBitMatrix(m.N)
	if err != nil {
		return "", err
	}
	for y := range m.N {
		for x := range m.N {
			if m.dark[y*m.N+x] {
				bits.Set(x, y)
			}
		}
	}
	result, err := decoder.NewDecoder().Decode(bits, nil)
	if err != nil {
		return "", err
	}
	return result.GetText(), nil
}
