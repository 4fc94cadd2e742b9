package rest_test

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// recalled is a shop in which something of one heat is everywhere.
type recalled struct {
	*shop
	lot, other string // of the heat, and of another
	// Bundles by mark: here, left, ready, bending, lying and both (which may be of the other heat too).
	bundles    map[string]string
	here, left string // loads
	before     uint64 // the newest record before the first load was opened
}

func openRecalled(t *testing.T) *recalled {
	s := &recalled{shop: openShop(t), bundles: map[string]string{}}
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge", ShipTo: []string{"12 Creek Rd", "Alder, OR"}}})
	require.NoError(t, err)
	text := "mark,size,length,pieces,bends\nHERE,#5,10'-0\",6,\nLEFT,#5,10'-0\",6,\nREADY,#5,10'-0\",6,\n" +
		"BEND,#5,10'-0\",6,2'-0\" [90] 8'-0\"\nLYING,#5,10'-0\",6,2'-0\" [90] 8'-0\"\nBOTH,#5,10'-0\",6,\nNOT,#5,10'-0\",6,\n"
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(text), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	for _, l := range taken.Lines {
		s.bundles[l.Mark] = l.Bundles[0]
	}
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"0123E5"}, Size: "#5", Length: "60'", Bars: 40})
	require.NoError(t, err)
	s.lot = got.Lots[0].Number
	got, err = s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"777"}, Size: "#5", Length: "60'", Bars: 40})
	require.NoError(t, err)
	s.other = got.Lots[0].Number
	_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "0123E5", Sizes: []string{"#5"}, Type: "MTR", Text: "C-17"}, "", nil)
	require.NoError(t, err)

	s.at("S1", s.lot)
	for _, mark := range []string{"HERE", "LEFT", "READY", "BEND", "LYING"} {
		require.Equal(t, "accepted: cut started", verdict(s.at("S1", s.bundles[mark])))
		require.Equal(t, "accepted: cut done", verdict(s.at("S1", s.bundles[mark])))
	}
	s.at("S1", s.other, func(x *api.Scan) { x.Feed = "B" })
	s.at("S1", s.bundles["BOTH"])
	require.Equal(t, "accepted: cut done", verdict(s.at("S1", s.bundles["BOTH"])))
	s.at("S1", s.other, func(x *api.Scan) { x.Do, x.Feed = "empty", "B" })
	require.Equal(t, "accepted: step started", verdict(s.at("B1", s.bundles["BEND"])))
	s.before = s.head()
	for _, mark := range []string{"LEFT", "HERE"} {
		planned, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Truck: "TRUCK " + mark, Limit: "40,000 lb"})
		require.NoError(t, err)
		s.at("L1", planned.Load.Number)
		require.Contains(t, verdict(s.at("L1", s.bundles[mark])), "loaded")
		if mark == "LEFT" {
			s.left = planned.Load.Number
			gone, err := s.Ship(s.ctx, s.left, api.Ship{})
			require.NoError(t, err)
			require.Equal(t, "accepted: shipped", verdict(gone))
		} else {
			s.here = planned.Load.Number
		}
	}
	return s
}

func (s *recalled) head() uint64 {
	page, err := s.Journal(s.ctx, -1, 1)
	require.NoError(s, err)
	return page.Head
}

// groups are what a recall sums up, in order.
func groups(r api.Recall) (out []string) {
	for _, g := range r.Groups {
		out = append(out, fmt.Sprintf("%s, %s: %d bundles, %d pieces, %d lots, %d bars", g.Haste, g.Sure.Sure, g.Bundles, g.Pieces, g.Lots, g.Bars))
	}
	return out
}

