package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// coming is a shop where lot 6 is expected: #5 of 60', heat H6 of Example Mill, 60 bars in three bundles
// M1 to M3 of 20; and lot 7, coil of heat H7, 2,000 kg in coils C1 of 900 kg and C2 not weighed.
func coming(change ...func(*heat.Lot)) func(*past) {
	return func(p *past) {
		six := heat.Lot{Number: stock(6), Mill: "Example Mill", Heats: []string{"H6"}, Steel: five, Length: 60 * bar.Foot, Melted: "US", Rolled: "US",
			Paper: &heat.Paper{Bars: 60, Bundles: []event.MillBundle{{Number: "M1", Bars: 20}, {Number: "M2", Bars: 20}, {Number: "M3", Bars: 20}}, Date: "2026-11-30", Open: true}}
		for _, c := range change {
			c(&six)
		}
		seven := heat.Lot{Number: stock(7), Mill: "Example Mill", Heats: []string{"H7"}, Steel: five,
			Paper: &heat.Paper{Mass: 2000 * bar.Kilogram, Coils: []event.MillCoil{{Number: "C1", Mass: 900 * bar.Kilogram}, {Number: "C2"}}, Open: true}}
		p.lots[six.Number], p.lots[seven.Number] = six, seven
		for n, own := range map[tags.Number][]string{six.Number: {"M1", "M2", "M3"}, seven.Number: {"C1", "C2"}} {
			for _, o := range own {
				p.aliases[heat.MillAlias("Example Mill", o)], p.aliases[o] = n, n
			}
		}
	}
}

// cameOf makes lot 6 one of which bundles have come.
func cameOf(bars int, bundles ...string) func(*heat.Lot) {
	return func(l *heat.Lot) {
		l.Received = bars
		for _, b := range bundles {
			l.Bundles = append(l.Bundles, event.MillBundle{Number: b, Bars: 20})
		}
	}
}

func unlisted(l *heat.Lot)  { l.Paper.Bundles = nil }
func closedOff(l *heat.Lot) { l.Paper.Open = false }

func confirmed(bars int, last bool, bundles ...event.MillBundle) event.LotConfirmed {
	return event.LotConfirmed{Lot: stock(6), Bars: bars, Last: last, Bundles: bundles}
}

func bundled(number string, bars int) event.MillBundle {
	return event.MillBundle{Number: number, Bars: bars}
}

func both(a, b func(*past)) func(*past) { return func(p *past) { a(p); b(p) } }

// putting makes the device of the tests put things down in the bay.
func putting(p *past) { p.devices["gun"] = scan.Device{Put: bay} }

func init() { table = append(table, stockTable...) }

