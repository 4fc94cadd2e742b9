package main

import (
	"net"
	"net/http"
	"time"

	"tagd/internal/view"
	"tagd/internal/web"
	"tagd/internal/web/pages"
	"tagd/internal/web/rest"
)

// server puts the operations and the pages of the plant onto rails.
func (sh *shop) server(opt web.Options) (*web.Server, error) {
	opt.Hosts = append(append([]string{}, sh.set.Hosts...), sh.set.Address)
	opt.Healthy = func() error { return sh.View(func(*view.Past) error { return nil }) }
	server := web.New(opt)
	err := rest.Mount(server, sh.Floor, rest.Options{
		Defaults:  defaults(sh.set),
		Limits:    sh.set.Limits(),
		LoadLimit: sh.set.LoadLimit,
		Host:      sh.set.Address,
		Reader:    sh.set.Reader(),
	})
	if err != nil {
		return nil, err
	}
	pages.Mount(server, sh.Floor, pages.Options{
		Open: opt.Open, Reader: sh.set.Reader(), Defaults: defaults(sh.set), Limits: sh.set.Limits(),
		LoadLimit: sh.set.LoadLimit, Host: sh.set.Address, Words: sh.words, Field: pages.Field(sh.set.Field),
	})
	server.Handle(http.MethodGet, backupRoute, sh.backup)
	return server, nil
}

// backupRoute gives a copy of the store to this machine.
const backupRoute = "/api/v1/backup"

// backup streams a copy of the store, to programs on this machine alone: a proxy in front of the
// server speaks for others.
func (sh *shop) backup(w http.ResponseWriter, r *http.Request) error {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	ip := net.ParseIP(host)
	if err != nil || !ip.IsLoopback() || r.Header.Get("Forwarded") != "" || r.Header.Get("X-Forwarded-For") != "" {
		return web.Refuse("forbidden", "A copy of the store is given to programs on the server's own machine only.",
			"Run tagd backup there.")
	}
	// A large store takes longer than any answer may; the rate is bounded, and Close ends it.
	_ = http.NewResponseController(w).SetWriteDeadline(time.Time{}) // not every writer has deadlines
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Disposition", web.Attachment(storeName))
	_, err = sh.db.Load().Backup(r.Context(), w, 0)
	return err
}
