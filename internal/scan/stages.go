package scan

import (
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// Stage is a part of the way that a bundle goes: "planned", the steps of its route, "loaded", and then "shipped"
// and "delivered", or at a processor "away".
type Stage struct {
	What string
	Done bool
	Now  bool  // it is begun, or part done
	At   int64 // when it was done, or begun, last: Unix ms; 0 where the history does not say
}

// Stages is the way of a bundle, told by its state; its history, oldest first, says only when. On is the load
// that it lies on or left on, and stop that of the load which it goes to.
func Stages(b Bundle, l *Line, on load.Load, stop load.Stop, history []event.Event) []Stage {
	at := stageTimes(b.Number, history)
	add := func(out []Stage, what string, done, now bool) []Stage {
		s := Stage{What: what, Done: done, Now: now && !done}
		switch {
		case s.Done:
			s.At = at[what]
		case s.Now:
			s.At = at["begun "+what]
		}
		return append(out, s)
	}
	out := add(nil, "planned", true, false)
	for i, step := range b.Steps(l) {
		out = add(out, step, i < b.Done, i == b.Done && (b.Started || b.Made > 0))
	}
	out = add(out, "loaded", on.Number != 0, false)
	if stop.Processor != "" {
		return add(out, "away", b.Shipped, false)
	}
	out = add(out, "shipped", b.Shipped, false)
	return add(out, "delivered", b.Shipped && stop.Delivered != 0, false)
}

// stageTimes are the times at which a history says that stages were reached last.
func stageTimes(n tags.Number, history []event.Event) map[string]int64 {
	at := map[string]int64{}
	for _, e := range history {
		when := e.Recorded
		if e.Happened != 0 {
			when = e.Happened
		}
		set := func(what string) { at[what] = when }
		switch x := e.Body.(type) {
		case event.LineTaken, event.LineChanged:
			set("planned")
		case event.RunOpened, event.RunJoined:
			set("begun " + string(Cut))
		case event.CutDone:
			if x.Bundle == n {
				set(string(Cut))
			}
		case event.CoilCut:
			if x.Bundle == n {
				set(string(Cut))
				set(string(CutAndBend))
			}
		case event.StepStarted:
			set("begun " + x.Step)
		case event.PartDone:
			set("begun " + x.Step)
			set(x.Step)
		case event.StepDone:
			set(x.Step)
		case event.BundlesBack:
			set(x.Step)
		case event.Loaded:
			set("loaded")
		case event.Shipped:
			set("shipped")
			set("away")
		case event.LoadDelivered:
			set("delivered")
		}
	}
	return at
}
