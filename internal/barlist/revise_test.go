package barlist

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

var (
	truckA = num(tags.Load, 1)
	truckB = num(tags.Load, 2)
)

// tied is bundle n of a line, made to what that line says.
func tied(n, pieces int, s State, o *Old) Tied {
	t := Tied{Number: num(tags.Bundle, n), Name: fmt.Sprint(n, "/9"), Pieces: pieces, State: s, Line: o.Seq, Made: o.LineTaken}
	if s == OnTruck || s == Left {
		t.Load = truckA
	}
	return t
}

// oldLine is a line of list 1 as takenLine makes it, of 20 pieces.
func oldLine(seq uint64, list, mark string, states ...State) Old {
	l := takenLine(int(seq), "J", list, mark, 20)
	l.Route = Routes(nil).Of(l)
	o := Old{Seq: seq, LineTaken: l.taken("J", list)}
	for i, s := range states {
		o.Bundles = append(o.Bundles, tied(int(seq)*10+i+1, 10, s, &o))
	}
	return o
}

func revised(rev string, lines ...Line) File {
	f := File{SHA256: [32]byte{2}, Lines: lines}
	for i := range f.Lines {
		f.Lines[i].Revision = rev
	}
	return f
}

func longer(l Line) Line { l.Length = 12 * bar.Foot; return l }

func all(f event.Fate) Said { return Said{Decisions: []Decision{{Fate: f}}} }

