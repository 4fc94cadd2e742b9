// Package mem is a store in memory, for tests. Beside keeping what it is given it polices the
// contract of package store: code that would do harm on a memory-mapped file only now and then
// fails here every time, by a panic that names what was broken:
//
//   - a transaction begun inside another of the same goroutine,
//   - a transaction used after its end,
//   - a table written while it is walked,
//   - a key or value changed that was handed out, or that was given to Put.
//
// What a transaction hands out are copies that are overwritten when it ends, so that whatever kept
// them reads garbage.
package mem

import (
	"bytes"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"

	"tagd/internal/store"
)

// DB is a store in memory.
type DB struct {
	open   sync.RWMutex // held shared by each transaction, alone by Close
	writer sync.Mutex   // held by Update

	mu     sync.Mutex // guards the rest
	tables map[store.Table]rows
	inside map[string]bool // goroutines with an open transaction
	closed bool
}

// rows are the sorted rows of a table. A snapshot shares them, so they are copied before a write.
type rows []row

type row struct{ key, value []byte }

func (r rows) find(key []byte) (int, bool) {
	return slices.BinarySearchFunc(r, key, func(r row, key []byte) int { return bytes.Compare(r.key, key) })
}

// Open returns an empty store with the given tables.
func Open(tables ...store.Table) *DB {
	d := &DB{tables: make(map[store.Table]rows), inside: make(map[string]bool)}
	for _, t := range tables {
		d.tables[t] = nil
	}
	return d
}

// Reopen returns a store with the contents of d, as opening the file of a closed store again would.
func (d *DB) Reopen() *DB {
	d.mu.Lock()
	defer d.mu.Unlock()
	return &DB{tables: maps.Clone(d.tables), inside: make(map[string]bool)}
}

// View implements store.DB.
func (d *DB) View(f func(store.Tx) error) error {
	t, err := d.begin(false)
	if err != nil {
		return err
	}
	defer t.release()
	if err = f(t); err == nil {
		t.verify()
	}
	return err
}

// Update implements store.DB.
func (d *DB) Update(f func(store.Tx) error) error {
	t, err := d.begin(true)
	if err != nil {
		return err
	}
	defer t.release()
	if err := f(t); err != nil {
		return err
	}
	t.verify()
	d.mu.Lock()
	d.tables = t.tables
	d.mu.Unlock()
	return nil
}

// Close implements store.DB.
func (d *DB) Close() error {
	d.mu.Lock()
	nested := d.inside[goroutine()]
	d.mu.Unlock()
	if nested {
		panic("store/mem: closed inside a transaction")
	}
	d.open.Lock()
	defer d.open.Unlock()
	d.mu.Lock()
	defer d.mu.Unlock()
	d.closed = true
	return nil
}

