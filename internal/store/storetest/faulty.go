package storetest

import (
	"errors"
	"sync/atomic"

	"tagd/internal/store"
)

// Faulty is a store whose commits fail when Fault says so. After one that did, Update fails with
// store.ErrFailed; a new Faulty around the reopened store stands for reopening it.
type Faulty struct {
	store.DB
	// Fault is asked at each commit: does it fail, and if so, do its writes reach the disk all the
	// same? The caller sees the same *store.CommitError in both cases. Nil never fails.
	Fault func() (fail, keep bool)

	failed atomic.Bool
}

// ErrFault is what the CommitError of a Faulty wraps.
var ErrFault = errors.New("storetest: the disk failed")

// Update implements store.DB.
func (d *Faulty) Update(f func(store.Tx) error) error {
	if d.failed.Load() {
		return store.ErrFailed
	}
	var fail bool
	err := d.DB.Update(func(tx store.Tx) error {
		if err := f(tx); err != nil || d.Fault == nil {
			return err
		}
		var keep bool
		if fail, keep = d.Fault(); fail && !keep {
			return ErrFault
		}
		return nil
	})
	if fail {
		d.failed.Store(true)
		return &store.CommitError{Err: ErrFault}
	}
	return err
}
