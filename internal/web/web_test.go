package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/labstack/echo/v4"
	"github.com/stretchr/testify/require"

	"tagd/internal/event"
)

// held is a refusal as the rooms below give it.
type held struct{}

func (held) Error() string { return "Heat 01E5 is held: bend test." }
func (held) Code() string  { return "conflict" }
func (held) Next() string  { return "Set the bundle aside." }

// newServer has a route for each way of going wrong. Its log is in the buffer.
func newServer(t *testing.T, opt Options) (*Server, *bytes.Buffer) {
	t.Helper()
	var log bytes.Buffer
	opt.Log = slog.New(slog.NewJSONHandler(&log, nil))
	s := New(opt)
	s.API.GET("/things/:number", func(c echo.Context) error { return c.String(http.StatusOK, c.Param("number")) })
	read := func(c echo.Context) error {
		b, err := io.ReadAll(c.Request().Body)
		if err != nil {
			return fmt.Errorf("reading: %w", err)
		}
		return c.String(http.StatusOK, fmt.Sprint(len(b)))
	}
	s.API.POST("/things", read)
	s.API.POST("/files/:number", read)
	s.LargeBodies("/api/v1/files/:number")
	s.Pages.GET("/panic", func(echo.Context) error { panic("secret of the panic") })
	s.Pages.GET("/fault", func(echo.Context) error { return errors.New("secret of the fault") })
	s.Pages.GET("/held", func(echo.Context) error { return fmt.Errorf("loading: %w", held{}) })
	s.Pages.GET("/half", func(c echo.Context) error {
		_, _ = c.Response().Write(bytes.Repeat([]byte("half "), 2000))
		c.Response().Flush()
		return errors.New("secret of the second half")
	})
	return s, &log
}

func get(s *Server, method, target string, change func(*http.Request)) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, "http://localhost"+target, nil)
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func problemIn(t *testing.T, w *httptest.ResponseRecorder) Problem {
	t.Helper()
	require.Equal(t, "application/problem+json", w.Header().Get("Content-Type"), w.Body.String())
	var p Problem
	require.NoError(t, json.Unmarshal(w.Body.Bytes(), &p))
	require.Equal(t, w.Code, p.Status)
	require.Equal(t, "about:blank", p.Type)
	require.Equal(t, http.StatusText(p.Status), p.Title)
	require.Equal(t, "urn:uuid:"+w.Header().Get("X-Request-Id"), p.Instance)
	return p
}

func TestEveryErrorIsAProblem(t *testing.T) {
	s, log := newServer(t, Options{})
	unsaid := func(n int) func(*http.Request) { // chunked: the length is known at the end only
		return func(r *http.Request) {
			r.Body, r.ContentLength = io.NopCloser(bytes.NewReader(make([]byte, n))), -1
		}
	}
	for _, tt := range []struct {
		name, method, target string
		change               func(*http.Request)
		status               int
		code                 string
	}{
		{"no route", "GET", "/nowhere", nil, 404, "not-found"},
		{"no route of the API", "GET", "/api/v1/nowhere", nil, 404, "not-found"},
		{"another method", "DELETE", "/api/v1/things/5", nil, 405, "method"},
		{"an invented method", "FROB", "/api/v1/things/5", nil, 405, "method"},
		{"a panic", "GET", "/panic", nil, 500, "fault"},
		{"a fault", "GET", "/fault", nil, 500, "fault"},
		{"a refusal", "GET", "/held", nil, 409, "conflict"},
		{"too large, said, and not read", "POST", "/api/v1/things", func(r *http.Request) {
			r.Body, r.ContentLength = io.NopCloser(iotest.ErrReader(errors.New("read"))), 1<<20+1
		}, 413, "too-large"},
		{"too large, unsaid", "POST", "/api/v1/things", unsaid(1<<20 + 1), 413, "too-large"},
		{"a file too large", "POST", "/api/v1/files/5", unsaid(60<<20 + 1), 413, "too-large"},
		{"another host", "GET", "/healthz", func(r *http.Request) { r.Host = "evil.example" }, 421, "wrong-host"},
		{"another site", "POST", "/api/v1/things", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403, "cross-origin"},
		{"another origin", "POST", "/api/v1/things", func(r *http.Request) { r.Header.Set("Origin", "https://evil.example") }, 403, "cross-origin"},
		{"a hidden origin", "POST", "/api/v1/things", func(r *http.Request) { r.Header.Set("Origin", "null") }, 403, "cross-origin"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			log.Reset()
			w := get(s, tt.method, tt.target, tt.change)
			p := problemIn(t, w)
			require.Equal(t, tt.status, w.Code)
			require.Equal(t, tt.code, p.Code)
			require.NotEmpty(t, p.Detail)
			require.NotEmpty(t, p.Next)
			require.NotContains(t, w.Body.String(), "secret")
			require.Equal(t, "no-store", w.Header().Get("Cache-Control"))
			require.NotEmpty(t, w.Header().Get("Content-Security-Policy"))
			if tt.status == 405 {
				require.Contains(t, w.Header().Get("Allow"), "GET")
			}
			if tt.code == "fault" {
				require.Contains(t, log.String(), "secret")
				require.Contains(t, log.String(), w.Header().Get("X-Request-Id"))
			} else {
				require.Empty(t, log.String())
			}
		})
	}
}

