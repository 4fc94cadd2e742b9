package bolt

import (
	"context"
	"fmt"
	"io"
	"time"

	"go.etcd.io/bbolt"

	"tagd/internal/store"
)

// BackupRate is the rate of a backup in bytes a second unless another is asked for. Without a limit
// writers waited twelve times as long while one ran, at this rate two and a half times.
const BackupRate = 50 << 20

// Backup writes a copy of the store, as it is now, to w while others read and write, and returns its
// length. It writes at most bytesPerSecond (0: BackupRate). It fails when ctx ends or Close begins;
// what it then wrote is no store. Pages that are replaced meanwhile cannot be used again before it
// ends, so the file grows.
func (db *DB) Backup(ctx context.Context, w io.Writer, bytesPerSecond int64) (n int64, err error) {
	if bytesPerSecond <= 0 {
		bytesPerSecond = BackupRate
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	defer context.AfterFunc(db.closing, func() { cancel(store.ErrClosed) })()
	b, err := db.file.Begin(false)
	if err != nil {
		return 0, beginError(err)
	}
	defer b.Rollback()
	n, err = b.WriteTo(&throttle{w: w, ctx: ctx, rate: bytesPerSecond, start: time.Now()})
	if err != nil {
		if ctx.Err() != nil {
			err = context.Cause(ctx) // bbolt keeps only the text of an error
		}
		return n, fmt.Errorf("store: backup: %w", err)
	}
	return n, nil
}

// throttle passes on what is written to it at no more than a rate.
type throttle struct {
	w     io.Writer
	ctx   context.Context
	rate  int64 // bytes a second
	start time.Time
	n     int64
}

func (t *throttle) Write(p []byte) (int, error) {
	due := t.start.Add(time.Duration(float64(t.n) / float64(t.rate) * float64(time.Second)))
	if wait := time.Until(due); wait > 0 {
		select {
		case <-time.After(wait):
		case <-t.ctx.Done():
		}
	}
	if t.ctx.Err() != nil {
		return 0, context.Cause(t.ctx)
	}
	n, err := t.w.Write(p)
	t.n += int64(n)
	return n, err
}

// CheckFile reads every page of the file at path and returns what is inconsistent in it: pages lost
// or used twice, keys out of order. Values that were altered it cannot see, for bbolt keeps no
// checksums of them. The file must not be open for writing; check a copy.
//
// On a damaged file bbolt can come to use memory that is not there, in a goroutine of its own, which
// ends the process: run CheckFile in a child process.
func CheckFile(path string) error {
	file, err := open(path, &bbolt.Options{ReadOnly: true, Timeout: 1, FreelistType: bbolt.FreelistMapType, PreLoadFreelist: true}, checkPages)
	if err != nil {
		return err
	}
	return file.Close()
}

// maxFaults is how many inconsistencies are listed; one bad page can cause thousands.
const maxFaults = 20

func checkPages(file *bbolt.DB) error {
	return file.View(func(tx *bbolt.Tx) error {
		var faults []error
		n := 0
		for err := range tx.Check() {
			if n++; n <= maxFaults {
				faults = append(faults, err)
			}
		}
		if n > 0 {
			return fmt.Errorf("%w: %d faults: %v", ErrDamaged, n, faults)
		}
		return nil
	})
}
