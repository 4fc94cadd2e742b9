package floor

import (
	"context"
	"fmt"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// SetRoute gives a bundle a route of its own.
func (f *Floor) SetRoute(ctx context.Context, o Origin, n tags.Number, steps []string, reason string) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.RouteSet, event.Answer, error) {
		return scan.SetRoute(p, n, steps, reason)
	})
}

// Assign says which bars a bundle is that no station cuts: so many of each lot, or as many as it has
// pieces of lots in order.
func (f *Floor) Assign(ctx context.Context, o Origin, n tags.Number, lots []tags.Number, bars []event.Draw) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.BundleAssigned, event.Answer, error) {
		return scan.Assign(p, f.cfg.Rules, n, lots, bars)
	})
}

// Declare says what a supplier's paper has on the heats of a bundle that was bought ready made.
func (f *Floor) Declare(ctx context.Context, o Origin, e event.HeatsDeclared) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.HeatsDeclared, event.Answer, error) {
		e, a, err := scan.Declare(p, e)
		if err == nil {
			e.Lot = p.Fresh(tags.Stock)
		}
		return e, a, err
	})
}

// Reassign gives a bundle that is made to the line of a job, list and mark, in the place of a bundle of
// it that is not begun: instead, or with 0 the first that fits.
func (f *Floor) Reassign(ctx context.Context, o Origin, n tags.Number, job, list, mark string, instead tags.Number, reason string) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.BundleReassigned, event.Answer, error) {
		l, ok := p.LineOf(job, list, mark)
		if !ok {
			return event.BundleReassigned{}, event.Answer{}, &event.Refusal{Field: "line", Says: fmt.Sprintf("%s / %s / %s is not known; name job, list and mark of the line that it goes to", job, list, mark)}
		}
		return scan.Reassign(p, f.cfg.Rules, n, l, instead, reason)
	})
}
