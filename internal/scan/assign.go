package scan

import (
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// A bundle whose route takes nothing from a feed is made of bars as they came: full stock lengths, or
// bars that are only bent or coated. No station cuts it, so somebody says which bars it is: beside a
// scan anywhere, or in the office. The bars are tied already, so that is a deed: it is never refused for
// a rule.

// assigning says whether the scan says which bars the bundle is.
func (j *judge) assigning(b Bundle, l *Line) bool {
	return j.scan.Do == Scanned && firstDraw(b.Steps(l)) < 0 && len(j.scan.Lots)+len(j.scan.Bars)+len(j.scan.Coils) > 0
}

// assign records which bars a bundle is.
func (j *judge) assign(b Bundle, l *Line) Outcome {
	if len(b.Runs) > 0 {
		return j.refuse(b.Number, "assigned already", title(b, l), numbers(Drawn(j.past, b)))
	}
	if coils := j.coils(j.scan.Lots); len(coils) > 0 || len(j.scan.Coils) > 0 {
		return j.refuse(b.Number, "not of coil", title(b, l))
	}
	closed := event.RunClosed{Steel: l.Steel}
	all := b.Pieces + b.Lost() // what it lost before was of those bars too
	said := len(j.scan.Bars) > 0 || len(j.scan.Lots) == 1
	if len(j.scan.Bars) > 0 {
		closed.Draws = slices.Clone(j.scan.Bars)
	} else {
		draw := func(n tags.Number, bars int) event.Draw { return event.Draw{Lot: n, Bars: bars} }
		closed.Draws, closed.Assumed = shareOut(j.past, j.scan.Lots, all, heat.Lot.OnHand, draw), !said
	}
	closed.Lots = slices.Clone(j.scan.Lots)
	out := Outcome{Show: b.Number}
	bars := 0
	var drawn bar.Length
	for _, d := range closed.Draws {
		bars += d.Bars
		closed.Lots = union(closed.Lots, d.Lot)
	}
	out.Answer = answer(event.Accepted, "assigned", title(b, l), bars, heat.Of(j.past, closed.Lots).Names(), after(b, l, b.Done))
	for i := range closed.Draws {
		d := &closed.Draws[i]
		lot, _ := j.past.Lot(d.Lot)
		drawn += lot.Length * bar.Length(d.Bars)
		if !l.Steel.Matches(lot.Steel) {
			look(&out.Answer, "drew other steel", d.Lot, lot.Steel, l.Steel)
		}
		if lot.Length != l.Length {
			look(&out.Answer, "length differs", d.Lot, j.length(lot.Length), title(b, l), j.length(l.Length))
		}
		if d.Over = max(0, d.Bars-max(0, lot.OnHand())); d.Over > 0 {
			look(&out.Answer, "count difference", d.Lot, d.Over)
		}
	}
	if bars != all {
		look(&out.Answer, "count differs", bars, all)
	} else if j.scan.Pieces != 0 && j.scan.Pieces != b.Pieces {
		look(&out.Answer, "count differs", j.scan.Pieces, b.Pieces)
	}
	if left := drawn - l.Length*bar.Length(all); left >= 0 {
		closed.Scrap = left
	} else {
		closed.Missing = -left
		look(&out.Answer, "metal missing", j.length(-left))
	}
	j.afterTheDeed(&out.Answer, b, l, closed.Lots)
	if no := j.rulesAtStart(b, l, closed.Lots); no.Answer.Verdict == event.Refused && !lookedAt[no.Answer.Notes[0].Code] {
		heed(&out.Answer, no)
	}
	out.Events = []event.Body{event.BundleAssigned{Bundle: b.Number, Closed: closed, Station: j.at.Name, Said: said}}
	return out
}

// shareOut draws so many bars, or so much coil, from lots: what each has, and beyond that all from the last
// one.
func shareOut[N int | bar.Mass, D any](past Past, lots []tags.Number, all N, has func(heat.Lot) N, draw func(tags.Number, N) D) []D {
	var out []D
	for i, n := range lots {
		lot, _ := past.Lot(n)
		take := min(all, max(0, has(lot)))
		if i == len(lots)-1 {
			take = all
		}
		if all -= take; take > 0 {
			out = append(out, draw(n, take))
		}
	}
	return out
}

// numbers writes numbers with commas between them, and "none" where there are none.
func numbers(all []tags.Number) string {
	var out []string
	for _, n := range all {
		out = append(out, n.String())
	}
	return join(out)
}

// Assign says in the office which bars a bundle is that no station cuts: so many of each lot, or as many
// as it has pieces of lots in order.
func Assign(past Past, rules Rules, n tags.Number, lots []tags.Number, bars []event.Draw) (event.BundleAssigned, event.Answer, error) {
	none := event.BundleAssigned{Bundle: n}
	j := &judge{past: past, rules: rules, scan: Scan{Lots: lots, Bars: bars}}
	b, l, err := bundleOf(past, "bundle", n)
	switch {
	case err != nil:
		return none, event.Answer{}, err
	case b.Voided:
		return none, event.Answer{}, refusal("bundle", "%v is voided", n)
	case len(lots)+len(bars) == 0:
		return none, event.Answer{}, refusal("bars", "are missing; say how many of which lot")
	}
	if first := firstDraw(b.Steps(l)); first >= 0 {
		return none, event.Answer{}, refusal("bundle", "%v is made of what its step %q takes from a feed; if it is not, give it another route first", n, b.Steps(l)[first])
	}
	out := j.typed()
	if out.Answer.Verdict != event.Refused {
		out = j.assign(b, l)
	}
	if _, err := spoken(out, "bars"); err != nil {
		return none, event.Answer{}, err
	}
	return out.Events[0].(event.BundleAssigned), out.Answer, nil
}

// Declare says what a supplier's paper has on the heats of a bundle that was bought ready made. The steel
// gets a lot of its own, whose number is the caller's, so that everything finds it as it finds other
// steel; how sure its heats are is never better than declared.
func Declare(past Past, e event.HeatsDeclared) (event.HeatsDeclared, event.Answer, error) {
	var a event.Answer
	e, err := heat.Declare(e)
	if err != nil {
		return e, a, err
	}
	b, l, err := bundleOf(past, "bundle", e.Bundle)
	if err != nil {
		return e, a, err
	}
	first := firstDraw(b.Steps(l))
	switch {
	case b.Voided:
		return e, a, refusal("bundle", "%v is voided", e.Bundle)
	case len(b.Runs) > 0:
		return e, a, refusal("bundle", "%v is of lot %s by the record; undo that first if it is not", e.Bundle, numbers(Drawn(past, b)))
	case first >= 0:
		return e, a, refusal("bundle", "%v waits to be made here, by its step %q; give it the route none first if it was bought", e.Bundle, b.Steps(l)[first])
	}
	return e, answer(event.Accepted, "heats declared", title(b, l), join(e.Heats), e.Mill, e.Paper), nil
}
