package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"tagd/api"
)

// The second day: paper and coil come in, a shift ends in the middle of a bundle, things are spoilt,
// lost, parted and forgotten, a revision comes, and a device has no network for an afternoon.

const ana, tom, quality = "Ana Ruiz (invented)", "Tom Okafor (invented)", "Ines Falk (invented)"

func (d *day) second(name string) []byte { return first(demoLists.ReadFile("demo/second/" + name)) }

// notes prints the sentences of an answer that is not one to a scan.
func (d *day) notes(notes []api.Note) {
	for _, n := range notes {
		d.say("        %s", sentence(n))
	}
}

// morning makes what the second day needs.
func (d *day) morning() {
	d.part("THE SECOND DAY. Yesterday's hold is lifted: the mill was wrong about the heat.")
	held := stockBought[0]
	_, err := d.c.Lift(d.ctx, api.LiftHold{Target: api.Target{Mill: held.mill, Heat: held.heat}, Reason: "mill took the recall back", By: d.by("quality")})
	if !d.must(err) {
		return
	}
	p, err := d.c.Person(d.ctx, api.MakePerson{Name: quality, Offices: []string{"quality"}, By: d.by("office")})
	if !d.must(err) {
		return
	}
	d.numbers[quality] = p.Person.Number
	if _, err := d.c.SetJob(d.ctx, "OWN", api.SetJob{JobRules: api.JobRules{Name: "The shop's own stock", Stock: true}, By: d.by("office")}); !d.must(err) {
		return
	}
	for _, name := range []string{"26-021-list-2.csv", "stock-list-1.csv"} {
		d.take(name, api.ListOptions{})
	}
}

// take reads a list and remembers its bundles, mark by mark.
func (d *day) take(name string, o api.ListOptions) api.ListTaken {
	if d.err != nil {
		return api.ListTaken{}
	}
	o.By = d.by("office")
	t, err := d.c.TakeList(d.ctx, name, d.second(name), o)
	if !d.must(err) {
		return t
	}
	d.say("  %s: %d lines, %d bundles", name, len(t.Lines), t.Bundles)
	for _, l := range t.Lines {
		if len(l.Bundles) > 0 {
			d.numbers[l.Mark] = l.Bundles[0]
		}
	}
	return t
}

// paper writes down what a mill's paper says is coming, and confirms it with the scanner.
func (d *day) paper() {
	d.part("A mill's paper says what is coming; at the gate each mill bundle is scanned. One has two bars fewer, one lot does not come:")
	r, err := d.c.ImportStock(d.ctx, "tallgrass-paper.csv", d.second("tallgrass-paper.csv"), api.StockOptions{As: "expect", By: d.by("office")})
	if !d.must(err) {
		return
	}
	d.numbers["the expected #5 lot"], d.numbers["the expected #6 lot"] = r.Lots[0].Number, r.Lots[1].Number
	d.scan("R1", "B-01", "accepted")
	d.scan("R1", "T-5601", "accepted")
	d.scan("R1", "T-5602", "check", func(s *api.Scan) { s.Pieces = 18 })
	d.scan("R1", "T-5601", "accepted")
	late, err := d.c.Lot(d.ctx, d.numbers["the expected #6 lot"])
	if d.must(err) {
		d.say("        lot %s, heat TG77460: %s, %d bars on hand", late.Number, late.Paper.State, late.OnHand)
	}
}

// coil cuts and bends ties from a coil in one step.
func (d *day) coil() {
	d.part("Ties are cut and bent from coil in one step; coil is drawn by weight:")
	r, err := d.c.Receive(d.ctx, api.Receive{
		Mill: laguna, Heats: []string{"01E5301"}, Size: "#4", Spec: "A615", Grade: "60", Weight: "4,000 lb",
		MillCoils: []api.MillCoil{{Number: "C-77", Weight: "4,000 lb"}}, Place: "A-02", By: d.by("receiving"),
	})
	if !d.must(err) {
		return
	}
	d.numbers["the coil"] = r.Lots[0].Number
	d.scan("C1", "the coil", "accepted")
	d.scan("C1", "K401", "accepted")
	d.scan("C1", "K401", "accepted")
	left, err := d.c.Lot(d.ctx, d.numbers["the coil"])
	if d.must(err) {
		d.say("        coil %s: %s left of 4,000 lb", left.Number, left.Weight)
	}
}

