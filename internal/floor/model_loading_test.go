package floor_test

import (
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// trips is what the model knows of the ways of bundles on trucks.
type trips struct {
	staged map[tags.Number]tags.Number
	from   map[tags.Number]tags.Number         // the load that each came back from last
	back   map[tags.Number]map[tags.Number]int // pieces that went, of what came back whole from each load
	stops  map[spot]map[tags.Number]bool       // what of that was planned at which stop
	parent map[tags.Number]tags.Number         // of pieces that came back alone, the bundle that stayed there

	delivered map[tags.Number]map[int]uint64 // by load and stop
	weighed   map[tags.Number]bar.Mass
	claims    map[tags.Number]map[uint64]uint64 // answer of each claim, by load
}

func newTrips() trips {
	return trips{
		staged: map[tags.Number]tags.Number{}, from: map[tags.Number]tags.Number{}, back: map[tags.Number]map[tags.Number]int{}, stops: map[spot]map[tags.Number]bool{}, parent: map[tags.Number]tags.Number{},
		delivered: map[tags.Number]map[int]uint64{}, weighed: map[tags.Number]bar.Mass{}, claims: map[tags.Number]map[uint64]uint64{},
	}
}

// travel folds the ways of bundles on trucks, after all else.
func (m *model) travel(seq uint64, e event.Event) {
	t := m.trip
	switch b := e.Body.(type) {
	case event.Staged:
		t.staged[b.Bundle] = b.Load
		delete(m.lies, b.Bundle)
	case event.Placed:
		delete(t.staged, b.Number)
	case event.RunOpened:
		delete(t.staged, b.Bundle)
	case event.RunJoined:
		delete(t.staged, b.Bundle)
	case event.CutDone:
		delete(t.staged, b.Bundle)
	case event.PartDone:
		delete(t.staged, b.Bundle)
	case event.StepStarted:
		delete(t.staged, b.Bundle)
	case event.StepDone:
		delete(t.staged, b.Bundle)
	case event.LoadSet, event.LoadPlanned, event.BundleReassigned:
		for n, l := range t.staged {
			if m.planned[n].load != l {
				delete(t.staged, n)
			}
		}
	case event.Loaded:
		delete(t.staged, b.Bundle)
		delete(t.back[b.Load], b.Bundle)
		if of := t.parent[b.Bundle]; of != 0 && t.from[b.Bundle] == b.Load && m.on[of] == b.Load && !slices.Contains(slices.Collect(maps.Values(m.kin.into)), b.Bundle) {
			m.kin.went[of] -= min(m.pieces[b.Bundle], m.kin.went[of]-m.pieces[of])
		}
	case event.Undone:
		if _, ok := m.events[b.Seq].Body.(event.Staged); ok {
			delete(t.staged, b.Bundle)
		}
	case event.LoadWeighed:
		t.weighed[b.Load] = b.Gross - b.Tare
	case event.LoadDelivered:
		if t.delivered[b.Load] == nil {
			t.delivered[b.Load] = map[int]uint64{}
		}
		t.delivered[b.Load][b.Stop] = seq
	case event.BundleReturned:
		m.returned(b)
	case event.BundlesBack:
		m.broughtBack(b)
	case event.Claimed:
		if t.claims[b.Load] == nil {
			t.claims[b.Load] = map[uint64]uint64{}
		}
		t.claims[b.Load][seq] = 0
	case event.ClaimAnswered:
		c := m.events[b.Claim].Body.(event.Claimed)
		t.claims[c.Load][b.Claim] = seq
		if _, made := m.lines[b.Rest]; b.Rest != 0 && !made {
			m.parted(b.Rest, c.Bundle, b.Owed)
			m.kin.replaces[b.Rest] = true
			delete(m.planned, b.Rest)
			m.owed(b.Rest, c.Bundle)
			delete(m.said.routes, b.Rest)
		}
	}
}

// home lets all of a bundle come back.
func (m *model) home(n tags.Number) {
	l := m.on[n]
	if m.trip.back[l] == nil {
		m.trip.back[l] = map[tags.Number]int{}
	}
	m.trip.back[l][n] = m.kin.went[n]
	for at, of := range m.trip.stops {
		if at.load == l {
			delete(of, n)
		}
	}
	if at := m.planned[n]; at.load == l {
		if m.trip.stops[at] == nil {
			m.trip.stops[at] = map[tags.Number]bool{}
		}
		m.trip.stops[at][n] = true
	}
	m.trip.from[n] = l
	delete(m.on, n)
	delete(m.planned, n)
	m.unmade(n)
}

// partHome lets pieces of a bundle come back under another number.
func (m *model) partHome(n, part tags.Number, pieces int) {
	m.parted(part, n, pieces)
	delete(m.planned, part)
	m.of[part], m.work.done[part] = m.of[n], m.work.done[n]
	m.kin.replaces[part] = m.kin.replaces[n]
	m.rev.of[part], m.said.bars[part] = m.rev.of[n], m.said.bars[n]
	m.trip.from[part], m.trip.parent[part] = m.on[n], n
}

func (m *model) returned(b event.BundleReturned) {
	whole := b.Pieces == m.pieces[b.Bundle]
	if whole {
		m.home(b.Bundle)
	} else {
		if b.Part != 0 {
			m.partHome(b.Bundle, b.Part, b.Pieces)
		}
		m.pieces[b.Bundle] -= b.Pieces
	}
	if b.Scrap {
		m.kin.lost[b.Bundle] += b.Pieces
		if whole {
			m.pieces[b.Bundle] = 0
			m.void(b.Bundle)
		}
	}
}

func (m *model) broughtBack(b event.BundlesBack) {
	step := func(n tags.Number) {
		route, own := m.said.routes[n]
		if !own {
			route = m.lines[n].Route
		}
		if i := slices.Index(route, b.Step); b.Step != "" && i >= m.work.done[n] {
			m.work.done[n], m.work.made[n], m.work.begun[n] = i+1, 0, false
		}
	}
	first := b.From[0]
	if len(b.Into) == 0 || b.Into[0].Number == first {
		for _, n := range b.From {
			m.home(n)
			step(n)
		}
		return
	}
	var of []uint64
	said := false
	for _, n := range b.From {
		of, said = append(of, m.of[n]...), said || m.said.bars[n]
	}
	came := 0
	for _, part := range b.Into {
		m.partHome(first, part.Number, part.Pieces)
		if len(b.From) > 1 {
			delete(m.trip.parent, part.Number)
		}
		m.of[part.Number], m.said.bars[part.Number] = of, said
		step(part.Number)
		came += part.Pieces
	}
	for _, n := range b.From {
		if m.pieces[n] > came {
			m.pieces[n] -= came
			came = 0
			continue
		}
		came -= m.pieces[n]
		m.home(n)
		m.kin.into[n], m.kin.had[n], m.pieces[n] = b.Into[0].Number, m.pieces[n], 0
		m.void(n)
	}
}

// checkTrips: what lies ready, what came back and from where, and what is known of each load that left.
func (h *history) checkTrips(p *view.Past, m *model) {
	t := m.trip
	p.Bundles(0, func(b scan.Bundle) bool {
		require.Equal(h, t.staged[b.Number], b.Staged(), "%v", b.Number)
		require.Equal(h, t.from[b.Number], b.CameFrom(), "%v", b.Number)
		require.True(h, b.Staged() == 0 || b.Planned == b.Staged() && b.Load == 0 && !b.Voided)
		return true
	})
	open := 0
	for _, n := range h.loadsOf(p) {
		l, _ := p.Load(n)
		require.Equal(h, t.weighed[n], l.Net)
		for i, s := range l.Stops {
			require.Equal(h, max(t.delivered[n][0], t.delivered[n][i+1]), s.Delivered)
		}
		require.True(h, l.Shipped != 0 || l.State() == "planned" || l.State() == "open")
		back := map[tags.Number]int{}
		p.CameBack(n, func(b tags.Number, went int, _ uint64) bool { back[b] = went; return true })
		require.Equal(h, len(t.back[n]), len(back))
		for b, went := range t.back[n] {
			require.Equal(h, went, back[b], "%v", b)
		}
		for at, of := range t.stops {
			for n := range of {
				if b, _ := p.Bundle(n); at.load == l.Number && back[n] != 0 {
					require.Equal(h, at.stop, p.StopOf(l, b), "%v", n)
				}
			}
		}
		claims := map[uint64]uint64{}
		p.Claims(n, func(seq, answer uint64) bool { claims[seq] = answer; return true })
		require.Equal(h, len(t.claims[n]), len(claims))
		for seq, answer := range t.claims[n] {
			require.Equal(h, answer, claims[seq])
			if answer == 0 {
				open++
			}
		}
		h.checkWent(p, m, l)
	}
	p.Claims(0, func(_, answer uint64) bool {
		if answer == 0 {
			open--
		}
		return true
	})
	require.Zero(h, open)
}

// checkWent: of each bundle that went with a load, the pieces that stayed there, that came back and that are
// lost are those that went.
func (h *history) checkWent(p *view.Past, m *model, l load.Load) {
	if l.Shipped == 0 {
		return
	}
	p.Loaded(l.Number, func(n tags.Number) bool {
		b, _ := p.Bundle(n)
		away, back := 0, 0
		if b.Kin != nil {
			away = b.Kin.Away
		}
		if b.Trip != nil {
			back = b.Trip.Back
		}
		require.Equal(h, m.kin.went[n], m.pieces[n]+away+back)
		require.True(h, away >= 0 && back >= 0)
		return true
	})
}
