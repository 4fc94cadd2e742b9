package export

import (
	"fmt"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
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

var (
	millA  = "Example Mill A"
	heat1  = heat.Key{Mill: millA, Heat: "7041893"}
	heat2  = heat.Key{Mill: millA, Heat: "7041902"}
	heat3  = heat.Key{Mill: "Example Mill B", Heat: "0087654321-A2B7X"}
	heat4  = heat.Key{Mill: millA, Heat: "01E5"}
	plant1 = []string{"Example Rebar Co. · Plant 1", "400 Foundry Street, Port Alder, WA 98362"}
)

func certain(k heat.Key) heat.Draw { return heat.Draw{Certainty: heat.Certain, Heats: []heat.Key{k}} }

// bundleOf is the i-th bundle of a job, one of three sizes.
func bundleOf(i int) Bundle {
	steels := []bar.Steel{
		{Size: "#5", Spec: "A615", Grade: "60"},
		{Size: "#11", Spec: "A706", Grade: "60", Coating: "epoxy"},
		{Size: "16mm", Spec: "BS4449", Grade: "B500B"},
	}
	b := Bundle{
		Number: number(tags.Bundle, 100+i), List: "3", Mark: fmt.Sprintf("B%d-%d", 10+i/4, 1+i%5), K: fmt.Sprint(i%3 + 1), N: 3,
		Steel: steels[i%3], Pieces: 38, Length: 39*bar.Foot + 11*bar.Inch + 15*bar.Inch/16, Draw: certain([]heat.Key{heat1, heat2, heat3}[i%3]),
	}
	if b.Steel.Coating != "" && i%6 != 1 {
		b.Steel.Coating = ""
	}
	switch i {
	case 2:
		b.Draw = heat.Draw{Certainty: heat.OneOf, Heats: []heat.Key{heat4, heat1}}
	case 4:
		b.Mark = "PIER4W-FT128"
	case 7:
		b.Draw.Certainty = heat.Declared
	}
	b.Weight, _ = bar.Weigh(b.Steel.Size, b.Length*bar.Length(b.Pieces))
	return b
}

// sheetOf is a load of n bundles at two stops.
func sheetOf(n int) LoadSheet {
	l := LoadSheet{
		Number: number(tags.Load, 871), Plant: plant1, Host: "TAGS.EXAMPLE", Date: "2026-11-26", Truck: "TRUCK 12 / TR-207",
		Limit: 46000 * bar.Pound, Units: bar.Imperial, Printed: "2026-11-26 06:42",
		NoCert: []HeatSize{{heat4, "#5"}},
		Stops: []Stop{
			{Job: "24-0617", JobName: "Harbour Crossing Pier 4", ShipTo: []string{"Harbour Crossing, Pier 4 North", "2210 Old Quarry Road, Gate C", "Port Alder, WA 98362"}},
			{Job: "24-0622", JobName: "Northern Expressway Interchange 14, Abutment West and Wingwall", ShipTo: []string{"Interchange 14, West", "11875 Kilometre Post, San Cristóbal de los Arroyos, NM 87564"}},
		},
	}
	for i := range n {
		s := &l.Stops[i*3/2/max(1, n)]
		s.Bundles = append(s.Bundles, bundleOf(i))
	}
	return l
}

// oneStop is a load of n bundles at one stop, with every caution.
func oneStop(n int) LoadSheet {
	l := sheetOf(n)
	for _, b := range l.Stops[1].Bundles {
		b.List = "4"
		l.Stops[0].Bundles = append(l.Stops[0].Bundles, b)
	}
	l.Stops = l.Stops[:1]
	l.Stops[0].Bundles[3].Draw = heat.Draw{Certainty: heat.Unknown}
	l.Stops[0].Bundles[5].Draw = heat.Draw{Certainty: heat.Unknown, Heats: []heat.Key{heat2}}
	l.Limit = 9000 * bar.Pound
	l.Holds = []Hold{
		{Target: event.Target{Mill: millA, Heat: "7041902"}, Reason: "bend test to be repeated", At: "2026-11-25 16:10", By: "María Fernández-Okafor",
			Released: &Release{Reason: "test repeated, passed", At: "2026-11-26 05:55", By: "J. Alvarado"}},
		{Target: event.Target{Number: number(tags.Bundle, 103)}, Reason: "tie wire loose", At: "2026-11-26 06:12", By: "J. Alvarado"},
	}
	return l
}

// recallOf is a recall of a heat: n bundles on two loads, on a truck and inside, and three lots.
func recallOf(n int) Recall {
	r := Recall{
		Plant: plant1, Asked: heat1.Heat, Heats: []heat.Key{heat1}, Units: bar.Imperial, Printed: "2026-11-26 07:02", Through: 48211,
		Holds: []Hold{{Target: event.Target{Mill: heat1.Mill, Heat: heat1.Heat}, Reason: "yield below limit on retest", At: "2026-11-26 07:00", By: "María Fernández-Okafor"}},
		Loads: []Sent{
			{Load: number(tags.Load, 866), Job: "24-0622", JobName: "Northern Expressway Interchange 14", ShipTo: []string{"Interchange 14, West", "11875 Kilometre Post"},
				Truck: "TRUCK 7", Left: "2026-11-24 09:15", Contact: "P. Sorensen, +1 555 0163"},
			{Load: number(tags.Load, 874), Job: "24-0617", JobName: "Harbour Crossing Pier 4", ShipTo: []string{"Harbour Crossing, Pier 4 North", "2210 Old Quarry Road, Gate C"},
				Truck: "TRUCK 12", Left: "2026-11-26 06:40"},
		},
	}
	for i := range n {
		b := Traced{Bundle: bundleOf(i), Job: "24-0617", Place: "A-" + fmt.Sprint(1+i%14), Since: "2026-11-25 14:20", Where: Inside}
		b.Steel = bar.Steel{Size: []bar.Size{"#5", "#11"}[i%2], Spec: "A615", Grade: "60"}
		b.Weight, _ = bar.Weigh(b.Steel.Size, b.Length*bar.Length(b.Pieces))
		b.Draw = certain(heat1)
		switch {
		case i%5 == 0:
			b.Where, b.Load, b.Place, b.Since = Shipped, number(tags.Load, 874), "TRUCK 12", "2026-11-26 06:40"
		case i%5 == 1:
			b.Where, b.Load, b.Job, b.Place, b.Since = Shipped, number(tags.Load, 866), "24-0622", "TRUCK 7", "2026-11-24 09:15"
		case i%5 == 2:
			b.Where, b.Load, b.Place = Loaded, number(tags.Load, 880), "TRUCK 3"
		}
		switch i % 7 {
		case 3:
			b.Draw = heat.Draw{Certainty: heat.OneOf, Heats: []heat.Key{heat4, heat1}}
		case 6:
			b.Draw = heat.Draw{Certainty: heat.Unknown, Heats: []heat.Key{heat1}}
		}
		r.Bundles = append(r.Bundles, b)
	}
	for i, bars := range []int{118, 0, 14} {
		l := TracedLot{Number: number(tags.Stock, 318+i), Remnant: i == 2, Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"},
			Bars: bars, Length: bar.Length(60-20*i) * bar.Foot, Draw: certain(heat1), Place: "A-14", Since: "2026-11-20"}
		l.Weight, _ = bar.Weigh(l.Steel.Size, l.Length*bar.Length(bars))
		r.Lots = append(r.Lots, l)
	}
	r.Lots[2].Draw = heat.Draw{Certainty: heat.OneOf, Heats: []heat.Key{heat1, heat2}}
	return r
}
