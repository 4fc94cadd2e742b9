package barlist

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// Column is a column of CSV and XLSX bar lists.
type Column struct {
	Name  string   // the name in English, as it is documented
	Also  []string // other names that are read, Spanish first
	Must  bool     // a list without it cannot be taken
	Unit  bool     // the name may end in a unit: length_mm, "length (in)"
	About string   // what stands in it, for documentation and help
}

// Columns are the columns of a bar list. Names are compared without case, accents, blanks and
// punctuation; the order of the columns is free.
var Columns = []Column{
	{Name: "job", Also: []string{"obra"}, About: "number of the job"},
	{Name: "list", Also: []string{"lista", "bar list", "release"}, About: "list number, the release"},
	{Name: "revision", Also: []string{"revisión", "rev"}, About: "revision of the list"},
	{Name: "mark", Also: []string{"marca", "bar mark"}, Must: true, About: "mark on the placing drawing, once in a list"},
	{Name: "size", Also: []string{"calibre"}, Must: true, About: "#5, 16mm or 15M; a bare number is refused"},
	{Name: "spec", Also: []string{"norma", "especificación", "specification"}, About: "A615, A706, BS4449"},
	{Name: "grade", Also: []string{"grado"}, About: "60, B500B, 400W"},
	{Name: "coating", Also: []string{"recubrimiento"}, About: "epoxy, galvanized, dual; empty is plain"},
	{Name: "length", Also: []string{"largo", "longitud", "cut length"}, Must: true, Unit: true, About: "cut length of a piece: 11'-6\", 138 in, 3505 mm, 3.505 m"},
	{Name: "pieces", Also: []string{"piezas", "cantidad", "pcs", "qty", "quantity"}, Must: true, About: "how many, a whole number"},
	{Name: "shape", Also: []string{"forma", "figura", "bend type"}, About: "shape code as on the list, or straight"},
	{Name: "edition", Also: []string{"edición"}, About: "what the shape code belongs to: ACI 315-99, BS 8666:2005"},
	{Name: "bends", Also: []string{"dobleces"}, About: "legs and angles along the bar"},
	{Name: "pin", Also: []string{"mandril", "mandrel"}, Unit: true, About: "diameter of the bending pin"},
	{Name: "route", Also: []string{"ruta"}, About: "steps in order: cut, bend, saw, thread, head, coat, tie; none"},
	{Name: "note", Also: []string{"nota", "notas", "notes", "remarks"}, About: "anything a person should read"},
}

// unitNames are the units that the name of a column may end in.
var unitNames = map[string]string{
	"mm": "mm", "cm": "cm", "m": "m",
	"in": "in", "inch": "in", "inches": "in", "pulg": "in", "pulgadas": "in",
	"ft": "ft", "feet": "ft", "foot": "ft", "pies": "ft",
}

// head is what a column name says: which column, and its unit.
type head struct {
	name, unit string
}

// heads has every folded name of a column.
var heads = func() map[string]head {
	m := map[string]head{}
	for _, c := range Columns {
		for _, name := range append([]string{c.Name}, c.Also...) {
			m[fold(name)] = head{c.Name, ""}
			if c.Unit {
				for word, unit := range unitNames {
					m[fold(name+word)] = head{c.Name, unit}
				}
			}
		}
	}
	return m
}()

// columnOf knows a column by its name as written.
func columnOf(name string) (head, bool) {
	h, ok := heads[fold(name)]
	return h, ok
}

// fold leaves the letters and digits of a word, in lower case and without accents.
func fold(s string) string {
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
func names() string {
	var list []string
	for _, c := range Columns {
		list = append(list, c.Name)
	}
	return strings.Join(list, ", ")
}

// layout is where the columns of one table are.
type layout struct {
	at   map[string]int
	unit map[string]string
}

// layoutOf reads the row of column names.
func layoutOf(t table, r *report) layout {
	l := layout{map[string]int{}, map[string]string{}}
	for i, name := range t.head {
		h, ok := columnOf(name)
		switch before, twice := l.at[h.name]; {
		case strings.TrimSpace(name) == "":
		case !ok:
			r.warn(t.headRow, short(name), "this column is not known and was not read; known are %s", names())
		case twice:
			r.fault(t.headRow, h.name, "columns %d and %d are both the %s: leave one", before+1, i+1, h.name)
		default:
			l.at[h.name], l.unit[h.name] = i, h.unit
		}
	}
	if len(l.at) == 0 {
		r.fault(t.headRow, "", "no column names in the first row; known are %s", names())
		return l
	}
	for _, c := range Columns {
		if _, ok := l.at[c.Name]; c.Must && !ok {
			r.fault(t.headRow, c.Name, "the column %s is missing: %s", c.Name, c.About)
		}
	}
	return l
}

// quote quotes a text back to people, cut where it is long.
func quote(s string) string { return "“" + short(s) + "”" }

// short cuts a text that is quoted back to people.
func short(s string) string {
	s = strings.ToValidUTF8(s, "�")
	if c := []rune(s); len(c) > 40 {
		return string(c[:40]) + "…"
	}
	return s
}
