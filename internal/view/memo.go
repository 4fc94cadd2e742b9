package view

import (
	"cmp"
	"maps"
	"slices"

	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// memo keeps the last few rows of a table, decoded. Rows share their slices with whoever reads them,
// so a slice is cloned before it is changed in place.
type memo[K comparable, T any] struct {
	rows []memoRow[K, T]
	next int
	all  map[K]*memoRow[K, T] // not nil: all rows that were read or written
}

type memoRow[K comparable, T any] struct {
	key   K
	value T
	ok    bool
	put   bool // written here, and nowhere else yet
}

// memoRows is how many rows a memo keeps: more than one scan touches.
const memoRows = 16

func (m *memo[K, T]) find(k K) *memoRow[K, T] {
	if m.all != nil {
		return m.all[k]
	}
	for i := range m.rows {
		if m.rows[i].key == k {
			return &m.rows[i]
		}
	}
	return nil
}

func (m *memo[K, T]) set(k K, v T, ok bool) {
	if old := m.find(k); old != nil {
		old.value, old.ok = v, ok
		return
	}
	if m.all != nil {
		m.all[k] = &memoRow[K, T]{key: k, value: v, ok: ok}
		return
	}
	row := memoRow[K, T]{key: k, value: v, ok: ok}
	if m.rows == nil {
		m.rows = append(make([]memoRow[K, T], 0, 2), row)
	} else if len(m.rows) < memoRows {
		m.rows = append(m.rows, row)
	} else {
		m.rows[m.next] = row
		m.next = (m.next + 1) % memoRows
	}
}

// remembered reads a row through its memo.
func remembered[K comparable, T any](p *Past, m *memo[K, T], t store.Table, k K, key func(K) []byte) (T, bool) {
	if row := m.find(k); row != nil {
		return row.value, row.ok
	}
	var v T
	ok := p.get(t, key(k), &v)
	m.set(k, v, ok)
	return v, ok
}

// write writes a row, or where a memo keeps all, only there.
func write[K comparable, T any](a *apply, m *memo[K, T], t store.Table, k K, key func(K) []byte, v T) {
	m.set(k, v, true)
	if m.all != nil {
		m.all[k].put = true
		return
	}
	a.put(t, key(k), v)
}

// keepAll keeps the rows that events change again and again as they are, and writes them nowhere until flush.
// Those of stations are written all the same: Apply looks for them in the table.
func (p *Past) keepAll() {
	p.bundles.all = map[tags.Number]*memoRow[tags.Number, scan.Bundle]{}
	p.lots.all = map[tags.Number]*memoRow[tags.Number, heat.Lot]{}
	p.runs.all = map[uint64]*memoRow[uint64, scan.Run]{}
	p.loads.all = map[tags.Number]*memoRow[tags.Number, load.Load]{}
	p.devices.all = map[string]*memoRow[string, scan.Device]{}
	p.floors.all = map[string]*memoRow[string, scan.Floor]{}
}

// flush writes what keepAll kept.
func (p *Past) flush() error {
	a := &apply{Past: p}
	flush(a, p.bundles, tBundle, numKey)
	flush(a, p.lots, tLot, numKey)
	flush(a, p.runs, tRun, seqKey)
	flush(a, p.loads, tLoad, numKey)
	flush(a, p.devices, tFloor, deviceKey)
	return a.err
}

func flush[K cmp.Ordered, T any](a *apply, m memo[K, T], t store.Table, key func(K) []byte) {
	for _, k := range slices.Sorted(maps.Keys(m.all)) {
		if row := m.all[k]; row.put {
			a.put(t, key(k), row.value)
		}
	}
}
