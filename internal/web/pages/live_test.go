package pages_test

import (
	"bufio"
	"context"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/floor"
)

// TestLive: a page says up to which record it shows everything, and is told what comes after: which kind, where,
// of which load, and no names.
func TestLive(t *testing.T) {
	b, f := open(t)
	srv := httptest.NewServer(b.srv)
	defer srv.Close()
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20})
	require.Equal(t, 200, b.get("/at/S1"))
	head := regexp.MustCompile(`data-head="(\d+)"`).FindStringSubmatch(b.page)
	require.NotNil(t, head, b.page)
	require.Equal(t, 200, b.scan("S1", "1-001-00000001-31"))
	_, err := f.MakePerson(context.Background(), floor.Origin{}, floor.Person{Name: "Ana Ruiz (invented)"})
	require.NoError(t, err)

	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, "GET", srv.URL+"/live?after="+head[1], nil)
	require.NoError(t, err)
	a, err := http.DefaultClient.Do(r)
	require.NoError(t, err)
	defer a.Body.Close()
	require.Equal(t, "text/event-stream", a.Header.Get("Content-Type"))
	lines := bufio.NewScanner(a.Body)
	var got []string
	for len(got) < 2 && lines.Scan() {
		if data, ok := strings.CutPrefix(lines.Text(), "data: "); ok {
			got = append(got, data)
		}
	}
	require.Len(t, got, 2)
	require.Regexp(t, `^\{"seq":\d+,"kind":"[a-z ]+","station":"S1"\}$`, got[0])
	require.Regexp(t, `^\{"seq":\d+,"kind":"person made"\}$`, got[1])

	require.Equal(t, 422, b.get("/live?after=x"))
}
