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

func late(s *scan.Scan) { s.Late = true }

// by makes what happened at a sequence the work of another device, ms after the scan.
func (p *past) by(seq uint64, device string, after int64, b event.Body) {
	p.events[seq] = event.Event{Head: event.Head{Device: device, Recorded: now + 100_000, Happened: now + after}, Body: b}
}

// The cases of late scans stand in the same table as all others.
func init() {
	disputed := func(d event.ScanDisputed) []event.Body { return []event.Body{d} }
	noted := func(n tags.Number) []event.Body { return []event.Body{event.ScanNoted{Number: n}} }
	table = append(table, []one{
		{"late, as if it came now", nil, at("S1", bundle(11), late), yes, []string{"cut started", "into pocket"}, nil},
		{"late, and nothing changes", nil, at("S1", bundle(11), late, do(scan.Show)), yes, []string{"found new"}, noted(bundle(11))},
		{"late, a second read", func(p *past) { p.last(bundle(11), "S1", accepted("cut started"), 2999) }, at("S1", bundle(11), late), yes, []string{"once"}, noted(bundle(11))},
		{"late, a badge", nil, at("Y1", badge, late), yes, []string{"crew joined"}, nil},
		{"late, of a held bundle", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11), late, onFeed("A")), check,
			[]string{"disputed", "held"}, disputed(event.ScanDisputed{Number: bundle(11), Feed: "A"})},
		{"late, all that was typed", func(p *past) { p.opened(truck); p.devices["gun"] = scan.Device{Load: truck, Put: bay} },
			at("B1", bundle(11), late, pieces(5), pocket("x"), from(1), bars(event.Draw{Lot: stock(1), Bars: 2}), left(), gone), check,
			[]string{"disputed", "not cut yet"}, disputed(event.ScanDisputed{Number: bundle(11), Pieces: 5, Pocket: "x", Lots: nums([]int{1}),
				Bars: []event.Draw{{Lot: stock(1), Bars: 2}}, Remnants: []event.Remnant{}, Gone: true, Load: truck, Put: bay})},
		{"late, and the same again is another", func(p *past) {
			p.last(bundle(11), "B1", event.Answer{Verdict: refused, Notes: []event.Note{{Code: "not cut yet", Args: []string{"M1 1/2", "Shear 1, Shear 2"}}}}, 1)
		}, at("B1", bundle(11), late), check, []string{"disputed", "not cut yet"}, nil},
		{"late, no tag", func(p *past) { p.opened(truck) }, typed("L1", "hello", late), check, []string{"disputed", "not a tag"}, disputed(event.ScanDisputed{Text: "hello"})},
		{"late, at no station", nil, at("S9", bundle(11), late), check, []string{"disputed", "no station"}, nil},
		{"late, a command alone", nil, at("L1", 0, do(scan.Ship), late), check, []string{"disputed", "command alone"}, disputed(event.ScanDisputed{Do: "ship"})},

		// What is open at the device is open, whatever the rules say.
		{"late, a load that left", func(p *past) { p.opened(truck2); p.onto(truck, bundle(21), true) }, at("L1", truck, late), check,
			[]string{"disputed", "load left"}, disputed(event.ScanDisputed{Number: truck, Load: truck})},
		{"late, a load at the bender", func(p *past) { p.opened(truck2) }, at("B1", truck, late), check, []string{"disputed", "not here"},
			disputed(event.ScanDisputed{Number: truck, Load: truck2})},
		{"late, a load that nobody knows", func(p *past) { p.opened(truck) }, at("L1", truck2, late), check, []string{"disputed", "not known"},
			disputed(event.ScanDisputed{Number: truck2})},
		{"late, a place that nobody knows", func(p *past) { p.devices["gun"] = scan.Device{Put: bay} }, at("Y1", number(tags.Place, 9), late), check,
			[]string{"disputed", "not known"}, disputed(event.ScanDisputed{Number: number(tags.Place, 9)})},
		{"late, a truck that left with something held", func(p *past) {
			p.opened(truck)
			p.onto(truck, bundle(21), false)
			p.hold(event.Target{Number: bundle(21)})
		}, at("L1", truck, do(scan.Ship), late), check, []string{"disputed", "held on load"}, disputed(event.ScanDisputed{Number: truck, Do: "ship"})},

		// Another device went on.
		{"late, started by another since", func(p *past) { p.by(p.run("S1", []int{1}, bundle(11)), "gun 2", 1, event.RunOpened{}) }, at("S1", bundle(11), late), check,
			[]string{"disputed", "worked on since"}, nil},
		{"late, started by another before", func(p *past) { p.by(p.run("S1", []int{1}, bundle(11)), "gun 2", -1, event.RunOpened{}) }, at("S1", bundle(11), late), yes,
			[]string{"cut done", "run closed"}, nil},
		{"late, started by the same device", func(p *past) { p.by(p.run("S1", []int{1}, bundle(11)), "gun", 1, event.RunOpened{}) }, at("S1", bundle(11), late), yes,
			[]string{"cut done", "run closed"}, nil},
		{"late work, put down by another since", func(p *past) {
			p.by(7, "gun 2", 1, event.Placed{})
			p.change(bundle(11), func(b *scan.Bundle) { b.Events = []uint64{7} })
		}, at("S1", bundle(11), late), yes, []string{"cut started", "into pocket"}, nil},
		{"put down late, and put down by another since", func(p *past) {
			p.by(7, "gun 2", 1, event.Placed{})
			p.devices["gun"] = scan.Device{Put: bay}
			p.change(bundle(11), func(b *scan.Bundle) { b.Events = []uint64{7} })
		}, at("Y1", bundle(11), late), check, []string{"disputed", "worked on since"}, nil},
		{"put down late, and printed by another since", func(p *past) {
			p.by(7, "office", 1, event.TagPrinted{})
			p.devices["gun"] = scan.Device{Put: bay}
			p.change(bundle(11), func(b *scan.Bundle) { b.Events = []uint64{7} })
		}, at("Y1", bundle(11), late), yes, []string{"placed"}, nil},
		{"a late start, the feeds are others by now", func(p *past) { p.fed("S1", 1) }, at("S1", bundle(11), late), check, []string{"disputed", "station went on"}, nil},
		{"a late start, the person says the lots", func(p *past) { p.fed("S1", 1) }, at("S1", bundle(11), late, from(1)), yes, []string{"cut started", "into pocket"}, nil},
		{"a late start, the feeds were changed before", func(p *past) { p.fed("S1", 0) }, at("S1", bundle(11), late), yes, []string{"cut started", "into pocket"}, nil},
		{"a late start, another opened a run since", func(p *past) { p.opens("S1", "gun 2") }, at("S1", bundle(11), late), check, []string{"disputed", "station went on"}, nil},
		{"a late start, the same device opened the run", func(p *past) { p.opens("S1", "gun") }, at("S1", bundle(11), late), yes, []string{"cut joined", "into pocket"}, nil},
		{"emptied late, and charged since", func(p *past) { p.fed("S1", 1) }, at("S1", stock(1), late, do(scan.Empty)), check, []string{"disputed", "station went on"}, nil},
		{"charged late, and charged since", func(p *past) { p.fed("S1", 1) }, at("S1", stock(2), late), check, []string{"charged", "charged late"}, nil},
		{"charged late, and cut since", func(p *past) { f := p.floors["S1"]; f.Closed = now + 1; p.floors["S1"] = f }, at("S1", stock(2), late), check, []string{"charged", "charged late"}, nil},
		{"charged late", nil, at("S1", stock(2), late), yes, []string{"charged"}, nil},
	}...)
}

