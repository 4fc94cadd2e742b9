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

const coater = "Example Coater (invented)"

// stops gives a load its stops.
func (p *past) stops(n tags.Number, stops ...load.Stop) {
	l := p.loads[n]
	l.Number, l.Stops = n, stops
	p.loads[n] = l
}

// away lets bundle 11, of the route cut, coat, bend, be away at a coater.
func (p *past) away(ns ...tags.Number) {
	p.lines[1].Route = []string{"cut", "coat", "bend"}
	p.stops(truck, load.Stop{Processor: coater})
	for _, n := range ns {
		p.ready(n)
		p.onto(truck, n, true)
	}
}

// loadCodes are the codes of answers to an office about loads.
var loadCodes = []string{"back as scrap", "weighed", "over by scale", "delivered", "claimed", "claims more than went", "claim answered"}

func init() {
	office = append(office, loadCodes...)
	table = append(table, []one{
		// Staging.
		{"stage a bundle in a lane", func(p *past) {
			p.ready(bundle(21))
			p.plan(truck, 0, bundle(21))
			p.devices["gun"] = scan.Device{Put: bay}
		},
			at("G1", bundle(21)), yes, []string{"staged"}, []event.Body{event.Staged{Load: truck, Bundle: bundle(21), Place: bay}}},
		{"stage a bundle where no lane was said", func(p *past) { p.ready(bundle(21)); p.plan(truck, 0, bundle(21)) },
			at("G1", bundle(21)), yes, []string{"staged"}, []event.Body{event.Staged{Load: truck, Bundle: bundle(21)}}},
		{"stage what lies there", func(p *past) {
			p.ready(bundle(21))
			p.plan(truck, 0, bundle(21))
			p.devices["gun"] = scan.Device{Put: bay}
			p.change(bundle(21), func(b *scan.Bundle) { b.Place, b.Trip = bay, &scan.Trip{Staged: truck} })
		}, at("G1", bundle(21)), yes, []string{"staged already"}, none},
		{"stage what is planned nowhere", func(p *past) { p.ready(bundle(21)); p.devices["gun"] = scan.Device{Put: bay} },
			at("G1", bundle(21)), check, []string{"placed", "for no truck"}, []event.Body{event.Placed{Number: bundle(21), Place: bay}}},
		{"stage what stayed behind", func(p *past) {
			p.ready(bundle(21))
			p.plan(truck, 0, bundle(21))
			p.onto(truck, bundle(22), true)
			p.devices["gun"] = scan.Device{Put: bay}
		}, at("G1", bundle(21)), check, []string{"placed", "for no truck"}, nil},
		{"stage what is planned nowhere, and no lane was said", func(p *past) { p.ready(bundle(21)) }, at("G1", bundle(21)), yes, []string{"found lying"}, none},
		{"stage where loads are loaded, a lane open", func(p *past) {
			p.ready(bundle(21))
			p.plan(truck, 0, bundle(21))
			p.devices["gun"] = scan.Device{Put: bay}
		},
			at("L2", bundle(21)), yes, []string{"staged"}, nil},
		{"load where loads are staged, a lane and a load open", func(p *past) {
			p.ready(bundle(21))
			p.plan(truck, 0, bundle(21))
			p.devices["gun"] = scan.Device{Put: bay, Load: truck}
		}, at("L2", bundle(21)), yes, []string{"loaded"}, nil},
		{"neither a lane nor a load open", func(p *past) { p.ready(bundle(21)); p.plan(truck, 0, bundle(21)) }, at("L2", bundle(21)), refused, []string{"no load open"}, nil},
		{"stage what is not cut", func(p *past) { p.plan(truck, 0, bundle(21)) }, at("G1", bundle(21)), refused, []string{"not cut yet"}, nil},
		{"stage what is not bent", func(p *past) { p.ready(bundle(11)); p.plan(truck, 0, bundle(11)) }, at("G1", bundle(11)), refused, []string{"not ready"}, nil},
		{"stage what is held", func(p *past) { p.ready(bundle(21)); p.plan(truck, 0, bundle(21)); p.hold(heatH1) }, at("G1", bundle(21)), refused, []string{"held"}, nil},
		{"put down in a yard with lanes what is not bent", func(p *past) {
			p.ready(bundle(11))
			p.plan(truck, 0, bundle(11))
			p.devices["gun"] = scan.Device{Put: bay}
		},
			at("G2", bundle(11)), yes, []string{"placed"}, nil},
		{"staged while held, as a person says", func(p *past) { p.ready(bundle(21)); p.plan(truck, 0, bundle(21)); p.hold(heatH1) },
			at("G1", bundle(21), func(s *scan.Scan) { s.Deed = true }), check, []string{"staged", "held"}, nil},
		{"stage what left", func(p *past) { p.onto(truck, bundle(21), true) }, at("G1", bundle(21)), refused, []string{"shipped already"}, nil},
		{"show what is staged", func(p *past) {
			p.ready(bundle(21))
			p.change(bundle(21), func(b *scan.Bundle) { b.Trip = &scan.Trip{Staged: truck} })
		},
			at("S1", bundle(21), do(scan.Show)), yes, []string{"found staged"}, none},

		// The last stop goes on first.
		{"an earlier stop before a later one", func(p *past) {
			p.done("S1", []int{1}, bundle(21), bundle(22))
			p.stops(truck, load.Stop{Job: "J"}, load.Stop{Job: "J"})
			p.plan(truck, 0, bundle(21))
			p.plan(truck, 1, bundle(22))
			p.opened(truck)
		}, at("L1", bundle(21)), check, []string{"loaded", "later stop first"}, nil},
		{"the last stop", func(p *past) {
			p.done("S1", []int{1}, bundle(21), bundle(22))
			p.stops(truck, load.Stop{Job: "J"}, load.Stop{Job: "J"})
			p.plan(truck, 0, bundle(21))
			p.plan(truck, 1, bundle(22))
			p.opened(truck)
		}, at("L1", bundle(22)), yes, []string{"loaded"}, nil},
		{"an earlier stop, the later ones on or out of the work", func(p *past) {
			p.done("S1", []int{1}, bundle(21), bundle(22))
			p.stops(truck, load.Stop{Job: "J"}, load.Stop{Job: "J"})
			p.plan(truck, 0, bundle(21))
			p.plan(truck, 1, bundle(22), bundle(41))
			p.onto(truck, bundle(22), false)
			p.change(bundle(41), func(b *scan.Bundle) { b.Voided = true })
			p.opened(truck)
		}, at("L1", bundle(21)), yes, []string{"loaded"}, nil},

		// From one load to another.
		{"move", func(p *past) {
			p.ready(bundle(21))
			p.stops(truck2, load.Stop{Job: "J"})
			p.onto(truck2, bundle(21), false)
			p.opened(truck)
		}, at("L1", bundle(21), do(scan.Move)), yes, []string{"loaded", "moved from"}, []event.Body{
			event.Unloaded{Load: truck2, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot)},
			event.Loaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot)},
		}},
		{"move to a load of another job", func(p *past) {
			p.ready(bundle(21))
			p.stops(truck2, load.Stop{Job: "K"})
			p.onto(truck, bundle(21), false)
			p.opened(truck2)
		}, at("L1", bundle(21), do(scan.Move)), refused, []string{"wrong job"}, refusal(bundle(21))},
		{"move what is on none", func(p *past) { p.opened(truck) }, at("L1", bundle(21), do(scan.Move)), refused, []string{"not on a load"}, nil},
		{"move to where it is", func(p *past) { p.onto(truck, bundle(21), false); p.opened(truck) }, at("L1", bundle(21), do(scan.Move)), refused, []string{"loaded already"}, nil},
		{"move what left", func(p *past) { p.onto(truck2, bundle(21), true); p.opened(truck) }, at("L1", bundle(21), do(scan.Move)), refused, []string{"shipped already"}, nil},
		{"move where nothing is loaded", func(p *past) { p.onto(truck, bundle(21), false) }, at("Y1", bundle(21), do(scan.Move)), refused, []string{"not here"}, nil},

		// What comes back.
		{"a bundle comes back", func(p *past) {
			p.ready(bundle(21))
			p.onto(truck, bundle(21), true)
			p.devices["gun"] = scan.Device{Put: bay}
		},
			at("Y1", bundle(21), do(scan.Return), why("refused at the site")), yes, []string{"returned"},
			[]event.Body{event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 12, Place: bay, Reason: "refused at the site"}}},
		{"a bundle comes back, and nobody says why", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), true) },
			at("Y1", bundle(21), do(scan.Return)), check, []string{"returned", "no reason said"}, nil},
		{"some pieces come back", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), true) },
			at("Y1", bundle(21), do(scan.Return), pieces(5), why("too many")), yes, []string{"some returned", "part"},
			[]event.Body{event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 5, Part: bundle(901), Reason: "too many"}}},
		{"some pieces of a held one come back", func(p *past) {
			p.ready(bundle(21))
			p.onto(truck, bundle(21), true)
			p.hold(event.Target{Number: bundle(21)})
		}, at("Y1", bundle(21), do(scan.Return), pieces(5), why("too many")), yes, []string{"some returned", "part", "parts held"}, []event.Body{
			event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 5, Part: bundle(901), Reason: "too many"},
			event.HoldPut{Target: event.Target{Number: bundle(901)}, Reason: "rib height"},
		}},
		{"more comes back than went", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Return), pieces(13)), refused, []string{"not so many back"}, nil},
		{"what is here comes back", nil, at("Y1", bundle(21), do(scan.Return)), refused, []string{"not on a load"}, nil},
		{"what is on a truck that is here comes back", func(p *past) { p.onto(truck, bundle(21), false) }, at("Y1", bundle(21), do(scan.Return)), refused, []string{"not left"}, nil},
		{"some pieces come back of what was never cut", func(p *past) { p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Return), pieces(5)), refused, []string{"only whole"}, nil},
		{"all of what was never cut comes back", func(p *past) { p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Return), why("refused")), yes, []string{"returned"}, nil},
		{"show what was delivered", func(p *past) { p.onto(truck, bundle(21), true); p.stops(truck, load.Stop{Job: "J", Delivered: 7}) }, at("Y1", bundle(21), do(scan.Show)), yes, []string{"found delivered"}, none},

		// At a processor and back.
		{"to a coater, where nobody here coats", func(p *past) {
			p.lines[1].Route = []string{"cut", "coat", "bend"}
			p.ready(bundle(11))
			p.stops(truck, load.Stop{Processor: coater})
			p.opened(truck)
			p.job(event.JobSet{Job: "J", Certs: event.CertsOnFile}) // the site asks for them, not the coater
		}, at("L1", bundle(11)), yes, []string{"loaded"}, nil},
		{"to one who bends, where we bend ourselves", func(p *past) { p.ready(bundle(11)); p.stops(truck, load.Stop{Processor: coater}); p.opened(truck) },
			at("L1", bundle(11)), refused, []string{"not ready"}, nil},
		{"to one who bends, as the stop says", func(p *past) {
			p.ready(bundle(11))
			p.stops(truck, load.Stop{Processor: coater, Step: "bend"})
			p.opened(truck)
		},
			at("L1", bundle(11)), yes, []string{"loaded"}, nil},
		{"to a coater before it is cut", func(p *past) { p.stops(truck, load.Stop{Processor: coater, Step: "cut"}); p.opened(truck) },
			at("L1", bundle(11)), refused, []string{"not cut yet"}, nil},
		{"what is away", func(p *past) { p.away(bundle(11)) }, at("Y1", bundle(11)), refused, []string{"away already"}, nil},
		{"show what is away", func(p *past) { p.away(bundle(11)) }, at("Y1", bundle(11), do(scan.Show)), yes, []string{"found away"}, none},
		{"back from the coater", func(p *past) { p.away(bundle(11)); p.devices["gun"] = scan.Device{Put: bay} }, at("Y1", bundle(11), do(scan.Back)), yes, []string{"back"},
			[]event.Body{event.BundlesBack{Load: truck, From: []tags.Number{bundle(11)}, Step: "coat", Place: bay}}},
		{"back by the coater's own tag", func(p *past) { p.away(bundle(11)); p.aliases["EC 7"] = bundle(11) }, typed("Y1", "EC 7", do(scan.Back)), yes, []string{"back"}, nil},
		{"back with fewer pieces", func(p *past) { p.away(bundle(11)) }, at("Y1", bundle(11), do(scan.Back), pieces(10)), check, []string{"back", "part", "fewer back than went"},
			[]event.Body{event.BundlesBack{Load: truck, From: []tags.Number{bundle(11)}, Into: []event.BackPart{{Number: bundle(901), Pieces: 10}}, Step: "coat"}}},
		{"back with more pieces", func(p *past) { p.away(bundle(11)) }, at("Y1", bundle(11), do(scan.Back), pieces(14)), check, []string{"back", "more back than went"},
			[]event.Body{event.BundlesBack{Load: truck, From: []tags.Number{bundle(11)}, Into: []event.BackPart{{Number: bundle(11), Pieces: 12}}, Step: "coat"}}},
		{"back from a site", func(p *past) { p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Back)), refused, []string{"not away"}, nil},
		{"back, some of what was never cut", func(p *past) { p.stops(truck, load.Stop{Processor: coater}); p.onto(truck, bundle(11), true) },
			at("Y1", bundle(11), do(scan.Back), pieces(3)), refused, []string{"only whole"}, nil},
		{"back, all of what was never cut", func(p *past) { p.stops(truck, load.Stop{Processor: coater}); p.onto(truck, bundle(11), true) },
			at("Y1", bundle(11), do(scan.Back)), yes, []string{"back"}, []event.Body{event.BundlesBack{Load: truck, From: []tags.Number{bundle(11)}}}},
	}...)
}

