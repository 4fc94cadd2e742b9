package heat_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// past is a yard in maps.
type past struct {
	lots    map[tags.Number]heat.Lot
	holds   map[event.Target]string
	certs   map[heat.Key][]heat.Cert
	aliases map[string]tags.Number
	places  map[tags.Number]string
}

func (p past) Lot(n tags.Number) (heat.Lot, bool) { l, ok := p.lots[n]; return l, ok }
func (p past) Certs(k heat.Key) []heat.Cert       { return p.certs[k] }
func (p past) Alias(s string) (tags.Number, bool) { n, ok := p.aliases[s]; return n, ok }
func (p past) Place(n tags.Number) (string, bool) { s, ok := p.places[n]; return s, ok }
func (p past) Hold(t event.Target) (heat.Hold, bool) {
	s, ok := p.holds[t]
	return heat.Hold{Target: t, Reason: s}, ok
}

func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func lot(n int) tags.Number { return number(tags.Stock, n) }

func lots(ns ...int) (out []tags.Number) {
	for _, n := range ns {
		out = append(out, lot(n))
	}
	return out
}

const mill, other = "Example Mill", "Sample Steel"

// yard: lots 1 and 2 of heats A and B of one mill, 3 of heat A of another mill, 4 of A and B, 5 unknown.
// Remnants: 11 of 1; 12 of 1 and 2; 13 of 12; 14 of 5; 15 of nothing known; 16 and 17 each of the other
// one, which no shop can make; 18 of 1, whose run lacks metal; 19 of 18; 20 of itself.
func yard() past {
	p := past{lots: map[tags.Number]heat.Lot{}, holds: map[event.Target]string{}, certs: map[heat.Key][]heat.Cert{},
		aliases: map[string]tags.Number{}, places: map[tags.Number]string{}}
	for n, l := range map[int]heat.Lot{
		1: {Mill: mill, Heats: []string{"A"}}, 2: {Mill: mill, Heats: []string{"B"}}, 3: {Mill: other, Heats: []string{"A"}},
		4: {Mill: mill, Heats: []string{"B", "A"}}, 5: {Mill: mill},
		11: {Run: 1, Parents: lots(1)}, 12: {Run: 2, Parents: lots(1, 2)}, 13: {Run: 3, Parents: lots(12)}, 14: {Run: 4, Parents: lots(5)},
		15: {Run: 5}, 16: {Run: 6, Parents: lots(17, 1)}, 17: {Run: 7, Parents: lots(16)},
		18: {Run: 8, Parents: lots(1), Lacking: true}, 19: {Run: 9, Parents: lots(18)}, 20: {Run: 10, Parents: lots(20)},
	} {
		l.Number = lot(n)
		if l.Run == 0 {
			l.Melted, l.Rolled = "US", "US"
		}
		p.lots[l.Number] = l
	}
	return p
}

func keys(names ...string) (out []heat.Key) {
	for _, n := range names {
		m, h, _ := strings.Cut(n, "/")
		out = append(out, heat.Key{Mill: m, Heat: h})
	}
	return out
}

