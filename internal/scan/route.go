package scan

import (
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// CleanRoute checks the steps of a route: known ones, none twice. No step at all is the route none.
func CleanRoute(steps []string) ([]string, error) {
	out := []string{}
	for _, s := range steps {
		s = strings.Join(strings.Fields(strings.ToLower(s)), " ")
		switch {
		case s == "" || s == "none" && len(steps) == 1:
			continue
		case !slices.Contains(Steps, Step(s)):
			return nil, refusal("steps", "%q is no step; the steps are %s, and none", cut(s, 40), stepWords())
		case slices.Contains(out, s):
			return nil, refusal("steps", "%s stands there twice; a step is done once", s)
		}
		out = append(out, s)
	}
	return out, nil
}

func stepWords() string {
	var words []string
	for _, s := range Steps {
		words = append(words, string(s))
	}
	return join(words)
}

// SetRoute gives a bundle a route of its own. What is done of its route, or begun, stays in front;
// only what follows may be another. So a bundle that was bent elsewhere loses its bending, also after
// it has left.
func SetRoute(past Past, n tags.Number, steps []string, reason string) (event.RouteSet, event.Answer, error) {
	var a event.Answer
	e := event.RouteSet{Bundle: n}
	var err error
	if e.Reason, err = event.CleanText("reason", reason, event.MostReason); err != nil {
		return e, a, err
	}
	if e.Route, err = CleanRoute(steps); err != nil {
		return e, a, err
	}
	b, l, err := bundleOf(past, "bundle", n)
	switch {
	case err != nil:
		return e, a, err
	case e.Reason == "":
		return e, a, refusal("reason", "is missing; say why the route is another")
	case b.Voided:
		return e, a, refusal("bundle", "%v is voided", n)
	}
	was := b.Steps(l)
	stays := b.Done
	if b.Started || b.Made > 0 {
		stays++
	}
	switch {
	case slices.Equal(was, e.Route):
		return e, a, refusal("steps", "are the route of %v already", n)
	case len(e.Route) < stays || !slices.Equal(was[:stays], e.Route[:stays]):
		return e, a, refusal("steps", "of %v that are done or begun stay in front: %s", n, join(was[:stays]))
	case b.Load != 0 && len(e.Route) > b.Done:
		return e, a, refusal("steps", "of %v cannot wait to be done, for it is on load %v; done are: %s", n, b.Load, join(was[:b.Done]))
	case firstDraw(e.Route) >= b.Done && !b.Started && b.Made == 0 && len(b.Runs) > 0:
		return e, a, refusal("steps", "of %v take bars from stock, and which bars it is made of is said already; undo that first", n)
	}
	b.Route = e.Route
	return e, answer(event.Accepted, "route set", title(b, l), join(e.Route), after(b, l, b.Done)), nil
}

// firstDraw is the place in a route of the step that takes bars or coil from a feed: the first one
// that can. It is -1 of a route without, whose bundles are bars as they come, or bought ready made.
func firstDraw(route []string) int {
	return slices.IndexFunc(route, func(s string) bool { return draws[Step(s)] })
}

// DrawStep is the step of the bundle that takes its bars or coil from a feed, "" without one.
func (b Bundle) DrawStep(l *Line) Step {
	route := b.Steps(l)
	if at := firstDraw(route); at >= 0 {
		return Step(route[at])
	}
	return ""
}

// Draws says whether the bundle's next step takes its bars or coil from a feed.
func (b Bundle) Draws(l *Line) bool {
	route := b.Steps(l)
	return b.Done < len(route) && firstDraw(route) == b.Done
}

// reroute is the route that a bundle gets at a station that does in one step what the route has in two,
// cut and bend, or the other way round; nil where it has the right one. A part that is done already ties
// it to its route.
func (j *judge) reroute(b Bundle, l *Line) []string {
	route := b.Steps(l)
	if !b.Draws(l) || b.Made > 0 || j.scan.Do != Scanned && j.scan.Do != Part || j.at.Can(Work(b.Next(l))) {
		return nil
	}
	rest := route[b.Done+1:]
	switch {
	case b.Next(l) == string(Cut) && len(rest) > 0 && rest[0] == string(Bend) && j.at.Can(Work(CutAndBend)):
		return slices.Concat(route[:b.Done], []string{string(CutAndBend)}, rest[1:])
	case b.Next(l) == string(CutAndBend) && j.at.Can(Work(Cut)):
		return slices.Concat(route[:b.Done], []string{string(Cut), string(Bend)}, rest)
	}
	return nil
}

// inOne judges a bundle that gets such a route with the scan. A plain shear does not begin what is to be
// cut and bent in one; pieces that are counted there are cut already.
func (j *judge) inOne(b Bundle, l *Line, route []string) Outcome {
	split := b.Next(l) == string(CutAndBend)
	if split && j.scan.Pieces == 0 {
		return j.refuse(b.Number, "one step for both", title(b, l), j.stationsFor(string(CutAndBend)), join(route), b.Number)
	}
	b.Route = route
	out := j.cut(b, l)
	if out.Answer.Verdict == event.Refused || len(out.Events) == 0 {
		return out
	}
	out.Events = slices.Insert(out.Events, 0, event.Body(event.RouteSet{Bundle: b.Number, Route: route}))
	if split {
		look(&out.Answer, "cut only", title(b, l), join(route))
	} else {
		out.Answer.Notes = append(out.Answer.Notes, note("both in one", title(b, l)))
	}
	return out
}

// restInOne says whether pieces are counted at a machine that cuts and bends in one, of a bundle of which a
// part was cut alone: they are cut, whatever its route says.
func (j *judge) restInOne(b Bundle, l *Line) bool {
	route := b.Steps(l)
	return b.Draws(l) && b.Made > 0 && j.scan.Pieces > 0 && (j.scan.Do == Scanned || j.scan.Do == Part) &&
		b.Next(l) == string(Cut) && b.Done+1 < len(route) && route[b.Done+1] == string(Bend) && j.at.Can(Work(CutAndBend)) && !j.at.Can(Work(Cut))
}

// cutInOne judges such pieces as cut. Their bending is still to come by the record, as that of the part is:
// it is counted when all are bent.
func (j *judge) cutInOne(b Bundle, l *Line) Outcome {
	out := j.cut(b, l)
	if out.Answer.Verdict != event.Refused && len(out.Events) > 0 {
		look(&out.Answer, "bent already", title(b, l), j.scan.Pieces)
	}
	return out
}