// says runs a command of an office and compares its answer, or its refusal.
func says(t *testing.T, out scan.Outcome, err error, codesOrField []string, events []event.Body) {
	t.Helper()
	var no *event.Refusal
	if events == nil {
		require.ErrorAs(t, err, &no)
		require.Equal(t, codesOrField, []string{no.Field}, no.Says)
		return
	}
	require.NoError(t, err)
	require.Equal(t, codesOrField, codes(out.Answer))
	require.Equal(t, events, out.Events)
	for _, n := range out.Answer.Notes {
		require.Contains(t, scan.Sentences, n.Code)
	}
}

func TestWeigh(t *testing.T) {
	p := shop()
	p.onto(truck, bundle(21), false)
	l := p.loads[truck]
	l.Mass = 1000 * bar.Pound
	p.loads[truck] = l
	ticket := scan.Ticket{Load: truck, Ticket: "T 1", Gross: 31_018 * bar.Pound, Tare: 30_000 * bar.Pound}
	out, err := scan.Weigh(p, rules(), ticket)
	says(t, out, err, []string{"weighed"}, []event.Body{event.LoadWeighed{Load: truck, Ticket: "T 1", Gross: ticket.Gross, Tare: ticket.Tare}})
	require.Equal(t, []string{truck.String(), "1,018 lb", "1,000 lb", "+1.8 %"}, out.Answer.Notes[0].Args) // 18 of 1000
	ticket.Gross = 70_001 * bar.Pound                                                                      // the limit is 40,000
	out, err = scan.Weigh(p, rules(), ticket)
	says(t, out, err, []string{"weighed", "over by scale"}, out.Events)
	for field, bad := range map[string]scan.Ticket{
		"load": {Load: truck2, Gross: 2, Tare: 1}, "gross": {Load: truck, Tare: 1}, "tare": {Load: truck, Gross: 2, Tare: 2},
		"ticket": {Load: truck, Gross: 2, Tare: 1, Ticket: string(make([]byte, 2000))},
	} {
		out, err = scan.Weigh(p, rules(), bad)
		says(t, out, err, []string{field}, nil)
	}
	require.Equal(t, "", scan.Beside(5, 0))
	require.Equal(t, "-50.0 %", scan.Beside(1, 2))
}

