package barlist

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"tagd/internal/bar"
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
func readTable(t table, d Defaults, r *report) []Line {
	l := layoutOf(t, r)
	if len(l.at) == 0 {
		return nil
	}
	lines := make([]Line, 0, len(t.rows))
	for _, row := range t.rows {
		p := rowReader{layout: l, tableRow: row, d: d, report: r}
		p.tooWide(len(t.head))
		lines = append(lines, p.line())
	}
	return lines
}

// rowReader reads the cells of one row.
type rowReader struct {
	layout
	tableRow
	d Defaults
	*report
}

// tooWide reports cells beyond the last column name.
func (p *rowReader) tooWide(width int) {
	for _, c := range p.cells[min(width, len(p.cells)):] {
		if c.wrong != "" || strings.TrimSpace(c.text) != "" {
			p.fault(p.row, "", "the row has more cells than there are column names (%d): put a text that holds the separator in quotes", width)
			return
		}
	}
}

// line reads the whole row.
func (p *rowReader) line() Line {
	l := Line{
		Row:      p.row,
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
	l.Steel = readSteel(p.text("size", ""), p.text("spec", ""), p.text("grade", ""), p.text("coating", ""), p.d, p.row, p.report)
	if l.Shape.Code != "" {
		l.Shape.Edition = p.text("edition", p.d.Edition)
	}
	p.legs(&l)
	oddLength(l, p.d, p.report)
	route, err := parseRoute(p.text("route", ""))
	if err != nil {
		p.fault(p.row, "route", "%s", err)
	}
	l.Route = route
	if l.Route == nil && len(l.Shape.Legs) == 0 && !straightShapes[fold(l.Shape.Code)] {
		l.Route = []string{"cut", "bend"}
		p.warn(p.row, "bends", "shape %s has no bends on this row: it is cut and bent, and its tag has no sketch", l.Shape.Code)
	}
	return l
}

// cell gives a cell by its column; an empty one where the table has no such column.
func (p *rowReader) cell(column string) cell {
	if i, ok := p.at[column]; ok && i < len(p.cells) {
		return p.cells[i]
	}
	return cell{}
}

// raw gives the text of a cell without the blanks around it, and whether it could be read. Where the
// cell is empty and the column must be filled, it has reported that.
func (p *rowReader) raw(column string) (string, bool) {
	c := p.cell(column)
	if c.wrong != "" {
		p.fault(p.row, column, "%s", c.wrong)
		return "", false
	}
	text := strings.TrimSpace(c.text)
	if _, there := p.at[column]; text == "" && there && must(column) {
		p.fault(p.row, column, "the cell is empty")
		return "", false
	}
	return text, text != ""
}

// must tells whether a list cannot be without a column.
func must(column string) bool {
	for _, c := range Columns {
		if c.Name == column {
			return c.Must
		}
	}
	return false
}

// mustHead tells the same of a column by its name as written.
func mustHead(name string) bool {
	h, ok := columnOf(name)
	return ok && must(h.name)
}

// text reads a cell as text; otherwise is what an empty one means.
func (p *rowReader) text(column, otherwise string) string {
	raw, ok := p.raw(column)
	if !ok {
		return otherwise
	}
	if why := p.cell(column).notText; why != "" {
		p.fault(p.row, column, "%s", why)
		return otherwise
	}
	text, why := tidy(raw, longest[column])
	if why != "" {
		p.fault(p.row, column, "%s", why)
	}
	return text
}

// tidy brings a text into its one form: composed (NFC), one blank where there were several or a
// line break. It says why a text cannot stand on a tag: too long, or with a character that no one
// sees, which makes two marks out of one.
func tidy(s string, most int) (text, why string) {
	text = strings.Join(strings.Fields(norm.NFC.String(s)), " ")
	for _, c := range text {
		if unicode.IsControl(c) || unicode.Is(unicode.Cf, c) || c == utf8.RuneError {
			return "", "the text holds a character that cannot be printed (" + strconv.QuoteRuneToASCII(c) + "): type it again"
		}
	}
	if n := utf8.RuneCountInString(text); most > 0 && n > most {
		return "", "the text has " + strconv.Itoa(n) + " characters, " + strconv.Itoa(most) + " fit: shorten it"
	}
	return text, ""
}

// pieces reads how many pieces a line has.
func (p *rowReader) pieces() int {
	text, ok := p.raw("pieces")
	if !ok {
		return 0
	}
	n, why := parsePieces(text)
	if why != "" {
		p.fault(p.row, "pieces", "%s", why)
	}
	return n
}

// parsePieces reads a number of pieces: digits and nothing else.
func parsePieces(s string) (n int, why string) {
	n, err := strconv.Atoi(s)
	switch {
	case err != nil || s[0] == '+' || s[0] == '-':
		return 0, quote(s) + " is no number of pieces: write a whole number in digits, like 24"
	case n < 1:
		return 0, "no pieces: leave the line out, or write how many"
	case n > MaxPieces:
		return 0, strconv.Itoa(n) + " pieces on one line, at most " + strconv.Itoa(MaxPieces) + " are taken: is the number right?"
	}
	return n, ""
}

// length reads a length; a bare number is in the unit of the column name, or of the plant.
func (p *rowReader) length(column string) bar.Length {
	text, ok := p.raw(column)
	if !ok {
		return 0
	}
	unit := p.unit[column]
	if unit == "" {
		unit = p.d.LengthUnit
	}
	l, err := bar.ParseLength(text)
	if unit != "" {
		l, err = bar.ParseLengthIn(text, unit)
	}
	if err != nil {
		p.fault(p.row, column, "%s", err)
		return 0
	}
	return l
}

// bends reads the legs and angles of a bent bar. A bar of one leg is straight and has none.
func (p *rowReader) bends() []bar.Leg {
	text, ok := p.raw("bends")
	if !ok {
		return nil
	}
	legs, err := bar.ParseBends(text)
	if err == nil {
		err = bar.Shape{Legs: legs}.Check()
	}
	if err != nil {
		p.fault(p.row, "bends", "%s", err)
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
		p.fault(p.row, "bends", "one straight leg of %s, but the cut length is %s: correct one of them", outer.Text(p.d.units()), l.Length.Text(p.d.units()))
	case l.Shape.Straight():
		l.Shape.Legs = nil
	case !arcs && l.Length > outer:
		p.warn(p.row, "length", "the cut length %s is more than all legs together, %s", l.Length.Text(p.d.units()), outer.Text(p.d.units()))
	}
}

// Cut lengths beyond these are read, but are more likely of the wrong unit (common practice, no
// source).
const (
	shortestBar = 100 * bar.Millimetre
	longestBar  = 31 * bar.Metre
)

// oddLength warns of a cut length that hardly any bar has.
func oddLength(l Line, d Defaults, r *report) {
	if l.Length > 0 && (l.Length < shortestBar || l.Length > longestBar) {
		r.warn(l.Row, "length", "a piece of %s: is the unit right?", l.Length.Text(d.units()))
	}
}
