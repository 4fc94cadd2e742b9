package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// planCodes are the sentences of plans of loads, which no scan is answered with.
var planCodes = []string{"load planned", "plan moved", "stays planned", "stays aboard", "stays gone", "plan over the limit", "aboard unplanned"}

// TestSayPlans: what a plan is answered with, in both languages.
func TestSayPlans(t *testing.T) {
	j := load.Line{Job: "J", List: "1", Mark: "M2"}
	set := event.LoadSet{Load: truck, Limit: 1 * bar.Pound, Stops: []event.LoadStop{{Job: "J", Bundles: []tags.Number{bundle(21), bundle(22), bundle(11)}}},
		Was: []event.WasPlanned{{Bundle: bundle(21)}, {Bundle: bundle(22), Load: truck, Stop: 2}, {Bundle: bundle(11), Load: truck2, Stop: 1}, {Bundle: bundle(12), Load: truck, Stop: 1}}}
	a := scan.SayPlans(shop(), rules(), []load.Planned{{
		Set: set,
		Out: []load.Out{
			{Line: j, Load: truck2, Planned: true, Bundles: []tags.Number{bundle(31)}}, {Line: j, Load: truck2, Bundles: []tags.Number{bundle(32)}},
			{Line: j, Bundles: []tags.Number{bundle(41), bundle(42)}},
		},
		Aboard: []tags.Number{bundle(12), bundle(31), bundle(32), bundle(41), bundle(42), bundle(51)},
	}})
	require.Equal(t, event.Check, a.Verdict)
	require.Equal(t, planCodes, codes(*a))
	says, _ := scan.Say(a.Notes[0], scan.English)
	// #5 weighs 1.043 lb/ft (ASTM A615 Table 1): twice 240 ft and once 120 ft are 625.8 lb.
	require.Equal(t, "Load 4-001-00000001-83 is planned: 3 bundles, 626 lb.", says)
	says, _ = scan.Say(a.Notes[1], scan.Spanish)
	require.Equal(t, "1 atado agregado, 1 quitado, 1 a otra parada, 1 de otras cargas.", says)
	says, next := scan.Say(a.Notes[6], scan.English)
	require.Equal(t, "6 bundles lie on load 4-001-00000001-83 and its plan does not have them: M1 2/2, M3 1/2, M3 2/2, M4 1/2, M4 2/2, +1. Unload them, or plan them.", says+" "+next)
	for _, n := range a.Notes {
		says, next := scan.Say(n, scan.Spanish)
		require.NotContains(t, says+next, "{")
	}

	set.Limit, set.Was = 0, nil
	a = scan.SayPlans(shop(), rules(), []load.Planned{{Set: set}, {Set: set}})
	require.Equal(t, event.Accepted, a.Verdict)
	require.Equal(t, []string{"load planned", "load planned"}, codes(*a))
}
