package floor

import (
	"context"

	"tagd/internal/scan"
	"tagd/internal/view"
)

// Weigh records the scale ticket of a load. Its photo, if any, was stored before under its SHA-256.
func (f *Floor) Weigh(ctx context.Context, o Origin, t scan.Ticket) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Weigh(p, f.cfg.Rules, t) })
}

// Deliver records a load, or one stop of it, as handed over. The signed sheet's photo, if any, was stored
// before under its SHA-256.
func (f *Floor) Deliver(ctx context.Context, o Origin, d scan.Delivery) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Deliver(p, d) })
}

// TakeBack records a bundle, or some pieces of it, that came back from a load that left.
func (f *Floor) TakeBack(ctx context.Context, o Origin, r scan.CameBack) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.TakeBack(p, f.cfg.Rules, r) })
}

// Complain records what a site claims of a load.
func (f *Floor) Complain(ctx context.Context, o Origin, c scan.Complaint) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Complain(p, c) })
}

// Amend answers a claim.
func (f *Floor) Amend(ctx context.Context, o Origin, a scan.Amending) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Amend(p, f.cfg.Rules, a) })
}

// BringBack records what came back from a processor.
func (f *Floor) BringBack(ctx context.Context, o Origin, b scan.Backing) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.BringBack(p, f.cfg.Rules, b) })
}
