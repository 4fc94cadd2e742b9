// Package web is the listener of tagd: the rails that every request runs on, whatever it asks for.
//
// A request passes, from outside in:
//
//  1. observe: a request number (UUID version 7), the security headers, the count and the time for
//     the metrics, and the one place where an error becomes an answer;
//  2. recover: a panic becomes a fault;
//  3. checkHost: only names that the plant allows (a web page whose own name is pointed at this
//     server would otherwise read it: DNS rebinding);
//  4. checkOrigin: nothing that changes something is taken from another site's page;
//  5. limitBody: no body beyond the bound of its route.
//
// Every error is a Problem: JSON after RFC 9457 for programs, a page for browsers. There are three
// kinds of no. A verdict on a scan is a normal answer and never comes through here. A Refusal is
// typed and shown with its sentence and what to do next. Anything else is a fault: logged whole
// under the request's number, shown bland.
//
// The package knows no operation and no page: web/rest and web/pages put their routes on API and
// Pages.
package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"sync/atomic"
	"time"

	"github.com/labstack/echo/v4"
)

// Options are what a Server is told. The zero value listens on loopback only.
type Options struct {
	// Log takes faults (Error), answers cut short and shutdown (Warn), and each request (Debug).
	// Nil logs nothing.
	Log *slog.Logger
	// Hosts are the names, with or without port, under which browsers reach the server, beside the
	// names of loopback, which are always allowed.
	Hosts []string
	// Open allows a listener off loopback, and then any IP address as Host: rebinding needs a name.
	Open bool
	// MaxBody is the most bytes of a request's body. Default 1 MB.
	MaxBody int64
	// MaxUpload is the most bytes on routes named to LargeBodies. Default 60 MB.
	MaxUpload int64
	// Read is the most time that a request may take to arrive, Write the most that an answer may
	// take from there; streams count Write for each message anew. Default 30 s each, and ten times
	// Read on routes named to LargeBodies.
	Read, Write time.Duration
	// Drain is how long Serve waits at its end for requests under way. Default 10 s.
	Drain time.Duration
	// Heartbeat is how often a silent stream sends a comment, so that neither end and nothing
	// between them takes the line for dead. Default 15 s.
	Heartbeat time.Duration
	// MaxStreams is the most streams open at once. Default 512.
	MaxStreams int
	// Healthy says nil while the server can do its work. Nil is always healthy.
	Healthy func() error
	// Page writes a problem as an HTML page. Nil writes a plain one of our own.
	Page func(w io.Writer, r *http.Request, p *Problem) error
}

// Server is a web server without operations or pages; they are registered on API and Pages before
// Serve. What is to run round all of them is given to Echo.Use and then runs inside the rails; a
// group's own Use makes echo answer 404 where a path does not take the method, instead of 405.
type Server struct {
	Echo    *echo.Echo
	API     *echo.Group // under /api/v1
	Pages   *echo.Group // at the root
	Metrics *Metrics

	opt     Options
	plain   bool // nobody gave a page of problems
	log     *slog.Logger
	hosts   hosts
	cross   *http.CrossOriginProtection
	large   map[string]bool // route templates
	streams atomic.Int64
	closing chan struct{}
	once    sync.Once
}

// New makes a server with its rails, /healthz and /metrics.
func New(opt Options) *Server {
	plain := opt.Page == nil
	defaults(&opt)
	s := &Server{
		plain:   plain,
		Echo:    echo.New(),
		Metrics: newMetrics(),
		opt:     opt,
		log:     opt.Log,
		hosts:   newHosts(opt.Hosts, opt.Open),
		cross:   http.NewCrossOriginProtection(),
		large:   map[string]bool{},
		closing: make(chan struct{}),
	}
	s.Echo.HTTPErrorHandler = func(err error, c echo.Context) { s.fail(c, err) }
	s.Echo.IPExtractor = echo.ExtractIPDirect() // headers of a proxy are anybody's to write
	s.Echo.Use(s.observe, s.recover, s.checkHost, s.checkOrigin, s.limitBody)
	s.API = s.Echo.Group("/api/v1")
	s.Pages = s.Echo.Group("")
	s.Pages.GET("/healthz", s.healthz)
	s.Pages.GET("/metrics", echo.WrapHandler(s.Metrics.handler()))
	return s
}

