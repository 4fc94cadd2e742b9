package view_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/journal"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func bundle(n int) tags.Number { return number(tags.Bundle, n) }
func lot(n int) tags.Number    { return number(tags.Stock, n) }

var (
	five   = bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	truck  = number(tags.Load, 1)
	bay    = number(tags.Place, 1)
	person = number(tags.Person, 1)
)

// made makes a store of events; the one at place i is record i.
func made(t testing.TB, events ...event.Body) (store.DB, *view.Views) {
	db := mem.Open(append([]store.Table{journal.Records, journal.Keys}, view.Tables...)...)
	v := view.New(1)
	require.NoError(t, db.Update(func(tx store.Tx) error {
		p := v.At(tx)
		for _, b := range events {
			e := event.Event{Head: event.Head{Recorded: 1}, Body: b}
			raw, err := event.Encode(e)
			require.NoError(t, err)
			seq, err := journal.Append(tx, raw)
			require.NoError(t, err)
			if err := p.Apply(seq, e); err != nil {
				return err
			}
		}
		return nil
	}))
	return db, v
}

// day is a day by hand. Lot 1 is of heat H1 of Example Mill, lot 2 of heat H1 of Sample Steel. Bundle 1
// (J/1/A, two pieces) is cut of lot 1 and leaves remnant 3; bundle 2 (J/1/B) is cut of that remnant
// and has shipped on load 1; bundle 3 (K/1/A) is cut of lot 2. Bundle 4 (K/1/A) is not begun.
func day(t testing.TB) (store.DB, *view.Views) {
	cut := func(b, l tags.Number, bars int, left ...event.Remnant) event.CutDone {
		return event.CutDone{Bundle: b, Pieces: 2, Asked: 2, Closed: &event.RunClosed{Steel: five, Draws: []event.Draw{{Lot: l, Bars: bars}}, Remnants: left}}
	}
	open := func(b, l tags.Number) event.RunOpened {
		return event.RunOpened{Station: "S1", Bundle: b, Lots: []tags.Number{l}}
	}
	at := func(e event.CutDone, run uint64) event.CutDone { e.Run = run; return e }
	return made(t,
		event.StoreOpened{Format: 1, Plant: 1, UUID: "0198c0de-0000-7000-8000-000000000001"},
		event.JobSet{Job: "J"}, event.JobSet{Job: "K"},
		event.LineTaken{Job: "J", List: "1", Mark: "A", Steel: five, Length: 10 * bar.Foot, Pieces: 2, Route: []string{"cut"}, First: bundle(1), Bundles: []int{2}},
		event.LineTaken{Job: "J", List: "1", Mark: "B", Steel: five, Length: 10 * bar.Foot, Pieces: 2, Route: []string{"cut"}, First: bundle(2), Bundles: []int{2}},
		event.ListTaken{Job: "J", List: "1", SHA256: []byte{1}, Lines: 2},
		event.LineTaken{Job: "K", List: "1", Mark: "A", Steel: five, Length: 10 * bar.Foot, Pieces: 4, Route: []string{"cut"}, First: bundle(3), Bundles: []int{2, 2}},
		event.ListTaken{Job: "K", List: "1", SHA256: []byte{2}, Lines: 1},
		event.LotReceived{Lot: lot(1), Mill: "Example Mill", Heats: []string{"H1"}, Steel: five, Length: 60 * bar.Foot, Bars: 9, Bundles: []event.MillBundle{{Number: "B17"}}},
		event.LotReceived{Lot: lot(2), Mill: "Sample Steel", Heats: []string{"H1"}, Steel: five, Length: 60 * bar.Foot, Bars: 9},
		open(bundle(1), lot(1)), // 10
		at(cut(bundle(1), lot(1), 1, event.Remnant{Lot: lot(3), Length: 40 * bar.Foot, Bars: 1}), 10),
		open(bundle(2), lot(3)), // 12
		at(cut(bundle(2), lot(3), 1), 12),
		open(bundle(3), lot(2)), // 14
		at(cut(bundle(3), lot(2), 1), 14),
		event.PlaceMade{Place: bay, Name: "Bay 4"}, event.PersonMade{Person: person},
		event.LoadPlanned{Load: truck, Stops: []event.Stop{{Job: "J"}}},
		event.Loaded{Load: truck, Bundle: bundle(2), Mass: 1}, // 19
		event.Shipped{Load: truck, Bundles: 1},
		event.AliasSet{Text: "COAT 7", Number: bundle(3)},
		event.CertFiled{Mill: "Example Mill", Heat: "H1", Sizes: []bar.Size{"#5"}, Type: "MTR", Text: "C-17"},
		event.HoldPut{Target: event.Target{Mill: "Example Mill", Heat: "H1"}, Reason: "rib height"},
	)
}

