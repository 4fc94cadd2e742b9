package load_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// past has jobs J and K, and loads 1 and 2; load 3 has left.
type past struct {
	bundles []load.Bundle
	planned map[tags.Number]int // stop of what is planned on load 1
	aboard  []tags.Number       // on load 1
}

func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func bundle(n int) tags.Number { return number(tags.Bundle, n) }
func truck(n int) tags.Number  { return number(tags.Load, n) }

// shop has of job J list 3 mark A the bundles 1 and 2, of mark B 3 (planned on load 2), 4 (voided), 5
// (left on load 3), 6 (on load 2) and 7 (planned on load 3, which left without it); of job K 8; of J list
// 4 mark A 9, which is planned at stop 1 of load 1 and lies on it.
func shop() past {
	a, b := load.Line{Job: "J", List: "3", Mark: "A"}, load.Line{Job: "J", List: "3", Mark: "B"}
	return past{
		bundles: []load.Bundle{
			{Number: bundle(1), Line: a}, {Number: bundle(2), Line: a},
			{Number: bundle(3), Line: b, Load: truck(2)}, {Number: bundle(4), Line: b, Gone: "is voided"},
			{Number: bundle(5), Line: b, Gone: "left on load 7"}, {Number: bundle(6), Line: b, On: truck(2)},
			{Number: bundle(7), Line: b, Load: truck(3)},
			{Number: bundle(8), Line: load.Line{Job: "K", List: "3", Mark: "A"}},
			{Number: bundle(9), Line: load.Line{Job: "J", List: "4", Mark: "A"}, Load: truck(1), On: truck(1)},
		},
		planned: map[tags.Number]int{bundle(9): 0}, aboard: []tags.Number{bundle(9)},
	}
}

func (past) HasJob(j string) bool { return j == "J" || j == "K" }

func (past) Load(n tags.Number) (load.Load, bool) {
	l := load.Load{Number: n}
	if n == truck(3) {
		l.Shipped = 1
	}
	return l, n != 0 && n.Serial() <= 3
}

func (p past) ToPlan(n tags.Number) (load.Bundle, bool) {
	i := slices.IndexFunc(p.bundles, func(b load.Bundle) bool { return b.Number == n })
	if i < 0 {
		return load.Bundle{}, false
	}
	return p.bundles[i], true
}

func (p past) ToPlanOf(l load.Line) (out []load.Bundle) {
	for _, b := range p.bundles {
		if b.Line == l || l.Mark == "" && b.Line.Job == l.Job && b.Line.List == l.List {
			out = append(out, b)
		}
	}
	return out
}

func (p past) Spots(n tags.Number) (out []load.Spot) {
	for b, stop := range p.planned {
		if n == truck(1) {
			out = append(out, load.Spot{Bundle: b, Stop: stop})
		}
	}
	slices.SortFunc(out, load.Spot.Compare)
	return out
}

func (p past) Loaded(n tags.Number, f func(tags.Number) bool) {
	for _, b := range p.aboard {
		if n == truck(1) && !f(b) {
			return
		}
	}
}

func at(job string, more ...func(*load.StopPlan)) load.StopPlan {
	s := load.StopPlan{Stop: load.Stop{Job: job}}
	for _, m := range more {
		m(&s)
	}
	return s
}

func named(ns ...int) func(*load.StopPlan) {
	return func(s *load.StopPlan) { s.Bundles = append(s.Bundles, bundles(ns...)...) }
}

func bundles(ns ...int) (out []tags.Number) {
	for _, n := range ns {
		out = append(out, bundle(n))
	}
	return out
}

func lines(list string, marks ...string) func(*load.StopPlan) {
	return func(s *load.StopPlan) {
		for _, m := range marks {
			s.Lines = append(s.Lines, load.Line{List: list, Mark: m})
		}
	}
}

