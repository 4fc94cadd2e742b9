package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// made lets n pieces of a bundle be made in an open run at a station, of which the bundle waits then.
func (p *past) made(station string, n tags.Number, pieces int) {
	f := p.floors[station]
	seq := p.run(station, []int{1}, n)
	r := p.runs[seq]
	r.Members[0].Done, r.Members[0].Pieces, r.By = true, pieces, 30_000+seq
	p.runs[seq] = r
	p.floors[station] = f
	p.closed[seq] = &event.RunClosed{Steel: r.Steel}
	p.bodies[r.By] = event.PartDone{Station: station, Bundle: n, Step: "cut", Pieces: pieces, Run: seq}
	p.change(n, func(b *scan.Bundle) {
		b.Started, b.Made = false, b.Made+pieces
		b.Progress = append(b.Progress, r.By)
	})
}

// also opens one more run at a station for a bundle that is begun.
func (p *past) also(station string, lots []int, n tags.Number) uint64 {
	was := p.bundles[n]
	seq := p.run(station, lots, n)
	r := p.runs[seq]
	r.Members[0].Pieces = was.ToDo()
	p.change(n, func(b *scan.Bundle) { b.Runs = append(append([]uint64{}, was.Runs...), seq) })
	return seq
}

// began says which device began a bundle, so many ms ago, and lets it have been the newest scan of "gun".
func (p *past) began(n tags.Number, device string, ago int64) {
	b := p.bundles[n]
	p.scanned[b.Progress[len(b.Progress)-1]] = scan.Reading{Station: device, At: now - ago}
	p.last(0, "S1", accepted("cut started"), min(ago, 5000))
}

func init() { table = append(table, shares...) }

