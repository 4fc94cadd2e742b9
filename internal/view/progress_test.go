package view_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/store/mem"
	"tagd/internal/view"
)

// many is a job of so many lines of ten bundles each, of ten pieces each.
func many(t testing.TB, db store.DB, v *view.Views, lines int) {
	require.NoError(t, db.Update(func(tx store.Tx) error {
		for i := range lines {
			e := event.Event{Body: event.LineTaken{
				Job: "J", List: fmt.Sprint(i % 5), Mark: fmt.Sprint("M", i), Steel: five, Length: 10 * bar.Foot, Pieces: 100, Route: []string{"cut"},
				First: bundle(10*i + 1), Bundles: []int{10, 10, 10, 10, 10, 10, 10, 10, 10, 10},
			}}
			raw, err := event.Encode(e)
			if err != nil {
				return err
			}
			seq, err := journal.Append(tx, raw)
			if err != nil {
				return err
			}
			if err := v.At(tx).Apply(seq, e); err != nil {
				return err
			}
			v.Durable(seq)
		}
		return nil
	}))
}

// TestProgress: what a job asks for stands in one stage each, and weighs what the table says of it.
func TestProgress(t *testing.T) {
	db := mem.Open(append([]store.Table{journal.Records, journal.Keys}, view.Tables...)...)
	v := view.New(1)
	many(t, db, v, 10)
	require.NoError(t, db.View(func(tx store.Tx) error {
		p := v.At(tx)
		got := p.Progress("J")
		require.Len(t, got, 5)
		// 200 pieces of 10 ft at 1.043 lb/ft (ASTM A615 Table 1).
		require.Equal(t, view.ListProgress{List: "0", Progress: view.Progress{Planned: view.Amount{Bundles: 20, Pieces: 200, Mass: 2086 * bar.Pound}}}, got[0])
		require.Equal(t, 2086*bar.Pound, p.Asked("J", "3"))
		require.Empty(t, p.Progress("K"))
		return nil
	}))
}

// BenchmarkProgress reads a job of 5,000 bundles: from the rows, and as it is kept in memory.
func BenchmarkProgress(b *testing.B) {
	db, err := bolt.Open(b.TempDir()+"/plant.db", append([]store.Table{journal.Records, journal.Keys}, view.Tables...), bolt.Options{NoSync: true})
	require.NoError(b, err)
	defer db.Close()
	v := view.New(1)
	many(b, db, v, 500)
	var kept view.Progresses
	for _, one := range []struct {
		name string
		read func(*view.Past) []view.ListProgress
	}{
		{"rows", func(p *view.Past) []view.ListProgress { return p.Progress("J") }},
		{"kept", func(p *view.Past) []view.ListProgress { return kept.Of(p, "J") }},
	} {
		b.Run(one.name, func(b *testing.B) {
			for range b.N {
				require.NoError(b, db.View(func(tx store.Tx) error {
					require.Len(b, one.read(v.At(tx)), 5)
					return nil
				}))
			}
		})
	}
}
