package sheet

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Column is a column of a form. Names are compared without case, accents, blanks and punctuation; the
// order of the columns is free.
type Column struct {
	Name  string   // the name in English, as it is documented
	Also  []string // other names that are read, Spanish first
	Must  bool     // a sheet without it cannot be taken, nor a row whose cell is empty
	Unit  bool     // the name may end in a unit: length_mm, "length (in)"
	Lines bool     // a cell may have several lines
	About string   // what stands in it, for documentation and help
}

// unitNames are the units that the name of a column may end in.
var unitNames = map[string]string{
	"mm": "mm", "cm": "cm", "m": "m",
	"in": "in", "inch": "in", "inches": "in", "pulg": "in", "pulgadas": "in",
	"ft": "ft", "feet": "ft", "foot": "ft", "pies": "ft",
}

// head is what a column name says: which column, and its unit.
type head struct {
	name, unit  string
	must, lines bool
}

// headsOf has every folded name of the columns.
func headsOf(columns []Column) map[string]head {
	m := map[string]head{}
	for _, c := range columns {
		for _, name := range append([]string{c.Name}, c.Also...) {
			m[Fold(name)] = head{c.Name, "", c.Must, c.Lines}
			if c.Unit {
				for word, unit := range unitNames {
					m[Fold(name+word)] = head{c.Name, unit, c.Must, c.Lines}
				}
			}
		}
	}
	return m
}

// column knows a column by its name as written.
func (f *Form) column(name string) (head, bool) {
	h, ok := f.heads[Fold(name)]
	return h, ok
}

// Fold leaves the letters and digits of a word, in lower case and without accents.
func Fold(s string) string {
	if len(s) > 200 {
		return ""
	}
	return strings.Map(func(c rune) rune {
		if !unicode.IsLetter(c) && !unicode.IsDigit(c) {
			return -1
		}
		return unicode.ToLower(c)
	}, norm.NFD.String(s))
}

// names lists the names of the columns, for people.
func (f *Form) names() string {
	var list []string
	for _, c := range f.Columns {
		list = append(list, c.Name)
	}
	return strings.Join(list, ", ")
}

// layout reads the row of column names.
func (f *Form) layout(t *Table, r *Report) {
	t.at, t.unit = map[string]int{}, map[string]string{}
	for i, name := range t.head {
		h, ok := f.column(name)
		switch before, twice := t.at[h.name]; {
		case strings.TrimSpace(name) == "":
		case !ok:
			r.Warn(t.headRow, Short(name), "this column is not known and was not read; known are %s", f.names())
		case twice:
			r.Fault(t.headRow, h.name, "columns %d and %d are both the %s: leave one", before+1, i+1, h.name)
		default:
			t.at[h.name], t.unit[h.name] = i, h.unit
		}
	}
	if len(t.at) == 0 {
		r.Fault(t.headRow, "", "no column names in the first row; known are %s", f.names())
		return
	}
	for _, c := range f.Columns {
		if _, ok := t.at[c.Name]; c.Must && !ok {
			r.Fault(t.headRow, c.Name, "the column %s is missing: %s", c.Name, c.About)
		}
	}
}

// Has tells whether the sheet has a column.
func (t *Table) Has(column string) bool { _, ok := t.at[column]; return ok }

// HeadRow is the row of the column names.
func (t *Table) HeadRow() int { return t.headRow }

// Quote quotes a text back to people, cut where it is long.
func Quote(s string) string { return "“" + Short(s) + "”" }

// Short cuts a text that is quoted back to people.
func Short(s string) string {
	s = strings.ToValidUTF8(s, "�")
	if c := []rune(s); len(c) > 40 {
		return string(c[:40]) + "…"
	}
	return s
}