// shares is what several make together. Of a bundle of 12 pieces of 10', a bar of 60' holds 6.
var shares = []one{
	// Part done. 5 pieces leave 10' of one bar, which is kept.
	{"a part of what is being cut", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"part made", "run closed", "remnant"},
		[]event.Body{event.PartDone{Station: "S1", Bundle: bundle(11), Step: "cut", Pieces: 5, Run: 100, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 1}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 10 * bar.Foot, Bars: 1}}})}}},
	{"a part in a run that goes on", func(p *past) { p.run("S1", []int{1}, bundle(11), bundle(21)) }, at("S1", bundle(11), do(scan.Part), pieces(5), from(2)), yes, []string{"part made"},
		[]event.Body{event.PartDone{Station: "S1", Bundle: bundle(11), Step: "cut", Pieces: 5, Run: 100, Lots: nums([]int{2})}}},
	{"a part of what was not begun", nil, at("S1", bundle(11), do(scan.Part), pieces(6)), yes, []string{"part made", "into pocket", "run closed"},
		[]event.Body{
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
			event.PartDone{Station: "S1", Bundle: bundle(11), Step: "cut", Pieces: 6, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})}}},
	{"a part that is all", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Part), pieces(12)), yes, []string{"cut done", "run closed"}, nil},
	{"a part of none", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Part)), refused, []string{"no part"}, nil},
	{"a part read twice", func(p *past) {
		p.made("S1", bundle(11), 5)
		p.last(bundle(11), "S1", accepted("part made"), 2999)
	}, at("S1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"once"}, none},
	{"the same part again later", func(p *past) {
		p.made("S1", bundle(11), 5)
		p.last(bundle(11), "S1", accepted("part made"), 3000)
	}, at("S1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"part made", "into pocket", "run closed", "remnant"}, nil},
	{"a part at loadout", nil, at("L1", bundle(11), do(scan.Part), pieces(5)), refused, []string{"not here"}, nil},
	{"a part of a lot", nil, at("S1", stock(1), do(scan.Part), pieces(5)), refused, []string{"not for this"}, nil},
	{"the rest is started", func(p *past) { p.made("S1", bundle(11), 5) }, at("S1", bundle(11)), yes, []string{"cut started", "into pocket", "made before"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"}}},
	{"the rest goes where the others lie", func(p *past) {
		p.made("S1", bundle(11), 5)
		p.lies("S1", "2", bundle(11))
	}, at("S1", bundle(11)), yes, []string{"cut started", "into pocket", "made before"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "2"}}},
	// 7 pieces are two bars of which one leaves 50'.
	{"the rest is done", func(p *past) { p.made("S2", bundle(11), 5); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed", "remnant"},
		[]event.Body{event.CutDone{Run: 101, Bundle: bundle(11), Pieces: 7, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 2}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 50 * bar.Foot, Bars: 1}}})}}},
	{"the rest falls short", func(p *past) { p.made("S2", bundle(11), 5); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), pieces(6)), check, []string{"cut done", "count short", "run closed"},
		[]event.Body{event.CutDone{Run: 101, Bundle: bundle(11), Pieces: 6, Asked: 12, Rest: bundle(901), Owed: 1, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})}}},
	{"with the rest there are more", func(p *past) { p.made("S2", bundle(11), 5); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "count over", "run closed"}, nil},
	{"where it is, part done", func(p *past) { p.made("S1", bundle(11), 5) }, at("S1", bundle(11), do(scan.Show)), yes, []string{"found part"}, none},
	{"a part is bent", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"part made"},
		[]event.Body{event.PartDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 5}}},
	{"a part is bent, not begun", func(p *past) { p.ready(bundle(11)) }, at("B1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"part made"},
		[]event.Body{event.StepStarted{Station: "B1", Bundle: bundle(11), Step: "bend"}, event.PartDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 5}}},
	{"none is bent", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11), do(scan.Part)), refused, []string{"no part"}, nil},
	{"a part is bent, read twice", func(p *past) {
		p.ready(bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made, b.Station = 5, "B1" })
		p.last(bundle(11), "B1", accepted("part made"), 2999)
	}, at("B1", bundle(11), do(scan.Part), pieces(5)), yes, []string{"once"}, none},
	{"the rest is bent", func(p *past) {
		p.bending(bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
	}, at("B1", bundle(11)), yes, []string{"step done"}, []event.Body{event.StepDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 7}}},
	{"the rest is bent elsewhere", func(p *past) {
		p.ready(bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
	}, at("B2", bundle(11)), yes, []string{"step started", "made before"}, []event.Body{event.StepStarted{Station: "B2", Bundle: bundle(11), Step: "bend"}}},

	// Taken over.
	{"taken over", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Take)), yes, []string{"cut started", "into pocket", "taken over"},
		[]event.Body{
			event.PartDone{Station: "S2", Bundle: bundle(11), Step: "cut", Run: 100, Over: true, Closed: closed(event.RunClosed{})},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"}}},
	{"taken over with what was made", func(p *past) { p.run("S2", []int{2}, bundle(11), bundle(21)) }, at("S1", bundle(11), do(scan.Take), pieces(5)), yes, []string{"cut started", "into pocket", "made before", "taken over"},
		[]event.Body{
			event.PartDone{Station: "S2", Bundle: bundle(11), Step: "cut", Run: 100, Pieces: 5, Over: true},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"}}},
	// Lot 2 has one bar, and the run there takes two of it.
	{"taken over, and the run there closes with a difference", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.lots[stock(2)] = p.few(2, 1) },
		at("S1", bundle(11), do(scan.Take), pieces(7)), check, []string{"cut started", "into pocket", "made before", "taken over", "count difference", "run closed", "remnant"}, nil},
	{"taken over, and it may not start", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.hold(heatH1) }, at("S1", bundle(11), do(scan.Take)), refused, []string{"held"}, nil},
	{"taken over with all that was asked", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Take), pieces(12)), refused, []string{"nothing left"}, nil},
	{"taken over from nobody", nil, at("S1", bundle(11), do(scan.Take)), refused, []string{"nothing to take"}, nil},
	{"taken over from here", func(p *past) { p.run("S1", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Take)), yes, []string{"found at work"}, none},
	{"taken over from several", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.also("S3", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Take)), refused, []string{"several make it"}, nil},
	{"taken over where it is cut too", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Take)), yes, []string{"taken over"},
		[]event.Body{event.PartDone{Station: "S2", Bundle: bundle(11), Step: "cut", Run: 100, Over: true, Closed: closed(event.RunClosed{})}}},
	{"bending taken over", func(p *past) { p.bending(bundle(11)) }, at("B2", bundle(11), do(scan.Take), pieces(5)), yes, []string{"step started", "made before", "taken over"},
		[]event.Body{
			event.PartDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 5, Over: true},
			event.StepStarted{Station: "B2", Bundle: bundle(11), Step: "bend"}}},
	{"bending taken over with all of it", func(p *past) { p.bending(bundle(11)) }, at("B2", bundle(11), do(scan.Take), pieces(12)), refused, []string{"nothing left"}, nil},
	{"bending taken over while held", func(p *past) { p.bending(bundle(11)); p.hold(heatH1) }, at("B2", bundle(11), do(scan.Take)), refused, []string{"held"}, nil},
	{"bending taken over from here", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11), do(scan.Take)), yes, []string{"found at work"}, none},
	{"bending taken over from nobody", func(p *past) { p.ready(bundle(11)) }, at("B1", bundle(11), do(scan.Take)), refused, []string{"nothing to take"}, nil},

	// Joined.
	{"joined", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Join)), yes, []string{"cut started", "into pocket", "joined in"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"}}},
	{"joined into a run that is open", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.run("S1", []int{1}, bundle(21)) }, at("S1", bundle(11), do(scan.Join)), yes, []string{"cut joined", "into pocket", "joined in"},
		[]event.Body{event.RunJoined{Run: 101, Bundle: bundle(11), Pocket: "1"}}},
	{"joined by what is being cut", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.hold(heatH1) }, at("S1", bundle(11), do(scan.Join)), refused, []string{"held"}, nil},
	{"joined with nobody", nil, at("S1", bundle(11), do(scan.Join)), refused, []string{"nothing to take"}, nil},
	{"joined twice is joined once", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Join)), yes, []string{"found at work"}, none},
	{"joined already, and counted", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.also("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Join), pieces(6)), yes, []string{"share done", "run closed"}, nil},
	{"a counted share read twice", func(p *past) { p.shared(6); p.last(bundle(11), "S1", accepted("share done"), 2999) }, at("S1", bundle(11), pieces(6)), yes, []string{"once"}, none},
	{"bending joined", func(p *past) { p.bending(bundle(11)) }, at("B2", bundle(11), do(scan.Join)), refused, []string{"no join"}, nil},
	{"one share of two, counted", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.also("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), pieces(6)), yes, []string{"share done", "run closed"},
		[]event.Body{event.PartDone{Station: "S1", Bundle: bundle(11), Step: "cut", Pieces: 6, Run: 100, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})}}},
	{"one share of two, not counted", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.also("S2", []int{2}, bundle(11)) }, at("S1", bundle(11)), check, []string{"share done", "count taken as the rest", "run closed"}, nil},
	{"one share of two, a part", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.also("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Part), pieces(6)), yes, []string{"share done", "run closed"}, nil},
	{"the last share, counted", func(p *past) { p.shared(6) }, at("S2", bundle(11), pieces(6)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 101, Bundle: bundle(11), Pieces: 6, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(2), Bars: 1}}})}}},
	{"the last share, not counted", func(p *past) { p.shared(6) }, at("S2", bundle(11)), check, []string{"cut done", "count taken as the rest", "run closed"}, nil},
	{"the last share, where the other one made all", func(p *past) { p.shared(12) }, at("S2", bundle(11)), check, []string{"cut done", "count taken as the rest"},
		[]event.Body{event.CutDone{Run: 101, Bundle: bundle(11), Asked: 12, Closed: closed(event.RunClosed{})}}},
	{"counted at a third shear", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.also("S3", []int{2}, bundle(11)) }, at("S1", bundle(11), pieces(6)), check, []string{"share done", "into pocket", "run closed", "started elsewhere"}, nil},
	{"a part counted at another shear", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Part), pieces(6)), check, []string{"share done", "into pocket", "run closed", "started elsewhere"}, nil},
	{"a part counted at another shear, that cuts other steel", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), do(scan.Part), pieces(6), pocket("9")), refused, []string{"no pocket"}, nil},
	{"a share that the truck took along", func(p *past) { p.run("S1", []int{1}, bundle(21)); p.also("S2", []int{2}, bundle(21)); p.opened(truck) }, at("L1", bundle(21), gone), check,
		[]string{"loaded", "cut done", "run closed", "went unscanned"}, []event.Body{
			event.PartDone{Station: "S1", Bundle: bundle(21), Step: "cut", Run: 100, Over: true, Closed: closed(event.RunClosed{})},
			event.CutDone{Run: 101, Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(2), Bars: 4}}})},
			event.Loaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot), Gone: true}}},

	// Runs of one bundle.
	{"the next bundle closes the last one", func(p *past) { p.charge("S3", "A", 1); p.run("S3", []int{1}, bundle(11)) }, at("S3", bundle(21)), yes, []string{"cut started", "cut done", "run closed"},
		[]event.Body{
			event.RunOpened{Station: "S3", Bundle: bundle(21), Lots: nums([]int{1})},
			event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	{"the next bundle of other steel", func(p *past) { p.charge("S3", "A", 3); p.run("S3", []int{1}, bundle(11)) }, at("S3", bundle(31)), yes, []string{"cut started", "cut done", "run closed"}, nil},
	{"the next bundle, counted", func(p *past) { p.charge("S3", "A", 1); p.run("S3", []int{1}, bundle(11)) }, at("S3", bundle(21), pieces(12)), yes, []string{"cut done", "run closed", "cut done", "run closed"},
		[]event.Body{
			event.RunOpened{Station: "S3", Bundle: bundle(21), Lots: nums([]int{1})},
			event.CutDone{Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4}}})},
			event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	// Lot 1 has 5 bars: 12 of 10' take 2 of them, 12 of 20' take 4.
	{"the next bundle, counted, of a lot that runs out", func(p *past) {
		p.charge("S3", "A", 1)
		p.run("S3", []int{1}, bundle(11))
		p.lots[stock(1)] = p.few(1, 5)
	}, at("S3", bundle(21), pieces(12)), check, []string{"cut done", "count difference", "run closed", "cut done", "run closed"},
		[]event.Body{
			event.RunOpened{Station: "S3", Bundle: bundle(21), Lots: nums([]int{1})},
			event.CutDone{Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4, Over: 1}}})},
			event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	// It has 4 bars: 6 of 10' there take one, 12 of 20' here take 4.
	{"taken over as the next bundle, of a lot that runs out", func(p *past) {
		p.charge("S3", "A", 1)
		p.run("S2", []int{1}, bundle(11))
		p.run("S3", []int{1}, bundle(21))
		p.lots[stock(1)] = p.few(1, 4)
	}, at("S3", bundle(11), do(scan.Take), pieces(6)), check, []string{"cut started", "made before", "cut done", "count difference", "run closed", "taken over", "run closed"},
		[]event.Body{
			event.PartDone{Station: "S2", Bundle: bundle(11), Step: "cut", Pieces: 6, Run: 100, Over: true, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})},
			event.RunOpened{Station: "S3", Bundle: bundle(11), Lots: nums([]int{1})},
			event.CutDone{Run: 101, Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4, Over: 1}}})}}},
	{"the next bundle may not start", func(p *past) { p.charge("S3", "A", 1); p.run("S3", []int{1}, bundle(11)) }, at("S3", bundle(31)), refused, []string{"wrong steel"}, nil},
	{"its own tag again", func(p *past) { p.charge("S3", "A", 1); p.run("S3", []int{1}, bundle(11)) }, at("S3", bundle(11)), yes, []string{"cut done", "run closed"}, nil},
	{"the next bundle, very soon", func(p *past) {
		p.charge("S3", "A", 1)
		p.run("S3", []int{1}, bundle(11))
		p.began(bundle(11), "gun", 19_999)
	}, at("S3", bundle(21)), check, []string{"cut started", "cut done", "run closed", "closed at full count"}, nil},

	{"the next bundle to bend ends the last one", func(p *past) { p.bendingAt("B3", bundle(12)); p.ready(bundle(11)) }, at("B3", bundle(11)), yes, []string{"step started", "step done"},
		[]event.Body{
			event.StepStarted{Station: "B3", Bundle: bundle(11), Step: "bend"},
			event.CardShown{Station: "B3", Bundle: bundle(11)},
			event.StepDone{Station: "B3", Bundle: bundle(12), Step: "bend", Pieces: 12}}},
	{"the next bundle to bend, very soon", func(p *past) {
		p.bendingAt("B3", bundle(12))
		p.ready(bundle(11))
		p.began(bundle(12), "gun", 5000)
	}, at("B3", bundle(11)), check, []string{"step started", "step done", "closed at full count"}, nil},
	{"the next bundle to bend, while the last one is held", func(p *past) {
		p.bendingAt("B3", bundle(12))
		p.ready(bundle(11))
		p.hold(event.Target{Number: bundle(12)})
	}, at("B3", bundle(11)), check, []string{"step started", "step done", "held while worked"}, nil},
	{"the next bundle to bend is held", func(p *past) {
		p.bendingAt("B3", bundle(12))
		p.ready(bundle(11))
		p.hold(event.Target{Number: bundle(11)})
	}, at("B3", bundle(11)), refused, []string{"held"}, nil},
	{"bent at a bender of single runs", func(p *past) { p.bendingAt("B3", bundle(12)) }, at("B3", bundle(12)), yes, []string{"step done"}, nil},
	{"the next bundle to bend where the last one is on a truck", func(p *past) {
		p.bendingAt("B3", bundle(12))
		p.ready(bundle(11))
		p.onto(truck, bundle(12), false)
	}, at("B3", bundle(11)), yes, []string{"step started"}, nil},

	// Sooner than anybody makes it.
	{"done very soon", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.began(bundle(11), "gun", 19_999) }, at("S1", bundle(11)), check, []string{"cut done", "run closed", "very soon"}, nil},
	{"done not so soon", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.began(bundle(11), "gun", 20_000) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"}, nil},
	{"done very soon, counted", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.began(bundle(11), "gun", 19_999) }, at("S1", bundle(11), pieces(12)), yes, []string{"cut done", "run closed"}, nil},
	{"begun by another device", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.began(bundle(11), "gun 2", 19_999) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"}, nil},
	{"bent very soon", func(p *past) { p.bending(bundle(11)); p.began(bundle(11), "gun", 10_000) }, at("B1", bundle(11)), check, []string{"step done", "very soon"}, nil},

	// Crews.
	{"a badge joins", nil, at("B1", badge), yes, []string{"crew joined"}, []event.Body{event.CrewJoined{Station: "B1", Person: badge}}},
	{"a badge leaves", func(p *past) { p.aboard("B1", badge, now-60_000) }, at("B1", badge), yes, []string{"crew left"}, []event.Body{event.CrewLeft{Station: "B1", Person: badge}}},
	{"a badge read twice", func(p *past) { p.aboard("B1", badge, now-1000); p.last(badge, "B1", accepted("crew joined"), 1000) }, at("B1", badge), yes, []string{"once"}, none},
	{"a badge of another station's crew", func(p *past) { p.aboard("B2", badge, now-60_000) }, at("B1", badge), yes, []string{"crew joined"}, nil},
}

