package floor_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/view"
)

// TestPartLostUndone: pieces lost of a part that waits are of those that are made, and come back there.
func TestPartLostUndone(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	bundles, lots := s.made(12, "H1")
	b := bundles[0]
	state := func() (x scan.Bundle) {
		require.NoError(t, s.View(func(p *view.Past) error {
			x, _ = p.Bundle(b)
			return nil
		}))
		return x
	}
	undo := func() {
		_, err := s.Undo(ctx, floor.Origin{}, b, "miscounted")
		require.NoError(t, err)
	}
	s.scan("S1", lots[0].Digits())
	s.scan("S1", b.Digits())
	s.scan("S1", b.Digits(), func(x *scan.Scan) { x.Do, x.Pieces = scan.Part, 6 })
	_, err := s.Lose(ctx, floor.Origin{}, b, scan.Loss{Pieces: 2, Why: event.Damaged})
	require.NoError(t, err)
	require.Equal(t, []int{4, 10}, []int{state().Made, state().Pieces})
	s.scan("S1", b.Digits())
	a, _ := s.scan("S1", b.Digits())
	require.Equal(t, "cut done", a.Notes[0].Code)
	require.Equal(t, []int{0, 10}, []int{state().Made, state().Pieces})
	undo() // the rest is not cut
	require.Equal(t, []int{4, 10, 6}, []int{state().Made, state().Pieces, state().ToDo()})
	undo() // nor begun
	require.Equal(t, []int{4, 10}, []int{state().Made, state().Pieces})
	require.False(t, state().Started)
	undo() // nothing was lost
	require.Equal(t, []int{6, 12}, []int{state().Made, state().Pieces})
	undo() // no part is made
	require.Equal(t, []int{0, 12}, []int{state().Made, state().Pieces})
	require.True(t, state().Started)
	undo()
	require.Empty(t, state().Progress)
	require.NoError(t, s.View(func(p *view.Past) error {
		l, _ := p.Lot(lots[0])
		require.Zero(t, l.Taken)
		require.Zero(t, p.Floor("S1").Run)
		return nil
	}))
}

// TestSharedHeats: a bundle that two shears cut may be of the heats of both; the trace of each finds it.
func TestSharedHeats(t *testing.T) {
	s := openShop(t)
	bundles, lots := s.made(12, "H1", "H2")
	b := bundles[0]
	s.scan("S1", lots[0].Digits())
	s.scan("S2", lots[1].Digits())
	s.scan("S1", b.Digits())
	s.scan("S2", b.Digits(), func(x *scan.Scan) { x.Do = scan.Join })
	s.scan("S1", b.Digits(), func(x *scan.Scan) { x.Pieces = 7 })
	s.scan("S2", b.Digits(), func(x *scan.Scan) { x.Pieces = 5 })
	require.NoError(t, s.View(func(p *view.Past) error {
		x, _ := p.Bundle(b)
		require.Equal(t, []int{12, 1}, []int{x.Pieces, x.Done})
		d, _ := scan.HeatsOf(p, x)
		require.Len(t, d.Heats, 2)
		require.Equal(t, "one of", string(d.Certainty))
		var made []int
		for _, seq := range x.Runs {
			r, _ := p.Run(seq)
			made = append(made, r.Members[0].Pieces)
		}
		require.Equal(t, []int{7, 5}, made)
		return nil
	}))
	for _, heat := range []string{"H1", "H2"} {
		require.Equal(t, []int{b.Serial()}, s.traced(heat))
	}
}
