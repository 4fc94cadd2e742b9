package scan_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/scan"
)

// stops are those of a table with a stop at each foot to 8 ft and at each 2 ft beyond, to 60 ft, that
// moves out by 2 ft: common practice, no source.
func stops() scan.Station {
	s := scan.Station{Name: "S1", Travel: 2 * bar.Foot}
	for l := bar.Foot; l <= 60*bar.Foot; l += bar.Foot {
		if l <= 8*bar.Foot || l%(2*bar.Foot) == 0 {
			s.Stops = append(s.Stops, l)
		}
	}
	return s
}

func TestGauge(t *testing.T) {
	for _, c := range []struct {
		length    string
		stop, out string // "" is none
		reach     bool
	}{
		{`9'-6"`, `8'-0"`, `1'-6"`, true}, // common practice, no source
		{`6'-6"`, `6'-0"`, `6"`, true},    // the same
		{`8'-0"`, `8'-0"`, ``, true},
		{`10'-0"`, `10'-0"`, ``, true},
		{`59'-11 1/2"`, `58'-0"`, `1'-11 1/2"`, true},
		{`1'-0"`, `1'-0"`, ``, true},
		{`62'-0"`, `60'-0"`, `2'-0"`, true},
		{`62'-0 1/16"`, `60'-0"`, `2'-0 1/16"`, false},
		{`11 15/16"`, ``, ``, false},
	} {
		l, err := bar.ParseLength(c.length)
		require.NoError(t, err)
		want := scan.Gauge{Length: l, Reach: c.reach}
		if c.stop != "" {
			want.Stop = must(bar.ParseLength(c.stop))
		}
		if c.out != "" {
			want.Out = must(bar.ParseLength(c.out))
		}
		got, ok := stops().Gauge(l)
		require.True(t, ok)
		require.Equal(t, want, got, c.length)
	}
	_, ok := scan.Station{Name: "S2"}.Gauge(9 * bar.Foot)
	require.False(t, ok, "a table without stops has no gauge")
}

// TestGaugeOfAnyLength: stop and out make the length, and no other stop is nearer below it.
func TestGaugeOfAnyLength(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s scan.Station
		for range rapid.IntRange(1, 20).Draw(t, "stops") {
			s.Stops = append(s.Stops, bar.Length(rapid.Int64Range(1, int64(20*bar.Metre)).Draw(t, "stop")))
		}
		slices.Sort(s.Stops)
		s.Stops = slices.Compact(s.Stops)
		s.Travel = bar.Length(rapid.Int64Range(1, int64(2*bar.Metre)).Draw(t, "travel"))
		l := bar.Length(rapid.Int64Range(1, int64(25*bar.Metre)).Draw(t, "length"))
		g, ok := s.Gauge(l)
		if !ok {
			t.Fatal("no gauge")
		}
		nearest := bar.Length(0)
		for _, stop := range s.Stops {
			if stop <= l {
				nearest = max(nearest, stop)
			}
		}
		if g.Stop != nearest || nearest > 0 && g.Stop+g.Out != l || nearest == 0 && g.Out != 0 {
			t.Fatalf("%v of %v: %+v", l, s.Stops, g)
		}
		if g.Reach != (nearest > 0 && l <= nearest+s.Travel) {
			t.Fatalf("reach: %v, travel %v: %+v", l, s.Travel, g)
		}
	})
}