// TestRevise: what becomes of each mark, and the events that say so.
func TestRevise(t *testing.T) {
	noted := takenLine(2, "J", "1", "A", 20)
	noted.Note = "top bars"
	saw := takenLine(2, "J", "1", "A", 20)
	saw.Route = []string{"saw"}
	for name, c := range map[string]struct {
		old                           []Old
		line                          Line
		said                          Said
		what                          What
		fields                        string
		asked                         int
		counted, stays, owed, surplus int
		events                        string
	}{
		"nothing":                              {[]Old{oldLine(5, "1", "A", NotBegun, Made)}, takenLine(2, "J", "1", "A", 20), Said{}, Unchanged, "", 0, 0, 0, 0, 0, "list taken"},
		"a new mark":                           {nil, takenLine(2, "J", "1", "A", 20), Said{}, Added, "", 0, 0, 0, 20, 0, "line taken, list taken"},
		"a note":                               {[]Old{oldLine(5, "1", "A", NotBegun, AtWork)}, noted, Said{}, Changed, "note", 0, 10, 10, 0, 0, "line changed, list taken"},
		"more pieces":                          {[]Old{oldLine(5, "1", "A", NotBegun, Left)}, takenLine(2, "J", "1", "A", 50), Said{}, Changed, "pieces", 0, 10, 10, 30, 0, "line changed, list taken"},
		"fewer pieces, none of them made":      {[]Old{oldLine(5, "1", "A", NotBegun, NotBegun)}, takenLine(2, "J", "1", "A", 13), Said{}, Changed, "pieces", 0, 0, 10, 3, 0, "line changed, list taken"},
		"fewer pieces, the first of them made": {[]Old{oldLine(5, "1", "A", Made, NotBegun)}, takenLine(2, "J", "1", "A", 10), Said{}, Changed, "pieces", 0, 10, 0, 0, 0, "line changed, list taken"},
		"fewer pieces than lie there": {[]Old{oldLine(5, "1", "A", Made, Made)}, takenLine(2, "J", "1", "A", 10), all(event.Scrap), Changed, "pieces", 1, 10, 0, 0, 0,
			"line changed, line decided, pieces lost, list taken"},
		"fewer pieces than went": {[]Old{oldLine(5, "1", "A", Left, Left)}, takenLine(2, "J", "1", "A", 4), all(event.Deliver), Changed, "pieces", 1, 10, 0, 0, 16, "line changed, line decided, list taken"},
		"longer, none begun":     {[]Old{oldLine(5, "1", "A", NotBegun, NotBegun)}, longer(takenLine(2, "J", "1", "A", 20)), Said{}, Changed, "length", 0, 0, 0, 20, 0, "line changed, list taken"},
		"longer, one cut: deliver": {[]Old{oldLine(5, "1", "A", Made, NotBegun)}, longer(takenLine(2, "J", "1", "A", 20)), all(event.Deliver), Changed, "length", 1, 10, 0, 10, 0,
			"line changed, line decided, list taken"},
		"longer, one cut: scrap": {[]Old{oldLine(5, "1", "A", Made, NotBegun)}, longer(takenLine(2, "J", "1", "A", 20)), all(event.Scrap), Changed, "length", 1, 0, 0, 20, 0,
			"line changed, line decided, pieces lost, list taken"},
		"longer, one cut: to stock": {[]Old{oldLine(5, "1", "A", Made, NotBegun)}, longer(takenLine(2, "J", "1", "A", 20)), all(event.ToStock), Changed, "length", 1, 0, 0, 20, 0,
			"line changed, line decided, line taken, bundle reassigned, list taken"},
		"another route": {[]Old{oldLine(5, "1", "A", Made, NotBegun)}, saw, all(event.Deliver), Changed, "route", 1, 10, 0, 10, 0, "line changed, line decided, list taken"},
		"withdrawn once, and there again": {[]Old{{Seq: 5, LineTaken: oldLine(5, "1", "A").LineTaken, Withdrawn: true, Bundles: oldLine(5, "1", "A", Left).Bundles}}, takenLine(2, "J", "1", "A", 20), Said{}, Added, "", 0, 10, 0, 10, 0,
			"line changed, list taken"},
		"taken into another list": {[]Old{{Seq: 5, LineTaken: oldLine(5, "1", "A").LineTaken, Into: "2"}}, takenLine(2, "J", "1", "A", 20), Said{}, Elsewhere, "", 0, 0, 0, 0, 0, "list taken"},
	} {
		t.Run(name, func(t *testing.T) {
			p := &takenPast{lines: map[string][]Old{"1": c.old}, stock: "YARD"}
			got, err := Take(p, revised("A", c.line), Limits{Pieces: 10}, c.said)
			require.NoError(t, err)
			x := got.Changes[0]
			var fields, kinds []string
			for _, f := range x.Fields {
				require.NotEqual(t, f.Was, f.Is)
				fields = append(fields, f.Name)
			}
			for _, e := range got.Events {
				kinds = append(kinds, e.Kind().String())
				_, err := event.Encode(event.Event{Body: e})
				require.NoError(t, err)
			}
			require.Equal(t, c.what, x.What)
			require.Equal(t, c.fields, strings.Join(fields, ", "))
			require.Len(t, x.Asked, c.asked)
			require.Equal(t, []int{c.counted, c.stays, c.owed, c.surplus}, []int{x.Counted, x.Stays, x.Owed, x.Surplus})
			require.Equal(t, c.events, strings.Join(kinds, ", "))
			closing := got.Events[len(got.Events)-1].(event.ListTaken)
			require.Equal(t, "A", closing.Revision)
			require.Equal(t, 1, closing.Lines)
			if changed, ok := got.Events[0].(event.LineChanged); ok {
				require.Equal(t, event.LineChanged{Line: 5, Taken: changed.Taken, Stay: c.stays}, changed)
				sum := 0
				for _, n := range changed.Taken.Bundles {
					sum += n
				}
				require.Equal(t, c.owed, sum)
			}
			looked, err := Look(p, revised("A", c.line), Limits{Pieces: 10}, c.said)
			require.NoError(t, err)
			require.Empty(t, looked.Events)
			require.Equal(t, got.Changes, looked.Changes)
		})
	}
}

