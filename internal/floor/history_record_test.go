package floor_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/journal"
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

// said is what the views answer about something.
type said struct {
	Trace   view.Trace
	History []uint64
	Heats   []heat.Draw
}

func asked(t require.TestingT, db *mem.DB, at func(*view.Past) *view.Past, q string) (out said) {
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := at(view.New(1).At(tx))
		out.Trace = p.Ask(q)
		if n, err := tags.ParseNumber(q); err == nil {
			out.History = p.History(n)
		}
		for _, b := range out.Trace.Bundles {
			d, _ := scan.HeatsOf(p, b.Bundle)
			out.Heats = append(out.Heats, d)
		}
		return nil
	}))
	return out
}

// The record at a time is the newest one that was made by then.
func TestSeqAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		for range 10 {
			h.step()
		}
		require.NoError(t, h.View(func(p *view.Past) error {
			for seq := uint64(0); seq <= p.Head(); seq++ {
				got, ok := p.SeqAt(p.When(seq))
				require.True(t, ok)
				require.GreaterOrEqual(t, got, seq)
				require.Equal(t, p.When(seq), p.When(got), fmt.Sprint(seq))
				if got < p.Head() {
					require.Greater(t, p.When(got+1), p.When(seq))
				}
			}
			_, ok := p.SeqAt(p.When(0) - 1)
			require.False(t, ok)
			return nil
		}))
	})
}
