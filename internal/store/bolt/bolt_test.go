package bolt_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/store/storetest"
)

const a = store.Table("a")

var tables = []store.Table{a, "b"}

func key(i int) []byte { return fmt.Appendf(nil, "%08d", i) }

// fill makes a store of n keys with values of 100 bytes and closes it.
func fill(t *testing.T, path string, n int) {
	t.Helper()
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
	require.NoError(t, err)
	require.NoError(t, db.Update(func(tx store.Tx) error {
		for i := range n {
			if err := tx.Put(a, key(i), bytes.Repeat([]byte{byte(i)}, 100)); err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(t, db.Close())
}

// image returns the file of a store of n keys, without the room to grow that bbolt leaves.
func image(t *testing.T, n int) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, n)
	db, err := bolt.Open(path, tables, bolt.Options{ReadOnly: true})
	require.NoError(t, err)
	defer db.Close()
	var b bytes.Buffer
	_, err = db.Backup(context.Background(), &b, 1<<30)
	require.NoError(t, err)
	return b.Bytes()
}

func count(t *testing.T, db store.DB) (n int) {
	t.Helper()
	require.NoError(t, db.View(func(tx store.Tx) error {
		tx.Ascend(a, nil, nil, func(k, v []byte) bool { n++; return true })
		return nil
	}))
	return n
}

// checked opens a store whose file must be consistent when the test ends.
func checked(t testing.TB, o bolt.Options) (*bolt.DB, string) {
	path := filepath.Join(t.TempDir(), "store")
	db, err := bolt.Open(path, storetest.Tables, o)
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, db.Close())
		require.NoError(t, bolt.CheckFile(path))
	})
	return db, path
}

func TestConformance(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t testing.TB) store.DB {
		db, _ := checked(t, bolt.Options{NoSync: true})
		return db
	})
}

// TestConformanceSmallMap runs with a map that the file outgrows, and pages that are packed full.
func TestConformanceSmallMap(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t testing.TB) store.DB {
		full := map[store.Table]float64{storetest.Tables[0]: 1, storetest.Tables[1]: 0.1}
		db, _ := checked(t, bolt.Options{NoSync: true, InitialMmapSize: 1, FillPercent: full})
		return db
	})
}

// reopening closes and opens its file after every Update during which no View ran.
type reopening struct {
	t    testing.TB
	path string
	mu   sync.RWMutex
	db   *bolt.DB
	done bool
}

func (r *reopening) View(f func(store.Tx) error) error {
	r.mu.RLock()
	defer r.mu.RUnlock()
	return r.db.View(f)
}

func (r *reopening) Update(f func(store.Tx) error) error {
	defer func() {
		if !r.mu.TryLock() {
			return
		}
		defer r.mu.Unlock()
		if r.done {
			return
		}
		require.NoError(r.t, r.db.Close())
		db, err := bolt.Open(r.path, storetest.Tables, bolt.Options{NoSync: true})
		require.NoError(r.t, err)
		r.db = db
	}()
	r.mu.RLock()
	defer r.mu.RUnlock()
	return r.db.Update(f)
}

func (r *reopening) Close() error {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.done = true
	return r.db.Close()
}

func TestConformanceReopened(t *testing.T) {
	t.Parallel()
	storetest.Run(t, func(t testing.TB) store.DB {
		path := filepath.Join(t.TempDir(), "store")
		db, err := bolt.Open(path, storetest.Tables, bolt.Options{NoSync: true})
		require.NoError(t, err)
		r := &reopening{t: t, path: path, db: db}
		t.Cleanup(func() { require.NoError(t, r.Close()) })
		return r
	})
}

func TestLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	db, err := bolt.Open(path, tables, bolt.Options{})
	require.NoError(t, err)
	for _, o := range []bolt.Options{{}, {ReadOnly: true}} {
		_, err = bolt.Open(path, tables, o)
		require.ErrorIs(t, err, bolt.ErrLocked)
	}
	require.ErrorIs(t, bolt.CheckFile(path), bolt.ErrLocked)

	opened := make(chan error)
	go func() {
		second, err := bolt.Open(path, tables, bolt.Options{Timeout: time.Minute})
		if err == nil {
			err = second.Close()
		}
		opened <- err
	}()
	require.NoError(t, db.Close())
	require.NoError(t, <-opened, "who waits gets the lock")
}

