package view

import "tagd/internal/store"

// memo keeps the last few rows of a table, decoded. Rows share their slices with whoever reads them,
// so a slice is cloned before it is changed in place.
type memo[K comparable, T any] struct {
	rows []memoRow[K, T]
	next int
	all  map[K]*memoRow[K, T] // not nil: all rows there are, which stand nowhere else
}

type memoRow[K comparable, T any] struct {
	key   K
	value T
	ok    bool
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
		m.all[k] = &memoRow[K, T]{k, v, ok}
		return
	}
	row := memoRow[K, T]{k, v, ok}
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
func remembered[K comparable, T any](p *Past, m *memo[K, T], t store.Table, k K, key []byte) (T, bool) {
	if row := m.find(k); row != nil {
		return row.value, row.ok
	}
	var v T
	ok := p.get(t, key, &v)
	m.set(k, v, ok)
	return v, ok
}
