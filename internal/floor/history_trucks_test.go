package floor_test

import (
	"context"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// planLoad plans a load, by bundles, lines and the rest of lists, or plans one anew. What the plan says
// that it moved is what moved.
func (h *history) planLoad() {
	plan := load.Plan{Limit: pick(h, "limit", 0, 200*bar.Pound, 40_000*bar.Pound), Move: h.one("move", 3)}
	if h.one("dated", 2) {
		plan.Date, plan.Leaves = "2026-11-25", pick(h, "leaves", "", "06:30")
	}
	for range 1 + h.upTo("stops", 2) {
		stop := load.StopPlan{Stop: load.Stop{Job: pick(h, "job", jobs...)}}
		if h.one("processor", 6) {
			stop.Stop = load.Stop{Processor: "Example Coater (invented)"}
		}
		if h.one("line", 3) {
			b := h.someBundle(func(scan.Bundle) bool { return true })
			h.read(func(p *view.Past) {
				if to, ok := p.ToPlan(b); ok {
					stop.Lines = append(stop.Lines, to.Line)
				}
			})
			if len(stop.Lines) > 0 && h.one("rest", 2) {
				stop.Lines[0].Mark = ""
			}
		}
		plan.Stops = append(plan.Stops, stop)
	}
	for range h.upTo("planned", 3) {
		n := h.someBundle(func(b scan.Bundle) bool { return b.Planned == 0 || plan.Move })
		if at := h.upTo("at", len(plan.Stops)); at < len(plan.Stops) {
			plan.Stops[at].Bundles = append(plan.Stops[at].Bundles, n)
		} else {
			plan.Bundles = append(plan.Bundles, n)
		}
	}
	if h.one("again", 3) {
		plan.Load = h.someLoad()
	}
	before := h.spots()
	r, err := h.send("plan load", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		_, r, err := h.PlanLoad(context.Background(), o, plan)
		return r, err
	})
	if err != nil || r.Again {
		return
	}
	set := r.Events[0].Body.(event.LoadSet)
	after := h.spots()
	for _, m := range load.Moves(set) {
		require.Equal(h, spot{m.From, m.FromStop}, before[m.Bundle], "%v", m.Bundle)
		require.Equal(h, spot{m.To, m.ToStop}, after[m.Bundle], "%v", m.Bundle)
		require.NotEqual(h, before[m.Bundle], after[m.Bundle])
		before[m.Bundle] = after[m.Bundle]
	}
	for n, at := range after {
		require.Equal(h, before[n], at, "%v moved, and the plan does not say it", n)
	}
}

// spots are where all bundles are planned, stops from 1.
func (h *history) spots() map[tags.Number]spot {
	out := map[tags.Number]spot{}
	h.read(func(p *view.Past) {
		p.Bundles(0, func(b scan.Bundle) bool {
			out[b.Number] = spot{}
			if s, ok := p.Spot(b.Planned, b.Number); ok {
				out[b.Number] = spot{b.Planned, s.Stop + 1}
			}
			return true
		})
	})
	return out
}

// checkOutlook: what the trucks need is what is planned on a truck that is here and not done, each once,
// in order; what is made and what is short are together what is wanted; and paces that follow the record
// are those read from it anew.
func (h *history) checkOutlook() {
	out, err := h.Outlook(h.now, nil)
	require.NoError(h, err)
	h.read(func(p *view.Past) {
		m := tell(h, p)
		want := map[tags.Number]spot{}
		p.Bundles(0, func(b scan.Bundle) bool {
			at := m.planned[b.Number]
			if at.load != 0 && !m.gone[at.load] && m.on[b.Number] == 0 && !m.voided[b.Number] && b.Next(p.Line(b.Line)) != "" && !h.doneThere(p, b) {
				want[b.Number] = at
			}
			return true
		})
		for i, n := range out.Needs {
			require.Equal(h, want[n.Bundle.Number], spot{out.Trucks[n.Truck].Number, n.Stop}, "%v", n.Bundle.Number)
			delete(want, n.Bundle.Number)
			if i > 0 {
				before := out.Needs[i-1]
				require.True(h, before.Truck < n.Truck || before.Truck == n.Truck && before.Stop >= n.Stop)
			}
		}
		require.Empty(h, want, "needed, and not said")
		have := out.Made
		for _, s := range out.Short {
			if !s.Coil {
				have.Pieces += s.Pieces
				have.Length += s.Length * bar.Length(s.Pieces)
			}
		}
		require.Equal(h, out.Asked, have)
		var anew view.Worked
		anew.Records(p, out.Since, func(r *load.Records) { require.Equal(h, r.Paces(), out.Paces) })
	})
}
