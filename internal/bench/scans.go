package bench

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"syscall"
	"time"

	"tagd/internal/floor"
	"tagd/internal/journal"
	"tagd/internal/store"
)

// ScanOptions say how large the made store is and how long each measurement takes.
type ScanOptions struct {
	Dir     string // an empty folder for the stores
	Bundles int
	Each    time.Duration // of one measurement; each is made three times
	Say     func(format string, args ...any)
}

// Scans measures scans through the whole of the floor (decision, journal, views, card), durable, each
// client working its own run of serials, beside two peers in the same run: the same bytes appended to
// a plain file with one fdatasync each, and the same puts made in a committer on bare bbolt.
func Scans(o ScanOptions) error {
	base := filepath.Join(o.Dir, "base")
	if err := os.MkdirAll(base, 0o755); err != nil {
		return err
	}
	o.Say("making a store of %d bundles", o.Bundles)
	f, err := openFloor(base, false)
	if err != nil {
		return err
	}
	if err := makeBundles(f, o.Bundles, func(string, ...any) {}); err != nil {
		return err
	}
	if err := charge(f); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	run := o.Bundles / 2 / Clients
	var dirs [3]string
	for i, name := range []string{"floor", "recorded", "bare"} {
		dirs[i] = filepath.Join(o.Dir, name)
		if err := copyStore(base, dirs[i]); err != nil {
			return err
		}
	}
	kept, err := record(dirs[1], run, o)
	if err != nil {
		return err
	}
	return measure(o, dirs, run, kept)
}

func copyStore(from, to string) error {
	if err := os.MkdirAll(to, 0o755); err != nil {
		return err
	}
	in, err := os.Open(filepath.Join(from, "plant.db"))
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(filepath.Join(to, "plant.db"))
	if err != nil {
		return err
	}
	if _, err := io.Copy(out, in); err != nil {
		return err
	}
	if err := out.Sync(); err != nil {
		return err
	}
	return out.Close()
}

// puts are the writes of scans, one after another in one piece of memory without pointers: what is
// kept for the peer must not cost the floor time for collecting garbage.
type puts struct {
	tables []store.Table
	bytes  []byte
	scans  []int // where each scan begins
}

// add notes a write. A scan's writes begin with its journal record.
func (p *puts) add(t store.Table, key, value []byte) {
	if t == journal.Records {
		p.scans = append(p.scans, len(p.bytes))
	}
	i := slices.Index(p.tables, t)
	if i < 0 {
		i = len(p.tables)
		p.tables = append(p.tables, t)
	}
	p.bytes = append(p.bytes, byte(i))
	p.bytes = append(binary.AppendUvarint(p.bytes, uint64(len(key))), key...)
	p.bytes = append(binary.AppendUvarint(p.bytes, uint64(len(value))), value...)
}

// scan calls f for each write of the n-th scan.
func (p *puts) scan(n int, f func(t store.Table, key, value []byte) error) error {
	end := len(p.bytes)
	if n+1 < len(p.scans) {
		end = p.scans[n+1]
	}
	for b := p.bytes[p.scans[n]:end]; len(b) > 0; {
		t := p.tables[b[0]]
		var parts [2][]byte
		b = b[1:]
		for i := range parts {
			size, n := binary.Uvarint(b)
			parts[i] = b[n : n+int(size)]
			b = b[n+int(size):]
		}
		if err := f(t, parts[0], parts[1]); err != nil {
			return err
		}
	}
	return nil
}

// recorder is a store whose transactions keep what they put.
type recorder struct {
	store.DB
	puts *puts
}

func (r recorder) Update(f func(store.Tx) error) error {
	return r.DB.Update(func(tx store.Tx) error { return f(recordingTx{tx, r.puts}) })
}

type recordingTx struct {
	store.Tx
	puts *puts
}

func (t recordingTx) Put(table store.Table, key, value []byte) error {
	t.puts.add(table, key, value)
	return t.Tx.Put(table, key, value)
}