// TestOf is the table of certainty: what one, several and unknown lots say of what is cut from them.
func TestOf(t *testing.T) {
	a, b, a2 := mill+"/A", mill+"/B", other+"/A"
	for _, c := range []struct {
		name  string
		from  []int
		want  heat.Certainty
		heats []string
	}{
		{"nothing", nil, heat.Unknown, nil},
		{"one lot", []int{1}, heat.Certain, []string{a}},
		{"the same lot twice", []int{1, 1}, heat.Certain, []string{a}},
		{"two heats", []int{2, 1}, heat.OneOf, []string{a, b}},
		// Heat numbers are unique within a mill only (common practice, no source).
		{"the same heat number of two mills", []int{1, 3}, heat.OneOf, []string{a, a2}},
		{"a lot of two heats", []int{4}, heat.OneOf, []string{a, b}},
		{"an unknown heat", []int{5}, heat.Unknown, nil},
		{"a known and an unknown heat", []int{1, 5}, heat.Unknown, []string{a}},
		{"a remnant", []int{11}, heat.Certain, []string{a}},
		{"a remnant and its parent", []int{11, 1}, heat.Certain, []string{a}},
		{"a remnant of two heats", []int{12}, heat.OneOf, []string{a, b}},
		{"a remnant of a remnant", []int{13}, heat.OneOf, []string{a, b}},
		{"a remnant of an unknown heat", []int{14}, heat.Unknown, nil},
		{"a remnant of nothing known", []int{15, 1}, heat.Unknown, []string{a}},
		{"remnants in a circle", []int{16}, heat.Certain, []string{a}},
		{"a remnant of itself", []int{20}, heat.Unknown, nil},
		{"a remnant of a run that lacks metal", []int{18}, heat.Unknown, []string{a}},
		{"a remnant of that", []int{19, 2}, heat.Unknown, []string{a, b}},
		{"a number that is no lot", []int{99, 1}, heat.Certain, []string{a}},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, heat.Draw{Certainty: c.want, Heats: keys(c.heats...)}, heat.Of(yard(), lots(c.from...)))
		})
	}
}

func TestAncestors(t *testing.T) {
	for _, c := range []struct{ from, want []int }{
		{nil, nil}, {[]int{1, 1}, []int{1}}, {[]int{13}, []int{13, 12, 1, 2}}, {[]int{16}, []int{16, 17, 1}}, {[]int{20}, []int{20}},
		{[]int{12, 1}, []int{12, 1, 2}}, {[]int{99}, nil},
	} {
		var got []int
		for _, l := range heat.Ancestors(yard(), lots(c.from...)) {
			got = append(got, l.Number.Serial())
		}
		require.Equal(t, c.want, got, "%v", c.from)
	}
	from := lots(13)
	heat.Ancestors(yard(), from)
	require.Equal(t, lots(13), from, "the caller's list stays")
}

// rank orders certainties from best to worst.
var rank = map[heat.Certainty]int{heat.Certain: 0, heat.OneOf: 1, heat.Declared: 2, heat.Unknown: 3}

// TestJoin: joined draws are never surer than their parts, and in any order the same.
func TestJoin(t *testing.T) {
	draw := func(t *rapid.T) heat.Draw {
		d := heat.Draw{Heats: rapid.SliceOfDistinct(rapid.SampledFrom(keys(mill+"/A", mill+"/B", other+"/A")), func(k heat.Key) heat.Key { return k }).Draw(t, "heats")}
		slices.SortFunc(d.Heats, heat.Key.Compare)
		d.Certainty = rapid.SampledFrom([]heat.Certainty{heat.Certain, heat.OneOf, heat.Declared, heat.Unknown}).Draw(t, "certainty")
		switch {
		case len(d.Heats) == 0:
			d.Heats, d.Certainty = nil, heat.Unknown
		case len(d.Heats) > 1 && d.Certainty == heat.Certain, len(d.Heats) == 1 && d.Certainty == heat.OneOf:
			d.Certainty = heat.Unknown
		}
		return d
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := draw(t), draw(t), draw(t)
		ab := heat.Join(a, b)
		require.Equal(t, ab, heat.Join(b, a))
		require.Equal(t, heat.Join(ab, c), heat.Join(a, heat.Join(b, c)))
		require.Equal(t, a.Certainty, heat.Join(a, a).Certainty)
		require.GreaterOrEqual(t, rank[ab.Certainty], max(rank[a.Certainty], rank[b.Certainty]))
		for _, k := range slices.Concat(a.Heats, b.Heats) {
			require.Contains(t, ab.Heats, k)
		}
		if ab.Certainty == heat.Certain {
			require.Len(t, ab.Heats, 1)
		}
	})
	one := heat.Draw{Certainty: heat.Certain, Heats: keys(mill + "/A")}
	two := heat.Draw{Certainty: heat.Certain, Heats: keys(mill + "/B")}
	require.Equal(t, heat.Draw{Certainty: heat.OneOf, Heats: keys(mill+"/A", mill+"/B")}, heat.Join(one, two))
}

