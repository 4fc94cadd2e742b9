package rest_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// keptScan is a scan as a device keeps it.
func keptScan(minute int, code, station, key string) json.RawMessage {
	b, _ := json.Marshal(api.Scan{Code: code, Station: station, By: api.By{Device: "tablet", Key: key, At: time.Date(2026, 11, 25, 13, minute, 0, 0, time.UTC)}})
	return b
}

// What a device kept comes all at once, in its order. Nothing of it is lost, whatever is wrong with one,
// and all of it sent again gets the same receipts.
func TestKeptScans(t *testing.T) {
	s := openShop(t)
	_, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	bundles, err := s.Bundles(s.ctx, api.BundleFilter{}, "", 0)
	require.NoError(t, err)
	b1, b2 := bundles.Bundles[0].Number, bundles.Bundles[1].Number
	_, err = s.Hold(s.ctx, api.PutHold{Target: api.Target{Number: b2}, Reason: "rib height"})
	require.NoError(t, err)

	used := keptScan(20, b2, "S1", "k1") // under a key that another one has
	batch := []json.RawMessage{
		keptScan(1, b1, "S1", "k1"),
		keptScan(2, b1, "S1", "k2"),
		keptScan(2, b1, "S1", ""),
		keptScan(3, b2, "S1", "k3"),
		json.RawMessage(`{"code": 7, "station": "S1", "device": "tablet", "at": "2026-11-25T13:04:00Z"}`),
		json.RawMessage(`"what is this"`),
		json.RawMessage(`{"code": "1-001-00000001-31", "station": "S1", "device": "tablet"}`),
		json.RawMessage(`{"code": "1-001-00000001-31", "station": "S1", "device": "tablet", "at": "2026-11-25T13:05:00Z", "bars": [{"lot": "1-001-00000001-31", "bars": 1}]}`),
		json.RawMessage(`{"code": "1-001-00000001-31", "station": "S1", "device": "tablet", "at": "2026-11-25T13:05:00Z", "mood": "good"}`),
		json.RawMessage(`{"code": "x", "station": "S1", "device": "tablet", "at": "3999-11-25T13:05:00Z"}`),
		used,
		keptScan(30, b1, "B1", "k4"),
	}
	got, err := s.Kept(s.ctx, batch)
	require.NoError(t, err)
	require.Len(t, got.Answers, len(batch))
	var says []string
	for i, a := range got.Answers {
		require.NotZero(t, a.Seq, "%d", i)
		require.False(t, a.Again)
		one := verdict(a)
		if a.Notes[0].Code == "disputed" {
			one += ", " + a.Notes[1].Code + " " + strings.Join(a.Notes[1].Args[max(0, len(a.Notes[1].Args)-1):], "")
		}
		says = append(says, one)
	}
	require.Equal(t, []string{
		"check: cut started", // no stock lies on the feeds
		"check: cut done",
		"accepted: once",
		"check: disputed, held rib height",
		"check: disputed, kept not read code: expected string",
		"check: disputed, kept not read expected object",
		"check: disputed, kept not read at: is missing; a kept scan says when it was, by the device's clock",
		"check: disputed, kept not read bars[0].lot: 1-001-00000001-31 is the number of a bundle; what belongs here is a stock",
		"check: disputed, kept not read mood: unexpected property",
		"check: disputed, kept not read at: is not a time of this plant; is the device's clock set?",
		"check: disputed, kept not read its key was used for another request",
		"check: step started",
	}[:len(says)-1], says[:len(says)-1])

	for _, some := range [][]json.RawMessage{batch, batch[3:], batch[:5]} {
		again, err := s.Kept(s.ctx, some)
		require.NoError(t, err)
		for _, a := range again.Answers {
			require.True(t, a.Again)
			a.Again = false
			found := false
			for _, first := range got.Answers {
				found = found || equal(first, a)
			}
			require.True(t, found, "%+v", a)
		}
	}
	open, err := s.Open(s.ctx, api.OpenFilter{Disputed: true}, "", 0)
	require.NoError(t, err)
	require.Len(t, open.Open, 8)
	_, err = s.Kept(s.ctx, make([]json.RawMessage, 1001))
	require.ErrorContains(t, err, "1000 are the most at once")
	status, _, _ := s.ask("POST", "/api/v1/scans/kept", "application/json", `{"code": "x"}`)
	require.Equal(t, 422, status)
	// One alone by the way of all others is the same scan.
	var one api.Scan
	require.NoError(t, json.Unmarshal(batch[0], &one))
	one.Kept = true
	a, err := s.Scan(s.ctx, one)
	require.NoError(t, err)
	require.True(t, a.Again)
	one.At, one.Key = time.Time{}, "k9"
	_, err = s.Scan(s.ctx, one)
	require.ErrorContains(t, err, "body.at: is missing")
}