func TestWhatIsAllowed(t *testing.T) {
	s, _ := newServer(t, Options{})
	sized := func(n int) func(*http.Request) {
		return func(r *http.Request) { r.Body = io.NopCloser(bytes.NewReader(make([]byte, n))) }
	}
	for _, tt := range []struct {
		name, method, target string
		change               func(*http.Request)
		says                 string
	}{
		{"a read", "GET", "/api/v1/things/5", nil, "5"},
		{"a read from another site, which cannot see it", "GET", "/api/v1/things/5", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, "5"},
		{"a program without origin", "POST", "/api/v1/things", nil, "0"},
		{"our own page", "POST", "/api/v1/things", func(r *http.Request) { r.Header.Set("Origin", "http://localhost") }, "0"},
		{"a body of 1 MB", "POST", "/api/v1/things", sized(1 << 20), fmt.Sprint(1 << 20)},
		{"a file of 60 MB", "POST", "/api/v1/files/5", sized(60 << 20), fmt.Sprint(60 << 20)},
		{"health", "GET", "/healthz", nil, `{"status":"ok"}` + "\n"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			w := get(s, tt.method, tt.target, tt.change)
			require.Equal(t, http.StatusOK, w.Code, w.Body.String())
			require.Equal(t, tt.says, w.Body.String())
		})
	}
}

func TestHosts(t *testing.T) {
	for _, tt := range []struct {
		host         string
		closed, open bool
	}{
		{"localhost", true, true},
		{"LocalHost:8000", true, true},
		{"localhost.", true, true},
		{"127.0.0.1:8000", true, true},
		{"127.9.9.9", true, true},
		{"[::1]:8000", true, true},
		{"[::1]", true, true},
		{"[::ffff:127.0.0.1]:80", true, true},
		{"tags.shop.example", true, true},
		{"TAGS.SHOP.EXAMPLE:9000", true, true},
		{"192.0.2.7:8000", false, true},
		{"[2001:db8::7]:8000", false, true},
		{"0.0.0.0:8000", false, false},
		{"[::]:8000", false, false},
		{"evil.example", false, false},
		{"tags.shop.example.evil.example", false, false},
		{"localhost.evil.example", false, false},
		{"127.0.0.1.evil.example", false, false},
		{"2130706433", false, false}, // 127.0.0.1 as one figure: browsers send the dotted form
		{"", false, false},
		{":8000", false, false},
	} {
		names := []string{"TAGS.SHOP.EXAMPLE:8443", ""}
		require.Equal(t, tt.closed, newHosts(names, false).allow(tt.host), "%q", tt.host)
		require.Equal(t, tt.open, newHosts(names, true).allow(tt.host), "%q with open", tt.host)
	}
}

func TestPageOrJSON(t *testing.T) {
	s, _ := newServer(t, Options{})
	for _, tt := range []struct {
		target, accept string
		page           bool
	}{
		{"/nowhere", "text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", true}, // as browsers send it
		{"/nowhere", "text/html;q=0.5, application/json", false},
		{"/nowhere", "application/json;q=0.5, text/html", true},
		{"/nowhere", "*/*", false},
		{"/nowhere", "", false},
		{"/nowhere", "text/html;q=no, ;;;", false},
		{"/nowhere", "text/html;q=0", false},
		{"/api/v1/nowhere", "text/html", false},
	} {
		w := get(s, "GET", tt.target, func(r *http.Request) { r.Header.Set("Accept", tt.accept) })
		require.Equal(t, http.StatusNotFound, w.Code)
		require.Equal(t, "Accept", w.Header().Get("Vary"))
		if !tt.page {
			problemIn(t, w)
			continue
		}
		require.Equal(t, "text/html; charset=utf-8", w.Header().Get("Content-Type"), tt.accept)
		require.Contains(t, w.Body.String(), "<h1>Not Found</h1>")
	}
}

