package scan_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func init() { table = append(table, lostTable...) }

func why(w string) func(*scan.Scan) { return func(s *scan.Scan) { s.Why = w } }

// kin changes what a bundle keeps of its kin.
func (p *past) kin(n tags.Number, change func(*scan.Kin)) {
	p.change(n, func(b *scan.Bundle) {
		b.Kin = &scan.Kin{}
		change(b.Kin)
	})
}

func lost(n tags.Number, pieces int, why event.Loss, rest, owed int) []event.Body {
	e := event.PiecesLost{Bundle: n, Pieces: pieces, Why: why, Owed: owed}
	if rest > 0 {
		e.Rest = bundle(rest)
	}
	return []event.Body{e}
}

// lostTable is what is said of lost pieces at a station. All bundles are of 12 pieces.
var lostTable = []one{
	{"miscut", func(p *past) { p.ready(bundle(21)) }, at("S1", bundle(21), do(scan.Lost), pieces(2), why("miscut")), yes,
		[]string{"pieces lost", "replacement"}, lost(bundle(21), 2, event.Miscut, 901, 2)},
	{"a sample, at the bender", func(p *past) { p.bending(bundle(11)) }, at("B1", bundle(11), do(scan.Lost), pieces(1), why("sample")), yes,
		[]string{"pieces lost", "replacement"}, lost(bundle(11), 1, event.Sample, 901, 1)},
	{"miscut while it is being cut", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Lost), pieces(2), why("miscut")), yes,
		[]string{"pieces lost", "replacement"}, lost(bundle(11), 2, event.Miscut, 901, 2)},
	{"all while it is being cut", func(p *past) { p.run("S1", []int{1}, bundle(11)) }, at("S1", bundle(11), do(scan.Lost), pieces(12), why("miscut")), refused,
		[]string{"would be none"}, nil},
	{"all of them", func(p *past) { p.ready(bundle(21)) }, at("Y1", bundle(21), do(scan.Lost), pieces(12), why("damaged")), yes,
		[]string{"all lost", "replacement"}, lost(bundle(21), 12, event.Damaged, 901, 12)},
	{"for a revision nothing is owed", func(p *past) { p.ready(bundle(21)) }, at("Y1", bundle(21), do(scan.Lost), pieces(3), why("revised")), yes,
		[]string{"pieces lost"}, lost(bundle(21), 3, event.Revised, 0, 0)},
	{"at the site", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Lost), pieces(3), why("site")), check,
		[]string{"pieces lost", "replacement", "lost after it left"}, lost(bundle(21), 3, event.Site, 901, 3)},
	{"at the site, of what was never scanned as cut", func(p *past) { p.onto(truck, bundle(21), true) }, at("Y1", bundle(21), do(scan.Lost), pieces(3), why("site")), check,
		[]string{"pieces lost", "replacement", "lost after it left"}, nil},
	{"on a truck that is here", func(p *past) { p.ready(bundle(21)); p.onto(truck, bundle(21), false) }, at("L1", bundle(21), do(scan.Lost), pieces(3), why("damaged")), refused,
		[]string{"on the truck"}, nil},
	{"not begun", nil, at("S1", bundle(21), do(scan.Lost), pieces(2), why("miscut")), refused, []string{"nothing made"}, refusal(bundle(21))},
	{"no reason", func(p *past) { p.ready(bundle(21)) }, at("S1", bundle(21), do(scan.Lost), pieces(2), why("gone off")), refused, []string{"no such loss"}, nil},
	{"no count", func(p *past) { p.ready(bundle(21)) }, at("S1", bundle(21), do(scan.Lost), why("miscut")), refused, []string{"how many lost"}, nil},
	{"more than there are", func(p *past) { p.ready(bundle(21)) }, at("S1", bundle(21), do(scan.Lost), pieces(13), why("miscut")), refused, []string{"not so many"}, nil},
	{"of a lot", nil, at("S1", stock(1), do(scan.Lost), pieces(1), why("miscut")), refused, []string{"not for this"}, nil},
	{"misbent of those that are bent", func(p *past) {
		p.done("S1", []int{1}, bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
	},
		at("B1", bundle(11), do(scan.Lost), pieces(5), why("misbent")), yes, []string{"pieces lost", "replacement"}, nil},
	{"misbent, and not so many are bent", func(p *past) {
		p.done("S1", []int{1}, bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
	},
		at("B1", bundle(11), do(scan.Lost), pieces(6), why("misbent")), refused, []string{"part done"}, nil},
	{"damaged of those that wait for the bender", func(p *past) {
		p.done("S1", []int{1}, bundle(11))
		p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 })
	},
		at("B1", bundle(11), do(scan.Lost), pieces(7), why("damaged")), yes, []string{"pieces lost", "replacement"}, nil},
	{"miscut, and not so many are cut", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Made = 5 }) },
		at("S1", bundle(11), do(scan.Lost), pieces(6), why("miscut")), refused, []string{"part done"}, nil},

	{"what is lost cannot be cut", func(p *past) {
		p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true })
		p.kin(bundle(11), func(k *scan.Kin) { k.Lost = 12 })
	}, at("S1", bundle(11)), refused, []string{"all are lost"}, nil},
	{"what is lost, shown", func(p *past) {
		p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true })
		p.kin(bundle(11), func(k *scan.Kin) { k.Lost = 12 })
	}, at("S1", bundle(11), do(scan.Show)), yes, []string{"found lost"}, none},
	{"what was merged cannot be loaded", func(p *past) {
		p.opened(truck)
		p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true })
		p.kin(bundle(21), func(k *scan.Kin) { k.Into = bundle(22) })
	}, at("L1", bundle(21)), refused, []string{"merged"}, nil},
	{"what was merged, shown", func(p *past) {
		p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true })
		p.kin(bundle(21), func(k *scan.Kin) { k.Into = bundle(22) })
	}, at("L1", bundle(21), do(scan.Show)), yes, []string{"found merged"}, none},

	// 9 more pieces of 10' beside 3 that were miscut in the run: 12 of them are two bars of 60'.
	{"cut, with lost pieces in the run", func(p *past) { p.losing(3) }, at("S1", bundle(11)), yes, []string{"cut done", "run closed"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 9, Asked: 9, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},
	{"counted elsewhere, with lost pieces in the run", func(p *past) { p.losing(3); p.charge("S2", "A", 2) }, at("S2", bundle(11), pieces(9)), check,
		[]string{"cut done", "run closed", "started elsewhere"},
		[]event.Body{event.CutDone{Run: 100, Bundle: bundle(11), Pieces: 9, Asked: 9, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})}}},

	{"a copy of the tag that was lost", func(p *past) {
		p.kin(bundle(11), func(k *scan.Kin) { k.Mislaid = 2 })
		p.change(bundle(11), func(b *scan.Bundle) { b.Copy = 3 })
	},
		at("S1", bundle(11), tag(tags.Tag{Copy: 2, Count: 12})), check, []string{"cut started", "into pocket", "lost copy"}, nil},
	{"the copy after it", func(p *past) {
		p.kin(bundle(11), func(k *scan.Kin) { k.Mislaid = 2 })
		p.change(bundle(11), func(b *scan.Bundle) { b.Copy = 3 })
	},
		at("S1", bundle(11), tag(tags.Tag{Copy: 3, Count: 12})), yes, []string{"cut started", "into pocket"}, nil},
}

