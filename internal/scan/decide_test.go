package scan_test

import (
	"errors"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

type one struct {
	name    string
	past    func(*past)
	scan    scan.Scan
	verdict event.Verdict
	codes   []string     // of all notes, in order
	events  []event.Body // nil: not compared; of a refusal: the refusal itself
}

const (
	yes     = event.Accepted
	check   = event.Check
	refused = event.Refused
)

var (
	none    = []event.Body{} // nothing is recorded
	refusal = func(n tags.Number) []event.Body { return []event.Body{event.ScanRefused{Number: n}} }
	heatH1  = event.Target{Mill: "Example Mill", Heat: "H1"}
	closed  = func(c event.RunClosed) *event.RunClosed { c.Steel = five; return &c }
)

// table is what scans mean. Numbers worked out by hand: 12 pieces of 10' are two bars of 60'; 12 of
// 20' are four bars.
var table = []one{
	// What is no tag.
	{"no such station", nil, at("S9", bundle(11)), refused, []string{"no station"}, nil},
	{"nothing we know", nil, typed("S1", "hello"), refused, []string{"not a tag"}, []event.Body{event.ScanRefused{Text: "hello"}}},
	{"a kind we do not have", nil, typed("S1", "90010000000199"), refused, []string{"not a tag"}, nil},
	{"one digit wrong", nil, typed("S1", "1-001-00000011-99"), refused, []string{"mistyped"}, nil},
	{"two tags at once", nil, typed("S1", bundle(11).String()+" "+bundle(12).String()), refused, []string{"two tags"}, nil},
	{"another plant's", nil, at("S1", tags.Number(must(tags.New(tags.Bundle, 2, 11)))), refused, []string{"another plant"}, nil},
	{"never given out", nil, at("S1", bundle(77)), refused, []string{"not known"}, refusal(bundle(77))},
	{"an assembly", nil, at("S1", number(tags.Assembly, 1)), refused, []string{"not known"}, nil},
	{"a lot never given out", nil, at("S1", stock(77)), refused, []string{"not known"}, nil},
	{"a remnant that was taken back", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Gone = true }) }, at("S1", stock(1)), refused, []string{"not known"}, nil},
	{"a load never planned", nil, at("L1", truck2), refused, []string{"not known"}, nil},
	{"a place never made", nil, at("Y1", number(tags.Place, 9)), refused, []string{"not known"}, nil},
	{"a badge never made", nil, at("S1", number(tags.Person, 9)), refused, []string{"not known"}, nil},
	{"an alias of a bundle", func(p *past) { p.aliases["COAT 7"] = bundle(11) }, typed("S1", "COAT 7"), yes, []string{"cut started", "into pocket"}, nil},
	{"an alias that looks like a mistyped number", func(p *past) { p.aliases["1-001-00000011-99"] = stock(2) }, typed("S1", "1-001-00000011-99"), yes, []string{"charged"}, nil},
	{"a mill's bundle tag", func(p *past) { p.aliases[heat.MillAlias("Example Mill", "B17")] = stock(2) },
		typed("S1", "[)>\x1e06\x1dVExample Mill\x1d1TH2\x1dSB17\x1e\x04"), yes, []string{"charged"}, nil},
	{"a mill's bundle that we do not know, of a heat that we do", nil, typed("S1", "[)>\x1e06\x1d1TH2\x1dSB17\x1e\x04"), yes, []string{"charged"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2)}}},
	{"a mill's tag with neither heat nor bundle", nil, typed("S1", "[)>\x1e06\x1dQ40\x1e\x04"), refused, []string{"not a tag"}, nil},
	{"a mill's tag of a heat not in stock", nil, typed("S1", "[)>\x1e06\x1d1TH9\x1dSB17\x1e\x04"), refused, []string{"not in stock"},
		[]event.Body{event.ScanRefused{Text: "[)>\x1e06\x1d1TH9\x1dSB17\x1e\x04"}}},
	{"a mill's tag of a bundle not in stock", nil, mill("S1", tags.MillTag{Supplier: "Example Mill", Bundle: "B9"}), refused, []string{"not in stock"}, nil},
	{"a mill by a name of its own", nil, typed("S1", "[)>\x1e06\x1dV4711\x1d1TH2\x1e\x04"), check, []string{"charged", "another mill"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2)}}},
	{"one lot of the heat", nil, mill("S1", tags.MillTag{Supplier: "Example Mill", Heat: "H2", Pattern: "p"}), yes, []string{"charged"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2)}}},
	{"one lot of the heat, without bars", func(p *past) { p.lot(2, func(l *heat.Lot) { l.Taken = 50 }) },
		mill("S1", tags.MillTag{Supplier: "Example Mill", Heat: "H2", Pattern: "p"}), check, []string{"charged", "used up"}, nil},
	{"a heat of another mill by a pattern", nil, mill("S1", tags.MillTag{Supplier: "Sample Steel", Heat: "H2", Pattern: "p"}), refused, []string{"not in stock"}, nil},
	{"a bare bundle number of another mill by a pattern", func(p *past) { p.aliases["B17"] = stock(2) },
		mill("S1", tags.MillTag{Supplier: "Sample Steel", Bundle: "B17", Pattern: "p"}), refused, []string{"not in stock"}, nil},
	{"a bare bundle number of the mill by a pattern", func(p *past) { p.aliases["B17"] = stock(2) },
		mill("S1", tags.MillTag{Supplier: "Example Mill", Bundle: "B17", Pattern: "p"}), yes, []string{"charged"}, nil},
	{"the size tells two lots apart", func(p *past) { p.lot(3, func(l *heat.Lot) { l.Heats = []string{"H2"} }) },
		mill("S1", tags.MillTag{Heat: "H2", Size: "08"}), yes, []string{"charged"}, []event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(3)}}},
	{"the heat in another size", nil, mill("S1", tags.MillTag{Heat: "H2", Size: "#8"}), refused, []string{"not in stock"}, nil},
	{"several lots of the heat: the oldest", func(p *past) { p.lot(4, func(l *heat.Lot) { l.Heats, l.At = []string{"H5", "H2"}, -1 }) },
		mill("S2", tags.MillTag{Heat: "H2"}), check, []string{"charged", "several lots fit"}, []event.Body{event.FeedCharged{Station: "S2", Feed: "A", Lot: stock(4)}}},
	{"several lots of the heat: the one with bars", func(p *past) { p.lot(4, func(l *heat.Lot) { l.Heats, l.Taken, l.At = []string{"H2"}, 50, -1 }) },
		mill("S2", tags.MillTag{Heat: "H2"}), yes, []string{"charged"}, []event.Body{event.FeedCharged{Station: "S2", Feed: "A", Lot: stock(2)}}},
	{"several lots of the heat: the one on a feed here", func(p *past) {
		p.charge("S1", "B", 2)
		p.lot(4, func(l *heat.Lot) { l.Heats, l.At = []string{"H2"}, -1 })
	}, mill("S1", tags.MillTag{Heat: "H2"}, do(scan.Empty)), check, []string{"emptied", "several lots fit"},
		[]event.Body{event.FeedEmptied{Station: "S1", Feed: "B", Lot: stock(2)}}},
	{"several lots of the heat, all without bars", func(p *past) {
		p.lot(2, func(l *heat.Lot) { l.Taken = 50 })
		p.lot(4, func(l *heat.Lot) { l.Heats, l.Taken = []string{"H2"}, 50 })
	}, mill("S1", tags.MillTag{Heat: "H2"}), check, []string{"charged", "used up", "several lots fit"}, nil},
	{"a mill's tag at the bender", nil, mill("B1", tags.MillTag{Heat: "H2"}), refused, []string{"not here"}, nil},
	{"show a mill's tag", nil, mill("Y1", tags.MillTag{Heat: "H1"}, do(scan.Show)), yes, []string{"found on feed"}, none},

	// What is typed beside a scan.
	{"a command without a tag", nil, at("L1", 0, do(scan.Ship)), refused, []string{"command alone"}, nil},
	{"a bundle to be shipped", nil, at("L1", bundle(21), do(scan.Ship)), refused, []string{"not for this"}, refusal(bundle(21))},
	{"a bundle to be emptied", nil, at("S1", bundle(21), do(scan.Empty)), refused, []string{"not for this"}, nil},
	{"a lot to be unloaded", nil, at("S1", stock(1), do(scan.Unload)), refused, []string{"not for this"}, nil},
	{"an unknown command", nil, at("S1", bundle(11), do("melt")), refused, []string{"not for this"}, nil},
	{"a count below nothing", nil, at("S1", bundle(11), pieces(-1)), refused, []string{"count wrong"}, nil},
	{"a count beyond all counts", nil, at("S1", bundle(11), pieces(1_000_001)), refused, []string{"count wrong"}, nil},
	{"bars of no lot", nil, at("S1", bundle(11), bars(event.Draw{Lot: stock(77), Bars: 1})), refused, []string{"not known"}, nil},
	{"no bars of a lot", nil, at("S1", bundle(11), bars(event.Draw{Lot: stock(1)})), refused, []string{"count wrong"}, nil},
	{"too many bars together", nil, at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 600_000}, event.Draw{Lot: stock(2), Bars: 600_000})), refused, []string{"count wrong"}, nil},
	{"no bars of a remnant", nil, at("S1", bundle(11), left(event.Remnant{Length: bar.Foot})), refused, []string{"count wrong"}, nil},
	{"a remnant without length", nil, at("S1", bundle(11), left(event.Remnant{Bars: 1})), refused, []string{"length wrong"}, nil},
	{"a remnant of a kilometre", nil, at("S1", bundle(11), left(event.Remnant{Bars: 1, Length: bar.MaxLength + 1})), refused, []string{"length wrong"}, nil},
	{"a remnant at no place", nil, at("S1", bundle(11), left(event.Remnant{Bars: 1, Length: bar.Foot, Place: number(tags.Place, 9)})), refused, []string{"not known"}, nil},
	{"lots never given out", nil, at("S1", bundle(11), from(77)), refused, []string{"not known"}, nil},
	{"more lots than a run has", nil, at("S1", bundle(11), func(s *scan.Scan) { s.Lots = make([]tags.Number, 51) }), refused, []string{"too many"}, nil},

	// Show records nothing.
	{"show a new bundle", nil, at("S1", bundle(11), do(scan.Show)), yes, []string{"found new"}, none},
	{"show one at work", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("Y1", bundle(11), do(scan.Show)), yes, []string{"found at work"}, nil},
	{"show one that lies in a pocket", func(p *past) { p.ready(bundle(11)); p.change(bundle(11), func(b *scan.Bundle) { b.Pocket = "2" }) },
		at("Y1", bundle(11), do(scan.Show)), yes, []string{"found lying"}, nil},
	{"show one in the yard", func(p *past) { p.change(bundle(41), func(b *scan.Bundle) { b.Place = bay }) }, at("Y1", bundle(41), do(scan.Show)), yes, []string{"found lying"}, nil},
	{"show one on a truck", func(p *past) { p.onto(truck, bundle(21), false) }, at("Y1", bundle(21), do(scan.Show)), yes, []string{"found loaded"}, nil},
	{"show one that left", func(p *past) { p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Show)), yes, []string{"found left"}, nil},
	{"show a voided one", func(p *past) { p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true }) }, at("Y1", bundle(21), do(scan.Show)), yes, []string{"found voided"}, nil},
	{"show a lot on a feed", nil, at("Y1", stock(1), do(scan.Show)), yes, []string{"found on feed"}, nil},
	{"show a lot", nil, at("Y1", stock(2), do(scan.Show)), yes, []string{"found"}, nil},
	{"show a load", nil, at("S1", truck, do(scan.Show)), yes, []string{"found"}, nil},
	{"show a place", nil, at("S1", bay, do(scan.Show)), yes, []string{"found"}, nil},
	{"show a badge", nil, at("S1", badge, do(scan.Show)), yes, []string{"person"}, nil},
	{"show what is not known", nil, at("S1", bundle(77), do(scan.Show)), refused, []string{"not known"}, nil},

	// Feeds.
	{"a lot onto the first feed", nil, at("S1", stock(2)), yes, []string{"charged"}, []event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2)}}},
	{"a lot onto a feed that is typed", nil, at("S1", stock(2), onFeed("B")), yes, []string{"charged"}, []event.Body{event.FeedCharged{Station: "S1", Feed: "B", Lot: stock(2)}}},
	{"a lot onto no feed", nil, at("S1", stock(2), onFeed("Z")), refused, []string{"no feed"}, nil},
	{"a lot that lies there", nil, at("S1", stock(1)), yes, []string{"charged already"}, none},
	{"a lot that lies elsewhere", nil, at("S2", stock(1)), check, []string{"charged", "on two feeds"}, []event.Body{event.FeedCharged{Station: "S2", Feed: "A", Lot: stock(1)}}},
	{"a lot at the bender", nil, at("B1", stock(1)), refused, []string{"not here"}, nil},
	{"a held lot", func(p *past) { p.hold(event.Target{Number: stock(2)}) }, at("S1", stock(2)), check, []string{"charged", "held lot charged"}, nil},
	{"a lot of a held heat", func(p *past) { p.hold(event.Target{Mill: "Example Mill", Heat: "H2"}) }, at("S1", stock(2)), check, []string{"charged", "held lot charged"}, nil},
	{"a remnant of a held lot", func(p *past) {
		p.hold(event.Target{Number: stock(1)})
		p.lots[stock(6)] = heat.Lot{Number: stock(6), Steel: five, Length: 20 * bar.Foot, Received: 3, Run: 5, Parents: nums([]int{1})}
	}, at("S1", stock(6)), check, []string{"charged", "held lot charged"}, nil},
	{"a lot without bars", func(p *past) { p.lot(2, func(l *heat.Lot) { l.Taken = 50 }) }, at("S1", stock(2)), check, []string{"charged", "used up"}, nil},
	{"a lot into the open run", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", stock(2)), yes, []string{"charged"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2), Run: 100}}},
	{"other steel while a run is open", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", stock(3)), check, []string{"charged", "other steel charged"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(3)}}},
	{"a second heat into a run of a job of one heat", func(p *past) {
		p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
		p.run("S1", []int{1}, bundle(11))
	}, at("S1", stock(2)), check, []string{"charged", "one heat only"}, nil},
	{"an unknown heat into a run of a job that asks for heats", func(p *past) {
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
		p.run("S1", []int{1}, bundle(11))
	}, at("S1", stock(4)), check, []string{"charged", "heat not known"}, nil},
	{"a second heat into a run whose lots a person said", func(p *past) {
		p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
		seq := p.run("S1", []int{1}, bundle(11))
		r := p.runs[seq]
		r.Said = true
		p.runs[seq] = r
	}, at("S1", stock(2)), yes, []string{"charged"}, nil},
	{"empty one lot", func(p *past) { p.charge("S1", "A", 2) }, at("S1", stock(2), do(scan.Empty)), yes, []string{"emptied"},
		[]event.Body{event.FeedEmptied{Station: "S1", Feed: "A", Lot: stock(2)}}},
	{"empty one lot of another feed than the first", func(p *past) { p.charge("S1", "B", 2) }, at("S1", stock(2), do(scan.Empty)), yes, []string{"emptied"},
		[]event.Body{event.FeedEmptied{Station: "S1", Feed: "B", Lot: stock(2)}}},
	{"empty all, to the open place, while a run is open", func(p *past) {
		p.run("S1", []int{1}, bundle(11))
		p.devices["gun"] = scan.Device{Put: bay}
	}, at("S1", 0, do(scan.Empty)), yes, []string{"emptied"}, []event.Body{event.FeedEmptied{Station: "S1", Feed: "A", Place: bay}}},
	{"empty what is empty", nil, at("S2", 0, do(scan.Empty)), refused, []string{"not on the feed"}, nil},
	{"empty what lies elsewhere", nil, at("S1", stock(2), do(scan.Empty)), refused, []string{"not on the feed"}, nil},
	{"empty where there is no feed", nil, at("Y1", stock(1), do(scan.Empty)), refused, []string{"not here"}, nil},
	{"empty nothing where there is no feed", nil, at("Y1", 0, do(scan.Empty)), refused, []string{"not here"}, nil},

	// Starting to cut.
	{"the first scan opens a run", nil, at("S1", bundle(11), pocket("2")), yes, []string{"cut started", "into pocket"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "2"}}},
	{"all lots of the steel on all feeds are candidates, the newest first", func(p *past) { p.charge("S1", "A", 3, 2); p.charge("S1", "B", 5) }, at("S1", bundle(11)), yes, []string{"cut started", "into pocket"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{2, 1, 5}), Pocket: "1"}}},
	{"a person says the lots", func(p *past) { p.charge("S1", "A", 2) }, at("S1", bundle(11), from(2, 2)), yes, []string{"cut started", "into pocket"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{2}), Said: true, Pocket: "1"}}},
	{"a person says a lot of other steel", nil, at("S1", bundle(11), from(3)), refused, []string{"lot not right"}, nil},
	{"the next pocket is given", func(p *past) { p.lies("S1", "1", bundle(12)) }, at("S1", bundle(11)), yes, []string{"cut started", "into pocket"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "2"}}},
	{"all pockets are taken", func(p *past) { p.lies("S1", "2", bundle(12)); p.lies("S1", "1", bundle(22)) }, at("S1", bundle(11)), yes, []string{"cut started"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1})}}},
	{"a pocket typed in which others lie", func(p *past) { p.lies("S1", "2", bundle(12)); p.lies("S1", "2", bundle(22)) }, at("S1", bundle(11), pocket("2")), check,
		[]string{"cut started", "into pocket", "pocket taken"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "2"}}},
	{"the pockets of another station", func(p *past) { p.lies("S1", "1", bundle(12)); p.empty("S2"); p.charge("S2", "A", 2) }, at("S2", bundle(11)), yes, []string{"cut started"},
		[]event.Body{event.RunOpened{Station: "S2", Bundle: bundle(11), Lots: nums([]int{2})}}},
	{"the next pocket on joining", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.lies("S1", "1", bundle(11)) }, at("S1", bundle(21)), yes, []string{"cut joined", "into pocket"},
		[]event.Body{event.RunJoined{Run: 100, Bundle: bundle(21), Pocket: "2"}}},
	{"counted into a pocket in which another lies", func(p *past) { p.lies("S1", "2", bundle(12)) }, at("S1", bundle(11), pieces(12), pocket("2")), check,
		[]string{"cut done", "into pocket", "run closed", "pocket taken"}, nil},
	{"no pocket of that name", nil, at("S1", bundle(11), pocket("9")), refused, []string{"no pocket"}, nil},
	{"nothing on the feeds", func(p *past) { p.empty("S1") }, at("S1", bundle(11)), check, []string{"cut started", "into pocket", "bring stock"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Pocket: "1"}}},
	{"bars shorter than the piece", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Length = 9 * bar.Foot }) }, at("S1", bundle(11)), check, []string{"cut started", "into pocket", "too short"}, nil},
	{"wrong steel on the feeds", nil, at("S1", bundle(31)), refused, []string{"wrong steel"}, refusal(bundle(31))},
	{"steel marked for two specs", func(p *past) {
		p.empty("S1")
		p.charge("S1", "A", 5)
		p.lines[1].Steel = low
	}, at("S1", bundle(11)), yes, []string{"cut started", "into pocket"}, nil},
	{"another piece joins the run", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(21), pocket("2")), yes, []string{"cut joined", "into pocket"},
		[]event.Body{event.RunJoined{Run: 100, Bundle: bundle(21), Pocket: "2"}}},
	{"a lot said on joining is a candidate too", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(21), from(1, 2)), yes, []string{"cut joined", "into pocket"},
		[]event.Body{event.RunJoined{Run: 100, Bundle: bundle(21), Lots: nums([]int{2}), Pocket: "1"}}},
	{"other steel is on the table", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(31)), refused, []string{"other run"}, nil},
	{"a held bundle", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("S1", bundle(11)), refused, []string{"held"}, nil},
	{"a held lot on the feed", func(p *past) { p.hold(event.Target{Number: stock(1)}) }, at("S1", bundle(11)), refused, []string{"held"}, nil},
	{"a held heat on the feed", func(p *past) { p.hold(heatH1) }, at("S1", bundle(11)), refused, []string{"held"}, nil},
	{"a held lot that the run drew from and that is off the feed", func(p *past) {
		p.run("S1", []int{2}, bundle(11))
		p.hold(event.Target{Number: stock(2)})
	}, at("S1", bundle(21)), refused, []string{"held"}, nil},
	{"two heats on the feed, a job of one", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle}); p.charge("S1", "A", 2) }, at("S1", bundle(11)), refused, []string{"one heat only"}, nil},
	{"two heats in the run that is joined, one on the feed", func(p *past) {
		p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
		p.run("S1", []int{2, 1}, bundle(51))
	}, at("S1", bundle(11)), refused, []string{"one heat only"}, nil},
	{"two heats on the feed, one said", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle}); p.charge("S1", "A", 2) }, at("S1", bundle(11), from(1)), yes, []string{"cut started", "into pocket"}, nil},
	{"an unknown heat, a job that asks for heats", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsBundle}); p.charge("S1", "A", 4) }, at("S1", bundle(11)), refused, []string{"heat not known"}, nil},
	{"an unknown heat, a job that does not ask", func(p *past) { p.charge("S1", "A", 4) }, at("S1", bundle(11)), yes, []string{"cut started", "into pocket"}, nil},
	// 23 CFR 635.410 asks for melting and for each further step in the country.
	{"melted elsewhere", func(p *past) {
		p.job(event.JobSet{Job: "J", Country: "US"})
		p.lot(1, func(l *heat.Lot) { l.Melted = "TR" })
	}, at("S1", bundle(11)), refused, []string{"origin"}, nil},
	{"rolled where nobody knows", func(p *past) {
		p.job(event.JobSet{Job: "J", Country: "US"})
		p.lot(1, func(l *heat.Lot) { l.Rolled = "" })
	}, at("S1", bundle(11)), refused, []string{"origin"}, nil},
	{"not begun at the bender", nil, at("B1", bundle(11)), refused, []string{"not cut yet"}, nil},
	{"nothing to bend", nil, at("B1", bundle(21)), refused, []string{"nothing to do"}, nil},
	{"nothing to cut: full stock lengths", nil, at("S1", bundle(41)), refused, []string{"nothing to do"}, nil},
	{"a step before its turn", func(p *past) { p.lines[1].Route = []string{"thread", "cut", "bend"} }, at("B1", bundle(11)), refused, []string{"not ready"}, nil},
	{"voided", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true }) }, at("S1", bundle(11)), refused, []string{"voided"}, nil},
	{"on a truck", func(p *past) { p.onto(truck, bundle(11), false) }, at("S1", bundle(11)), refused, []string{"loaded already"}, nil},
	{"left", func(p *past) { p.onto(truck, bundle(11), true) }, at("S1", bundle(11)), refused, []string{"shipped already"}, nil},

	// Cutting.
	{"the card's tag again is done", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	{"another tag shows its card", func(p *past) { p.run("S1", []int{1}, bundle(11), bundle(21)) }, at("S1", bundle(21)), yes, []string{"card shown"},
		[]event.Body{event.CardShown{Station: "S1", Bundle: bundle(21)}}},
	{"one of two done leaves the run open", func(p *past) { p.run("S1", []int{1}, bundle(11), bundle(21)) }, at("S1", bundle(11)), yes, []string{"cut done"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12}}},
	{"a lot said with it stays a candidate", func(p *past) { p.run("S1", []int{1}, bundle(11), bundle(21)) }, at("S1", bundle(11), from(2)), yes, []string{"cut done"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Lots: nums([]int{2})}}},
	{"started at another station", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11)), refused, []string{"other station"}, nil},
	{"started at another station, counted here", func(p *past) { p.run("S2", []int{2}, bundle(11)) }, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "started elsewhere"},
		[]event.Body{
			event.Undone{Bundle: bundle(11), Seq: 100, Reason: "cut at S1"},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})},
		}},
	{"started at another station, where the others are done", func(p *past) {
		seq := p.run("S2", []int{2}, bundle(11), bundle(21))
		r := p.runs[seq]
		r.Members[1].Done = true
		p.runs[seq] = r
	}, at("S1", bundle(11), pieces(12), from(1)), check, []string{"cut done", "into pocket", "run closed", "started elsewhere", "run closed"},
		[]event.Body{
			event.Undone{Bundle: bundle(11), Seq: 100, Reason: "cut at S1", Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(2), Bars: 4}}})},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Said: true, Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}, Lots: nums([]int{1})})},
		}},
	// Lot 1 lies at both shears and has 5 bars: there 12 of 20' take 4, here 12 of 10' take 2.
	{"started at another station, where the others are done of the same lot", func(p *past) {
		seq := p.run("S2", []int{1}, bundle(11), bundle(21))
		p.runs[seq].Members[1].Done = true
		p.lot(1, func(l *heat.Lot) { l.Received = 5 })
	}, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "into pocket", "count difference", "run closed", "started elsewhere", "run closed"},
		[]event.Body{
			event.Undone{Bundle: bundle(11), Seq: 100, Reason: "cut at S1", Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4}}})},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2, Over: 1}}})},
		}},
	{"counted here while other steel is on the table", func(p *past) { p.run("S2", []int{2}, bundle(11)); p.run("S1", nil, bundle(31)) }, at("S1", bundle(11), pieces(12)), check,
		[]string{"cut done", "into pocket", "run closed", "cut aside", "started elsewhere"}, []event.Body{
			event.Undone{Bundle: bundle(11), Seq: 100, Reason: "cut at S1"},
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1", Aside: true},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	{"done already", func(p *past) { p.ready(bundle(11)) }, at("S1", bundle(11)), refused, []string{"done already"}, nil},
	{"a typed count of a bundle not begun is start and done", nil, at("S1", bundle(11), pieces(12)), yes, []string{"cut done", "into pocket", "run closed"},
		[]event.Body{
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})},
		}},
	// 7 pieces of 10' are two bars of 60' of which one leaves 50'; 5 pieces are owed.
	{"fewer than asked for", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), pieces(7)), check, []string{"cut done", "count short", "run closed", "remnant"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 7, Asked: 12, Rest: bundle(901), Owed: 5, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 2}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 50 * bar.Foot, Bars: 1}}})}}},
	// 13 pieces are three bars, of which one leaves 50'.
	{"more than asked for", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), pieces(13)), check, []string{"cut done", "count over", "run closed", "remnant"}, nil},
	{"ends too short to keep are scrap", func(p *past) { p.lines[2].Length = 19 * bar.Foot; p.run("S1", []int{1}, bundle(21)) }, at("S1", bundle(21)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4}}, Scrap: 12 * bar.Foot})}}},
	{"more than the lot had", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Taken = 49 }); p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11)), check, []string{"cut done", "count difference", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2, Over: 1}}})}}},
	{"bars shared out by us", func(p *past) { p.lot(2, func(l *heat.Lot) { l.Taken = 49 }); p.run("S1", []int{2, 1}, bundle(11)) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(2), Bars: 1}, {Lot: stock(1), Bars: 1}}, Assumed: true})}}},
	{"of a remnant that was taken back meanwhile", func(p *past) { p.lot(2, func(l *heat.Lot) { l.Gone = true }); p.run("S1", []int{1, 2}, bundle(11)) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}, Assumed: true})}}},
	{"bars typed", func(p *past) { p.charge("S1", "A", 2); p.run("S1", []int{2, 1}, bundle(11)) },
		at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 1, Over: 7}, event.Draw{Lot: stock(1), Bars: 1})), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 2}}, Lots: nums([]int{1})})}}},
	{"bars typed twice count together against the lot", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Taken = 49 }); p.run("S1", []int{1}, bundle(11)) },
		at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 1}, event.Draw{Lot: stock(1), Bars: 1})), check, []string{"cut done", "count difference", "run closed"}, nil},
	{"bars typed that cannot have made it", func(p *past) { p.charge("S1", "A", 2); p.run("S1", []int{2, 1}, bundle(11)) },
		at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 1})), check, []string{"cut done", "run closed", "metal missing"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 1}}, Missing: 60 * bar.Foot, Lots: nums([]int{2, 1})})}}},
	{"bars typed that leave much", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 3})), check, []string{"cut done", "left over", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 3}}, Scrap: 60 * bar.Foot, Lots: nums([]int{1})})}}},
	{"bars and remnants typed", func(p *past) { p.run("S1", []int{1}, bundle(11)) },
		at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 3}), left(event.Remnant{Length: 59 * bar.Foot, Bars: 1, Place: bay})), yes, []string{"cut done", "run closed", "remnant"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 3}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 59 * bar.Foot, Bars: 1, Place: bay}}, Scrap: bar.Foot, Lots: nums([]int{1})})}}},
	{"nothing kept, typed", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), pieces(7), left()), check, []string{"cut done", "count short", "run closed"}, nil},
	{"remnants of more metal than was drawn", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), left(event.Remnant{Length: 5 * bar.Foot, Bars: 1})), check,
		[]string{"cut done", "run closed", "remnant", "metal missing"}, nil},
	{"bars of other steel typed", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), bars(event.Draw{Lot: stock(3), Bars: 2})), check, []string{"cut done", "drew other steel", "run closed"}, nil},
	{"nothing was on the feed", func(p *past) { p.run("S1", nil, bundle(11)) }, at("S1", bundle(11)), check, []string{"cut done", "run closed", "nothing on the feed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Missing: 120 * bar.Foot})}}},
	{"held after it was begun", func(p *past) { p.run("S1", []int{1}, bundle(11)); p.hold(heatH1) }, at("S1", bundle(11)), check, []string{"cut done", "run closed", "held while worked"}, nil},
	{"two heats by now, a job of one", func(p *past) {
		p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
		p.run("S1", []int{2, 1}, bundle(11))
	}, at("S1", bundle(11)), check, []string{"cut done", "run closed", "rule broken by now"}, nil},
	{"marks for two specs leave a remnant for two", func(p *past) {
		p.lines[1].Steel, p.lines[1].Length = low, 50*bar.Foot
		p.run("S1", []int{5}, bundle(11))
	}, at("S1", bundle(11), pieces(12)), yes, []string{"cut done", "run closed", "remnant"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: &event.RunClosed{
			Draws: []event.Draw{{Lot: stock(5), Bars: 12}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 10 * bar.Foot, Bars: 12}}, Steel: dual}}}},

	// A deed is recorded, whatever would have refused its start.
	{"counted while held", func(p *past) { p.hold(heatH1) }, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "held while worked"}, nil},
	{"counted with wrong steel on the feeds", nil, at("S1", bundle(31), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "nothing on the feed", "wrong steel"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(31), Pocket: "1"},
			event.CutDone{Bundle: bundle(31), Pieces: 12, Asked: 12, Closed: &event.RunClosed{Steel: eight, Missing: 120 * bar.Foot}}}},
	{"counted of a lot of other steel", nil, at("S1", bundle(11), pieces(12), from(3)), check, []string{"cut done", "into pocket", "drew other steel", "run closed"},
		[]event.Body{event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{3}), Said: true, Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: &event.RunClosed{Steel: eight, Draws: []event.Draw{{Lot: stock(3), Bars: 2}}, Lots: nums([]int{3})}}}},
	{"counted of two heats, a job of one", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle}); p.charge("S1", "A", 2) }, at("S1", bundle(11), pieces(12)), check,
		[]string{"cut done", "into pocket", "run closed", "rule broken by now"}, nil},
	{"counted of an unknown heat", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad}); p.charge("S1", "A", 4) }, at("S1", bundle(11), pieces(12)), check,
		[]string{"cut done", "into pocket", "run closed", "heat not known"}, nil},
	{"counted of steel melted elsewhere", func(p *past) {
		p.job(event.JobSet{Job: "J", Country: "US"})
		p.lot(1, func(l *heat.Lot) { l.Melted = "TR" })
	}, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "origin"}, nil},

	// Steps that draw no stock.
	{"bend", func(p *past) { p.ready(bundle(11)) }, at("B1", bundle(11)), yes, []string{"step started"}, []event.Body{event.StepStarted{Station: "B1", Bundle: bundle(11), Step: "bend"}}},
	{"bent", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11)), yes, []string{"step done"}, []event.Body{event.StepDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 12}}},
	{"bent, counted", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11), pieces(11)), check, []string{"step done", "count differs"},
		[]event.Body{event.StepDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 11}}},
	{"bent, counted, not begun", func(p *past) { p.ready(bundle(11)) }, at("B1", bundle(11), pieces(12)), yes, []string{"step done"},
		[]event.Body{event.StepStarted{Station: "B1", Bundle: bundle(11), Step: "bend"}, event.StepDone{Station: "B1", Bundle: bundle(11), Step: "bend", Pieces: 12}}},
	{"bending what is held", func(p *past) { p.ready(bundle(11)); p.hold(heatH1) }, at("B1", bundle(11)), refused, []string{"held"}, nil},
	{"bent while held", func(p *past) { p.bending(bundle(11)); p.hold(heatH1) }, at("B1", bundle(11)), check, []string{"step done", "held while worked"}, nil},
	{"bent while held, counted, not begun", func(p *past) { p.ready(bundle(11)); p.hold(heatH1) }, at("B1", bundle(11), pieces(12)), check, []string{"step done", "held while worked"}, nil},
	{"begun at another bender", func(p *past) { p.bending(bundle(11)) }, at("B2", bundle(11)), refused, []string{"other station"}, nil},
	{"begun at another bender, counted here", func(p *past) { p.bending(bundle(11)) }, at("B2", bundle(11), pieces(12)), check, []string{"step done", "started elsewhere"},
		[]event.Body{event.StepDone{Station: "B2", Bundle: bundle(11), Step: "bend", Pieces: 12}}},
	{"bent already", func(p *past) {
		p.bending(bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Started, b.Done = false, 2 })
	}, at("B1", bundle(11)), refused, []string{"done already"}, nil},
	{"not bent at loadout", func(p *past) { p.ready(bundle(11)); p.opened(truck) }, at("L1", bundle(11)), refused, []string{"not ready"}, nil},
	{"a load at the shear", nil, at("S1", truck), refused, []string{"not here"}, nil},

	// The yard.
	{"a place", nil, at("Y1", bay), yes, []string{"place opened"}, []event.Body{event.PlaceOpened{Place: bay}}},
	{"a held bundle, no place open", func(p *past) { p.hold(event.Target{Number: bundle(11)}) }, at("Y1", bundle(11)), yes, []string{"found new", "is held"}, none},
	{"a held lot, no place open", func(p *past) { p.hold(event.Target{Number: stock(2)}) }, at("Y1", stock(2)), yes, []string{"found", "is held"}, none},
	{"a bundle, no place open", nil, at("Y1", bundle(11)), yes, []string{"found new"}, none},
	{"a lot, no place open", nil, at("Y1", stock(2)), yes, []string{"found"}, none},
	{"a bundle put down", func(p *past) { p.devices["gun"] = scan.Device{Put: bay} }, at("Y1", bundle(11)), yes, []string{"placed"}, []event.Body{event.Placed{Number: bundle(11), Place: bay}}},
	{"a bundle of a held heat put down", func(p *past) { p.ready(bundle(11)); p.devices["gun"] = scan.Device{Put: bay}; p.hold(heatH1) }, at("Y1", bundle(11)), yes, []string{"placed", "is held"}, nil},
	{"a lot put down", func(p *past) { p.devices["gun"] = scan.Device{Put: bay} }, at("Y1", stock(2)), yes, []string{"placed"}, []event.Body{event.Placed{Number: stock(2), Place: bay}}},
	{"a bundle put down that left", func(p *past) { p.onto(truck, bundle(11), true) }, at("Y1", bundle(11)), refused, []string{"shipped already"}, nil},

	// Loads.
	{"a load", nil, at("L1", truck), yes, []string{"load opened"}, []event.Body{event.LoadOpened{Load: truck}}},
	{"a load without a limit", func(p *past) { p.loads[truck] = load.Load{Number: truck} }, at("L1", truck), check, []string{"load opened", "no limit"}, nil},
	{"a load that left", func(p *past) { p.onto(truck, bundle(21), true) }, at("L1", truck), refused, []string{"load left"}, nil},
	{"a bundle, no load open", func(p *past) { p.ready(bundle(21)) }, at("L1", bundle(21)), refused, []string{"no load open"}, nil},
	{"a bundle onto the load", func(p *past) { p.ready(bundle(21)); p.opened(truck) }, at("L1", bundle(21)), yes, []string{"loaded"},
		[]event.Body{event.Loaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot)}}},
	{"full lengths onto the load: no steps", func(p *past) { p.opened(truck) }, at("L1", bundle(41)), yes, []string{"loaded"}, nil},
	{"onto a load that left meanwhile", func(p *past) { p.ready(bundle(21)); p.opened(truck); p.onto(truck, bundle(22), true) }, at("L1", bundle(21)), refused, []string{"load left"}, nil},
	{"loaded already", func(p *past) { p.opened(truck); p.onto(truck, bundle(21), false) }, at("L1", bundle(21)), refused, []string{"loaded already"}, nil},
	{"another job's", func(p *past) { p.ready(bundle(51)); p.opened(truck) }, at("L1", bundle(51)), refused, []string{"wrong job"}, nil},
	{"not cut", func(p *past) { p.opened(truck) }, at("L1", bundle(21)), refused, []string{"not cut yet"}, nil},
	{"held", func(p *past) { p.ready(bundle(21)); p.opened(truck); p.hold(heatH1) }, at("L1", bundle(21)), refused, []string{"held"}, nil},
	{"the load is held", func(p *past) { p.ready(bundle(21)); p.opened(truck); p.hold(event.Target{Number: truck}) }, at("L1", bundle(21)), refused, []string{"held"}, nil},
	{"two heats, a job of one", func(p *past) {
		p.done("S1", []int{1, 2}, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
	}, at("L1", bundle(21)), refused, []string{"heats not met"}, nil},
	{"two heats, a job that lists them", func(p *past) {
		p.done("S1", []int{1, 2}, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsBundle})
	}, at("L1", bundle(21)), yes, []string{"loaded"}, nil},
	{"an unknown heat, a job that lists them", func(p *past) {
		p.done("S1", []int{4}, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
	}, at("L1", bundle(21)), refused, []string{"heats not met"}, nil},
	{"metal that no bar accounts for, a job that lists heats", func(p *past) {
		seq := p.done("S1", []int{1}, bundle(21))
		r := p.runs[seq]
		r.Missing = 1
		p.runs[seq] = r
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
	}, at("L1", bundle(21)), refused, []string{"heats not met"}, nil},
	{"no heat at all, a job that lists them", func(p *past) {
		p.done("S1", nil, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
	}, at("L1", bundle(21)), refused, []string{"heats not met"}, nil},
	{"no cert", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Certs: event.CertsOnFile})
	}, at("L1", bundle(21)), refused, []string{"cert missing"}, nil},
	{"a cert, not reviewed", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Certs: event.CertsReviewed})
		p.certs[heat.Key{Mill: "Example Mill", Heat: "H1"}] = []heat.Cert{{Filed: event.CertFiled{Type: "MTR", Sizes: []bar.Size{"#5"}}}}
	}, at("L1", bundle(21)), refused, []string{"cert missing"}, nil},
	{"a cert, reviewed", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Certs: event.CertsReviewed})
		p.certs[heat.Key{Mill: "Example Mill", Heat: "H1"}] = []heat.Cert{{Filed: event.CertFiled{Type: "MTR", Sizes: []bar.Size{"#5"}}, Reviewed: true}}
	}, at("L1", bundle(21)), yes, []string{"loaded"}, nil},
	{"certs asked for, no heat known", func(p *past) {
		p.done("S1", nil, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Certs: event.CertsOnFile})
	}, at("L1", bundle(21)), refused, []string{"cert missing"}, nil},
	{"melted elsewhere, at loadout", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Country: "US"})
		p.lot(1, func(l *heat.Lot) { l.Melted = "MX" })
	}, at("L1", bundle(21)), refused, []string{"origin not met"}, nil},
	{"melted here, at loadout", func(p *past) { p.ready(bundle(21)); p.opened(truck); p.job(event.JobSet{Job: "J", Country: "US"}) }, at("L1", bundle(21)), yes, []string{"loaded"}, nil},
	{"of no known lot, at loadout", func(p *past) {
		p.done("S1", nil, bundle(21))
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Country: "US"})
	}, at("L1", bundle(21)), refused, []string{"origin unknown"}, nil},
	{"over the limit", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "J"}}, Limit: weigh("#5", 240*bar.Foot) - 1}
	}, at("L1", bundle(21)), refused, []string{"over the limit"}, nil},
	{"up to the limit", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "J"}}, Limit: weigh("#5", 240*bar.Foot)}
	}, at("L1", bundle(21)), yes, []string{"loaded"}, nil},
	{"on the load's list", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "J"}}, Planned: 1}
		p.change(bundle(21), func(b *scan.Bundle) { b.Planned = truck })
	}, at("L1", bundle(21)), yes, []string{"loaded"}, nil},
	{"not on the load's list", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "J"}}, Planned: 1}
	}, at("L1", bundle(21)), check, []string{"loaded", "not planned"}, nil},
	{"on another load's list", func(p *past) {
		p.ready(bundle(21))
		p.opened(truck)
		p.change(bundle(21), func(b *scan.Bundle) { b.Planned = truck2 })
	}, at("L1", bundle(21)), check, []string{"loaded", "planned elsewhere"}, nil},
	{"unload, anywhere", func(p *past) { p.onto(truck, bundle(21), false) }, at("S2", bundle(21), do(scan.Unload)), yes, []string{"unloaded"},
		[]event.Body{event.Unloaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot)}}},
	{"unload what is on none", nil, at("L1", bundle(21), do(scan.Unload)), refused, []string{"not on a load"}, nil},
	{"unload what left", func(p *past) { p.onto(truck, bundle(21), true) }, at("L1", bundle(21), do(scan.Unload)), refused, []string{"shipped already"}, nil},
	{"ship", func(p *past) { p.onto(truck, bundle(21), false) }, at("L1", truck, do(scan.Ship)), yes, []string{"shipped"}, []event.Body{event.Shipped{Load: truck, Bundles: 1}}},
	{"ship nothing", nil, at("L1", truck, do(scan.Ship)), refused, []string{"load empty"}, nil},
	{"ship again", func(p *past) { p.onto(truck, bundle(21), true) }, at("L1", truck, do(scan.Ship), gone), refused, []string{"load left"}, nil},
	{"ship a held bundle", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), false); p.hold(heatH1) }, at("L1", truck, do(scan.Ship)), refused, []string{"held on load"}, refusal(truck)},
	{"open a held load", func(p *past) { p.hold(event.Target{Number: truck}) }, at("L1", truck), yes, []string{"load opened", "is held"}, nil},
	{"ship a held load", func(p *past) { p.onto(truck, bundle(21), false); p.hold(event.Target{Number: truck}) }, at("L1", truck, do(scan.Ship)), refused, []string{"held on load"}, nil},

	// The truck has gone: all of it is recorded.
	{"gone with two held bundles", func(p *past) {
		p.done("S1", []int{1}, bundle(21), bundle(22))
		p.onto(truck, bundle(21), false)
		p.onto(truck, bundle(22), false)
		p.hold(heatH1)
	}, at("L1", truck, do(scan.Ship), gone), check, []string{"shipped", "left with held", "left with held"}, []event.Body{event.Shipped{Load: truck, Bundles: 2, Gone: true}}},
	{"gone with nothing scanned", nil, at("L1", truck, do(scan.Ship), gone), check, []string{"shipped", "left empty"}, []event.Body{event.Shipped{Load: truck, Gone: true}}},
	{"open a load that left, to add what went unscanned", func(p *past) { p.onto(truck, bundle(21), true) }, at("L1", truck, gone), check, []string{"load opened", "opened after"}, []event.Body{event.LoadOpened{Load: truck}}},
	{"went unscanned", func(p *past) { p.ready(bundle(21)); p.opened(truck); p.onto(truck, bundle(22), true) }, at("L1", bundle(21), gone), check, []string{"loaded", "went unscanned"},
		[]event.Body{event.Loaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot), Gone: true}}},
	{"went unscanned, and everything was wrong", func(p *past) {
		p.opened(truck)
		p.onto(truck, bundle(22), true)
		p.change(bundle(51), func(b *scan.Bundle) { b.Voided, b.Planned = true, truck2 })
		p.job(event.JobSet{Job: "K", Heats: event.HeatsSingle})
		p.hold(event.Target{Number: bundle(51)})
		p.hold(event.Target{Number: truck})
		l := p.loads[truck]
		l.Limit = 1
		p.loads[truck] = l
	}, at("L1", bundle(51), gone), check, []string{"loaded", "went unscanned", "voided", "wrong job", "not cut yet", "held", "held", "heats not met", "over the limit", "planned elsewhere"},
		[]event.Body{event.Loaded{Load: truck, Bundle: bundle(51), Mass: weigh("#5", 120*bar.Foot), Gone: true}}},
	{"went unscanned while it was being cut", func(p *past) { p.run("S1", []int{1}, bundle(21)); p.opened(truck) }, at("L1", bundle(21), gone), check, []string{"loaded", "cut done", "run closed", "went unscanned"},
		[]event.Body{
			event.CutDone{Run: 100, Bundle: bundle(21), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 4}}})},
			event.Loaded{Load: truck, Bundle: bundle(21), Mass: weigh("#5", 240*bar.Foot), Gone: true},
		}},
	{"went unscanned, by the record with another truck", func(p *past) {
		p.loads[truck2] = load.Load{Number: truck2}
		p.opened(truck)
		p.onto(truck2, bundle(21), true)
	}, at("L1", bundle(21), gone), refused, []string{"shipped already"}, nil},

	// Bars as they came: bundles of line 4 are full stock lengths.
	{"full lengths with their lot", nil, at("Y1", bundle(41), from(1)), yes, []string{"assigned"},
		[]event.Body{event.BundleAssigned{Bundle: bundle(41), Station: "Y1", Said: true,
			Closed: event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 12}}, Lots: nums([]int{1}), Steel: five}}}},
	{"full lengths of two lots, counted", nil, at("B1", bundle(41), bars(event.Draw{Lot: stock(1), Bars: 7}, event.Draw{Lot: stock(2), Bars: 5})), yes, []string{"assigned"},
		[]event.Body{event.BundleAssigned{Bundle: bundle(41), Station: "B1", Said: true, Closed: event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 7}, {Lot: stock(2), Bars: 5}}, Lots: nums([]int{1, 2}), Steel: five}}}},
	{"full lengths of two lots, not counted", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Taken = 43 }) }, at("L1", bundle(41), from(1, 2)), yes, []string{"assigned"},
		[]event.Body{event.BundleAssigned{Bundle: bundle(41), Station: "L1", Closed: event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 7}, {Lot: stock(2), Bars: 5}}, Lots: nums([]int{1, 2}), Steel: five, Assumed: true}}}},
	{"more than the lot has", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Taken = 45 }) }, at("Y1", bundle(41), from(1)), check, []string{"assigned", "count difference"}, nil},
	{"fewer bars than pieces", nil, at("Y1", bundle(41), bars(event.Draw{Lot: stock(1), Bars: 10})), check, []string{"assigned", "count differs", "metal missing"}, nil},
	{"more bars than pieces", nil, at("Y1", bundle(41), bars(event.Draw{Lot: stock(1), Bars: 13})), check, []string{"assigned", "count differs"}, nil},
	{"bars of another length", func(p *past) { p.lot(1, func(l *heat.Lot) { l.Length = 40 * bar.Foot }) }, at("Y1", bundle(41), from(1)), check, []string{"assigned", "length differs", "metal missing"}, nil},
	{"bars of other steel, held, of an unknown heat that the job asks for", func(p *past) {
		p.hold(event.Target{Number: stock(4)})
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
	}, at("Y1", bundle(41), bars(event.Draw{Lot: stock(3), Bars: 6}, event.Draw{Lot: stock(4), Bars: 6})), check, []string{"assigned", "drew other steel", "held while worked", "heat not known"}, nil},
	{"two heats of a job that wants one", func(p *past) { p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle}) }, at("Y1", bundle(41), from(1, 2)), check, []string{"assigned", "rule broken by now"}, nil},
	{"said already", func(p *past) { p.assigned(bundle(41), 1) }, at("Y1", bundle(41), from(2)), refused, []string{"assigned already"}, nil},
	{"loaded, nobody asks for heats", func(p *past) { p.opened(truck) }, at("L1", bundle(41)), yes, []string{"loaded"}, nil},
	{"loaded, the job asks for heats", func(p *past) { p.opened(truck); p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad}) }, at("L1", bundle(41)), refused, []string{"not assigned"}, nil},
	{"loaded, the job asks for heats, and they are said", func(p *past) {
		p.opened(truck)
		p.job(event.JobSet{Job: "J", Heats: event.HeatsLoad})
		p.assigned(bundle(41), 1)
	}, at("L1", bundle(41)), yes, []string{"loaded"}, nil},
	{"full lengths, bent", func(p *past) {
		p.change(bundle(41), func(b *scan.Bundle) { b.Route = []string{"bend"} })
		p.assigned(bundle(41), 1)
	}, at("B1", bundle(41)), yes, []string{"step started"}, nil},

	// The tag says otherwise.
	{"an old copy", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Copy = 3 }) }, at("S1", bundle(11), tag(tags.Tag{Copy: 2})), check, []string{"cut started", "into pocket", "tag differs"}, nil},
	{"another count", nil, at("S1", bundle(11), tag(tags.Tag{Count: 11})), check, []string{"cut started", "into pocket", "tag differs"}, nil},
	{"another mark and list", nil, at("S1", bundle(11), tag(tags.Tag{Job: "J", List: "2", Mark: "M9", Size: "#5"})), check, []string{"cut started", "into pocket", "tag differs", "tag differs"}, nil},
	{"the same", nil, at("S1", bundle(11), tag(tags.Tag{Job: "J", List: "1", Mark: "M1", Size: "#5", Count: 12, Copy: 1})), yes, []string{"cut started", "into pocket"}, nil},
	{"a text that did not arrive whole", nil, at("S1", bundle(11), tag(tags.Tag{Mark: "m1"}), func(s *scan.Scan) { s.Read.Garbled = true }), yes, []string{"cut started", "into pocket"}, nil},
	{"a refusal is not compared", nil, at("B1", bundle(21), tag(tags.Tag{Count: 11})), refused, []string{"nothing to do"}, nil},

	// Double reads.
	{"read twice", func(p *past) {
		p.run("S1", []int{1}, bundle(11))
		p.last(bundle(11), "S1", accepted("cut started"), 2999)
	}, at("S1", bundle(11)), yes, []string{"once"}, none},
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func weigh(s bar.Size, l bar.Length) bar.Mass { return must(bar.Weigh(s, l)) }

