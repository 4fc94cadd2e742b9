package floor_test

import (
	"fmt"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/journal"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// upToRecord is a store of the journal's records up to a sequence, folded anew.
func (h *history) upToRecord(upto uint64) *mem.DB {
	db := mem.Open(floor.Tables()...)
	require.NoError(h, h.disk.View(func(from store.Tx) error {
		var raws [][]byte
		raws = append(raws, append([]byte(nil), journal.Get(from, 0)...))
		if err := journal.Scan(from, 0, int(upto), func(_ uint64, raw []byte) bool {
			raws = append(raws, append([]byte(nil), raw...))
			return true
		}); err != nil {
			return err
		}
		h.folded(db, raws)
		return nil
	}))
	return db
}

func (h *history) folded(db *mem.DB, raws [][]byte) {
	done := make(chan error) // another goroutine: transactions of one goroutine do not nest
	go func() {
		done <- db.Update(func(tx store.Tx) error {
			p := view.New(1).At(tx)
			for _, raw := range raws {
				seq, err := journal.Append(tx, raw)
				if err != nil {
					return err
				}
				if err := p.Apply(seq, p.Event(seq)); err != nil {
					return err
				}
			}
			return view.Stamp(tx)
		})
	}()
	require.NoError(h, <-done)
}

// questions are what can be asked of the shop: some of everything.
func (h *history) questions() (out []string) {
	for _, m := range mills {
		out = append(out, m)
		for _, n := range heats {
			out = append(out, m+" "+n)
		}
	}
	out = append(out, "C-17", "X1", "Bay 1", "M0", "J", "J/1", "K/2/M1")
	for range 2 {
		out = append(out, h.someLot().Digits(), h.someLoad().Digits(), h.someBundle(func(b scan.Bundle) bool { return len(b.Runs) > 0 }).Digits(),
			h.someBundle(func(b scan.Bundle) bool { return len(b.Events) > 0 }).Digits())
	}
	return out
}

// TestAsOf asks made up days what was so at moments of theirs: the answer is that of a store which ended
// there.
func TestAsOf(t *testing.T) {
	histories := 40
	if os.Getenv("TAGD_SOAK") == "1" {
		histories = 3000
	}
	defer checksOf(t, histories)()
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		for range rapid.IntRange(20, 90).Draw(t, "steps") {
			h.step()
		}
		h.look()
		head := h.head()
		questions := h.questions()
		for range 3 {
			upto := uint64(h.upTo("moment", int(head)))
			then := h.upToRecord(upto)
			for _, q := range questions {
				require.Equal(h, asked(h, then, func(p *view.Past) *view.Past { return p }, q), asked(h, h.disk, func(p *view.Past) *view.Past {
					then, err := p.AsOf(upto, q)
					require.NoError(h, err)
					return then
				}, q), "%s as of %d of %d", q, upto, head)
			}
		}
	})
}

// answered is what the views answer about something.
type answered struct {
	Trace   view.Trace
	History []uint64
	Heats   []heat.Draw
	Recall  view.Recall
	Account heat.Account
	Found   []string
	Load    load.Load
	Spots   []load.Spot // where on it bundles were planned
}

func asked(t require.TestingT, db *mem.DB, at func(*view.Past) *view.Past, q string) (out answered) {
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := at(view.New(1).At(tx))
		out.Trace = p.Ask(q)
		out.Recall = p.Recall(q)
		out.Account, out.Found = p.Account(q)
		if n, err := tags.ParseNumber(q); err == nil && p.Known(n) {
			out.History = p.History(n)
			if n.Kind() == tags.Load {
				out.Load, _ = p.Load(n)
				out.Spots = p.Spots(n)
			}
		}
		for _, b := range out.Trace.Bundles {
			d, _ := scan.HeatsOf(p, b.Bundle)
			out.Heats = append(out.Heats, d)
		}
		return nil
	}))
	return out
}

