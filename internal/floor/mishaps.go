package floor

import (
	"context"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// Lose records pieces of a bundle as lost. The line owes a bundle in their place, unless that is settled.
func (f *Floor) Lose(ctx context.Context, o Origin, n tags.Number, loss scan.Loss) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Lose(p, f.cfg.Rules, n, loss) })
}

// Split ties pieces of a bundle as bundles of their own.
func (f *Floor) Split(ctx context.Context, o Origin, n tags.Number, pieces []int, reason string) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Split(p, f.cfg.Rules, n, pieces, reason) })
}

// Merge ties bundles of one line into one of them.
func (f *Floor) Merge(ctx context.Context, o Origin, m scan.Merging) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Merge(p, f.cfg.Rules, m) })
}

// LoseTag says that the copies of a tag up to one, or with 0 up to the newest, are lost.
func (f *Floor) LoseTag(ctx context.Context, o Origin, n tags.Number, copies int, reason string) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.TagLost, event.Answer, error) { return scan.LostTag(p, n, copies, reason) })
}

// MendCharge says that a lot lay on a feed, or did not, while some runs were cut, and restates those.
func (f *Floor) MendCharge(ctx context.Context, o Origin, m scan.Mending) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) {
		out, err := scan.Mend(p, f.cfg.Rules, m)
		return out.Outcome, err
	})
}
