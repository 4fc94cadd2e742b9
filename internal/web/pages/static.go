package pages

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io/fs"
	"mime"
	"net/http"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/labstack/echo/v4"
)

// edition names the state of all static files at once. It stands in their addresses, before the file's own
// path, so that what one module imports from its neighbour is of the same state, and browsers may keep them.
// Like all that only a server needs, it is worked out at the first use: most commands serve no page.
var edition = sync.OnceValue(func() string {
	h := sha256.New()
	err := fs.WalkDir(files, "static", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := files.ReadFile(path)
		h.Write([]byte(path))
		h.Write(data)
		return err
	})
	if err != nil {
		panic(err) // the folder is embedded
	}
	return hex.EncodeToString(h.Sum(nil)[:6])
})

// packed are the texts among the static files, by their path, in gzip: a phone on a yard's network has less to wait for.
var packed = sync.OnceValue(func() map[string][]byte {
	out := map[string][]byte{}
	for _, glob := range []string{"static/*.css", "static/js/*.js"} {
		paths, err := fs.Glob(files, glob)
		if err != nil {
			panic(err) // the patterns are ours
		}
		for _, path := range paths {
			data, err := files.ReadFile(path)
			if err != nil {
				panic(err) // the folder is embedded
			}
			var b bytes.Buffer
			w, _ := gzip.NewWriterLevel(&b, gzip.BestCompression) // the level is one of its own
			_, _ = w.Write(data)                                  // a buffer takes everything
			_ = w.Close()
			out[strings.TrimPrefix(path, "static/")] = b.Bytes()
		}
	}
	return out
})

// asset is the address of a static file.
func asset(path string) string { return "/static/" + edition() + "/" + path }

// static serves the static files. A page from before an update asks for an edition that is no more: it gets the
// file of now, and keeps it for this once.
func (p *pages) static() echo.HandlerFunc {
	sub, err := fs.Sub(files, "static")
	if err != nil {
		panic(err) // the folder is embedded
	}
	server := http.FileServerFS(sub)
	return func(c echo.Context) error {
		is, path, _ := strings.Cut(strings.TrimPrefix(c.Request().URL.Path, "/static/"), "/")
		if file, err := fs.Stat(sub, path); err != nil || file.IsDir() {
			return echo.ErrNotFound
		}
		if is == edition() {
			c.Response().Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		}
		if data, ok := packed()[path]; ok {
			c.Response().Header().Set("Vary", "Accept-Encoding")
			if strings.Contains(c.Request().Header.Get("Accept-Encoding"), "gzip") {
				c.Response().Header().Set("Content-Encoding", "gzip")
				return c.Blob(http.StatusOK, mime.TypeByExtension(filepath.Ext(path)), data)
			}
		}
		r := c.Request().Clone(c.Request().Context())
		r.URL.Path = "/" + path
		server.ServeHTTP(c.Response(), r)
		return nil
	}
}

// worker serves the service worker from the root, whose pages it looks after: its text, and before it the files
// that a page of the floor needs. Its bytes change with any of them, which is how a browser notices.
func (p *pages) worker(c echo.Context) error {
	kept := struct {
		Edition string   `json:"edition"`
		Files   []string `json:"files"`
	}{edition(), []string{asset("page.css"), asset("floor.css"), asset("sign.svg")}}
	scripts, err := fs.Glob(files, "static/js/*.js")
	if err != nil {
		return err
	}
	for _, path := range scripts {
		switch name := strings.TrimPrefix(path, "static/"); name {
		case "js/sw.js", "js/office.js", "js/board.js":
		default:
			kept.Files = append(kept.Files, asset(name))
		}
	}
	head, err := json.Marshal(kept)
	if err != nil {
		return err
	}
	text, err := files.ReadFile("static/js/sw.js")
	if err != nil {
		return err
	}
	return c.Blob(http.StatusOK, "text/javascript; charset=utf-8", slices.Concat([]byte("self.tagd = "), head, []byte(";\n"), text))
}
