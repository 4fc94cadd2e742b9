package rest

import (
	"cmp"
	"context"
	"net/http"
	"slices"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) holds() {
	register(a, http.MethodGet, "/holds", "list-holds", "Holds that are not lifted, oldest first", a.listHolds, group("holds"))
	register(a, http.MethodPost, "/holds", "put-hold", "Stop a heat, lot, bundle or load", a.putHold, group("holds"), created,
		about("Whatever is of it is refused at the next start and load. The answer says what the hold stops, and what has left already and cannot be stopped. With dry_run it is only counted."))
	register(a, http.MethodPost, "/holds/lift", "lift-hold", "End a hold", a.liftHold, group("holds"))
}

// hold is a hold on the wire, nil for none.
func hold(h *heat.Hold) *api.Hold {
	if h == nil {
		return nil
	}
	return &api.Hold{
		Target: api.Target{Mill: h.Target.Mill, Heat: h.Target.Heat, Number: h.Target.Number.String()},
		What:   heat.What(h.Target), Reason: h.Reason, At: at(h.At), People: shown(h.People), Seq: h.Seq,
	}
}

func target(t api.Target) (event.Target, error) {
	switch {
	case t.Number != "" && (t.Mill != "" || t.Heat != ""):
		return event.Target{}, invalid("body.number", "stands beside a heat; a hold is put on one of them")
	case t.Number != "":
		n, err := oneNumber("body.number", t.Number, tags.Stock, tags.Bundle, tags.Load)
		return event.Target{Number: n}, err
	case t.Heat == "":
		return event.Target{}, invalid("body.heat", "is missing; name a heat with its mill, or the number of a lot, bundle or load")
	case t.Mill == "":
		return event.Target{}, invalid("body.mill", "is missing; a heat number is unique within its mill only")
	}
	return event.Target{Mill: t.Mill, Heat: t.Heat}, nil
}

func (a *ops) listHolds(_ context.Context, in *struct {
	After uint64 `query:"after" doc:"The next of the page before; left out, the list begins."`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
}) (*answer[api.Holds], error) {
	return look(a, func(p *view.Past) (api.Holds, error) {
		var all []heat.Hold
		p.Holds(func(h heat.Hold) bool {
			if h.Seq > in.After {
				all = append(all, h)
			}
			return true
		})
		slices.SortFunc(all, func(x, y heat.Hold) int { return cmp.Compare(x.Seq, y.Seq) })
		out := api.Holds{Holds: []api.Hold{}}
		for i, h := range all {
			if i == in.Limit {
				out.Next = seqText(all[i-1].Seq)
				break
			}
			out.Holds = append(out.Holds, *hold(&h))
		}
		return out, nil
	})
}

func (a *ops) putHold(ctx context.Context, in *struct {
	Keyed
	Body api.PutHold
}) (*answer[api.HoldPut], error) {
	t, err := target(in.Body.Target)
	if err != nil {
		return nil, err
	}
	e := event.HoldPut{Target: t, Reason: in.Body.Reason}
	out := api.HoldPut{What: heat.What(t), DryRun: in.Body.DryRun}
	if in.Body.DryRun {
		err := a.f.View(func(p *view.Past) error {
			if _, err := heat.Put(p, e, p.KnownTarget); err != nil {
				return err
			}
			a.stops(p, t, &out)
			return nil
		})
		return &answer[api.HoldPut]{out}, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"hold", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.Hold(ctx, o, e)
	if err != nil {
		return nil, err
	}
	out.Recorded = recorded(r)
	err = a.f.View(func(p *view.Past) error {
		a.stops(p, t, &out)
		return nil
	})
	return &answer[api.HoldPut]{out}, err
}

// stops says what a hold on a target stops, and what it cannot.
func (a *ops) stops(p *view.Past, t event.Target, out *api.HoldPut) {
	r := p.RecallOf(t)
	var inside, shipped sum
	for _, b := range r.Bundles {
		switch {
		case b.Haste == view.NoMore:
		case b.Haste == view.Left:
			shipped.add(b.Bundle, b.TracedBundle.Mass)
		case b.Drawn || t.Number == b.Number:
			inside.add(b.Bundle, b.TracedBundle.Mass)
		}
	}
	out.Inside, out.Shipped = a.amount(inside), a.amount(shipped)
	for _, g := range r.Groups {
		out.Lots += g.Lots
		out.Bars += g.Bars
	}
	stops, cannot := r.Stops(a.units())
	out.Stops, out.Cannot = inBoth(stops), inBoth(cannot)
}

// inBoth are sentences on the wire.
func inBoth(all []view.Say) []api.Said {
	out := []api.Said{}
	for _, s := range all {
		out = append(out, api.Said(s))
	}
	return out
}

func (a *ops) liftHold(ctx context.Context, in *struct {
	Keyed
	Body api.LiftHold
}) (*answer[api.HoldLifted], error) {
	t, err := target(in.Body.Target)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"lift", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.Lift(ctx, o, event.HoldLifted{Target: t, Reason: in.Body.Reason})
	if err != nil {
		return nil, err
	}
	return &answer[api.HoldLifted]{api.HoldLifted{Recorded: recorded(r), What: heat.What(t)}}, nil
}
