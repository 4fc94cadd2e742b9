package web

import (
	"context"
	"fmt"
	"log/slog"
	"mime"
	"net/http"
	"path"
	"runtime/debug"
	"strings"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"
)

// policy lets a page load only what this server sends, and no page of others frame ours. Styles and
// scripts stand in files: neither attributes nor elements with text are allowed.
const policy = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; " +
	"form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// headers go out with every answer; a handler may set its own instead.
//
// The referrer policy must not be no-referrer: browsers then send "Origin: null" with a form, and
// off HTTPS, where they send no Sec-Fetch-Site, checkOrigin has nothing else to go by.
var headers = map[string]string{
	"Content-Security-Policy":      policy,
	"X-Content-Type-Options":       "nosniff",
	"Referrer-Policy":              "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Cache-Control":                "no-cache",
}

type requestID struct{}

// RequestID is the number under which the log knows the request, "" outside of one.
func RequestID(ctx context.Context) string {
	id, _ := ctx.Value(requestID{}).(string)
	return id
}

func (s *Server) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		start := time.Now()
		id := uuid.Must(uuid.NewV7()).String()
		c.SetRequest(c.Request().WithContext(context.WithValue(c.Request().Context(), requestID{}, id)))
		h := c.Response().Header()
		for k, v := range headers {
			h.Set(k, v)
		}
		h.Set("X-Request-Id", id)
		defer func() {
			took := time.Since(start)
			s.Metrics.request(c, took)
			s.log.LogAttrs(c.Request().Context(), slog.LevelDebug, "request", slog.String("id", id),
				slog.String("method", c.Request().Method), slog.String("route", c.Path()),
				slog.Int("status", c.Response().Status), slog.Int64("bytes", c.Response().Size), slog.Duration("took", took))
		}()
		if err := next(c); err != nil {
			s.fail(c, err)
		}
		return nil
	}
}

// panicked is the fault that a panic is turned into.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprintf("panic: %v\n%s", p.value, p.stack) }

func (s *Server) recover(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) (err error) {
		defer func() {
			switch v := recover(); v {
			case nil:
			case http.ErrAbortHandler: // asks net/http to cut the connection
				panic(v)
			default:
				err = &panicked{v, debug.Stack()}
			}
		}()
		return next(c)
	}
}

func (s *Server) checkOrigin(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if err := s.cross.Check(c.Request()); err != nil {
			return Refuse("cross-origin", "A page of another site asked for this, so nothing was done.",
				"Open this server's own page and do it there.")
		}
		return next(c)
	}
}

func (s *Server) limitBody(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		r, limit := c.Request(), s.opt.MaxBody
		if s.large[c.Path()] {
			limit = s.opt.MaxUpload
			// Not every writer has deadlines; without one the bounds of the whole server stay.
			rc := http.NewResponseController(c.Response())
			if rc.SetReadDeadline(time.Now().Add(10*s.opt.Read)) == nil {
				_ = rc.SetWriteDeadline(time.Now().Add(10*s.opt.Read + s.opt.Write))
			}
		}
		if r.ContentLength > limit {
			return &http.MaxBytesError{Limit: limit}
		}
		// The writer of net/http itself, not echo's round it, knows how to close the connection.
		r.Body = http.MaxBytesReader(c.Response().Writer, r.Body, limit)
		return next(c)
	}
}

// Attachment is the Content-Disposition (RFC 6266) of a file that others gave us: the browser saves
// it under that name and never shows it as a page of ours.
func Attachment(name string) string {
	name = path.Base(strings.ReplaceAll(strings.ToValidUTF8(name, "_"), `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, name)
	if name == "" || name == "." || name == ".." || name == "/" {
		name = "file"
	}
	return mime.FormatMediaType("attachment", map[string]string{"filename": name})
}