func TestReadOnly(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "store")
	_, err := bolt.Open(path, tables, bolt.Options{ReadOnly: true})
	require.ErrorIs(t, err, os.ErrNotExist)
	require.NoFileExists(t, path, "a file opened for reading is not made")

	fill(t, path, 10)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = bolt.Open(path, []store.Table{a, "new"}, bolt.Options{ReadOnly: true})
	require.ErrorIs(t, err, store.ErrNoTable)
	var readers []*bolt.DB
	for range 2 {
		db, err := bolt.Open(path, tables, bolt.Options{ReadOnly: true})
		require.NoError(t, err)
		readers = append(readers, db)
	}
	for _, db := range readers {
		require.Equal(t, 10, count(t, db))
		require.ErrorIs(t, db.Update(func(store.Tx) error { return nil }), store.ErrReadOnly)
		require.NoError(t, db.Close())
	}
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.True(t, bytes.Equal(before, after))
}

// TestOtherTables: what a store holds beside the tables it is opened with stays.
func TestOtherTables(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, 10)
	db, err := bolt.Open(path, []store.Table{"new"}, bolt.Options{})
	require.NoError(t, err)
	require.ErrorIs(t, db.Update(func(tx store.Tx) error { return tx.Delete(a, key(1)) }), store.ErrNoTable)
	require.NoError(t, db.Close())
	db, err = bolt.Open(path, tables, bolt.Options{})
	require.NoError(t, err)
	defer db.Close()
	require.Equal(t, 10, count(t, db))
}

// TestOpenCommits: opening for writing makes durable what is read, so the last page written changes.
func TestOpenCommits(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, 10)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	db, err := bolt.Open(path, tables, bolt.Options{})
	require.NoError(t, err)
	require.NoError(t, db.Close())
	after, err := os.ReadFile(path)
	require.NoError(t, err)
	require.False(t, bytes.Equal(before, after))
}

// TestCutOff opens what is left of a file after a cut at every page and at some odd lengths: an
// error, no panic, and the lock is free again.
func TestCutOff(t *testing.T) {
	dir := t.TempDir()
	data := image(t, 1000)
	need := len(data)

	page := os.Getpagesize()
	lengths := []int{1, 100, page - 1, page + 1, 2*page - 1, need - 1}
	for n := page; n < need; n += page {
		lengths = append(lengths, n)
	}
	for _, n := range lengths {
		path := filepath.Join(dir, "cut")
		require.NoError(t, os.WriteFile(path, data[:n], 0o600))
		for _, o := range []bolt.Options{{NoSync: true}, {ReadOnly: true}} {
			_, err := bolt.Open(path, tables, o)
			require.ErrorIs(t, err, bolt.ErrDamaged, "%d bytes", n)
			require.ErrorContains(t, err, path)
		}
		require.ErrorIs(t, bolt.CheckFile(path), bolt.ErrDamaged, "%d bytes", n)
		require.NoError(t, os.WriteFile(path, data, 0o600))
		db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
		require.NoError(t, err, "the lock was released")
		require.Equal(t, 1000, count(t, db))
		require.NoError(t, db.Close())
	}
}

func TestNoStore(t *testing.T) {
	path := filepath.Join(t.TempDir(), "file")
	for name, content := range map[string][]byte{
		"text":   bytes.Repeat([]byte("mark,size,pieces\n"), 2000),
		"zeroes": make([]byte, 1<<16),
		"ones":   bytes.Repeat([]byte{0xff}, 1<<16),
	} {
		require.NoError(t, os.WriteFile(path, content, 0o600))
		_, err := bolt.Open(path, tables, bolt.Options{})
		require.ErrorIs(t, err, bolt.ErrDamaged, name)
		after, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, bytes.Equal(content, after), "%s: is not written to", name)
	}
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	_, err := bolt.Open(path, tables, bolt.Options{ReadOnly: true})
	require.ErrorIs(t, err, bolt.ErrDamaged, "empty")
	_, err = bolt.Open(t.TempDir(), tables, bolt.Options{})
	require.Error(t, err, "a folder")
	require.NotErrorIs(t, err, bolt.ErrDamaged)
}

