package sheet

import (
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// Row reads the cells of one row by their columns. What cannot be read goes into its report.
type Row struct {
	Row int // of the file, from 1
	*Report
	form  *Form
	table *Table
	cells []cell
}

// cell gives a cell by its column; an empty one where the table has no such column.
func (p *Row) cell(column string) cell {
	if i, ok := p.table.at[column]; ok && i < len(p.cells) {
		return p.cells[i]
	}
	return cell{}
}

// Unit is the unit that the name of a column ends in, "" for none.
func (p *Row) Unit(column string) string { return p.table.unit[column] }

// Empty tells whether there is nothing in a cell, nor anything that cannot be read.
func (p *Row) Empty(column string) bool {
	c := p.cell(column)
	return c.wrong == "" && strings.TrimSpace(c.text) == ""
}

// Raw gives the text of a cell without the blanks around it, and whether there is one. Where the cell
// cannot be read, or is empty and must be filled, it has reported that.
func (p *Row) Raw(column string) (string, bool) {
	c := p.cell(column)
	if c.wrong != "" {
		p.Fault(p.Row, column, "%s", c.wrong)
		return "", false
	}
	text := strings.TrimSpace(c.text)
	if text == "" && p.table.Has(column) && p.form.must(column) {
		p.Fault(p.Row, column, "the cell is empty")
		return "", false
	}
	return text, text != ""
}

// must tells whether a sheet cannot be without the column of a name as written.
func (f *Form) must(name string) bool {
	h, _ := f.column(name)
	return h.must
}

// Text reads a cell as text of at most so many characters, or of any number with 0; otherwise is what
// an empty one means.
func (p *Row) Text(column, otherwise string, most int) string {
	raw, ok := p.Raw(column)
	if !ok {
		return otherwise
	}
	if why := p.cell(column).notText; why != "" {
		p.Fault(p.Row, column, "%s", why)
		return otherwise
	}
	text, why := Tidy(raw, most)
	if why != "" {
		p.Fault(p.Row, column, "%s", why)
	}
	return text
}

// Tidy brings a text into its one form: composed (NFC), one blank where there were several or a
// line break. It says why a text cannot stand on a tag: longer than most characters (0 is any number),
// or with a character that no one sees, which makes two marks out of one.
func Tidy(s string, most int) (text, why string) {
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