// TestSpecific: EN 10204:2004, by its types: 2.1 has no results, 2.2 results of other steel, 3.1 and
// 3.2 of the delivered heat. A type 2.2 linked to a heat does not count as traced by specific
// inspection. 3.1.A, 3.1.B and 3.1.C are of the edition of 1991. That an American mill test report is
// specific is common practice, no source.
func TestSpecific(t *testing.T) {
	for typ, want := range map[string]bool{
		"3.1": true, "3.2": true, "EN 10204 3.1": true, "EN 10204:2004 3.2": true, "EN 10204:2004 - type 3.1": true, "Type 3.1": true,
		"EN10204/3.1": true, "Inspection certificate 3.1": true, "3.1.B": true, "3.1B": true, "MTR": true, "mtr": true, "CMTR": true,
		"Mill Test Report": true, "Certified mill test report": true,
		"2.1": false, "2.2": false, "EN 10204 2.2": false, "EN 10204:2004 type 2.1": false, "2.2 and 3.1": false, "": false, "3.11": false,
		"2.3": false, "COC": false, "13.1": false, "mill": false, "mill test": false,
	} {
		require.Equal(t, want, heat.Cert{Filed: event.CertFiled{Type: typ}}.Specific(), "%q", typ)
	}
}

// TestMissingCert: which heats of a draw have no cert for a size in the state asked for.
func TestMissingCert(t *testing.T) {
	a, b := heat.Key{Mill: mill, Heat: "A"}, heat.Key{Mill: mill, Heat: "B"}
	cert := func(typ string, reviewed bool, sizes ...bar.Size) heat.Cert {
		return heat.Cert{Filed: event.CertFiled{Type: typ, Sizes: sizes}, Reviewed: reviewed}
	}
	certain := heat.Draw{Certainty: heat.Certain, Heats: []heat.Key{a}}
	both := heat.Draw{Certainty: heat.OneOf, Heats: []heat.Key{a, b}}
	unknown := heat.Draw{Certainty: heat.Unknown, Heats: []heat.Key{a}}
	for _, c := range []struct {
		name    string
		draw    heat.Draw
		rule    event.CertRule
		a, b    []heat.Cert
		want    heat.Key
		missing bool
	}{
		{"nobody asks", unknown, event.CertsNone, nil, nil, heat.Key{}, false},
		{"on file", certain, event.CertsOnFile, []heat.Cert{cert("MTR", false, "#4", "#5")}, nil, heat.Key{}, false},
		{"none", certain, event.CertsOnFile, nil, nil, a, true},
		{"of another size", certain, event.CertsOnFile, []heat.Cert{cert("MTR", true, "#4")}, nil, a, true},
		{"type 2.2", certain, event.CertsOnFile, []heat.Cert{cert("2.2", true, "#5")}, nil, a, true},
		{"on file, to be reviewed", certain, event.CertsReviewed, []heat.Cert{cert("3.1", false, "#5")}, nil, a, true},
		{"reviewed", certain, event.CertsReviewed, []heat.Cert{cert("3.1", false, "#5"), cert("3.1", true, "#5")}, nil, heat.Key{}, false},
		{"the reviewed one is of another size", certain, event.CertsReviewed, []heat.Cert{cert("3.1", false, "#5"), cert("3.1", true, "#4")}, nil, a, true},
		{"one of two", both, event.CertsOnFile, []heat.Cert{cert("MTR", false, "#5")}, nil, b, true},
		{"both", both, event.CertsOnFile, []heat.Cert{cert("MTR", false, "#5")}, []heat.Cert{cert("MTR", false, "#5")}, heat.Key{}, false},
		{"a heat that is not known", unknown, event.CertsOnFile, []heat.Cert{cert("MTR", false, "#5")}, nil, heat.Key{}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := yard()
			p.certs[a], p.certs[b] = c.a, c.b
			k, missing := heat.MissingCert(p, c.draw, "#5", c.rule)
			require.Equal(t, c.missing, missing)
			require.Equal(t, c.want, k)
		})
	}
	// The same heat text of another mill is another heat: its cert is no cert of this one.
	p := yard()
	p.certs[heat.Key{Mill: other, Heat: "A"}] = []heat.Cert{cert("MTR", true, "#5")}
	k, missing := heat.MissingCert(p, certain, "#5", event.CertsOnFile)
	require.True(t, missing)
	require.Equal(t, a, k)
}