// TestWithdraw: a mark that the file has no more falls away; with all of them, that is shouted.
func TestWithdraw(t *testing.T) {
	p := &takenPast{lines: map[string][]Old{"1": {oldLine(5, "1", "A", Made, NotBegun), oldLine(6, "1", "B", NotBegun), oldLine(7, "1", "C")}}}
	p.lines["1"][2].Withdrawn = true
	got, err := Take(p, revised("A", takenLine(2, "J", "1", "B", 20)), Limits{}, all(event.Scrap))
	require.NoError(t, err)
	require.Len(t, got.Changes, 2, "what was withdrawn before is not withdrawn again")
	require.Equal(t, Withdrawn, got.Changes[1].What)
	require.Equal(t, Count{1, 10}, got.Changes[1].In(Made))
	require.Equal(t, Count{1, 10}, got.Changes[1].In(NotBegun))
	require.Equal(t, event.LineWithdrawn{Line: 5, Revision: "A"}, got.Events[0])
	require.Equal(t, event.LineDecided{Line: 5, Bundle: num(tags.Bundle, 51), Fate: event.Scrap, Reason: "revision A of list 1"}, got.Events[1])
	require.Equal(t, event.PiecesLost{Bundle: num(tags.Bundle, 51), Pieces: 10, Why: event.Revised, Note: "revision A of list 1"}, got.Events[2])
	require.Empty(t, got.Says)

	got, err = Take(p, revised("A", takenLine(2, "J", "1", "D", 20)), Limits{}, all(event.Deliver))
	require.NoError(t, err)
	require.Contains(t, got.Says[0], "EVERY mark")
}

// TestFates is the matrix: what can be decided about a bundle, and why nothing else.
func TestFates(t *testing.T) {
	for _, c := range []struct {
		state State
		stock bool
		may   []event.Fate
		why   string
	}{
		{AtWork, true, []event.Fate{event.Deliver}, "undo its start first"},
		{Made, true, []event.Fate{event.Deliver, event.Scrap, event.ToStock}, ""},
		{Made, false, []event.Fate{event.Deliver, event.Scrap}, "make a job that is the shop's own stock"},
		{OnTruck, true, []event.Fate{event.Deliver}, "take it off first"},
		{Left, true, []event.Fate{event.Deliver}, "it left on load"},
	} {
		for _, withdrawn := range []bool{false, true} {
			for _, fate := range []event.Fate{"", event.Deliver, event.Scrap, event.ToStock} {
				t.Run(fmt.Sprintf("%s, %s, stock %v, withdrawn %v", c.state, fate, c.stock, withdrawn), func(t *testing.T) {
					p := &takenPast{lines: map[string][]Old{"1": {oldLine(5, "1", "A", c.state)}}}
					if c.stock {
						p.stock = "YARD"
					}
					line := longer(takenLine(2, "J", "1", "A", 20))
					if withdrawn {
						line.Mark = "B"
					}
					said := Said{}
					if fate != "" {
						said.Decisions = []Decision{{Bundle: num(tags.Bundle, 51), Fate: fate}}
					}
					got, err := Take(p, revised("A", line), Limits{}, said)
					if slices.Contains(c.may, fate) {
						require.NoError(t, err)
						require.True(t, slices.ContainsFunc(got.Events, func(b event.Body) bool {
							d, ok := b.(event.LineDecided)
							return ok && d.Fate == fate && d.Line == 5
						}))
						return
					}
					var u *Undecided
					require.ErrorAs(t, err, &u)
					require.Equal(t, "decide", u.Field)
					require.Contains(t, u.Says, "mark A, "+num(tags.Bundle, 51).String()+" (51/9, 10 pieces, "+string(c.state)+"): deliver")
					require.Contains(t, u.Says, c.why)
					require.Equal(t, c.may, u.Changes[0].Asked[0].May)
					var r *event.Refusal
					require.ErrorAs(t, err, &r)
					looked, err := Look(p, revised("A", line), Limits{}, said)
					require.NoError(t, err, "looking never asks")
					require.NotEmpty(t, looked.Changes)
				})
			}
		}
	}
}

