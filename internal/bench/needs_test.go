package bench

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkNeeds is 40 loads with 4,000 bundles that wait to be cut and bent, over 500 lots.
func BenchmarkNeeds(b *testing.B) {
	f, err := MakeNeeds(NeedsOptions{Dir: b.TempDir(), Loads: 40, Each: 100, Lots: 500})
	require.NoError(b, err)
	defer f.Close()
	now := time.Now()
	for b.Loop() {
		out, err := f.Outlook(now, nil)
		require.NoError(b, err)
		require.Len(b, out.Forecasts, 4000)
	}
}