// fed says that a station's feeds were changed, ms after the scan.
func (p *past) fed(station string, after int64) {
	f := p.floors[station]
	f.Fed = now + after
	p.floors[station] = f
}

// opens begins a run of bundle 12 at a station, by a device, after the scan.
func (p *past) opens(station, device string) {
	seq := p.run(station, []int{1}, bundle(12))
	r := p.runs[seq]
	r.At = now + 5
	p.runs[seq] = r
	p.by(seq, device, 5, event.RunOpened{})
}

// TestUnread: a text that is no scan is kept, and says why.
func TestUnread(t *testing.T) {
	out := scan.Unread(rules(), `{"code": 7}`, "code: is a number", now)
	require.Equal(t, check, out.Answer.Verdict)
	require.Equal(t, []string{"disputed", "kept not read"}, codes(out.Answer))
	require.Equal(t, []event.Body{event.ScanDisputed{Text: `{"code": 7}`}}, out.Events)
}

// TestResolve settles what a late scan left. The dispute is at sequence 50.
func TestResolve(t *testing.T) {
	taken := func(x *scan.Settling) { x.Took = true }
	none := func(*past) {}
	for _, c := range []struct {
		name  string
		past  func(*past) // before the scan
		scan  scan.Scan
		since func(*past) // between the scan and its settling
		say   func(*scan.Settling)
		no    string // the refusal
		codes []string
		after []event.Body // behind Resolved
	}{
		{"by word", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), none, func(*scan.Settling) {}, "", []string{"resolved"}, nil},
		{"without a reason", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), none, func(x *scan.Settling) { x.Reason = " " },
			"reason: is missing", nil, nil},
		{"pieces, and not taken", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), none, func(x *scan.Settling) { x.Pieces = 3 },
			"took: is missing", nil, nil},
		// Two bars of 60' are twelve pieces of 10'.
		{"held and cut: as the tag asks for", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11), pocket("1")), none, taken, "",
			[]string{"taken", "cut done", "run closed", "held while worked"}, []event.Body{
				event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1})},
				event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
		{"held and cut: as was counted now", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), none,
			func(x *scan.Settling) { x.Took, x.Pieces = true, 6 }, "", []string{"taken", "cut done", "count short", "run closed", "held while worked"}, nil},
		{"cut while another lies on the table", func(p *past) { p.run("S1", []int{1}, bundle(12)); p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), none, taken, "",
			[]string{"taken", "cut done", "run closed", "held while worked", "cut aside"}, nil},
		{"cut of what nobody knows any more", func(p *past) { p.fed("S1", 1) }, at("S1", bundle(11)), none, taken, "",
			[]string{"taken", "cut done", "run closed", "nothing on the feed"}, []event.Body{
				event.RunOpened{Station: "S1", Bundle: bundle(11), Said: true},
				event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Missing: 120 * bar.Foot})}}},
		{"cut of what a person found out", func(p *past) { p.fed("S1", 1) }, at("S1", bundle(11)), none,
			func(x *scan.Settling) { x.Took, x.Lots = true, nums([]int{2}) }, "", []string{"taken", "cut done", "run closed"}, nil},
		{"bent while held", func(p *past) { p.done("S1", []int{1}, bundle(11)); p.hold(event.Target{Number: bundle(11)}) }, at("B1", bundle(11)), none, taken, "",
			[]string{"taken", "step done", "held while worked"}, []event.Body{
				event.StepStarted{Station: "B1", Bundle: bundle(11), Step: "bend"}, event.StepDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 12}}},
		{"loaded, and the truck left", func(p *past) {
			p.ready(bundle(21))
			p.opened(truck)
			p.loads[truck] = load.Load{Number: truck, Shipped: 1, Stops: []load.Stop{{Job: "J"}}}
		}, at("L1", bundle(21)), func(p *past) { p.opened(truck2) }, taken, "", []string{"taken", "loaded", "went unscanned"},
			[]event.Body{event.Loaded{Load: truck, Bundle: bundle(21), Mass: must(bar.Weigh("#5", 240*bar.Foot)), Gone: true}}},
		{"loaded, over the limit", func(p *past) {
			p.ready(bundle(21))
			p.opened(truck)
			p.loads[truck] = load.Load{Number: truck, Limit: bar.Pound, Stops: []load.Stop{{Job: "J"}}}
		}, at("L1", bundle(21)), none, taken, "", []string{"taken", "loaded", "over the limit"},
			[]event.Body{event.Loaded{Load: truck, Bundle: bundle(21), Mass: must(bar.Weigh("#5", 240*bar.Foot))}}},
		{"left with something held", func(p *past) { p.onto(truck, bundle(21), false); p.hold(event.Target{Number: bundle(21)}) }, at("L1", truck, do(scan.Ship)), none, taken, "",
			[]string{"taken", "shipped", "left with held"}, []event.Body{event.Shipped{Load: truck, Bundles: 1, Gone: true}}},
		{"an alias that was set since", nil, typed("S1", "COAT 7"), func(p *past) { p.aliases["COAT 7"] = stock(2) }, taken, "", []string{"taken", "charged"}, nil},
		{"no tag, and never one", nil, typed("S1", "hello"), none, taken, "took: makes no sense as the record is", nil, nil},
		{"voided", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true }) }, at("S1", bundle(11)), none, taken, "the bundle that they are counted in", nil, nil},
		{"unknown", nil, at("S1", bundle(77)), none, taken, "under its right number", nil, nil},
		{"bent, and never cut", nil, at("B1", bundle(11)), none, taken, "Scan it there first", nil, nil},
		{"done by another since", nil, at("B1", bundle(11)), func(p *past) {
			p.done("S1", []int{1}, bundle(11))
			p.change(bundle(11), func(b *scan.Bundle) { b.Done = 2 })
		}, taken, "settle this without", nil, nil},
		{"a load that was opened", func(p *past) { p.loads[truck] = load.Load{Number: truck, Shipped: 1} }, at("L1", truck), none, taken, "took: makes no sense", nil, nil},
		{"a load that nobody knew, and is known", nil, at("L1", truck2), func(p *past) { p.loads[truck2] = load.Load{Number: truck2} }, taken, "took: would change nothing", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			if c.past != nil {
				c.past(p)
			}
			c.scan.Late = true
			out := scan.Decide(p, rules(), c.scan)
			require.IsType(t, event.ScanDisputed{}, out.Events[0])
			p.events[50] = event.Event{Head: event.Head{Device: "gun", Station: c.scan.Station, Happened: now, Answer: &out.Answer}, Body: out.Events[0]}
			c.since(p)
			x := scan.Settling{Seq: 50, Reason: "asked the operator"}
			c.say(&x)
			a, events, err := scan.Resolve(p, rules(), true, x, "quality")
			if c.no != "" {
				require.ErrorContains(t, err, c.no)
				require.Empty(t, events)
				return
			}
			require.NoError(t, err)
			require.Equal(t, c.codes, codes(a))
			require.Equal(t, event.Resolved{Seq: 50, Reason: "asked the operator", Took: x.Took, As: "quality"}, events[0])
			if c.after != nil {
				require.Equal(t, c.after, events[1:])
			}
			balanced(t, p, c.scan, scan.Outcome{Events: events})
		})
	}
	p := shop()
	x := scan.Settling{Seq: 50, Reason: "again", Took: true}
	_, _, err := scan.Resolve(p, rules(), false, x, "")
	require.ErrorContains(t, err, "seq: record 50 is not on the list")
	p.events[50] = event.Event{Head: event.Head{Answer: &event.Answer{Verdict: check}}, Body: event.CutDone{}}
	_, _, err = scan.Resolve(p, rules(), true, x, "")
	require.ErrorContains(t, err, "took: record 50 is no disputed scan but cut done")
	out := scan.Unread(rules(), "x", "y", now)
	p.events[50] = event.Event{Head: event.Head{Answer: &out.Answer}, Body: out.Events[0]}
	_, _, err = scan.Resolve(p, rules(), true, x, "")
	require.ErrorContains(t, err, "took: the kept scan cannot be read")
}