// stockTable is what scans of expected and of counted stock mean.
var stockTable = []one{
	{"a bundle of an expected lot", coming(), typed("Y1", "M2"), yes, []string{"confirmed"}, []event.Body{confirmed(20, false, bundled("M2", 20))}},
	{"by the mill's own tag", coming(), mill("Y1", tags.MillTag{Supplier: "Example Mill", Heat: "H6", Bundle: "M2", Quantity: 20}), yes, []string{"confirmed"}, nil},
	{"the last bundle of it", coming(cameOf(40, "M1", "M2")), typed("Y1", "M3"), yes, []string{"confirmed all"}, []event.Body{confirmed(20, true, bundled("M3", 20))}},
	{"a bundle of it once more", coming(cameOf(20, "M1")), typed("Y1", "M1"), yes, []string{"confirmed already"}, none},
	{"its last bundle once more", coming(cameOf(60, "M1", "M2", "M3"), closedOff), typed("Y1", "M3"), yes, []string{"confirmed already"}, none},
	{"its last bundle, put down elsewhere", both(coming(cameOf(60, "M1", "M2", "M3"), closedOff), putting), typed("Y1", "M3"), yes, []string{"placed"}, nil},
	{"a bundle counted as the paper says", coming(), typed("Y1", "M2", pieces(20)), yes, []string{"confirmed"}, nil},
	{"a bundle counted otherwise", coming(), typed("Y1", "M2", pieces(19)), check, []string{"confirmed", "paper differs"}, []event.Body{confirmed(19, false, bundled("M2", 19))}},
	{"a bundle that is not on the paper", coming(), mill("Y1", tags.MillTag{Supplier: "Example Mill", Heat: "H6", Bundle: "M9", Quantity: 18}), check,
		[]string{"confirmed", "not on the paper"}, []event.Body{confirmed(18, false, bundled("M9", 18))}},
	{"one that nobody counted", coming(), mill("Y1", tags.MillTag{Supplier: "Example Mill", Heat: "H6", Bundle: "M9"}), check,
		[]string{"confirmed", "not on the paper", "not counted"}, []event.Body{confirmed(0, false, bundled("M9", 0))}},
	{"more than the paper says", coming(cameOf(59, "M1", "M2")), typed("Y1", "M3"), check, []string{"confirmed all", "beyond the paper"}, nil},
	{"the lot's own tag", coming(), at("Y1", stock(6)), yes, []string{"confirmed all"}, []event.Body{confirmed(60, true, bundled("M1", 20), bundled("M2", 20), bundled("M3", 20))}},
	{"the lot's own tag for the rest", coming(cameOf(20, "M1")), at("Y1", stock(6)), yes, []string{"confirmed all"}, []event.Body{confirmed(40, true, bundled("M2", 20), bundled("M3", 20))}},
	{"the office's word for the lot", both(coming(), func(p *past) { p.aliases["TRUCK 7"] = stock(6) }), typed("Y1", "TRUCK 7"), yes, []string{"confirmed all"}, nil},
	{"a mill's tag of its heat", coming(), mill("Y1", tags.MillTag{Heat: "H6"}), yes, []string{"confirmed all"}, nil},
	{"a mill's tag of a heat in stock and expected", both(coming(), func(p *past) { p.lot(1, func(l *heat.Lot) { l.Heats = []string{"H6"} }) }),
		mill("Y1", tags.MillTag{Heat: "H6"}), yes, []string{"confirmed all"}, nil},
	{"the lot counted short", coming(), at("Y1", stock(6), pieces(50)), check, []string{"confirmed", "paper differs"}, []event.Body{confirmed(50, false)}},
	{"the lot counted short, and no more comes", coming(), at("Y1", stock(6), pieces(50), do(scan.Last)), check, []string{"confirmed all", "paper differs"}, []event.Body{confirmed(50, true)}},
	{"no more comes", coming(cameOf(40, "M1", "M2")), typed("Y1", "M3", pieces(1), do(scan.Last)), check, []string{"confirmed all", "paper differs"}, nil},
	{"no more of what is all here", coming(cameOf(60, "M1", "M2", "M3"), closedOff), at("Y1", stock(6), do(scan.Last)), refused, []string{"not expected"}, nil},
	{"no more, said at a shear", coming(), at("S1", stock(6), do(scan.Last)), refused, []string{"not here"}, nil},
	{"a bundle after all", coming(cameOf(40, "M1", "M2"), closedOff), typed("Y1", "M3"), check, []string{"confirmed all", "came after all"}, []event.Body{confirmed(20, true, bundled("M3", 20))}},
	{"a bundle where the paper names none", coming(unlisted), mill("Y1", tags.MillTag{Heat: "H6", Bundle: "M9", Quantity: 18}), yes, []string{"confirmed"}, []event.Body{confirmed(18, false, bundled("M9", 18))}},
	{"the rest where the paper names none", coming(unlisted, cameOf(42)), mill("Y1", tags.MillTag{Heat: "H6", Bundle: "M9"}), yes, []string{"confirmed all"}, []event.Body{confirmed(18, true, bundled("M9", 18))}},
	{"an expected lot that is held", both(coming(), func(p *past) { p.hold(event.Target{Mill: "Example Mill", Heat: "H6"}) }), typed("Y1", "M1"), check, []string{"confirmed", "held lot came"}, nil},
	{"into the open place", both(coming(), putting), typed("Y1", "M1"), yes, []string{"confirmed"},
		[]event.Body{event.LotConfirmed{Lot: stock(6), Bars: 20, Bundles: []event.MillBundle{bundled("M1", 20)}, Place: bay}}},
	{"a coil of an expected lot", coming(), typed("Y1", "C1"), yes, []string{"confirmed"},
		[]event.Body{event.LotConfirmed{Lot: stock(7), Mass: 900 * bar.Kilogram, Coils: []event.MillCoil{{Number: "C1", Mass: 900 * bar.Kilogram}}}}},
	{"a coil that the paper does not weigh", coming(), typed("Y1", "C2"), check, []string{"confirmed", "not counted"}, nil},
	{"a coil with its weight on the tag", coming(), mill("Y1", tags.MillTag{Supplier: "Example Mill", Heat: "H7", Bundle: "C9", Weight: "800 kg"}), check, []string{"confirmed", "not on the paper"},
		[]event.Body{event.LotConfirmed{Lot: stock(7), Mass: 800 * bar.Kilogram, Coils: []event.MillCoil{{Number: "C9", Mass: 800 * bar.Kilogram}}}}},
	{"a coil counted in pieces", coming(), typed("Y1", "C1", pieces(1)), refused, []string{"by weight"}, nil},
	{"show an expected lot", coming(), at("S1", stock(6), do(scan.Show)), yes, []string{"found coming"}, none},

	// What was done with steel that nobody received.
	{"an expected lot charged", coming(), at("S1", stock(6)), check, []string{"charged", "taken as received"},
		[]event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(6)}, confirmed(60, true, bundled("M1", 20), bundled("M2", 20), bundled("M3", 20))}},
	{"one of which some came charged", coming(cameOf(20, "M1")), at("S1", stock(6)), yes, []string{"charged"}, nil},
	{"coil of which some came charged", both(coming(), func(p *past) { p.lot(7, func(l *heat.Lot) { l.Mass = bar.Kilogram }) }), at("S1", stock(7)), yes, []string{"charged"}, nil},
	{"expected coil charged", coming(), at("S1", stock(7)), check, []string{"charged", "taken as received"}, nil},
	{"an expected lot put down where nothing is received", both(coming(), putting), at("Y2", stock(6)), check, []string{"placed", "taken as received"}, nil},
	{"cut from an expected lot", coming(), at("S1", bundle(21), pieces(12), from(6)), check, []string{"cut done", "into pocket", "run closed", "taken as received"}, nil},
	{"started from an expected lot", coming(), at("S1", bundle(21), from(6)), check, []string{"cut started", "into pocket", "taken as received"}, nil},
	{"more bars of it than came", coming(cameOf(20, "M1")), at("S1", bundle(21), pieces(12), bars(event.Draw{Lot: stock(6), Bars: 30})), check,
		[]string{"cut done", "into pocket", "left over", "run closed", "taken as received"}, nil},
	{"fewer bars of it than came", coming(cameOf(20, "M1")), at("S1", bundle(21), pieces(12), bars(event.Draw{Lot: stock(6), Bars: 4})), yes,
		[]string{"cut done", "into pocket", "run closed"}, nil},

	// The yard counted.
	{"a lot counted as recorded", nil, at("Y1", stock(2), pieces(50), do(scan.Count)), yes, []string{"counted"}, []event.Body{event.YardCounted{Lot: stock(2), Bars: 50, Record: 50}}},
	{"a lot counted otherwise", putting, at("Y1", stock(2), pieces(48), do(scan.Count)), check, []string{"counted otherwise"}, []event.Body{event.YardCounted{Lot: stock(2), Bars: 48, Record: 50, Place: bay}}},
	{"a lot on a feed counted", putting, at("S1", stock(1), pieces(48), do(scan.Count)), check, []string{"counted otherwise"}, []event.Body{event.YardCounted{Lot: stock(1), Bars: 48, Record: 50}}},
	{"nothing lies there", nil, at("Y1", stock(2), do(scan.None)), check, []string{"counted otherwise"}, []event.Body{event.YardCounted{Lot: stock(2), Record: 50}}},
	{"nothing, and a count", nil, at("Y1", stock(2), do(scan.None), pieces(2)), refused, []string{"count missing"}, nil},
	{"a count that was not typed", nil, at("Y1", stock(2), do(scan.Count)), refused, []string{"count missing"}, nil},
	{"coil counted", coming(), at("Y1", stock(7), do(scan.Count), pieces(3)), refused, []string{"by weight"}, nil},
	{"a bundle counted", nil, at("Y1", bundle(11), do(scan.Count), pieces(3)), refused, []string{"not for this"}, nil},
	{"an expected lot counted", coming(), at("Y1", stock(6), do(scan.Count), pieces(60)), check, []string{"counted otherwise", "taken as received"},
		[]event.Body{event.YardCounted{Lot: stock(6), Bars: 60, Record: 60}, confirmed(60, true, bundled("M1", 20), bundled("M2", 20), bundled("M3", 20))}},
	{"more of it counted than came and is due", coming(cameOf(40, "M1", "M2")), at("Y1", stock(6), do(scan.Count), pieces(63)), check, []string{"counted otherwise", "taken as received"},
		[]event.Body{event.YardCounted{Lot: stock(6), Bars: 63, Record: 60}, confirmed(20, true, bundled("M3", 20))}},
	{"fewer of it counted than came", coming(cameOf(40, "M1", "M2")), at("Y1", stock(6), do(scan.Count), pieces(39)), check, []string{"counted otherwise"},
		[]event.Body{event.YardCounted{Lot: stock(6), Bars: 39, Record: 40}}},
}

