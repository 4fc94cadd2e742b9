package bench

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync/atomic"
	"time"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TraceOptions say how long the made history is.
type TraceOptions struct {
	Dir    string // an empty folder for the stores
	Events int
	Say    func(format string, args ...any)
}

// Trace makes a history of many heats, 49 bundles on average and up to 400, each bundle cut, loaded
// and shipped, and measures what the record answers: trace, recall and account of a heat, now and as of a
// past moment, how soon the program answers after a restart, the folding of the whole journal, the bytes
// on disk for an event, and the heap. What is wanted at ten million events stands beside it.
func Trace(ctx context.Context, o TraceOptions) error {
	dir := filepath.Join(o.Dir, "year")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	f, err := openFloor(dir, false)
	if err != nil {
		return err
	}
	y := &year{f: f, want: uint64(o.Events), say: o.Say}
	if err := y.make(); err != nil {
		return err
	}
	if err := y.traces(); err != nil {
		return err
	}
	var head uint64
	if err := f.View(func(p *view.Past) error { head = p.Head(); return nil }); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	info, err := os.Stat(filepath.Join(dir, "plant.db"))
	if err != nil {
		return err
	}
	o.Say("on disk: %.0f bytes an event, all views included (%d events, %.0f MB)", float64(info.Size())/float64(head+1), head+1, float64(info.Size())/1e6)
	if err := y.restart(ctx, dir); err != nil {
		return err
	}
	return replay(o, dir, head)
}

// year is a history being made.
type year struct {
	f     *floor.Floor
	want  uint64
	say   func(string, ...any)
	next  atomic.Int64 // bundles taken so far
	heats [Clients][]made
	head  atomic.Uint64
}

// made is a heat and how many bundles were cut from it.
type made struct {
	heat    string
	bundles int
}

// perBundle is how many events a bundle's life has: a share of its line, started, cut, perhaps bent,
// loaded, and a share of its lot and load.
const perBundle = 4.2

func (y *year) make() error {
	y.say("making %d events", y.want)
	if err := makeBundles(y.f, int(float64(y.want)/perBundle)+Clients*400, func(string, ...any) {}); err != nil {
		return err
	}
	return both(Clients, y.work)
}

