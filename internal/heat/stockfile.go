package heat

import (
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
)

// StockColumns are the columns of a stock file: CSV or XLSX with the column names in the first row, one
// lot a row. Names are compared without case, accents, blanks and punctuation; the order of the columns
// is free.
var StockColumns = []sheet.Column{
	{Name: "mill", Also: []string{"acería", "acerería"}, About: "name of the mill"},
	{Name: "heats", Also: []string{"heat", "colada", "coladas"}, About: "heat number, or several with a space or | between them; empty where it is not known"},
	{Name: "size", Also: []string{"calibre"}, Must: true, About: "#5, 16mm or 15M"},
	{Name: "spec", Also: []string{"norma", "especificación", "specification"}, About: "A615, A706, BS4449; empty is the plant's usual one"},
	{Name: "grade", Also: []string{"grado"}, About: "60, B500B, 400W; empty is the plant's usual one"},
	{Name: "coating", Also: []string{"recubrimiento"}, About: "epoxy, galvanized, dual; empty is plain"},
	{Name: "length", Also: []string{"largo", "longitud"}, Must: true, Unit: true, About: "of one bar, with its unit: 60', 12 m"},
	{Name: "bars", Also: []string{"barras"}, Must: true, About: "how many, a whole number"},
	{Name: "mill_bundles", Also: []string{"atados"}, About: "the mill's bundle numbers with the bars of each: B1=20|B2=20"},
	{Name: "place", Also: []string{"lugar"}, About: "name of the place where it lies"},
	{Name: "melted", About: "country of melt, ISO 3166: two letters"},
	{Name: "rolled", About: "country of rolling, ISO 3166: two letters"},
	{Name: "po", Also: []string{"pedido"}, About: "our order number"},
}

// stockForm is a stock file as a sheet.
var stockForm = sheet.New(sheet.Form{
	What: "stock file", Formats: "CSV or XLSX", Split: "split it", Sheet: "stock", Columns: StockColumns,
})

// StockDefaults is what a plant means where stock does not say it.
type StockDefaults struct {
	LengthUnit string // unit of bare lengths: mm, cm, m, in or ft; "" refuses them
	Spec       string
	Grade      string
	Coating    string
}

// Incoming is one lot of a stock file, as it was read: Lot has neither number nor place yet.
type Incoming struct {
	Row   int // of the file, from 1
	Lot   event.LotReceived
	Place string // name of its place, "" none
}

// SteelOf reads the four fields that name a steel; what is empty is taken from the defaults. A grade
// without a spec takes the plant's spec if that has such a grade, else the one spec that does. Errors
// begin with the field's name.
func SteelOf(size, spec, grade, coating string, d StockDefaults) (bar.Steel, error) {
	ownSpec, ownGrade := spec != "", grade != ""
	if coating == "" {
		coating = d.Coating
	}
	if !ownSpec {
		spec = d.Spec
	}
	if !ownGrade {
		grade = d.Grade
	}
	s, err := bar.ParseSteel(size, spec, grade, coating)
	if err != nil && ownGrade && !ownSpec && spec != "" {
		if other, err := bar.ParseSteel(size, "", grade, coating); err == nil {
			return other, nil
		}
	}
	return s, err
}

// LengthOf reads the length of a bar.
func LengthOf(text string, d StockDefaults) (bar.Length, error) {
	if d.LengthUnit == "" {
		return bar.ParseLength(text)
	}
	return bar.ParseLengthIn(text, d.LengthUnit)
}

// ReadStock reads the stock file in data; name is only for the people who read the faults. It looks at
// everything before it answers, so that all faults come at once; only what was read without faults may
// be taken. Warnings are what a person should know of a file that can.
func ReadStock(name string, data []byte, d StockDefaults) (lots []Incoming, faults, warnings []sheet.Fault) {
	r := sheet.NewReport(name)
	if t, ok := stockForm.Read(data, r); ok {
		stockForm.Rows(t, r, func(row *sheet.Row) { lots = append(lots, stockRow{row, d}.lot()) })
		if len(lots) == 0 && r.Clean() {
			r.Fault(0, "", "the file has no rows of stock")
		}
	}
	return lots, r.Faults(), r.Warnings()
}

// stockRow reads one row.
type stockRow struct {
	*sheet.Row
	d StockDefaults
}

func (r stockRow) text(column string) string { return r.Text(column, "", 0) }

func (r stockRow) lot() Incoming {
	return Incoming{Row: r.Row.Row, Place: r.text("place"), Lot: event.LotReceived{
		Mill: r.text("mill"), Heats: apart(r.text("heats"), " |"), Steel: r.steel(), Length: r.length(), Bars: r.bars(),
		Bundles: r.bundles(), Melted: r.text("melted"), Rolled: r.text("rolled"), PO: r.text("po"),
	}}
}

// apart parts a text at any of the characters; none for an empty one.
func apart(text, at string) []string {
	return slices.DeleteFunc(strings.FieldsFunc(text, func(c rune) bool { return strings.ContainsRune(at, c) }),
		func(s string) bool { return strings.TrimSpace(s) == "" })
}

func (r stockRow) steel() bar.Steel {
	size := r.text("size")
	if size == "" {
		return bar.Steel{} // reported where it was read
	}
	s, err := SteelOf(size, r.text("spec"), r.text("grade"), r.text("coating"), r.d)
	if err != nil {
		field, says, ok := strings.Cut(err.Error(), ": ")
		if !ok {
			field, says = "size", err.Error()
		}
		r.Fault(r.Row.Row, field, "%s", says)
	}
	return s
}

func (r stockRow) length() bar.Length {
	text, ok := r.Raw("length")
	if !ok {
		return 0
	}
	d := r.d
	if unit := r.Unit("length"); unit != "" {
		d.LengthUnit = unit
	}
	l, err := LengthOf(text, d)
	if err != nil {
		r.Fault(r.Row.Row, "length", "%v", err)
	}
	return l
}

func (r stockRow) bars() int {
	text, ok := r.Raw("bars")
	if !ok {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		r.Fault(r.Row.Row, "bars", "%s is no count; write a whole number of bars", sheet.Quote(text))
	}
	return n
}

// bundles reads the mill's bundle numbers.
func (r stockRow) bundles() (out []event.MillBundle) {
	for _, one := range apart(r.text("mill_bundles"), "|") {
		name, count, counted := strings.Cut(one, "=")
		b := event.MillBundle{Number: strings.TrimSpace(name)}
		if counted {
			var err error
			if b.Bars, err = strconv.Atoi(strings.TrimSpace(count)); err != nil || b.Bars < 1 {
				r.Fault(r.Row.Row, "mill_bundles", "%s has no count of bars behind the =; write B1=20", sheet.Quote(one))
			}
		}
		out = append(out, b)
	}
	return out
}