// TestDamagedPage spoils each page in turn. Whatever bbolt then does, it is an error or a panic
// that can be recovered, in this process, and the store can be closed.
func TestDamagedPage(t *testing.T) {
	dir := t.TempDir()
	data := image(t, 500)
	page := os.Getpagesize()
	noticed := 0
	for at := 0; at < len(data); at += page {
		for _, garbage := range []byte{0x00, 0x7f, 0xff} {
			spoiled := bytes.Clone(data)
			for i := 8; i < page; i++ {
				// The number of the page stays, and how many it spans: bbolt believes both, and
				// would go through four thousand million pages.
				if i < 12 || i >= 16 {
					spoiled[at+i] = garbage
				}
			}
			path := filepath.Join(dir, "spoiled")
			require.NoError(t, os.WriteFile(path, spoiled, 0o600))
			err := use(path)
			if err != nil {
				noticed++
			}
			if err := use(path); err != nil {
				require.NotErrorIs(t, err, bolt.ErrLocked)
			}
		}
	}
	require.Greater(t, noticed, 10)
}

// use opens the store at path, reads and writes everything, and closes it.
func use(path string) (err error) {
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true, InitialMmapSize: 1 << 30})
	if err != nil {
		return err
	}
	defer db.Close()
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("panic: %v", v)
		}
	}()
	if err := db.View(func(tx store.Tx) error {
		tx.Ascend(a, nil, nil, func(k, v []byte) bool { return len(v) < 1<<20 })
		return nil
	}); err != nil {
		return err
	}
	return db.Update(func(tx store.Tx) error {
		for i := range 500 {
			if err := tx.Put(a, key(i), key(i)); err != nil {
				return err
			}
		}
		return nil
	})
}

// TestPagesGone: memory whose page of the file is gone is a panic in the goroutine that reads it, and
// not the end of the process.
func TestPagesGone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, 2000)
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
	require.NoError(t, err)
	require.NoError(t, os.Truncate(path, int64(2*os.Getpagesize())))
	read := func(tx store.Tx) error { tx.Get(a, key(1000)); return nil }
	require.Panics(t, func() { db.View(read) })
	require.Panics(t, func() { db.Update(read) })
	require.NoError(t, db.Close())
}

// TestCheckFile finds keys out of order, in a child process as commands run it.
func TestCheckFile(t *testing.T) {
	if path := os.Getenv("BOLT_TEST_CHECK"); path != "" {
		if err := bolt.CheckFile(path); err != nil {
			fmt.Println(err)
			os.Exit(3)
		}
		os.Exit(0)
	}
	dir := t.TempDir()
	whole := filepath.Join(dir, "whole")
	fill(t, whole, 500)
	child := func(path string) error {
		cmd := exec.Command(os.Args[0], "-test.run=^TestCheckFile$")
		cmd.Env = append(os.Environ(), "BOLT_TEST_CHECK="+path)
		return cmd.Run()
	}
	require.NoError(t, child(whole))

	// One key turned into another that is in the leaf already.
	data, err := os.ReadFile(whole)
	require.NoError(t, err)
	swapped := bytes.ReplaceAll(data, key(7), key(9))
	require.False(t, bytes.Equal(data, swapped))
	spoiled := filepath.Join(dir, "spoiled")
	require.NoError(t, os.WriteFile(spoiled, swapped, 0o600))
	require.Error(t, child(spoiled))
	require.ErrorIs(t, bolt.CheckFile(spoiled), bolt.ErrDamaged)
}

// TestCommitFails writes to a file that may not grow: the outcome is unknown, further writes are
// refused, reads go on, and the reopened store holds what was committed before.
func TestCommitFails(t *testing.T) {
	if path := os.Getenv("BOLT_TEST_FULL"); path != "" {
		commitFails(t, path)
		return
	}
	// The limit on the size of files is one of a whole process.
	sh, err := exec.LookPath("sh")
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "store")
	cmd := exec.Command(sh, "-c", `ulimit -f 200; exec "$0" -test.run='^TestCommitFails$'`, os.Args[0])
	cmd.Env = append(os.Environ(), "BOLT_TEST_FULL="+path)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)

	db, err := bolt.Open(path, tables, bolt.Options{})
	require.NoError(t, err)
	require.Equal(t, 10, count(t, db))
	require.NoError(t, db.Close())
	require.NoError(t, bolt.CheckFile(path))
}

