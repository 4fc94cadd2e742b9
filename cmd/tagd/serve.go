package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"os"

	"tagd/internal/web"
)

type serveCmd struct {
	dataFlag
	Listen  string `default:"127.0.0.1:7070" placeholder:"HOST:PORT"`
	Open    bool
	Verbose bool `short:"v"`
}

func (serveCmd) Help() string {
	return `Usage: tagd serve [--listen HOST:PORT] [--open] [--verbose] [--data DIR]

Runs the shop's server: the pages for every station, and the API under /api/v1.
The data folder is made if there is none, with settings that explain themselves.
One folder has one server.

It listens on 127.0.0.1:7070, which only this machine reaches, or where --listen
says; port 0 takes a free one. The address is printed when it can be asked.

Nobody signs on yet: whoever reaches the server can scan, load and hold. So it
listens beyond this machine only with --open, shows a banner on every page then,
and every event says that nobody was identified. Behind a proxy, add the names
under which browsers reach it to the hosts of the settings.

The log goes to stderr; --verbose, or -v, logs every request. SIGINT (Ctrl-C)
and SIGTERM end it in good order: nothing that was answered is lost, and nothing
is lost if it is killed either.

Examples:

    tagd serve
    tagd serve --data /srv/tagd --listen 127.0.0.1:8080
    tagd serve --listen 0.0.0.0:7070 --open
`
}

func (c *serveCmd) Run(ctx context.Context, s streams) error {
	level := slog.LevelInfo
	if c.Verbose {
		level = slog.LevelDebug
	}
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: level}))
	if _, _, err := net.SplitHostPort(c.Listen); err != nil {
		return misuse("", "--listen %s: write a host and a port, as 127.0.0.1:7070", c.Listen)
	}
	if err := c.Data.begin(s); err != nil {
		return err
	}
	sh, other, err := orServer(ctx, c.Data, func() (*shop, error) { return c.Data.open(s, log) })
	if err != nil {
		return err
	}
	if other != nil {
		return no("One folder has one server: stop that one first, or name another folder with --data.",
			"a server runs on %s already, at %s", c.Data, other.Base)
	}
	defer func() {
		if err := sh.Close(); err != nil {
			log.Error("closing the store", "err", err)
		}
	}()
	if err := c.Data.withdraw(); err != nil { // of a server that was killed
		return err
	}
	server, err := sh.server(web.Options{Log: log, Open: c.Open})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return misuse("Another program may listen there; --listen names another address.", "%v", err)
	}
	if !c.Open && !loopback(l.Addr()) {
		l.Close()
		return misuse("Listen on 127.0.0.1, or say --open to let other machines in.",
			"%v can be reached from other machines, and nobody signs on yet", l.Addr())
	}
	url := "http://" + reachable(l.Addr())
	if err := c.Data.publish(url); err != nil {
		l.Close()
		return err
	}
	defer c.Data.withdraw()
	if c.Open {
		s.say("OPEN: whoever reaches %v can scan, load and hold; nobody signs on", l.Addr())
	}
	log.Info("started", "plant", sh.set.Number, "name", sh.set.Name, "data", string(c.Data), "pid", os.Getpid())
	fmt.Fprintf(s.out, "tagd listens on %s\n", url)
	ctx, stop := context.WithCancel(ctx)
	read := make(chan struct{})
	go func() {
		defer close(read)
		if err := sh.ReadPaces(ctx); err != nil {
			log.Error("reading how fast the stations work", "err", err)
		}
	}()
	err = server.Serve(ctx, l)
	stop()
	<-read
	log.Info("stopped")
	return err
}

func loopback(a net.Addr) bool {
	t, ok := a.(*net.TCPAddr)
	return ok && t.IP.IsLoopback()
}

// reachable is the host and port under which this machine reaches a listener.
func reachable(a net.Addr) string {
	t, ok := a.(*net.TCPAddr)
	if !ok || !t.IP.IsUnspecified() {
		return a.String()
	}
	return net.JoinHostPort("127.0.0.1", fmt.Sprint(t.Port))
}
