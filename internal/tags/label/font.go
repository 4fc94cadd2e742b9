package label

import (
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/gomonobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Face is one of the three typefaces of a label.
type Face uint8

// The faces. Mono has a slashed zero and an open 1 and serves heats and numbers.
const (
	Regular Face = iota
	Bold
	Mono
	faces
)

const (
	point = 25.4 / 72 // millimetres of a typographic point
	capEm = 0.7227    // height of capitals and figures in all three faces, in em (measured)
)

// trueType is the face's font file.
func (f Face) trueType() []byte {
	switch f {
	case Bold:
		return gobold.TTF
	case Mono:
		return gomonobold.TTF
	}
	return goregular.TTF
}

// stroke is a part of an outline in em, y downwards from the base line: op is sfnt's.
type stroke struct {
	op  sfnt.SegmentOp
	pts [3]Point
}

// glyph is one letter: how far it moves the pen (in thousandths of an em, rounded as PDF rounds
// it, so that all devices agree), the box of its ink in em, y downwards, and its outline.
type glyph struct {
	advance                  int
	left, top, right, bottom float64
	outline                  []stroke
}

// typeface holds the glyphs of a face by their character.
type typeface struct {
	latin [256]*glyph
	other map[rune]*glyph
}

func (t *typeface) glyph(r rune) *glyph {
	if r >= 0 && r < 256 {
		return t.latin[r]
	}
	return t.other[r]
}

// typefaces reads the three fonts once; the table never changes afterwards.
var typefaces = sync.OnceValue(func() *[faces]typeface {
	var all [faces]typeface
	for f := range faces {
		all[f] = readTypeface(f.trueType())
	}
	return &all
})

// readTypeface takes every glyph of the Basic Multilingual Plane out of a font. The fonts are part
// of the program, so one that cannot be read is a fault of the build and panics.
func readTypeface(ttf []byte) typeface {
	parsed, err := sfnt.Parse(ttf)
	if err != nil {
		panic("label: built-in font: " + err.Error())
	}
	t := typeface{other: map[rune]*glyph{}}
	var buf sfnt.Buffer
	em := fixed.I(int(parsed.UnitsPerEm()))
	inEm := func(v fixed.Int26_6) float64 { return float64(v) / float64(em) }
	for r := rune(' '); r <= 0xFFFF; r++ {
		index, err := parsed.GlyphIndex(&buf, r)
		if err != nil || index == 0 || unicode.IsControl(r) {
			continue
		}
		advance, err := parsed.GlyphAdvance(&buf, index, em, font.HintingNone)
		if err != nil {
			panic("label: built-in font: " + err.Error())
		}
		segments, err := parsed.LoadGlyph(&buf, index, em, nil)
		if err != nil {
			panic("label: built-in font: " + err.Error())
		}
		bounds := segments.Bounds()
		g := &glyph{
			advance: int(inEm(advance)*1000 + 0.5),
			left:    inEm(bounds.Min.X), top: inEm(bounds.Min.Y),
			right: inEm(bounds.Max.X), bottom: inEm(bounds.Max.Y),
			outline: make([]stroke, len(segments)),
		}
		for i, s := range segments {
			g.outline[i].op = s.Op
			for j, p := range s.Args {
				g.outline[i].pts[j] = Point{inEm(p.X), inEm(p.Y)}
			}
		}
		if r < 256 {
			t.latin[r] = g
		} else {
			t.other[r] = g
		}
	}
	return t
}

// width is the width of s in em: the sum of the advances, without hinting or kerning.
func (f Face) width(s string) float64 {
	t := &typefaces()[f]
	sum := 0
	for _, r := range s {
		if g := t.glyph(r); g != nil {
			sum += g.advance
		}
	}
	return float64(sum) / 1000
}

// reach is the width of s in em, or where its ink ends if that is further: the tail of a Q is.
func (f Face) reach(s string) float64 {
	_, _, right, _ := f.ink(s)
	return max(f.width(s), right)
}

// ink is the box of what is black of s in em, from the pen's start on the base line, y downwards.
// It is empty at the origin for blanks.
func (f Face) ink(s string) (left, top, right, bottom float64) {
	t := &typefaces()[f]
	pen, first := 0, true
	for _, r := range s {
		g := t.glyph(r)
		if g == nil {
			continue
		}
		if len(g.outline) > 0 {
			x := float64(pen) / 1000
			if first {
				left, top, right, bottom = x+g.left, g.top, x+g.right, g.bottom
				first = false
			}
			left, right = min(left, x+g.left), max(right, x+g.right)
			top, bottom = min(top, g.top), max(bottom, g.bottom)
		}
		pen += g.advance
	}
	return left, top, right, bottom
}

// Clean gives text as a label prints it: composed characters (Unicode NFC), one kind of hyphen,
// other blanks and line ends as spaces, characters without width left out, no blanks at the ends.
func Clean(text string) string {
	plain := true
	for i := 0; i < len(text); i++ {
		plain = plain && ' ' <= text[i] && text[i] <= '~'
	}
	if plain {
		return strings.TrimSpace(text)
	}
	text = strings.Map(func(r rune) rune {
		switch {
		case r == '\u2010' || r == '\u2011':
			return '-'
		case r == '\u00ad' || unicode.Is(unicode.Cf, r):
			return -1
		case r == nbsp:
			return r
		case unicode.IsSpace(r) || unicode.IsControl(r):
			return ' '
		}
		return r
	}, norm.NFC.String(text))
	return strings.TrimSpace(text)
}

// nbsp is the space at which no line is broken.
const nbsp = '\u00a0'

// Unprintable gives the first character of text that the faces of a label do not have, or U+FFFD
// where text is not UTF-8. The faces hold the Latin, Greek and Cyrillic letters of Europe and the
// Americas.
func Unprintable(text string) (r rune, found bool) {
	t := &typefaces()[Bold] // the three faces hold the same characters
	for _, r := range Clean(text) {
		if r == unicode.ReplacementChar || t.glyph(r) == nil {
			return r, true
		}
	}
	return 0, false
}
