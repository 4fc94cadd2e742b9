package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Lines is what a reassignment is judged against.
type Lines interface {
	Past
	// BundlesOf are the bundles of a line.
	BundlesOf(*Line) []Bundle
}

// Reassign gives a bundle that is made to another line of the same bars: what was made for the shop's
// own stock to a customer. There it takes the place of a bundle that is not begun, instead or the first
// that has as many pieces, or more: that one then owes what is left, and falls away with nothing. It
// keeps its number and its history, so its tag names another job from then on.
func Reassign(past Lines, rules Rules, n tags.Number, to *Line, instead tags.Number, reason string) (event.BundleReassigned, event.Answer, error) {
	e := event.BundleReassigned{Bundle: n, Line: to.Seq}
	var a event.Answer
	var err error
	if e.Reason, err = event.CleanText("reason", reason, event.MostReason); err != nil {
		return e, a, err
	}
	b, from, err := bundleOf(past, "bundle", n)
	if err != nil {
		return e, a, err
	}
	done := b.Steps(from)[:b.Done]
	switch {
	case e.Reason == "":
		return e, a, refusal("reason", "is missing; say why it goes to another job")
	case b.Voided:
		return e, a, refusal("bundle", "%v is voided", n)
	case b.Started || b.Made > 0:
		return e, a, refusal("bundle", "%v is being worked on: %s; finish that, or undo it, first", n, b.Next(from))
	case b.Done == 0 && len(b.Runs) == 0 && len(b.Steps(from)) > 0:
		return e, a, refusal("bundle", "%v is not begun: make the other line's own", n)
	case b.Load != 0 && !b.Shipped:
		return e, a, refusal("bundle", "%v is on load %v; take it off first", n, b.Load)
	case from.Seq == to.Seq:
		return e, a, refusal("line", "is the one that %v is of already", n)
	case from.Steel != to.Steel:
		return e, a, refusal("line", "%s needs %s, and %v is %s", to.Mark, to.Steel, n, from.Steel)
	case from.Length != to.Length:
		return e, a, refusal("line", "%s needs %s, and %v is %s long", to.Mark, to.Length.Text(rules.Units), n, from.Length.Text(rules.Units))
	case !from.Shape.Same(to.Shape):
		return e, a, refusal("line", "%s has another shape than %v", to.Mark, n)
	}
	if b.Shipped {
		if ld, _ := past.Load(b.Load); !ld.For(to.Job) {
			return e, a, refusal("line", "is of job %s, and load %v, on which %v left, had no stop for it; what left for another job is no part of this one", to.Job, b.Load, n)
		}
	}
	rest, ok := following(done, to.Route)
	if !ok {
		return e, a, refusal("bundle", "%v has had done: %s; %s wants: %s", n, join(done), to.Mark, join(to.Route))
	}
	if len(b.Runs) > 0 && firstDraw(done) < 0 && firstDraw(rest) >= 0 {
		return e, a, refusal("bundle", "%v is bars as they came, and %s is made of what its step %q takes from a feed", n, to.Mark, rest[firstDraw(rest)])
	}
	if own := append(slices.Clone(done), rest...); !slices.Equal(own, to.Route) {
		e.Route = own
	}
	if b.Shipped && len(rest) > 0 {
		return e, a, refusal("bundle", "%v has left without: %s", n, join(rest))
	}
	take, err := place(past, b, to, instead)
	if err != nil {
		return e, a, err
	}
	e.Instead, e.Left = take.Number, take.Pieces-b.Pieces
	now := take
	if e.Left > 0 {
		now.Rest = past.Rests(take) + 1
	}
	a = answer(event.Accepted, "reassigned", title(b, from), title(now, to), to.Job)
	if e.Left > 0 {
		a.Notes = append(a.Notes, note("still owed", title(take, to), e.Left))
	}
	if job, _ := past.Job(from.Job); !job.Stock {
		look(&a, "taken from a job", title(b, from), from.Job, b.Pieces)
	}
	if b.Shipped {
		look(&a, "reassigned after", title(b, from), b.Load)
	}
	return e, a, nil
}

// place is the bundle of a line whose place another one takes.
func place(past Lines, b Bundle, to *Line, instead tags.Number) (Bundle, error) {
	waits := func(o Bundle) bool { return !o.Voided && !o.Begun() && len(o.Progress) == 0 && o.Load == 0 }
	all := past.BundlesOf(to)
	if instead != 0 {
		i := slices.IndexFunc(all, func(o Bundle) bool { return o.Number == instead })
		switch {
		case i < 0:
			return Bundle{}, refusal("instead", "%v is no bundle of %s", instead, to.Mark)
		case !waits(all[i]):
			return Bundle{}, refusal("instead", "%v is begun, or is no more; name one that waits", instead)
		case all[i].Pieces < b.Pieces:
			return Bundle{}, refusal("bundle", "%v has %d pieces, and %v only %d; split it first", b.Number, b.Pieces, instead, all[i].Pieces)
		}
		return all[i], nil
	}
	most := 0
	fits := -1
	for i, o := range all {
		if !waits(o) {
			continue
		}
		most = max(most, o.Pieces)
		if o.Pieces == b.Pieces {
			return o, nil
		}
		if o.Pieces > b.Pieces && fits < 0 {
			fits = i
		}
	}
	switch {
	case fits >= 0:
		return all[fits], nil
	case most == 0:
		return Bundle{}, refusal("line", "%s has no bundle left that waits to be made", to.Mark)
	}
	return Bundle{}, refusal("bundle", "%v has %d pieces, and the largest bundle of %s that waits has %d; split it first", b.Number, b.Pieces, to.Mark, most)
}

// following are the steps of a route that remain when some are done, if they are a beginning of it. Cut
// and then bent is as good as cut and bent in one.
func following(done, route []string) ([]string, bool) {
	long := func(steps []string) (out []string) {
		for _, s := range steps {
			if s == string(CutAndBend) {
				out = append(out, string(Cut), string(Bend))
			} else {
				out = append(out, s)
			}
		}
		return out
	}
	had, want := long(done), long(route)
	if len(had) > len(want) || !slices.Equal(had, want[:len(had)]) {
		return nil, false
	}
	return want[len(had):], true
}
