package scan

import (
	"slices"
	"strings"

	"tagd/internal/event"
)

// A bundle may be made by more than one: part of it today and part tomorrow, here and there one after
// the other, or at two shears at once. What a run makes of it is its share, and the bundle's heats are
// those of all of its runs.

// shared are the commands about a step that several do.
var shared = map[Do]bool{Part: true, Take: true, Join: true}

// shares are the open runs that the bundle is still to be made in: none, one, or several at once.
func (j *judge) shares(b Bundle) []Run {
	var out []Run
	if !b.Started {
		return out
	}
	for _, seq := range b.Runs {
		r, ok := j.past.Run(seq)
		if ok && r.Cutting(b.Number) && !slices.ContainsFunc(out, func(o Run) bool { return o.Seq == seq }) {
			out = append(out, r)
		}
	}
	return out
}

// shareHere is the one of them at this station, and others are the rest.
func (j *judge) shareHere(shares []Run) (here Run, is bool, others []Run) {
	for _, r := range shares {
		if r.Station != j.at.Name {
			others = append(others, r)
		} else if !is {
			here, is = r, true
		}
	}
	return here, is, others
}

// stations names where runs are.
func stations(runs []Run) string {
	var out []string
	for _, r := range runs {
		out = append(out, r.Station)
	}
	return strings.Join(out, ", ")
}

// partTwice says whether the device has just said the same part: a second read of one pull of the
// trigger must not count the pieces again. After a part that was recorded, the bundle is not at work here.
func (j *judge) partTwice(b Bundle) bool {
	return b.Made > 0 && j.justRead(b.Number)
}

// madeBefore says how much of the step is made already.
func (j *judge) madeBefore(a *event.Answer, b Bundle) {
	if b.Made > 0 {
		a.Notes = append(a.Notes, note("made before", b.Made, b.Pieces))
	}
}

// join judges a bundle that is cut at another station, and is to be cut here too. With a count, the
// pieces are cut already.
func (j *judge) join(floor Floor, b Bundle, l *Line) Outcome {
	here, is, others := j.shareHere(j.shares(b))
	switch {
	case !is && len(others) == 0:
		return j.refuse(b.Number, "nothing to take", title(b, l))
	case is && j.scan.Pieces == 0:
		return j.where(b, l) // a second read must not end what the first one began
	case is:
		return j.cutting(floor, here, b, l)
	}
	out := j.begin(floor, b, l)
	if out.Answer.Verdict != event.Refused && j.scan.Pieces == 0 {
		out.Answer.Notes = append(out.Answer.Notes, note("joined in", stations(others)))
	}
	return out
}

// take judges a bundle that was started at another station and is taken over here. A count is of what
// was made there.
func (j *judge) take(floor Floor, b Bundle, l *Line) Outcome {
	_, cutHere, others := j.shareHere(j.shares(b))
	switch {
	case !cutHere && len(others) == 0:
		return j.refuse(b.Number, "nothing to take", title(b, l))
	case len(others) == 0:
		return j.where(b, l)
	case len(others) > 1:
		return j.refuse(b.Number, "several make it", title(b, l), stations(others))
	case b.Made+j.scan.Pieces >= b.Pieces:
		return j.refuse(b.Number, "nothing left", title(b, l), b.Made+j.scan.Pieces, others[0].Station)
	}
	over, was := j.over(others[0], b, l)
	here := *j
	here.scan.Do, here.scan.Pieces = Scanned, 0
	here.past = book(j.past, over)
	b.Made += over.Pieces
	if cutHere {
		out := Outcome{Answer: answer(event.Accepted, "taken over", title(b, l), over.Station, over.Pieces), Show: b.Number, Run: floor.Run}
		return took(out, over, was)
	}
	b.Started = false
	out := here.begin(floor, b, l)
	if out.Answer.Verdict == event.Refused {
		return out
	}
	out.Answer.Notes = append(out.Answer.Notes, note("taken over", title(b, l), over.Station, over.Pieces))
	return took(out, over, was)
}

// took puts what ends there before what begins here.
func took(out Outcome, over event.PartDone, was event.Answer) Outcome {
	out.Events = slices.Insert(out.Events, 0, event.Body(over))
	out.Answer.Notes = append(out.Answer.Notes, was.Notes...)
	out.Answer.Verdict = max(out.Answer.Verdict, was.Verdict)
	return out
}

// over ends a bundle's share in a run of another station, with what was made there.
func (j *judge) over(run Run, b Bundle, l *Line) (event.PartDone, event.Answer) {
	e := event.PartDone{Station: run.Station, Bundle: b.Number, Step: b.Next(l), Pieces: j.scan.Pieces, Run: run.Seq, Over: true}
	a := event.Answer{Verdict: event.Accepted}
	run.Members = slices.Clone(run.Members)
	m := &run.Members[run.open(b.Number)]
	m.Done, m.Pieces = true, e.Pieces+m.Lost
	if run.Left() == 0 {
		there := &judge{past: j.past, rules: j.rules}
		if there.fromCoil(run) {
			closed := there.closeCoil(&a, run, l)
			e.Coil = &closed
		} else {
			closed := there.close(&a, run, l)
			e.Closed = &closed
		}
	}
	return e, a
}

