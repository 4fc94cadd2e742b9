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

// BenchmarkScans is 64 clients at once, each at its own shear and its own run of serials.
func BenchmarkScans(b *testing.B) {
	f, err := openFloor(b.TempDir(), false)
	require.NoError(b, err)
	defer f.Close()
	run := max(800, b.N/Clients/2+1)
	require.NoError(b, makeBundles(f, run*Clients, func(string, ...any) {}))
	require.NoError(b, charge(f))
	ws := workers(f, run)
	b.ResetTimer()
	before := cpuTime()
	require.NoError(b, both(Clients, func(i int) error {
		for range b.N/Clients + 1 {
			if err := ws[i].scan(); err != nil {
				return err
			}
		}
		return nil
	}))
	b.ReportMetric(float64((cpuTime()-before).Nanoseconds())/float64(b.N), "cpu-ns/op")
}