func commitFails(t *testing.T, path string) {
	write := func(db *bolt.DB, n, size int) error {
		return db.Update(func(tx store.Tx) error {
			for i := range n {
				if err := tx.Put(a, key(i), make([]byte, size)); err != nil {
					return err
				}
			}
			return nil
		})
	}
	// A map no larger than the file may become keeps bbolt from growing it in large steps.
	db, err := bolt.Open(path, tables, bolt.Options{InitialMmapSize: 1})
	require.NoError(t, err)
	require.NoError(t, write(db, 10, 10))
	err = write(db, 1000, 1000)
	require.True(t, store.IsCommit(err), "%v", err)
	require.ErrorIs(t, write(db, 1, 1), store.ErrFailed)
	require.Equal(t, 10, count(t, db))
	require.NoError(t, db.Close())

	db, err = bolt.Open(path, tables, bolt.Options{InitialMmapSize: 1})
	require.NoError(t, err)
	require.Equal(t, 10, count(t, db))
	require.NoError(t, write(db, 10, 10), "what fits is taken again")
	require.NoError(t, db.Close())
}

// TestBackup copies while others write: the copy is the store at one moment.
func TestBackup(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "store")
	fill(t, path, 2000)
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
	require.NoError(t, err)
	defer db.Close()
	var stop atomic.Bool
	var writer sync.WaitGroup
	writer.Go(func() {
		for i := 2000; !stop.Load(); i++ {
			if err := db.Update(func(tx store.Tx) error { return tx.Put(a, key(i), key(i)) }); err != nil {
				t.Error(err)
				return
			}
		}
	})
	copied := filepath.Join(dir, "copy")
	f, err := os.Create(copied)
	require.NoError(t, err)
	n, err := db.Backup(context.Background(), f, 0)
	stop.Store(true)
	writer.Wait()
	require.NoError(t, err)
	require.NoError(t, f.Close())
	info, err := os.Stat(copied)
	require.NoError(t, err)
	require.Equal(t, n, info.Size())
	require.NoError(t, bolt.CheckFile(copied))

	second, err := bolt.Open(copied, tables, bolt.Options{})
	require.NoError(t, err)
	defer second.Close()
	got := count(t, second)
	require.GreaterOrEqual(t, got, 2000)
	require.LessOrEqual(t, got, count(t, db))
	require.NoError(t, second.View(func(tx store.Tx) error {
		last, _ := tx.Last(a)
		require.Equal(t, key(got-1), last, "without a gap")
		return nil
	}))
}

// TestBackupEnds: a slow backup ends with its context, and when the store is closed.
func TestBackupEnds(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, 5000)
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
	require.NoError(t, err)
	slow := func(ctx context.Context) (started chan bool, ended chan error) {
		started, ended = make(chan bool, 1), make(chan error, 1)
		go func() {
			_, err := db.Backup(ctx, writerFunc(func(p []byte) (int, error) {
				select {
				case started <- true:
				default:
				}
				return len(p), nil
			}), 1) // a byte a second
			ended <- err
		}()
		return started, ended
	}
	ctx, cancel := context.WithCancel(context.Background())
	started, ended := slow(ctx)
	<-started
	cancel()
	require.ErrorIs(t, <-ended, context.Canceled)

	started, ended = slow(context.Background())
	<-started
	require.NoError(t, db.Close())
	require.ErrorIs(t, <-ended, store.ErrClosed)
	_, err = db.Backup(context.Background(), &bytes.Buffer{}, 0)
	require.ErrorIs(t, err, store.ErrClosed)
}

type writerFunc func(p []byte) (int, error)

func (f writerFunc) Write(p []byte) (int, error) { return f(p) }

// TestBackupRate: the time that a backup takes is what its rate asks for, at least.
func TestBackupRate(t *testing.T) {
	path := filepath.Join(t.TempDir(), "store")
	fill(t, path, 2000)
	db, err := bolt.Open(path, tables, bolt.Options{NoSync: true})
	require.NoError(t, err)
	defer db.Close()
	start := time.Now()
	var last int64 // of the write that came last, which is not waited for
	const rate = 4 << 20
	n, err := db.Backup(context.Background(), writerFunc(func(p []byte) (int, error) { last = int64(len(p)); return len(p), nil }), rate)
	require.NoError(t, err)
	require.GreaterOrEqual(t, time.Since(start).Seconds(), float64(n-last)/rate)
}