// TestOrigin: 23 CFR 635.410 wants all manufacturing processes, melting and each further one, in the
// country. Foreign melt rolled in the United States does not comply, because of the melt.
func TestOrigin(t *testing.T) {
	for _, c := range []struct {
		name, melted, rolled, why string
	}{
		{"all here", "US", "US", ""}, {"foreign melt", "TR", "US", "melt"}, {"foreign rolling", "US", "MX", "roll"},
		{"both", "TR", "MX", "melt"}, {"melt not known", "", "US", "melt"}, {"rolling not known", "US", "", "roll"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := yard()
			l := p.lots[lot(1)]
			l.Melted, l.Rolled = c.melted, c.rolled
			p.lots[lot(1)] = l
			for _, from := range [][]int{{1}, {2, 1}, {11}, {13}, {16}} {
				found, why := heat.Origin(p, lots(from...), "US")
				require.Equal(t, c.why, why, from)
				if why != "" {
					require.Equal(t, lot(1), found.Number)
				}
			}
			_, why := heat.Origin(p, lots(1), "")
			require.Empty(t, why, "a job that does not ask")
		})
	}
	for _, from := range []int{15, 18, 19} {
		_, why := heat.Origin(yard(), lots(from), "US")
		require.Equal(t, "melt", why, "remnant %d may be of other metal than its parents", from)
	}
}

func TestHoldOn(t *testing.T) {
	for _, c := range []struct {
		name string
		on   event.Target
		from []int
		held bool
	}{
		{"the lot", event.Target{Number: lot(1)}, []int{2, 1}, true},
		{"another lot", event.Target{Number: lot(2)}, []int{1}, false},
		{"its heat", event.Target{Mill: mill, Heat: "A"}, []int{1}, true},
		{"one heat of two", event.Target{Mill: mill, Heat: "A"}, []int{4}, true},
		{"the heat of another mill", event.Target{Mill: other, Heat: "A"}, []int{1, 4}, false},
		{"a parent of the parent", event.Target{Number: lot(2)}, []int{13}, true},
		{"the heat of a parent of the parent", event.Target{Mill: mill, Heat: "B"}, []int{13}, true},
		{"the remnant between", event.Target{Number: lot(12)}, []int{13}, true},
		{"a remnant of it", event.Target{Number: lot(13)}, []int{12}, false},
		{"in a circle", event.Target{Number: lot(17)}, []int{16}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := yard()
			p.holds[c.on] = "rib height"
			h, held := heat.HoldOn(p, lots(c.from...))
			require.Equal(t, c.held, held)
			if held {
				require.Equal(t, c.on, h.Target)
			}
		})
	}
	require.Equal(t, "heat Example Mill A", heat.What(event.Target{Mill: mill, Heat: "A"}))
	require.Equal(t, "stock 2-001-00000001-16", heat.What(event.Target{Number: lot(1)}))
}

// refused checks that an error is a refusal of a field.
func refused(t *testing.T, err error, field, says string) {
	t.Helper()
	var r *event.Refusal
	require.ErrorAs(t, err, &r)
	require.Equal(t, field, r.Field)
	require.Contains(t, r.Says, says)
}

