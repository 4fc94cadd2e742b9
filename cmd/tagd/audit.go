package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/google/uuid"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/view"
)

// maxShown is how many findings are listed; one slip in a fold can touch every row.
const maxShown = 20

// audit compares a store with its own record.
type audit struct {
	s     streams
	certs string // folder

	records, rows, papers, found int
}

// finding lists one thing that is not as it should be.
func (a *audit) finding(format string, args ...any) {
	if a.found++; a.found <= maxShown {
		fmt.Fprintf(a.s.out, format+"\n", args...)
	}
}

func (a *audit) result() error {
	if a.found > 0 {
		fmt.Fprintf(a.s.out, "not sound: %s\n", counted(a.found, "finding"))
		return errSaid
	}
	_, err := fmt.Fprintf(a.s.out, "sound: %d records, %d rows of views, %d certs\n", a.records, a.rows, a.papers)
	return err
}

// views folds the record of db, which is sound, into a second store at the path aside, and compares.
func (a *audit) views(ctx context.Context, db store.DB, aside string) error {
	opened, err := recordZero(db)
	if err != nil {
		return err
	}
	// A copy that is thrown away needs no syncs.
	folded, err := bolt.Open(aside, floor.Tables(), bolt.Options{NoSync: true, FillPercent: floor.FillPercent})
	if err != nil {
		return err
	}
	defer folded.Close()
	err = view.Rebuild(db, folded, view.New(opened.Plant), progress(a.s, "folding the record anew"))
	if err != nil {
		return err
	}
	if other, err := otherVersion(db, folded); err != nil || other {
		if other {
			a.finding("the views are of another version than this program keeps; the server folds them anew at its start, as check --rebuild does")
		}
		return err
	}
	for _, t := range view.Tables {
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := a.compare(db, folded, t); err != nil {
			return err
		}
	}
	return nil
}

// otherVersion says whether the views of two stores are of different forms.
func otherVersion(a, b store.DB) (bool, error) {
	var of [2][]byte
	for i, db := range []store.DB{a, b} {
		if err := db.View(func(tx store.Tx) error {
			of[i] = bytes.Clone(tx.Get("meta", []byte("version")))
			return nil
		}); err != nil {
			return false, err
		}
	}
	return !bytes.Equal(of[0], of[1]), nil
}

// page is how many records are read in one transaction.
const page = 10_000

// record reads every event: no gap, times that never fall, keys remembered, certs there.
func (a *audit) record(ctx context.Context, db store.DB) error {
	var last int64
	keyed, tell := 0, progress(a.s, "reading the record")
	read := func(tx store.Tx, seq uint64, raw []byte) {
		a.records++
		e, err := event.Decode(raw)
		if err != nil {
			a.finding("record %d cannot be read: %v", seq, err)
			return
		}
		if err := event.Exact(raw); err != nil {
			a.finding("record %d is changed: %v", seq, err)
		}
		if e.Recorded < last {
			a.finding("record %d was recorded before the one in front of it", seq)
		}
		last = e.Recorded
		if len(e.Key) > 0 {
			keyed++
			if !remembered(tx, e, seq) {
				a.finding("record %d: its request is not remembered, so it could be taken twice", seq)
			}
		}
		switch b := e.Body.(type) {
		case event.CertFiled:
			a.paper(seq, b.SHA256)
		case event.LoadWeighed:
			a.paper(seq, b.SHA256)
		case event.LoadDelivered:
			a.paper(seq, b.SHA256)
		}
	}
	for after, more := uint64(0), true; more; {
		err := db.View(func(tx store.Tx) error {
			if after == 0 {
				raw := journal.Get(tx, 0)
				if raw == nil {
					return errNoRecord
				}
				read(tx, 0, raw)
			}
			n := 0
			err := journal.Scan(tx, after, page, func(seq uint64, raw []byte) bool {
				read(tx, seq, raw)
				after, n = seq, n+1
				return true
			})
			more = n == page
			tell(after, journal.Head(tx))
			return err
		})
		if err != nil {
			a.finding("%v", err)
			return nil
		}
		if err := ctx.Err(); err != nil {
			return err
		}
	}
	return db.View(func(tx store.Tx) error {
		n := 0
		tx.Ascend(journal.Keys, nil, nil, func(_, _ []byte) bool { n++; return true })
		if n != keyed {
			a.finding("%d requests are remembered, the record has %d", n, keyed)
		}
		return nil
	})
}

// remembered says whether the request that wrote e at seq is known by its key.
func remembered(tx store.Tx, e event.Event, seq uint64) bool {
	keys := []string{string(e.Key)}
	if u, err := uuid.FromBytes(e.Key); err == nil {
		keys = append(keys, u.String()) // the record has a UUID as its bytes
	}
	for _, k := range keys {
		if op, ok, err := journal.Recall(tx, e.Device, k); err == nil && ok && op.First == seq {
			return true
		}
	}
	return false
}

// paper looks for the file of a cert, a scale ticket or a signed sheet.
func (a *audit) paper(seq uint64, sum []byte) {
	if len(sum) == 0 {
		return // a record without paper
	}
	a.papers++
	name := filepath.Join(a.certs, hex.EncodeToString(sum))
	f, err := os.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		a.finding("record %d: the paper %s is missing", seq, name)
		return
	}
	if err != nil {
		a.finding("record %d: %v", seq, err)
		return
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		a.finding("record %d: %v", seq, err)
	} else if !bytes.Equal(h.Sum(nil), sum) {
		a.finding("record %d: the paper %s was altered", seq, name)
	}
}

// row is one row of a view.
type row struct{ key, value []byte }

// compare walks one table of both stores side by side, a page of rows at a time.
func (a *audit) compare(kept, folded store.DB, t store.Table) error {
	k, f := &walk{db: kept, t: t}, &walk{db: folded, t: t}
	for {
		x, err := k.peek()
		if err != nil {
			return err
		}
		y, err := f.peek()
		if err != nil {
			return err
		}
		order := 0
		switch {
		case x == nil && y == nil:
			return nil
		case x == nil:
			order = 1
		case y == nil:
			order = -1
		default:
			order = bytes.Compare(x.key, y.key)
		}
		switch {
		case order < 0:
			a.finding("view %s: row %x should not be there", t, x.key)
		case order > 0:
			a.finding("view %s: row %x is missing", t, y.key)
		case !bytes.Equal(x.value, y.value):
			a.finding("view %s: row %x is %x, the record makes it %x", t, x.key, x.value, y.value)
		}
		if order <= 0 {
			k.drop()
			a.rows++
		}
		if order >= 0 {
			f.drop()
		}
	}
}

// walk goes through a table, a page of rows in each transaction.
type walk struct {
	db   store.DB
	t    store.Table
	rows []row
	next []byte
	end  bool
}

func (w *walk) drop() { w.rows = w.rows[1:] }

// peek gives the next row, nil at the end.
func (w *walk) peek() (*row, error) {
	if len(w.rows) == 0 && !w.end {
		err := w.db.View(func(tx store.Tx) error {
			tx.Ascend(w.t, w.next, nil, func(k, v []byte) bool {
				w.rows = append(w.rows, row{bytes.Clone(k), bytes.Clone(v)})
				return len(w.rows) < page
			})
			return nil
		})
		if err != nil {
			return nil, err
		}
		if w.end = len(w.rows) < page; !w.end {
			w.next = append(bytes.Clone(w.rows[page-1].key), 0)
		}
	}
	if len(w.rows) == 0 {
		return nil, nil
	}
	return &w.rows[0], nil
}