// shifts ends a shift in the middle of a bundle, and hands another one over while it is begun.
func (d *day) shifts() {
	d.part("Ana's shift ends when 15 of 40 are cut. The next morning Tom goes on at the other shear, from another heat:")
	d.scan("S1", ana, "accepted")
	d.scan("S1", "the #5 garage lot", "accepted")
	d.scan("S1", "W503", "accepted")
	d.scan("S1", "W503", "accepted", func(s *api.Scan) { s.Do, s.Pieces = "part", 15 })
	d.scan("S1", ana, "accepted")
	d.scan("S2", tom, "accepted")
	d.scan("S2", "the expected #5 lot", "accepted")
	d.scan("S2", "W503", "accepted")
	d.scan("S2", "W503", "accepted")
	d.sure("W503")
	d.part("What is begun at one shear is taken over by the other:")
	d.scan("S1", "W505", "accepted")
	d.scan("S2", "W505", "refused")
	d.scan("S2", "W505", "accepted", func(s *api.Scan) { s.Do = "take" })
	d.scan("S2", "W505", "accepted")
}

// sure says how sure the heats of a bundle are.
func (d *day) sure(what string) {
	if d.err != nil {
		return
	}
	b, err := d.c.Bundle(d.ctx, d.numbers[what])
	if d.must(err) {
		d.say("        %s %s/%d: %d pieces, %s: %s", b.Mark, b.K, b.N, b.Pieces, b.Certainty, heatNumbers(b.Heats))
	}
}

// spoilt loses pieces, parts a bundle, and loses a tag.
func (d *day) spoilt() {
	d.part("Two pieces are damaged and one goes to the agency as a sample: the line owes replacements, and their tags say so:")
	lost, err := d.c.Lose(d.ctx, d.numbers["W503"], api.LosePieces{Pieces: 2, Why: "damaged", Note: "bent by the crane", By: d.by("S2")})
	if !d.must(err) {
		return
	}
	d.notes(lost.Notes)
	d.numbers["W503 again"] = lost.Others[0].Number
	sample, err := d.c.Lose(d.ctx, d.numbers["W503"], api.LosePieces{Pieces: 1, Why: "sample", By: d.by("quality")})
	if !d.must(err) {
		return
	}
	d.notes(sample.Notes)
	d.picture("W503 again")
	d.scan("S2", "W503 again", "accepted")
	d.scan("S2", "W503 again", "accepted")
	d.part("The bundle is parted for two trucks, and the crane tears the tag off:")
	parted, err := d.c.Split(d.ctx, d.numbers["W503"], api.SplitBundle{Pieces: []int{12}, Reason: "two trucks", By: d.by("yard")})
	if !d.must(err) {
		return
	}
	d.notes(parted.Notes)
	gone, err := d.c.LoseTag(d.ctx, api.LoseTag{Number: d.numbers["W503"], Reason: "torn off", By: d.by("yard")})
	if d.must(err) {
		d.notes(gone.Notes)
	}
}

// whole ships bars as they came, and bundles that were bought ready made.
func (d *day) whole() {
	d.part("Full bars are a bundle as they are, and a supplier's paper says what was bought ready cut:")
	full, err := d.c.Assign(d.ctx, d.numbers["R501"], api.Assign{Bars: []api.Drawn{{Lot: d.numbers["the expected #5 lot"], Bars: 6}}, By: d.by("yard")})
	if !d.must(err) {
		return
	}
	d.notes(full.Notes)
	bought, err := d.c.Declare(d.ctx, d.numbers["D801"], api.Declare{Mill: laguna, Heats: []string{"01E4990"}, Paper: "delivery note 4711 (invented)", By: d.by("office")})
	if !d.must(err) {
		return
	}
	d.notes(bought.Notes)
	d.sure("D801")
	d.part("Ten bars that were cut for the shop's own stock go to a customer:")
	d.scan("S2", "Z512", "accepted")
	d.scan("S2", "Z512", "accepted")
	given, err := d.c.Reassign(d.ctx, d.numbers["Z512"], api.Reassign{Job: garage, List: "2", Mark: "W504", Reason: "wanted today", By: d.by("office")})
	if d.must(err) {
		d.notes(given.Notes)
	}
}

