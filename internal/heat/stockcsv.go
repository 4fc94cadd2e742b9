package heat

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"tagd/internal/bar"
	"tagd/internal/event"
)

// StockColumn is a column of a stock file.
type StockColumn struct {
	Name  string
	Must  bool
	About string
}

// StockColumns are the columns of a stock file: CSV in UTF-8 with the column names in the first row,
// separated by commas, semicolons or tabs, one lot a row. Names are compared without case, blanks,
// hyphens and underscores; the order of the columns is free.
var StockColumns = []StockColumn{
	{"mill", true, "name of the mill"},
	{"heats", false, "heat number, or several with a space or | between them; empty where it is not known"},
	{"size", true, "#5, 16mm or 15M"},
	{"spec", false, "A615, A706, BS4449; empty is the plant's usual one"},
	{"grade", false, "60, B500B, 400W; empty is the plant's usual one"},
	{"coating", false, "epoxy, galvanized, dual; empty is plain"},
	{"length", true, "of one bar, with its unit: 60', 12 m"},
	{"bars", true, "how many, a whole number"},
	{"mill_bundles", false, "the mill's bundle numbers with the bars of each: B1=20|B2=20"},
	{"place", false, "name of the place where it lies"},
	{"melted", false, "country of melt, ISO 3166: two letters"},
	{"rolled", false, "country of rolling, ISO 3166: two letters"},
	{"po", false, "our order number"},
}

// The bounds of a stock file: far above what comes in on a day.
const (
	maxStockBytes = 20 << 20
	maxStockRows  = 5_000
	maxFaults     = 1_000
)

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

// StockFault is one thing wrong with a stock file.
type StockFault struct {
	Row   int    // from 1; 0 is the file as a whole
	Field string // column, "" is the whole row
	Says  string
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

// ReadStock reads the stock file in data. It looks at everything before it answers, so that all
// faults come at once; only what was read without faults may be taken.
func ReadStock(data []byte, d StockDefaults) ([]Incoming, []StockFault) {
	r := &stockReader{d: d}
	switch at := invalidAt(data); {
	case len(data) > maxStockBytes:
		r.fault(0, "", "the file is larger than %d MB: split it", maxStockBytes>>20)
		return nil, r.faults
	case at >= 0:
		r.fault(1+bytes.Count(data[:at], []byte("\n")), "", "byte %#02x is not UTF-8 text: save the file as UTF-8, in spreadsheet programs \"CSV UTF-8\"", data[at])
		return nil, r.faults
	}
	text := strings.TrimPrefix(string(data), "\ufeff")
	in := csv.NewReader(strings.NewReader(text))
	in.Comma = separatorOf(text)
	in.FieldsPerRecord = -1
	in.LazyQuotes = true // an inch mark is a quote: 59'-6"
	in.TrimLeadingSpace = in.Comma != '\t'
	var lots []Incoming
	for {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil { // in memory, with quotes as they come, nothing is left that can go wrong
			r.fault(0, "", "the file cannot be read as CSV: %v", err)
			break
		}
		row, _ := in.FieldPos(0)
		switch {
		case r.at == nil:
			if !r.head(row, cells) {
				return nil, r.faults
			}
		case len(lots) == maxStockRows:
			r.fault(row, "", "the file has more than %d rows: split it", maxStockRows)
			return lots, r.faults
		case slices.ContainsFunc(cells, func(s string) bool { return strings.TrimSpace(s) != "" }):
			lots = append(lots, r.lot(row, cells))
		}
	}
	if len(lots) == 0 && len(r.faults) == 0 {
		r.fault(0, "", "the file has no rows of stock")
	}
	return lots, r.faults
}

// invalidAt is the first byte that no text in UTF-8 has, or -1.
func invalidAt(data []byte) int {
	for at := 0; at < len(data); {
		c, n := utf8.DecodeRune(data[at:])
		if c == utf8.RuneError && n <= 1 || c == 0 {
			return at
		}
		at += n
	}
	return -1
}

// separatorOf is what parts the columns: what there is most of in the first row.
func separatorOf(text string) rune {
	first, _, _ := strings.Cut(strings.TrimLeft(text, "\r\n"), "\n")
	best := ','
	for _, c := range []rune{';', '\t'} {
		if strings.Count(first, string(c)) > strings.Count(first, string(best)) {
			best = c
		}
	}
	return best
}

type stockReader struct {
	d      StockDefaults
	at     map[string]int
	width  int
	faults []StockFault
}

func (r *stockReader) fault(row int, field, says string, args ...any) {
	switch {
	case len(r.faults) < maxFaults:
		r.faults = append(r.faults, StockFault{row, field, fmt.Sprintf(says, args...)})
	case len(r.faults) == maxFaults:
		r.faults = append(r.faults, StockFault{0, "", fmt.Sprintf("and more faults: these are the first %d", maxFaults)})
	}
}

func foldColumn(s string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsLetter(c) || unicode.IsDigit(c) {
			return unicode.ToLower(c)
		}
		return -1
	}, s)
}

