package label

import (
	"errors"
	"strings"
	"unicode/utf8"

	"tagd/internal/tags"
)

// Column is a place for text on a paper that is no tag: so wide, and as high as its text needs. In
// it no text is refused for its length.
type Column struct {
	Name     string  // what the paper calls it, for errors
	W        float64 // millimetres
	Max, Min float64 // sizes of letters, points; equal ones leave only breaking
	Face     Face
	Right    bool // lines end at the right edge instead of beginning at the left one
}

// Writing is text as it came out in a Column.
type Writing struct{ block }

// Set sets paragraphs, each beginning a line: on one line each down to 0.7 of the largest size, else
// broken at the largest size that leaves all words whole. A word that is too wide at the least size
// goes on in the next line. The error is a LetterError.
func (c Column) Set(paragraphs ...string) (Writing, error) {
	const endless = 1 << 20
	f := field{name: c.Name, w: c.W, h: endless, max: c.Max, min: c.Min, lines: endless, face: c.Face}
	if c.Right {
		f.side = right
	}
	b, err := f.fit(paragraphs...)
	var wide *FitError
	if errors.As(err, &wide) {
		return Writing{block{field: f, size: c.Min, text: f.cut(paragraphs, c.Min)}}, nil
	}
	return Writing{b}, err
}

// cut breaks paragraphs into lines at a size, and words that are wider than the field too.
func (f field) cut(paragraphs []string, size float64) []string {
	room := f.w / (size * point)
	var lines []string
	for _, p := range paragraphs {
		for p = Clean(p); p != ""; {
			n := f.lineEnd(p, room)
			if n == 0 {
				n = f.letters(p, room)
			}
			lines = append(lines, strings.TrimRight(p[:n], " "))
			p = strings.TrimLeft(p[n:], " ")
		}
	}
	return lines
}

// letters gives how much of a word that is wider than room (em) fits into it: a letter at least.
func (f field) letters(word string, room float64) int {
	n := 0
	for i, r := range word {
		end := i + utf8.RuneLen(r)
		if n > 0 && f.face.reach(word[:end]) > room {
			break
		}
		n = end
	}
	return n
}

// Size is the size of the letters in points.
func (w Writing) Size() float64 { return w.size }

// Lines is the text line by line.
func (w Writing) Lines() []string { return w.text }

// Width is the width of the widest line in millimetres.
func (w Writing) Width() float64 { return w.width() }

// Rise is how far the first line's letters stand above their base line, in millimetres.
func (w Writing) Rise() float64 {
	if len(w.text) == 0 {
		return 0
	}
	return (capEm + w.rise(0)) * w.size * point
}

// Depth is how far the base line of the last line lies below that of the first, in millimetres.
func (w Writing) Depth() float64 {
	return float64(max(0, len(w.text)-1)) * w.pitch() * w.size * point
}

// Draw prints the text from x on, the first line on the base line y.
func (w Writing) Draw(d Device, x, y float64) {
	w.x, w.y = x, y-w.Rise()
	w.draw(d)
}

// Picket draws the Code 128 of a number with upright bars, centred on x and about h high. A module
// is the least whole number of dots from 0.5 mm on; the bars take 112 modules and the quiet zones,
// which the caller leaves white, 10 on either side.
func Picket(d Device, n tags.Number, x, y, h float64) error {
	return picket(d, n, x, y, dotsUp(d, ladderX), h)
}

// QR draws a QR code in the middle of a square that includes its quiet zone: at level Q, or M if
// only that fits with modules of 0.8 mm, in the largest whole dots. The error is a FitError where
// the square is too small.
func QR(d Device, text string, x, y, side float64) error { return qr(d, text, x, y, side) }