// 6 pieces of 10' take one bar of 60'.
func TestRecall(t *testing.T) {
	s := openRecalled(t)
	want := []string{
		"here, certain: 1 bundles, 6 pieces, 0 lots, 0 bars",
		"left, certain: 1 bundles, 6 pieces, 0 lots, 0 bars",
		"ready, certain: 1 bundles, 6 pieces, 0 lots, 0 bars",
		"ready, one of: 1 bundles, 6 pieces, 0 lots, 0 bars",
		"at work, certain: 1 bundles, 6 pieces, 0 lots, 0 bars",
		"lying, certain: 1 bundles, 6 pieces, 1 lots, 35 bars",
	}
	for _, q := range []string{"0123E5", "Example Mill 0123E5", s.lot, "C-17"} {
		r, err := s.Recall(s.ctx, q, "")
		require.NoError(t, err)
		got := groups(r)
		require.Len(t, got, len(want), q)
		require.Equal(t, want[:5], got[:5], q)
		require.Contains(t, got[5], "lying, certain: 1 bundles, 6 pieces, 1 lots", q)
		require.Equal(t, []api.Heat{{Mill: "Example Mill", Heat: "0123E5"}}, r.Heats)
		require.Len(t, r.Calls, 2)
		require.Equal(t, []string{s.here, s.left}, []string{r.Calls[0].Load, r.Calls[1].Load})
		require.Nil(t, r.Calls[0].Left)
		require.NotNil(t, r.Calls[1].Left)
		require.Equal(t, []string{"12 Creek Rd", "Alder, OR"}, r.Calls[1].ShipTo)
		require.Equal(t, "TRUCK LEFT", r.Calls[1].Truck)
		require.Equal(t, s.bundles["HERE"], r.Bundles[0].Number)
		require.Len(t, r.Unsaid, 3)
	}
	// Of the mill both heats are, so the one that may be of either is certainly of the mill.
	r, err := s.Recall(s.ctx, "Example Mill", "")
	require.NoError(t, err)
	require.Equal(t, []string{"mill Example Mill"}, r.Found)
	require.Contains(t, groups(r), "ready, certain: 2 bundles, 12 pieces, 0 lots, 0 bars")
	none, err := s.Recall(s.ctx, "nothing", "")
	require.NoError(t, err)
	require.Empty(t, none.Found)
	require.Empty(t, none.Bundles)

	b, err := s.RecallFile(s.ctx, "0123E5", "", "csv")
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+6+1)
	require.Equal(t, []string{"here", "certain", "bundle", s.bundles["HERE"]}, rows[1][:4])
	require.Equal(t, []string{"left", "certain", "bundle", s.bundles["LEFT"]}, rows[2][:4])
	b, err = s.RecallFile(s.ctx, "0123E5", "", "pdf")
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(b), "%PDF"))
}

// As of a moment before the trucks nothing was on one; the moment can be said as record or time.
func TestRecallAsOf(t *testing.T) {
	s := openRecalled(t)
	at := s.now.Format("2006-01-02 15:04")
	r, err := s.Recall(s.ctx, "0123E5", fmt.Sprint(s.before))
	require.NoError(t, err)
	require.Equal(t, s.before, r.Through)
	require.Empty(t, r.Calls)
	require.Contains(t, groups(r), "ready, certain: 3 bundles, 18 pieces, 0 lots, 0 bars")
	tr, err := s.TraceAsOf(s.ctx, s.bundles["LEFT"], fmt.Sprint(s.before))
	require.NoError(t, err)
	require.Equal(t, "cut done, S1 pocket 2", tr.Bundles[0].Where)
	now, err := s.Trace(s.ctx, s.bundles["LEFT"])
	require.NoError(t, err)
	require.Equal(t, "left on load "+s.left, now.Bundles[0].Where)
	then, err := s.BundleAsOf(s.ctx, s.bundles["LEFT"], fmt.Sprint(s.before))
	require.NoError(t, err)
	require.Equal(t, []any{"ready", ""}, []any{then.State, then.Load})
	lot, err := s.LotAsOf(s.ctx, s.lot, "3")
	require.Error(t, err, "%+v", lot)
	lot, err = s.LotAsOf(s.ctx, s.lot, at)
	require.NoError(t, err)
	require.Equal(t, 40, lot.Received)
	r, err = s.Recall(s.ctx, "0123E5", at)
	require.NoError(t, err)
	require.NotEmpty(t, r.Found)
	for moment, says := range map[string]string{
		"99999":                "is record 99999, and the newest one is",
		"2026-11-24":           "is before the first record",
		"2020-01-01T00:00:00Z": "is before the first record",
		"yesterday":            "is no moment",
	} {
		_, err := s.Recall(s.ctx, "0123E5", moment)
		var p *api.Problem
		require.ErrorAs(t, err, &p, moment)
		require.Contains(t, p.Detail, "query.as_of: "+says)
	}
}