// checkAccount: the account of everything, of each heat and of each lot balances to the nanometre, and
// that of everything holds what the journal says came in and was made.
func (h *history) checkAccount(p *view.Past, m *model) {
	a, _ := p.Account("")
	require.Zero(h, a.Bars.Over, "%+v", a.Bars)
	require.Zero(h, a.Coil.Over, "%+v", a.Coil)
	require.Empty(h, a.MayBe)
	var received, made, scrap, missing, taken bar.Length
	for n, l := range m.lots {
		if _, ok := p.Lot(n); ok {
			received += l.Length * bar.Length(l.Bars)
		}
	}
	for _, r := range m.runs {
		if r.closed == nil {
			continue
		}
		scrap, missing = scrap+r.closed.Scrap, missing+r.closed.Missing
		for _, d := range r.closed.Draws {
			taken += m.length(d.Lot) * bar.Length(d.Bars)
		}
		for _, x := range r.closed.Remnants {
			taken -= x.Length * bar.Length(x.Bars)
		}
	}
	made = taken + missing - scrap
	of := func(rows []heat.Row, not ...string) (sum bar.Length) {
		for _, r := range rows {
			if !slices.Contains(not, r.What) {
				sum += r.Length
			}
		}
		return sum
	}
	only := func(rows []heat.Row, what ...string) bar.Length { return of(rows) - of(rows, what...) }
	require.Equal(h, received, only(a.Bars.In, heat.Received))
	require.Equal(h, missing, only(a.Bars.In, heat.Lacked))
	require.Equal(h, scrap, only(a.Bars.Out, heat.Scrapped))
	require.Equal(h, made, of(a.Bars.Out, heat.Scrapped, heat.OnFeeds, heat.OnHand, heat.Remnants))
	for _, r := range a.Bars.Out {
		require.NotContains(h, []string{heat.Shared, heat.TiedAmong}, r.What)
		require.GreaterOrEqual(h, r.Length, bar.Length(0), "%+v", r)
	}
	var came, lacked, cutOff bar.Mass
	for n, mass := range m.said.mass {
		if _, ok := p.Lot(n); ok {
			came += mass
		}
	}
	for _, r := range m.runs {
		if r.coil != nil {
			lacked, cutOff = lacked+r.coil.Missing, cutOff+r.coil.Scrap
		}
	}
	weigh := func(rows []heat.Row, what string) (sum bar.Mass) {
		for _, r := range rows {
			require.Zero(h, r.Length)
			if r.What == what {
				sum += r.Mass
			}
		}
		return sum
	}
	require.Equal(h, []bar.Mass{came, lacked, cutOff}, []bar.Mass{weigh(a.Coil.In, heat.Received), weigh(a.Coil.In, heat.Lacked), weigh(a.Coil.Out, heat.Scrapped)})
	var questions []string
	for _, mill := range mills {
		questions = append(questions, mill)
		for _, name := range heats {
			questions = append(questions, mill+" "+name)
		}
	}
	for n := range m.lots {
		questions = append(questions, n.Digits())
	}
	for _, q := range questions {
		one, _ := p.Account(q)
		require.Zero(h, one.Bars.Over, "%s: %+v", q, one)
		require.Zero(h, one.Coil.Over, "%s: %+v", q, one)
		require.LessOrEqual(h, of(one.Bars.In), of(a.Bars.In), q)
		for _, r := range one.Bars.Out {
			require.GreaterOrEqual(h, r.Length, bar.Length(0), "%s: %+v", q, r)
		}
	}
}

// The record at a time is the newest one that was made by then.
func TestRecordAt(t *testing.T) {
	defer checksOf(t, 10)()
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		for range 10 {
			h.step()
		}
		require.NoError(t, h.View(func(p *view.Past) error {
			for seq := uint64(0); seq <= p.Head(); seq++ {
				got, ok := p.RecordAt(p.When(seq))
				require.True(t, ok)
				require.GreaterOrEqual(t, got, seq)
				require.Equal(t, p.When(seq), p.When(got), fmt.Sprint(seq))
				if got < p.Head() {
					require.Greater(t, p.When(got+1), p.When(seq))
				}
			}
			_, ok := p.RecordAt(p.When(0) - 1)
			require.False(t, ok)
			return nil
		}))
	})
}