// head reads the row of column names.
func (r *stockReader) head(row int, cells []string) bool {
	r.at, r.width = map[string]int{}, len(cells)
	var names []string
	for _, c := range StockColumns {
		names = append(names, c.Name)
	}
	for i, cell := range cells {
		name := strings.TrimSpace(cell)
		j := slices.IndexFunc(names, func(n string) bool { return foldColumn(n) == foldColumn(name) })
		if foldColumn(name) == "heat" {
			j = slices.Index(names, "heats")
		}
		if name == "" {
			continue
		}
		if j < 0 {
			r.fault(row, cutText(name, 40), "this column is not known; known are %s", strings.Join(names, ", "))
			continue
		}
		if _, twice := r.at[names[j]]; twice {
			r.fault(row, names[j], "this column is there twice: leave one")
		}
		r.at[names[j]] = i
	}
	for _, c := range StockColumns {
		if _, ok := r.at[c.Name]; c.Must && !ok {
			r.fault(row, c.Name, "the column %s is missing: %s", c.Name, c.About)
		}
	}
	return len(r.faults) == 0
}

func cutText(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n]) + "…"
	}
	return s
}

// lot reads one row.
func (r *stockReader) lot(row int, cells []string) Incoming {
	if len(cells) > r.width {
		r.fault(row, "", "the row has %d cells, and there are %d column names: put a text that holds the separator in quotes", len(cells), r.width)
	}
	if slices.ContainsFunc(cells, func(s string) bool { return strings.ContainsAny(s, "\r\n") }) {
		r.fault(row, "", "a cell runs on over the end of the row: write an inch mark in quotes twice, as in \"59'-6\"\"\", or leave the quotes off")
		return Incoming{Row: row}
	}
	get := func(name string) string {
		if i, ok := r.at[name]; ok && i < len(cells) {
			return strings.TrimSpace(cells[i])
		}
		return ""
	}
	in := Incoming{Row: row, Place: get("place")}
	l := &in.Lot
	l.Mill, l.Melted, l.Rolled, l.PO = get("mill"), get("melted"), get("rolled"), get("po")
	l.Heats = strings.FieldsFunc(get("heats"), func(c rune) bool { return c == ' ' || c == '|' })
	var err error
	if l.Steel, err = SteelOf(get("size"), get("spec"), get("grade"), get("coating"), r.d); err != nil {
		field, says, ok := strings.Cut(err.Error(), ": ")
		if !ok {
			field, says = "size", err.Error()
		}
		r.fault(row, field, "%s", says)
	}
	if l.Length, err = LengthOf(get("length"), r.d); err != nil {
		r.fault(row, "length", "%v", err)
	}
	bars := get("bars")
	if l.Bars, err = strconv.Atoi(bars); err != nil {
		r.fault(row, "bars", "%q is no count; write a whole number of bars", cutText(bars, 40))
	}
	for _, one := range strings.FieldsFunc(get("mill_bundles"), func(c rune) bool { return c == '|' }) {
		name, count, counted := strings.Cut(one, "=")
		b := event.MillBundle{Number: strings.TrimSpace(name)}
		if counted {
			if b.Bars, err = strconv.Atoi(strings.TrimSpace(count)); err != nil || b.Bars < 1 {
				r.fault(row, "mill_bundles", "%q has no count of bars behind the =; write B1=20", cutText(one, 40))
			}
		}
		l.Bundles = append(l.Bundles, b)
	}
	return in
}
