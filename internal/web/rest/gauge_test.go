package rest

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/scan"
)

// TestGauge: the stops in words, also where they do not reach.
func TestGauge(t *testing.T) {
	s := scan.Station{Stops: []bar.Length{bar.Foot, 2 * bar.Foot}, Travel: bar.Foot}
	for _, c := range []struct {
		length bar.Length
		want   api.Gauge
	}{
		{2 * bar.Foot, api.Gauge{Length: `2'-0"`, Stop: `2'-0"`, Reach: true, Text: `2'-0" stop`}},
		{30 * bar.Inch, api.Gauge{Length: `2'-6"`, Stop: `2'-0"`, Out: `6"`, Reach: true, Text: `2'-0" stop, 6" out`}},
		{4 * bar.Foot, api.Gauge{Length: `4'-0"`, Stop: `2'-0"`, Out: `2'-0"`, Text: `2'-0" stop, 2'-0" out: farther than the table moves`}},
		{6 * bar.Inch, api.Gauge{Length: `6"`, Text: "shorter than the first stop"}},
	} {
		g, _ := s.Gauge(c.length)
		require.Equal(t, c.want, gauge(g, bar.Imperial))
	}
}
