package label

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// All names and numbers below are invented.

// number gives the serial-th number of a kind at plant 1.
func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

// bent is a shape from its bending order.
func bent(t testing.TB, order string) bar.Shape {
	t.Helper()
	legs, err := bar.ParseBends(order)
	require.NoError(t, err, order)
	return bar.Shape{Legs: legs}
}

// bundleOf is an ordinary bundle: a U of #5.
func bundleOf(serial int) Bundle {
	const leg, back = 18 * bar.Inch, 102 * bar.Inch
	return Bundle{
		Number: number(tags.Bundle, serial), Plant: "Plant 1 · Example Rebar Co.", Host: "TAGS.EXAMPLE",
		Job: "24-0617", List: "3", JobName: "Harbour Crossing Pier 4", Mark: "4F207", K: "2", N: 3,
		Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Pieces: 24, Length: leg + back + leg,
		Shape:  bar.Shape{Legs: []bar.Leg{{Length: leg, Turn: 900}, {Length: back, Turn: 900}, {Length: leg}}},
		Weight: 288 * bar.Pound, Heats: []string{"7041893"}, Units: bar.Imperial,
		ShipTo: []string{"Harbour Crossing, Pier 4 North", "2210 Old Quarry Road, Gate C", "Port Alder, WA 98362"},
	}
}

// replacementOf is a bundle made for pieces that another one lost.
func replacementOf(serial int) Bundle {
	b := bundleOf(serial)
	b.Replacement, b.K, b.Pieces, b.Heats = true, "2b", 2, nil
	return b
}

// straightOf is an epoxy-coated straight bundle before the cut: its heat is not known yet.
func straightOf(serial int) Bundle {
	b := bundleOf(serial)
	b.Mark, b.Pieces, b.Shape, b.Heats = "B12-3", 40, bar.Shape{}, nil
	b.Steel = bar.Steel{Size: "#5", Spec: "A706", Grade: "60", Coating: "epoxy"}
	return b
}

// longest is a bundle with the longest values that a tag must take.
func longest(t testing.TB) Bundle {
	b := bundleOf(99_999_999)
	b.Mark, b.Pieces, b.K, b.N, b.Copy, b.End = "PIER4W-FT128", 1240, "12b", 128, 3, "B"
	b.Steel = bar.Steel{Size: "#11", Spec: "A615/A706", Grade: "100", Coating: "epoxy-prefabricated"}
	b.Length, b.Weight = 479*bar.Inch+bar.Inch*15/16, 26321*bar.Pound
	b.Shape = bent(t, `8" [180L] 3'-2" [45R] 2'-1" [45L] 9'-6" [45L] 2'-1" [45R] 3'-2" [180L] 8"`)
	b.Job, b.List, b.JobName = "2026-0617-PH3", "0012-B", "Northern Expressway Interchange 14, Abutment West and Wingwal"
	b.ShipTo = []string{"Northern Expressway Interchange 14, West", "Contractor's yard, 11875 Kilometre Post ", "San Cristóbal de los Arroyos, NM 87564  "}
	b.Heats = []string{"0087654321-A2B7X"}
	return b
}

// mixedOf is the longest bundle with three heats on metric paper.
func mixedOf(t testing.TB) Bundle {
	b := longest(t)
	b.Heats = []string{"0087654321-A2B7X", "01E5", "7041893"}
	b.Units, b.Paper, b.Copy = bar.Metric, MetricA6, 1
	b.Steel = bar.Steel{Size: "16mm", Spec: "BS4449", Grade: "B500B"}
	b.Length, b.Weight = 1976*bar.Millimetre, 3871*bar.Kilogram
	b.Shape = bent(t, `100 mm [135] 355 mm [90] 685 mm [90] 355 mm [90] 685 mm [135] 100 mm`)
	return b
}

func stockOf(serial int) Stock {
	return Stock{
		Number: number(tags.Stock, serial), Plant: "Plant 1 · Example Rebar Co.", Host: "TAGS.EXAMPLE",
		Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Bars: 118, Length: 60 * bar.Foot,
		Heats: []string{"7041893"}, Mill: "Example Mill A", Date: "2026-11-20", Place: "A-14", Cert: "3.1", Units: bar.Imperial,
	}
}

func coilOf(serial int) Stock {
	s := stockOf(serial)
	s.Bars, s.Length, s.Weight = 0, 0, 11_840*bar.Pound
	return s
}

func remnantOf(serial int) Stock {
	s := stockOf(serial)
	s.Remnant, s.From = true, []tags.Number{number(tags.Stock, 207), number(tags.Stock, 208)}
	s.Bars, s.Length, s.Heats, s.Unknown = 14, 17*bar.Foot+bar.Inch*9/2, []string{"7041893", "01E5"}, true
	return s
}

func plainOf(k tags.Kind, title string, lines ...string) Plain {
	return Plain{Number: number(k, 871), Plant: "Plant 1 · Example Rebar Co.", Host: "TAGS.EXAMPLE", Title: title, Lines: lines}
}

// samples are one tag of every kind and of every branch of the bundle's layout.
func samples(t testing.TB) map[string]Label {
	unnamed := straightOf(7)
	unnamed.Shape = bar.Shape{Code: "T9", Edition: "ACI 315-99"}
	return map[string]Label{
		"bent":        bundleOf(43),
		"straight":    straightOf(42),
		"replacement": replacementOf(44),
		"longest":     longest(t),
		"mixed":       mixedOf(t),
		"unnamed":     unnamed,
		"stock":       stockOf(318),
		"remnant":     remnantOf(319),
		"coil":        coilOf(320),
		"load":        plainOf(tags.Load, "TRUCK 12", "2026-11-26", "Harbour Crossing, Pier 4 North", "Jobs 24-0617, 24-0622", "Limit 46,000 lb"),
		"place":       plainOf(tags.Place, "A-14"),
		"person":      plainOf(tags.Person, "María Peña-Okafor", "Bend · Doblado"),
	}
}