func TestDeliver(t *testing.T) {
	p := shop()
	out, err := scan.Deliver(p, scan.Delivery{Load: truck, Date: "2026-11-26"})
	says(t, out, err, []string{"load"}, nil) // it has not left
	p.onto(truck, bundle(21), true)
	out, err = scan.Deliver(p, scan.Delivery{Load: truck, Date: " 2026-11-26", Signed: "A. Sample (invented)"})
	says(t, out, err, []string{"delivered"}, []event.Body{event.LoadDelivered{Load: truck, Date: "2026-11-26", Signed: "A. Sample (invented)"}})
	for field, bad := range map[string]scan.Delivery{"date": {Load: truck, Date: "26 Nov"}, "stop": {Load: truck, Stop: 2, Date: "2026-11-26"}, "load": {Load: truck2}} {
		out, err = scan.Deliver(p, bad)
		says(t, out, err, []string{field}, nil)
	}
}

func TestTakeBack(t *testing.T) {
	p := shop()
	p.ready(bundle(21))
	p.onto(truck, bundle(21), true)
	r := scan.CameBack{Bundle: bundle(21), Pieces: 3, Reason: "bent on the way", Scrap: true}
	out, err := scan.TakeBack(p, rules(), r)
	says(t, out, err, []string{"back as scrap"}, []event.Body{event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 3, Reason: "bent on the way", Scrap: true}})
	r.Pieces = 13
	out, err = scan.TakeBack(p, rules(), r)
	says(t, out, err, []string{"pieces"}, nil)
	out, err = scan.TakeBack(p, rules(), scan.CameBack{Bundle: bundle(21)})
	says(t, out, err, []string{"reason"}, nil)
	out, err = scan.TakeBack(p, rules(), scan.CameBack{Bundle: bundle(22), Reason: "x"})
	says(t, out, err, []string{"bundle"}, nil)
}

