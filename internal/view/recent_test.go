package view_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/view"
)

// TestRecent: the newest scans of each station with refusals among them, the same read on and read anew; and a
// long list of other records neither hides nor loses them.
func TestRecent(t *testing.T) {
	db := mem.Open(append([]store.Table{journal.Records, journal.Keys}, view.Tables...)...)
	v := view.New(1)
	var r view.Recent
	add := func(e event.Event) {
		require.NoError(t, db.Update(func(tx store.Tx) error {
			raw, err := event.Encode(e)
			require.NoError(t, err)
			seq, err := journal.Append(tx, raw)
			if err != nil {
				return err
			}
			return v.At(tx).Apply(seq, e)
		}))
	}
	last := func(station string) (out []view.Scanned) {
		require.NoError(t, db.View(func(tx store.Tx) error {
			out = r.At(v.At(tx), station)
			return nil
		}))
		return out
	}
	scanned := func(station string, at int64, verdict event.Verdict, body event.Body) event.Event {
		return event.Event{Head: event.Head{Recorded: at, Device: "d", Station: station, Answer: &event.Answer{Verdict: verdict, Notes: []event.Note{{Code: "once"}}}}, Body: body}
	}
	require.Empty(t, last("S1"))
	add(event.Event{Body: event.StoreOpened{Format: 1, Plant: 1, UUID: "x"}})
	require.Empty(t, last("S1"))
	for i := range 45 {
		add(scanned("S1", int64(i+1), event.Refused, event.ScanRefused{Number: bundle(i + 1)}))
	}
	add(scanned("S2", 100, event.Accepted, event.CrewJoined{Station: "S2", Person: person}))
	got := last("S1")
	require.Len(t, got, 40)
	require.Equal(t, view.Scanned{Seq: 45, At: 45, Device: "d", Number: bundle(45), Answer: event.Answer{Verdict: event.Refused, Notes: []event.Note{{Code: "once"}}}}, got[0])
	require.Len(t, last("S2"), 1)
	r = view.Recent{}
	require.Equal(t, got, last("S1"), "read anew")
	require.NoError(t, db.Update(func(tx store.Tx) error {
		for range 5000 {
			e := event.Event{Body: event.SettingsChanged{Text: "x"}}
			raw, err := event.Encode(e)
			require.NoError(t, err)
			seq, err := journal.Append(tx, raw)
			if err != nil {
				return err
			}
			if err := v.At(tx).Apply(seq, e); err != nil {
				return err
			}
		}
		return nil
	}))
	require.Equal(t, got, last("S1"), "kept")
	add(scanned("S1", 200, event.Accepted, event.CrewJoined{Station: "S1", Person: person}))
	require.EqualValues(t, 200, last("S1")[0].At)
	require.Len(t, last("S1"), 40)
	r = view.Recent{}
	require.Len(t, last("S1"), 1, "of much only the newest is read")
}
