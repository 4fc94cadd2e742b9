package bench

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/view"
)

// BenchmarkRecall is the recall of the heat with the most bundles of 30,000 events, now and as of the record
// before the newest one.
func BenchmarkRecall(b *testing.B) {
	f, err := openFloor(b.TempDir(), false)
	require.NoError(b, err)
	defer f.Close()
	y := &year{f: f, want: 30_000, say: func(string, ...any) {}}
	require.NoError(b, y.make())
	var all []made
	for _, h := range y.heats {
		all = append(all, h...)
	}
	large := slices.MaxFunc(all, func(a, b made) int { return a.bundles - b.bundles })
	ask := func(b *testing.B, at func(*view.Past) (*view.Past, error)) {
		for range b.N {
			require.NoError(b, f.View(func(p *view.Past) error {
				p, err := at(p)
				if err == nil {
					require.Len(b, p.Recall(large.heat).Bundles, large.bundles)
				}
				return err
			}))
		}
		b.ReportMetric(float64(large.bundles), "bundles")
	}
	b.Run("now", func(b *testing.B) { ask(b, func(p *view.Past) (*view.Past, error) { return p, nil }) })
	b.Run("before", func(b *testing.B) {
		ask(b, func(p *view.Past) (*view.Past, error) { return p.AsOf(p.Head()-1, large.heat) })
	})
}