func (d *DB) begin(write bool) (*tx, error) {
	g := goroutine()
	d.mu.Lock()
	nested := d.inside[g]
	d.mu.Unlock()
	if nested {
		panic("store/mem: a transaction begun inside another")
	}
	d.open.RLock()
	if write {
		d.writer.Lock()
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	t := &tx{db: d, write: write, goroutine: g, copied: make(map[store.Table]bool), walks: make(map[store.Table]int)}
	if d.closed {
		t.unlock()
		return nil, store.ErrClosed
	}
	d.inside[g] = true
	t.tables = d.tables
	if write {
		t.tables = maps.Clone(d.tables)
	}
	return t, nil
}

// goroutine names the running goroutine by the number that its stack trace begins with.
func goroutine() string {
	b := make([]byte, 40)
	return strings.Fields(string(b[:runtime.Stack(b, false)]))[1]
}

type tx struct {
	db        *DB
	write     bool
	goroutine string
	tables    map[store.Table]rows
	copied    map[store.Table]bool // tables whose rows are this transaction's own
	walks     map[store.Table]int  // running Ascend and Descend
	lent      []loan
	ended     bool
}

// loan is a slice that somebody else can write, and what it must hold at the end.
type loan struct {
	table  store.Table
	slice  []byte
	want   []byte
	handed bool // out of the store, rather than given to Put
}

func (t *tx) unlock() {
	if t.write {
		t.db.writer.Unlock()
	}
	t.db.open.RUnlock()
}

// release ends the transaction, however it went.
func (t *tx) release() {
	t.ended = true
	for _, l := range t.lent {
		if l.handed {
			for i := range l.slice {
				l.slice[i] = 0xDB
			}
		}
	}
	t.db.mu.Lock()
	delete(t.db.inside, t.goroutine)
	t.db.mu.Unlock()
	t.unlock()
}

// verify panics if a slice was changed that must not be.
func (t *tx) verify() {
	for _, l := range t.lent {
		if !bytes.Equal(l.slice, l.want) {
			by := "given to Put"
			if l.handed {
				by = "handed out"
			}
			panic(fmt.Sprintf("store/mem: a key or value of table %q, %s, was changed from %x to %x", l.table, by, l.want, l.slice))
		}
	}
}

// lend returns a copy of b to hand out.
func (t *tx) lend(table store.Table, b []byte) []byte {
	c := append([]byte{}, b...)
	t.lent = append(t.lent, loan{table, c, b, true})
	return c
}

// borrow returns a copy of b, which was given to Put, to keep.
func (t *tx) borrow(table store.Table, b []byte) []byte {
	c := append([]byte{}, b...)
	t.lent = append(t.lent, loan{table, b, c, false})
	return c
}

func (t *tx) rows(table store.Table) rows {
	t.alive()
	r, ok := t.tables[table]
	if !ok {
		panic(fmt.Errorf("%w: %q", store.ErrNoTable, table))
	}
	return r
}

func (t *tx) alive() {
	if t.ended {
		panic("store/mem: a transaction used after its end")
	}
}

func (t *tx) Get(table store.Table, key []byte) []byte {
	r := t.rows(table)
	i, ok := r.find(key)
	if !ok {
		return nil
	}
	return t.lend(table, r[i].value)
}

// writable returns the rows of table for a change.
func (t *tx) writable(table store.Table) (rows, error) {
	t.alive()
	if !t.write {
		return nil, store.ErrReadOnly
	}
	r, ok := t.tables[table]
	if !ok {
		return nil, fmt.Errorf("%w: %q", store.ErrNoTable, table)
	}
	if t.walks[table] > 0 {
		panic(fmt.Sprintf("store/mem: table %q written while it is walked", table))
	}
	if !t.copied[table] {
		r = slices.Clone(r)
		t.copied[table] = true
	}
	return r, nil
}

func (t *tx) Put(table store.Table, key, value []byte) error {
	r, err := t.writable(table)
	if err != nil {
		return err
	}
	if len(key) == 0 || len(key) > store.MaxKey {
		return store.ErrKey
	}
	n := row{t.borrow(table, key), t.borrow(table, value)}
	if i, ok := r.find(key); ok {
		r[i] = n
	} else {
		r = slices.Insert(r, i, n)
	}
	t.tables[table] = r
	return nil
}

func (t *tx) Delete(table store.Table, key []byte) error {
	r, err := t.writable(table)
	if err != nil {
		return err
	}
	if i, ok := r.find(key); ok {
		r = slices.Delete(r, i, i+1)
	}
	t.tables[table] = r
	return nil
}

// between returns the rows of table in [from, to).
func (t *tx) between(table store.Table, from, to []byte) rows {
	r := t.rows(table)
	if to != nil {
		i, _ := r.find(to)
		r = r[:i]
	}
	if from != nil {
		i, _ := r.find(from)
		r = r[i:]
	}
	return r
}

func (t *tx) walk(table store.Table, r rows, i, step int, f func(key, value []byte) bool) {
	t.walks[table]++
	defer func() { t.walks[table]-- }()
	for ; i >= 0 && i < len(r); i += step {
		if !f(t.lend(table, r[i].key), t.lend(table, r[i].value)) {
			return
		}
	}
}

func (t *tx) Ascend(table store.Table, from, to []byte, f func(key, value []byte) bool) {
	t.walk(table, t.between(table, from, to), 0, 1, f)
}

func (t *tx) Descend(table store.Table, from, to []byte, f func(key, value []byte) bool) {
	r := t.between(table, from, to)
	t.walk(table, r, len(r)-1, -1, f)
}

func (t *tx) Last(table store.Table) (key, value []byte) {
	r := t.rows(table)
	if len(r) == 0 {
		return nil, nil
	}
	last := r[len(r)-1]
	return t.lend(table, last.key), t.lend(table, last.value)
}
