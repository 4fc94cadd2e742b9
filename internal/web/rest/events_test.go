package rest_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// followed is a client of server-sent events (HTML standard, section 9.2): it gives the ids, with the
// events, until stop.
func (s *shop) followed(header map[string]string, query string) (next func() (uint64, api.Event), stop func()) {
	ctx, cancel := context.WithTimeout(s.ctx, 20*time.Second)
	r, err := http.NewRequestWithContext(ctx, "GET", s.Base+"/api/v1/events"+query, nil)
	require.NoError(s, err)
	for k, v := range header {
		r.Header.Set(k, v)
	}
	a, err := http.DefaultClient.Do(r)
	require.NoError(s, err)
	require.Equal(s, http.StatusOK, a.StatusCode)
	require.Equal(s, "text/event-stream", a.Header.Get("Content-Type"))
	lines := bufio.NewScanner(a.Body)
	lines.Buffer(nil, 1<<20)
	return func() (id uint64, e api.Event) {
		for lines.Scan() {
			line := lines.Text()
			if v, ok := strings.CutPrefix(line, "id: "); ok {
				id, err = strconv.ParseUint(v, 10, 64)
				require.NoError(s, err)
			} else if v, ok := strings.CutPrefix(line, "data: "); ok {
				require.NoError(s, json.Unmarshal([]byte(v), &e))
			} else if line == "" && id != 0 {
				return id, e
			}
		}
		require.NoError(s, lines.Err())
		s.Fatal("the stream ended")
		return 0, e
	}, func() { cancel(); a.Body.Close() }
}

// A stream that is cut and taken up again with Last-Event-ID loses no event and doubles none, while
// others write.
func TestFollowResumes(t *testing.T) {
	s := openShop(t)
	before, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	const n = 300
	done := make(chan error, 1)
	go func() {
		for i := range n {
			if _, err := s.Place(s.ctx, api.MakePlace{Name: fmt.Sprintf("A-%d", i)}); err != nil {
				done <- err
				return
			}
		}
		done <- nil
	}()
	last, seen := before.Head, 0
	for seen < n {
		next, stop := s.followed(map[string]string{"Last-Event-ID": strconv.FormatUint(last, 10)}, "")
		for range 70 {
			if seen == n {
				break
			}
			id, e := next()
			require.Equal(t, last+1, id)
			require.Equal(t, id, e.Seq)
			require.Equal(t, "place made", e.Kind)
			require.Equal(t, fmt.Sprintf("A-%d", seen), e.Body["name"])
			last = id
			seen++
		}
		stop()
	}
	require.NoError(t, <-done)
}

// Without an id a stream tells what comes from now on; with after, what came after it.
func TestFollowFrom(t *testing.T) {
	s := openShop(t)
	_, err := s.Place(s.ctx, api.MakePlace{Name: "before"})
	require.NoError(t, err)
	next, stop := s.followed(nil, "")
	defer stop()
	_, err = s.Place(s.ctx, api.MakePlace{Name: "after"})
	require.NoError(t, err)
	_, e := next()
	require.Equal(t, "after", e.Body["name"])
	next, stop = s.followed(nil, "?after=0")
	defer stop()
	id, e := next()
	require.EqualValues(t, 1, id)
	require.Equal(t, "settings changed", e.Kind)

	status, kind, body := s.ask("GET", "/api/v1/events?after=x", "", "")
	require.Equal(t, []any{422, "application/problem+json"}, []any{status, kind}, body)
}

// The journal comes in pages, from record 0, with words and names for what is stored as numbers.
func TestJournal(t *testing.T) {
	s := openShop(t)
	person, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Example"})
	require.NoError(t, err)
	taken := time.Date(2026, 1, 5, 13, 30, 0, 0, time.UTC)
	_, err = s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1", By: api.By{Device: "office", People: []string{person.Person.Number}, At: taken}})
	require.NoError(t, err)
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"01E5"}, Size: "#5", Length: "60'", Bars: 9})
	require.NoError(t, err)
	s.at("S1", got.Lots[0].Number)

	var all []api.Event
	after := int64(-1)
	for {
		page, err := s.Journal(s.ctx, after, 3)
		require.NoError(t, err)
		if len(page.Events) == 0 {
			require.EqualValues(t, after, page.Head)
			break
		}
		require.LessOrEqual(t, len(page.Events), 3)
		all = append(all, page.Events...)
		after = int64(page.Events[len(page.Events)-1].Seq)
	}
	var kinds []string
	for i, e := range all {
		require.EqualValues(t, i, e.Seq)
		kinds = append(kinds, e.Kind)
	}
	require.Equal(t, []string{"store opened", "settings changed", "person made", "job set", "line taken", "line taken", "list taken", "lot received", "feed charged"}, kinds)
	require.Equal(t, map[string]any{"person": person.Person.Number}, all[2].Body, "the name lives outside the journal")
	line := all[4]
	require.Equal(t, "badge", line.Identified)
	require.Equal(t, []string{person.Person.Number}, line.People)
	require.Equal(t, "office", line.Device)
	require.True(t, taken.Equal(*line.Happened), "%v", line.Happened)
	require.InDelta(t, 3505.2, line.Body["length_mm"], 1e-9) // 11'-6"
	require.Equal(t, map[string]any{"size": "#5", "spec": "A615", "grade": "60"}, line.Body["steel"])
	require.Equal(t, map[string]any{"legs": []any{map[string]any{"length_mm": 609.6, "turn_degrees": 90.0}, map[string]any{"length_mm": 2895.6, "turn_degrees": 0.0}}}, line.Body["shape"])
	lot := all[7]
	require.Equal(t, []any{"01E5"}, lot.Body["heats"])
	require.Equal(t, "none", lot.Identified)
	charged := all[8]
	require.Equal(t, "accepted", charged.Answer.Verdict)
	require.Equal(t, []string{"charged"}, charged.Answer.Codes)
	require.Equal(t, "S1", charged.Station)
	require.NotNil(t, charged.Happened)
}
