package journal_test

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
)

var tables = []store.Table{journal.Records, journal.Keys}

var background = context.Background()

// counted counts the commits of a store.
func counted(db store.DB) (*storetest.Faulty, *atomic.Int64) {
	n := new(atomic.Int64)
	return &storetest.Faulty{DB: db, Fault: func() (fail, keep bool) { n.Add(1); return false, false }}, n
}

func add(text string) func(store.Tx) error {
	return func(tx store.Tx) error {
		_, err := journal.Append(tx, []byte(text))
		return err
	}
}

// texts lists the records of a journal.
func texts(t require.TestingT, db store.DB) (list []string) {
	view(t, db, func(tx store.Tx) {
		if r := journal.Get(tx, 0); r != nil {
			list = append(list, string(r))
		}
		require.NoError(t, journal.Scan(tx, 0, 1<<30, func(_ uint64, r []byte) bool {
			list = append(list, string(r))
			return true
		}))
	})
	return list
}

// gate holds a committer inside a job until it is opened, so that a test decides what waits.
type gate struct {
	c       *journal.Committer
	inside  chan bool
	release chan bool
	done    chan error
}

func hold(c *journal.Committer) *gate {
	g := &gate{c, make(chan bool), make(chan bool), make(chan error, 1)}
	var once sync.Once // the job may run again
	go func() {
		g.done <- c.Do(background, func(store.Tx) error {
			once.Do(func() { g.inside <- true; <-g.release })
			return nil
		})
	}()
	<-g.inside
	return g
}

func (g *gate) open(t *testing.T) {
	g.release <- true
	require.NoError(t, <-g.done)
}

// queue starts Do of each job in order and returns their errors once all are answered.
func queue(t *testing.T, c *journal.Committer, jobs ...func(store.Tx) error) func() []error {
	errs := make([]error, len(jobs))
	var all sync.WaitGroup
	for i, job := range jobs {
		waiting := c.Waiting()
		all.Go(func() { errs[i] = c.Do(background, job) })
		for c.Waiting() == waiting {
			runtime.Gosched()
		}
	}
	return func() []error { all.Wait(); return errs }
}

// TestBatch: what waits is written in order, in one commit, and later jobs see what earlier ones did.
func TestBatch(t *testing.T) {
	db, commits := counted(open())
	c := journal.New(db, journal.Options{})
	g := hold(c)
	var jobs []func(store.Tx) error
	for i := range 10 {
		jobs = append(jobs, func(tx store.Tx) error {
			seq, err := journal.Append(tx, fmt.Append(nil, i))
			if err == nil && (seq != uint64(i) || i > 0 && string(journal.Get(tx, seq-1)) != fmt.Sprint(i-1)) {
				err = fmt.Errorf("job %d wrote %d", i, seq)
			}
			return err
		})
	}
	answers := queue(t, c, jobs...)
	g.open(t)
	require.NoError(t, errors.Join(answers()...))
	require.EqualValues(t, 1, commits.Load())
	require.Equal(t, []string{"0", "1", "2", "3", "4", "5", "6", "7", "8", "9"}, texts(t, db))
	c.Close()
}

func TestBatchLimit(t *testing.T) {
	db, commits := counted(open())
	c := journal.New(db, journal.Options{Batch: 4})
	g := hold(c)
	var jobs []func(store.Tx) error
	for i := range 10 {
		jobs = append(jobs, add(fmt.Sprint(i)))
	}
	answers := queue(t, c, jobs...)
	g.open(t)
	require.NoError(t, errors.Join(answers()...))
	require.EqualValues(t, 3, commits.Load(), "the gate and 3, 4, 3")
	c.Close()
}