// TestBundlesInOnePause: two bundles of one lot, one soon after the other, are no double read; the same one
// is.
func TestBundlesInOnePause(t *testing.T) {
	p := shop()
	coming(cameOf(20, "M1"))(p)
	p.last(stock(6), "Y1", event.Answer{Verdict: event.Accepted}, 1000)
	require.Equal(t, []string{"confirmed"}, codes(decide(t, p, typed("Y1", "M2")).Answer))
	require.Equal(t, []string{"once"}, codes(decide(t, p, typed("Y1", "M1")).Answer))
}

// TestCutFromExpected: the bars of an expected lot are there to be drawn, so nothing was drawn beyond the
// record.
func TestCutFromExpected(t *testing.T) {
	p := shop()
	coming()(p)
	out := decide(t, p, at("S1", bundle(21), pieces(12), from(6)))
	require.Len(t, out.Events, 3)
	require.Equal(t, []event.Draw{{Lot: stock(6), Bars: 4}}, out.Events[1].(event.CutDone).Closed.Draws)
	require.Equal(t, stock(6), out.Events[2].(event.LotConfirmed).Lot)
	// A scan that takes no steel receives none.
	out = decide(t, p, at("S1", stock(2), from(6)))
	require.Equal(t, []event.Body{event.FeedCharged{Station: "S1", Feed: "A", Lot: stock(2)}}, out.Events)
}

