package bolt_test

import (
	"context"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"go.etcd.io/bbolt"

	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
)

// One operation of the benchmarks is what a scan costs at least: a record of 85 bytes and four
// puts, acknowledged when they are on the disk.
const (
	recordSize = 85
	clients    = 64
	bundles    = 100_000 // that the stores hold before
)

var (
	benchTables = []store.Table{journal.Records, journal.Keys, "bundle", "bundle,seq", "run,bundle"}
	benchFill   = map[store.Table]float64{journal.Records: 0.95, journal.Keys: 0.8, "bundle,seq": 0.8, "run,bundle": 0.8}
)

// operation is the nth of a client that works its own run of bundles.
type operation struct{ client, n uint64 }

func (o operation) bundle() uint64 { return o.client*(bundles/clients) + o.n%(bundles/clients) }

func (o operation) key() string {
	return fmt.Sprintf("%08x-%04x-7%03x-8000-%012x", o.n>>16, o.n&0xffff, o.client, o.n)
}

func be(n ...uint64) (b []byte) {
	for _, n := range n {
		b = binary.BigEndian.AppendUint64(b, n)
	}
	return b
}

// views are the three puts beside the journal's two.
func (o operation) views(seq uint64, put func(table store.Table, key, value []byte) error) error {
	if err := put("bundle", be(o.bundle()), make([]byte, 40)); err != nil {
		return err
	}
	if err := put("bundle,seq", be(o.bundle(), seq), []byte{1}); err != nil {
		return err
	}
	return put("run,bundle", be(o.n/40, o.bundle()), nil)
}

// engine makes an operation durable.
type engine interface {
	do(o operation) error
	close()
}

// group is the plainest committer: one goroutine takes what waits and has it written at once.
type group struct {
	queue chan waiting
	ended chan bool
}

type waiting struct {
	operation
	done chan error
}

func startGroup(write func([]waiting) error) *group {
	g := &group{make(chan waiting, 4096), make(chan bool)}
	go func() {
		defer close(g.ended)
		for w := range g.queue {
			batch := []waiting{w}
			for idle := 0; idle < 2 && len(batch) < 1024; {
				select {
				case w, ok := <-g.queue:
					if !ok {
						idle = 2
						continue
					}
					batch = append(batch, w)
					idle = 0
				default:
					runtime.Gosched() // as journal does, for the same batches
					idle++
				}
			}
			err := write(batch)
			for _, w := range batch {
				w.done <- err
			}
		}
	}()
	return g
}

func (g *group) do(o operation) error {
	w := waiting{o, make(chan error, 1)}
	g.queue <- w
	return <-w.done
}

func (g *group) close() { close(g.queue); <-g.ended }

// plainFile appends the record alone to a file: the limit of what the disk can do.
func plainFile(b *testing.B, dir string) engine {
	f, err := os.Create(filepath.Join(dir, "plain"))
	require.NoError(b, err)
	b.Cleanup(func() { f.Close() })
	var buffer []byte
	return startGroup(func(batch []waiting) error {
		buffer = append(buffer[:0], make([]byte, recordSize*len(batch))...)
		if _, err := f.Write(buffer); err != nil {
			return err
		}
		return syscall.Fdatasync(int(f.Fd()))
	})
}

// bare makes the same puts on bbolt itself.
func bare(b *testing.B, dir string) engine {
	path := filepath.Join(dir, "bare")
	prepareBench(b, path)
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{FreelistType: bbolt.FreelistMapType, InitialMmapSize: 8 << 30, NoStatistics: true})
	require.NoError(b, err)
	b.Cleanup(func() { db.Close() })
	seq := uint64(bundles)
	return startGroup(func(batch []waiting) error {
		return db.Update(func(tx *bbolt.Tx) error {
			buckets := map[store.Table]*bbolt.Bucket{}
			for _, t := range benchTables {
				buckets[t] = tx.Bucket([]byte(t))
				buckets[t].FillPercent = bbolt.DefaultFillPercent
				if fill, ok := benchFill[t]; ok {
					buckets[t].FillPercent = fill
				}
			}
			put := func(t store.Table, key, value []byte) error { return buckets[t].Put(key, value) }
			for _, w := range batch {
				seq++
				if err := put(journal.Records, be(seq), make([]byte, recordSize)); err != nil {
					return err
				}
				key := append(be(0, w.n), be(w.client)...)
				if err := put(journal.Keys, key[7:], make([]byte, 17)); err != nil {
					return err
				}
				if err := w.views(seq, put); err != nil {
					return err
				}
			}
			return nil
		})
	})
}

// ours makes them through journal and store, as floor does.
type ours struct {
	db *bolt.DB
	c  *journal.Committer
}

func journalAndStore(b *testing.B, dir string) engine {
	path := filepath.Join(dir, "ours")
	prepareBench(b, path)
	db, err := bolt.Open(path, benchTables, bolt.Options{FillPercent: benchFill})
	require.NoError(b, err)
	return &ours{db, journal.New(db, journal.Options{})}
}

func (e *ours) do(o operation) error {
	return e.c.Do(context.Background(), func(tx store.Tx) error { return perform(tx, o) })
}