// WriteProblems has page write problems as HTML pages, unless the options named another. It is called before
// Serve.
func (s *Server) WriteProblems(page func(io.Writer, *http.Request, *Problem) error) {
	if s.plain {
		s.opt.Page = page
	}
}

func defaults(o *Options) {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	if o.MaxBody == 0 {
		o.MaxBody = 1 << 20
	}
	if o.MaxUpload == 0 {
		o.MaxUpload = 60 << 20
	}
	for _, d := range []struct {
		v *time.Duration
		d time.Duration
	}{{&o.Read, 30 * time.Second}, {&o.Write, 30 * time.Second}, {&o.Drain, 10 * time.Second}, {&o.Heartbeat, 15 * time.Second}} {
		if *d.v == 0 {
			*d.v = d.d
		}
	}
	if o.MaxStreams == 0 {
		o.MaxStreams = 512
	}
	if o.Healthy == nil {
		o.Healthy = func() error { return nil }
	}
	if o.Page == nil {
		o.Page = plainPage
	}
}

// LargeBodies names routes, as registered ("/api/v1/certs/:number"), whose body may be MaxUpload
// long. It is called before Serve.
func (s *Server) LargeBodies(routes ...string) {
	for _, r := range routes {
		s.large[r] = true
	}
}

// Handle puts a handler of net/http on a route; an error that it returns becomes a problem.
func (s *Server) Handle(method, path string, do func(http.ResponseWriter, *http.Request) error) {
	s.Echo.Add(method, path, func(c echo.Context) error { return do(c.Response(), c.Request()) })
}

// ServeHTTP answers one request, so that a Server can be called without a network.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.Echo.ServeHTTP(w, r) }

// Serve answers on l until ctx is done, then ends streams, lets requests under way finish, and
// returns nil. It returns an error if the listener fails, if it is off loopback without
// Options.Open, or if requests had to be cut off after Options.Drain. It closes l, and is called
// once.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	if !s.opt.Open && !loopback(l.Addr()) {
		l.Close()
		return fmt.Errorf("web: %v can be reached from other machines, and nobody signs on yet: listen on 127.0.0.1, or say --open to allow it", l.Addr())
	}
	srv := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: min(5*time.Second, s.opt.Read),
		ReadTimeout:       s.opt.Read,
		WriteTimeout:      s.opt.Read + s.opt.Write, // net/http counts it from the end of the header
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelDebug), // broken connections
	}
	served := make(chan error, 1)
	go func() { served <- srv.Serve(l) }()
	select {
	case err := <-served:
		return fmt.Errorf("web: %w", err)
	case <-ctx.Done():
	}
	s.close()
	drain, cancel := context.WithTimeout(context.WithoutCancel(ctx), s.opt.Drain)
	defer cancel()
	err := srv.Shutdown(drain)
	if err != nil {
		srv.Close()
		err = fmt.Errorf("web: requests still under way after %v were cut off: %w", s.opt.Drain, err)
		s.log.Warn("shutdown", "error", err)
	}
	<-served
	return err
}

// close ends the streams and makes /healthz say that the server is going away.
func (s *Server) close() { s.once.Do(func() { close(s.closing) }) }

func (s *Server) healthz(c echo.Context) error {
	select {
	case <-s.closing:
		return Refuse("closing", "The server is shutting down.", "Try again in a moment.")
	default:
	}
	if err := s.opt.Healthy(); err != nil {
		s.log.Error("not healthy", "error", err)
		return Refuse("unhealthy", "The server cannot do its work at the moment.", "Its log says why.")
	}
	return c.JSON(http.StatusOK, map[string]string{"status": "ok"})
}

// loopback says whether only this machine reaches the address.
func loopback(a net.Addr) bool {
	switch a := a.(type) {
	case *net.TCPAddr:
		return a.IP.IsLoopback()
	case *net.UnixAddr:
		return true
	}
	return false
}

// gone says whether the client left before it had its answer.
func gone(r *http.Request, err error) bool {
	return r.Context().Err() != nil && errors.Is(err, context.Canceled)
}
