package bench

import (
	"fmt"
	"testing"
	"time"

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

// TestMeasures runs each measurement on a small store, so that the commands that make them stay whole.
func TestMeasures(t *testing.T) {
	var said []string
	o := ScanOptions{Dir: t.TempDir(), Bundles: 130 * Clients, Each: 30 * time.Millisecond, Say: func(format string, args ...any) {
		said = append(said, fmt.Sprintf(format, args...))
	}}
	require.NoError(t, Scans(o))
	require.Contains(t, said[len(said)-1], "of bare bbolt")
	o.Dir, o.Bundles = t.TempDir(), 20*Clients
	require.NoError(t, Web(t.Context(), o))
	require.Contains(t, said[len(said)-1], "times the one client's p99")
	require.NoError(t, Trace(t.Context(), TraceOptions{Dir: t.TempDir(), Events: 3000, Say: o.Say}))
	require.Contains(t, said[len(said)-2], "events/s")
	require.Contains(t, said[len(said)-3], "restart")
}