// TestTakeOver: lines of an earlier list come into a new one, so that nothing is made twice.
func TestTakeOver(t *testing.T) {
	p := &takenPast{lines: map[string][]Old{"1": {oldLine(5, "1", "A", Made, NotBegun), oldLine(6, "1", "B", NotBegun), oldLine(7, "1", "C", NotBegun)}}}
	f := revised("", takenLine(2, "J", "2", "A", 30), longer(takenLine(3, "J", "2", "B", 20)), takenLine(4, "J", "2", "D", 5))
	got, err := Take(p, f, Limits{}, Said{From: "1"})
	require.NoError(t, err)
	require.Equal(t, []What{TakenOver, Added, Added}, []What{got.Changes[0].What, got.Changes[1].What, got.Changes[2].What})
	changed := got.Events[0].(event.LineChanged)
	require.Equal(t, uint64(5), changed.Line)
	require.Equal(t, "2", changed.Taken.List)
	require.Equal(t, []int{20}, changed.Taken.Bundles, "10 of 30 are cut; tags of list 1 are not good for list 2")
	require.Zero(t, changed.Stay)
	require.IsType(t, event.LineTaken{}, got.Events[1], "it is longer than that of list 1, which stays there")

	for from, says := range map[string]string{"9": "job J has no list “9”", "2": "job J has no list “2”"} {
		_, err := Take(p, f, Limits{}, Said{From: from})
		require.ErrorContains(t, err, says)
	}
	_, err = Take(p, revised("A", takenLine(2, "J", "1", "A", 30)), Limits{}, Said{From: "1"})
	require.ErrorContains(t, err, "cannot take over its own lines")

	// And back again, by name.
	p.lines["1"][0].Into = "2"
	p.lines["2"] = []Old{oldLine(8, "2", "A", NotBegun)}
	got, err = Take(p, revised("B", takenLine(2, "J", "1", "A", 30)), Limits{}, Said{From: "2"})
	require.NoError(t, err)
	require.Equal(t, TakenOver, got.Changes[0].What)
	require.Equal(t, uint64(8), got.Events[0].(event.LineChanged).Line)
}

// TestToStock: pieces that stay here get a line of the shop's own stock, one for the same things.
func TestToStock(t *testing.T) {
	p := &takenPast{stock: "YARD", lines: map[string][]Old{"1": {oldLine(5, "1", "A", Made, Made), oldLine(6, "1", strings.Repeat("B", 24), Made)}}}
	p.lots = map[string]event.LineTaken{strings.Repeat("B", 24): {Length: bar.Foot}}
	got, err := Take(p, revised("A", takenLine(2, "J", "1", "D", 20)), Limits{}, Said{Decisions: []Decision{{Fate: event.ToStock}}, Reason: "for the bridge"})
	require.NoError(t, err)
	var lines []event.LineTaken
	var seqs, to []uint64
	for i, e := range got.Events {
		switch b := e.(type) {
		case event.LineTaken:
			if b.Job == "YARD" {
				lines, seqs = append(lines, b), append(seqs, p.Head()+1+uint64(i))
			}
		case event.BundleReassigned:
			to = append(to, b.Line)
			require.Equal(t, "for the bridge", b.Reason)
		}
	}
	require.Len(t, lines, 2)
	require.Equal(t, []string{"J/1/A", strings.Repeat("B", 22) + " 2"}, []string{lines[0].Mark, lines[1].Mark}, "unique, and no longer than a mark may be")
	require.Equal(t, "of J/1/A", lines[0].Note)
	require.Empty(t, lines[0].Bundles)
	require.Equal(t, 10*bar.Foot, lines[0].Length)
	require.Equal(t, []uint64{seqs[0], seqs[0], seqs[1]}, to)

	p.lots["J/1/A"] = p.lines["1"][0].LineTaken
	got, err = Take(p, revised("A", takenLine(2, "J", "1", "D", 20)), Limits{}, all(event.ToStock))
	require.NoError(t, err)
	require.True(t, slices.ContainsFunc(got.Events, func(b event.Body) bool {
		r, ok := b.(event.BundleReassigned)
		return ok && r.Line == 7 && r.Reason == "revision A of list 1"
	}))
}

