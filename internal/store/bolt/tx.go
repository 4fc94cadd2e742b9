package bolt

import (
	"bytes"
	"fmt"

	"go.etcd.io/bbolt"

	"tagd/internal/store"
)

// tx is a transaction. Buckets are looked up once each; nil buckets mean that it has ended.
type tx struct {
	db      *DB
	bolt    *bbolt.Tx
	buckets []bucket
}

// bucket is a table in one transaction. Its cursor serves every Get, which so allocates nothing.
type bucket struct {
	*bbolt.Bucket
	cursor  *bbolt.Cursor
	walks   int  // running Ascend and Descend
	deleted bool // by this transaction
}

func (db *DB) tx(b *bbolt.Tx) *tx {
	return &tx{db: db, bolt: b, buckets: make([]bucket, len(db.tables))}
}

// table returns the bucket of t, or nil if the store was not opened with t.
func (t *tx) table(name store.Table) *bucket {
	if t.buckets == nil {
		panic("store/bolt: a transaction used after its end")
	}
	at, ok := t.db.tables[name]
	if !ok {
		return nil
	}
	b := &t.buckets[at.index]
	if b.Bucket == nil {
		b.Bucket = t.bolt.Bucket([]byte(name))
		b.FillPercent = at.fill
		b.cursor = b.Cursor()
	}
	return b
}

// read is table for the methods that have no error to return.
func (t *tx) read(name store.Table) *bucket {
	b := t.table(name)
	if b == nil {
		panic(fmt.Errorf("%w: %q", store.ErrNoTable, name))
	}
	return b
}

// write is table for the methods that change it.
func (t *tx) write(name store.Table) (*bucket, error) {
	b := t.table(name)
	switch {
	case !t.bolt.Writable():
		return nil, store.ErrReadOnly
	case b == nil:
		return nil, fmt.Errorf("%w: %q", store.ErrNoTable, name)
	case b.walks > 0:
		panic(fmt.Sprintf("store/bolt: table %q written while it is walked", name))
	}
	return b, nil
}

func (t *tx) Get(name store.Table, key []byte) []byte {
	b := t.read(name)
	k, v := b.cursor.Seek(key)
	if k == nil || !bytes.Equal(k, key) {
		return nil
	}
	return v
}

func (t *tx) Put(name store.Table, key, value []byte) error {
	b, err := t.write(name)
	if err != nil {
		return err
	}
	if len(key) == 0 || len(key) > store.MaxKey {
		return store.ErrKey
	}
	if value == nil {
		value = []byte{} // or Get in this transaction would take it for none
	}
	if err := b.Put(key, value); err != nil {
		return fmt.Errorf("store: put in table %q: %w", name, err)
	}
	return nil
}

func (t *tx) Delete(name store.Table, key []byte) error {
	b, err := t.write(name)
	if err != nil {
		return err
	}
	b.deleted = true
	if err := b.Delete(key); err != nil {
		return fmt.Errorf("store: delete in table %q: %w", name, err)
	}
	return nil
}

func (t *tx) Ascend(name store.Table, from, to []byte, f func(key, value []byte) bool) {
	b := t.read(name)
	b.walks++
	defer func() { b.walks-- }()
	c := b.Cursor()
	k, v := c.Seek(from)
	for ; k != nil && (to == nil || bytes.Compare(k, to) < 0); k, v = c.Next() {
		if !f(k, v) {
			return
		}
	}
}

// Descend finds the first key of the range before it starts from the last: Prev of bbolt 1.5 answers
// nil not only at the beginning but also on a page that Delete has emptied in this transaction, so
// that only the first key shows where to stop.
func (t *tx) Descend(name store.Table, from, to []byte, f func(key, value []byte) bool) {
	b := t.read(name)
	b.walks++
	defer func() { b.walks-- }()
	c := b.Cursor()
	first, _ := c.Seek(from)
	if first == nil || to != nil && bytes.Compare(first, to) >= 0 {
		return
	}
	var k, v []byte
	if to != nil {
		k, _ = c.Seek(to)
	}
	if k == nil {
		k, v = c.Last()
	} else {
		k, v = prev(c)
	}
	for f(k, v) && !bytes.Equal(k, first) {
		k, v = prev(c)
	}
}

// prev goes to the key before, which exists, over pages that are empty.
func prev(c *bbolt.Cursor) (k, v []byte) {
	for k == nil {
		k, v = c.Prev()
	}
	return k, v
}

// Last asks for the first key where keys were deleted: Last of bbolt 1.5 does not return from a
// bucket of which this transaction has deleted all of several pages.
func (t *tx) Last(name store.Table) (key, value []byte) {
	b := t.read(name)
	if b.deleted {
		if k, _ := b.cursor.First(); k == nil {
			return nil, nil
		}
	}
	return b.cursor.Last()
}