// forgotten mends a charge that nobody scanned.
func (d *day) forgotten() {
	d.part("Tom remembers: for the replacement he had laid the other heat on the feed too, and had not scanned it. One event restates the run:")
	d.sure("W503 again")
	b, err := d.c.Bundle(d.ctx, d.numbers["W503 again"])
	if !d.must(err) {
		return
	}
	m, err := d.c.MendCharge(d.ctx, api.MendCharge{
		Station: "S2", Feed: "A", Lot: d.numbers["the #5 garage lot"], Runs: b.Runs[len(b.Runs)-1:], Reason: "two bundles were on the rack", By: d.by("S2"),
	})
	if !d.must(err) {
		return
	}
	d.notes(m.Notes)
	d.sure("W503 again")
}

// revise takes a revision of the list of which some is cut.
func (d *day) revise() {
	d.part("Revision A of the list comes, when W506 is cut at the old length:")
	d.scan("S2", "W506", "accepted")
	d.scan("S2", "W506", "accepted")
	if d.err != nil {
		return
	}
	name := "26-021-list-2-rev-A.csv"
	look, err := d.c.TakeList(d.ctx, name, d.second(name), api.ListOptions{Revision: "A", DryRun: true, By: d.by("office")})
	if !d.must(err) {
		return
	}
	for _, c := range look.Changes {
		if c.What == "unchanged" {
			continue
		}
		var was []string
		for _, f := range c.Fields {
			was = append(was, fmt.Sprintf("%s %s, was %s", f.Field, f.Is, f.Was))
		}
		d.say("        %s", strings.TrimSuffix(fmt.Sprintf("%s %s: %s", c.Mark, c.What, strings.Join(was, "; ")), ": "))
		for _, q := range c.Asked {
			d.say("          %s (%d pieces) is %s: %s?", q.Name, q.Pieces, q.State, strings.Join(q.May, ", "))
		}
	}
	d.take(name, api.ListOptions{Revision: "A", Decide: []string{d.numbers["W506"] + "=to stock:will do for a curb"}})
	old := d.numbers["W507"]
	d.scan("S2", old, "refused")
}

// offline sends an afternoon's scans of a device that had no network.
func (d *day) offline() {
	d.part("The loadout's tablet has no network for an hour and keeps its scans. Meanwhile quality holds a heat:")
	l, err := d.c.PlanLoad(d.ctx, api.PlanLoad{Date: d.now.Format(time.DateOnly), Truck: "T-22", Limit: "44,000 lb", Stops: []api.PlanStop{{Stop: api.Stop{Job: garage}}}, By: d.by("office")})
	if !d.must(err) {
		return
	}
	d.numbers["the second garage truck"] = l.Load.Number
	_, err = d.c.Hold(d.ctx, api.PutHold{Target: api.Target{Mill: laguna, Heat: "01E4990"}, Reason: "paper in doubt", By: d.by("quality")})
	if !d.must(err) {
		return
	}
	var kept []json.RawMessage
	for _, what := range []string{"the second garage truck", "W503", "K401", "D801", "R501"} {
		raw, err := json.Marshal(api.Scan{Code: d.numbers[what], Station: "L1", By: d.by("tablet 3")})
		if !d.must(err) {
			return
		}
		kept = append(kept, raw)
	}
	answers, err := d.c.Kept(d.ctx, kept)
	if !d.must(err) {
		return
	}
	for _, a := range answers.Answers {
		d.answer("L1", a)
	}
	again, err := d.c.Kept(d.ctx, kept)
	if d.must(err) && len(again.Answers) != len(answers.Answers) {
		d.must(fmt.Errorf("sent again, %d receipts", len(again.Answers)))
	}
	d.part("What was kept and does not fit the record stands on the list, until somebody who may has settled it:")
	open, err := d.c.Open(d.ctx, api.OpenFilter{Disputed: true}, "", 10)
	if !d.must(err) {
		return
	}
	for _, o := range open.Open {
		d.say("  %s %s: %s", o.About, o.Office, strings.Join(o.How, " "))
		done, err := d.c.Resolve(d.ctx, o.Seq, api.Resolve{Reason: "it is on the truck; taken down again", Person: d.numbers[quality], Took: true, By: d.by("quality")})
		if !d.must(err) {
			return
		}
		d.notes(done.Notes)
	}
	d.scan("L1", "D801", "accepted", func(s *api.Scan) { s.Do = "unload" })
}