// takeWork is take at a step that draws no stock.
func (j *judge) takeWork(b Bundle, l *Line, step Step) Outcome {
	switch {
	case !b.Started:
		return j.refuse(b.Number, "nothing to take", title(b, l))
	case b.Station == j.at.Name:
		return j.where(b, l)
	case b.Made+j.scan.Pieces >= b.Pieces:
		return j.refuse(b.Number, "nothing left", title(b, l), b.Made+j.scan.Pieces, b.Station)
	}
	over := event.PartDone{Station: b.Station, Bundle: b.Number, Step: string(step), Pieces: j.scan.Pieces, Over: true}
	b.Made += over.Pieces
	out := j.start(b, l, step)
	if out.Answer.Verdict == event.Refused {
		return out
	}
	out.Answer.Notes = append(out.Answer.Notes, note("taken over", title(b, l), over.Station, over.Pieces))
	return took(out, over, event.Answer{})
}

// next judges the next bundle at a station whose runs are of one: what lies on the table is cut, all of
// it, if this one may start.
func (j *judge) next(floor Floor, run Run, b Bundle, l *Line) Outcome {
	events, a, past := j.closeAll(run)
	here := *j
	here.past = past
	floor.Run = 0
	out := here.begin(floor, b, l)
	if out.Answer.Verdict == event.Refused {
		return out
	}
	// The answer, and what the device scanned last, go with the first event: that of this bundle.
	out.Events = append(out.Events, events...)
	out.Answer.Notes = append(out.Answer.Notes, a.Notes...)
	out.Answer.Verdict = max(out.Answer.Verdict, a.Verdict)
	return out
}

// closeAll closes a run with every bundle of it at full count.
func (j *judge) closeAll(run Run) (events []event.Body, all event.Answer, past Past) {
	was := *j
	past = j.past
	was.scan = Scan{Station: j.scan.Station, Device: j.scan.Device, At: j.scan.At}
	run.Members = slices.Clone(run.Members)
	for i := range run.Members {
		m := &run.Members[i]
		if m.Done {
			continue
		}
		b, _ := j.past.Bundle(m.Bundle)
		l := j.past.Line(b.Line)
		out := was.done(Outcome{}, run, b, l)
		m.Done, m.Pieces = true, b.ToDo()+m.Lost
		if s, soon := was.since(b); soon {
			look(&out.Answer, "closed at full count", title(b, l), b.ToDo(), s)
		}
		all.Verdict = max(all.Verdict, out.Answer.Verdict)
		all.Notes = append(all.Notes, out.Answer.Notes...)
		events = append(events, out.Events...)
		for _, e := range out.Events {
			past = book(past, e)
		}
	}
	return events, all, past
}

// endLast ends the step of the bundle whose card is shown, at full count, as another one is begun.
func (j *judge) endLast(out *Outcome, next Bundle) {
	b, ok := j.past.Bundle(j.past.Floor(j.at.Name).Card)
	if !ok || b.Number == next.Number || !b.Started || b.Station != j.at.Name || b.Voided || b.Load != 0 {
		return
	}
	l := j.past.Line(b.Line)
	if b.Draws(l) {
		return
	}
	out.Events = append(out.Events, event.StepDone{Station: j.at.Name, Bundle: b.Number, Step: b.Next(l), Pieces: b.ToDo()})
	out.Answer.Notes = append(out.Answer.Notes, note("step done", title(b, l), b.Next(l), b.Made+b.ToDo(), after(b, l, b.Done+1)))
	if s, soon := j.since(b); soon {
		look(&out.Answer, "closed at full count", title(b, l), b.ToDo(), s)
	}
	if h, held := j.held(b, Drawn(j.past, b)); held {
		look(&out.Answer, "held while worked", title(b, l), h.Reason)
	}
}

// soon looks at a bundle that was done sooner after its start than anybody makes one. With a count, a
// person has said what is there.
func (j *judge) soon(a *event.Answer, b Bundle, l *Line) {
	if s, soon := j.since(b); soon && j.scan.Pieces == 0 {
		look(a, "very soon", title(b, l), s)
	}
}

// since is how many seconds ago, by the clock of this device, it started the bundle, if that is less
// than the plant's least. What another device started is not judged: its clock is another one.
func (j *judge) since(b Bundle) (seconds int64, soon bool) {
	// A start was no later than the device's last scan, and mostly was it: the record is asked only
	// when that was just now.
	if j.rules.Least == 0 || !within(j.scan.At, j.dev.At, j.rules.Least) || len(b.Progress) == 0 {
		return 0, false
	}
	device, at := j.past.Scanned(b.Progress[len(b.Progress)-1])
	return (j.scan.At - at) / 1000, device == j.scan.Device && within(j.scan.At, at, j.rules.Least)
}
