package floor

import (
	"context"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// told records a single event that a room has decided, with the answer that goes with it.
func told[T event.Body](f *Floor, ctx context.Context, o Origin, decide func(*view.Past) (T, event.Answer, error)) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		e, a, err := decide(p)
		return Decision{Answer: &a, Events: []event.Body{e}}, err
	})
}

// SetRoute gives a bundle a route of its own.
func (f *Floor) SetRoute(ctx context.Context, o Origin, n tags.Number, steps []string, reason string) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.RouteSet, event.Answer, error) {
		return scan.SetRoute(p, n, steps, reason)
	})
}
