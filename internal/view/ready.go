package view

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/store"
)

// Empty says whether the store has no record yet.
func (p *Past) Empty() bool { return journal.Get(p.tx, 0) == nil }

// Opened is record 0 with the store's present UUID.
func (p *Past) Opened() (event.StoreOpened, error) {
	var o event.StoreOpened
	if p.get(tMeta, []byte("store"), &o) {
		return o, nil
	}
	o, ok := p.Event(0).Body.(event.StoreOpened)
	if !ok {
		return o, fmt.Errorf("view: record 0 does not open a store")
	}
	return o, nil
}

// SettingsHash is the SHA-256 of the settings last recorded.
func (p *Past) SettingsHash() []byte {
	return append([]byte(nil), p.tx.Get(tMeta, []byte("settings"))...)
}

// Stamp marks the views as of this Version.
func Stamp(tx store.Tx) error {
	return tx.Put(tMeta, []byte("version"), binary.BigEndian.AppendUint16(nil, Version))
}

// batch is how many records are folded in one transaction.
const batch = 10_000

// cleared is how many rows are taken out in one: each commit writes the list of free pages, which grows long.
const cleared = 100_000

// Ready makes the views those of this Version: where the store has others, they are thrown away and
// the journal is folded anew, batch by batch, progress being told after each. A fold that was cut
// short begins anew.
func Ready(db store.DB, v *Views, progress func(done, all uint64)) error {
	var have []byte
	if err := db.View(func(tx store.Tx) error {
		have = append(have, tx.Get(tMeta, []byte("version"))...)
		return nil
	}); err != nil {
		return err
	}
	if len(have) == 2 && binary.BigEndian.Uint16(have) == Version {
		return nil
	}
	return Rebuild(db, db, v, progress)
}

// Rebuild clears the views of to and folds the journal of from into them. The two may be one store;
// when they are not, the journal is copied along, since views refer to it.
func Rebuild(from, to store.DB, v *Views, progress func(done, all uint64)) error {
	for _, t := range Tables {
		for more := true; more; {
			if err := to.Update(func(tx store.Tx) error {
				var keys [][]byte
				tx.Ascend(t, nil, nil, func(k, _ []byte) bool {
					keys = append(keys, append([]byte(nil), k...))
					return len(keys) < cleared
				})
				more = len(keys) == cleared
				for _, k := range keys {
					if err := tx.Delete(t, k); err != nil {
						return err
					}
				}
				return nil
			}); err != nil {
				return err
			}
		}
	}
	return fold(from, to, v, progress)
}

// record is an event read for folding.
type record struct {
	seq uint64
	raw []byte // of a copy only
	e   event.Event
}

// page is some records in order, and the newest one that there was when they were read.
type page struct {
	records []record
	head    uint64
	err     error
}

// fold applies the journal of from to the views of to. One goroutine reads and decodes the next page
// while this one applies the last.
func fold(from, to store.DB, v *Views, progress func(done, all uint64)) error {
	pages, stop := make(chan page, 1), make(chan struct{})
	defer close(stop)
	go func() {
		defer close(pages)
		for next := uint64(0); ; {
			pg := read(from, next, from != to)
			if pg.err == nil && len(pg.records) == 0 {
				return
			}
			select {
			case pages <- pg:
			case <-stop:
				return
			}
			if pg.err != nil {
				return
			}
			if next = pg.records[len(pg.records)-1].seq + 1; next > pg.head {
				return
			}
		}
	}()
	for pg := range pages {
		if pg.err != nil {
			return pg.err
		}
		next := pg.records[len(pg.records)-1].seq + 1
		err := to.Update(func(tx store.Tx) error {
			p := v.At(tx)
			p.keepAll()
			a := &apply{Past: p}
			for _, r := range pg.records {
				if r.raw != nil {
					if err := tx.Put(journal.Records, seqKey(r.seq), r.raw); err != nil {
						return err
					}
				}
				if err := a.one(r.seq, r.e); err != nil {
					return err
				}
			}
			if err := p.flush(); err != nil {
				return err
			}
			if next > pg.head {
				return Stamp(tx)
			}
			return nil
		})
		if err != nil {
			return err
		}
		if progress != nil {
			progress(next, pg.head+1)
		}
	}
	return nil
}

// read reads a page of the journal from a sequence on.
func read(db store.DB, from uint64, keep bool) (pg page) {
	pg.records = make([]record, 0, batch)
	err := db.View(func(tx store.Tx) error {
		pg.head = journal.Head(tx)
		one := func(seq uint64, raw []byte) bool {
			r := record{seq: seq}
			if r.e, pg.err = event.Decode(raw); pg.err != nil {
				pg.err = fmt.Errorf("view: record %d: %w", seq, pg.err)
				return false
			}
			if keep {
				r.raw = bytes.Clone(raw)
			}
			pg.records = append(pg.records, r)
			return true
		}
		after := from - 1
		if from == 0 {
			if raw := journal.Get(tx, 0); raw != nil && !one(0, raw) {
				return pg.err
			}
			after = 0
		}
		if err := journal.Scan(tx, after, batch, one); err != nil {
			return err
		}
		return pg.err
	})
	pg.err = err
	return pg
}