// losing makes bundle 11 one that is being cut, with so many pieces lost in its run.
func (p *past) losing(n int) {
	seq := p.run("S1", []int{1}, bundle(11))
	p.runs[seq].Members[0].Lost = n
	p.kin(bundle(11), func(k *scan.Kin) { k.Lost = n })
	p.change(bundle(11), func(b *scan.Bundle) {
		b.Pieces -= n
		b.Progress = append(b.Progress, 60_000)
	})
	p.bodies[60_000] = event.PiecesLost{Bundle: bundle(11), Pieces: n, Rest: bundle(12), Owed: n}
}

// TestLose: at a desk the same is refused in the same words, with the field that is wrong.
func TestLose(t *testing.T) {
	for _, c := range []struct {
		name, field, says string
		past              func(*past)
		n                 tags.Number
		loss              scan.Loss
	}{
		{"never given out", "bundle", "never given out", nil, bundle(77), scan.Loss{Pieces: 1, Why: event.Miscut}},
		{"a note too long", "note", "501 characters", nil, bundle(21), scan.Loss{Pieces: 1, Why: event.Miscut, Note: strings.Repeat("x", 501)}},
		{"voided", "bundle", "was voided", func(p *past) { p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true }) }, bundle(21), scan.Loss{Pieces: 1, Why: event.Miscut}},
		{"no reason", "why", "miscut, misbent, sample", nil, bundle(21), scan.Loss{Pieces: 1}},
		{"no count", "pieces", "how many", nil, bundle(21), scan.Loss{Why: event.Miscut}},
		{"not begun", "bundle", "void it, or change the list", nil, bundle(21), scan.Loss{Pieces: 1, Why: event.Miscut}},
		{"too many", "pieces", "M2 1/2 has 12 pieces; 13 cannot be lost", func(p *past) { p.ready(bundle(21)) }, bundle(21), scan.Loss{Pieces: 13, Why: event.Miscut}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			if c.past != nil {
				c.past(p)
			}
			_, err := scan.Lose(p, rules(), c.n, c.loss)
			var r *event.Refusal
			require.ErrorAs(t, err, &r)
			require.Equal(t, c.field, r.Field)
			require.Contains(t, strings.ToLower(r.Says), strings.ToLower(c.says))
		})
	}
	p := shop()
	p.ready(bundle(21))
	out, err := scan.Lose(p, rules(), bundle(21), scan.Loss{Pieces: 2, Why: event.Damaged, Note: " fork  lift ", Settled: true})
	require.NoError(t, err)
	require.Equal(t, []event.Body{event.PiecesLost{Bundle: bundle(21), Pieces: 2, Why: event.Damaged, Note: "fork lift"}}, out.Events)
	require.Equal(t, []string{"pieces lost"}, codes(out.Answer))
}