// bendingAt lets a bundle be begun at a bender, whose card is shown there.
func (p *past) bendingAt(station string, n tags.Number) {
	p.bending(n)
	p.change(n, func(b *scan.Bundle) { b.Station = station })
	p.floorCard(station, n, 0)
}

// few is a lot with so many bars.
func (p *past) few(n, bars int) (l heat.Lot) {
	l = p.lots[stock(n)]
	l.Received = bars
	return l
}

// shared lets bundle 11 be begun at S1 and then S2, and S1 have made so many pieces of it.
func (p *past) shared(made int) {
	seq := p.run("S1", []int{1}, bundle(11))
	p.also("S2", []int{2}, bundle(11))
	r := p.runs[seq]
	r.Members[0].Done, r.Members[0].Pieces, r.By = true, made, 30_000
	p.runs[seq] = r
	p.floors["S1"] = scan.Floor{}
	p.change(bundle(11), func(b *scan.Bundle) { b.Station, b.Made = "S1", made })
	open := p.runs[b2(p, bundle(11))]
	open.Members[0].Pieces = 12 - made
}

func b2(p *past, n tags.Number) uint64 { runs := p.bundles[n].Runs; return runs[len(runs)-1] }

// floorCard shows a bundle's card at a station, whose open run is seq.
func (p *past) floorCard(station string, n tags.Number, seq uint64) {
	f := p.floors[station]
	f.Run, f.Card = seq, n
	p.floors[station] = f
}