// TestClaims: what a site says, and what answers it.
func TestClaims(t *testing.T) {
	p := shop()
	p.ready(bundle(21))
	c := scan.Complaint{Load: truck, Bundle: bundle(21), Pieces: 3, What: event.Short, Who: "A. Sample (invented)"}
	out, err := scan.Complain(p, c)
	says(t, out, err, []string{"load"}, nil) // it has not left
	p.onto(truck, bundle(21), true)
	claim := event.Claimed{Load: truck, Bundle: bundle(21), Pieces: 3, What: event.Short, Who: "A. Sample (invented)"}
	out, err = scan.Complain(p, c)
	says(t, out, err, []string{"claimed"}, []event.Body{claim})
	c.Pieces = 13
	out, err = scan.Complain(p, c)
	says(t, out, err, []string{"claimed", "claims more than went"}, out.Events)
	c.Bundle, c.Line = 0, 2
	out, err = scan.Complain(p, c)
	says(t, out, err, []string{"claimed"}, out.Events)
	require.Equal(t, bundle(21), out.Events[0].(event.Claimed).Bundle)
	for field, change := range map[string]func(*scan.Complaint){
		"what": func(c *scan.Complaint) { c.What = "late" }, "pieces": func(c *scan.Complaint) { c.Pieces = 0 },
		"mark": func(c *scan.Complaint) { c.Line = 1 }, "bundle": func(c *scan.Complaint) { c.Bundle, c.Line = bundle(22), 0 },
	} {
		bad := c
		change(&bad)
		out, err = scan.Complain(p, bad)
		says(t, out, err, []string{field}, nil)
	}

	p.bodies[700] = claim
	answer := func(a event.Amends) (scan.Outcome, error) {
		return scan.Amend(p, rules(), scan.Amending{Claim: 700, Answer: a, Reason: "by phone"})
	}
	out, err = answer(event.Credit)
	says(t, out, err, []string{"claim answered"}, []event.Body{event.ClaimAnswered{Claim: 700, Answer: event.Credit, Reason: "by phone"}})
	out, err = answer(event.Replace)
	says(t, out, err, []string{"claim answered", "replacement"}, []event.Body{
		event.PiecesLost{Bundle: bundle(21), Pieces: 3, Rest: bundle(901), Owed: 3, Why: event.Site, Note: "by phone"},
		event.ClaimAnswered{Claim: 700, Answer: event.Replace, Reason: "by phone", Rest: bundle(901), Owed: 3},
	})
	// Two came back since, one of them as scrap: one there is lost, and two are owed.
	p.bodies[710] = event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 1, Scrap: true}
	p.bodies[711] = event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 1, Part: bundle(99)}
	p.change(bundle(21), func(b *scan.Bundle) { b.Events, b.Pieces = []uint64{710, 711}, 10 })
	out, err = answer(event.Replace)
	says(t, out, err, []string{"claim answered", "replacement"}, []event.Body{
		event.PiecesLost{Bundle: bundle(21), Pieces: 1, Why: event.Site, Note: "by phone"},
		event.ClaimAnswered{Claim: 700, Answer: event.Replace, Reason: "by phone", Rest: bundle(902), Owed: 2},
	})
	p.bodies[711] = event.BundleReturned{Load: truck, Bundle: bundle(21), Pieces: 3}
	out, err = answer(event.Replace)
	says(t, out, err, []string{"answer"}, nil) // all are here again
	p.bodies[711] = nil
	p.change(bundle(21), func(b *scan.Bundle) { b.Pieces = 1 })
	out, err = answer(event.Replace)
	says(t, out, err, []string{"answer"}, nil) // so many are not there
	p.change(bundle(21), func(b *scan.Bundle) { b.Pieces = 10 })
	p.later = map[uint64]uint64{2: 0}
	out, err = answer(event.Replace)
	says(t, out, err, []string{"answer"}, nil) // the line was withdrawn
	out, err = scan.Amend(p, rules(), scan.Amending{Claim: 700, Answer: event.Credit})
	says(t, out, err, []string{"reason"}, nil)
	p.answers = map[uint64]uint64{700: 701}
	out, err = answer(event.Credit)
	says(t, out, err, []string{"claim"}, nil)
	out, err = scan.Amend(p, rules(), scan.Amending{Claim: 5, Answer: event.Credit})
	says(t, out, err, []string{"claim"}, nil)
}

