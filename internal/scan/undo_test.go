package scan_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// TestUndo: each kind of progress is taken back newest first, and what was built on it stops that.
func TestUndo(t *testing.T) {
	for _, c := range []struct {
		name  string
		past  func(*past)
		n     tags.Number
		want  event.Undone
		codes []string
		wrong string // part of the refusal
	}{
		{name: "never given out", n: bundle(77), wrong: "bundle: 1-001-00000077-94 was never given out here"},
		{name: "voided", past: func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true }) }, n: bundle(11), wrong: "is voided"},
		{name: "not begun", n: bundle(11), wrong: "has no progress to undo"},
		{name: "left", past: func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), true) }, n: bundle(21), wrong: "what has left is not undone"},
		{name: "a start", past: func(p *past) { p.run("S1", []int{1}, bundle(11)) }, n: bundle(11), want: event.Undone{Seq: 100}, codes: []string{"undone"}},
		{name: "a start beside others that are not done", past: func(p *past) { p.run("S1", []int{1}, bundle(11), bundle(21)) }, n: bundle(21),
			want: event.Undone{Seq: 1100}, codes: []string{"undone"}},
		// 12 pieces of 10' are two bars.
		{name: "a start beside others that are done closes the run", past: func(p *past) {
			seq := p.run("S1", []int{1}, bundle(11), bundle(21))
			p.runs[seq].Members[0].Done = true
		}, n: bundle(21), want: event.Undone{Seq: 1100, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}, codes: []string{"undone", "run closed"}},
		{name: "a start whose run closes with a remnant and a count difference", past: func(p *past) {
			p.lot(1, func(l *heat.Lot) { l.Taken = 50 })
			seq := p.run("S1", []int{1}, bundle(11), bundle(21))
			p.runs[seq].Members[0].Done, p.runs[seq].Members[0].Pieces = true, 1
		}, n: bundle(21), want: event.Undone{Seq: 1100, Closed: closed(event.RunClosed{
			Draws: []event.Draw{{Lot: stock(1), Bars: 1, Over: 1}}, Remnants: []event.Remnant{{Lot: stock(901), Length: 50 * bar.Foot, Bars: 1}}})},
			codes: []string{"undone", "count difference", "run closed", "remnant"}},
		{name: "cut", past: func(p *past) { p.done("S1", []int{1}, bundle(11)) }, n: bundle(11), want: event.Undone{Seq: 10_100}, codes: []string{"undone"}},
		{name: "cut, and other lots lie on the feeds by now", past: func(p *past) { p.done("S1", []int{1}, bundle(11)); p.charge("S1", "B", 2, 3) }, n: bundle(11),
			want: event.Undone{Seq: 10_100, Lots: nums([]int{2})}, codes: []string{"undone"}},
		{name: "cut, of lots that a person said", past: func(p *past) {
			seq := p.done("S1", []int{1}, bundle(11))
			r := p.runs[seq]
			r.Said = true
			p.runs[seq] = r
			p.charge("S1", "B", 2)
		}, n: bundle(11), want: event.Undone{Seq: 10_100}, codes: []string{"undone"}},
		{name: "cut, of lots that a person said at the end", past: func(p *past) {
			seq := p.done("S1", []int{2}, bundle(11))
			r := p.runs[seq]
			r.Before, p.closed[seq].Lots = nums([]int{1}), nums([]int{2})
			p.runs[seq] = r
			p.charge("S1", "B", 2)
		}, n: bundle(11), want: event.Undone{Seq: 10_100, Lots: nums([]int{2})}, codes: []string{"undone"}},
		{name: "cut in a run that stays open", past: func(p *past) {
			seq := p.run("S1", []int{1}, bundle(11), bundle(21))
			p.runs[seq].Members[0].Done = true
			p.change(bundle(11), func(b *scan.Bundle) { b.Started, b.Done, b.Progress = false, 1, append(b.Progress, 2000) })
			p.cuts[2000] = event.CutDone{Run: seq, Bundle: bundle(11)}
		}, n: bundle(11), want: event.Undone{Seq: 2000}, codes: []string{"undone"}},
		{name: "cut in a run that another bundle closed", past: func(p *past) { p.done("S1", []int{1}, bundle(11), bundle(21)) }, n: bundle(11),
			wrong: "closed later, with bundle 1-001-00000021-68"},
		{name: "cut in a run that was closed as another start was taken back", past: func(p *past) {
			seq := p.done("S1", []int{1}, bundle(11))
			r := p.runs[seq]
			r.By = 30_000 // no CutDone
			p.runs[seq] = r
		}, n: bundle(11), want: event.Undone{Seq: 10_100}, codes: []string{"undone"}},
		{name: "cut where another run is open", past: func(p *past) { p.done("S1", []int{1}, bundle(11)); p.run("S1", []int{1}, bundle(12)) }, n: bundle(11), wrong: "S1 has another run open"},
		{name: "cut short, and the remainder is begun", past: func(p *past) {
			p.done("S1", []int{1}, bundle(11))
			c := p.cuts[10_100]
			c.Rest = bundle(12)
			p.cuts[10_100] = c
			p.run("S2", []int{1}, bundle(12))
		}, n: bundle(11), wrong: "its remainder 1-001-00000012-95 is begun"},
		{name: "cut, and its remnant is cut", past: func(p *past) { p.leaves(func(l *heat.Lot) { l.Taken = 1 }) }, n: bundle(11), wrong: "remnant 2-001-00000009-89 that it left is in use"},
		{name: "cut, and its remnant lies on a feed", past: func(p *past) { p.leaves(func(l *heat.Lot) { l.Feed = "S2/A" }) }, n: bundle(11), wrong: "in use"},
		{name: "cut, and its remnant lies unused", past: func(p *past) { p.leaves(func(*heat.Lot) {}) }, n: bundle(11), want: event.Undone{Seq: 10_100}, codes: []string{"undone"}},
		{name: "bend begun", past: func(p *past) { p.bending(bundle(11)) }, n: bundle(11), want: event.Undone{Seq: 20_000}, codes: []string{"undone"}},
		{name: "bent", past: func(p *past) {
			p.bending(bundle(11))
			p.change(bundle(11), func(b *scan.Bundle) { b.Started, b.Done, b.Progress = false, 2, append(b.Progress, 20_001) })
		}, n: bundle(11), want: event.Undone{Seq: 20_001}, codes: []string{"undone"}},
		{name: "loaded", past: func(p *past) {
			p.ready(bundle(21))
			p.onto(truck, bundle(21), false)
			p.change(bundle(21), func(b *scan.Bundle) { b.Progress = append(b.Progress, 20_002) })
		}, n: bundle(21), want: event.Undone{Seq: 20_002}, codes: []string{"undone"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			if c.past != nil {
				c.past(p)
			}
			u, a, err := scan.Undo(p, rules(), c.n, " scanned the  wrong one ")
			if c.wrong != "" {
				var r *event.Refusal
				require.ErrorAs(t, err, &r)
				require.Contains(t, err.Error(), c.wrong)
				return
			}
			require.NoError(t, err)
			c.want.Bundle, c.want.Reason = c.n, "scanned the wrong one"
			require.Equal(t, c.want, u)
			require.Equal(t, c.codes, codes(a))
			require.Equal(t, slices.Contains(c.codes, "count difference"), a.Verdict == event.Check)
		})
	}
	p := shop()
	p.run("S1", []int{1}, bundle(11))
	for reason, wrong := range map[string]string{"": "is missing", "  ": "is missing", strings.Repeat("x", 501): "501 characters", "a\x00b": "cannot be printed"} {
		_, _, err := scan.Undo(p, rules(), bundle(11), reason)
		require.ErrorContains(t, err, "reason: ")
		require.ErrorContains(t, err, wrong)
	}
}