// TestRefusals: a job that refuses costs the others nothing, and one alone costs no commit.
func TestRefusals(t *testing.T) {
	db, commits := counted(open())
	c := journal.New(db, journal.Options{})
	defer c.Close()
	refusal := errors.New("not cut yet")
	require.Equal(t, refusal, c.Do(background, func(store.Tx) error { return refusal }))
	require.NoError(t, c.Do(background, func(store.Tx) error { return nil }))
	require.Zero(t, commits.Load())
	g := hold(c)
	answers := queue(t, c, add("a"), func(store.Tx) error { return refusal }, add("b"))
	g.open(t)
	require.Equal(t, []error{nil, refusal, nil}, answers())
	require.EqualValues(t, 1, commits.Load())
	require.Equal(t, []string{"a", "b"}, texts(t, db))
}

// TestSpoilers: jobs that fail half way, or panic, leave nothing behind; the others are run again.
func TestSpoilers(t *testing.T) {
	db, commits := counted(open())
	c := journal.New(db, journal.Options{})
	defer c.Close()
	half := errors.New("half way")
	fails := func(tx store.Tx) error { return errors.Join(add("half")(tx), half) }
	deletes := func(tx store.Tx) error { return errors.Join(tx.Delete(journal.Records, make([]byte, 8)), half) }
	panics := func(tx store.Tx) error { add("panic")(tx); panic("boom") }
	var runs []uint64 // what job "c" saw, each time
	sees := func(tx store.Tx) error {
		seq, err := journal.Append(tx, []byte("c"))
		runs = append(runs, seq)
		return err
	}
	g := hold(c)
	answers := queue(t, c, add("a"), fails, add("b"), panics, sees, deletes, add("d"))
	g.open(t)
	errs := answers()
	for i, err := range errs {
		switch i {
		case 1, 5:
			require.ErrorIs(t, err, half)
		case 3:
			var p *journal.PanicError
			require.ErrorAs(t, err, &p)
			require.Equal(t, "boom", p.Value)
			require.Contains(t, string(p.Stack), "TestSpoilers", "the stack shows where")
			require.EqualError(t, err, "journal: an operation panicked: boom")
		default:
			require.NoError(t, err)
		}
	}
	require.Equal(t, []string{"a", "b", "c", "d"}, texts(t, db))
	require.Equal(t, []uint64{2, 2}, runs, "run again from the beginning, and only the last run counts")
	require.EqualValues(t, 1, commits.Load())

	require.ErrorIs(t, c.Do(background, fails), half, "alone")
	require.NoError(t, c.Do(background, add("e")))
	require.Equal(t, []string{"a", "b", "c", "d", "e"}, texts(t, db))
}

func TestBusy(t *testing.T) {
	db := open()
	c := journal.New(db, journal.Options{Queue: 2})
	g := hold(c)
	answers := queue(t, c, add("a"), add("b"))
	require.ErrorIs(t, c.Do(background, add("c")), journal.ErrBusy)
	g.open(t)
	require.NoError(t, errors.Join(answers()...))
	require.NoError(t, c.Do(background, add("d")))
	require.Equal(t, []string{"a", "b", "d"}, texts(t, db))
	c.Close()
}

// TestCancel: a job whose caller gave up is not run, unless it was taken before.
func TestCancel(t *testing.T) {
	db := open()
	c := journal.New(db, journal.Options{})
	defer c.Close()
	ctx, cancel := context.WithCancelCause(background)
	cancel(nil)
	require.ErrorIs(t, c.Do(ctx, add("never")), context.Canceled)

	g := hold(c)
	ctx, cancel = context.WithCancelCause(background)
	given := make(chan error)
	go func() { given <- c.Do(ctx, add("never")) }()
	for c.Waiting() == 0 {
		runtime.Gosched()
	}
	answers := queue(t, c, add("a"))
	cancel(nil)
	require.ErrorIs(t, <-given, context.Canceled, "at once, while the committer is still busy")
	g.open(t)
	require.NoError(t, errors.Join(answers()...))

	ctx, cancel = context.WithCancelCause(background)
	require.NoError(t, c.Do(ctx, func(tx store.Tx) error { cancel(nil); return add("taken")(tx) }))
	require.Equal(t, []string{"a", "taken"}, texts(t, db))
}

