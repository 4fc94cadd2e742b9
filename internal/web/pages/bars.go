package pages

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// barsDrawing is the bars of a run to scale, one row for each way in which they are cut, with every mark of the
// run in them. It is in a box 976 wide, the pixels of a tablet's work.
type barsDrawing struct {
	H      int
	Rows   []barRow
	Dim    string // length of the longest bar; DimW is how wide that is drawn, DimY where
	DimW   int
	DimY   int
	DimL   float64 // where its line leaves room for the words, and goes on
	DimR   float64
	Others int  // more ways of cutting, that have no room
	Whole  bool // it is the one with all of them, below
	Bare   bool // a piece has no room for a label
	plan   []scan.Pattern
	marks  map[tags.Number]string
}

type barRow struct {
	Y     int
	Bars  int
	Of    string // length of the bars, where not all are as long
	Parts []cutPiece
	Left  *leftOver
}

type cutPiece struct {
	X, W   float64
	Other  bool // of another bundle than the card's
	Label  string
	LX     float64 // middle of the label
	PX, PW float64 // a plate under the label, where it stands over several pieces
}

type leftOver struct {
	X, W float64
	Says string
	Keep bool
}

// Measures of the drawing, in its pixels.
const (
	barsX    = 112 // where the bars begin
	barsWide = 618 // of the longest bar
	rowHigh  = 42
	rowTall  = 54 // with the length of its bars
	gapWide  = 3
	labelEm  = 23
)

// drawBars lays the run's pieces along its bars: those ways of cutting first that make the card's own pieces, and at
// the most so many ways.
func drawBars(past *view.Past, c *workCard, units bar.Units, ways int) *barsDrawing {
	lengths := map[tags.Number]bar.Length{}
	marks := map[tags.Number]string{}
	for _, m := range c.Members {
		lengths[m.Bundle] = m.Length
		b, _ := past.Bundle(m.Bundle)
		marks[m.Bundle] = past.Line(b.Line).Mark
	}
	others := func(pt scan.Pattern) bool {
		return !slices.ContainsFunc(pt.Cuts, func(cut scan.Piece) bool { return cut.Bundle == c.Bundle.Number })
	}
	plan := slices.Clone(c.Plan)
	slices.SortStableFunc(plan, func(a, b scan.Pattern) int {
		switch {
		case others(a) == others(b):
			return 0
		case others(b):
			return -1
		}
		return 1
	})
	d := &barsDrawing{Others: max(0, len(plan)-ways)}
	plan = plan[:len(plan)-d.Others]
	d.plan, d.marks = plan, marks
	most, same := bar.Length(1), true
	for _, pt := range plan {
		same = same && pt.Length == plan[0].Length
		most = max(most, pt.Length)
	}
	scale := func(l bar.Length) float64 { return barsWide * float64(l) / float64(most) }
	y, high := 0, rowHigh
	if !same {
		high = rowTall
	}
	for _, pt := range plan {
		row := barRow{Y: y, Bars: pt.Bars}
		if !same {
			row.Of = nearLength(pt.Length, units)
		}
		at := bar.Length(0)
		for _, cut := range pt.Cuts {
			length := lengths[cut.Bundle]
			row.Parts = append(row.Parts, pieces(cut, length, barsX+scale(at), scale(length), labels(c, marks, cut, length, units))...)
			for i := len(row.Parts) - cut.Pieces; i < len(row.Parts); i++ {
				row.Parts[i].Other = cut.Bundle != c.Bundle.Number
			}
			d.Bare = d.Bare || cut.Pieces > 0 && row.Parts[len(row.Parts)-1].Label == ""
			at += length * bar.Length(cut.Pieces)
		}
		if pt.Left > 0 {
			row.Left = &leftOver{barsX + scale(at), max(2, scale(pt.Left)), nearLength(pt.Left, units), pt.Keep}
		}
		d.Rows = append(d.Rows, row)
		y += high
	}
	d.Dim, d.DimW, d.DimY = nearLength(most, units), barsWide, y
	room := textWide(d.Dim, 22)/2 + 75 // half of the words before it
	d.DimL, d.DimR = barsWide/2-room, barsWide/2+room
	d.H = y + 24
	return d
}

// labels are what may stand in a piece, the best first.
func labels(c *workCard, marks map[tags.Number]string, cut scan.Piece, length bar.Length, units bar.Units) []string {
	says, mark := nearLength(length, units), marks[cut.Bundle]
	if len(c.Members) < 2 {
		return []string{says}
	}
	return []string{mark + " " + says, mark, says}
}

// pieces draws the pieces of one bundle in a bar. Where no label has room in a piece, one stands over all.
func pieces(cut scan.Piece, length bar.Length, x, wide float64, labels []string) []cutPiece {
	parts := make([]cutPiece, cut.Pieces)
	gap := min(gapWide, wide/3)
	for i := range parts {
		parts[i] = cutPiece{X: x + float64(i)*wide, W: wide - gap}
	}
	for _, l := range labels {
		if textWide(l, labelEm) < wide-8 {
			for i := range parts {
				parts[i].Label, parts[i].LX = l, parts[i].X+(wide-gap)/2
			}
			return parts
		}
	}
	all := wide*float64(cut.Pieces) - gap
	for _, l := range labels {
		l = fmt.Sprintf("%d × %s", cut.Pieces, l)
		if w := textWide(l, labelEm); w < all-8 {
			last := &parts[len(parts)-1] // drawn over all others
			last.Label, last.LX, last.PX, last.PW = l, x+all/2, x+all/2-w/2-4, w+8
			return parts
		}
	}
	return parts
}

// textWide is about how wide a bold text runs in the widest of the faces in use: figures and small letters .58 em,
// capitals .72, and the marks of feet and inches, blanks and strokes .34.
func textWide(s string, em float64) (wide float64) {
	for _, r := range s {
		switch {
		case strings.ContainsRune("′″ /-.,", r):
			wide += .34 * em
		case r >= 'A' && r <= 'Z' || r == '×' || r == '#':
			wide += .72 * em
		default:
			wide += .58 * em
		}
	}
	return wide
}

// barsText says what a drawing shows, for who cannot see it.
func (p *pages) barsText(lang scan.Lang, d *barsDrawing, c *workCard) string {
	var out []string
	for i, row := range d.Rows {
		says := p.speak(lang).counted(row.Bars, "bars")
		for _, cut := range d.plan[i].Cuts {
			for _, m := range c.Members {
				if m.Bundle == cut.Bundle {
					says += fmt.Sprintf(", %d × %s %s", cut.Pieces, d.marks[m.Bundle], nearLength(m.Length, p.floor.Rules().Units))
					break
				}
			}
		}
		if l := row.Left; l != nil {
			says += ", " + l.Says + " " + p.word(lang, keepOrScrap(l.Keep))
		}
		out = append(out, says)
	}
	return strings.Join(out, "; ")
}

func keepOrScrap(keep bool) string {
	if keep {
		return "keep"
	}
	return "scrap"
}
