package heat

import (
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
	"tagd/internal/tags"
)

// StockColumns are the columns of a stock file: CSV or XLSX with the column names in the first row, one
// lot a row. Names are compared without case, accents, blanks and punctuation; the order of the columns
// is free.
var StockColumns = []sheet.Column{
	{Name: "mill", Also: []string{"acería"}, About: "name of the mill; empty where neither mill nor heat is known"},
	{Name: "heats", Also: []string{"heat", "colada", "coladas"}, About: "heat number, or several with a space or | between them; empty where it is not known"},
	{Name: "size", Also: []string{"calibre"}, Must: true, About: "#5, 16mm or 15M"},
	{Name: "spec", Also: []string{"norma", "especificación", "specification"}, About: "A615, A706, BS4449; empty is the plant's usual one"},
	{Name: "grade", Also: []string{"grado"}, About: "60, B500B, 400W; empty is the plant's usual one"},
	{Name: "coating", Also: []string{"recubrimiento"}, About: "epoxy, galvanized, dual; empty is plain"},
	{Name: "length", Also: []string{"largo", "longitud"}, Unit: true, About: "of one bar, with its unit: 60', 12 m; empty for coil"},
	{Name: "bars", Also: []string{"barras"}, About: "how many, a whole number; empty for coil"},
	{Name: "mill_bundles", Also: []string{"atados"}, About: "the mill's bundle numbers with the bars of each: B1=20|B2=20"},
	{Name: "weight", Also: []string{"peso"}, About: "of coil, with its unit: 12,000 lb, 5400 kg; it stands in place of length and bars"},
	{Name: "mill_coils", Also: []string{"rollos"}, About: "the mill's coil numbers with the weight of each: C1=3,000 lb|C2=2,400 lb"},
	{Name: "place", Also: []string{"lugar"}, About: "name of the place where it lies"},
	{Name: "melted", About: "country of melt, ISO 3166: two letters"},
	{Name: "rolled", About: "country of rolling, ISO 3166: two letters"},
	{Name: "po", Also: []string{"pedido"}, About: "our order number"},
	{Name: "date", Also: []string{"fecha"}, About: "the day on which expected steel should come: 2026-11-30"},
}

// stockForm is a stock file as a sheet.
var stockForm = sheet.New(sheet.Form{
	What: "stock file", Formats: "CSV or XLSX", Split: "split it", Sheet: "stock", Columns: StockColumns,
})

// Use is what a stock file is taken as.
type Use string

// The uses of a stock file.
const (
	AsReceived Use = "receive" // it has come
	AsExpected Use = "expect"  // a mill's paper says that it is coming
	AsGoLive   Use = "go-live" // it is the yard as it lies there; places that are not there yet are made
)

// StockDefaults is what a plant means where stock does not say it.
type StockDefaults struct {
	LengthUnit string // unit of bare lengths: mm, cm, m, in or ft; "" refuses them
	Spec       string
	Grade      string
	Coating    string
}

// Incoming is one lot of a stock file, as it was read: bars, or coil when they are nil. It has neither
// number nor place yet.
type Incoming struct {
	Row   int // of the file, from 1
	Bars  *event.LotReceived
	Coil  *event.CoilReceived
	Place string // name of its place, "" none
	Date  string // on which it should come
}

// Expected is the lot as one that is coming.
func (in Incoming) Expected() event.LotExpected {
	if c := in.Coil; c != nil {
		return event.LotExpected{Mill: c.Mill, Heats: c.Heats, Steel: c.Steel, Mass: c.Mass, Coils: c.Coils,
			Melted: c.Melted, Rolled: c.Rolled, PO: c.PO, Date: in.Date}
	}
	b := in.Bars
	return event.LotExpected{Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length, Bars: b.Bars, Bundles: b.Bundles,
		Melted: b.Melted, Rolled: b.Rolled, PO: b.PO, Date: in.Date}
}