func tag(t tags.Tag) func(*scan.Scan) { return func(s *scan.Scan) { s.Read.Tag = &t } }

func accepted(code string) event.Answer {
	return event.Answer{Verdict: yes, Notes: []event.Note{{Code: code}}}
}

// bending makes a bundle of line 1 cut, and begun at B1.
func (p *past) bending(n tags.Number) {
	p.ready(n)
	p.change(n, func(b *scan.Bundle) {
		b.Started, b.Station = true, "B1"
		b.Progress = append(b.Progress, 20_000)
	})
}

// office are the codes of answers to an office, which are no answers to a scan. TestUndo, TestSetRoute
// and their like have them.
var office = []string{"undone", "route set", "split", "part", "parts held", "merged into", "tag lost",
	"charge mended", "charge taken out", "mended bundles", "left against a rule", "here against a rule",
	"heats declared", "reassigned", "still owed", "taken from a job", "reassigned after"}

func TestDecide(t *testing.T) {
	reached := map[string]bool{}
	for _, c := range table {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			if c.past != nil {
				c.past(p)
			}
			out := decide(t, p, c.scan)
			require.Equal(t, c.verdict.String(), out.Answer.Verdict.String(), codes(out.Answer))
			require.Equal(t, c.codes, codes(out.Answer))
			for _, n := range out.Answer.Notes {
				reached[n.Code] = true
			}
			if c.verdict == refused {
				require.Len(t, out.Events, 1)
				require.IsType(t, event.ScanRefused{}, out.Events[0])
			}
			if c.events != nil {
				require.Equal(t, c.events, append(none, out.Events...))
			}
			for _, e := range out.Events {
				_, err := event.Encode(event.Event{Head: event.Head{Answer: &out.Answer}, Body: e})
				require.NoError(t, err)
			}
			balanced(t, p, c.scan, out)
		})
	}
	for _, code := range slices.Concat(office, planCodes, []string{"resolved", "taken", "kept not read"}) { // TestResolve and TestUnread have these
		reached[code] = true
	}
	for code := range scan.Sentences {
		require.True(t, reached[code], "no case reaches %q", code)
	}
}

