package label

import (
	"fmt"
	"image"

	"tagd/internal/tags/symbol"
)

// Verify reads a finished picture of a label and says which of the texts its symbols must read as
// are not in it. The symbols themselves have been read back when they were made; this finds what
// happened to them since: a wrong scale, something drawn over them, a quiet zone that was cut.
func Verify(img image.Image, l Label) error {
	if err := symbol.CheckImage(img, l.Codes()...); err != nil {
		return fmt.Errorf("the finished tag cannot be read: %w", err)
	}
	return nil
}
