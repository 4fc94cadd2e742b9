package api_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// What a client sends, and what it makes of answers that are no answer of the server.
func TestClient(t *testing.T) {
	var asked *http.Request
	var body string
	status, kind, answer := 200, "application/json", "{}"
	h := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body)
		asked, body = r, string(b)
		w.Header().Set("Content-Type", kind)
		w.WriteHeader(status)
		_, _ = io.WriteString(w, answer)
	}))
	defer h.Close()
	c := &api.Client{Base: h.URL + "/"}
	ctx := context.Background()

	_, err := c.Job(ctx, "26/014 ñ")
	require.NoError(t, err)
	require.Equal(t, "/api/v1/jobs/26%2F014%20%C3%B1", asked.URL.EscapedPath())
	_, err = c.Bundles(ctx, api.BundleFilter{Job: "a&b", State: "ready"}, "1-001-00000042-05", 5)
	require.NoError(t, err)
	require.Equal(t, "after=1-001-00000042-05&job=a%26b&limit=5&state=ready", asked.URL.RawQuery)
	_, err = c.Scan(ctx, api.Scan{Code: "x", Station: "S1", Remnants: []api.Remnant{}})
	require.NoError(t, err)
	require.JSONEq(t, `{"code":"x","station":"S1","remnants":[]}`, body, "nothing left is said, and is not the same as not saying it")
	_, err = c.TakeList(ctx, "l.csv", []byte("mark\n"), api.ListOptions{Job: "1", By: api.By{Key: "k"}})
	require.NoError(t, err)
	require.Equal(t, "k", asked.Header.Get("Idempotency-Key"))
	require.Contains(t, body, "mark\n")

	for _, tt := range []struct {
		status       int
		kind, answer string
		want         string
		problem      bool
	}{
		{422, "application/problem+json", `{"status":422,"title":"T","detail":"It is wrong.","next":"Do it right.","code":"invalid"}`, "It is wrong. Do it right.", true},
		{404, "application/problem+json", `{"status":404,"title":"Not Found","code":"not-found"}`, "Not Found", true},
		{502, "text/html", "<h1>Bad Gateway</h1>", "the server answered 502 Bad Gateway", false},
		{500, "application/problem+json", "{", "the server answered 500", false},
		{200, "text/html", "<h1>Welcome</h1>", "not as the contract says", false},
	} {
		status, kind, answer = tt.status, tt.kind, tt.answer
		_, err := c.Stations(ctx)
		require.ErrorContains(t, err, tt.want)
		_, is := err.(*api.Problem)
		require.Equal(t, tt.problem, is)
	}
	_, err = c.Tag(ctx, "", "pdf", 0, "")
	require.Error(t, err)
	_, err = (&api.Client{Base: "http://127.0.0.1:1"}).Stations(ctx)
	require.Error(t, err)
	_, err = (&api.Client{Base: ":"}).Stations(ctx)
	require.Error(t, err)
}