// counting counts a lot in the yard, and adds the heat of one of which it was not known.
func (d *day) counting() {
	d.part("The yard is counted. A lot of which nobody knows the heat serves where no job asks for it, and gets the heat later:")
	d.scan("Y1", "the #6 bridge lot", "check", func(s *api.Scan) { s.Do, s.Pieces = "count", 4 })
	r, err := d.c.Receive(d.ctx, api.Receive{Size: "#5", Spec: "A615", Grade: "60", Length: "40'", Bars: 12, Place: "A-01", By: d.by("receiving")})
	if !d.must(err) {
		return
	}
	d.numbers["the lot without a heat"] = r.Lots[0].Number
	d.scan("S1", "", "accepted", func(s *api.Scan) { s.Do = "empty" })
	d.scan("S1", "the lot without a heat", "accepted")
	d.scan("S1", "Z513", "accepted")
	d.scan("S1", "Z513", "accepted")
	d.sure("Z513")
	d.scan("S1", "S501", "refused")
	set, err := d.c.SetHeats(d.ctx, r.Lots[0].Number, api.SetHeats{Mill: tallgrass, Heats: []string{"TG77402"}, Reason: "the mill's tag was under the stack", By: d.by("quality")})
	if !d.must(err) {
		return
	}
	d.say("        heat TG77402: %d bundles and %d remnants follow", len(set.Bundles), len(set.Lots))
	d.sure("Z513")
	d.scan("S1", "S501", "accepted")
}

// tomorrow lets the trucks of the day go, and plans those of the next days: what is not made yet is cut for them
// first.
func (d *day) tomorrow() {
	d.part("The garage's trucks leave, and the next days' are planned: the rest of the lists, whether it is cut or not.")
	for _, truck := range []string{"the garage truck", "the second garage truck"} {
		d.scan("L1", truck, "accepted")
		d.scan("L1", truck, "accepted", func(s *api.Scan) { s.Do = "ship" })
	}
	// Whether a bundle makes its truck is reckoned from now, whatever day it is in the story.
	day := func(n int) string { return time.Now().AddDate(0, 0, n).Format(time.DateOnly) }
	rest := func(list string) []api.PlanLine { return []api.PlanLine{{List: list}} }
	next, again := api.PlanLoad{
		Date: day(1), Leaves: "06:30", Truck: "T-14", Trailer: "F-48", Limit: "44,000 lb",
		Stops: []api.PlanStop{
			{Stop: api.Stop{Job: bridge, Contact: "June Marsh (invented), 555-0114", From: "08:00", Until: "11:00"}, Lines: rest("3")},
			{Stop: api.Stop{Job: garage, Contact: "gate 2 (invented), 555-0130", From: "13:00", Until: "15:00"}, Lines: []api.PlanLine{{List: "1", Mark: "S402"}, {List: "1", Mark: "S404"}}},
		},
	}, api.PlanLoad{
		Date: day(2), Leaves: "09:00", Truck: "T-09", Limit: "44,000 lb",
		Stops: []api.PlanStop{{Stop: api.Stop{Job: garage, Contact: "gate 2 (invented), 555-0130"}, Lines: append(rest("1"), rest("2")...)}},
	}
	next.By, again.By = d.by("office"), d.by("office")
	if d.err != nil {
		return
	}
	for _, plan := range []func() (api.LoadPlanned, error){
		func() (api.LoadPlanned, error) {
			return d.c.ReplanLoad(d.ctx, d.numbers["the next bridge truck"], next)
		},
		func() (api.LoadPlanned, error) { return d.c.PlanLoad(d.ctx, again) },
	} {
		p, err := plan()
		if !d.must(err) {
			return
		}
		d.say("  load %s, truck %s, leaves %s %s: %d bundles planned", p.Load.Number, p.Load.Truck, p.Load.Date, p.Load.Leaves, p.Load.Planned)
	}
	needs, err := d.c.Needs(d.ctx)
	if !d.must(err) {
		return
	}
	for _, t := range needs.Trucks {
		d.say("  truck %s, %s: %d bundles ready, %d wait; %d will miss it, %d may, of %d no forecast", t.Truck, t.LeavesAt, t.Ready, t.Waiting, t.Miss, t.MayMiss, t.Unknown)
	}
}

// evening says what is left to settle.
func (d *day) evening() {
	if d.err != nil {
		return
	}
	open, err := d.c.Open(d.ctx, api.OpenFilter{}, "", 100)
	if !d.must(err) {
		return
	}
	d.part("Left to settle (%d):", len(open.Open))
	for _, o := range open.Open {
		for _, n := range o.Notes {
			d.say("  %-10s %s", o.Office, n.Says)
		}
	}
}
