package barlist

import (
	"slices"
	"strconv"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// longest is how many characters a text may have: what fits on a tag and on paper.
var longest = map[string]int{
	"job": 60, "list": 24, "revision": 12, "mark": 24, "shape": 24, "edition": 40, "note": 200,
}

// straightShapes are the folded shape codes of straight bars; 00 and 01 are theirs in BS 8666.
var straightShapes = map[string]bool{
	"": true, "straight": true, "str": true, "recta": true, "recto": true, "00": true, "01": true,
}

// readTable reads the lines of a table, one a row.
func readTable(t *sheet.Table, d Defaults, r *sheet.Report) []Line {
	var lines []Line
	form.Rows(t, r, func(row *sheet.Row) {
		p := rowReader{row, d}
		lines = append(lines, p.line())
	})
	return lines
}

// rowReader reads the cells of one row.
type rowReader struct {
	*sheet.Row
	d Defaults
}

// text reads a cell as text, as long as it may be.
func (p *rowReader) text(column, otherwise string) string {
	return p.Text(column, otherwise, longest[column])
}

// line reads the whole row.
func (p *rowReader) line() Line {
	l := Line{
		Row:      p.Row.Row,
		Job:      p.text("job", p.d.Job),
		List:     p.text("list", p.d.List),
		Revision: p.text("revision", p.d.Revision),
		Mark:     p.text("mark", ""),
		Pieces:   p.pieces(),
		Length:   p.length("length"),
		Note:     p.text("note", ""),
		Shape: bar.Shape{
			Code: p.text("shape", ""),
			Pin:  p.length("pin"),
			Legs: p.bends(),
		},
	}
	l.Steel = readSteel(p.text("size", ""), p.text("spec", ""), p.text("grade", ""), p.text("coating", ""), p.d, p.Row.Row, p.Report)
	if l.Shape.Code != "" {
		l.Shape.Edition = p.text("edition", p.d.Edition)
	}
	p.legs(&l)
	oddLength(l, p.d, p.Report)
	route, err := ParseRoute(p.text("route", ""))
	if err != nil {
		p.Fault(p.Row.Row, "route", "%s", err)
	}
	l.Route = route
	if l.Route == nil && len(l.Shape.Legs) == 0 && !straightShapes[sheet.Fold(l.Shape.Code)] {
		p.Warn(p.Row.Row, "bends", "shape %s has no bends on this row: its route goes by its code, and its tag has no sketch", l.Shape.Code)
	}
	return l
}

// pieces reads how many pieces a line has.
func (p *rowReader) pieces() int {
	text, ok := p.Raw("pieces")
	if !ok {
		return 0
	}
	n, why := parsePieces(text)
	if why != "" {
		p.Fault(p.Row.Row, "pieces", "%s", why)
	}
	return n
}

// parsePieces reads a number of pieces: digits and nothing else.
func parsePieces(s string) (n int, why string) {
	n, err := strconv.Atoi(s)
	switch {
	case err != nil || s[0] == '+' || s[0] == '-':
		return 0, sheet.Quote(s) + " is no number of pieces: write a whole number in digits, like 24"
	case n < 1:
		return 0, "no pieces: leave the line out, or write how many"
	case n > MaxPieces:
		return 0, strconv.Itoa(n) + " pieces on one line, at most " + strconv.Itoa(MaxPieces) + " are taken: is the number right?"
	}
	return n, ""
}

// length reads a length; a bare number is in the unit of the column name, or of the plant.
func (p *rowReader) length(column string) bar.Length {
	text, ok := p.Raw(column)
	if !ok {
		return 0
	}
	unit := p.Unit(column)
	if unit == "" {
		unit = p.d.LengthUnit
	}
	l, err := bar.ParseLength(text)
	if unit != "" {
		l, err = bar.ParseLengthIn(text, unit)
	}
	if err != nil {
		p.Fault(p.Row.Row, column, "%s", err)
		return 0
	}
	return l
}

// bends reads the legs and angles of a bent bar. A bar of one leg is straight and has none.
func (p *rowReader) bends() []bar.Leg {
	text, ok := p.Raw("bends")
	if !ok {
		return nil
	}
	legs, err := bar.ParseBends(text)
	if err == nil {
		err = bar.Shape{Legs: legs}.Check()
	}
	if err != nil {
		p.Fault(p.Row.Row, "bends", "%s", err)
		return nil
	}
	return legs
}

// legs compares the legs of a line with its cut length. A bar is cut no longer than its outer legs
// together, since the bends cut the corners.
func (p *rowReader) legs(l *Line) {
	if len(l.Shape.Legs) == 0 || l.Length == 0 {
		return
	}
	outer := l.Shape.Outer()
	arcs := slices.ContainsFunc(l.Shape.Legs, func(leg bar.Leg) bool { return leg.Radius != 0 })
	switch {
	case l.Shape.Straight() && outer != l.Length:
		p.Fault(p.Row.Row, "bends", "one straight leg of %s, but the cut length is %s: correct one of them", outer.Text(p.d.units()), l.Length.Text(p.d.units()))
	case l.Shape.Straight():
		l.Shape.Legs = nil
	case !arcs && l.Length > outer:
		p.Warn(p.Row.Row, "length", "the cut length %s is more than all legs together, %s", l.Length.Text(p.d.units()), outer.Text(p.d.units()))
	}
}

// Cut lengths beyond these are read, but are more likely of the wrong unit (common practice, no
// source).
const (
	shortestBar = 100 * bar.Millimetre
	longestBar  = 31 * bar.Metre
)

// oddLength warns of a cut length that hardly any bar has.
func oddLength(l Line, d Defaults, r *sheet.Report) {
	if l.Length > 0 && (l.Length < shortestBar || l.Length > longestBar) {
		r.Warn(l.Row, "length", "a piece of %s: is the unit right?", l.Length.Text(d.units()))
	}
}
