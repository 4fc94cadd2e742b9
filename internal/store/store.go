// Package store is the seam to the disk: a file of tables, each an ordered set of keys with values.
//
// It knows nothing of what is kept. bolt/ keeps it in one bbolt file, mem/ in memory for tests;
// storetest/ is the suite that every implementation passes, and holds the fault double.
package store

import "errors"

// Table names one ordered key space. Tables are declared once, when the store is opened.
type Table string

// Errors that callers tell apart.
var (
	// ErrNoTable is a use of a table that the store was not opened with.
	ErrNoTable = errors.New("store: no such table")
	// ErrReadOnly is a write in a View.
	ErrReadOnly = errors.New("store: write in a read transaction")
	// ErrClosed is a use after Close.
	ErrClosed = errors.New("store: closed")
)

// DB is a store. View may be called from many goroutines at once; Update has one caller at a time
// and never runs inside a View of the same goroutine.
type DB interface {
	// View runs f on a consistent snapshot. Slices that it hands out are valid only inside f.
	View(f func(Tx) error) error
	// Update runs f once. If f returns nil and the commit succeeds, the writes are durable when
	// Update returns nil. If f returns an error, nothing is written and that error is returned.
	// After an error that IsCommit reports, the outcome is unknown: the caller must reopen.
	Update(f func(Tx) error) error
	// Close waits for open transactions and releases the store.
	Close() error
}

// Tx is one transaction. Keys are never empty, at most 32 KiB, and ordered bytewise. A value may be
// empty. Neither keys nor values that a Tx hands out may be changed, nor kept after the transaction;
// keys and values given to Put must not be changed until it ends.
type Tx interface {
	// Get returns the value of key, or nil if there is none. An empty value is not nil.
	Get(t Table, key []byte) []byte
	// Put sets the value of key.
	Put(t Table, key, value []byte) error
	// Delete removes key; a missing key is no error.
	Delete(t Table, key []byte) error
	// Ascend calls f for each key in [from, to) in order until f returns false. A nil from starts at
	// the first key, a nil to ends after the last. The table must not be written meanwhile.
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
