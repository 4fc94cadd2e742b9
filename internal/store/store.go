// Package store is the seam to the disk: a file of tables, each an ordered set of keys with values.
//
// It knows nothing of what is kept. bolt/ keeps it in one bbolt file, mem/ in memory for tests;
// storetest/ is the suite that every implementation passes, and holds the fault double.
package store

import "errors"

// Table names one ordered key space. Tables are declared once, when the store is opened.
type Table string

// MaxKey is the greatest length of a key in bytes.
const MaxKey = 32 << 10

// Errors that callers tell apart. None of them leaves anything written.
var (
	// ErrNoTable is a use of a table that the store was not opened with. Put and Delete return it;
	// the methods that only read panic with it, for it is a mistake in the program.
	ErrNoTable = errors.New("store: no such table")
	// ErrKey is a Put with a key that is empty or longer than MaxKey.
	ErrKey = errors.New("store: a key has 1 to 32768 bytes")
	// ErrReadOnly is a write in a View, or an Update of a store that was opened for reading.
	ErrReadOnly = errors.New("store: write in a read transaction")
	// ErrFailed is an Update after one whose commit failed: the store must be reopened first.
	ErrFailed = errors.New("store: not reopened after a commit that failed")
	// ErrClosed is a use after Close.
	ErrClosed = errors.New("store: closed")
)

// DB is a store. View may be called from many goroutines at once; Update has one caller at a time.
// Transactions do not nest: inside f of a View or an Update the same goroutine calls neither,
// because each may come to wait for the other for ever.
type DB interface {
	// View runs f on a consistent snapshot, and returns its error. Slices that it hands out are
	// valid only inside f.
	View(f func(Tx) error) error
	// Update runs f once. If f returns nil and the commit succeeds, the writes are durable when
	// Update returns nil. If f returns an error, nothing is written and that very error is
	// returned; if f panics, nothing is written and the panic goes on to the caller. After an
	// error that IsCommit reports, the outcome is unknown: the caller must reopen.
	Update(f func(Tx) error) error
	// Close waits for open transactions and releases the store. Closing again does nothing.
	Close() error
}

// Tx is one transaction. A use after its end panics, and so does a Put or Delete in a table that
// Ascend or Descend walks at that moment. Keys are never empty, at most MaxKey long, and
// ordered bytewise. A value may be empty. Neither keys nor values that a Tx hands out may be
// changed, nor kept after the transaction; keys and values given to Put must not be changed until
// it ends.
type Tx interface {
	// Get returns the value of key, or nil if there is none. An empty value is not nil.
	Get(t Table, key []byte) []byte
	// Put sets the value of key. A nil value is an empty one.
	Put(t Table, key, value []byte) error
	// Delete removes key; a missing key is no error.
	Delete(t Table, key []byte) error
	// Ascend calls f for each key in [from, to) in order until f returns false. A nil from starts at
	// the first key, a nil to ends after the last.
	Ascend(t Table, from, to []byte, f func(key, value []byte) bool)
	// Descend calls f for each key in [from, to) from the last one down until f returns false.
	Descend(t Table, from, to []byte, f func(key, value []byte) bool)
	// Last returns the greatest key and its value, or nil, nil of an empty table.
	Last(t Table) (key, value []byte)
}

// CommitError is an Update that failed at the commit itself: what was written may or may not be on
// the disk.
type CommitError struct{ Err error }

func (e *CommitError) Error() string { return "store: commit: " + e.Err.Error() }
func (e *CommitError) Unwrap() error { return e.Err }

// IsCommit says whether err leaves the outcome unknown.
func IsCommit(err error) bool {
	var c *CommitError
	return errors.As(err, &c)
}