// aboard puts a person into a station's crew.
func (p *past) aboard(station string, n tags.Number, at int64) {
	f := p.floors[station]
	f.Crew = append(f.Crew, scan.Aboard{Person: n, At: at})
	p.floors[station] = f
}

// TestStillCutElsewhere: who has ended their share is told where the bundle is still being cut.
func TestStillCutElsewhere(t *testing.T) {
	p := shop()
	p.shared(6)
	a := decide(t, p, at("S1", bundle(11))).Answer
	require.Equal(t, []string{"M1 1/2", "S2", "1970-01-01 00:01"}, a.Notes[0].Args)
}

// TestUndoPart: a part is taken back like a bundle cut.
func TestUndoPart(t *testing.T) {
	p := shop()
	p.made("S1", bundle(11), 5)
	u, a, err := scan.Undo(p, rules(), bundle(11), "miscounted")
	require.NoError(t, err)
	require.Equal(t, event.Undone{Bundle: bundle(11), Seq: 30_100, Reason: "miscounted"}, u)
	require.Equal(t, []string{"undone"}, codes(a))

	// Another bundle of the run closed it with a part of its own.
	p.runs[100] = func(r scan.Run) scan.Run { r.By = 30_200; return r }(p.runs[100])
	p.bodies[30_200] = event.PartDone{Bundle: bundle(21), Run: 100}
	_, _, err = scan.Undo(p, rules(), bundle(11), "miscounted")
	require.ErrorContains(t, err, "its run was closed later, with bundle 1-001-00000021-68; undo that one first")

	// The rest is begun: that goes first, and the run of the part stays as it is.
	p = shop()
	p.made("S1", bundle(11), 5)
	p.also("S2", []int{1}, bundle(11))
	u, _, err = scan.Undo(p, rules(), bundle(11), "wrong shear")
	require.NoError(t, err)
	require.Equal(t, event.Undone{Bundle: bundle(11), Seq: 101, Reason: "wrong shear"}, u)
	_, err = scan.Void(p, bundle(11), "revised")
	require.ErrorContains(t, err, "is begun")

	// Where another run is open, the table is not free.
	p = shop()
	p.made("S1", bundle(11), 5)
	p.run("S1", []int{1}, bundle(21))
	_, _, err = scan.Undo(p, rules(), bundle(11), "miscounted")
	require.ErrorContains(t, err, "S1 has another run open")
}