func TestPageHidesAndEscapes(t *testing.T) {
	asPage := func(r *http.Request) { r.Header.Set("Accept", "text/html") }
	s, _ := newServer(t, Options{})
	w := get(s, "GET", "/panic", asPage)
	require.Equal(t, 500, w.Code)
	require.Contains(t, w.Body.String(), w.Header().Get("X-Request-Id"))
	require.NotContains(t, w.Body.String(), "secret")

	w = get(s, "GET", "/", func(r *http.Request) { asPage(r); r.Host = "<script>alert(1)</script>" })
	require.Equal(t, 421, w.Code)
	require.NotContains(t, w.Body.String(), "<script")
	require.Contains(t, w.Body.String(), "&lt;script")

	w = get(s, "HEAD", "/nowhere", asPage)
	require.Equal(t, 404, w.Code)
	require.Empty(t, w.Body.String())
	require.NotEqual(t, "0", w.Header().Get("Content-Length"))

	own, log := newServer(t, Options{Page: func(w io.Writer, _ *http.Request, p *Problem) error {
		fmt.Fprint(w, "our page of ", p.Code)
		if p.Code == "conflict" {
			return errors.New("secret of the template")
		}
		return nil
	}})
	require.Equal(t, "our page of not-found", get(own, "GET", "/nowhere", asPage).Body.String())
	w = get(own, "GET", "/held", asPage)
	require.Contains(t, w.Body.String(), "Set the bundle aside.", "the plain page stands in")
	require.NotContains(t, w.Body.String(), "our page")
	require.Contains(t, log.String(), "secret of the template")
}

// The values are those of the OWASP secure headers advice as far as they concern pages without
// third parties; the CSP directives are of CSP level 3.
func TestHeaders(t *testing.T) {
	s, _ := newServer(t, Options{})
	h := get(s, "GET", "/api/v1/things/5", nil).Header()
	csp := h.Get("Content-Security-Policy")
	for _, d := range []string{"default-src 'none'", "style-src 'self'", "script-src 'self'", "img-src 'self'",
		"connect-src 'self'", "form-action 'self'", "frame-ancestors 'none'", "base-uri 'none'"} {
		require.Contains(t, strings.Split(csp, "; "), d)
	}
	require.NotContains(t, csp, "unsafe")
	require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"))
	require.Equal(t, "same-origin", h.Get("Referrer-Policy"))
	require.NotEmpty(t, h.Get("X-Request-Id"))
	require.NotEqual(t, h.Get("X-Request-Id"), get(s, "GET", "/healthz", nil).Header().Get("X-Request-Id"))
}

func TestProblemOf(t *testing.T) {
	for _, tt := range []struct {
		err    error
		status int
		code   string
		detail string
		next   string
		fields []Field
	}{
		{err: held{}, status: 409, code: "conflict", detail: "Heat 01E5 is held: bend test.", next: "Set the bundle aside."},
		{err: &event.Refusal{Field: "bars", Says: "is 0; count them, 1 at least"}, status: 422, code: "invalid",
			detail: "bars: is 0; count them, 1 at least", fields: []Field{{"bars", "is 0; count them, 1 at least"}}},
		{err: &event.Refusal{Says: "the lot is held"}, status: 422, code: "invalid", detail: "the lot is held"},
		{err: Refuse("key-reused", "d", "n"), status: 422, code: "key-reused", detail: "d", next: "n"},
		{err: Refuse("of a later program", "d", "n"), status: 422, code: "of a later program", detail: "d", next: "n"},
		{err: echo.NewHTTPError(404, "No bundle 1-001-00000042-05."), status: 404, code: "not-found", detail: "No bundle 1-001-00000042-05."},
		{err: echo.NewHTTPError(400, map[string]int{}), status: 400, code: "bad-request", detail: "Bad Request"},
		{err: echo.NewHTTPError(418, "tea"), status: 418, code: "invalid", detail: "tea"},
		{err: echo.NewHTTPError(502, "secret"), status: 500, code: "fault"},
		{err: echo.NewHTTPError(503, "secret"), status: 503, code: "busy"},
		{err: echo.NewHTTPError(400, "x").SetInternal(&http.MaxBytesError{Limit: 1500}), status: 413, code: "too-large",
			detail: "What was sent is larger than the 1500 bytes that are taken here."},
		{err: &http.MaxBytesError{Limit: 60 << 20}, status: 413, code: "too-large",
			detail: "What was sent is larger than the 60 MB that are taken here."},
		{err: context.DeadlineExceeded, status: 503, code: "busy"},
		{err: os.ErrDeadlineExceeded, status: 408, code: "too-slow"},
		{err: errors.New("secret"), status: 500, code: "fault"},
	} {
		p := ProblemOf(fmt.Errorf("wrapped in a secret: %w", tt.err))
		require.Equal(t, tt.status, p.Status, "%v", tt.err)
		require.Equal(t, tt.code, p.Code)
		require.Equal(t, tt.fields, p.Errors)
		require.NotContains(t, p.Detail+p.Next, "secret")
		if tt.detail != "" {
			require.Equal(t, tt.detail, p.Detail)
			require.Equal(t, tt.next+nextOf(p, tt.next), p.Next)
		}
	}
}

