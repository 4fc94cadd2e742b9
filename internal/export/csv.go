package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"tagd/internal/heat"
)

// Cell makes a text safe to stand in a cell of a CSV table: where a spreadsheet program would take
// it for a formula (it begins with = + - @, a tab or a line end), an apostrophe is put in front.
// Source: OWASP, CSV Injection.
func Cell(s string) string {
	if s != "" && strings.ContainsRune("=+-@\t\r\n", rune(s[0])) {
		return "'" + s
	}
	return s
}

// CSV writes the recall as a table for spreadsheets (RFC 4180), a row a bundle or lot in the order of
// the paper. Weights are kilograms as they are computed, not rounded to a total; a heat is written
// after its mill, and several are parted by semicolons.
func (r Recall) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	row := func(cells ...string) {
		for i := range cells {
			cells[i] = Cell(cells[i])
		}
		_ = out.Write(cells) // out.Error tells
	}
	row("where", "what", "number", "load", "job", "list", "mark", "bundle", "size", "spec", "grade", "coating",
		"count", "length_mm", "weight_kg", "certainty", "heats", "place", "since")
	a := r.ordered()
	for _, b := range a.Bundles {
		row(b.Where.String(), "bundle", b.Number.String(), b.Load.String(), b.Job, b.List, b.Mark, b.kOfN(),
			string(b.Steel.Size), b.Steel.Spec, b.Steel.Grade, b.Steel.Coating, strconv.Itoa(b.Pieces), decimal(b.Length.MM(), 4),
			decimal(b.Weight.Kilograms(), 3), string(b.Draw.Certainty), heatList(b.Draw), b.Place, b.Since)
	}
	for _, l := range a.Lots {
		row(InStock.String(), l.what(), l.Number.String(), "", "", "", "", "",
			string(l.Steel.Size), l.Steel.Spec, l.Steel.Grade, l.Steel.Coating, strconv.Itoa(l.Bars), decimal(l.Length.MM(), 4),
			decimal(l.Weight.Kilograms(), 3), string(l.Draw.Certainty), heatList(l.Draw), l.Place, l.Since)
	}
	out.Flush()
	return out.Error()
}

// what is the kind of lot.
func (l TracedLot) what() string {
	if l.Remnant {
		return "remnant"
	}
	return "stock lot"
}

func heatList(d heat.Draw) string {
	var all []string
	for _, k := range d.Heats {
		all = append(all, k.String())
	}
	return strings.Join(all, "; ")
}

// decimal prints v with at most n decimals.
func decimal(v float64, n int) string {
	s := fmt.Sprintf("%.*f", n, v)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
