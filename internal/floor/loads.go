package floor

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// PlanLoad makes a truck load, when its number is 0, or states its plan anew. Asked for again, what stays
// off the plan is said in the answer of the receipt only.
func (f *Floor) PlanLoad(ctx context.Context, o Origin, plan load.Plan) (load.Planned, Receipt, error) {
	all, r, err := f.PlanLoads(ctx, o, []load.Plan{plan})
	var row *RowError
	if errors.As(err, &row) {
		err = row.Err
	}
	if err != nil {
		return load.Planned{}, r, err
	}
	return all[0], r, nil
}

// PlanLoads plans several loads at once, all or none: a RowError names the plan at fault.
func (f *Floor) PlanLoads(ctx context.Context, o Origin, plans []load.Plan) ([]load.Planned, Receipt, error) {
	var all []load.Planned
	r, err := f.Do(ctx, o, func(p *view.Past) (d Decision, err error) {
		plans := slices.Clone(plans)
		for i := range plans {
			if _, ok := p.Load(plans[i].Load); plans[i].Load == 0 {
				plans[i].Load = p.Fresh(tags.Load)
			} else if !ok {
				return d, &RowError{i, &event.Refusal{Field: "load", Says: fmt.Sprintf("%v is not known here", plans[i].Load)}}
			}
		}
		var bad int
		if all, bad, err = load.SetAll(p, plans); err != nil {
			return d, &RowError{bad, err}
		}
		d.Answer = scan.SayPlans(p, f.cfg.Rules, all)
		for _, one := range all {
			d.Events = append(d.Events, one.Set)
		}
		return d, nil
	})
	all, err = planned(r, all, err)
	return all, r, err
}

// planned is what a receipt of plans planned: a receipt given again has its events only.
func planned(r Receipt, all []load.Planned, err error) ([]load.Planned, error) {
	if r.Again {
		all = nil
		for _, e := range r.Events {
			if set, ok := e.Body.(event.LoadSet); ok {
				all = append(all, load.Planned{Set: set})
			}
		}
	}
	if err == nil && len(all) == 0 {
		err = fmt.Errorf("%w: it recorded something else", ErrOtherRequest)
	}
	return all, err
}

// Replan changes the plan of a load that has not left, as it stands at that very moment, and states it anew: two
// who plan at once lose nothing of one another's.
func (f *Floor) Replan(ctx context.Context, o Origin, n tags.Number, change func(*load.Plan) error) (load.Planned, Receipt, error) {
	var one load.Planned
	r, err := f.Do(ctx, o, func(p *view.Past) (d Decision, err error) {
		e, ok := p.LoadPlan(n)
		if e.Load = n; !ok {
			return d, &event.Refusal{Field: "load", Says: fmt.Sprintf("%v is not known here, or left already; plan another one", n)}
		}
		plan := load.Restate(e)
		if err := change(&plan); err != nil {
			return d, err
		}
		if one, err = load.Set(p, plan); err != nil {
			return d, err
		}
		return Decision{Answer: scan.SayPlans(p, f.cfg.Rules, []load.Planned{one}), Events: []event.Body{one.Set}}, nil
	})
	all, err := planned(r, []load.Planned{one}, err)
	if err != nil {
		return load.Planned{}, r, err
	}
	return all[0], r, nil
}