// TestBringBack: bundles that a processor tied anew.
func TestBringBack(t *testing.T) {
	both := []tags.Number{bundle(11), bundle(12)}
	for _, c := range []struct {
		name  string
		back  scan.Backing
		past  func(*past)
		codes []string // or the field of a refusal
		want  *event.BundlesBack
	}{
		{"as they went", scan.Backing{From: both, Place: bay}, nil, []string{"back"}, &event.BundlesBack{From: both, Step: "coat", Place: bay}},
		{"two steps at once", scan.Backing{From: both, Step: "bend"}, nil, []string{"back"}, &event.BundlesBack{From: both, Step: "bend"}},
		{"nothing done", scan.Backing{From: both, Step: "none"}, nil, []string{"back"}, &event.BundlesBack{From: both}},
		{"three of two", scan.Backing{From: both, Into: []scan.BackInto{{Pieces: 8, Alias: "EC 1"}, {Pieces: 8, Alias: "EC 2"}, {Pieces: 8}}}, nil, []string{"back", "part", "part", "part"},
			&event.BundlesBack{From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 8, Alias: "EC 1"}, {Number: bundle(902), Pieces: 8, Alias: "EC 2"}, {Number: bundle(903), Pieces: 8}}}},
		{"one of two, all", scan.Backing{From: both, Into: []scan.BackInto{{}}}, nil, []string{"back", "part"},
			&event.BundlesBack{From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 24}}}},
		{"under another tag", scan.Backing{From: both[:1], Into: []scan.BackInto{{Alias: "EC 1"}}}, nil, []string{"back"},
			&event.BundlesBack{From: both[:1], Step: "coat", Into: []event.BackPart{{Number: bundle(11), Pieces: 12, Alias: "EC 1"}}}},
		{"too many pieces", scan.Backing{From: both, Into: []scan.BackInto{{Pieces: 20}, {Pieces: 6}}}, nil, []string{"back", "part", "part", "more back than went"},
			&event.BundlesBack{From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 20}, {Number: bundle(902), Pieces: 4}}}},
		{"one heat only", scan.Backing{From: both, Into: []scan.BackInto{{}}}, func(p *past) {
			p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
			r := p.runs[p.bundles[bundle(12)].Runs[0]]
			r.Lots = nums([]int{2})
			p.runs[r.Seq] = r
		}, []string{"back", "part", "rule broken by now"}, &event.BundlesBack{From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 24}}}},
		{"a bundle too many", scan.Backing{From: both, Into: []scan.BackInto{{Pieces: 24}, {Pieces: 6}}}, nil, []string{"into"}, nil},
		{"not counted", scan.Backing{From: both, Into: []scan.BackInto{{Pieces: 24}, {}}}, nil, []string{"into"}, nil},
		{"our own number as their tag", scan.Backing{From: both, Into: []scan.BackInto{{Alias: bundle(11).String()}}}, nil, []string{"into"}, nil},
		{"a tag that stands for another", scan.Backing{From: both, Into: []scan.BackInto{{Alias: "EC 1"}}}, func(p *past) { p.aliases["EC 1"] = stock(1) }, []string{"into"}, nil},
		{"a tag twice", scan.Backing{From: both, Into: []scan.BackInto{{Pieces: 12, Alias: "EC 1"}, {Pieces: 12, Alias: "EC 1"}}}, nil, []string{"into"}, nil},
		{"a tag of one of them", scan.Backing{From: both, Into: []scan.BackInto{{Alias: "EC 1"}}}, func(p *past) { p.aliases["EC 1"] = bundle(12) }, []string{"back", "part"},
			&event.BundlesBack{From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 24, Alias: "EC 1"}}}},
		{"no such step", scan.Backing{From: both, Step: "thread"}, nil, []string{"step"}, nil},
		{"a step that is done", scan.Backing{From: both, Step: "cut"}, nil, []string{"step"}, nil},
		{"twice", scan.Backing{From: []tags.Number{bundle(11), bundle(11)}}, nil, []string{"from"}, nil},
		{"nothing", scan.Backing{}, nil, []string{"from"}, nil},
		{"what is here", scan.Backing{From: []tags.Number{bundle(21)}}, nil, []string{"from"}, nil},
		{"from a site", scan.Backing{From: both}, func(p *past) { p.stops(truck, load.Stop{Job: "J"}) }, []string{"from"}, nil},
		{"of several marks, tied anew", scan.Backing{From: []tags.Number{bundle(11), bundle(21)}, Into: []scan.BackInto{{}}}, func(p *past) {
			p.lines[2].Route = []string{"cut", "coat"}
			p.ready(bundle(21))
			p.onto(truck, bundle(21), true)
		}, []string{"from"}, nil},
		{"one of which nobody said the bars, tied anew", scan.Backing{From: both, Into: []scan.BackInto{{}}}, func(p *past) {
			p.lines[1].Route = []string{"coat"}
			for _, n := range both {
				p.change(n, func(b *scan.Bundle) { b.Done = 0 })
			}
			p.change(bundle(12), func(b *scan.Bundle) { b.Runs = nil })
		}, []string{"from"}, nil},
		{"of several marks, as they went", scan.Backing{From: []tags.Number{bundle(11), bundle(21)}}, func(p *past) {
			p.lines[2].Route = []string{"cut", "coat"}
			p.ready(bundle(21))
			p.onto(truck, bundle(21), true)
		}, []string{"back"}, &event.BundlesBack{From: []tags.Number{bundle(11), bundle(21)}, Step: "coat"}},
		{"of several marks, one without the step", scan.Backing{From: []tags.Number{bundle(11), bundle(21)}}, func(p *past) {
			p.ready(bundle(21))
			p.onto(truck, bundle(21), true)
		}, []string{"step"}, nil},
		{"what was never cut, tied anew", scan.Backing{From: []tags.Number{bundle(41)}, Step: "none", Into: []scan.BackInto{{Pieces: 5}}}, func(p *past) {
			p.lines[4].Route = []string{"cut"}
			p.onto(truck, bundle(41), true)
		}, []string{"from"}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			p.away(both...)
			if c.past != nil {
				c.past(p)
			}
			c.back.Load = truck
			out, err := scan.BringBack(p, rules(), c.back)
			if c.want == nil {
				says(t, out, err, c.codes, nil)
				return
			}
			c.want.Load = truck
			says(t, out, err, c.codes, []event.Body{*c.want})
		})
	}
}