// record makes scans of all clients at once on a store of its own, and keeps what each put.
func record(dir string, run int, o ScanOptions) (*puts, error) {
	each := min(2*run, max(200, int(o.Each.Seconds()*3*30_000)/Clients))
	o.Say("recording the puts of %d scans", each*Clients)
	kept := &puts{}
	db, err := open(dir, false)()
	if err != nil {
		return nil, err
	}
	f, err := floor.Open(func() (store.DB, error) { return recorder{db, kept}, nil }, config())
	if err != nil {
		return nil, err
	}
	*kept = puts{}
	ws := workers(f, run)
	err = both(Clients, func(i int) error {
		for range each {
			if err := ws[i].scan(); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return kept, f.Close()
}

func workers(f *floor.Floor, run int) []*worker {
	out := make([]*worker, Clients)
	for i := range out {
		out[i] = &worker{f: f, i: i, from: i * run}
	}
	return out
}

// rate is what one measurement came to.
type rate struct {
	perSecond float64
	p50, p99  time.Duration
	cpu       time.Duration // per operation, of the whole process
}

// ofTimes are the percentiles of what was timed, which is sorted for them.
func ofTimes(took []time.Duration) rate {
	slices.Sort(took)
	return rate{p50: took[len(took)/2], p99: took[len(took)*99/100]}
}

// measured runs do for clients at once until the time is over. do returns false when it has no more
// to do.
func measured(clients int, each time.Duration, do func(client int) (bool, error)) (rate, error) {
	var count atomic.Int64
	var mu sync.Mutex
	var took []time.Duration
	before := cpuTime()
	begin := time.Now()
	err := both(clients, func(i int) error {
		var mine []time.Duration
		for time.Since(begin) < each {
			at := time.Now()
			more, err := do(i)
			if err != nil {
				return err
			}
			if !more {
				break
			}
			mine = append(mine, time.Since(at))
		}
		count.Add(int64(len(mine)))
		mu.Lock()
		took = append(took, mine...)
		mu.Unlock()
		return nil
	})
	if err != nil {
		return rate{}, err
	}
	wall, n := time.Since(begin), count.Load()
	if n == 0 {
		return rate{}, fmt.Errorf("bench: nothing was measured")
	}
	r := ofTimes(took)
	r.perSecond, r.cpu = float64(n)/wall.Seconds(), (cpuTime()-before)/time.Duration(n)
	return r, nil
}

func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// measure works on the first half of the bundles with many clients, and on the other half with one.
func measure(o ScanOptions, dirs [3]string, run int, kept *puts) error {
	f, err := openFloor(dirs[0], true)
	if err != nil {
		return err
	}
	defer f.Close()
	ws := workers(f, run)
	alone := &worker{f: f, i: Clients, from: o.Bundles / 2}
	bare, err := open(dirs[2], true)()
	if err != nil {
		return err
	}
	defer bare.Close()
	committer := journal.New(bare, journal.Options{})
	defer committer.Close()
	plain, err := os.Create(filepath.Join(o.Dir, "plain"))
	if err != nil {
		return err
	}
	defer plain.Close()

	var raw, one, many, same []rate
	lines := 0
	var next atomic.Int64
	for range 3 {
		r, err := measured(1, o.Each, func(int) (bool, error) {
			err := kept.scan(lines%len(kept.scans), func(t store.Table, _, value []byte) error {
				if t != journal.Records {
					return nil
				}
				_, err := plain.Write(value)
				return err
			})
			lines++
			return true, errors.Join(err, syscall.Fdatasync(int(plain.Fd())))
		})
		if err != nil {
			return err
		}
		raw = append(raw, r)
		if r, err = measured(1, o.Each, func(int) (bool, error) { return true, alone.scan() }); err != nil {
			return err
		}
		one = append(one, r)
		if r, err = measured(Clients, o.Each, func(i int) (bool, error) { return true, ws[i].scan() }); err != nil {
			return err
		}
		many = append(many, r)
		r, err = measured(Clients, o.Each, func(i int) (bool, error) {
			n := int(next.Add(1) - 1)
			if n >= len(kept.scans) {
				return false, nil
			}
			return true, committer.Do(context.Background(), func(tx store.Tx) error { return kept.scan(n, tx.Put) })
		})
		if err != nil {
			return err
		}
		same = append(same, r)
	}
	row := func(name string, r rate, peer string, of rate) {
		against := ""
		if peer != "" {
			against = fmt.Sprintf("%5.0f %% of %s", 100*r.perSecond/of.perSecond, peer)
		}
		o.Say("%-44s %9.0f /s  p50 %8s  p99 %8s  %6s cpu  %s", name, r.perSecond, ms(r.p50), ms(r.p99), r.cpu.Round(time.Microsecond/10), against)
	}
	o.Say("median of three repetitions of %v:", o.Each)
	row("plain file, one fdatasync each, 1 client", median(raw), "", rate{})
	row("scans through the floor, 1 client", median(one), "the plain file", median(raw))
	row("the same puts on bare bbolt, 64 clients", median(same), "", rate{})
	row("scans through the floor, 64 clients", median(many), "bare bbolt", median(same))
	return nil
}

func ms(d time.Duration) string { return fmt.Sprintf("%.2f ms", float64(d.Microseconds())/1000) }

func median(rs []rate) rate {
	rs = slices.Clone(rs)
	slices.SortFunc(rs, func(a, b rate) int { return int(a.perSecond - b.perSecond) })
	return rs[len(rs)/2]
}
