package floor_test

import (
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// kin is what the model knows of pieces that were lost, parted and tied together.
type kin struct {
	lost     map[tags.Number]int // pieces that each bundle lost
	sampled  map[tags.Number]int
	replaces map[tags.Number]bool
	into     map[tags.Number]tags.Number // where each merged one is
	had      map[tags.Number]int         // pieces of each merged one
	mislaid  map[tags.Number]int
	absent   map[uint64]map[tags.Number]bool // of runs: lots that did not lie there after all
	went     map[tags.Number]int             // pieces of each bundle, when it was loaded last
	weighed  map[tags.Number]bar.Mass        // of each bundle, when it was loaded last
	names    map[tags.Number]int             // which part of its bundle: 1 is b
}

func newKin() kin {
	return kin{
		lost: map[tags.Number]int{}, sampled: map[tags.Number]int{}, replaces: map[tags.Number]bool{}, into: map[tags.Number]tags.Number{},
		absent: map[uint64]map[tags.Number]bool{}, went: map[tags.Number]int{},
		had: map[tags.Number]int{}, mislaid: map[tags.Number]int{}, weighed: map[tags.Number]bar.Mass{}, names: map[tags.Number]int{},
	}
}

// parted gives a number that came of another's pieces, or stands for them, the next letter.
func (m *model) parted(n, of tags.Number, pieces int) {
	m.kin.names[n] = m.lastName(of) + 1
	m.said.place[n] = m.said.place[of]
	if route, own := m.said.routes[of]; own {
		m.said.routes[n] = route
	}
	m.lines[n], m.pieces[n] = m.lines[of], pieces
	if l, ok := m.planned[of]; ok {
		m.planned[n] = l
	}
}

// mishap folds what happens to bundles beside their route.
func (m *model) mishap(seq uint64, e event.Event) {
	k := m.kin
	switch b := e.Body.(type) {
	case event.CutDone, event.CoilCut:
		cut, _ := scan.CutOf(b)
		if cut.Rest != 0 {
			m.parted(cut.Rest, cut.Bundle, cut.Owed)
		}
	case event.PiecesLost:
		if b.Rest != 0 {
			m.parted(b.Rest, b.Bundle, b.Owed)
			k.replaces[b.Rest] = true
			if m.gone[m.planned[b.Rest].load] {
				delete(m.planned, b.Rest)
			}
		}
		at := m.lossOf(b)
		m.work.losses[seq] = at
		m.less(b, 1)
		m.lessWork(at, b, 1)
		if m.pieces[b.Bundle] == 0 {
			m.void(b.Bundle)
			delete(m.lies, b.Bundle)
		}
	case event.BundleSplit:
		for _, part := range b.Into {
			m.parted(part.Number, b.Bundle, part.Pieces)
			m.pieces[b.Bundle] -= part.Pieces
			m.of[part.Number], m.work.done[part.Number] = m.of[b.Bundle], m.work.done[b.Bundle]
			k.replaces[part.Number] = k.replaces[b.Bundle]
			m.lies[part.Number] = maps.Clone(m.lies[b.Bundle])
		}
	case event.BundlesMerged:
		for _, n := range b.From {
			m.pieces[b.Into] += m.pieces[n]
			m.of[b.Into] = slices.Concat(m.of[b.Into], m.of[n])
			k.into[n], k.had[n], m.pieces[n] = b.Into, m.pieces[n], 0
			m.void(n)
			delete(m.lies, n)
		}
	case event.ChargeMended:
		for _, x := range b.Runs {
			r := m.runs[x.Run]
			if k.absent[x.Run] == nil {
				k.absent[x.Run] = map[tags.Number]bool{}
			}
			k.absent[x.Run][b.Lot] = !slices.Contains(x.Lots, b.Lot)
			if r.before = x.Lots; x.Closed == nil {
				r.may = x.Lots
				continue
			}
			r.closed, r.may = x.Closed, x.Closed.Lots
			for _, rem := range x.Closed.Remnants {
				l := m.remnant[rem.Lot]
				l.may, l.lacking = r.may, x.Closed.Missing > 0
				m.remnant[rem.Lot] = l
			}
		}
	case event.Loaded:
		k.went[b.Bundle] = m.pieces[b.Bundle]
	case event.TagLost:
		k.mislaid[b.Number] = b.Copy
	}
}

// less counts pieces as lost, or with -1 as found again.
func (m *model) less(b event.PiecesLost, sign int) {
	m.kin.lost[b.Bundle] += sign * b.Pieces
	if b.Why == event.Sample {
		m.kin.sampled[b.Bundle] += sign * b.Pieces
	}
	m.pieces[b.Bundle] -= sign * b.Pieces
}

func (m *model) mishapUndone(u event.Undone) {
	k, n := m.kin, u.Bundle
	switch b := m.events[u.Seq].Body.(type) {
	case event.PiecesLost:
		if m.pieces[n] == 0 {
			delete(m.voided, n)
		}
		m.less(b, -1)
		m.lessWork(m.work.losses[u.Seq], b, -1)
		if b.Rest != 0 {
			m.void(b.Rest)
		}
	case event.BundleSplit:
		for _, part := range b.Into {
			m.pieces[n] += m.pieces[part.Number]
			m.pieces[part.Number], m.of[part.Number] = 0, nil
			m.void(part.Number)
			delete(m.lies, part.Number)
		}
	case event.BundlesMerged:
		runs := 0
		for _, from := range b.From {
			m.pieces[from] = k.had[from]
			m.pieces[n] -= k.had[from]
			runs += len(m.of[from])
			delete(k.into, from)
			delete(m.voided, from)
		}
		m.of[n] = m.of[n][:len(m.of[n])-runs]
	}
}

// checkKin: no piece comes or goes: the pieces of all bundles that are cut, in parts or whole, and those
// that they lost, are those that the runs made.
func (h *history) checkKin(p *view.Past, m *model) {
	made, have := 0, 0
	for _, r := range m.runs {
		for _, x := range r.members {
			if made += x.lost; x.done {
				made += x.pieces - x.lost
			}
		}
	}
	p.Bundles(0, func(b scan.Bundle) bool {
		if len(m.of[b.Number]) > 0 {
			cut := m.pieces[b.Number]
			if m.work.done[b.Number] == 0 && !m.said.bars[b.Number] {
				cut = m.work.made[b.Number]
			}
			have += cut + m.kin.lost[b.Number] - m.work.unmade[b.Number]
		}
		k := scan.Kin{}
		if b.Kin != nil {
			k = *b.Kin
		}
		require.Equal(h, []any{m.kin.lost[b.Number], m.kin.sampled[b.Number], m.kin.replaces[b.Number], m.kin.into[b.Number], m.kin.mislaid[b.Number]},
			[]any{k.Lost, k.Sampled, k.Replaces, k.Into, k.Mislaid}, "%v", b.Number)
		require.Equal(h, m.kin.names[b.Number], b.Rest, "%v is %s", b.Number, b.Name())
		require.ElementsMatch(h, m.of[b.Number], b.Runs)
		if b.Load != 0 {
			require.Equal(h, m.kin.went[b.Number], b.Left())
		}
		require.GreaterOrEqual(h, b.Pieces, 0)
		for _, from := range k.Parents {
			require.True(h, b.Voided || slices.Contains(p.Parts(from), b.Number), "%v is of %v", b.Number, from)
		}
		return true
	})
	require.Equal(h, made, have)
}
