package scan

import (
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// load judges a load's tag: it opens the load at the device, or with Ship lets it leave.
func (j *judge) load(n tags.Number) Outcome {
	ld, ok := j.past.Load(n)
	if !ok {
		return j.refuse(n, "not known", n)
	}
	if !j.at.Can(Loadout) {
		return j.refuse(n, "not here", "load", j.at.Title, j.stationsFor(string(Loadout)))
	}
	if ld.Shipped != 0 && (j.scan.Do == Ship || !j.scan.Gone) {
		return j.refuse(n, "load left", n, j.when(ld.Shipped))
	}
	if j.scan.Do == Ship {
		return j.ship(ld)
	}
	out := Outcome{
		Answer: answer(event.Accepted, "load opened", n, strings.Join(ld.Jobs(), ", ")),
		Events: []event.Body{event.LoadOpened{Load: n}},
		Show:   n,
	}
	if ld.Shipped != 0 {
		look(&out.Answer, "opened after", n, j.when(ld.Shipped))
	} else if ld.Limit == 0 {
		look(&out.Answer, "no limit", n)
	}
	return j.tellHeld(out, n, n)
}

// carried says that what is scanned went onto the truck, whatever the rules say: what would have refused
// it is a Check then.
func (j *judge) carried() bool { return j.scan.Gone || j.scan.Deed }

// loadBundle judges a bundle's tag at loadout. When the truck has gone, the bundle went with it
// unscanned: what would have refused it is a Check then, and it stands on the load all the same.
func (j *judge) loadBundle(b Bundle, l *Line) Outcome {
	if out, gone := j.gone(b, l); gone {
		return out
	}
	n := j.dev.Load
	if n == 0 {
		return j.refuse(b.Number, "no load open")
	}
	ld, _ := j.past.Load(n)
	if ld.Shipped != 0 && !j.carried() {
		return j.refuse(b.Number, "load left", n, j.when(ld.Shipped))
	}
	out := Outcome{Show: b.Number}
	left := j.scan.Gone || j.scan.Deed && ld.Shipped != 0
	if j.carried() && b.Started && b.Draws(l) {
		// It is on the truck, so it was cut: its run must not wait for it for ever.
		b = j.cutUnscanned(&out, b, l)
	}
	cut := out.Answer.Notes
	m := nominal(b, l)
	stops := j.stops(b, l, ld, m)
	if len(stops) > 0 && !j.carried() {
		return stops[0]
	}
	out.Answer = answer(event.Accepted, "loaded", title(b, l), n, ld.Count+1, j.mass(ld.Mass+m))
	out.Answer.Notes = append(out.Answer.Notes, cut...)
	out.Events = append(out.Events, event.Loaded{Load: n, Bundle: b.Number, Mass: m, Gone: left})
	if left {
		look(&out.Answer, "went unscanned", title(b, l), n)
	}
	for _, stop := range stops {
		heed(&out.Answer, stop)
	}
	switch {
	case b.Planned != 0 && b.Planned != n:
		look(&out.Answer, "planned elsewhere", title(b, l), b.Planned)
	case ld.Planned > 0 && b.Planned != n:
		look(&out.Answer, "not planned", title(b, l), n)
	}
	if !j.carried() {
		j.order(&out.Answer, b, l, ld)
	}
	return out
}

// move takes a bundle from the load on which it lies to the one that is open, by all rules of loading.
func (j *judge) move(b Bundle, l *Line) Outcome {
	switch {
	case !j.at.Can(Loadout):
		return j.refuse(b.Number, "not here", "load", j.at.Title, j.stationsFor(string(Loadout)))
	case b.Load == 0:
		return j.refuse(b.Number, "not on a load", title(b, l))
	case b.Shipped || b.Load == j.dev.Load:
		out, _ := j.gone(b, l)
		return out
	}
	off := j.unload(b, l)
	was := b.Load
	b.Load = 0
	out := j.loadBundle(b, l)
	if out.Answer.Verdict == event.Refused {
		return out
	}
	out.Events = append(off.Events, out.Events...)
	out.Answer.Notes = slices.Insert(out.Answer.Notes, 1, note("moved from", was))
	return out
}

// cutUnscanned records a bundle cut that is still in runs: the newest one made what was left of it.
func (j *judge) cutUnscanned(out *Outcome, b Bundle, l *Line) Bundle {
	shares := j.shares(b)
	here := *j
	for i, run := range shares {
		if i < len(shares)-1 {
			one := here
			one.scan.Pieces = 0
			over, was := one.over(run, b, l)
			here.past = book(here.past, over)
			out.Events = append(out.Events, over)
			out.Answer.Notes = append(out.Answer.Notes, was.Notes...)
			continue
		}
		b.Runs, b.Station = []uint64{run.Seq}, run.Station // the others have ended
		done := here.done(Outcome{Show: b.Number}, run, b, l)
		done.Answer.Notes = append(done.Answer.Notes, out.Answer.Notes...)
		done.Events = append(out.Events, done.Events...)
		*out = done
		b.Pieces, b.Made, b.Started, b.Done = max(b.Pieces, b.Made), 0, false, b.Done+1 // all that was asked for, since nobody counted
	}
	return b
}

// stops are all reasons why a bundle may not go onto a load, the plainest first.
func (j *judge) stops(b Bundle, l *Line, ld load.Load, m bar.Mass) []Outcome {
	var out []Outcome
	stop := func(code string, args ...any) { out = append(out, j.refuse(b.Number, code, args...)) }
	at := stopOf(j.past, ld, b)
	if b.Voided {
		out = append(out, j.noMore(b, l))
	}
	if !ld.For(l.Job) {
		back := b.Station
		if b.Planned != 0 {
			back = b.Planned.String()
		} else if name, ok := j.past.Place(b.Place); ok {
			back = name
		} else if st, ok := j.rules.Station(b.Station); ok {
			back = st.Title
		}
		stop("wrong job", title(b, l), l.Job, ld.Number, strings.Join(ld.Jobs(), ", "), back)
	}
	if next := b.Next(l); next != "" && b.Draws(l) {
		stop("not cut yet", title(b, l), j.stationsFor(next))
	} else if next != "" && !j.worksOn(at, b, l) {
		stop("not ready", title(b, l), next, j.stationsFor(next))
	}
	if h, held := j.held(b, Drawn(j.past, b)); held {
		out = append(out, j.refuseHeld(b.Number, title(b, l), h))
	}
	if h, held := j.past.Hold(event.Target{Number: ld.Number}); held {
		out = append(out, j.refuseHeld(b.Number, ld.Number, h))
	}
	// What comes back from a processor is asked for its papers when it goes to the site.
	if no := j.rulesAtLoad(b, l); at.Processor == "" && no.Answer.Verdict == event.Refused {
		out = append(out, no)
	}
	if ld.Limit > 0 && ld.Mass+m > ld.Limit {
		stop("over the limit", title(b, l), ld.Number, j.mass(ld.Mass+m), j.mass(ld.Limit))
	}
	return out
}

// rulesAtLoad asks what the job wants of the heats, certs and origin before a bundle goes onto a
// truck.
func (j *judge) rulesAtLoad(b Bundle, l *Line) Outcome {
	job, _ := j.past.Job(l.Job)
	if job.Heats == event.HeatsNone && job.Certs == event.CertsNone && job.Country == "" {
		return Outcome{}
	}
	d, drawn := HeatsOf(j.past, b)
	if !drawn {
		if firstDraw(b.Steps(l)) < 0 {
			return j.refuse(b.Number, "not assigned", title(b, l), job.Job)
		}
		d.Certainty = heat.Unknown
	}
	bad := d.Certainty == heat.Unknown || job.Heats == event.HeatsSingle && len(d.Heats) > 1
	if job.Heats != event.HeatsNone && bad {
		return j.refuse(b.Number, "heats not met", job.Job, string(job.Heats), title(b, l), d.Names())
	}
	if k, missing := heat.MissingCert(j.past, d, l.Steel.Size, job.Certs); missing {
		name := k.Heat
		if name == "" {
			name = "unknown"
		}
		return j.refuse(b.Number, "cert missing", job.Job, string(job.Certs), name, l.Steel.Size)
	}
	if job.Country == "" {
		return Outcome{}
	}
	lots := Drawn(j.past, b)
	if lot, why := heat.Origin(j.past, lots, job.Country); why != "" {
		return j.refuse(b.Number, "origin not met", job.Job, job.Country, title(b, l), lot.Number, why, madeIn(lot, why))
	}
	if len(lots) == 0 || lacking(j.past, b) {
		return j.refuse(b.Number, "origin unknown", job.Job, job.Country, title(b, l))
	}
	return Outcome{}
}

// Broken says which rule of its job a bundle breaks as the record has it now, wherever it is: what would
// refuse it at a truck. What is not drawn yet, or is no more, breaks none.
func Broken(past Past, rules Rules, b Bundle) []event.Note {
	if _, drawn := HeatsOf(past, b); !drawn || b.Voided {
		return nil
	}
	j := &judge{past: past, rules: rules}
	return j.rulesAtLoad(b, past.Line(b.Line)).Answer.Notes
}

// madeIn is the country in which a lot was melted or rolled.
func madeIn(lot heat.Lot, why string) string {
	where := lot.Melted
	if why == "roll" {
		where = lot.Rolled
	}
	if where == "" {
		return "unknown"
	}
	return where
}

// unload takes a bundle off its load, wherever it is scanned: it is down already.
func (j *judge) unload(b Bundle, l *Line) Outcome {
	switch {
	case b.Load == 0:
		return j.refuse(b.Number, "not on a load", title(b, l))
	case b.Shipped:
		out, _ := j.gone(b, l)
		return out
	}
	// What it weighed when it went on comes off, whatever is known of it by now.
	var m bar.Mass
	if on, ok := j.past.Body(b.Progress[len(b.Progress)-1]).(event.Loaded); ok {
		m = on.Mass
	}
	return Outcome{
		Answer: answer(event.Accepted, "unloaded", title(b, l), b.Load),
		Events: []event.Body{event.Unloaded{Load: b.Load, Bundle: b.Number, Mass: m}},
		Show:   b.Number,
	}
}

// ship lets a load leave. A hold on the load, or on anything on it, stops it; when the truck has gone
// already that is recorded, with every held bundle named.
func (j *judge) ship(ld load.Load) Outcome {
	if ld.Count == 0 && !j.carried() {
		return j.refuse(ld.Number, "load empty", ld.Number)
	}
	out := Outcome{
		Answer: answer(event.Accepted, "shipped", ld.Number, ld.Count, j.mass(ld.Mass)),
		Events: []event.Body{event.Shipped{Load: ld.Number, Bundles: ld.Count, Gone: j.carried()}},
		Show:   ld.Number,
	}
	if ld.Count == 0 {
		look(&out.Answer, "left empty", ld.Number)
	}
	var refusal *Outcome
	stop := func(what, why string) bool {
		if !j.carried() {
			o := j.refuse(ld.Number, "held on load", ld.Number, what, why)
			refusal = &o
			return false
		}
		look(&out.Answer, "left with held", what, why)
		return len(out.Answer.Notes) < 50
	}
	if h, held := j.past.Hold(event.Target{Number: ld.Number}); held && !stop(ld.Number.String(), h.Reason) {
		return *refusal
	}
	j.past.Loaded(ld.Number, func(n tags.Number) bool {
		b, _ := j.past.Bundle(n)
		if h, held := j.held(Bundle{Number: n}, Drawn(j.past, b)); held {
			return stop(title(b, j.past.Line(b.Line)), h.Reason)
		}
		return true
	})
	if refusal != nil {
		return *refusal
	}
	return out
}
