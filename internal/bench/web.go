package bench

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"tagd/api"
	"tagd/internal/floor"
	"tagd/internal/web"
	"tagd/internal/web/rest"
)

// perSecond is how many scans a second arrive openly.
const perSecond = 200

// Web measures receipts over HTTP on loopback: one client in turn, then scans that arrive at a steady
// rate whether or not the last one was answered.
func Web(ctx context.Context, o ScanOptions) error {
	dir := filepath.Join(o.Dir, "web")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	o.Say("making a store of %d bundles", o.Bundles)
	f, err := openFloor(dir, true)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := makeBundles(f, o.Bundles, func(string, ...any) {}); err != nil {
		return err
	}
	if err := charge(f); err != nil {
		return err
	}
	c, stop, err := serve(ctx, f)
	if err != nil {
		return err
	}
	defer stop()

	// The one client works on the second half of the bundles, the others on the first.
	run := o.Bundles / 2 / Clients
	next := make([]int, Clients+1)
	one := func(i int) error {
		from := i * run
		if i == Clients {
			from = o.Bundles / 2
		}
		n := bundle(from + next[i]/2)
		next[i]++
		a, err := c.Scan(ctx, api.Scan{Code: n.Digits(), Station: station(i), By: api.By{Device: station(i), At: time.Now(), Key: newKey()}})
		if err == nil && a.Verdict != "accepted" {
			err = fmt.Errorf("bench: %s", a.Says)
		}
		return err
	}
	alone, err := measured(1, o.Each, func(int) (bool, error) { return true, one(Clients) })
	if err != nil {
		return err
	}
	open, err := arriving(o.Each, func(i int) error { return one(i % Clients) })
	if err != nil {
		return err
	}
	o.Say("one client in turn:            p50 %8s  p99 %8s", ms(alone.p50), ms(alone.p99))
	o.Say("%d scans a second, arriving:  p50 %8s  p99 %8s  %.1f times the one client's p99", perSecond, ms(open.p50), ms(open.p99), float64(open.p99)/float64(alone.p99))
	return nil
}

// serve serves a floor on loopback until stop is called, which waits for the end.
func serve(ctx context.Context, f *floor.Floor) (c *api.Client, stop func(), err error) {
	s := web.New(web.Options{})
	rest.Mount(s, f, rest.Options{})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return nil, nil, err
	}
	ctx, end := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() { served <- s.Serve(ctx, l) }()
	c = &api.Client{Base: "http://" + l.Addr().String(), HTTP: &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: 256}}}
	return c, func() { end(); <-served }, nil
}

// arriving starts do at a steady rate and measures each from the moment at which it was due, so that
// waiting counts. Clients take turns, and one that still waits keeps its turn.
func arriving(each time.Duration, do func(i int) error) (rate, error) {
	begin := time.Now()
	count := int(each.Seconds() * perSecond)
	took := make([]time.Duration, count)
	errs := make([]error, count)
	turns := make([]sync.Mutex, Clients)
	var wg sync.WaitGroup
	for i := range count {
		due := begin.Add(time.Duration(i) * time.Second / perSecond)
		time.Sleep(time.Until(due))
		wg.Add(1)
		go func() {
			defer wg.Done()
			turn := &turns[i%len(turns)]
			turn.Lock()
			defer turn.Unlock()
			errs[i] = do(i)
			took[i] = time.Since(due)
		}()
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return rate{}, err
		}
	}
	return ofTimes(took), nil
}