func TestReceive(t *testing.T) {
	bay := number(tags.Place, 1)
	p := yard()
	p.places[bay] = "Bay 4"
	p.aliases[heat.MillAlias(mill, "B16")] = lot(1)
	good := event.LotReceived{
		Mill: " Example  Mill ", Heats: []string{"01E5", " 7041893", "01E5"}, Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"},
		Length: 60 * bar.Foot, Bars: 300, Place: bay, Melted: "us", Rolled: "US", PO: " 4711 ",
		Bundles: []event.MillBundle{{Number: "B17 ", Bars: 100}, {Number: "B18", Bars: 200}},
	}
	got, err := heat.Receive(p, good)
	require.NoError(t, err)
	want := good
	want.Mill, want.Heats, want.Melted, want.PO = mill, []string{"01E5", "7041893"}, "US", "4711"
	want.Bundles = []event.MillBundle{{Number: "B17", Bars: 100}, {Number: "B18", Bars: 200}}
	require.Equal(t, want, got)
	require.Equal(t, "B17 ", good.Bundles[0].Number, "what was given stays")

	for name, c := range map[string]struct {
		change      func(*event.LotReceived)
		field, says string
	}{
		"no mill":            {func(r *event.LotReceived) { r.Mill = " " }, "mill", "is empty"},
		"a long mill":        {func(r *event.LotReceived) { r.Mill = strings.Repeat("m", 61) }, "mill", "61 characters; 60"},
		"an odd mill":        {func(r *event.LotReceived) { r.Mill = "a\x00b" }, "mill", "cannot be printed"},
		"an empty heat":      {func(r *event.LotReceived) { r.Heats = []string{"A", ""} }, "heat", "is empty"},
		"a long heat":        {func(r *event.LotReceived) { r.Heats = []string{strings.Repeat("1", 33)} }, "heat", "33 characters; 32"},
		"not UTF-8":          {func(r *event.LotReceived) { r.Heats = []string{"\xff"} }, "heat", "UTF-8"},
		"too many heats":     {func(r *event.LotReceived) { r.Heats = many(51) }, "heats", "51; 50"},
		"no country":         {func(r *event.LotReceived) { r.Melted = "USA" }, "melted", "two letters"},
		"no country either":  {func(r *event.LotReceived) { r.Rolled = "1A" }, "rolled", "two letters"},
		"a long PO":          {func(r *event.LotReceived) { r.PO = strings.Repeat("1", 101) }, "po", "101 characters"},
		"no size":            {func(r *event.LotReceived) { r.Steel = bar.Steel{} }, "size", "is missing"},
		"no length":          {func(r *event.LotReceived) { r.Length = 0 }, "length", "is missing"},
		"a length of 2 km":   {func(r *event.LotReceived) { r.Length = 2000 * bar.Metre }, "length", "is no bar's"},
		"no bars":            {func(r *event.LotReceived) { r.Bars = 0 }, "bars", "count them"},
		"too many bars":      {func(r *event.LotReceived) { r.Bars = 1_000_001 }, "bars", "no lot"},
		"no such place":      {func(r *event.LotReceived) { r.Place = number(tags.Place, 2) }, "place", "no place of this plant"},
		"too many bundles":   {func(r *event.LotReceived) { r.Bundles = make([]event.MillBundle, 501) }, "mill_bundles", "501; 500"},
		"a nameless bundle":  {func(r *event.LotReceived) { r.Bundles[0].Number = "" }, "mill_bundles", "is empty"},
		"a bundle below 0":   {func(r *event.LotReceived) { r.Bundles[0].Bars = -1 }, "mill_bundles", "has -1 bars"},
		"a bundle too large": {func(r *event.LotReceived) { r.Bundles[0].Bars = 301 }, "mill_bundles", "has 301 bars, the lot 300"},
		"a bundle twice":     {func(r *event.LotReceived) { r.Bundles[1].Number = "B17" }, "mill_bundles", "stands there twice"},
		"a bundle again":     {func(r *event.LotReceived) { r.Bundles[1].Number = "B16" }, "mill_bundles", "came in already, as lot 2-001-00000001-16"},
		"a number of ours":   {func(r *event.LotReceived) { r.Bundles[1].Number = lot(3).Digits() }, "mill_bundles", "is a number of ours"},
		"another sum":        {func(r *event.LotReceived) { r.Bundles[1].Bars = 201 }, "bars", "is 300, the mill bundles hold 301 together"},
	} {
		t.Run(name, func(t *testing.T) {
			r := good
			r.Bundles = slices.Clone(good.Bundles)
			c.change(&r)
			_, err := heat.Receive(p, r)
			refused(t, err, c.field, c.says)
		})
	}
	good.Bundles = []event.MillBundle{{Number: "B17"}, {Number: "B18"}}
	_, err = heat.Receive(p, good)
	require.NoError(t, err, "bundles without bars need not add up")
	good.Heats = nil
	_, err = heat.Receive(p, good)
	require.NoError(t, err, "a heat may be unknown")
}

