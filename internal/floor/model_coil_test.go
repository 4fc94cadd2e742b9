package floor_test

import (
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// said is what the model knows of bundles by word: which place of which line each has, and which lots a
// supplier's paper declares.
type said struct {
	place    map[tags.Number]place
	given    map[tags.Number]int
	declared map[tags.Number]bool
	mass     map[tags.Number]bar.Mass // of each lot of coil, as it came in
	bars     map[tags.Number]bool     // somebody said which bars the bundle is
	routes   map[tags.Number][]string
}

// place is the k-th bundle of a line.
type place struct {
	line uint64
	k    int
}

func newSaid() said {
	return said{place: map[tags.Number]place{}, given: map[tags.Number]int{}, declared: map[tags.Number]bool{}, mass: map[tags.Number]bar.Mass{}, bars: map[tags.Number]bool{}, routes: map[tags.Number][]string{}}
}

// told folds what an office says of bundles.
func (m *model) told(seq uint64, e event.Event) {
	own := m.said.routes
	switch b := e.Body.(type) {
	case event.LineTaken:
		m.places(seq, b, 0)
	case event.LineChanged:
		named := 0
		for l := b.Line; l != 0; l = m.rev.was[l] {
			named += len(m.rev.lines[l].Bundles)
		}
		m.places(seq, b.Taken, named)
	case event.CoilReceived:
		m.lots[b.Lot] = event.LotReceived{Lot: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel}
		m.said.mass[b.Lot] = b.Mass
	case event.CutDone, event.CoilCut:
		cut, _ := scan.CutOf(b)
		if cut.Rest != 0 && m.rev.of[cut.Rest] != m.rev.of[cut.Bundle] {
			delete(own, cut.Rest) // the list says otherwise by now
		}
	case event.PiecesLost:
		if b.Rest != 0 {
			delete(own, b.Rest) // what replaces them is made as the line says
		}
	case event.BundleSplit:
		for _, part := range b.Into {
			m.said.bars[part.Number] = m.said.bars[b.Bundle]
		}
	case event.BundlesMerged:
		for _, n := range b.From {
			m.said.bars[b.Into] = m.said.bars[b.Into] || m.said.bars[n]
		}
	case event.RouteSet:
		own[b.Bundle] = append([]string{}, b.Route...)
	case event.BundleAssigned:
		m.madeOf(seq, b.Bundle, b.Closed)
	case event.HeatsDeclared:
		l, pieces := m.lines[b.Bundle], m.pieces[b.Bundle]+m.kin.lost[b.Bundle]
		m.lots[b.Lot] = event.LotReceived{Lot: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: l.Steel, Length: l.Length, Bars: pieces}
		m.said.declared[b.Lot] = true
		m.madeOf(seq, b.Bundle, event.RunClosed{Draws: []event.Draw{{Lot: b.Lot, Bars: pieces}}, Lots: []tags.Number{b.Lot}, Steel: l.Steel})
	case event.BundleReassigned:
		truck, planned := m.planned[b.Instead]
		delete(m.planned, b.Bundle)
		m.rev.of[b.Bundle], m.lines[b.Bundle] = b.Line, m.rev.lines[b.Line]
		delete(m.rev.fell, b.Bundle)
		if b.Instead == 0 { // behind all others of the line
			at := place{m.root(b.Line), 1}
			for _, o := range m.said.place {
				if o.line == at.line {
					at.k = max(at.k, o.k+1)
				}
			}
			m.said.place[b.Bundle], m.kin.names[b.Bundle] = at, 0
			return
		}
		m.said.given[b.Instead] += m.pieces[b.Bundle]
		name := m.kin.names[b.Instead]
		if b.Left > 0 {
			name = m.lastName(b.Instead) + 1
			m.pieces[b.Instead] = b.Left
		} else {
			m.void(b.Instead)
		}
		m.kin.names[b.Bundle], m.said.place[b.Bundle] = name, m.said.place[b.Instead]
		if delete(own, b.Bundle); b.Route != nil {
			own[b.Bundle] = b.Route
		}
		if planned && !m.gone[m.on[b.Bundle]] {
			m.planned[b.Bundle] = truck
		}
	}
}

// places gives the bundles of a line their places, behind those that the lines before it had.
func (m *model) places(seq uint64, l event.LineTaken, named int) {
	for i := range l.Bundles {
		n, _ := tags.New(tags.Bundle, 1, l.First.Serial()+i)
		m.said.place[n] = place{m.root(seq), named + i + 1}
	}
}

// root is the first of the lines that took the place of one another.
func (m *model) root(line uint64) uint64 {
	for m.rev.was[line] != 0 {
		line = m.rev.was[line]
	}
	return line
}

// lastName is the newest letter among what stands in one bundle's place.
func (m *model) lastName(of tags.Number) int {
	last := 0
	for o, name := range m.kin.names {
		if m.said.place[o] == m.said.place[of] {
			last = max(last, name)
		}
	}
	return last
}

// madeOf is a run of one bundle that closed at once.
func (m *model) madeOf(seq uint64, n tags.Number, c event.RunClosed) {
	r := &run{steel: m.lines[n].Steel, said: true, members: []*member{{n: n, pieces: m.pieces[n] + m.kin.lost[n], done: true}}}
	m.said.bars[n] = true
	m.work.unmade[n] = 0 // what it lost before was of those bars
	r.may, r.closed, r.by = c.Lots, &c, seq
	m.runs[seq] = r
	m.of[n] = append(slices.Clip(m.of[n]), seq)
}

// untold takes back what was said of a bundle's bars.
func (m *model) untold(u event.Undone) {
	switch b := m.events[u.Seq].Body.(type) {
	case event.HeatsDeclared:
		l := m.lots[b.Lot]
		l.Bars = 0
		m.lots[b.Lot] = l
	case event.BundleAssigned:
	default:
		return
	}
	m.runs[u.Seq] = &run{}
	m.said.bars[u.Bundle] = false
	m.work.unmade[u.Bundle] = m.kin.lost[u.Bundle]
	m.of[u.Bundle] = slices.DeleteFunc(slices.Clone(m.of[u.Bundle]), func(seq uint64) bool { return seq == u.Seq })
}

// byPaper says whether some of what bundles were made of is known from a paper only.
func (m *model) byPaper(of []uint64) bool {
	return slices.ContainsFunc(of, func(seq uint64) bool {
		return slices.ContainsFunc(m.runs[seq].may, func(n tags.Number) bool { return m.said.declared[n] })
	})
}

// checkSaid: every bundle has its place among those of its line, and its route.
func (h *history) checkSaid(p *view.Past, m *model) {
	p.Bundles(0, func(b scan.Bundle) bool {
		require.Equal(h, m.said.place[b.Number], place{m.root(b.Line), b.K}, "%v", b.Number)
		route, own := m.said.routes[b.Number]
		if !own {
			route = m.lines[b.Number].Route
		}
		require.Equal(h, append([]string{}, route...), append([]string{}, b.Steps(p.Line(b.Line))...), "%v", b.Number)
		given := 0
		if b.Kin != nil {
			given = b.Kin.Given
		}
		require.Equal(h, m.said.given[b.Number], given)
		return true
	})
}

// closeCoil closes a run that was cut from coil.
func (m *model) closeCoil(seq, of uint64, c *event.CoilClosed) {
	if c == nil {
		return
	}
	r := m.runs[of]
	r.coil, r.by, r.before = c, seq, r.may
	if m.open[r.station] == of {
		delete(m.open, r.station)
	}
	if len(c.Lots) > 0 {
		r.may = c.Lots
	}
}

// checkCoil: mass is conserved to the microgram, per run and per lot; a run from coil makes one bundle.
func (h *history) checkCoil(p *view.Past, m *model) {
	taken, over := map[tags.Number]bar.Mass{}, map[tags.Number]bar.Mass{}
	for seq, r := range m.runs {
		state, _ := p.Run(seq)
		if r.coil == nil {
			require.Zero(h, p.CoilClosing(state))
			continue
		}
		require.Equal(h, *r.coil, p.CoilClosing(state))
		require.Zero(h, p.Closing(state))
		require.Equal(h, []any{r.by, r.coil.Missing}, []any{state.By, state.Lacking})
		require.Len(h, r.members, 1)
		x := r.members[0]
		pieces, err := bar.Weigh(m.lines[x.n].Steel.Size, m.lines[x.n].Length*bar.Length(x.pieces))
		require.NoError(h, err)
		drawn := r.coil.Missing
		for _, d := range r.coil.Draws {
			taken[d.Lot] += d.Mass
			over[d.Lot] += d.Over
			drawn += d.Mass
		}
		require.Equal(h, pieces+r.coil.Scrap, drawn)
		require.True(h, r.coil.Scrap >= 0 && r.coil.Missing >= 0)
	}
	p.Lots(0, func(l heat.Lot) bool {
		require.Equal(h, []any{m.said.mass[l.Number], taken[l.Number], over[l.Number]}, []any{l.Mass, l.MassTaken, l.MassOver}, "%v", l.Number)
		require.GreaterOrEqual(h, l.MassOnHand(), bar.Mass(0))
		return true
	})
}