func TestTheListToResolve(t *testing.T) {
	s := openShop(t)
	_, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	bundles, err := s.Bundles(s.ctx, api.BundleFilter{}, "", 0)
	require.NoError(t, err)
	b1, b2 := bundles.Bundles[0].Number, bundles.Bundles[1].Number
	for _, b := range []string{b1, b2} {
		_, err = s.Hold(s.ctx, api.PutHold{Target: api.Target{Number: b}, Reason: "rib height"})
		require.NoError(t, err)
	}
	_, err = s.Kept(s.ctx, []json.RawMessage{keptScan(1, b1, "S1", "k1"), keptScan(2, b2, "S1", "k2"), keptScan(3, "no tag", "S1", "k3")})
	require.NoError(t, err)

	all, err := s.Open(s.ctx, api.OpenFilter{}, "", 0)
	require.NoError(t, err)
	require.Len(t, all.Open, 3)
	require.Equal(t, []any{true, "scan disputed", "no tag", "floor lead"}, []any{all.Open[0].Disputed, all.Open[0].Kind, all.Open[0].About, all.Open[0].Office})
	held := all.Open[2]
	require.Equal(t, []any{b1, "4F207 1/1, 26-014/1", "quality", "S1", "tablet"}, []any{held.Number, held.About, held.Office, held.Station, held.Device})
	require.Len(t, held.How, 2)
	require.NotEmpty(t, held.Age)
	for _, c := range []struct {
		f    api.OpenFilter
		want int
	}{{api.OpenFilter{Office: "quality"}, 2}, {api.OpenFilter{Bundle: b1}, 1}, {api.OpenFilter{Station: "S2"}, 0}, {api.OpenFilter{Disputed: true, Lang: "es"}, 3}} {
		some, err := s.Open(s.ctx, c.f, "", 0)
		require.NoError(t, err)
		require.Len(t, some.Open, c.want, "%+v", c.f)
	}
	var pages []uint64
	for after := ""; ; {
		page, err := s.Open(s.ctx, api.OpenFilter{}, after, 1)
		require.NoError(t, err)
		for _, o := range page.Open {
			pages = append(pages, o.Seq)
		}
		if after = page.Next; after == "" {
			break
		}
	}
	require.Equal(t, []uint64{all.Open[0].Seq, all.Open[1].Seq, all.Open[2].Seq}, pages)
	table, err := s.OpenCSV(s.ctx, api.OpenFilter{Office: "quality"}, "", 0)
	require.NoError(t, err)
	require.Equal(t, 3, strings.Count(string(table), "\r\n"))
	require.Contains(t, string(table), `"4F207 1/1, 26-014/1"`)
	trace, err := s.Trace(s.ctx, b1)
	require.NoError(t, err)
	require.Equal(t, []int{1, 1, 1}, []int{trace.Totals.Checks, trace.Totals.Open, trace.Totals.Disputes})

	// Who may: anybody while nobody holds the office, then who does.
	seq, err := s.Resolve(s.ctx, all.Open[1].Seq, api.Resolve{Reason: "never cut"})
	require.NoError(t, err)
	require.Equal(t, []any{"anybody, since nobody here holds quality", "accepted", b2}, []any{seq.As, seq.Verdict, seq.Number})
	ana, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Example"})
	require.NoError(t, err)
	require.Empty(t, ana.Person.Offices)
	ben, err := s.Person(s.ctx, api.MakePerson{Name: "Ben Example", Offices: []string{"floor lead"}})
	require.NoError(t, err)
	who, err := s.SetPerson(s.ctx, ana.Person.Number, api.SetPerson{Offices: []string{"office", "quality"}})
	require.NoError(t, err)
	require.Equal(t, api.Person{Number: ana.Person.Number, Name: "Ana Example", Offices: []string{"quality", "office"}}, who)
	persons, err := s.Persons(s.ctx, "", 0)
	require.NoError(t, err)
	require.Equal(t, []api.Person{who, ben.Person}, persons.Persons)
	_, err = s.SetPerson(s.ctx, "6-001-00000009-42", api.SetPerson{Offices: []string{}})
	require.Error(t, err)
	_, err = s.Resolve(s.ctx, held.Seq, api.Resolve{Reason: "cut", Took: true, Person: ben.Person.Number})
	require.ErrorContains(t, err, "may not settle this; quality may, such as badge "+ana.Person.Number)
	_, err = s.Resolve(s.ctx, held.Seq, api.Resolve{Reason: "cut", Took: true})
	require.ErrorContains(t, err, "person: is missing")

	ask := api.Resolve{Reason: "cut, Ben saw it", Took: true, Person: ana.Person.Number, Pieces: 38, By: api.By{Device: "office", Key: "r1"}}
	took, err := s.Resolve(s.ctx, held.Seq, ask)
	require.NoError(t, err)
	require.Equal(t, []any{"quality", "check", "taken"}, []any{took.As, took.Verdict, took.Notes[0].Code})
	again, err := s.Resolve(s.ctx, held.Seq, ask)
	require.NoError(t, err)
	require.True(t, again.Again)
	_, err = s.Resolve(s.ctx, held.Seq, api.Resolve{Reason: "once more", Person: ana.Person.Number})
	require.ErrorContains(t, err, fmt.Sprintf("record %d is not on the list to resolve", held.Seq))
	j, err := s.Journal(s.ctx, int64(took.Seq)-1, 3)
	require.NoError(t, err)
	require.Equal(t, []string{"resolved", "run opened", "cut done"}, []string{j.Events[0].Kind, j.Events[1].Kind, j.Events[2].Kind})
	require.Equal(t, []any{[]string{ana.Person.Number}, "badge", "quality"}, []any{j.Events[0].People, j.Events[0].Identified, j.Events[0].Body["as"]})
	trace, err = s.Trace(s.ctx, b1)
	require.NoError(t, err)
	require.Equal(t, []int{2, 1, 0}, []int{trace.Totals.Checks, trace.Totals.Open, trace.Totals.Disputes}, "what was taken wants quality again")
}
