package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// bundle judges a bundle's tag at a station.
func (j *judge) bundle(n tags.Number) Outcome {
	b, ok := j.past.Bundle(n)
	if !ok {
		return j.refuse(n, "not known", n)
	}
	l := j.past.Line(b.Line)
	if out, past := j.overtaken(b, l); past {
		return out
	}
	j.deed(b, l)
	if j.carried() && j.scan.Do == Scanned && j.at.Can(Loadout) {
		return j.loadBundle(b, l)
	}
	if b.Voided && (j.scan.Do != Unload || b.Load == 0) { // what went onto a truck all the same comes down
		return j.noMore(b, l)
	}
	switch j.scan.Do {
	case Unload:
		return j.unload(b, l)
	case Move:
		return j.move(b, l)
	case Return:
		return j.returned(b, l, CameBack{Pieces: j.scan.Pieces, Place: j.dev.Put, Reason: j.scan.Why})
	case Back:
		return j.backAlone(b, l)
	case Lost:
		return j.lose(b, l, Loss{Pieces: j.scan.Pieces, Why: event.Loss(j.scan.Why)})
	}
	if j.assigning(b, l) {
		return j.assign(b, l)
	}
	step := j.step(b, l)
	if step == "" {
		switch {
		case shared[j.scan.Do]:
		case j.at.Can(Staging) && j.dev.Load == 0 && j.dev.Put != 0:
			return j.stage(b, l) // also where loads are loaded, while a lane is open and no load
		case j.at.Can(Loadout):
			return j.loadBundle(b, l)
		case j.at.Can(Staging):
			return j.stage(b, l)
		case j.at.Can(Yard), j.at.Can(Receiving):
			return j.put(b, l)
		}
		return j.refuse(n, "not here", "bundle", j.at.Title, j.stationsFor(after(b, l, b.Done)))
	}
	if out, gone := j.gone(b, l); gone {
		return out
	}
	if route := j.reroute(b, l); route != nil {
		return j.inOne(b, l, route)
	}
	if j.restInOne(b, l) {
		return j.cutInOne(b, l)
	}
	next := b.Next(l)
	if Step(next) != step {
		return j.notNext(b, l, step)
	}
	if b.Draws(l) {
		return j.cut(b, l)
	}
	return j.work(b, l, step)
}

// draws are the steps that take bars from a feed: the first of them in a route.
var draws = map[Step]bool{Cut: true, Saw: true, CutAndBend: true}

// step is the step that the station would do on the bundle: its next one if the station does that,
// else the first step that the station does at all.
func (j *judge) step(b Bundle, l *Line) Step {
	if next := b.Next(l); next != "" && j.at.Can(Work(next)) {
		return Step(next)
	}
	if j.at.Can(Loadout) || j.at.Can(Yard) || j.at.Can(Staging) {
		return ""
	}
	for _, s := range Steps {
		if j.at.Can(Work(s)) {
			return s
		}
	}
	return ""
}

// noMore refuses a bundle that is out of the work, and says where its pieces went.
func (j *judge) noMore(b Bundle, l *Line) Outcome {
	switch {
	case b.Into() != 0:
		return j.refuse(b.Number, "merged", title(b, l), b.Into())
	case b.Lost() > 0:
		return j.refuse(b.Number, "all are lost", title(b, l), j.when(b.At))
	}
	return j.voided(b, l)
}

// gone refuses work on what lies on a truck or has left.
func (j *judge) gone(b Bundle, l *Line) (Outcome, bool) {
	switch {
	case b.Shipped && j.stopOf(b).Processor != "":
		ld, _ := j.past.Load(b.Load)
		return j.refuse(b.Number, "away already", title(b, l), j.stopOf(b).Processor, b.Load, j.when(ld.Shipped)), true
	case b.Shipped:
		ld, _ := j.past.Load(b.Load)
		return j.refuse(b.Number, "shipped already", title(b, l), b.Load, j.when(ld.Shipped)), true
	case b.Load != 0:
		return j.refuse(b.Number, "loaded already", title(b, l), b.Load, j.when(b.At)), true
	}
	return Outcome{}, false
}

// notNext says why the station's step is not the bundle's next one.
func (j *judge) notNext(b Bundle, l *Line, step Step) Outcome {
	at := slices.Index(b.Steps(l), string(step))
	switch {
	case at < 0 && b.Done == 0 && len(b.Steps(l)) > 0:
		return j.refuse(b.Number, "nothing to do", title(b, l), string(step), b.Next(l))
	case at < 0:
		return j.refuse(b.Number, "nothing to do", title(b, l), string(step), after(b, l, b.Done))
	case at < b.Done:
		return j.refuse(b.Number, "done already", title(b, l), string(step), j.when(j.doneAt(b)), b.Station, after(b, l, b.Done))
	case b.Next(l) == string(Cut) && b.Draws(l):
		return j.refuse(b.Number, "not cut yet", title(b, l), j.stationsFor(string(Cut)))
	}
	return j.refuse(b.Number, "not ready", title(b, l), b.Next(l), j.stationsFor(b.Next(l)))
}

// doneAt is when the bundle's newest progress was made.
func (j *judge) doneAt(b Bundle) int64 {
	if len(b.Progress) == 0 {
		return b.At
	}
	return j.past.When(b.Progress[len(b.Progress)-1])
}

// held finds a hold on the bundle, its load, or the steel that it is or would be cut from.
func (j *judge) held(b Bundle, lots []tags.Number) (heat.Hold, bool) {
	if h, ok := j.past.Hold(event.Target{Number: b.Number}); ok {
		return h, true
	}
	if b.Load != 0 {
		if h, ok := j.past.Hold(event.Target{Number: b.Load}); ok {
			return h, true
		}
	}
	return heat.HoldOn(j.past, lots)
}