func many(n int) (out []string) {
	for i := range n {
		out = append(out, strings.Repeat("7", i%30+1)+string(rune('A'+i/30)))
	}
	return out
}

func TestCorrect(t *testing.T) {
	p := yard()
	got, err := heat.Correct(p, event.LotHeatSet{Lot: lot(5), Heats: []string{" C"}, Reason: "read again"})
	require.NoError(t, err)
	require.Equal(t, event.LotHeatSet{Lot: lot(5), Mill: mill, Heats: []string{"C"}, Reason: "read again"}, got)
	got, err = heat.Correct(p, event.LotHeatSet{Lot: lot(1), Mill: other, Reason: "tag was another's"})
	require.NoError(t, err)
	require.Equal(t, event.LotHeatSet{Lot: lot(1), Mill: other, Reason: "tag was another's"}, got, "a heat may become unknown")
	for _, c := range []struct {
		e           event.LotHeatSet
		field, says string
	}{
		{event.LotHeatSet{Lot: lot(99), Reason: "x"}, "lot", "is no lot"},
		{event.LotHeatSet{Lot: lot(11), Reason: "x"}, "lot", "is a remnant"},
		{event.LotHeatSet{Lot: lot(1), Heats: []string{""}, Reason: "x"}, "heat", "is empty"},
		{event.LotHeatSet{Lot: lot(1), Mill: strings.Repeat("m", 61), Reason: "x"}, "mill", "61 characters"},
		{event.LotHeatSet{Lot: lot(1)}, "reason", "is missing"},
		{event.LotHeatSet{Lot: lot(1), Reason: strings.Repeat("x", 501)}, "reason", "501 characters"},
	} {
		_, err := heat.Correct(p, c.e)
		refused(t, err, c.field, c.says)
	}
}

func TestFile(t *testing.T) {
	good := event.CertFiled{Mill: mill, Heat: "007", Sizes: []bar.Size{"#4", "#5"}, Spec: "A615", Type: " MTR ", Text: "C-17", Melted: "us"}
	got, err := heat.File(good)
	require.NoError(t, err)
	require.Equal(t, "007", got.Heat)
	require.Equal(t, "MTR", got.Type)
	require.Equal(t, "US", got.Melted)
	for name, c := range map[string]struct {
		change      func(*event.CertFiled)
		field, says string
	}{
		"no mill":        {func(e *event.CertFiled) { e.Mill = "" }, "mill", "is empty"},
		"no heat":        {func(e *event.CertFiled) { e.Heat = "" }, "heat", "is empty"},
		"no country":     {func(e *event.CertFiled) { e.Rolled = "USA" }, "rolled", "two letters"},
		"a long text":    {func(e *event.CertFiled) { e.Text = strings.Repeat("x", 101) }, "text", "101 characters"},
		"an odd text":    {func(e *event.CertFiled) { e.Text = "C\x0017" }, "text", "cannot be printed"},
		"a long type":    {func(e *event.CertFiled) { e.Type = strings.Repeat("x", 101) }, "type", "101 characters"},
		"an odd spec":    {func(e *event.CertFiled) { e.Spec = "A615\u200b" }, "spec", "cannot be printed"},
		"no sizes":       {func(e *event.CertFiled) { e.Sizes = nil }, "sizes", "are missing"},
		"a bare size":    {func(e *event.CertFiled) { e.Sizes = []bar.Size{"10"} }, "sizes", "is no size"},
		"the same twice": {func(e *event.CertFiled) { e.Sizes = []bar.Size{"#5", "#5"} }, "sizes", "stands there twice"},
	} {
		t.Run(name, func(t *testing.T) {
			e := good
			c.change(&e)
			_, err := heat.File(e)
			refused(t, err, c.field, c.says)
		})
	}
}

