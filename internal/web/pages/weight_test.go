package pages_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a page brings with it, and what a module of the script imports from the first.
var (
	brings  = regexp.MustCompile(`(?:href|src)="(/static/[^"]+)"`)
	imports = regexp.MustCompile(`(?m)^import [^;]*?'(\./[^']+)';`)
)

// sent is how many bytes a browser gets for an address, and what they say.
func sent(t *testing.T, srv http.Handler, address string) (size int, text string) {
	r := httptest.NewRequest("GET", address, nil)
	r.Host = "localhost"
	r.Header.Set("Accept", "text/html")
	r.Header.Set("Accept-Encoding", "gzip")
	w := httptest.NewRecorder()
	srv.ServeHTTP(w, r)
	require.Equal(t, 200, w.Code, address)
	size = w.Body.Len()
	if w.Header().Get("Content-Encoding") != "gzip" {
		return size, w.Body.String()
	}
	plain, err := gzip.NewReader(w.Body)
	require.NoError(t, err)
	all, err := io.ReadAll(plain)
	require.NoError(t, err)
	return size, string(all)
}

// The first view of a page is under 100 kB in all: the page, its style sheets, its icon, and the script with all
// that it imports before somebody asks for more. That of a station is so even unpacked.
func TestFirstView(t *testing.T) {
	b, _ := shop(t)
	for _, address := range []string{"/", "/at/S1", "/at/B1", "/at/L1", "/loads", "/jobs", "/stock", "/board", "/device"} {
		size, page := sent(t, b.srv, address)
		plain := len(page)
		var files []string
		for _, m := range brings.FindAllStringSubmatch(page, -1) {
			files = append(files, m[1])
		}
		require.GreaterOrEqual(t, len(files), 3, address)
		for i := 0; i < len(files); i++ {
			bytes, text := sent(t, b.srv, files[i])
			size, plain = size+bytes, plain+len(text)
			if path.Ext(files[i]) != ".js" {
				continue
			}
			for _, m := range imports.FindAllStringSubmatch(text, -1) {
				at, err := url.JoinPath(path.Dir(files[i]), m[1])
				require.NoError(t, err)
				if !slices.Contains(files, at) {
					files = append(files, at)
				}
			}
		}
		require.Less(t, size, 100_000, "%s with %d files", address, len(files))
		if strings.HasPrefix(address, "/at/") {
			require.Less(t, plain, 100_000, "%s with %d files", address, len(files))
		}
		t.Logf("%-8s %6d bytes, %6d unpacked, in %d files", address, size, plain, len(files))
	}
}