// TestClose: what waits is still written, what comes later is refused.
func TestClose(t *testing.T) {
	db := open()
	c := journal.New(db, journal.Options{Queue: 2}) // so that a third is not queued
	g := hold(c)
	answers := queue(t, c, add("a"), add("b"))
	closed := make(chan bool)
	go func() { c.Close(); closed <- true }()
	for !errors.Is(c.Do(background, func(store.Tx) error { return nil }), journal.ErrClosed) {
		runtime.Gosched()
	}
	select {
	case <-closed:
		t.Fatal("closed while jobs wait")
	default:
	}
	g.open(t)
	<-closed
	require.NoError(t, errors.Join(answers()...))
	require.Equal(t, []string{"a", "b"}, texts(t, db))
	c.Close()
	require.NoError(t, db.Close())
}

func TestStoreClosed(t *testing.T) {
	db := open()
	c := journal.New(db, journal.Options{})
	defer c.Close()
	require.NoError(t, db.Close())
	require.ErrorIs(t, c.Do(background, add("a")), store.ErrClosed)
}

// TestUncertain: after a commit that failed every job of it is in doubt, those that refused too,
// and nothing more is written before Resume.
func TestUncertain(t *testing.T) {
	for _, keep := range []bool{false, true} {
		t.Run(fmt.Sprintf("kept %v", keep), func(t *testing.T) {
			disk := open()
			fail := false
			c := journal.New(&storetest.Faulty{DB: disk, Fault: func() (bool, bool) { return fail, keep }}, journal.Options{Batch: 4})
			require.NoError(t, c.Do(background, add("a")))
			g := hold(c)
			fail = true
			answers := queue(t, c, add("b"), func(store.Tx) error { return errors.New("refused, as b is there") }, add("c"), add("d"), add("e"))
			g.release <- true
			require.ErrorIs(t, <-g.done, journal.ErrUncertain)
			for i, err := range answers() {
				if i < 3 {
					require.ErrorIs(t, err, journal.ErrUncertain)
					require.True(t, store.IsCommit(err))
				} else {
					require.ErrorIs(t, err, journal.ErrStopped)
				}
			}
			require.ErrorIs(t, c.Do(background, add("f")), journal.ErrStopped)

			require.NoError(t, disk.Close())
			disk = disk.Reopen()
			c.Resume(disk)
			require.NoError(t, c.Do(background, add("g")))
			want := []string{"a", "g"}
			if keep {
				want = []string{"a", "b", "c", "g"}
			}
			require.Equal(t, want, texts(t, disk))
			c.Close()
		})
	}
}

func TestCloseWhenStopped(t *testing.T) {
	c := journal.New(&storetest.Faulty{DB: open(), Fault: func() (bool, bool) { return true, false }}, journal.Options{})
	require.ErrorIs(t, c.Do(background, add("a")), journal.ErrUncertain)
	c.Close()
	require.ErrorIs(t, c.Do(background, add("b")), journal.ErrClosed)
}

