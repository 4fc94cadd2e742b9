package floor_test

import (
	"maps"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// spot is where a bundle is planned: its load, and the stop there from 0.
type spot struct {
	load tags.Number
	stop int
}

// foldPlans tells the plans of loads: the newest plan that names a bundle has it, until its load is
// planned without it.
func (m *model) foldPlans(e event.Event) {
	switch b := e.Body.(type) {
	case event.LoadPlanned:
		maps.DeleteFunc(m.planned, func(_ tags.Number, s spot) bool { return s.load == b.Load })
		for _, n := range b.Bundles {
			for i := len(b.Stops) - 1; i >= 0; i-- {
				if b.Stops[i].Job == m.lines[n].Job {
					m.planned[n] = spot{b.Load, i}
				}
			}
		}
	case event.LoadSet:
		maps.DeleteFunc(m.planned, func(_ tags.Number, s spot) bool { return s.load == b.Load })
		for i, s := range b.Stops {
			for _, n := range s.Bundles {
				m.planned[n] = spot{b.Load, i}
			}
		}
	}
}

// checkPlan: a load has the bundles that its plan has, each at its stop, and counts them.
func (h *history) checkPlan(p *view.Past, m *model, l load.Load) {
	want, got := map[tags.Number]int{}, map[tags.Number]int{}
	for n, s := range m.planned {
		if s.load == l.Number {
			want[n] = s.stop
		}
	}
	for _, s := range p.Spots(l.Number) {
		require.NotContains(h, got, s.Bundle)
		got[s.Bundle] = s.Stop
	}
	require.Equal(h, want, got)
	require.Equal(h, len(want), l.Planned)
}

// checkHere: the loads that have not left are those that are known and did not ship.
func (h *history) checkHere(p *view.Past, m *model) {
	var want, got []tags.Number
	for _, n := range h.loadsOf(p) {
		if !m.gone[n] {
			want = append(want, n)
		}
	}
	p.LoadsHere(func(l load.Load) bool { got = append(got, l.Number); return true })
	require.Equal(h, want, got)
}