// balanced: whatever closes a run, length of draws + missing = length of pieces + remnants + scrap.
func balanced(t *testing.T, p *past, s scan.Scan, out scan.Outcome) {
	for _, e := range out.Events {
		var done event.PartDone
		switch e := e.(type) {
		case event.CutDone:
			done = event.PartDone{Bundle: e.Bundle, Pieces: e.Pieces, Run: e.Run, Closed: e.Closed}
		case event.PartDone:
			if done = e; e.Coil != nil {
				weighs(t, p, e.Bundle, e.Pieces, *e.Coil)
			}
		case event.CoilCut:
			weighs(t, p, e.Bundle, e.Pieces, e.Closed)
		}
		c := done.Closed
		if c == nil {
			continue
		}
		b := p.bundles[done.Bundle]
		pieces := p.lines[b.Line].Length * bar.Length(done.Pieces)
		if r, ok := p.runs[done.Run]; ok {
			for _, m := range r.Members {
				if m.Bundle != done.Bundle || m.Done {
					pieces += m.Length * bar.Length(m.Pieces)
				} else {
					pieces += m.Length * bar.Length(m.Lost)
				}
			}
		}
		drawn, kept := c.Missing, c.Scrap
		for _, d := range c.Draws {
			drawn += p.lots[d.Lot].Length * bar.Length(d.Bars)
		}
		for _, r := range c.Remnants {
			kept += r.Length * bar.Length(r.Bars)
		}
		require.Equal(t, drawn, pieces+kept)
		require.True(t, c.Scrap >= 0 && c.Missing >= 0 && (c.Scrap == 0 || c.Missing == 0))
	}
}