// TestHistories plays random operations on a disk of which one commit in four fails. Each device
// sends an operation until it is answered, as floor does: under its key, and looking in the
// reopened store when the answer was uncertain. Then each counts exactly once, in the order of its
// device.
func TestHistories(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		faults := rapid.SliceOfN(rapid.IntRange(0, 7), 1, 50).Draw(t, "faults")
		devices := rapid.IntRange(1, 4).Draw(t, "devices")
		each := rapid.IntRange(1, 6).Draw(t, "operations of each")

		var mu sync.Mutex // of disk and commits
		commits := 0
		disk := open()
		faulty := func() *storetest.Faulty {
			return &storetest.Faulty{DB: disk, Fault: func() (fail, keep bool) {
				mu.Lock()
				defer mu.Unlock()
				commits++
				f := faults[commits%len(faults)]
				return f < 2 && commits < 500, f == 0
			}}
		}
		db := faulty()
		c := journal.New(db, journal.Options{Batch: 3})
		var reopening sync.Mutex
		reopen := func(failed *storetest.Faulty) {
			reopening.Lock()
			defer reopening.Unlock()
			if failed != db {
				return
			}
			failed.Close()
			mu.Lock()
			disk = disk.Reopen()
			mu.Unlock()
			db = faulty()
			c.Resume(db)
		}
		current := func() *storetest.Faulty {
			reopening.Lock()
			defer reopening.Unlock()
			return db
		}

		var all sync.WaitGroup
		for d := range devices {
			device := fmt.Sprint("device ", d)
			all.Go(func() {
				for i := range each {
					key := fmt.Sprint(i)
					for {
						was := current()
						var op journal.Op
						err := c.Do(background, func(tx store.Tx) error {
							var ok bool
							var err error
							if op, ok, err = journal.Recall(tx, device, key); ok || err != nil {
								return err
							}
							op.Count = 1
							if op.First, err = journal.Append(tx, []byte(device+" "+key)); err != nil {
								return err
							}
							return journal.Remember(tx, device, key, op)
						})
						if err == nil {
							break
						}
						if !errors.Is(err, journal.ErrUncertain) && !errors.Is(err, journal.ErrStopped) {
							t.Errorf("%s %s: %v", device, key, err)
							return
						}
						reopen(was)
					}
				}
			})
		}
		all.Wait()
		c.Close()
		next := map[string]int{}
		list := texts(t, db)
		require.Len(t, list, devices*each)
		for seq, text := range list {
			var d, i int
			fmt.Sscanf(text, "device %d %d", &d, &i)
			device := fmt.Sprint("device ", d)
			require.Equal(t, next[device], i, "%s at %d", device, seq)
			next[device]++
			view(t, db, func(tx store.Tx) {
				op, ok, err := journal.Recall(tx, device, fmt.Sprint(i))
				require.NoError(t, err)
				require.True(t, ok)
				require.Equal(t, journal.Op{First: uint64(seq), Count: 1}, op)
			})
		}
	})
}

// TestAcknowledged writes from many clients to a file, closes the committer under them, and looks
// in the reopened file: what was acknowledged is there, what was refused is not.
func TestAcknowledged(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	yes, no := map[string]uint64{}, map[string]bool{}
	for round := range 5 {
		db, err := bolt.Open(path, tables, bolt.Options{})
		require.NoError(t, err)
		c := journal.New(db, journal.Options{Queue: 8})
		var mu sync.Mutex
		var clients sync.WaitGroup
		for client := range 16 {
			clients.Go(func() {
				for i := 0; ; i++ {
					text := fmt.Sprint(round, " ", client, " ", i)
					var seq uint64
					err := c.Do(background, func(tx store.Tx) (err error) {
						if i%5 == 4 {
							return errors.New("refused")
						}
						seq, err = journal.Append(tx, []byte(text))
						return err
					})
					mu.Lock()
					if err == nil {
						yes[text] = seq
					} else {
						no[text] = true
					}
					n := len(yes)
					mu.Unlock()
					if errors.Is(err, journal.ErrClosed) {
						return
					}
					if n == 200*(round+1) {
						go c.Close()
					}
				}
			})
		}
		clients.Wait()
		c.Close()
		require.NoError(t, db.Close())
	}
	require.NoError(t, bolt.CheckFile(path))
	db, err := bolt.Open(path, tables, bolt.Options{ReadOnly: true})
	require.NoError(t, err)
	defer db.Close()
	list := texts(t, db)
	require.Len(t, list, len(yes))
	for seq, text := range list {
		at, ok := yes[text]
		require.True(t, ok, text)
		require.EqualValues(t, seq, at)
		require.False(t, no[text], text)
	}
	require.NotEmpty(t, no)
}

// TestOverMemory runs many clients against the store that polices its use.
func TestOverMemory(t *testing.T) {
	db := mem.Open(tables...)
	c := journal.New(db, journal.Options{})
	var clients sync.WaitGroup
	var sum atomic.Int64
	for range 32 {
		clients.Go(func() {
			for range 30 {
				if err := c.Do(background, add("x")); err != nil {
					t.Error(err)
					return
				}
				sum.Add(1)
			}
		})
	}
	clients.Wait()
	c.Close()
	require.Len(t, texts(t, db), int(sum.Load()))
}