// TestSplit: what is parted, and what cannot be.
func TestSplit(t *testing.T) {
	p := shop()
	p.ready(bundle(21))
	p.hold(event.Target{Number: bundle(21)})
	out, err := scan.Split(p, rules(), bundle(21), []int{4, 3}, "two trucks")
	require.NoError(t, err)
	require.Equal(t, []event.Body{
		event.BundleSplit{Bundle: bundle(21), Into: []event.Part{{Number: bundle(901), Pieces: 4}, {Number: bundle(902), Pieces: 3}}, Reason: "two trucks"},
		event.HoldPut{Target: event.Target{Number: bundle(901)}, Reason: "rib height"}, event.HoldPut{Target: event.Target{Number: bundle(902)}, Reason: "rib height"},
	}, out.Events)
	require.Equal(t, []string{"split", "part", "part", "parts held"}, codes(out.Answer))
	says, next := scan.Say(out.Answer.Notes[2], scan.English)
	require.Equal(t, "3 pieces are bundle 1c, number "+bundle(902).String()+". Print the tag of "+bundle(902).String()+".", says+" "+next)
	noGaps(t, out.Answer)

	for says, change := range map[string]func(*past) []int{
		"bundle: 1-001-00000021-68 is on load":                      func(p *past) []int { p.ready(bundle(21)); p.onto(truck, bundle(21), false); return []int{1} },
		"what has left is not tied anew here":                       func(p *past) []int { p.ready(bundle(21)); p.onto(truck, bundle(21), true); return []int{1} },
		"is at work (cut, at S1)":                                   func(p *past) []int { p.run("S1", []int{1}, bundle(21)); return []int{1} },
		"is part done (5 of 12, cut)":                               func(p *past) []int { p.change(bundle(21), func(b *scan.Bundle) { b.Made = 5 }); return []int{1} },
		"was voided":                                                func(p *past) []int { p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true }); return []int{1} },
		"pieces: are missing":                                       func(p *past) []int { return nil },
		"pieces: are for 51 bundles; 50 are the most":               func(p *past) []int { return make([]int, 51) },
		"pieces: of a new bundle are 0; 1 is the least":             func(p *past) []int { return []int{1, 0} },
		"pieces: are all of the 12 that 1-001-00000021-68 has, or ": func(p *past) []int { return []int{6, 6} },
	} {
		p := shop()
		_, err := scan.Split(p, rules(), bundle(21), change(p), "x")
		var r *event.Refusal
		require.ErrorAs(t, err, &r, says)
		require.Contains(t, err.Error(), says)
	}
	_, err = scan.Split(shop(), rules(), bundle(77), []int{1}, "")
	require.ErrorContains(t, err, "never given out")
	_, err = scan.Split(shop(), rules(), bundle(21), []int{1}, "a\x00b")
	require.ErrorContains(t, err, "cannot be printed")
}