// SteelOf reads the four fields that name a steel; what is empty is taken from the defaults, as bar.SteelOr
// does. Errors begin with the field's name.
func SteelOf(size, spec, grade, coating string, d StockDefaults) (bar.Steel, error) {
	return bar.SteelOr(size, spec, grade, coating, bar.Steel{Spec: d.Spec, Grade: d.Grade, Coating: d.Coating})
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
		for _, c := range StockColumns {
			if (c.Name == "length" || c.Name == "bars") && !t.Has(c.Name) && !t.Has("weight") {
				r.Fault(t.HeadRow(), c.Name, "the column %s is missing: %s", c.Name, c.About)
				ok = false
			}
		}
		if !ok {
			return nil, r.Faults(), r.Warnings()
		}
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
	in := Incoming{Row: r.Row.Row, Place: r.text("place"), Date: r.text("date")}
	mill, heats, steel := r.text("mill"), apart(r.text("heats"), " |"), r.steel()
	melted, rolled, po := r.text("melted"), r.text("rolled"), r.text("po")
	weight, coil := r.Raw("weight")
	if !coil {
		in.Bars = &event.LotReceived{
			Mill: mill, Heats: heats, Steel: steel, Length: r.length(), Bars: r.bars(), Bundles: r.bundles(), Melted: melted, Rolled: rolled, PO: po,
		}
		if r.text("mill_coils") != "" {
			r.Fault(r.Row.Row, "weight", "the cell is empty; write what the coils weigh together, with its unit")
		}
		return in
	}
	in.Coil = &event.CoilReceived{
		Mill: mill, Heats: heats, Steel: steel, Mass: r.mass("weight", weight), Coils: r.coils(), Melted: melted, Rolled: rolled, PO: po,
	}
	for _, column := range []string{"length", "bars", "mill_bundles"} {
		if _, there := r.Raw(column); there {
			r.Fault(r.Row.Row, column, "stands beside a weight: bars have length and bars, coil has a weight")
		}
	}
	return in
}

// mass reads a weight with its unit.
func (r stockRow) mass(column, text string) bar.Mass {
	m, err := bar.ParseMass(text)
	if err != nil {
		r.Fault(r.Row.Row, column, "%v", err)
	}
	return m
}

// coils reads the mill's coil numbers.
func (r stockRow) coils() (out []event.MillCoil) {
	for _, one := range apart(r.text("mill_coils"), "|") {
		name, weight, weighed := strings.Cut(one, "=")
		c := event.MillCoil{Number: strings.TrimSpace(name)}
		if weighed {
			c.Mass = r.mass("mill_coils", strings.TrimSpace(weight))
		}
		out = append(out, c)
	}
	return out
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
		field, says := bar.SteelField(err)
		r.Fault(r.Row.Row, field, "%s", says)
	}
	return s
}

func (r stockRow) length() bar.Length {
	text, ok := r.filled("length", "write the length of one bar, as 60' or 12 m; coil has a weight instead")
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

// filled gives the text of a cell, and reports one that is empty.
func (r stockRow) filled(column, right string) (string, bool) {
	if r.Empty(column) {
		r.Fault(r.Row.Row, column, "the cell is empty; %s", right)
		return "", false
	}
	return r.Raw(column)
}

func (r stockRow) bars() int {
	text, ok := r.filled("bars", "write how many; coil has a weight instead")
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

// CountColumns are the columns of a count of the yard.
var CountColumns = []sheet.Column{
	{Name: "number", Also: []string{"lot", "lote", "número"}, Must: true, About: "of the lot, as on its tag"},
	{Name: "bars", Also: []string{"barras"}, About: "how many lie there; empty for coil"},
	{Name: "weight", Also: []string{"peso"}, About: "of coil, with its unit: 2,150 lb"},
	{Name: "place", Also: []string{"lugar"}, About: "name of the place where it lies; empty: as recorded"},
}

var countForm = sheet.New(sheet.Form{
	What: "count of the yard", Formats: "CSV or XLSX", Split: "split it", Sheet: "count", Columns: CountColumns,
})

// CountRow is one row of a count of the yard.
type CountRow struct {
	Row    int
	Number tags.Number
	Amount
	Place string
}

// ReadCount reads a count of the yard, as ReadStock reads a stock file.
func ReadCount(name string, data []byte) (counts []CountRow, faults, warnings []sheet.Fault) {
	r := sheet.NewReport(name)
	if t, ok := countForm.Read(data, r); ok {
		countForm.Rows(t, r, func(row *sheet.Row) { counts = append(counts, stockRow{Row: row}.counted()) })
		if len(counts) == 0 && r.Clean() {
			r.Fault(0, "", "the file has no rows of a count")
		}
	}
	return counts, r.Faults(), r.Warnings()
}

func (r stockRow) counted() CountRow {
	c := CountRow{Row: r.Row.Row, Place: r.text("place")}
	if text := r.text("number"); text != "" {
		var err error
		if c.Number, err = tags.ParseNumber(text); err != nil || c.Number.Kind() != tags.Stock {
			r.Fault(r.Row.Row, "number", "%s is no number of a lot; write it as on its tag, as 2-001-00000001-16", sheet.Quote(text))
		}
	}
	weight, coil := r.Raw("weight")
	if !coil {
		c.Bars = r.bars()
		return c
	}
	c.Mass = r.mass("weight", weight)
	if _, there := r.Raw("bars"); there {
		r.Fault(r.Row.Row, "bars", "stand beside a weight: bars are counted, coil is weighed")
	}
	return c
}