// TestBringBackHeld: a hold on one of those that went goes with all that a processor tied of them.
func TestBringBackHeld(t *testing.T) {
	both := []tags.Number{bundle(11), bundle(12)}
	held := func(n int) event.HoldPut {
		return event.HoldPut{Target: event.Target{Number: bundle(n)}, Reason: "rib height"}
	}
	p := shop()
	p.away(both...)
	p.hold(event.Target{Number: bundle(12)})
	out, err := scan.BringBack(p, rules(), scan.Backing{Load: truck, From: both, Into: []scan.BackInto{{Pieces: 12}, {Pieces: 12}}})
	says(t, out, err, []string{"back", "part", "part", "parts held"}, []event.Body{
		event.BundlesBack{Load: truck, From: both, Step: "coat", Into: []event.BackPart{{Number: bundle(901), Pieces: 12}, {Number: bundle(902), Pieces: 12}}},
		held(901), held(902),
	})
	out, err = scan.BringBack(p, rules(), scan.Backing{Load: truck, From: both})
	says(t, out, err, []string{"back"}, []event.Body{event.BundlesBack{Load: truck, From: both, Step: "coat"}})
}

// TestListOf: what of a plan is on, and where the rest lies.
func TestListOf(t *testing.T) {
	p := shop()
	p.done("S1", []int{1}, bundle(21), bundle(22))
	p.stops(truck, load.Stop{Job: "J"}, load.Stop{Job: "J"})
	p.plan(truck, 0, bundle(21), bundle(11))
	p.plan(truck, 1, bundle(22), bundle(12))
	p.change(bundle(11), func(b *scan.Bundle) { b.Place = bay })
	p.onto(truck, bundle(21), false)
	p.onto(truck, bundle(41), false) // not planned
	p.lies("S1", "2", bundle(22))
	list := scan.ListOf(p, rules(), p.loads[truck])
	require.Equal(t, []int{2, 2, 2, 0}, []int{list.Stops[0].Planned, list.Stops[0].On, list.Stops[1].Planned, list.Stops[1].On})
	where := map[tags.Number]string{}
	for _, s := range list.Stops {
		for _, m := range s.Missing {
			where[m.Bundle.Number] = m.Where
		}
	}
	require.Equal(t, map[tags.Number]string{bundle(11): "Bay 4", bundle(22): "S1 / 2", bundle(12): "cut"}, where)
}