// TestTwice: what is one pull of the trigger, and what is not.
func TestTwice(t *testing.T) {
	started := func(p *past) {
		p.run("S1", []int{1}, bundle(11))
		p.last(bundle(11), "S1", accepted("cut started"), 2999)
	}
	for _, c := range []struct {
		name string
		past func(*past)
		scan scan.Scan
		code string
	}{
		{"within the pause", nil, at("S1", bundle(11)), "once"},
		{"at the end of the pause", func(p *past) { p.last(bundle(11), "S1", accepted("cut started"), 3000) }, at("S1", bundle(11)), "cut done"},
		{"the device's clock went back", func(p *past) { p.last(bundle(11), "S1", accepted("cut started"), -1) }, at("S1", bundle(11)), "cut done"},
		{"another device", func(p *past) { p.devices = map[string]scan.Device{} }, at("S1", bundle(11)), "cut done"},
		{"at another station", func(p *past) { p.last(bundle(11), "S2", accepted("cut started"), 1) }, at("S1", bundle(11)), "cut done"},
		{"another tag", func(p *past) { p.last(bundle(21), "S1", accepted("cut started"), 1) }, at("S1", bundle(11)), "cut done"},
		{"a count is typed", nil, at("S1", bundle(11), pieces(12)), "cut done"},
		{"lots are typed", nil, at("S1", bundle(11), from(1)), "cut done"},
		{"bars are typed", nil, at("S1", bundle(11), bars(event.Draw{Lot: stock(1), Bars: 2})), "cut done"},
		{"remnants are typed", nil, at("S1", bundle(11), left()), "cut done"},
		{"after a refusal", func(p *past) {
			p.last(bundle(11), "S1", event.Answer{Verdict: refused, Notes: []event.Note{{Code: "held"}}}, 1)
		}, at("S1", bundle(11)), "cut done"},
		{"a lot, onto another feed", func(p *past) { p.last(stock(1), "S1", accepted("charged"), 1) }, at("S1", stock(1), onFeed("B")), "charged"},
		{"a lot, onto the same feed", func(p *past) { p.last(stock(1), "S1", accepted("charged"), 1) }, at("S1", stock(1), onFeed("A")), "once"},
		{"shown only", nil, at("S1", bundle(11), do(scan.Show)), "found at work"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			started(p)
			if c.past != nil {
				c.past(p)
			}
			out := decide(t, p, c.scan)
			require.Equal(t, c.code, out.Answer.Notes[0].Code)
			if c.code == "once" {
				require.Empty(t, out.Events)
				require.Equal(t, c.scan.Read.Number, out.Show)
			}
		})
	}
}

