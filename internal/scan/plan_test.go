package scan_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// oneBar is a bar of a plan, by itself.
type oneBar struct {
	lot    tags.Number
	length bar.Length
	cuts   []scan.Piece
	left   bar.Length
}

// naive is first-fit decreasing as it is told: piece by piece, bar by bar.
func naive(wants []scan.Want, stock []scan.From) (bars []oneBar, short map[tags.Number]int) {
	wants = slices.Clone(wants)
	slices.SortStableFunc(wants, func(a, b scan.Want) int { return int(b.Length - a.Length) })
	stock = slices.Clone(stock)
	short = map[tags.Number]int{}
	for _, w := range wants {
	piece:
		for range w.Pieces {
			for i := range bars {
				if b := &bars[i]; b.left >= w.Length {
					b.left -= w.Length
					if n := len(b.cuts); n > 0 && b.cuts[n-1].Bundle == w.Bundle {
						b.cuts[n-1].Pieces++
					} else {
						b.cuts = append(b.cuts, scan.Piece{Bundle: w.Bundle, Pieces: 1})
					}
					continue piece
				}
			}
			for i := range stock {
				if s := &stock[i]; s.Length >= w.Length && s.Bars != 0 {
					s.Bars--
					bars = append(bars, oneBar{s.Lot, s.Length, []scan.Piece{{Bundle: w.Bundle, Pieces: 1}}, s.Length - w.Length})
					continue piece
				}
			}
			short[w.Bundle]++
		}
	}
	return bars, short
}

// each takes a plan apart into its bars.
func each(plan []scan.Pattern) (bars []oneBar) {
	for _, p := range plan {
		for range p.Bars {
			bars = append(bars, oneBar{p.Lot, p.Length, p.Cuts, p.Left})
		}
	}
	return bars
}

// TestFirstFit compares plans with the piece-by-piece telling: the same bars, cut alike, in the same
// order; and whatever is planned, no metal is lost or made.
func TestFirstFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var wants []scan.Want
		for i := range rapid.IntRange(0, 6).Draw(t, "wants") {
			wants = append(wants, scan.Want{
				Bundle: bundle(i + 1),
				Length: bar.Length(rapid.IntRange(1, 24).Draw(t, "length")) * bar.Foot / 2,
				Pieces: rapid.IntRange(0, 25).Draw(t, "pieces"),
			})
		}
		var from []scan.From
		for i := range rapid.IntRange(0, 5).Draw(t, "stocks") {
			from = append(from, scan.From{
				Lot:    stock(i + 1),
				Length: bar.Length(rapid.IntRange(1, 60).Draw(t, "stock")) * bar.Foot / 2,
				Bars:   rapid.IntRange(-1, 9).Draw(t, "bars"),
			})
		}
		keep := bar.Length(rapid.IntRange(0, 8).Draw(t, "keep")) * bar.Foot
		unchanged := slices.Clone(wants)
		plan, short := scan.FirstFit(wants, from, keep)
		require.Equal(t, unchanged, wants)

		bars, lacking := naive(wants, from)
		require.Equal(t, bars, each(plan))
		left := map[tags.Number]int{}
		for _, w := range short {
			left[w.Bundle] = w.Pieces
		}
		require.Equal(t, lacking, left)

		var drawn, made bar.Length
		for _, p := range plan {
			require.Positive(t, p.Bars)
			require.GreaterOrEqual(t, p.Left, bar.Length(0))
			require.Equal(t, keep > 0 && p.Left >= keep, p.Keep)
			drawn += (p.Length - p.Left) * bar.Length(p.Bars)
		}
		for _, w := range wants {
			made += w.Length * bar.Length(w.Pieces-lacking[w.Bundle])
		}
		require.Equal(t, made, drawn)
	})
}

// TestFirstFitByHand: three marks from bars of 60', worked out by hand on paper.
//
//	7 of 25', 10 of 14', 9 of 4'-6":
//	25': three bars of two leave 10', a fourth with one leaves 35';
//	14': none fits 10', two fit the fourth bar and leave 7'; two bars of four leave 4';
//	4'-6": two fit each of the three first and leave 1', one the fourth and leaves 2'-6";
//	       4' is too short, so two go into a new bar, which leaves 51'.
func TestFirstFitByHand(t *testing.T) {
	a, b, c := bundle(1), bundle(2), bundle(3)
	half := bar.Foot / 2
	plan, short := scan.FirstFit([]scan.Want{{c, 9 * half, 9}, {a, 25 * bar.Foot, 7}, {b, 14 * bar.Foot, 10}},
		[]scan.From{{Lot: stock(1), Length: 60 * bar.Foot, Bars: -1}}, 4*bar.Foot)
	require.Empty(t, short)
	pattern := func(bars int, left bar.Length, keep bool, cuts ...scan.Piece) scan.Pattern {
		return scan.Pattern{Lot: stock(1), Length: 60 * bar.Foot, Bars: bars, Cuts: cuts, Left: left, Keep: keep}
	}
	require.Equal(t, []scan.Pattern{
		pattern(3, bar.Foot, false, scan.Piece{Bundle: a, Pieces: 2}, scan.Piece{Bundle: c, Pieces: 2}),
		pattern(1, 5*half, false, scan.Piece{Bundle: a, Pieces: 1}, scan.Piece{Bundle: b, Pieces: 2}, scan.Piece{Bundle: c, Pieces: 1}),
		pattern(2, 4*bar.Foot, true, scan.Piece{Bundle: b, Pieces: 4}),
		pattern(1, 51*bar.Foot, true, scan.Piece{Bundle: c, Pieces: 2}),
	}, plan)
}

// TestFirstFitShort: stocks are used in their order, to the last bar, and what is left over is named.
func TestFirstFitShort(t *testing.T) {
	plan, short := scan.FirstFit([]scan.Want{{bundle(1), 15 * bar.Foot, 7}}, []scan.From{
		{Lot: stock(1), Length: 10 * bar.Foot, Bars: 9}, // too short
		{Lot: stock(2), Length: 40 * bar.Foot, Bars: 2},
		{Lot: stock(3), Length: 20 * bar.Foot, Bars: 1},
	}, 0)
	require.Equal(t, []scan.Want{{bundle(1), 15 * bar.Foot, 2}}, short)
	require.Equal(t, []oneBar{
		{stock(2), 40 * bar.Foot, []scan.Piece{{Bundle: bundle(1), Pieces: 2}}, 10 * bar.Foot},
		{stock(2), 40 * bar.Foot, []scan.Piece{{Bundle: bundle(1), Pieces: 2}}, 10 * bar.Foot},
		{stock(3), 20 * bar.Foot, []scan.Piece{{Bundle: bundle(1), Pieces: 1}}, 5 * bar.Foot},
	}, each(plan))
}

// BenchmarkFirstFit is a run of three marks in thousands of pieces.
func BenchmarkFirstFit(b *testing.B) {
	wants := []scan.Want{{bundle(1), 25 * bar.Foot, 4000}, {bundle(2), 14 * bar.Foot, 9000}, {bundle(3), 3 * bar.Foot, 20_000}}
	from := []scan.From{{Lot: stock(1), Length: 60 * bar.Foot, Bars: 700}, {Lot: stock(2), Length: 40 * bar.Foot, Bars: -1}}
	for b.Loop() {
		scan.FirstFit(wants, from, 4*bar.Foot)
	}
}