// TestHeatLots: the lots of a heat, of one mill or of any.
func TestHeatLots(t *testing.T) {
	db, v := day(t)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		for _, c := range []struct {
			mill, heat string
			want       []tags.Number
		}{
			{"Example Mill", "H1", []tags.Number{lot(1)}}, {"Sample Steel", "H1", []tags.Number{lot(2)}},
			{"", "H1", []tags.Number{lot(1), lot(2)}}, {"Third Mill", "H1", nil}, {"", "H", nil}, {"", "", nil},
		} {
			var got []tags.Number
			for _, l := range p.HeatLots(c.mill, c.heat) {
				got = append(got, l.Number)
			}
			require.ElementsMatch(t, c.want, got, "%s %s", c.mill, c.heat)
		}
		return nil
	}))
}

// TestAsk: every way to ask, and the bundles, lots and loads that belong to the answer.
func TestAsk(t *testing.T) {
	db, v := day(t)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		for _, c := range []struct {
			ask           string
			found         []string
			bundles, lots []int
			loads, certs  int
		}{
			{"H1", []string{"heat Example Mill H1", "heat Sample Steel H1"}, []int{1, 2, 3}, []int{1, 2, 3}, 1, 1},
			{"Example Mill H1", []string{"heat Example Mill H1"}, []int{1, 2}, []int{1, 3}, 1, 1},
			{"  Sample  Steel H1 ", []string{"heat Sample Steel H1"}, []int{3}, []int{2}, 0, 0},
			{lot(1).Digits(), []string{"stock " + lot(1).String()}, []int{1, 2}, []int{1, 3}, 1, 1},
			{lot(3).String(), []string{"stock " + lot(3).String()}, []int{2}, []int{1, 3}, 1, 1},
			{"B17", []string{"alias of " + lot(1).String(), "stock " + lot(1).String()}, []int{1, 2}, []int{1, 3}, 1, 1},
			{"COAT 7", []string{"alias of " + bundle(3).String(), "bundle " + bundle(3).String()}, []int{3}, []int{2}, 0, 0},
			{bundle(2).String(), []string{"bundle " + bundle(2).String()}, []int{2}, []int{1, 3}, 1, 1},
			{truck.String(), []string{"load " + truck.String()}, []int{2}, []int{1, 3}, 1, 1},
			{"C-17", []string{"cert C-17"}, []int{1, 2}, []int{1, 3}, 1, 1},
			{"J", []string{"job J"}, []int{1, 2}, []int{1, 3}, 1, 1},
			{"K/1", []string{"list K/1"}, []int{3, 4}, []int{2}, 0, 0},
			{"J/1/B", []string{"mark J/1/B"}, []int{2}, []int{1, 3}, 1, 1},
			{"A", []string{"mark J/1/A", "mark K/1/A"}, []int{1, 3, 4}, []int{1, 2}, 0, 1},
			{"Bay 4", []string{"place " + bay.String()}, nil, nil, 0, 0},
			{"[)>\x1e06\x1d1TH1\x1e\x04", []string{"heat Example Mill H1", "heat Sample Steel H1"}, []int{1, 2, 3}, []int{1, 2, 3}, 1, 1},
			{"", nil, nil, nil, 0, 0}, {"H2", nil, nil, nil, 0, 0}, {bundle(9).String(), nil, nil, nil, 0, 0}, {"J/2", nil, nil, nil, 0, 0}, {"J/1/C", nil, nil, nil, 0, 0},
			{"H1\x00", nil, nil, nil, 0, 0}, {"A\x00", nil, nil, nil, 0, 0}, {"H1\x00Example Mill", nil, nil, nil, 0, 0}, {"h1", nil, nil, nil, 0, 0},
		} {
			t.Run(c.ask, func(t *testing.T) {
				a := p.Ask(c.ask)
				require.Equal(t, c.found, a.Found)
				var bundles, lots []int
				for _, b := range a.Bundles {
					bundles = append(bundles, b.Number.Serial())
					// Lot 1 is of a held heat, and so is all that is cut of it and of what it left.
					require.Equal(t, b.Number.Serial() <= 2, b.Held)
				}
				for _, l := range a.Lots {
					lots = append(lots, l.Number.Serial())
				}
				require.Equal(t, c.bundles, bundles)
				require.Equal(t, c.lots, lots)
				require.Len(t, a.Loads, c.loads)
				require.Len(t, a.Certs, c.certs)
			})
		}
		b, _ := p.Bundle(bundle(2))
		require.Equal(t, "left on load "+truck.String(), view.Where(p, b, p.Line(b.Line)))
		return nil
	}))
}