// TestTrucks: new bundles take the places of those that fall away, while pieces last.
func TestTrucks(t *testing.T) {
	old := oldLine(5, "1", "A", NotBegun, NotBegun, Made, NotBegun)
	old.Bundles[0].Planned, old.Bundles[1].Planned, old.Bundles[2].Planned = truckA, truckB, truckB
	old.Bundles[1].Stop, old.Bundles[2].Stop = 1, 1
	other := num(tags.Bundle, 90)
	p := &takenPast{lines: map[string][]Old{"1": {old}}, fresh: 100, loads: map[tags.Number]event.LoadSet{
		truckA: {Load: truckA, Truck: "T-7", Stops: []event.LoadStop{{Job: "J", Bundles: []tags.Number{old.Bundles[0].Number, other}}}},
		truckB: {Load: truckB, Stops: []event.LoadStop{{Job: "J"}, {Job: "J", Bundles: []tags.Number{old.Bundles[1].Number, old.Bundles[2].Number}}}},
	}}
	got, err := Take(p, revised("A", longer(takenLine(2, "J", "1", "A", 48))), Limits{Pieces: 12}, all(event.Scrap))
	require.NoError(t, err)
	var plans []event.LoadSet
	for _, e := range got.Events {
		if b, ok := e.(event.LoadSet); ok {
			plans = append(plans, b)
		}
	}
	n := func(i int) tags.Number { return num(tags.Bundle, i) }
	require.Equal(t, []event.LoadSet{
		{Load: truckA, Truck: "T-7", Stops: []event.LoadStop{{Job: "J", Bundles: []tags.Number{other, n(101)}}},
			Was: []event.WasPlanned{{Bundle: old.Bundles[0].Number, Load: truckA, Stop: 1}, {Bundle: n(101)}}},
		{Load: truckB, Stops: []event.LoadStop{{Job: "J"}, {Job: "J", Bundles: []tags.Number{n(102), n(103)}}},
			Was: []event.WasPlanned{{Bundle: old.Bundles[1].Number, Load: truckB, Stop: 2}, {Bundle: old.Bundles[2].Number, Load: truckB, Stop: 2}, {Bundle: n(102)}, {Bundle: n(103)}}},
	}, plans, "12 for the 10 of A, then 12 and 8 more for the 20 of B")
	require.Len(t, got.Says, 2)
	require.Contains(t, got.Says[0], truckA.String()+" is planned anew: 1 new bundle in place of 1 bundle")

	delete(p.loads, truckA) // it left
	got, err = Take(p, revised("A", longer(takenLine(2, "J", "1", "A", 48))), Limits{Pieces: 12}, all(event.Deliver))
	require.NoError(t, err)
	require.Len(t, got.Says, 1)
}

func TestDecisions(t *testing.T) {
	p := &takenPast{lines: map[string][]Old{"1": {oldLine(5, "1", "A", Made, Left)}}}
	f := revised("A", longer(takenLine(2, "J", "1", "A", 20)))
	one, two := num(tags.Bundle, 51), num(tags.Bundle, 52)
	for name, c := range map[string]struct {
		said Said
		says string
	}{
		"one of two":       {Said{Decisions: []Decision{{Bundle: one, Fate: event.Scrap}}}, two.String()},
		"none for all":     {all(event.Scrap), "it left on load"},
		"of another":       {Said{Decisions: []Decision{{Fate: event.Deliver}, {Bundle: num(tags.Bundle, 7), Fate: event.Scrap}}}, "is not asked about"},
		"twice":            {Said{Decisions: []Decision{{Bundle: one, Fate: event.Deliver}, {Bundle: one, Fate: event.Scrap}}}, "decided twice"},
		"nothing we know":  {Said{Decisions: []Decision{{Bundle: one, Fate: "melt"}}}, "“melt” is none of deliver"},
		"a reason too far": {Said{Reason: strings.Repeat("x", 501)}, "501 characters"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := Take(p, f, Limits{}, c.said)
			require.ErrorContains(t, err, c.says)
		})
	}
	got, err := Take(p, f, Limits{}, Said{Decisions: []Decision{{Fate: event.Deliver}, {Bundle: one, Fate: event.Scrap, Reason: "bent"}}})
	require.NoError(t, err, "the one that is named, and all others")
	require.Contains(t, got.Events, event.Body(event.LineDecided{Line: 5, Bundle: one, Fate: event.Scrap, Reason: "bent"}))

	_, err = Take(p, revised("0", takenLine(2, "J", "1", "A", 20)), Limits{}, Said{})
	require.ErrorContains(t, err, "revision “0” of list 1 of job J was taken from another file")

	many := &takenPast{lines: map[string][]Old{"1": {oldLine(5, "1", "A", slices.Repeat([]State{Made}, 25)...)}}}
	_, err = Take(many, f, Limits{}, Said{})
	require.ErrorContains(t, err, "and 5 more")
}