// TestSetRefuses: what no plan may have, by the field at fault.
func TestSetRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change      func(*load.Plan)
		field, says string
	}{
		"left already":        {func(p *load.Plan) { p.Load = truck(3) }, "load", "left already"},
		"no day":              {func(p *load.Plan) { p.Date = "25.11.2026" }, "date", "is no day"},
		"no day of a month":   {func(p *load.Plan) { p.Date = "2026-02-30" }, "date", "is no day"},
		"no time of day":      {func(p *load.Plan) { p.Leaves = "6.30" }, "leaves", "is no time of day"},
		"a time of no day":    {func(p *load.Plan) { p.Date = "" }, "date", "is missing"},
		"a limit below 0":     {func(p *load.Plan) { p.Limit = -1 }, "limit", "less than nothing"},
		"a long truck":        {func(p *load.Plan) { p.Truck = strings.Repeat("x", 101) }, "truck", "101 characters"},
		"no stops":            {func(p *load.Plan) { p.Stops = nil }, "stops", "are missing"},
		"51 stops":            {func(p *load.Plan) { p.Stops = make([]load.StopPlan, 51) }, "stops", "50 are the most"},
		"2,001 bundles":       {func(p *load.Plan) { p.Stops[0] = at("J", lines("many", "")) }, "bundles", "2000 are the most"},
		"a long address":      {func(p *load.Plan) { p.Stops[0].ShipTo = make([]string, 7) }, "stops[0].ship_to", "7 lines"},
		"long addresses":      {func(p *load.Plan) { p.Stops = long() }, "stops", "12000 are the most"},
		"a window backwards":  {func(p *load.Plan) { p.Stops[0].From, p.Stops[0].Until = "11:00", "07:00" }, "stops[0].until", "is not after"},
		"neither job nor who": {func(p *load.Plan) { p.Stops[0].Job = "" }, "stops[0].job", "is missing"},
		"a job not known":     {func(p *load.Plan) { p.Stops[0].Job = "L" }, "stops[0].job", `stop 1: job "L" is not known`},
		"no bundle":           {func(p *load.Plan) { named(99)(&p.Stops[0]) }, "stops[0].bundles", "is no bundle of this plant"},
		"another job's":       {func(p *load.Plan) { named(8)(&p.Stops[0]) }, "stops[0].bundles", "is for job K, and stop 1 is for J"},
		"no stop's":           {func(p *load.Plan) { p.Bundles = bundles(8) }, "bundles", "is for job K, and no stop is"},
		"voided":              {func(p *load.Plan) { named(4)(&p.Stops[0]) }, "stops[0].bundles", "00000004-22 is voided"},
		"left before":         {func(p *load.Plan) { named(5)(&p.Stops[0]) }, "stops[0].bundles", "left on load 7"},
		"on another truck":    {func(p *load.Plan) { named(6)(&p.Stops[0]); p.Move = true }, "stops[0].bundles", "lies on load 4-001-00000002"},
		"twice":               {func(p *load.Plan) { p.Bundles = bundles(1) }, "bundles", "stands there twice"},
		"planned elsewhere":   {func(p *load.Plan) { named(3)(&p.Stops[0]) }, "stops[0].bundles", "is planned on load 4-001-00000002"},
		"a line not known":    {func(p *load.Plan) { lines("3", "Z")(&p.Stops[0]) }, "stops[0].lines", "J / 3 / Z is not known"},
		"a list not known":    {func(p *load.Plan) { lines("9", "")(&p.Stops[0]) }, "stops[0].lines", "J / 9 is not known"},
		"a line without list": {func(p *load.Plan) { lines("", "A")(&p.Stops[0]) }, "stops[0].lines", "names no line"},
		"a line twice":        {func(p *load.Plan) { lines("3", "B", "B")(&p.Stops[0]) }, "stops[0].lines", "stands there twice"},
		"another job's line": {func(p *load.Plan) {
			p.Stops[0].Lines = []load.Line{{Job: "K", List: "3", Mark: "A"}}
		}, "stops[0].lines", "is for job K, and stop 1 is for J"},
	} {
		t.Run(name, func(t *testing.T) {
			s := shop()
			for range 2001 {
				s.bundles = append(s.bundles, load.Bundle{Number: bundle(100 + len(s.bundles)), Line: load.Line{Job: "J", List: "many", Mark: "M"}})
			}
			p := load.Plan{Load: truck(1), Date: "2026-11-25", Leaves: "06:30", Stops: []load.StopPlan{at("J", named(1))}}
			c.change(&p)
			_, err := load.Set(s, p)
			var r *event.Refusal
			require.ErrorAs(t, err, &r)
			require.Equal(t, c.field, r.Field)
			require.Contains(t, r.Says, c.says)
		})
	}
}

func long() (out []load.StopPlan) {
	for range 25 {
		s := at("J")
		for range 6 {
			s.ShipTo = append(s.ShipTo, strings.Repeat("x", 100))
		}
		out = append(out, s)
	}
	return out
}