// The account of the heat: 40 bars of 60' came in, each of the five bundles took one, and of BOTH's bar
// the record says from which lot it was drawn.
func TestAccount(t *testing.T) {
	s := openRecalled(t)
	const foot = 304_800_000 // nanometres
	a, err := s.Account(s.ctx, "0123E5", "")
	require.NoError(t, err)
	require.Zero(t, a.Bars.Over)
	require.Equal(t, int64(40*60*foot), a.Bars.SumIn.LengthNM)
	require.Equal(t, a.Bars.SumIn.LengthNM, a.Bars.SumOut.LengthNM)
	rows := map[string]int64{}
	for _, r := range a.Bars.Out {
		rows[r.What] = r.LengthNM / foot
	}
	require.Equal(t, int64(60), rows["on a truck here"])
	require.Equal(t, int64(60), rows["left"])
	require.Equal(t, int64(60), rows["ready"])
	require.Equal(t, int64(60), rows["at bend"])
	require.Equal(t, int64(60), rows["waits for bend"])
	require.Equal(t, int64(40*60-5*60), rows["on feeds"]+rows["drawn together with others"])
	require.Equal(t, "ready", a.MayBe[0].What)
	// ASTM A615 Table 1: #5 is 1.043 lb/ft; 40 x 60 ft weigh 2,503.2 lb, and 94 % of that 2,353.0.
	require.InDelta(t, 2503.2*0.45359237, a.Tolerance.NominalKG, 1e-6)
	require.InDelta(t, 2503.2*0.94*0.45359237, a.Tolerance.LeastKG, 1e-6)
	all, err := s.Account(s.ctx, "", "")
	require.NoError(t, err)
	require.Zero(t, all.Bars.Over)
	require.Equal(t, int64(80*60*foot), all.Bars.SumIn.LengthNM)
	require.Empty(t, all.MayBe)
	then, err := s.Account(s.ctx, "0123E5", fmt.Sprint(s.before))
	require.NoError(t, err)
	require.Zero(t, then.Bars.Over)
	b, err := s.AccountCSV(s.ctx, "0123E5", "")
	require.NoError(t, err)
	require.Contains(t, string(b), "bars,in,received,40,731520000000,")
	require.Contains(t, string(b), "bars,in less out,over,0,0,")
	_, err = s.Account(s.ctx, "", "3")
	require.ErrorContains(t, err, "query.q: is missing, and the account of the whole plant is of now only")
}

// What a tablet kept and what does not fit the record counts for nothing yet; a recall says so where it is
// of a recalled bundle, of its load, or from its lot.
func TestRecallSaysWhatIsDisputed(t *testing.T) {
	s := openRecalled(t)
	for _, n := range []string{s.bundles["NOT"], s.bundles["READY"], s.here} {
		_, err := s.Hold(s.ctx, api.PutHold{Target: api.Target{Number: n}, Reason: "rib height"})
		require.NoError(t, err)
	}
	counts := func(q, moment string) []int {
		r, err := s.Recall(s.ctx, q, moment)
		require.NoError(t, err)
		require.Equal(t, s.bundles["HERE"], r.Bundles[0].Number)
		return []int{r.Open, r.Disputes}
	}
	require.Equal(t, []int{0, 0}, counts("0123E5", ""))
	before := s.head()
	kept := func(key, code, station string, change func(*api.Scan)) {
		x := api.Scan{Code: code, Station: station, By: api.By{Device: key, Key: key, At: s.now}}
		change(&x)
		b, err := json.Marshal(x)
		require.NoError(t, err)
		got, err := s.Kept(s.ctx, []json.RawMessage{b})
		require.NoError(t, err)
		require.Equal(t, "disputed", got.Answers[0].Notes[0].Code)
	}
	kept("k1", s.bundles["NOT"], "S1", func(x *api.Scan) { x.Lots = []string{s.lot} })
	require.Equal(t, []int{1, 1}, counts("0123E5", ""))
	kept("k2", s.here, "L1", func(x *api.Scan) { x.Do = "ship" })
	require.Equal(t, []int{2, 2}, counts("0123E5", ""))
	kept("k3", s.bundles["READY"], "L1", func(x *api.Scan) {})
	require.Equal(t, []int{3, 3}, counts(s.lot, ""))
	require.Equal(t, []int{0, 0}, counts("0123E5", fmt.Sprint(before)))
	require.Equal(t, []int{1, 1}, counts("0123E5", fmt.Sprint(before+1)))
	open, err := s.Open(s.ctx, api.OpenFilter{}, "", 0)
	require.NoError(t, err)
	_, err = s.Resolve(s.ctx, open.Open[0].Seq, api.Resolve{Reason: "it went into the yard"})
	require.NoError(t, err)
	require.Equal(t, []int{2, 2}, counts("0123E5", ""))
}

// What a hold stops and what it cannot is said before it is put, and in the same words after.
func TestHoldSays(t *testing.T) {
	s := openRecalled(t)
	put := api.PutHold{Target: api.Target{Mill: "Example Mill", Heat: "0123E5"}, Reason: "yield below limit", DryRun: true}
	before := s.head()
	would, err := s.Hold(s.ctx, put)
	require.NoError(t, err)
	require.Equal(t, before, s.head())
	says := func(all []api.Said) (out []string) {
		for _, x := range all {
			require.NotEmpty(t, x.Spanish)
			require.NotEqual(t, x.English, x.Spanish)
			out = append(out, x.English)
		}
		return out
	}
	stops := says(would.Stops)
	require.Len(t, stops, 4)
	require.Regexp(t, `^Nothing is started from 1 lot: 3[45] bars, [\d,]+ lb\.$`, stops[0])
	require.Equal(t, []string{
		"The next step of 1 bundle (6 pieces) is refused.",
		"The loading of 2 bundles (12 pieces, 125 lb) is refused.", // 120 ft at 1.043 lb/ft
		"1 load here, " + s.here + ", may not leave: 1 bundle of it lie there. Take them off.",
	}, stops[1:])
	require.Equal(t, []string{
		"1 bundle (6 pieces) are in work now at B1: they are finished, with Check, and stop there.",
		"1 bundle (6 pieces, 63 lb) left on load " + s.left + " for 26-014, Alder Creek Bridge, 12 Creek Rd, Alder, OR: call there.",
	}, says(would.Cannot))
	put.DryRun = false
	held, err := s.Hold(s.ctx, put)
	require.NoError(t, err)
	require.Equal(t, would.Stops, held.Stops)
	require.Equal(t, would.Cannot, held.Cannot)
}

