package view

import (
	"bytes"
	"maps"
	"slices"
	"sort"

	"tagd/internal/journal"
	"tagd/internal/store"
)

// part is a small store in memory: views of some things as of a past moment, over the journal of another
// transaction up to that moment. It has no durability and no snapshot, and serves one question.
type part struct {
	over store.Tx // its journal is read
	upto uint64   // sequence of the newest record that there is
	rows map[store.Table]*sorted
}

// sorted are rows by key. The keys are sorted when they are first walked after a change.
type sorted struct {
	values map[string][]byte
	keys   []string
	clean  bool
}

func newPart(over store.Tx, upto uint64) *part {
	return &part{over: over, upto: upto, rows: map[store.Table]*sorted{}}
}

func (p *part) table(t store.Table) *sorted {
	s := p.rows[t]
	if s == nil {
		s = &sorted{values: map[string][]byte{}}
		p.rows[t] = s
	}
	return s
}

// Get implements store.Tx.
func (p *part) Get(t store.Table, key []byte) []byte {
	if t == journal.Records {
		if len(key) != 8 || seq8(key) > p.upto {
			return nil
		}
		return p.over.Get(t, key)
	}
	return p.table(t).values[string(key)]
}

// Put implements store.Tx.
func (p *part) Put(t store.Table, key, value []byte) error {
	switch {
	case t == journal.Records:
		return store.ErrReadOnly
	case len(key) == 0 || len(key) > store.MaxKey:
		return store.ErrKey
	case value == nil:
		value = []byte{}
	}
	s := p.table(t)
	if _, ok := s.values[string(key)]; !ok {
		s.clean = false
	}
	s.values[string(key)] = value
	return nil
}

// Delete implements store.Tx.
func (p *part) Delete(t store.Table, key []byte) error {
	if t == journal.Records {
		return store.ErrReadOnly
	}
	s := p.table(t)
	if _, ok := s.values[string(key)]; ok {
		delete(s.values, string(key))
		s.clean = false
	}
	return nil
}

// Ascend implements store.Tx.
func (p *part) Ascend(t store.Table, from, to []byte, f func(key, value []byte) bool) {
	if t == journal.Records {
		p.over.Ascend(t, from, p.until(to), f)
		return
	}
	s := p.table(t)
	for _, k := range s.between(from, to) {
		if !f([]byte(k), s.values[k]) {
			return
		}
	}
}

// Descend implements store.Tx.
func (p *part) Descend(t store.Table, from, to []byte, f func(key, value []byte) bool) {
	if t == journal.Records {
		p.over.Descend(t, from, p.until(to), f)
		return
	}
	s := p.table(t)
	for _, k := range slices.Backward(s.between(from, to)) {
		if !f([]byte(k), s.values[k]) {
			return
		}
	}
}

// until is where records end for whoever asks for those before a key, nil for all.
func (p *part) until(to []byte) []byte {
	if end := seqKey(p.upto + 1); to == nil || bytes.Compare(to, end) > 0 {
		return end
	}
	return to
}

// Last implements store.Tx.
func (p *part) Last(t store.Table) (key, value []byte) {
	if t == journal.Records {
		key = seqKey(p.upto)
		return key, p.over.Get(t, key)
	}
	p.Descend(t, nil, nil, func(k, v []byte) bool { key, value = k, v; return false })
	return key, value
}

// between are the keys from one on, up to another.
func (s *sorted) between(from, to []byte) []string {
	if !s.clean {
		s.keys, s.clean = slices.Sorted(maps.Keys(s.values)), true
	}
	begin, end := 0, len(s.keys)
	if from != nil {
		begin = sort.SearchStrings(s.keys, string(from))
	}
	if to != nil {
		end = sort.SearchStrings(s.keys, string(to))
	}
	return s.keys[begin:max(begin, end)]
}