// TestSet: what a plan resolves to, what it moves, and what stays off it.
func TestSet(t *testing.T) {
	none, on1, on2 := [2]int{}, [2]int{1, 1}, [2]int{2, 1}
	for name, c := range map[string]struct {
		plan   load.Plan
		stops  [][]int
		was    map[int][2]int // load and stop before of what moves; 0 none
		out    map[string][]int
		aboard []int
	}{
		"by name, in the order named": {load.Plan{Stops: []load.StopPlan{at("J", named(2, 1))}}, [][]int{{2, 1}}, map[int][2]int{1: none, 2: none, 9: on1}, nil, []int{9}},
		"at the first stop of its job": {load.Plan{Bundles: bundles(8, 1), Stops: []load.StopPlan{at("K"), at("J"), at("J")}},
			[][]int{{8}, {1}, {}}, map[int][2]int{8: none, 1: none, 9: on1}, nil, []int{9}},
		"a line": {load.Plan{Stops: []load.StopPlan{at("J", lines("3", "A"))}}, [][]int{{1, 2}}, map[int][2]int{1: none, 2: none, 9: on1}, nil, []int{9}},
		"what of a line stays off": {load.Plan{Stops: []load.StopPlan{at("J", lines("3", "B"))}}, [][]int{{7}}, map[int][2]int{7: {3, 1}, 9: on1},
			map[string][]int{"planned": {3}, "loaded": {6}, "gone": {4, 5}}, []int{9}},
		"a line that moves": {load.Plan{Move: true, Stops: []load.StopPlan{at("J", lines("3", "B"))}}, [][]int{{3, 7}}, map[int][2]int{3: on2, 7: {3, 1}, 9: on1},
			map[string][]int{"loaded": {6}, "gone": {4, 5}}, []int{9}},
		"the rest of a list is what no other truck has, also with move": {load.Plan{Move: true, Stops: []load.StopPlan{at("J", lines("3", ""))}},
			[][]int{{1, 2, 7}}, map[int][2]int{1: none, 2: none, 7: {3, 1}, 9: on1}, map[string][]int{"planned": {3}, "loaded": {6}, "gone": {4, 5}}, []int{9}},
		"the rest leaves what the plan names elsewhere": {load.Plan{Stops: []load.StopPlan{at("J", lines("3", "")), at("J", lines("3", "A")), at("J", named(2))}},
			[][]int{{7}, {1}, {2}}, map[int][2]int{7: {3, 1}, 1: none, 2: none, 9: on1}, map[string][]int{"planned": {3}, "loaded": {6}, "gone": {4, 5}}, []int{9}},
		"by name with move":             {load.Plan{Move: true, Stops: []load.StopPlan{at("J", named(3))}}, [][]int{{3}}, map[int][2]int{3: on2, 9: on1}, nil, []int{9}},
		"as it was":                     {load.Plan{Stops: []load.StopPlan{at("J", named(9))}}, [][]int{{9}}, map[int][2]int{}, nil, nil},
		"to another stop":               {load.Plan{Stops: []load.StopPlan{at("K"), at("J", named(9))}}, [][]int{{}, {9}}, map[int][2]int{9: on1}, nil, nil},
		"a load without a list":         {load.Plan{Stops: []load.StopPlan{at("J")}}, [][]int{{}}, map[int][2]int{9: on1}, nil, nil},
		"any job's, to a processor":     {load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Processor: "Coater"}, Bundles: bundles(1, 8)}}}, [][]int{{1, 8}}, map[int][2]int{1: none, 8: none, 9: on1}, nil, []int{9}},
		"one job's only at a processor": {load.Plan{Bundles: bundles(8), Stops: []load.StopPlan{{Stop: load.Stop{Job: "J", Processor: "Coater"}}, at("K")}}, [][]int{{}, {8}}, map[int][2]int{8: none, 9: on1}, nil, []int{9}},
	} {
		t.Run(name, func(t *testing.T) {
			c.plan.Load = truck(1)
			got, err := load.Set(shop(), c.plan)
			require.NoError(t, err)
			for i, want := range c.stops {
				require.Equal(t, bundles(want...), got.Set.Stops[i].Bundles, "stop %d", i+1)
			}
			was := map[int][2]int{}
			for _, w := range got.Set.Was {
				was[w.Bundle.Serial()] = [2]int{w.Load.Serial(), w.Stop}
			}
			require.Equal(t, c.was, was)
			require.Len(t, load.Moves(got.Set), len(was))
			out := map[string][]int{}
			for _, o := range got.Out {
				why := "gone"
				if o.Planned {
					why = "planned"
				} else if o.Load != 0 {
					why = "loaded"
				}
				for _, n := range o.Bundles {
					out[why] = append(out[why], n.Serial())
				}
			}
			if c.out == nil {
				c.out = map[string][]int{}
			}
			require.Equal(t, c.out, out)
			require.Equal(t, bundles(c.aboard...), got.Aboard)
		})
	}
}