// TestHalfKeys: a text with a zero byte is no prefix of what is kept under longer keys.
func TestHalfKeys(t *testing.T) {
	db, v := day(t)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		for _, odd := range []string{"A\x00", "\x00", "H1\x00\x00", "Example Mill\x00H1", "B17\x00", "C-17\x00\x00\x00"} {
			require.Empty(t, p.LinesMarked(odd))
			require.Empty(t, p.LotsOfHeat(heat.Key{Mill: odd, Heat: odd}))
			require.Empty(t, p.LotsOfHeat(heat.Key{Mill: "Example Mill", Heat: "H1\x00"}))
			require.Empty(t, p.HeatsNamed(odd))
			_, ok := p.Alias(odd)
			require.False(t, ok)
		}
		return nil
	}))
}

// TestHistory: the events about a number, oldest first.
func TestHistory(t *testing.T) {
	db, v := day(t)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		for n, want := range map[tags.Number][]uint64{
			bundle(2): {4, 12, 13, 19, 20}, bundle(4): {6}, lot(1): {8, 11}, lot(3): {11, 13}, truck: {18, 19, 20}, bundle(3): {6, 14, 15, 21},
		} {
			require.Equal(t, want, p.History(n), "%v", n)
		}
		return nil
	}))
}

// TestApplyRefusesNonsense: what was decided fits; what does not is a broken store.
func TestApplyRefusesNonsense(t *testing.T) {
	for _, b := range []event.Body{
		event.BundleVoided{Bundle: bundle(9)}, event.CutDone{Run: 99, Bundle: bundle(9)}, event.Loaded{Load: truck, Bundle: bundle(9)},
		event.LotHeatSet{Lot: lot(9)}, event.FeedCharged{Station: "S1", Feed: "A", Lot: lot(9)}, event.Undone{Bundle: bundle(9)}, event.CertReviewed{Cert: 0},
	} {
		t.Run(b.Kind().String(), func(t *testing.T) {
			db := mem.Open(append([]store.Table{journal.Records, journal.Keys}, view.Tables...)...)
			require.Error(t, db.Update(func(tx store.Tx) error {
				raw, err := event.Encode(event.Event{Body: event.StoreOpened{Format: 1, Plant: 1}})
				require.NoError(t, err)
				_, err = journal.Append(tx, raw)
				require.NoError(t, err)
				return view.New(1).At(tx).Apply(1, event.Event{Body: b})
			}))
		})
	}
}

