package floor_test

import (
	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/view"
)

// checkProgress holds what is kept in memory of how far the jobs are against the rows, and the rows against
// one another: every bundle that is not voided stands in one stage, with all its pieces.
func (h *history) checkProgress(p *view.Past) {
	p.Jobs(func(j event.JobSet) bool {
		now := p.Progress(j.Job)
		require.Equal(h, now, h.Progress(p, j.Job), "progress of job %s", j.Job)
		var all view.Progress
		for _, l := range now {
			all.Add(l.Progress)
		}
		var want view.Amount
		for _, l := range p.LinesOf(j.Job, "") {
			for _, b := range p.BundlesOf(l) {
				if !b.Voided {
					want.Bundles++
					want.Pieces += b.Pieces
				}
			}
		}
		require.Equal(h, want.Bundles, all.All().Bundles, "bundles of job %s", j.Job)
		require.Equal(h, want.Pieces, all.All().Pieces, "pieces of job %s", j.Job)
		return true
	})
}