func TestParseDecision(t *testing.T) {
	n := num(tags.Bundle, 42)
	for text, want := range map[string]Decision{
		n.String() + "=deliver":               {Bundle: n, Fate: event.Deliver},
		n.Digits() + " = To Stock : for  B2 ": {Bundle: n, Fate: event.ToStock, Reason: "for B2"},
		"all=scrap":                           {Fate: event.Scrap},
		"todos=entregar":                      {Fate: event.Deliver},
	} {
		got, err := ParseDecision(text)
		require.NoError(t, err, text)
		require.Equal(t, want, got)
	}
	for text, says := range map[string]string{
		"": "is no decision", n.String(): "is no decision", "12=scrap": "no number of a bundle", truckA.String() + "=scrap": "no number of a bundle",
		n.String() + "=melt": "none of deliver", "all=scrap:\x00": "cannot be printed",
	} {
		_, err := ParseDecision(text)
		require.ErrorContains(t, err, says, text)
	}
}

func FuzzParseDecision(f *testing.F) {
	for _, s := range []string{"all=scrap", "1-001-00000042-05=deliver: a reason", "=", ":", "a=b:c", "todos=material"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := ParseDecision(s)
		if err != nil {
			require.Zero(t, d.Reason)
			return
		}
		who := "all"
		if d.Bundle != 0 {
			who = d.Bundle.String()
		}
		again, err := ParseDecision(who + "=" + string(d.Fate) + ":" + d.Reason)
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

// TestPiecesAddUp: whatever is begun and decided, what counts for a line and what is made for it are
// its pieces, and beyond that only what is said to be surplus.
func TestPiecesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		old := oldLine(5, "1", "A")
		other := old
		other.Length = 9 * bar.Foot
		for i := range rapid.IntRange(0, 6).Draw(t, "bundles") {
			o := &old
			if rapid.Bool().Draw(t, "before") {
				o = &other
			}
			b := tied(i+1, rapid.IntRange(1, 12).Draw(t, "pieces"), rapid.SampledFrom(States).Draw(t, "state"), o)
			if o == &other {
				b.Line = 4
			}
			old.Bundles = append(old.Bundles, b)
		}
		p := &takenPast{lines: map[string][]Old{"1": {old}}, stock: "YARD", fresh: 1000}
		line := takenLine(2, "J", "1", "A", rapid.IntRange(1, 60).Draw(t, "asked"))
		if rapid.Bool().Draw(t, "longer") {
			line = longer(line)
		}
		f := revised("A", line)
		looked, err := Look(p, f, Limits{Pieces: 12}, Said{})
		require.NoError(t, err)
		said := Said{}
		for _, a := range looked.Changes[0].Asked {
			said.Decisions = append(said.Decisions, Decision{Bundle: a.Number, Fate: rapid.SampledFrom(a.May).Draw(t, "fate")})
		}
		got, err := Take(p, f, Limits{Pieces: 12}, said)
		require.NoError(t, err)
		c := got.Changes[0]
		if c.What == Unchanged {
			return
		}
		live := c.Owed + c.Stays
		for _, b := range old.Bundles {
			if b.State == NotBegun {
				continue
			}
			i := slices.IndexFunc(said.Decisions, func(d Decision) bool { return d.Bundle == b.Number })
			if i < 0 || said.Decisions[i].Fate == event.Deliver {
				live += b.Pieces
			}
		}
		require.Equal(t, line.Pieces+c.Surplus, live)
	})
}
