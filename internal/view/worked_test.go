package view_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/load"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TestWorked: starts and ends by the times of the devices, at the station that did it; what was begun
// before the moment, or undone, is no record; and the moment moves.
func TestWorked(t *testing.T) {
	db := mem.Open(append([]store.Table{journal.Records, journal.Keys}, view.Tables...)...)
	v := view.New(1)
	monday := time.Date(2026, 11, 23, 6, 0, 0, 0, time.UTC)
	var w view.Worked
	var seq uint64
	add := func(recorded, happened time.Duration, b event.Body) uint64 {
		require.NoError(t, db.Update(func(tx store.Tx) (err error) {
			e := event.Event{Head: event.Head{Recorded: monday.Add(recorded).UnixMilli()}, Body: b}
			if happened != 0 {
				e.Happened = monday.Add(happened).UnixMilli()
			}
			raw, err := event.Encode(e)
			require.NoError(t, err)
			if seq, err = journal.Append(tx, raw); err != nil {
				return err
			}
			return v.At(tx).Apply(seq, e)
		}))
		return seq
	}
	paces := func(since time.Duration) (out []load.Pace) {
		require.NoError(t, db.View(func(tx store.Tx) error {
			w.Records(v.At(tx), monday.Add(since), func(r *load.Records) { out = r.Paces() })
			var anew, ahead view.Worked
			for ahead.Ahead(v.At(tx), monday.Add(since)) {
			}
			ahead.Records(v.At(tx), monday.Add(since), func(r *load.Records) { require.Equal(t, r.Paces(), out, "read ahead") })
			anew.Records(v.At(tx), monday.Add(since), func(r *load.Records) { require.Equal(t, r.Paces(), out, "read anew") })
			return nil
		}))
		return out
	}
	day := 24 * time.Hour
	require.Empty(t, paces(0))
	add(0, 0, event.LineTaken{Job: "J", List: "1", Mark: "A", Steel: five, Length: 10 * bar.Foot, Pieces: 40, Route: []string{"cut", "bend"},
		First: bundle(1), Bundles: []int{10, 10, 10, 10}})
	add(0, 0, event.LotReceived{Lot: lot(1), Mill: "M", Heats: []string{"H"}, Steel: five, Length: 60 * bar.Foot, Bars: 50})
	closed := &event.RunClosed{Steel: five}
	run := add(0, time.Minute, event.RunOpened{Station: "S1", Bundle: bundle(1), Lots: []tags.Number{lot(1)}})
	add(0, 2*time.Minute, event.RunJoined{Run: run, Bundle: bundle(2)})
	add(time.Hour, 11*time.Minute, event.CutDone{Run: run, Bundle: bundle(1), Pieces: 10, Asked: 10})
	cut2 := add(time.Hour, 16*time.Minute, event.CutDone{Run: run, Bundle: bundle(2), Pieces: 10, Asked: 10, Closed: closed})
	kind := load.Kind{Station: "S1", Step: "cut", Class: load.Light}
	// 10 minutes for ten pieces, then 5 more for ten, by the devices; too few for a pace.
	require.Equal(t, []load.Pace{{Kind: kind, Records: 2}}, paces(0))

	// Undone, and cut once more: from its start, but not before the station's last one.
	add(2*time.Hour, 0, event.Undone{Bundle: bundle(2), Seq: cut2})
	require.Equal(t, []load.Pace{{Kind: kind, Records: 1}}, paces(0))
	add(2*time.Hour, 31*time.Minute, event.CutDone{Run: run, Bundle: bundle(2), Pieces: 10, Asked: 10, Closed: closed})
	require.Equal(t, []load.Pace{{Kind: kind, Records: 2}}, paces(0))

	// A start that was undone; a step at another station; part of a step.
	add(day, 0, event.StepStarted{Station: "B1", Bundle: bundle(1), Step: "bend"})
	add(day, 0, event.Undone{Bundle: bundle(1), Seq: seq})
	add(day, 0, event.StepDone{Station: "B1", Bundle: bundle(1), Step: "bend", Pieces: 10})
	require.Equal(t, []load.Pace{{Kind: kind, Records: 2}}, paces(0))
	add(day, 0, event.StepStarted{Station: "B1", Bundle: bundle(2), Step: "bend"})
	add(day, day+time.Minute, event.PartDone{Station: "B1", Bundle: bundle(2), Step: "bend", Pieces: 4})
	bend := load.Kind{Station: "B1", Step: "bend", Class: load.Light}
	require.Equal(t, []load.Pace{{Kind: bend, Records: 1}, {Kind: kind, Records: 2}}, paces(0))

	// What was done on a day, with its weight: 10 pieces of 10 ft of #5 at 1.043 lb/ft (ASTM A615 Table 1).
	var works []view.Work
	require.NoError(t, db.View(func(tx store.Tx) error {
		w.Each(v.At(tx), monday, monday.Add(day), func(one view.Work) { works = append(works, one) })
		return nil
	}))
	require.Len(t, works, 1)
	require.Equal(t, view.Work{Kind: bend, At: monday.Add(day + time.Minute).UnixMilli(), Pieces: 4, Mass: works[0].Mass}, works[0])
	works = nil
	require.NoError(t, db.View(func(tx store.Tx) error {
		w.Each(v.At(tx), monday, monday, func(one view.Work) { works = append(works, one) })
		return nil
	}))
	require.Len(t, works, 3)
	require.True(t, works[0].Whole)
	require.InDelta(t, 104.3, works[0].Mass.Pounds(), 0.05)

	// From the next day on only what was done on it.
	require.Equal(t, []load.Pace{{Kind: bend, Records: 1}}, paces(day))
	require.Empty(t, paces(2*day))
}