// work is one shear's and its loader's year.
func (y *year) work(i int) error {
	rnd := rand.New(rand.NewPCG(uint64(i), 7))
	ctx := context.Background()
	st := station(i)
	for n := 0; y.head.Load() < y.want; n++ {
		count := min(400, 1+int(rnd.ExpFloat64()*48))
		name := fmt.Sprintf("%d%05d", 70+i, n)
		r, err := y.f.Receive(ctx, floor.Origin{}, event.LotReceived{
			Mill: "Made Mill (invented)", Heats: []string{name}, Steel: steel, Length: bar60, Bars: 100_000,
		})
		if err != nil {
			return err
		}
		lot, err := floor.Body[event.LotReceived](r)
		if err != nil {
			return err
		}
		if err := y.at(st, lot.Lot, scan.Scanned); err != nil {
			return err
		}
		planned, _, err := y.f.PlanLoad(ctx, floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-001"}}}})
		if err != nil {
			return err
		}
		ld := planned.Set
		if err := y.at("L1", ld.Load, scan.Scanned, st); err != nil {
			return err
		}
		for range count {
			at := int(y.next.Add(1) - 1)
			b := bundle(at)
			steps := []string{st, st}
			if bent(at / perLine % barlist.MaxLines) {
				steps = append(steps, "B1", "B1")
			}
			for _, s := range steps {
				if err := y.at(s, b, scan.Scanned, st); err != nil {
					return err
				}
			}
			if err := y.at("L1", b, scan.Scanned, st); err != nil {
				return err
			}
		}
		if err := y.at(st, lot.Lot, scan.Empty); err != nil {
			return err
		}
		if err := y.at("L1", ld.Load, scan.Ship, st); err != nil {
			return err
		}
		y.heats[i] = append(y.heats[i], made{name, count})
	}
	return nil
}

// at makes one scan at a station, with the device of the shear whose crew it is, if that is named.
func (y *year) at(st string, n tags.Number, do scan.Do, crew ...string) error {
	dev := st
	if len(crew) > 0 && crew[0] != st {
		dev = st + "-" + crew[0]
	}
	now := time.Now()
	read, _ := tags.Read(n.Digits())
	s := scan.Scan{Read: read, Station: st, Device: dev, At: now.UnixMilli(), Do: do}
	r, _, err := y.f.Scan(context.Background(), floor.Origin{Device: dev, Station: st, Key: newKey(), Happened: now, Request: n.Digits()}, s)
	if err != nil {
		return err
	}
	if r.Answer.Verdict == event.Refused {
		says, _ := scan.Say(r.Answer.Notes[0], scan.English)
		return fmt.Errorf("bench: %v at %s: %s", n, st, says)
	}
	y.head.Store(r.Seq)
	return nil
}

// traces measures the recall of heats.
func (y *year) traces() error {
	var all []made
	for _, h := range y.heats {
		all = append(all, h...)
	}
	sum := 0
	for _, h := range all {
		sum += h.bundles
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	rnd.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	large := slices.MaxFunc(all, func(a, b made) int { return a.bundles - b.bundles })
	y.say("%d heats, %.0f bundles each on average, %d at the most", len(all), float64(sum)/float64(len(all)), large.bundles)
	row := func(what string, wanted time.Duration, heats []made, ask func(*view.Past, made) (bundles int, err error)) error {
		var took []time.Duration
		for _, h := range heats {
			at := time.Now()
			n := 0
			if err := y.f.View(func(p *view.Past) (err error) { n, err = ask(p, h); return err }); err != nil {
				return err
			}
			took = append(took, time.Since(at))
			if n != h.bundles {
				return fmt.Errorf("bench: %s of heat %s has %d bundles, not %d", what, h.heat, n, h.bundles)
			}
		}
		y.took(what, took, wanted)
		return nil
	}
	some, same := all[:min(len(all), 2000)], make([]made, 200)
	for i := range same {
		same[i] = large
	}
	var about []made // those of about as many bundles as a heat has on average
	for _, h := range all {
		if 45 <= h.bundles && h.bundles <= 53 && len(about) < 500 {
			about = append(about, h)
		}
	}
	trace := func(p *view.Past, h made) (int, error) { return len(p.Ask(h.heat).Bundles), nil }
	recall := func(p *view.Past, h made) (int, error) { return len(p.Recall(h.heat).Bundles), nil }
	then := func(p *view.Past, h made) (int, error) {
		p, err := p.AsOf(p.Head()-1, h.heat)
		if err != nil {
			return 0, err
		}
		return recall(p, h)
	}
	for _, q := range []struct {
		what   string
		wanted time.Duration // of the p99; 0: nothing
		heats  []made
		ask    func(*view.Past, made) (int, error)
	}{
		{"trace of a heat", 0, some, trace},
		{fmt.Sprintf("trace of a heat with %d bundles", large.bundles), 0, same, trace},
		{"recall of a heat", 0, some, recall},
		{"recall of a heat with 45 to 53 bundles", 3 * time.Millisecond, about, recall},
		{fmt.Sprintf("recall of a heat with %d bundles", large.bundles), 10 * time.Millisecond, same, recall},
		{"recall as of before, 45 to 53 bundles", 25 * time.Millisecond, about, then},
		{fmt.Sprintf("recall as of before, %d bundles", large.bundles), 25 * time.Millisecond, same, then},
		{"account of a heat", 0, some, func(p *view.Past, h made) (int, error) {
			a, found := p.Account(h.heat)
			if a.Bars.Over != 0 || len(found) != 1 {
				return 0, fmt.Errorf("bench: the account of heat %s is %d nm out", h.heat, a.Bars.Over)
			}
			return h.bundles, nil
		}},
	} {
		if len(q.heats) == 0 {
			continue
		}
		if err := row(q.what, q.wanted, q.heats, q.ask); err != nil {
			return err
		}
	}
	var took []time.Duration
	for i := range 1000 {
		at := time.Now()
		if err := y.f.View(func(p *view.Past) error {
			_, _ = p.RecordAt(p.When(p.Head() * uint64(i) / 1000))
			return nil
		}); err != nil {
			return err
		}
		took = append(took, time.Since(at))
	}
	y.took("the record at a time", took, 0)
	return nil
}

// took tells how long something took, and how long it may take at ten million events.
func (y *year) took(what string, took []time.Duration, wanted time.Duration) {
	r, beside := ofTimes(took), ""
	if wanted > 0 {
		beside = fmt.Sprintf("  wanted: p99 under %v", wanted)
	}
	y.say("%-42s p50 %8s  p99 %8s%s", what, ms(r.p50), ms(r.p99), beside)
}

// restart opens the store as a start of the program does, and asks over HTTP what became of a bundle. The
// file is in the system's cache, as it is where only the program was started anew.
func (y *year) restart(ctx context.Context, dir string) error {
	var took []time.Duration
	for range 5 {
		at := time.Now()
		f, err := openFloor(dir, true)
		if err != nil {
			return err
		}
		c, stop, err := serve(ctx, f)
		if err == nil {
			_, err = c.Bundle(ctx, bundle(0).Digits())
			took = append(took, time.Since(at))
			stop()
		}
		if err := errors.Join(err, f.Close()); err != nil {
			return err
		}
	}
	slices.Sort(took)
	y.say("restart, from opening the store to the first answer: median of %d %s, the longest %s  wanted: under 1s", len(took), ms(took[len(took)/2]), ms(took[len(took)-1]))
	return nil
}

// replay folds the whole journal anew, in its own file and durably, as a start after an update does, and
// says how far it is every ten seconds.
func replay(o TraceOptions, dir string, head uint64) error {
	db, err := bolt.Open(filepath.Join(dir, "plant.db"), floor.Tables(), bolt.Options{FillPercent: floor.FillPercent})
	if err != nil {
		return err
	}
	defer db.Close()
	at, cpu := time.Now(), cpuTime()
	rate := func(n uint64) float64 { return float64(n) / time.Since(at).Seconds() }
	said := at
	var s store.DB = db
	if err := view.Rebuild(s, s, view.New(1), func(done, all uint64) {
		if time.Since(said) >= 10*time.Second {
			said = time.Now()
			o.Say("replay: %d of %d events, %.0f events/s", done, all, rate(done))
		}
	}); err != nil {
		return err
	}
	o.Say("replay: %.0f events/s, %v of cpu each  wanted: 50000 events/s or more", rate(head+1), ((cpuTime() - cpu) / time.Duration(head+1)).Round(time.Microsecond/10))
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	o.Say("heap after it: %.0f MB in use, %.0f MB from the system", float64(m.HeapInuse)/1e6, float64(m.HeapSys-m.HeapReleased)/1e6)
	return nil
}