// TestSettles: of every Check, and of every dispute, it is said who settles it, and how, in both
// languages.
func TestSettles(t *testing.T) {
	for code, s := range scan.Sentences {
		if _, ok := scan.Settles[code]; s.Verdict == check && !ok {
			t.Errorf("%q is a Check: say in scan/settle.go who settles it, and how", code)
		}
	}
	for code, s := range scan.Settles {
		_, ok := scan.Sentences[code]
		require.True(t, ok, "%q has a row in scan/settle.go, and is no sentence", code)
		require.NotEqual(t, yes, scan.Sentences[code].Verdict, "%q leaves nothing to settle", code)
		require.Contains(t, scan.Offices, s.Office, code)
		require.NotEqual(t, s.EN, s.ES, "%q is not translated", code)
		for _, text := range []string{s.EN, s.ES} {
			require.Regexp(t, `^[¿A-ZÁÉÍÓÚ].*\.$`, text, code)
		}
	}
	for _, o := range scan.Offices {
		require.Equal(t, string(o), o.Word(scan.English))
		require.NotEqual(t, o.Word(scan.English), o.Word(scan.Spanish))
	}
	a := event.Answer{Notes: []event.Note{{Code: "loaded"}, {Code: "not planned"}}}
	require.Equal(t, scan.Shipping, scan.Who(a))
	require.Len(t, scan.How(a, scan.Spanish), 1)
	a.Notes = append(a.Notes, event.Note{Code: "held"})
	require.Equal(t, scan.Quality, scan.Who(a), "the strictest")
	require.Equal(t, scan.FloorLead, scan.Who(event.Answer{Notes: []event.Note{{Code: "disputed"}, {Code: "done already"}}}))
	require.Equal(t, scan.Desk, scan.Who(event.Answer{Notes: []event.Note{{Code: "tag differs"}}}))
}

// TestAs: the office decides; where nobody holds it, anybody may, and it is said.
func TestAs(t *testing.T) {
	other := number(tags.Person, 2)
	holders := map[tags.Number][]scan.Office{badge: {scan.Quality}, other: nil}
	as, err := scan.As(scan.Quality, badge, holders)
	require.NoError(t, err)
	require.Equal(t, "quality", as)
	_, err = scan.As(scan.Quality, other, holders)
	require.ErrorContains(t, err, "person: "+other.String()+" may not settle this; quality may, such as badge "+badge.String())
	_, err = scan.As(scan.Quality, 0, holders)
	require.ErrorContains(t, err, "person: is missing")
	for _, n := range []tags.Number{0, badge, other} {
		as, err = scan.As(scan.Shipping, n, holders)
		require.NoError(t, err)
		require.Equal(t, "anybody, since nobody here holds shipping", as)
	}
}
