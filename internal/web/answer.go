package web

import (
	"bytes"
	"encoding/json"
	"html/template"
	"io"
	"mime"
	"net/http"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"
)

// fail is the one error writer: it logs a fault whole, and answers every error as a problem. When a
// part of the answer is out already, it cuts the connection, so that nobody takes the part for the
// whole.
func (s *Server) fail(c echo.Context, err error) {
	r := c.Request()
	ctx := r.Context()
	p := ProblemOf(err)
	s.name(ctx, p)
	switch {
	case gone(r, err):
		s.log.DebugContext(ctx, "client left", "id", RequestID(ctx), "route", c.Path())
	case p.Code == "fault":
		s.log.ErrorContext(ctx, "fault", "id", RequestID(ctx), "method", r.Method, "route", c.Path(), "error", err)
	case p.Status >= 500:
		s.log.WarnContext(ctx, p.Code, "id", RequestID(ctx), "route", c.Path(), "error", err)
	}
	if c.Response().Committed {
		s.log.WarnContext(ctx, "answer cut short", "id", RequestID(ctx), "route", c.Path(), "error", err)
		panic(http.ErrAbortHandler)
	}

	h := c.Response().Header()
	for _, own := range []string{"Content-Disposition", "Content-Encoding", "Content-Length", "ETag", "Last-Modified"} {
		h.Del(own) // what a handler had set for the answer that it did not give
	}
	h.Set("Cache-Control", "no-store")
	h.Add("Vary", "Accept")
	if p.Status == http.StatusServiceUnavailable || p.Status == http.StatusTooManyRequests {
		h.Set("Retry-After", "2")
	}
	var body bytes.Buffer
	if ct := "text/html; charset=utf-8"; wantsPage(r) {
		if err := s.opt.Page(&body, r, p); err != nil {
			s.log.ErrorContext(ctx, "error page", "id", RequestID(ctx), "error", err)
			body.Reset()
			_ = plainPage(&body, r, p) // to memory, of plain fields: it cannot fail
		}
		h.Set("Content-Type", ct)
	} else {
		_ = json.NewEncoder(&body).Encode(p) // to memory, of plain fields: it cannot fail
		h.Set("Content-Type", "application/problem+json")
	}
	h.Set("Content-Length", strconv.Itoa(body.Len()))
	c.Response().WriteHeader(p.Status)
	if r.Method != http.MethodHead {
		_, _ = c.Response().Write(body.Bytes()) // a client that left needs no answer
	}
}

// wantsPage says whether a client would rather read a page than JSON. The API never answers with
// pages; "*/*" is no wish.
func wantsPage(r *http.Request) bool {
	if strings.HasPrefix(r.URL.Path, "/api/") {
		return false
	}
	page, data := 0.0, 0.0
	for part := range strings.SplitSeq(strings.Join(r.Header.Values("Accept"), ","), ",") {
		t, params, err := mime.ParseMediaType(part)
		if err != nil {
			continue
		}
		q := 1.0
		if v, ok := params["q"]; ok {
			if q, err = strconv.ParseFloat(v, 64); err != nil {
				continue
			}
		}
		switch t {
		case "text/html", "application/xhtml+xml":
			page = max(page, q)
		case "application/json", "application/problem+json":
			data = max(data, q)
		}
	}
	return page > data
}

var plain = template.Must(template.New("problem").Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.Title}}</title>
</head>
<body>
<main>
<h1>{{.Title}}</h1>
<p>{{.Detail}}</p>
{{with .Errors}}<ul>
{{range .}}<li>{{.Error}}</li>
{{end}}</ul>
{{end}}{{with .Next}}<p>{{.}}</p>
{{end}}<p><a href="/">Front page</a></p>
{{with .Instance}}<p>Number of this request: <code>{{.}}</code></p>
{{end}}</main>
</body>
</html>
`))

// plainPage is the page of a problem where nobody gave a better one.
func plainPage(w io.Writer, _ *http.Request, p *Problem) error { return plain.Execute(w, p) }
