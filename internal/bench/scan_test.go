package bench

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkScan is one client at a store of 20,000 bundles, without syncs: the floor's own time.
func BenchmarkScan(b *testing.B) {
	f, err := openFloor(b.TempDir(), false)
	require.NoError(b, err)
	defer f.Close()
	n := max(20_000, b.N/2+1)
	require.NoError(b, makeBundles(f, n, func(string, ...any) {}))
	require.NoError(b, charge(f))
	w := &worker{f: f}
	b.ResetTimer()
	for range b.N {
		if err := w.scan(); err != nil {
			b.Fatal(err)
		}
	}
}
