// Package bolt keeps a store in one bbolt file: a bucket for each table.
//
// The file is locked while it is open: one process writes, or several read. What the settings here
// fix was measured: the synced freelist in its map form opens at once however large the file, and a
// large mapping keeps a writer from having to wait for readers, and them for it, whenever the file
// outgrows the map.
package bolt

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"sync/atomic"
	"syscall"
	"time"

	"go.etcd.io/bbolt"
	bbolterrors "go.etcd.io/bbolt/errors"

	"tagd/internal/store"
)

// Errors of Open that callers tell apart.
var (
	// ErrLocked is a file that another process, or this one, has open.
	ErrLocked = errors.New("store: the file is open in another process")
	// ErrDamaged is a file that is no store, or is one no longer.
	ErrDamaged = errors.New("store: the file is damaged or is no store")
)

// Options of Open. The zero value writes, and tries the lock once.
type Options struct {
	// ReadOnly opens an existing file for View only, beside other readers.
	ReadOnly bool
	// Timeout is how long to wait for the lock.
	Timeout time.Duration
	// FillPercent is how full, from 0.1 to 1, a page of a table is left when it is split. The
	// default, 0.5, suits keys that come in any order; keys that only grow want 0.95.
	FillPercent map[store.Table]float64
	// InitialMmapSize is the address space taken at once, in bytes: it costs no memory. Default
	// 8 GiB, or 256 MiB where an int has 32 bits.
	InitialMmapSize int
	// NoSync leaves syncing to the operating system: a crash of the machine then destroys the
	// file. For tests, and for files that are made anew when that happens.
	NoSync bool
}

func (o Options) mmapSize() int {
	size := int64(8 << 30)
	switch {
	case o.InitialMmapSize > 0:
		return o.InitialMmapSize
	case strconv.IntSize == 32:
		size = 256 << 20
	}
	return int(size)
}

// DB is a store in a bbolt file.
type DB struct {
	file   *bbolt.DB
	tables map[store.Table]table
	failed atomic.Bool // a commit failed

	closing context.Context // done when Close begins: it ends a backup
	stop    context.CancelFunc
}

// table is where a transaction keeps its bucket, and how full that is packed.
type table struct {
	index int
	fill  float64
}

// growth is by how much the file grows when it is full: each growth costs a sync, and leaves that much
// unused at the most.
const growth = 4 << 20

// Open opens the file at path, making it with mode 0600 if there is none, and makes the tables that
// it lacks; tables of the file that are not named stay as they are. With ReadOnly, file and tables
// must exist. Errors are ErrLocked, ErrDamaged and those of the file system.
//
// Unless ReadOnly, Open commits once. What is read afterwards is then durable even if the process
// that wrote it was killed, or was told that its sync failed, when all pages had been written.
func Open(path string, tables []store.Table, o Options) (*DB, error) {
	_, err := os.Stat(path)
	made := errors.Is(err, os.ErrNotExist) && !o.ReadOnly
	file, err := open(path, &bbolt.Options{
		ReadOnly:        o.ReadOnly,
		Timeout:         max(o.Timeout, 1), // bbolt takes 0 for ever
		FreelistType:    bbolt.FreelistMapType,
		InitialMmapSize: o.mmapSize(),
		NoSync:          o.NoSync,
		NoStatistics:    true,
	}, func(file *bbolt.DB) error { return prepare(file, tables) })
	if err != nil {
		return nil, err
	}
	if made && !o.NoSync {
		if err := syncFolder(filepath.Dir(path)); err != nil {
			file.Close()
			return nil, fmt.Errorf("store: %s was made, but its folder is not synced: %w", path, err)
		}
	}
	db := &DB{file: file, tables: make(map[store.Table]table, len(tables))}
	db.closing, db.stop = context.WithCancel(context.Background())
	for i, t := range tables {
		fill := o.FillPercent[t]
		if fill == 0 {
			fill = bbolt.DefaultFillPercent
		}
		db.tables[t] = table{i, fill}
	}
	return db, nil
}