// refuseHeld refuses what is held, or is of something that is.
func (j *judge) refuseHeld(n tags.Number, what any, h heat.Hold) Outcome {
	kind, name := heat.Named(h.Target)
	return j.refuse(n, "held", what, kind, name, h.Reason)
}

// Drawn are the lots that a bundle may have been cut from, by its runs.
func Drawn(past Past, b Bundle) []tags.Number {
	var lots []tags.Number
	for i, seq := range b.Runs {
		if slices.Contains(b.Runs[:i], seq) {
			continue // bundles of one run were merged
		}
		if r, ok := past.Run(seq); ok {
			lots = union(lots, r.Lots...)
		}
	}
	return lots
}

// lacking says whether a run of the bundle made more than the bars of its record can have given: what
// no recorded bar accounts for may be of any heat.
func lacking(past Past, b Bundle) bool {
	return slices.ContainsFunc(b.Runs, func(seq uint64) bool {
		r, _ := past.Run(seq)
		return r.Missing > 0 || r.Lacking > 0
	})
}

// HeatsOf is what is known of the heats of a bundle: of each of its runs, joined. A bundle that is
// not begun has no draw.
func HeatsOf(past Past, b Bundle) (heat.Draw, bool) { return (&Draws{Past: past}).Bundle(b) }

// Draws works out the draws of many bundles. It keeps the last one, since bundles that follow one
// another are often of the same lots.
type Draws struct {
	Past Past
	lots []tags.Number
	draw heat.Draw
}

// Bundle is HeatsOf.
func (d *Draws) Bundle(b Bundle) (draw heat.Draw, drawn bool) {
	for i, seq := range b.Runs {
		r, _ := d.Past.Run(seq)
		if d.lots == nil || !slices.Equal(r.Lots, d.lots) {
			d.lots, d.draw = slices.Concat([]tags.Number{}, r.Lots), heat.Of(d.Past, r.Lots)
		}
		if i == 0 {
			draw = d.draw
		} else {
			draw = heat.Join(draw, d.draw)
		}
	}
	if lacking(d.Past, b) {
		draw.Certainty = heat.Unknown
	}
	return draw, len(b.Runs) > 0
}

// work judges a step that draws no stock: the first scan starts it, the next one ends it. At a station
// of single runs, what was at work there before is done with that.
func (j *judge) work(b Bundle, l *Line, step Step) Outcome {
	out := j.oneStep(b, l, step)
	begun := func(e event.Body) bool { _, ok := e.(event.StepStarted); return ok }
	if i := slices.IndexFunc(out.Events, begun); i >= 0 && j.at.Single {
		out.Events = slices.Insert(out.Events, i+1, event.Body(event.CardShown{Station: j.at.Name, Bundle: b.Number}))
		j.endLast(&out, b)
	}
	return out
}

func (j *judge) oneStep(b Bundle, l *Line, step Step) Outcome {
	away := b.Started && b.Station != j.at.Name
	switch {
	case j.scan.Do == Join:
		return j.refuse(b.Number, "no join", title(b, l), string(step))
	case j.scan.Do == Part && j.scan.Pieces == 0:
		return j.refuse(b.Number, "no part", title(b, l))
	case j.scan.Do == Part && !b.Started && j.partTwice(b):
		return Outcome{Answer: answer(event.Accepted, "once"), Show: b.Number}
	case j.scan.Do == Take:
		return j.takeWork(b, l, step)
	case away && j.scan.Pieces == 0:
		return j.refuse(b.Number, "other station", title(b, l), b.Station, j.when(b.At))
	case !b.Started && j.scan.Pieces == 0:
		return j.start(b, l, step)
	}
	out := Outcome{Show: b.Number}
	if !b.Started {
		out.Events = append(out.Events, event.StepStarted{Station: j.at.Name, Bundle: b.Number, Step: string(step)})
	}
	pieces := j.scan.Pieces
	if pieces == 0 {
		pieces = b.ToDo()
	}
	all := b.Made + pieces
	if j.scan.Do == Part && all < b.Pieces {
		out.Answer = answer(event.Accepted, "part made", title(b, l), pieces, all, b.Pieces, b.Pieces-all)
		out.Events = append(out.Events, event.PartDone{Station: j.at.Name, Bundle: b.Number, Step: string(step), Pieces: pieces})
	} else {
		out.Answer = answer(event.Accepted, "step done", title(b, l), string(step), all, after(b, l, b.Done+1))
		out.Events = append(out.Events, event.StepDone{Station: j.at.Name, Bundle: b.Number, Step: string(step), Pieces: pieces})
		if all != b.Pieces {
			look(&out.Answer, "count differs", all, b.Pieces)
		}
	}
	if away {
		look(&out.Answer, "started elsewhere", title(b, l), b.Station)
	}
	if b.Started {
		j.soon(&out.Answer, b, l)
	}
	if h, held := j.held(b, Drawn(j.past, b)); held {
		look(&out.Answer, "held while worked", title(b, l), h.Reason)
	}
	return out
}

// start judges the first scan of a step that draws no stock.
func (j *judge) start(b Bundle, l *Line, step Step) Outcome {
	if h, held := j.held(b, Drawn(j.past, b)); held {
		return j.refuseHeld(b.Number, title(b, l), h)
	}
	out := Outcome{Answer: answer(event.Accepted, "step started", title(b, l), string(step), b.ToDo()), Show: b.Number}
	j.madeBefore(&out.Answer, b)
	out.Events = []event.Body{event.StepStarted{Station: j.at.Name, Bundle: b.Number, Step: string(step)}}
	return out
}