// A hold on each kind of target is shown on every answer about what it touches.
func TestHoldsAreShown(t *testing.T) {
	heat := api.Target{Mill: "Example Mill", Heat: "0123E5"}
	for _, on := range []struct {
		name   string
		target func(*recalled) api.Target
		bundle string // a bundle that it touches
		lot    bool   // and the lot
		load   string // and a load itself
	}{
		{"heat", func(*recalled) api.Target { return heat }, "READY", true, ""},
		{"lot", func(s *recalled) api.Target { return api.Target{Number: s.lot} }, "READY", true, ""},
		{"bundle", func(s *recalled) api.Target { return api.Target{Number: s.bundles["READY"]} }, "READY", false, ""},
		{"load", func(s *recalled) api.Target { return api.Target{Number: s.here} }, "HERE", false, "here"},
	} {
		t.Run(on.name, func(t *testing.T) {
			s := openRecalled(t)
			_, err := s.Hold(s.ctx, api.PutHold{Target: on.target(s), Reason: "RIB HEIGHT"})
			require.NoError(t, err)
			number := s.bundles[on.bundle]
			held := func(path string, at ...any) {
				t.Helper()
				status, _, body := s.ask("GET", path, "", "")
				require.Equal(t, 200, status, path)
				var v any
				require.NoError(t, json.Unmarshal([]byte(body), &v), path)
				require.Equal(t, true, in(v, at...), "%s: %v", path, at)
			}
			reason := func(path string) {
				t.Helper()
				status, _, body := s.ask("GET", path, "", "")
				require.Equal(t, 200, status, path)
				require.Contains(t, body, "RIB HEIGHT", path)
			}
			own := where("number", number)
			held("/api/v1/bundles/"+number, "held")
			reason("/api/v1/bundles/" + number)
			held("/api/v1/bundles?job=26-014", "bundles", own, "held")
			held("/api/v1/trace?q="+number, "bundles", own, "held")
			reason("/api/v1/trace?q=" + number)
			held("/api/v1/recall?q=0123E5", "bundles", own, "held")
			reason("/api/v1/recall?q=0123E5")
			reason("/api/v1/holds")
			for _, station := range []string{"S1", "B1", "L1"} {
				shown := s.at(station, number, func(x *api.Scan) { x.Do = "show" })
				require.NotNil(t, shown.Card, station)
				require.NotNil(t, shown.Card.Hold, station)
				require.Equal(t, "RIB HEIGHT", shown.Card.Hold.Reason)
			}
			held("/api/v1/recall?as_of="+fmt.Sprint(s.head())+"&q=0123E5", "bundles", own, "held")
			if on.lot {
				held("/api/v1/stock/"+s.lot, "held")
				held("/api/v1/stock", "stock", where("number", s.lot), "held")
				held("/api/v1/trace?q="+s.lot, "lots", where("number", s.lot), "held")
				held("/api/v1/recall?q="+s.lot, "lots", where("number", s.lot), "held")
				reason("/api/v1/stock/" + s.lot)
			}
			if on.load != "" {
				held("/api/v1/loads/"+s.here, "held")
				held("/api/v1/loads", "loads", where("number", s.here), "held")
				reason("/api/v1/loads/" + s.here)
			}
			if on.bundle == "HERE" || on.lot {
				held("/api/v1/loads/"+s.here, "bundles", where("number", s.bundles["HERE"]), "held")
			}
		})
	}
}

type match struct{ field, value string }

// where picks the thing of a list whose field has a value.
func where(field, value string) match { return match{field, value} }

// in walks into JSON: by names, and by the things of lists.
func in(v any, at ...any) any {
	for _, step := range at {
		switch step := step.(type) {
		case string:
			m, _ := v.(map[string]any)
			v = m[step]
		case match:
			list, _ := v.([]any)
			v = nil
			for _, one := range list {
				if m, _ := one.(map[string]any); m[step.field] == step.value {
					v = one
				}
			}
		}
	}
	return v
}