// TestMerge: what is tied together, and what cannot be.
func TestMerge(t *testing.T) {
	both := func(p *past) { p.done("S1", []int{1}, bundle(21)); p.done("S1", []int{2}, bundle(22)) }
	p := shop()
	both(p)
	out, err := scan.Merge(p, rules(), scan.Merging{Into: bundle(21), From: []tags.Number{bundle(22)}, Reason: "one crane lift"})
	require.NoError(t, err)
	require.Equal(t, []event.Body{event.BundlesMerged{Into: bundle(21), From: []tags.Number{bundle(22)}, Pieces: 24, Reason: "one crane lift"}}, out.Events)
	require.Equal(t, []string{"merged into"}, codes(out.Answer))
	noGaps(t, out.Answer)

	m := scan.Merging{Into: bundle(21), From: []tags.Number{bundle(22)}}
	for says, change := range map[string]func(*past, *scan.Merging){
		"into: 1-001-00000077-94 was never given out": func(p *past, m *scan.Merging) { m.Into = bundle(77) },
		"from: 1-001-00000077-94 was never given out": func(p *past, m *scan.Merging) { m.From = []tags.Number{bundle(77)} },
		"from: is missing":                            func(p *past, m *scan.Merging) { m.From = nil },
		"from: names 51 bundles":                      func(p *past, m *scan.Merging) { m.From = make([]tags.Number, 51) },
		"stands there twice":                          func(p *past, m *scan.Merging) { m.From = []tags.Number{bundle(22), bundle(22)} },
		"from: 1-001-00000021-68 stands there twice":  func(p *past, m *scan.Merging) { m.From = []tags.Number{bundle(21)} },
		"only bundles of one line are merged":         func(p *past, m *scan.Merging) { m.From = []tags.Number{bundle(11)} },
		"waits for cut, and 1-001-00000021-68 for load": func(p *past, m *scan.Merging) {
			p.change(bundle(22), func(b *scan.Bundle) { b.Done, b.Runs, b.Progress = 0, nil, nil })
		},
		"is at work":      func(p *past, m *scan.Merging) { p.change(bundle(22), func(b *scan.Bundle) { b.Started = true }) },
		"unload it first": func(p *past, m *scan.Merging) { p.onto(truck, bundle(21), false) },
		"from: 1-001-00000022-65 is held (rib height)":                         func(p *past, m *scan.Merging) { p.hold(event.Target{Number: bundle(22)}) },
		"job J wants one heat in a bundle, and together they may be of H1, H2": func(p *past, m *scan.Merging) { p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle}) },
		"cannot be printed": func(p *past, m *scan.Merging) { m.Reason = "a\x00b" },
	} {
		p, m := shop(), m
		both(p)
		change(p, &m)
		_, err := scan.Merge(p, rules(), m)
		var r *event.Refusal
		require.ErrorAs(t, err, &r, says)
		require.Contains(t, err.Error(), says)
	}

	// They are tied already: it is recorded, and quality is told.
	p = shop()
	both(p)
	p.job(event.JobSet{Job: "J", Heats: event.HeatsSingle})
	m.Already = true
	out, err = scan.Merge(p, rules(), m)
	require.NoError(t, err)
	require.Equal(t, check, out.Answer.Verdict)
	require.Equal(t, []string{"merged into", "rule broken by now"}, codes(out.Answer))
}

func TestLostTag(t *testing.T) {
	p := shop()
	e, a, err := scan.LostTag(p, bundle(11), 0, "torn off")
	require.NoError(t, err)
	require.Equal(t, event.TagLost{Number: bundle(11), Copy: 1, Reason: "torn off"}, e, "a first copy may have been printed with nothing recorded")
	noGaps(t, a)
	says, next := scan.Say(a.Notes[0], scan.English)
	require.Equal(t, "The tag of 1-001-00000011-98 is reported lost, up to copy 1. Print copy 2 and tie it on.", says+" "+next)
	p.change(bundle(11), func(b *scan.Bundle) { b.Copy = 4 })
	e, a, err = scan.LostTag(p, bundle(11), 3, "")
	require.NoError(t, err)
	require.Equal(t, 3, e.Copy)
	require.Equal(t, []string{bundle(11).String(), "3", "5"}, a.Notes[0].Args)
	for _, n := range []tags.Number{stock(1), truck} {
		_, _, err = scan.LostTag(p, n, 0, "")
		require.NoError(t, err)
	}
	for says, n := range map[string]tags.Number{"no bundle, lot or load of this plant": bundle(77), "is no bundle, lot": bay} {
		_, _, err = scan.LostTag(p, n, 0, "")
		require.ErrorContains(t, err, says)
	}
	_, _, err = scan.LostTag(p, bundle(11), 5, "")
	require.ErrorContains(t, err, "copy: is 5; the newest copy of 1-001-00000011-98 is 4")
	_, _, err = scan.LostTag(p, bundle(11), 1, "a\x00b")
	require.ErrorContains(t, err, "cannot be printed")
}

