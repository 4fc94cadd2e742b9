package rest_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/barlist"
	"tagd/internal/floor"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/web"
	"tagd/internal/web/rest"
)

// BenchmarkScan is one scan through the whole server but for the network and the wait for the disk: a bundle's
// bend, started and done in turn, with the card.
func BenchmarkScan(b *testing.B) {
	db, err := bolt.Open(b.TempDir()+"/plant", floor.Tables(), bolt.Options{NoSync: true})
	require.NoError(b, err)
	r := rules()
	r.Pause, r.Repeat = 0, 0
	f, err := floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{Plant: 1, Rules: r})
	require.NoError(b, err)
	defer f.Close()
	server := web.New(web.Options{})
	require.NoError(b, rest.Mount(server, f, rest.Options{Defaults: barlist.Defaults{Spec: "A615", Grade: "60"}}))
	post := func(path string, body any) *httptest.ResponseRecorder {
		text, err := json.Marshal(body)
		require.NoError(b, err)
		q := httptest.NewRequest("POST", "http://localhost/api/v1"+path, bytes.NewReader(text))
		q.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		server.ServeHTTP(w, q)
		if w.Code >= 400 {
			b.Fatal(w.Code, w.Body)
		}
		return w
	}
	var lines bytes.Buffer
	lines.WriteString("mark,size,length,pieces,route\n")
	for i := range 5000 {
		fmt.Fprintf(&lines, "M%d,#5,12',10,bend\n", i)
	}
	q := httptest.NewRequest("POST", "http://localhost/api/v1/lists?job=1&list=1", &lines)
	q.Header.Set("Content-Type", "text/csv")
	w := httptest.NewRecorder()
	server.ServeHTTP(w, q)
	require.Equal(b, http.StatusOK, w.Code, w.Body)
	var taken api.ListTaken
	require.NoError(b, json.Unmarshal(w.Body.Bytes(), &taken))
	n := 0
	for b.Loop() {
		post("/scans", api.Scan{Code: taken.Lines[n/2%5000].Bundles[0], Station: "B1", By: api.By{Device: "tablet", Key: fmt.Sprint(n)}})
		n++
	}
}