// leaves makes bundle 11 cut with remnant 9 left.
func (p *past) leaves(change func(*heat.Lot)) {
	seq := p.done("S1", []int{1}, bundle(11))
	p.closed[seq].Remnants = []event.Remnant{{Lot: stock(9), Length: 20 * bar.Foot, Bars: 2}}
	l := heat.Lot{Number: stock(9), Steel: five, Length: 20 * bar.Foot, Received: 2, Run: seq, Parents: nums([]int{1})}
	change(&l)
	p.lots[l.Number] = l
}

func TestVoid(t *testing.T) {
	p := shop()
	v, err := scan.Void(p, bundle(11), "revised away")
	require.NoError(t, err)
	require.Equal(t, event.BundleVoided{Bundle: bundle(11), Reason: "revised away"}, v)
	p.run("S1", []int{1}, bundle(12))
	p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true })
	for _, c := range []struct {
		n             tags.Number
		reason, wrong string
	}{
		{bundle(77), "x", "was never given out here"},
		{bundle(11), "", "reason: is missing"},
		{bundle(11), strings.Repeat("x", 501), "reason: has 501 characters"},
		{bundle(21), "x", "is voided already"},
		{bundle(12), "x", "is begun; record its pieces as lost, or undo its progress first"},
	} {
		_, err := scan.Void(p, c.n, c.reason)
		var r *event.Refusal
		require.ErrorAs(t, err, &r)
		require.Contains(t, err.Error(), c.wrong)
	}
}

func TestBundleName(t *testing.T) {
	for want, b := range map[string]scan.Bundle{"2": {K: 2}, "2b": {K: 2, Rest: 1}, "2c": {K: 2, Rest: 2}, "7z": {K: 7, Rest: 25}} {
		require.Equal(t, want, b.Name())
	}
	p := shop()
	p.run("S1", []int{1}, bundle(11))
	a := decide(t, p, at("S1", bundle(11), pieces(7))).Answer
	says, next := scan.Say(a.Notes[1], scan.English)
	require.Equal(t, "7 of 12 pieces: the other 5 are bundle 1b, number 1-001-00000901-47.", says)
	require.Equal(t, "Print the tag of 1-001-00000901-47, and write 7 on this one.", next)
	p = shop()
	p.change(bundle(11), func(b *scan.Bundle) { b.Rest = 1 })
	p.run("S1", []int{1}, bundle(11))
	a = decide(t, p, at("S1", bundle(11), pieces(7))).Answer
	require.Equal(t, "1c", a.Notes[1].Args[3], "the remainder of 1b")
}