// nextOf lets a row leave out what to do next where it is our own sentence.
func nextOf(p *Problem, said string) string {
	if said == "" {
		return p.Next
	}
	return ""
}

func TestNewProblem(t *testing.T) {
	for _, tt := range []struct {
		status int
		errs   []error
		want   Problem
	}{
		{422, []error{Field{"body.bars", "expected integer"}, nil, Field{Message: "no"}},
			Problem{Status: 422, Code: "invalid", Detail: "validation failed", Errors: []Field{{"body.bars", "expected integer"}, {"", "no"}}}},
		{400, []error{errors.New("unexpected end")},
			Problem{Status: 400, Code: "bad-request", Detail: "validation failed", Errors: []Field{{"", "unexpected end"}}}},
		{500, []error{held{}}, Problem{Status: 409, Code: "conflict", Detail: held{}.Error(), Next: held{}.Next()}},
		{500, []error{errors.New("secret")}, *fault()},
		{500, nil, *fault()},
		{503, nil, Problem{Status: 503, Code: "busy", Detail: "validation failed"}},
	} {
		tt.want.Type, tt.want.Title = "about:blank", http.StatusText(tt.want.Status)
		require.Equal(t, tt.want, *NewProblem(tt.status, "validation failed", tt.errs...))
	}
	require.Equal(t, 413, NewProblem(500, "cannot read request body", &http.MaxBytesError{Limit: 9}).Status)
}

// A code is for ever: this list only grows.
func TestCodes(t *testing.T) {
	want := map[string]int{
		"bad-request": 400, "unauthorized": 401, "forbidden": 403, "cross-origin": 403, "not-found": 404,
		"method": 405, "not-acceptable": 406, "too-slow": 408, "conflict": 409, "running": 409, "gone": 410,
		"too-large": 413, "media-type": 415, "wrong-host": 421, "invalid": 422, "key-reused": 422,
		"too-many": 429, "fault": 500, "busy": 503, "uncertain": 503, "closing": 503, "unhealthy": 503,
	}
	require.Equal(t, want, codes)
	for status, code := range general {
		require.Equal(t, status, codes[code], code)
	}
}

func TestAttachment(t *testing.T) {
	for _, tt := range []struct{ name, want string }{
		{"cert.pdf", `attachment; filename=cert.pdf`},
		{"mill cert 7.pdf", `attachment; filename="mill cert 7.pdf"`},
		{`../../etc/passwd`, `attachment; filename=passwd`},
		{`C:\temp\a.pdf`, `attachment; filename=a.pdf`},
		{"a\"; filename=b.html\r\nX: y.pdf", `attachment; filename="a\"; filename=b.htmlX: y.pdf"`},
		{"año.pdf", `attachment; filename*=utf-8''a%C3%B1o.pdf`}, // RFC 8187
		{"\xff.pdf", `attachment; filename=_.pdf`},
		{"", `attachment; filename=file`},
		{"..", `attachment; filename=file`},
		{"/", `attachment; filename=file`},
	} {
		require.Equal(t, tt.want, Attachment(tt.name), "%q", tt.name)
	}
}

func TestMetrics(t *testing.T) {
	s, _ := newServer(t, Options{})
	get(s, "GET", "/api/v1/things/user-text", nil)
	get(s, "GET", "/api/v1/things/more-user-text", nil)
	get(s, "GET", "/user-text", nil)
	get(s, "FROB", "/api/v1/things/user-text", nil)
	get(s, "GET", "/panic", nil)
	s.Metrics.Scan("accepted")
	s.Metrics.Scan("user-text")
	text := get(s, "GET", "/metrics", nil).Body.String()
	for _, line := range []string{
		`tagd_http_requests_total{method="GET",route="/api/v1/things/:number",status="200"} 2`,
		`tagd_http_requests_total{method="GET",route="none",status="404"} 1`,
		`tagd_http_requests_total{method="other",route="/api/v1/things/:number",status="405"} 1`,
		`tagd_http_requests_total{method="GET",route="/panic",status="500"} 1`,
		`tagd_http_request_seconds_count{route="/api/v1/things/:number"} 3`,
		`tagd_scans_total{verdict="accepted"} 1`,
		`tagd_scans_total{verdict="other"} 1`,
		`tagd_scans_total{verdict="refused"} 0`,
	} {
		require.Contains(t, text, line+"\n")
	}
	require.NotContains(t, text, "user-text")
	require.Contains(t, text, "go_goroutines")
}