// TestUndoMishaps: losses, splits and merges are taken back newest first, while nothing was built on them.
func TestUndoMishaps(t *testing.T) {
	newest := func(p *past, n tags.Number, b event.Body) {
		p.bodies[70_000] = b
		p.change(n, func(x *scan.Bundle) { x.Progress = append(x.Progress, 70_000) })
	}
	loss := event.PiecesLost{Bundle: bundle(21), Pieces: 2, Rest: bundle(22), Owed: 2}
	split := event.BundleSplit{Bundle: bundle(21), Into: []event.Part{{Number: bundle(22), Pieces: 12}}}
	for _, c := range []struct {
		name, wrong string
		past        func(*past)
	}{
		{"a loss", "", func(p *past) { newest(p, bundle(21), loss) }},
		{"a loss whose replacement is begun", "its replacement 1-001-00000022-65 is begun", func(p *past) { newest(p, bundle(21), loss); p.run("S1", []int{1}, bundle(22)) }},
		{"a loss at the site", "", func(p *past) { p.onto(truck, bundle(21), true); newest(p, bundle(21), loss) }},
		{"a loss of all", "", func(p *past) {
			newest(p, bundle(21), loss)
			p.change(bundle(21), func(b *scan.Bundle) { b.Voided = true })
		}},
		{"a split", "", func(p *past) { newest(p, bundle(21), split) }},
		{"a split whose part is worked on", "its part 1-001-00000022-65 was worked on since", func(p *past) { newest(p, bundle(21), split); p.run("S1", []int{1}, bundle(22)) }},
		{"a split whose part is voided", "is voided", func(p *past) {
			newest(p, bundle(21), split)
			p.change(bundle(22), func(b *scan.Bundle) { b.Voided = true })
		}},
		{"a split whose part was merged", "was merged into 1-001-00000011-98", func(p *past) {
			newest(p, bundle(21), split)
			p.kin(bundle(22), func(k *scan.Kin) { k.Into = bundle(11) })
		}},
		{"a merge", "", func(p *past) { newest(p, bundle(21), event.BundlesMerged{}) }},
		{"a merge of one whose old tag went onto a truck", "was scanned onto load", func(p *past) {
			newest(p, bundle(21), event.BundlesMerged{From: []tags.Number{bundle(22)}})
			p.change(bundle(22), func(b *scan.Bundle) { b.Load = truck })
		}},
		{"of one that was merged", "was merged into 1-001-00000022-65; undo that there", func(p *past) { p.kin(bundle(21), func(k *scan.Kin) { k.Into = bundle(22) }) }},
		{"of a part, with nothing done since", "was parted from 1-001-00000022-65", func(p *past) {
			p.kin(bundle(21), func(k *scan.Kin) { k.Parents = []tags.Number{bundle(22)} })
			p.change(bundle(21), func(b *scan.Bundle) { b.Progress = nil })
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			p.ready(bundle(21))
			c.past(p)
			u, a, err := scan.Undo(p, rules(), bundle(21), "counted again")
			if c.wrong != "" {
				require.ErrorContains(t, err, c.wrong)
				return
			}
			require.NoError(t, err)
			require.Equal(t, event.Undone{Bundle: bundle(21), Seq: 70_000, Reason: "counted again"}, u)
			require.Equal(t, []string{"undone"}, codes(a))
		})
	}
}

// TestUnloadTakesOffWhatWentOn: the mass of a load comes back to what it was, to the microgram.
func TestUnloadTakesOffWhatWentOn(t *testing.T) {
	p := shop()
	p.ready(bundle(21))
	p.onto(truck, bundle(21), false)
	p.change(bundle(21), func(b *scan.Bundle) { b.Pieces = 7 })
	out := decide(t, p, at("L1", bundle(21), do(scan.Unload)))
	// 12 pieces of 20' of #5: 240 ft at 1.043 lb/ft (ASTM A615 Table 1).
	want, err := bar.Weigh("#5", 240*bar.Foot)
	require.NoError(t, err)
	require.Equal(t, want, out.Events[0].(event.Unloaded).Mass)
}

// noGaps: an answer is whole in both languages.
func noGaps(t *testing.T, a event.Answer) {
	for _, n := range a.Notes {
		for _, lang := range []scan.Lang{scan.English, scan.Spanish} {
			says, next := scan.Say(n, lang)
			require.NotContains(t, says+next, "{")
			require.NotContains(t, says+next, "%!")
		}
	}
}