// TestExtent: a straight piece is as long as it is cut; a bent one takes the room of its shape.
func TestExtent(t *testing.T) {
	p := shop()
	p.lines[1].Shape = bar.Shape{Legs: []bar.Leg{{Length: 3 * bar.Foot, Turn: 900}, {Length: 4 * bar.Foot}}}
	longest, widest := scan.Extent(p, []tags.Number{bundle(11), bundle(21)})
	require.Equal(t, scan.Sized{Bundle: bundle(21), Title: "M2 1/2", Length: 20 * bar.Foot}, longest)
	require.Equal(t, bundle(11), widest.Bundle)
	require.InDelta(t, 2.4, float64(widest.Length)/float64(bar.Foot), 1e-6) // the height of a right triangle of 3, 4 and 5
	longest, widest = scan.Extent(p, []tags.Number{bundle(11)})
	require.Equal(t, 5*bar.Foot, longest.Length)
	_, none := scan.Extent(p, []tags.Number{bundle(21)})
	require.Zero(t, none)
}

// TestUndoOfTrips: what can be taken back of the way to a truck and from it.
func TestUndoOfTrips(t *testing.T) {
	p := shop()
	p.ready(bundle(21))
	p.bodies[800] = event.Staged{Load: truck, Bundle: bundle(21)}
	p.change(bundle(21), func(b *scan.Bundle) { b.Progress = append(b.Progress, 800); b.Trip = &scan.Trip{Staged: truck} })
	u, _, err := scan.Undo(p, rules(), bundle(21), "wrong lane")
	require.NoError(t, err)
	require.Equal(t, uint64(800), u.Seq)
	p.change(bundle(21), func(b *scan.Bundle) { b.Progress, b.Trip = nil, &scan.Trip{From: truck} })
	_, _, err = scan.Undo(p, rules(), bundle(21), "it did not")
	require.ErrorContains(t, err, "came back from load "+truck.String())
	p.onto(truck, bundle(21), false)
	_, _, err = scan.Undo(p, rules(), bundle(21), "wrong truck")
	require.NoError(t, err)
}

// TestNeedsOfAProcessor: what goes to a coater needs here only what is done before the coating.
func TestNeedsOfAProcessor(t *testing.T) {
	p := shop()
	p.lines[1].Route = []string{"cut", "coat", "bend"}
	p.stops(truck, load.Stop{Processor: coater})
	p.plan(truck, 0, bundle(11), bundle(12))
	p.ready(bundle(12))
	w := scan.Needs(p, rules())
	require.Equal(t, []int{11}, serials(w))
	require.Equal(t, []string{"cut"}, w.Needs[0].Steps())
	require.Equal(t, 1, w.Trucks[0].Ready)
	p.stops(truck, load.Stop{Job: "J"})
	require.Equal(t, []string{"cut", "coat", "bend"}, scan.Needs(p, rules()).Needs[0].Steps())
}