// TestRebuildDamaged: a record that cannot be read stops the folding, and says which it is.
func TestRebuildDamaged(t *testing.T) {
	db, _ := day(t)
	require.NoError(t, db.Update(func(tx store.Tx) error {
		return tx.Put(journal.Records, []byte{0, 0, 0, 0, 0, 0, 0, 7}, []byte{2, 0xa0})
	}))
	err := view.Rebuild(db, db, view.New(1), nil)
	require.ErrorIs(t, err, event.ErrUnknown)
	require.ErrorContains(t, err, "record 7")
}

// TestLinesAreCachedOnceDurable: what an open transaction wrote may never be committed.
func TestLinesAreCachedOnceDurable(t *testing.T) {
	db, v := made(t, event.StoreOpened{Format: 1, Plant: 1})
	line := func(mark string) {
		require.Error(t, db.Update(func(tx store.Tx) error {
			p := v.At(tx)
			e := event.Event{Body: event.LineTaken{Job: "J", List: "1", Mark: mark, Steel: five, First: bundle(1), Bundles: []int{1}}}
			raw, err := event.Encode(e)
			require.NoError(t, err)
			seq, err := journal.Append(tx, raw)
			require.NoError(t, err)
			require.NoError(t, p.Apply(seq, e))
			require.Equal(t, mark, p.Line(seq).Mark)
			require.Equal(t, mark, p.Line(seq).Mark)
			return fmt.Errorf("lost")
		}))
	}
	line("A")
	line("B")
}

// TestMany: more bundles and lines than are read or cached at once.
func TestMany(t *testing.T) {
	events := []event.Body{event.StoreOpened{Format: 1, Plant: 1}}
	for i := range 60 {
		events = append(events, event.LineTaken{Job: "J", List: "1", Mark: fmt.Sprint(i), Steel: five, First: bundle(1 + 40*i), Bundles: make([]int, 40)})
	}
	db, v := made(t, events...)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		n := 0
		p.Bundles(0, func(b scan.Bundle) bool {
			n++
			require.Equal(t, n, b.Number.Serial())
			require.Equal(t, fmt.Sprint((n-1)/40), p.Line(b.Line).Mark)
			return true
		})
		require.Equal(t, 2400, n)
		require.Len(t, p.LinesOf("J", "1"), 60)
		require.Len(t, p.BundlesOf(p.Line(60)), 40)
		require.Equal(t, bundle(2401), p.Fresh(tags.Bundle))
		require.Equal(t, bundle(2402), p.Fresh(tags.Bundle))
		return nil
	}))
}

// FuzzAsk: no question crashes it, and no answer names a thing twice.
func FuzzAsk(f *testing.F) {
	for _, s := range []string{"H1", "Example Mill H1", "J/1/A", "A\x00", "C-17", "Bay 4", bundle(1).String(), "[)>\x1e06\x1d1TH1\x1e\x04", "", " ", "/", "//", "\xff", strings.Repeat("x ", 600)} {
		f.Add(s)
	}
	db, v := day(f)
	f.Fuzz(func(t *testing.T, s string) {
		require.NoError(t, db.View(func(tx store.Tx) error {
			a := v.At(tx).Ask(s)
			seen := map[tags.Number]bool{}
			for _, b := range a.Bundles {
				require.False(t, seen[b.Number])
				seen[b.Number] = true
			}
			for _, l := range a.Lots {
				require.False(t, seen[l.Number])
				seen[l.Number] = true
			}
			if len(a.Found) == 0 {
				require.Zero(t, len(a.Bundles)+len(a.Lots)+len(a.Loads)+len(a.Jobs))
			}
			return nil
		}))
	})
}