func perform(tx store.Tx, o operation) error {
	seq, err := journal.Append(tx, make([]byte, recordSize))
	if err != nil {
		return err
	}
	device := string(rune('a' + o.client%26))
	if err := journal.Remember(tx, device, o.key(), journal.Op{First: seq, Count: 1}); err != nil {
		return err
	}
	return o.views(seq, tx.Put)
}

func (e *ours) close() { e.c.Close(); e.db.Close() }

func prepareBench(b *testing.B, path string) {
	db, err := bolt.Open(path, benchTables, bolt.Options{NoSync: true, FillPercent: benchFill})
	require.NoError(b, err)
	for from := uint64(0); from < bundles; from += 10_000 {
		require.NoError(b, db.Update(func(tx store.Tx) error {
			for i := from; i < from+10_000; i++ {
				if _, err := journal.Append(tx, make([]byte, recordSize)); err != nil {
					return err
				}
				if err := (operation{i / (bundles / clients), i % (bundles / clients)}).views(i, tx.Put); err != nil {
					return err
				}
			}
			return nil
		}))
	}
	require.NoError(b, db.Close())
}

// BenchmarkDurable compares engines with one and with 64 clients. An iteration is a round in which
// each works for a fifth of a second, so that what else the machine does meets them all alike; the
// ratios are medians over the rounds, and carry over to other machines as the rates do not.
//
//	go test -run '^$' -bench Durable -benchtime 25x ./internal/store/bolt
func BenchmarkDurable(b *testing.B) {
	const turn = 200 * time.Millisecond
	dir := b.TempDir()
	file, bbolt, ours := plainFile(b, dir), bare(b, dir), journalAndStore(b, dir)
	engines := []engine{file, bbolt, ours}
	next := make([]uint64, clients)
	for _, n := range []int{1, clients} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			rates := map[engine][]float64{}
			var took []time.Duration
			for b.Loop() {
				for _, e := range engines {
					each := work(b, e, n, next, turn)
					rates[e] = append(rates[e], float64(len(each))/turn.Seconds())
					if e == ours {
						took = append(took, each...)
					}
				}
			}
			ratio := func(a, to engine) float64 {
				var r []float64
				for i := range rates[a] {
					r = append(r, rates[a][i]/rates[to][i])
				}
				return median(r)
			}
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(median(rates[file]), "file-op/s")
			b.ReportMetric(median(rates[ours]), "journal-op/s")
			b.ReportMetric(ratio(bbolt, file), "bbolt/file")
			b.ReportMetric(ratio(ours, file), "journal/file")
			b.ReportMetric(ratio(ours, bbolt), "journal/bbolt")
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
			b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
		})
	}
	for _, e := range engines {
		e.close()
	}
}

// work has clients do their next operations until the turn is over, and returns how long each took.
func work(b *testing.B, e engine, clients int, next []uint64, turn time.Duration) []time.Duration {
	took := make([][]time.Duration, clients)
	end := time.Now().Add(turn)
	var all sync.WaitGroup
	for client := range clients {
		all.Go(func() {
			for at := time.Now(); at.Before(end); at = time.Now() {
				next[client]++
				if err := e.do(operation{uint64(client), next[client]}); err != nil {
					b.Error(err)
					return
				}
				took[client] = append(took[client], time.Since(at))
			}
		})
	}
	all.Wait()
	return slices.Concat(took...)
}

func median(x []float64) float64 {
	x = slices.Clone(x)
	slices.Sort(x)
	return x[len(x)/2]
}

// BenchmarkTx measures a transaction of 64 operations without the syncs, which is what the
// processor does in the largest usual batch, and reads.
func BenchmarkTx(b *testing.B) {
	path := filepath.Join(b.TempDir(), "store")
	prepareBench(b, path)
	db, err := bolt.Open(path, benchTables, bolt.Options{NoSync: true, FillPercent: benchFill})
	require.NoError(b, err)
	defer db.Close()
	n := uint64(1 << 33)
	b.Run("Update64", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if err := db.Update(func(tx store.Tx) error {
				for client := range uint64(clients) {
					if err := perform(tx, operation{client, n}); err != nil {
						return err
					}
				}
				n++
				return nil
			}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Get", func(b *testing.B) {
		b.ReportAllocs()
		err := db.View(func(tx store.Tx) error {
			key := be(0)
			for i := uint64(0); b.Loop(); i++ {
				binary.BigEndian.PutUint64(key, i*7919%bundles)
				if tx.Get("bundle", key) == nil {
					return fmt.Errorf("no bundle %d", i)
				}
			}
			return nil
		})
		require.NoError(b, err)
	})
	b.Run("View", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if err := db.View(func(tx store.Tx) error { tx.Last(journal.Records); return nil }); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Descend10", func(b *testing.B) {
		b.ReportAllocs()
		err := db.View(func(tx store.Tx) error {
			for b.Loop() {
				left := 10
				tx.Descend(journal.Records, nil, be(bundles/2), func(k, v []byte) bool { left--; return left > 0 })
			}
			return nil
		})
		require.NoError(b, err)
	})
}