func TestHolds(t *testing.T) {
	p := yard()
	known := func(event.Target) bool { return true }
	got, err := heat.Put(p, event.HoldPut{Target: event.Target{Mill: mill + " ", Heat: " A"}, Reason: " bend  test "}, known)
	require.NoError(t, err)
	require.Equal(t, event.HoldPut{Target: event.Target{Mill: mill, Heat: "A"}, Reason: "bend test"}, got)
	for _, k := range []tags.Kind{tags.Bundle, tags.Stock, tags.Load} {
		_, err = heat.Put(p, event.HoldPut{Target: event.Target{Number: number(k, 1)}, Reason: "x"}, known)
		require.NoError(t, err)
	}
	p.holds[event.Target{Number: lot(1)}] = "rust"
	for _, c := range []struct {
		e           event.HoldPut
		field, says string
	}{
		{event.HoldPut{Target: event.Target{Number: lot(2)}}, "reason", "is missing"},
		{event.HoldPut{Target: event.Target{Number: lot(2)}, Reason: strings.Repeat("x", 501)}, "reason", "501 characters"},
		{event.HoldPut{Reason: "x"}, "target", "is not clear"},
		{event.HoldPut{Target: event.Target{Heat: "A"}, Reason: "x"}, "target", "is not clear"},
		{event.HoldPut{Target: event.Target{Mill: mill}, Reason: "x"}, "target", "is not clear"},
		{event.HoldPut{Target: event.Target{Number: lot(2), Mill: mill, Heat: "A"}, Reason: "x"}, "target", "is not clear"},
		{event.HoldPut{Target: event.Target{Mill: mill, Heat: "A\x00"}, Reason: "x"}, "heat", "cannot be printed"},
		{event.HoldPut{Target: event.Target{Number: number(tags.Place, 1)}, Reason: "x"}, "target", "is a place"},
		{event.HoldPut{Target: event.Target{Number: lot(1)}, Reason: "x"}, "target", "is held already: rust"},
	} {
		_, err := heat.Put(p, c.e, known)
		refused(t, err, c.field, c.says)
	}
	_, err = heat.Put(p, event.HoldPut{Target: event.Target{Number: lot(2)}, Reason: "x"}, func(event.Target) bool { return false })
	refused(t, err, "target", "is not known here")

	_, err = heat.Lift(p, event.HoldLifted{Target: event.Target{Number: lot(1)}, Reason: "looked at"})
	require.NoError(t, err)
	_, err = heat.Lift(p, event.HoldLifted{Target: event.Target{Number: lot(1)}})
	refused(t, err, "reason", "is missing")
	_, err = heat.Lift(p, event.HoldLifted{Target: event.Target{Number: lot(2)}, Reason: "x"})
	refused(t, err, "target", "is not held")
	_, err = heat.Lift(p, event.HoldLifted{Reason: "x"})
	refused(t, err, "target", "is not clear")
}

// TestOnHand: bars are conserved in a lot.
func TestOnHand(t *testing.T) {
	l := heat.Lot{Received: 10, Taken: 12, Over: 2}
	require.Zero(t, l.OnHand())
	l.Taken = 4
	require.Equal(t, 8, l.OnHand())
	l.Gone = true
	require.Zero(t, l.OnHand())
	require.False(t, l.Remnant())
	require.True(t, heat.Lot{Run: 1}.Remnant())
}