// TestSameRefusal: a stuck trigger does not fill the journal, and nobody is left without an answer.
func TestSameRefusal(t *testing.T) {
	p := shop()
	first := decide(t, p, at("B1", bundle(11)))
	require.Len(t, first.Events, 1)
	again := func(s scan.Scan, ago int64, recorded bool) {
		t.Helper()
		p.last(bundle(11), "B1", first.Answer, ago)
		out := decide(t, p, s)
		require.Equal(t, refused, out.Answer.Verdict)
		require.Equal(t, recorded, len(out.Events) == 1)
	}
	again(at("B1", bundle(11)), 1, false)
	again(at("B1", bundle(11)), 59_999, false)
	again(at("B1", bundle(11)), 60_000, true)
	again(at("B2", bundle(11)), 1, true)
	again(at("B1", bundle(12)), 1, true)
	p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true })
	again(at("B1", bundle(11)), 1, true)

	text := decide(t, p, typed("S1", "hello"))
	p.last(0, "S1", text.Answer, 1)
	require.Empty(t, decide(t, p, typed("S1", "hello")).Events)
	require.Len(t, decide(t, p, typed("S1", "hullo")).Events, 1)
}

// TestLongTexts: what a scanner types can be as long as it likes.
func TestLongTexts(t *testing.T) {
	long := make([]byte, 8000)
	for i := range long {
		long[i] = 'x'
	}
	for _, s := range []scan.Scan{
		typed("S1", string(long)), at("S1", stock(2), onFeed(string(long))), at("S1", bundle(11), pocket(string(long))),
	} {
		out := decide(t, shop(), s)
		require.Equal(t, refused, out.Answer.Verdict)
		raw, err := event.Encode(event.Event{Head: event.Head{Answer: &out.Answer}, Body: out.Events[0]})
		require.NoError(t, err)
		require.Less(t, len(raw), 1000)
	}
	s := at("S1", 0)
	s.Wrong = errors.New("the scan is not valid text")
	require.Equal(t, "not a tag", decide(t, shop(), s).Answer.Notes[0].Code)
}