// TestUndoStartAgain: a run that made a part of a bundle, and that it was started in again, closes with the
// part when that start is taken back. 5 pieces of 10' and 12 of 20' are five bars, of which one leaves 10'.
func TestUndoStartAgain(t *testing.T) {
	p := shop()
	seq := p.run("S1", []int{1}, bundle(21), bundle(11))
	r := p.runs[seq]
	r.Members = append(r.Members, r.Members[1])
	r.Members[0].Done = true
	r.Members[1].Done, r.Members[1].Pieces = true, 5
	p.runs[seq] = r
	p.change(bundle(11), func(b *scan.Bundle) { b.Made, b.Runs = 5, []uint64{seq, seq} })
	u, a, err := scan.Undo(p, rules(), bundle(11), "not now")
	require.NoError(t, err)
	require.Equal(t, closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 5}},
		Remnants: []event.Remnant{{Lot: stock(901), Length: 10 * bar.Foot, Bars: 1}}}), u.Closed)
	require.Equal(t, []string{"undone", "run closed", "remnant"}, codes(a))
}

// TestCardOfRest: a card plans what is still to be made.
func TestCardOfRest(t *testing.T) {
	p := shop()
	p.made("S1", bundle(11), 7)
	c, ok := scan.CardOf(p, rules(), "S1", bundle(11))
	require.True(t, ok)
	require.Equal(t, 5, c.Bundle.ToDo())
	require.Equal(t, []scan.Member{{Bundle: bundle(11), Length: 10 * bar.Foot, Pieces: 5}}, c.Members)
	bars, _, _ := c.Bars()
	require.Equal(t, 1, bars)

	// In a run that made a part of it, and that is open, it is there twice.
	seq := p.run("S1", []int{1}, bundle(21))
	r := p.runs[seq]
	r.Members = append(r.Members, scan.Member{Bundle: bundle(11), Length: 10 * bar.Foot, Pieces: 7, Done: true})
	p.runs[seq] = r
	c, _ = scan.CardOf(p, rules(), "S1", bundle(11))
	require.Len(t, c.Members, 3)
	require.Equal(t, 5, c.Members[2].Pieces)
}
