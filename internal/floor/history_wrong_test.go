package floor_test

import (
	"context"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func init() {
	actions = append(actions, []action{{3, (*history).loseByScan}, {2, (*history).lose}, {3, (*history).split}, {3, (*history).merge}, {1, (*history).loseTag}, {4, (*history).mend}}...)
}

// givenAside are the numbers that go to pieces beside the route of their bundle.
func givenAside(b event.Body) (out []tags.Number) {
	switch b := b.(type) {
	case event.PiecesLost:
		if b.Rest != 0 {
			out = append(out, b.Rest)
		}
	case event.BundleSplit:
		for _, part := range b.Into {
			out = append(out, part.Number)
		}
	}
	return out
}

func (h *history) loseByScan() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Begun() })
	h.scan(pick(h, "station", "S1", "B1", "Y1", "L1"), n, func(x *scan.Scan) {
		x.Do, x.Pieces, x.Why = scan.Lost, 1+h.upTo("pieces", 5), string(pick(h, "why", scan.Losses...))
	})
}

func (h *history) lose() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Begun() && !b.Voided })
	loss := scan.Loss{Pieces: 1 + h.upTo("pieces", 11), Why: pick(h, "why", scan.Losses...), Settled: h.one("settled", 3)}
	h.send("lose", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Lose(context.Background(), o, n, loss) })
}

func (h *history) split() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Begun() && !b.Started && !b.Voided && b.Load == 0 && b.Pieces > 2 })
	var pieces []int
	for range 1 + h.upTo("parts", 1) {
		pieces = append(pieces, 1+h.upTo("pieces", 4))
	}
	h.send("split", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.Split(context.Background(), o, n, pieces, "two trucks")
	})
}

func (h *history) merge() {
	into := h.someBundle(func(b scan.Bundle) bool { return !b.Started && !b.Voided && b.Load == 0 })
	m := scan.Merging{Into: into, Already: h.one("already", 2)}
	var line uint64
	var done int
	for _, b := range h.bundles {
		if b.Number == into {
			line, done = b.Line, b.Done
		}
	}
	for range 1 + h.upTo("more", 1) {
		m.From = append(m.From, h.someBundle(func(b scan.Bundle) bool {
			return b.Line == line && b.Done == done && b.Number != into && !b.Started && !b.Voided && b.Load == 0
		}))
	}
	h.send("merge", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Merge(context.Background(), o, m) })
}

func (h *history) loseTag() {
	n := pick(h, "what", h.someBundle(func(scan.Bundle) bool { return true }), h.someLot(), h.someLoad())
	copies := h.upTo("copy", 2)
	h.send("lose tag", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.LoseTag(context.Background(), o, n, copies, "")
	})
}

// mend says of some runs that a lot lay on the feed, or did not. What they can be of is then just that
// much more or less, and what they made and left is as it was.
func (h *history) mend() {
	m := scan.Mending{Station: pick(h, "shear", "S1", "S1", "S2"), Feed: pick(h, "feed", "", "A"), Lot: h.someLot(), Not: h.one("not", 3), Reason: "seen on the camera (invented)"}
	before := map[uint64]scan.Run{}
	h.read(func(p *view.Past) {
		p.Runs(view.RunsAsked{Station: m.Station}, func(r scan.Run) bool {
			if h.one("this", 2) && len(m.Runs) < 4 {
				m.Runs = append(m.Runs, r.Seq)
				before[r.Seq] = r
			}
			return true
		})
	})
	if len(m.Runs) == 1 && h.one("bars", 3) {
		for range 1 + h.upTo("draws", 1) {
			m.Bars = append(m.Bars, event.Draw{Lot: h.someLot(), Bars: 1 + h.upTo("bars", 8)})
		}
	}
	r, err := h.send("mend", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.MendCharge(context.Background(), o, m) })
	if err != nil {
		return
	}
	h.read(func(p *view.Past) {
		for _, x := range r.Events[0].Body.(event.ChargeMended).Runs {
			was, is := before[x.Run], must(p.Run(x.Run))
			require.Equal(h, was.Members, is.Members)
			require.Equal(h, was.By, is.By)
			require.Equal(h, r.Seq, is.Mended)
			if len(m.Bars) > 0 {
				continue
			}
			require.Equal(h, !m.Not, slices.Contains(is.Lots, m.Lot))
			for _, n := range was.Lots {
				require.True(h, n == m.Lot || slices.Contains(is.Lots, n), "%v could have been drawn", n)
			}
		}
	})
}

func must[T any](v T, _ bool) T { return v }
