package pages_test

import (
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"net/http/httptest"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestWorker: the service worker comes from the root, is asked for anew each time, and says the files that a page
// of the floor needs, each of which is there.
func TestWorker(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/sw.js"))
	head, text, ok := strings.Cut(strings.TrimPrefix(b.page, "self.tagd = "), ";\n")
	require.True(t, ok)
	var says struct {
		Edition string
		Files   []string
	}
	require.NoError(t, json.Unmarshal([]byte(head), &says))
	own, err := os.ReadFile("static/js/sw.js")
	require.NoError(t, err)
	require.Equal(t, string(own), text)
	for _, path := range says.Files {
		require.Contains(t, path, says.Edition)
		require.Equal(t, 200, b.get(path), path)
	}
	// What floor.js imports, and what that imports, is among them.
	scripts, err := fs.Glob(os.DirFS("."), "static/js/*.js")
	require.NoError(t, err)
	joined := strings.Join(says.Files, " ")
	for _, path := range scripts {
		name := strings.TrimPrefix(path, "static/")
		if name != "js/sw.js" && name != "js/office.js" && name != "js/board.js" {
			require.Contains(t, joined, "/"+name)
		}
	}
}

// A browser that takes gzip gets the texts so, with what they say unchanged.
func TestPackedFiles(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/at/S1"))
	address := regexp.MustCompile(`/static/[0-9a-f]+/floor\.css`).FindString(b.page)
	require.Equal(t, 200, b.get(address))
	plain := b.page
	r := httptest.NewRequest("GET", address, nil)
	r.Host = "localhost"
	r.Header.Set("Accept-Encoding", "gzip, deflate")
	w := httptest.NewRecorder()
	b.srv.ServeHTTP(w, r)
	require.Equal(t, "gzip", w.Header().Get("Content-Encoding"))
	require.Equal(t, "Accept-Encoding", w.Header().Get("Vary"))
	require.Contains(t, w.Header().Get("Content-Type"), "text/css")
	z, err := gzip.NewReader(w.Body)
	require.NoError(t, err)
	text, err := io.ReadAll(z)
	require.NoError(t, err)
	require.Equal(t, plain, string(text))
}
