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
	return strings.Join(words, ", ")
}

// routeText is a route in words.
func routeText(steps []string) string {
	if len(steps) == 0 {
		return "none"
	}
	return strings.Join(steps, ", ")
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
	b, ok := past.Bundle(n)
	switch {
	case !ok:
		return e, a, refusal("bundle", "%v was never given out here", n)
	case e.Reason == "":
		return e, a, refusal("reason", "is missing; say why the route is another")
	case b.Voided:
		return e, a, refusal("bundle", "%v is voided", n)
	}
	l := past.Line(b.Line)
	was := b.Steps(l)
	stays := b.Done
	if b.Started || b.Made > 0 {
		stays++
	}
	switch {
	case slices.Equal(was, e.Route):
		return e, a, refusal("steps", "are the route of %v already", n)
	case len(e.Route) < stays || !slices.Equal(was[:stays], e.Route[:stays]):
		return e, a, refusal("steps", "of %v that are done or begun stay in front: %s", n, routeText(was[:stays]))
	case b.Load != 0 && len(e.Route) > b.Done:
		return e, a, refusal("steps", "of %v cannot wait to be done, for it is on load %v; done are: %s", n, b.Load, routeText(was[:b.Done]))
	case firstDraw(e.Route) >= b.Done && !b.Started && b.Made == 0 && len(b.Runs) > 0:
		return e, a, refusal("steps", "of %v take bars from stock, and which bars it is made of is said already; undo that first", n)
	}
	b.Route = e.Route
	return e, answer(event.Accepted, "route set", title(b, l), routeText(e.Route), after(b, l, b.Done)), nil
}

// firstDraw is the place in a route of the step that takes bars or coil from a feed: the first one
// that can. It is -1 of a route without, whose bundles are bars as they come, or bought ready made.
func firstDraw(route []string) int {
	return slices.IndexFunc(route, func(s string) bool { return draws[Step(s)] })
}

// Draws says whether the bundle's next step takes its bars or coil from a feed.
func (b Bundle) Draws(l *Line) bool {
	route := b.Steps(l)
	return b.Done < len(route) && firstDraw(route) == b.Done
}