// TestSetAll: plans that are stated at once know of one another.
func TestSetAll(t *testing.T) {
	rest := []load.StopPlan{at("J", lines("3", ""))}
	all, _, err := load.SetAll(shop(), []load.Plan{{Load: truck(1), Stops: []load.StopPlan{at("J", named(1))}}, {Load: truck(8), Stops: rest}, {Load: truck(9), Stops: rest}})
	require.NoError(t, err)
	require.Equal(t, bundles(2, 7), all[1].Set.Stops[0].Bundles)
	require.Empty(t, all[2].Set.Stops[0].Bundles)

	same := []load.StopPlan{at("J", named(1))}
	_, i, err := load.SetAll(shop(), []load.Plan{{Load: truck(8), Stops: same}, {Load: truck(9), Stops: same}})
	require.ErrorContains(t, err, "is planned on load 4-001-00000008")
	require.Equal(t, 1, i)

	all, _, err = load.SetAll(shop(), []load.Plan{{Load: truck(8), Stops: same}, {Load: truck(9), Stops: same, Move: true}, {Load: truck(8), Stops: []load.StopPlan{at("J")}}})
	require.NoError(t, err)
	require.Equal(t, []event.WasPlanned{{Bundle: bundle(1), Load: truck(8), Stop: 1}}, all[1].Set.Was)
	require.Empty(t, all[2].Set.Was)
}

// TestSetIsOneOf: whatever is asked, a plan has no bundle twice, and nothing that cannot go; what is
// there already, stated again, moves nothing.
func TestSetIsOneOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := load.Plan{Load: truck(1), Move: rapid.Bool().Draw(t, "move")}
		for range rapid.IntRange(1, 3).Draw(t, "stops") {
			s := at(rapid.SampledFrom([]string{"J", "K"}).Draw(t, "job"))
			s.Bundles = bundles(rapid.SliceOfN(rapid.IntRange(1, 9), 0, 2).Draw(t, "bundles")...)
			lines(rapid.SampledFrom([]string{"3", "4"}).Draw(t, "list"), rapid.SliceOfN(rapid.SampledFrom([]string{"A", "B", ""}), 0, 2).Draw(t, "marks")...)(&s)
			p.Stops = append(p.Stops, s)
		}
		s := shop()
		got, err := load.Set(s, p)
		if err != nil {
			return
		}
		seen := map[tags.Number]bool{}
		s.planned = map[tags.Number]int{}
		again := load.Plan{Load: truck(1)}
		for i, stop := range got.Set.Stops {
			again.Stops = append(again.Stops, load.StopPlan{Stop: load.Stop{Job: stop.Job}, Bundles: stop.Bundles})
			for _, n := range stop.Bundles {
				b, _ := s.ToPlan(n)
				require.False(t, seen[n])
				require.Empty(t, b.Gone)
				require.True(t, b.On == 0 || b.On == truck(1))
				seen[n], s.planned[n] = true, i
				for j := range s.bundles {
					if s.bundles[j].Number == n {
						s.bundles[j].Load, s.bundles[j].Stop = truck(1), i
					}
				}
			}
		}
		same, err := load.Set(s, again)
		require.NoError(t, err)
		require.Empty(t, same.Set.Was)
	})
}

func TestLoad(t *testing.T) {
	l := load.Load{Stops: []load.Stop{{Job: "J"}, {Job: "K"}, {Job: "J"}, {Processor: "Coater"}}}
	require.Equal(t, []string{"J", "K", "Coater"}, l.Jobs())
	require.Equal(t, 1, l.Stop("K"))
	require.Equal(t, 3, l.Stop("L"))
	require.True(t, l.For("L"))
	l.Stops = l.Stops[:3]
	require.False(t, l.For("L"))
	require.Equal(t, "planned", l.State())
	l.Count = 1
	require.Equal(t, "open", l.State())
	l.Shipped = 1
	require.Equal(t, "shipped", l.State())
}

// TestLeaving: 2026-11-26 is Thanksgiving, the 28th a Saturday.
func TestLeaving(t *testing.T) {
	c := load.Calendar{Zone: chicago, Shifts: []load.Shift{day}, Closed: []string{"2026-11-26"}}
	for _, s := range []struct {
		date, leaves, at string
		said             bool
	}{
		{"2026-11-25", "06:30", "2026-11-25 06:30", true},
		{"2026-11-25", "", "2026-11-25 15:00", false},
		{"2026-11-26", "", "2026-11-26 00:00", false},
		{"2026-11-28", "", "2026-11-28 00:00", false},
		{"2026-03-08", "05:00", "2026-03-08 05:00", true}, // the clock went forward at 2
		{"", "", "", false},
	} {
		at, said := load.Load{Date: s.date, Leaves: s.leaves}.Leaving(c)
		require.Equal(t, s.said, said, s)
		if s.at == "" {
			require.True(t, at.IsZero())
			continue
		}
		require.Equal(t, s.at, at.In(chicago).Format("2006-01-02 15:04"), s)
	}
	_, ok := load.Clock("24:00")
	require.False(t, ok)
	d, ok := load.Clock("23:59")
	require.True(t, ok)
	require.Equal(t, 24*time.Hour-time.Minute, d)
}