// TestConfirmBySaying is what the office says of expected lots and of counts.
func TestConfirmBySaying(t *testing.T) {
	p := shop()
	coming(cameOf(20, "M1"))(p)
	p.aliases[heat.MillAlias("Example Mill", "B1")] = stock(1)
	bars := func(n int) heat.Arrival { return heat.Arrival{Counted: true, Amount: heat.Amount{Bars: n}} }
	for _, c := range []struct {
		name string
		lot  int
		a    heat.Arrival
		want string // a code, or a part of the refusal
	}{
		{"the rest", 6, heat.Arrival{}, "confirmed all"},
		{"some", 6, bars(10), "confirmed"},
		{"none, and no more", 6, heat.Arrival{Counted: true, Last: true}, "confirmed all"},
		{"a bundle", 6, heat.Arrival{Number: "M2"}, "confirmed"},
		{"coil", 7, heat.Arrival{Number: "C2", Counted: true, Amount: heat.Amount{Mass: bar.Kilogram}}, "confirmed"},
		{"no lot", 77, heat.Arrival{}, "is no lot"},
		{"a lot that came unannounced", 1, heat.Arrival{}, "was not expected"},
		{"a bundle that came", 6, heat.Arrival{Number: "M1"}, "was confirmed already"},
		{"a bundle of another lot", 6, heat.Arrival{Number: "B1"}, "came in already"},
		{"nothing", 6, bars(0), "say that no more of it comes"},
		{"less than nothing", 6, bars(-1), "no count"},
		{"bars by weight", 6, heat.Arrival{Counted: true, Amount: heat.Amount{Mass: 1}}, "goes by their number"},
		{"coil by number", 7, bars(1), "goes by weight"},
	} {
		out, err := scan.Confirm(p, rules(), stock(c.lot), c.a)
		if err != nil {
			require.ErrorContains(t, err, c.want, c.name)
			continue
		}
		require.Equal(t, c.want, out.Answer.Notes[0].Code, c.name)
		require.Len(t, out.Events, 1)
	}
	for _, c := range []struct {
		lot   int
		n     heat.Amount
		place tags.Number
		want  string
	}{
		{2, heat.Amount{Bars: 50}, bay, "counted"}, {2, heat.Amount{}, 0, "counted otherwise"}, {77, heat.Amount{}, 0, "is no lot"},
		{2, heat.Amount{Bars: -1}, 0, "no count"}, {2, heat.Amount{}, number(tags.Place, 9), "no place"}, {7, heat.Amount{Bars: 1}, 0, "goes by weight"},
		{7, heat.Amount{Mass: 2100 * bar.Kilogram}, 0, "counted otherwise"},
	} {
		out, err := scan.CountYard(p, rules(), stock(c.lot), c.n, c.place)
		if err != nil {
			require.ErrorContains(t, err, c.want)
			continue
		}
		require.Equal(t, c.want, out.Answer.Notes[0].Code)
	}
}

// TestMendOfExpected: a charge that was forgotten, of a lot that nobody received: it has come, and its bars
// are there to have been drawn.
func TestMendOfExpected(t *testing.T) {
	p := shop()
	coming()(p)
	p.lot(6, func(l *heat.Lot) { l.Heats = []string{"H6"} })
	seq := p.drew(nil, event.RunClosed{Missing: 240 * bar.Foot})
	out, err := scan.Mend(p, rules(), scan.Mending{Station: "S1", Lot: stock(6), Runs: []uint64{seq}, Reason: "seen by the foreman"})
	require.NoError(t, err)
	require.Equal(t, draws(event.Draw{Lot: stock(6), Bars: 4}), out.Event.Runs[0].Closed.Draws)
	require.Contains(t, codes(out.Answer), "taken as received")
	require.Equal(t, stock(6), out.Events[1].(event.LotConfirmed).Lot)
}
