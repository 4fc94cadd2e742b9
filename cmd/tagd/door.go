package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"time"

	"tagd/api"
	"tagd/internal/store/bolt"
	"tagd/internal/web"
)

// door is where a command asks the plant: the server that runs, or the same handlers in this process
// when none does.
type door struct {
	api.Client
	shop *shop // open in this process, or nil
}

// patience is how long a store is waited for that is open in another process and has no server that
// answers: a command may be at work on it, or a server may be folding its record at its start.
const patience = 10 * time.Second

// orServer opens the store, or finds the server that has it open. The store's lock decides: who gets
// it is alone with the store.
func orServer[T any](ctx context.Context, d folder, open func() (T, error)) (opened T, server *door, err error) {
	for begin := time.Now(); ; {
		opened, err = open()
		if !errors.Is(err, bolt.ErrLocked) {
			return opened, nil, err
		}
		w := &door{Client: api.Client{Base: d.running(), HTTP: &http.Client{Transport: &http.Transport{DisableCompression: true}}}}
		if w.Base != "" && w.fetch(ctx, "/healthz", io.Discard) == nil {
			return opened, w, nil
		}
		if time.Since(begin) > patience {
			return opened, nil, &failure{exitTrouble, fmt.Errorf("%s is open in another process, and no server answers", d),
				"If a server is starting, try again when it has said that it listens."}
		}
		if err := sleep(ctx, 100*time.Millisecond); err != nil {
			return opened, nil, err
		}
	}
}

// ask opens the plant's door.
func (d folder) ask(ctx context.Context, s streams) (*door, error) {
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	sh, w, err := orServer(ctx, d, func() (*shop, error) { return d.open(s, log) })
	if err != nil || w != nil {
		return w, err
	}
	// A server that was killed has left its address, where some other server may answer now.
	if err := d.withdraw(); err != nil {
		return nil, errors.Join(err, sh.Close())
	}
	server, err := sh.server(web.Options{Log: log})
	if err != nil {
		return nil, errors.Join(err, sh.Close())
	}
	return &door{api.Client{Base: "http://localhost", HTTP: &http.Client{Transport: inside{server}}}, sh}, nil
}

// close ends what ask began.
func (w *door) close() error {
	w.HTTP.CloseIdleConnections()
	if w.shop == nil {
		return nil
	}
	return w.shop.Close()
}

// device is what commands call themselves.
const device = "command line"

// fetch writes what is at an address beside the API to out.
func (w *door) fetch(ctx context.Context, path string, out io.Writer) error {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, w.Base+path, nil)
	if err != nil {
		return err
	}
	answer, err := w.HTTP.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return fmt.Errorf("the server answers %s with %s", path, answer.Status)
	}
	_, err = io.Copy(out, answer.Body)
	return err
}

// inside is a transport to handlers in this process.
type inside struct{ handler http.Handler }

// RoundTrip lets the handler answer. Its answer is passed on as it is written, so that a large one
// is never held whole.
func (t inside) RoundTrip(r *http.Request) (*http.Response, error) {
	pr, pw := io.Pipe()
	w := &answering{header: http.Header{}, body: pw, started: make(chan struct{})}
	asked := r.Clone(r.Context())
	asked.RemoteAddr = "127.0.0.1:0"
	asked.Host = r.URL.Host
	asked.RequestURI = r.URL.RequestURI()
	if asked.Body == nil {
		asked.Body = http.NoBody
	}
	go func() {
		var cut error
		defer func() {
			if v := recover(); v != nil { // as net/http cuts the connection
				cut = fmt.Errorf("the answer was cut short: %v", v)
			}
			w.WriteHeader(http.StatusOK)
			pw.CloseWithError(cut)
			asked.Body.Close()
		}()
		t.handler.ServeHTTP(w, asked)
	}()
	<-w.started
	return &http.Response{
		Status: http.StatusText(w.status), StatusCode: w.status, Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: w.sent, Body: pr, ContentLength: -1, Request: r,
	}, nil
}

// answering is the writer of one answer inside this process.
type answering struct {
	header, sent http.Header
	status       int
	body         *io.PipeWriter
	started      chan struct{}
}

func (w *answering) Header() http.Header { return w.header }

func (w *answering) WriteHeader(status int) {
	if w.status == 0 && status >= 200 {
		w.status, w.sent = status, w.header.Clone()
		close(w.started)
	}
}

func (w *answering) Write(p []byte) (int, error) {
	w.WriteHeader(http.StatusOK)
	return w.body.Write(p)
}

// Flush does nothing: a pipe holds nothing back.
func (w *answering) Flush() {}