func TestHealth(t *testing.T) {
	var ill error
	s, log := newServer(t, Options{Healthy: func() error { return ill }})
	require.Equal(t, 200, get(s, "GET", "/healthz", nil).Code)
	ill = errors.New("secret of the disk")
	w := get(s, "GET", "/healthz", nil)
	require.Equal(t, "unhealthy", problemIn(t, w).Code)
	require.NotContains(t, w.Body.String(), "secret")
	require.Contains(t, log.String(), "secret")
	ill = nil
	s.close()
	require.Equal(t, "closing", problemIn(t, get(s, "GET", "/healthz", nil)).Code)
}

// serve runs s on a free port of loopback until stop is called, which returns what Serve did.
func serve(t *testing.T, s *Server) (address string, stop func() error) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, l) }()
	stopped := false
	stop = func() error {
		if stopped {
			return nil
		}
		stopped = true
		cancel()
		return <-done
	}
	t.Cleanup(func() { _ = stop() })
	return "http://" + l.Addr().String(), stop
}

func TestServeFinishesWhatIsUnderWay(t *testing.T) {
	s, _ := newServer(t, Options{})
	arrived, goOn := make(chan bool), make(chan bool)
	s.Pages.GET("/slow", func(c echo.Context) error {
		close(arrived)
		<-goOn
		return c.String(200, "done")
	})
	address, stop := serve(t, s)
	answer := make(chan string, 1)
	go func() {
		r, err := http.Get(address + "/slow")
		if err != nil {
			answer <- err.Error()
			return
		}
		defer r.Body.Close()
		b, _ := io.ReadAll(r.Body)
		answer <- string(b)
	}()
	<-arrived
	stopped := make(chan error, 1)
	go func() { stopped <- stop() }()
	<-s.closing
	select {
	case <-stopped:
		t.Fatal("Serve returned with a request under way")
	case <-time.After(50 * time.Millisecond):
	}
	close(goOn)
	require.Equal(t, "done", <-answer)
	require.NoError(t, <-stopped)
}

func TestServeCutsOffAfterDrain(t *testing.T) {
	s, log := newServer(t, Options{Drain: 20 * time.Millisecond})
	arrived, goOn := make(chan bool), make(chan bool)
	s.Pages.GET("/stuck", func(c echo.Context) error {
		close(arrived)
		<-goOn
		return nil
	})
	address, stop := serve(t, s)
	go func() {
		if r, err := http.Get(address + "/stuck"); err == nil {
			r.Body.Close()
		}
	}()
	<-arrived
	require.ErrorContains(t, stop(), "cut off")
	require.Contains(t, log.String(), "cut off")
	close(goOn)
}

func TestServeStaysOnLoopback(t *testing.T) {
	s, _ := newServer(t, Options{})
	l, err := net.Listen("tcp", "0.0.0.0:0")
	require.NoError(t, err)
	require.ErrorContains(t, s.Serve(t.Context(), l), "--open")
	_, err = l.Accept()
	require.ErrorIs(t, err, net.ErrClosed)
}

// An answer that breaks off must not look whole to the client.
func TestHalfAnAnswerIsCut(t *testing.T) {
	s, log := newServer(t, Options{})
	address, stop := serve(t, s)
	r, err := http.Get(address + "/half")
	require.NoError(t, err)
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	require.ErrorIs(t, err, io.ErrUnexpectedEOF)
	require.NotContains(t, string(b), "secret")
	require.NoError(t, stop())
	require.Contains(t, log.String(), "answer cut short")
	require.Contains(t, log.String(), "secret of the second half")
}

// A body that stops coming holds nobody up.
func TestSlowBody(t *testing.T) {
	s, _ := newServer(t, Options{Read: 300 * time.Millisecond})
	address, _ := serve(t, s)
	conn, err := net.Dial("tcp", strings.TrimPrefix(address, "http://"))
	require.NoError(t, err)
	defer conn.Close()
	fmt.Fprint(conn, "POST /api/v1/things HTTP/1.1\r\nHost: localhost\r\nContent-Length: 10\r\n\r\nabc")
	b, err := io.ReadAll(conn)
	require.NoError(t, err)
	require.Contains(t, string(b), "408 Request Timeout")
	require.Contains(t, string(b), `"code":"too-slow"`)
}