// open opens a bbolt file and runs then on it. A damaged file can make bbolt panic, and a truncated
// one fault, while it holds the lock and returns no handle: therefore the descriptor is kept here,
// and closed.
func open(path string, o *bbolt.Options, then func(*bbolt.DB) error) (file *bbolt.DB, err error) {
	if info, err := os.Stat(path); o.ReadOnly && err == nil && info.Size() == 0 {
		return nil, fmt.Errorf("%w: %s: it is empty", ErrDamaged, path)
	}
	var f *os.File
	o.OpenFile = func(name string, flag int, mode os.FileMode) (_ *os.File, err error) {
		f, err = os.OpenFile(name, flag, mode)
		return f, err
	}
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if v := recover(); v != nil {
			// The map, which stays, would keep the lock of a descriptor that is only closed.
			syscall.Flock(int(f.Fd()), syscall.LOCK_UN)
			f.Close()
			file, err = nil, fmt.Errorf("%w: %s: %v", ErrDamaged, path, v)
		}
	}()
	if file, err = bbolt.Open(path, 0o600, o); err != nil {
		return nil, openError(path, err)
	}
	file.AllocSize = growth
	if err = whole(file, f); err == nil {
		err = then(file)
	}
	if err != nil {
		file.Close()
		return nil, fmt.Errorf("%w: %s", err, path)
	}
	return file, nil
}

// openError sorts the errors of bbolt: what is neither the lock nor the operating system is the file.
func openError(path string, err error) error {
	var system syscall.Errno
	switch {
	case errors.Is(err, bbolterrors.ErrTimeout):
		return fmt.Errorf("%w: %s", ErrLocked, path)
	case errors.As(err, &system):
		return fmt.Errorf("store: open %s: %w", path, err)
	}
	return fmt.Errorf("%w: %s: %w", ErrDamaged, path, err)
}

// whole compares the length of the file with what its last commit needs.
func whole(file *bbolt.DB, f *os.File) error {
	info, err := f.Stat()
	if err != nil {
		return err
	}
	return file.View(func(tx *bbolt.Tx) error {
		if info.Size() < tx.Size() {
			return fmt.Errorf("%w: it was cut off, %d of %d bytes are left", ErrDamaged, info.Size(), tx.Size())
		}
		return nil
	})
}

// prepare makes the tables, or looks whether they exist if file is read only.
func prepare(file *bbolt.DB, tables []store.Table) error {
	if file.IsReadOnly() {
		return file.View(func(tx *bbolt.Tx) error {
			for _, t := range tables {
				if tx.Bucket([]byte(t)) == nil {
					return fmt.Errorf("%w: %q", store.ErrNoTable, t)
				}
			}
			return nil
		})
	}
	return file.Update(func(tx *bbolt.Tx) error {
		for _, t := range tables {
			if _, err := tx.CreateBucketIfNotExists([]byte(t)); err != nil {
				return fmt.Errorf("store: make table %q: %w", t, err)
			}
		}
		return nil
	})
}

// syncFolder makes the name of a new file durable.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// View implements store.DB. A damaged page, on which bbolt panics or faults, comes out as a panic
// that can be recovered; so too in Update, which then writes nothing.
func (db *DB) View(f func(store.Tx) error) error {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	b, err := db.file.Begin(false)
	if err != nil {
		return beginError(err)
	}
	t := db.tx(b)
	defer func() {
		t.buckets = nil
		b.Rollback()
	}()
	return f(t)
}

// Update implements store.DB.
func (db *DB) Update(f func(store.Tx) error) error {
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	b, err := db.file.Begin(true)
	if err != nil {
		return beginError(err)
	}
	t := db.tx(b)
	defer func() {
		t.buckets = nil
		b.Rollback() // does nothing after a commit
	}()
	if db.failed.Load() {
		return store.ErrFailed
	}
	if err := f(t); err != nil {
		return err
	}
	t.buckets = nil
	if err := commit(b); err != nil {
		db.failed.Store(true)
		return &store.CommitError{Err: err}
	}
	return nil
}

// commit turns a panic of bbolt, on pages that are damaged, into an error.
func commit(b *bbolt.Tx) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = fmt.Errorf("%w: %v", ErrDamaged, v)
		}
	}()
	return b.Commit()
}

func beginError(err error) error {
	switch {
	case errors.Is(err, bbolterrors.ErrDatabaseNotOpen):
		return store.ErrClosed
	case errors.Is(err, bbolterrors.ErrDatabaseReadOnly):
		return store.ErrReadOnly
	}
	return fmt.Errorf("store: begin: %w", err)
}

// Close implements store.DB. It ends a backup that runs.
func (db *DB) Close() error {
	db.stop()
	return db.file.Close()
}
