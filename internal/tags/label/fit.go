package label

import (
	"fmt"
	"math"
	"strings"
)

// FitError says that a text does not fit its place on a label at the smallest size that can be
// read there.
type FitError struct {
	Field string // what the label calls it: "mark", "job", "heat 2"
	Text  string
}

// Error says what to shorten.
func (e *FitError) Error() string {
	return fmt.Sprintf("%s %q does not fit its place on the tag: shorten it", e.Field, e.Text)
}

// LetterError says that a text holds a character which the faces of a label do not have.
type LetterError struct {
	Field  string
	Text   string
	Letter rune
}

// Error names the character and its code.
func (e *LetterError) Error() string {
	return fmt.Sprintf("%s %q holds %q (U+%04X), which the tag's letters do not have: write it in Latin, Greek or Cyrillic letters", e.Field, e.Text, e.Letter, e.Letter)
}

// side is where the lines of a field begin.
type side uint8

const (
	left side = iota
	right
	middle
)

// field is a place for a text on a label.
type field struct {
	name       string
	x, y, w, h float64 // the box; letters hang from its top
	max, min   float64 // sizes, points
	lines      int     // at most; each paragraph takes one at least
	face       Face
	side       side
	whole      bool // break at spaces only, not after - / . ,
	ink        Ink
}

// block is a text as it came out in a field.
type block struct {
	field
	size float64
	text []string
}

const (
	leading   = 1.12 // em from line to line
	accented  = 1.17 // the same where an accent on a capital may meet a letter of the line above
	descender = 0.2  // em below the base line counted for g, j, p, q, y and commas
	sizeStep  = 0.25 // points between the sizes tried
)

// fit sets paragraphs into the field: on one line each from the largest size down to 0.7 of it,
// else at the largest size at which they wrap into the lines allowed, else not at all.
func (f field) fit(paragraphs ...string) (block, error) {
	clean := make([]string, 0, len(paragraphs))
	widest := 0.0
	for _, p := range paragraphs {
		c := Clean(p)
		if r, found := Unprintable(c); found {
			return block{}, &LetterError{f.name, p, r}
		}
		if c != "" {
			clean = append(clean, c)
			widest = max(widest, f.face.reach(c))
		}
	}
	b := block{field: f, size: f.max}
	if len(clean) == 0 {
		return b, nil
	}
	if len(clean) <= f.lines {
		b.text = clean
		size := min(f.max, f.w/widest/point, f.h/b.height()*f.max)
		if size = math.Floor(size/sizeStep+1e-9) * sizeStep; size >= max(f.min, 0.7*f.max) {
			b.size = size
			return b, nil
		}
	}
	for b.size = f.max; b.size >= f.min; b.size -= sizeStep {
		if b.text = f.wrap(clean, b.size); b.text != nil && b.height() <= f.h+1e-9 {
			return b, nil
		}
	}
	return block{}, &FitError{f.name, strings.Join(paragraphs, " ")}
}

// wrap breaks paragraphs into lines at a size; nil when a word is wider than the field or there
// are more lines than allowed.
func (f field) wrap(paragraphs []string, size float64) []string {
	room := f.w / (size * point)
	var lines []string
	for _, p := range paragraphs {
		for p != "" {
			if len(lines) == f.lines {
				return nil
			}
			n := f.lineEnd(p, room)
			if n == 0 {
				return nil
			}
			lines = append(lines, strings.TrimRight(p[:n], " "))
			p = strings.TrimLeft(p[n:], " ")
		}
	}
	return lines
}

// lineEnd gives how much of s fits into room (em), up to a place where a line may end; 0 for none.
func (f field) lineEnd(s string, room float64) int {
	t := &typefaces()[f.face]
	best, pen := 0, 0
	for i, r := range s {
		if r == ' ' && i > 0 {
			best = i // blanks at the end of a line take no room
		}
		g := t.glyph(r)
		end := max(float64(pen+g.advance)/1000, float64(pen)/1000+g.right)
		if end > room+1e-9 && r != ' ' {
			return best
		}
		pen += g.advance
		if !f.whole && strings.ContainsRune("-/.,", r) && i > 0 && !strings.HasPrefix(s[i+1:], string(nbsp)) {
			best = i + 1
		}
	}
	return len(s)
}

// height is the height of the block: a capital (with its accent, if the first line has one), a
// pitch for each further line, and room below when the last line reaches below its base.
func (b block) height() float64 {
	if len(b.text) == 0 {
		return 0
	}
	last := len(b.text) - 1
	em := b.rise(0) + capEm + b.pitch()*float64(last)
	if _, _, _, bottom := b.face.ink(b.text[last]); bottom > 0.1 {
		em += descender
	}
	return em * b.size * point
}

// rise is how far accents on capitals of a line stand above its other letters, in em. Small letters
// and quotes, a twentieth of an em above the capitals, do not count.
func (b block) rise(line int) float64 {
	_, top, _, _ := b.face.ink(b.text[line])
	if above := -top - capEm; above > 0.1 {
		return above
	}
	return 0
}

// pitch is the distance from line to line, in em.
func (b block) pitch() float64 {
	for i := 1; i < len(b.text); i++ {
		if b.rise(i) > 0 {
			return accented
		}
	}
	return leading
}

// bottom is where the block ends below the top of the label.
func (b block) bottom() float64 { return b.y + b.height() }

// width is the width of the block's widest line in millimetres.
func (b block) width() float64 {
	w := 0.0
	for _, s := range b.text {
		w = max(w, b.face.width(s))
	}
	return w * b.size * point
}

// draw prints the block.
func (b block) draw(d Device) {
	if len(b.text) == 0 {
		return
	}
	em := b.size * point
	y := b.y + (b.rise(0)+capEm)*em
	pitch := b.pitch() * em
	for _, s := range b.text {
		x := b.x
		switch b.side {
		case right:
			x += b.w - b.face.width(s)*em
		case middle:
			x += (b.w - b.face.width(s)*em) / 2
		}
		d.Text(x, y, s, b.face, b.size, b.ink)
		y += pitch
	}
}
