package storetest

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/store"
)

// testSnapshot: a View sees the same before, while and after an Update commits beside it.
func testSnapshot(t *testing.T, db store.DB) {
	many(t, db, 500)
	opened, written := make(chan bool), make(chan error)
	go func() {
		<-opened
		written <- db.Update(func(tx store.Tx) error {
			for i := range 1000 {
				if err := tx.Put(one, []byte(number(i)), []byte("new")); err != nil {
					return err
				}
			}
			return tx.Delete(one, []byte(number(7)))
		})
	}()
	view(t, db, func(tx store.Tx) {
		before := pairs(tx.Ascend, one, nil, nil)
		require.Len(t, before, 500)
		v := tx.Get(one, []byte(number(7)))
		old := slices.Clone(v)
		opened <- true
		require.NoError(t, <-written)
		require.Equal(t, before, pairs(tx.Ascend, one, nil, nil))
		require.Equal(t, old, v)
		require.Equal(t, old, tx.Get(one, []byte(number(7))))
	})
	view(t, db, func(tx store.Tx) {
		require.Nil(t, tx.Get(one, []byte(number(7))))
		require.Len(t, pairs(tx.Ascend, one, nil, nil), 999)
	})
}

// testManyReaders moves one amount between two accounts while others read: the sum never changes,
// and no reader sees time go back.
func testManyReaders(t *testing.T, db store.DB) {
	set := func(tx store.Tx, moved uint64) error {
		if err := tx.Put(one, []byte("from"), binary.BigEndian.AppendUint64(nil, 1000-moved)); err != nil {
			return err
		}
		return tx.Put(two, []byte("to"), binary.BigEndian.AppendUint64(nil, moved))
	}
	update(t, db, func(tx store.Tx) { require.NoError(t, set(tx, 0)) })
	done := make(chan bool)
	var readers sync.WaitGroup
	for range 4 {
		readers.Go(func() {
			var seen uint64
			for {
				select {
				case <-done:
					return
				default:
				}
				err := db.View(func(tx store.Tx) error {
					from := binary.BigEndian.Uint64(tx.Get(one, []byte("from")))
					to := binary.BigEndian.Uint64(tx.Get(two, []byte("to")))
					if from+to != 1000 || to < seen {
						return fmt.Errorf("after %d: from %d, to %d", seen, from, to)
					}
					seen = to
					return nil
				})
				if err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	for moved := range uint64(200) {
		update(t, db, func(tx store.Tx) { require.NoError(t, set(tx, moved)) })
	}
	close(done)
	readers.Wait()
}

// model is the naive store that random operations are compared with.
type model map[store.Table]map[string]string

func (m model) clone() model {
	c := model{}
	for t, rows := range m {
		c[t] = map[string]string{}
		for k, v := range rows {
			c[t][k] = v
		}
	}
	return c
}

// between lists the pairs of table in [from, to) as function pairs does.
func (m model) between(table store.Table, from, to []byte) []string {
	keys := []string{}
	for k := range m[table] {
		if k >= string(from) && (to == nil || k < string(to)) {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	for i, k := range keys {
		keys[i] = k + "=" + m[table][k]
	}
	return keys
}

func testRandom(t *testing.T, open func(t testing.TB) store.DB) {
	key := rapid.OneOf(
		rapid.SliceOfN(rapid.SampledFrom([]byte{0, 1, 'a', 0xff}), 1, 3),
		rapid.Map(rapid.IntRange(0, 400), func(i int) []byte { return []byte(number(i)) }),
	)
	bound := rapid.OneOf(rapid.Just[[]byte](nil), rapid.Just([]byte{}), key)
	value := rapid.OneOf(rapid.SliceOfN(rapid.Byte(), 0, 4), rapid.Map(rapid.IntRange(0, 6000), func(n int) []byte { return bytes.Repeat([]byte{'v'}, n) }))
	table := rapid.SampledFrom(Tables)

	rapid.Check(t, func(rt *rapid.T) {
		db := open(t)
		defer db.Close()
		kept := model{one: {}, two: {}}
		check := func(tx store.Tx, m model) {
			tb, from, to := table.Draw(rt, "table"), bound.Draw(rt, "from"), bound.Draw(rt, "to")
			want := m.between(tb, from, to)
			require.Equal(rt, want, pairs(tx.Ascend, tb, from, to))
			slices.Reverse(want)
			require.Equal(rt, want, pairs(tx.Descend, tb, from, to))
			last := ""
			if all := m.between(tb, nil, nil); len(all) > 0 {
				last = all[len(all)-1]
			}
			if k, v := tx.Last(tb); k != nil || last != "" {
				require.Equal(rt, last, string(k)+"="+string(v))
			}
			k := key.Draw(rt, "get")
			v := tx.Get(tb, k)
			w, ok := m[tb][string(k)]
			require.Equal(rt, ok, v != nil)
			require.Equal(rt, w, string(v))
		}
		for range rapid.IntRange(1, 6).Draw(rt, "transactions") {
			m := kept.clone()
			fail := rapid.IntRange(0, 4).Draw(rt, "fail") == 0
			err := db.Update(func(tx store.Tx) error {
				for range rapid.IntRange(0, 20).Draw(rt, "steps") {
					tb := table.Draw(rt, "table")
					switch rapid.SampledFrom([]string{"put", "put run", "delete", "delete run", "check"}).Draw(rt, "step") {
					case "put":
						k, v := key.Draw(rt, "key"), value.Draw(rt, "value")
						require.NoError(rt, tx.Put(tb, k, v))
						m[tb][string(k)] = string(v)
					case "put run":
						from := rapid.IntRange(0, 400).Draw(rt, "from")
						for i := from; i < from+100; i++ {
							require.NoError(rt, tx.Put(tb, []byte(number(i)), bytes.Repeat([]byte{'r'}, 100)))
							m[tb][number(i)] = string(bytes.Repeat([]byte{'r'}, 100))
						}
					case "delete":
						k := key.Draw(rt, "key")
						require.NoError(rt, tx.Delete(tb, k))
						delete(m[tb], string(k))
					case "delete run":
						from := rapid.IntRange(0, 400).Draw(rt, "from")
						for i := from; i < from+150; i++ {
							require.NoError(rt, tx.Delete(tb, []byte(number(i))))
							delete(m[tb], number(i))
						}
					case "check":
						check(tx, m)
					}
				}
				check(tx, m)
				if fail {
					return store.ErrClosed
				}
				return nil
			})
			if fail {
				require.ErrorIs(rt, err, store.ErrClosed)
			} else {
				require.NoError(rt, err)
				kept = m
			}
			require.NoError(rt, db.View(func(tx store.Tx) error { check(tx, kept); return nil }))
		}
	})
}
