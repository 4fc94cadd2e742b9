// Package storetest holds what every implementation of package store must pass, and a store whose
// commits fail.
package storetest

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/store"
)

// Tables are those that Run expects a store to be opened with.
var Tables = []store.Table{"one", "two"}

const one, two = store.Table("one"), store.Table("two")

// Run tests that the stores which open makes keep the contract of package store. Each call of open
// gives an empty store with Tables, and sees to its end with t.Cleanup.
func Run(t *testing.T, open func(t testing.TB) store.DB) {
	for _, c := range []struct {
		name string
		test func(t *testing.T, db store.DB)
	}{
		{"Empty", testEmpty},
		{"PutGetDelete", testPutGetDelete},
		{"Values", testValues},
		{"Keys", testKeys},
		{"Tables", testTables},
		{"Bounds", testBounds},
		{"PrefixIsAKey", testPrefixIsAKey},
		{"StopEarly", testStopEarly},
		{"WalksInWalks", testWalksInWalks},
		{"EmptiedInside", testEmptiedInside},
		{"EmptiedWhole", testEmptiedWhole},
		{"OwnWrites", testOwnWrites},
		{"BufferOfKey", testBufferOfKey},
		{"FailedUpdate", testFailedUpdate},
		{"Panic", testPanic},
		{"WriteInView", testWriteInView},
		{"WriteInWalk", testWriteInWalk},
		{"AfterEnd", testAfterEnd},
		{"Snapshot", testSnapshot},
		{"ManyReaders", testManyReaders},
		{"Closed", testClosed},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, open(t)) })
	}
	t.Run("Random", func(t *testing.T) { testRandom(t, open) })
}

func update(t *testing.T, db store.DB, f func(tx store.Tx)) {
	t.Helper()
	require.NoError(t, db.Update(func(tx store.Tx) error { f(tx); return nil }))
}

func view(t *testing.T, db store.DB, f func(tx store.Tx)) {
	t.Helper()
	require.NoError(t, db.View(func(tx store.Tx) error { f(tx); return nil }))
}

// both runs f in a View and in an Update, which must answer alike.
func both(t *testing.T, db store.DB, f func(tx store.Tx)) {
	t.Helper()
	view(t, db, f)
	update(t, db, f)
}

func put(t *testing.T, tx store.Tx, table store.Table, pairs ...string) {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		require.NoError(t, tx.Put(table, []byte(pairs[i]), []byte(pairs[i+1])))
	}
}

// pairs lists what a walk gives, as "key=value".
func pairs(walk func(store.Table, []byte, []byte, func(k, v []byte) bool), table store.Table, from, to []byte) []string {
	got := []string{}
	walk(table, from, to, func(k, v []byte) bool {
		got = append(got, string(k)+"="+string(v))
		return true
	})
	return got
}

func testEmpty(t *testing.T, db store.DB) {
	both(t, db, func(tx store.Tx) {
		require.Nil(t, tx.Get(one, []byte("a")))
		require.Nil(t, tx.Get(one, nil))
		require.Empty(t, pairs(tx.Ascend, one, nil, nil))
		require.Empty(t, pairs(tx.Descend, one, nil, nil))
		k, v := tx.Last(one)
		require.Nil(t, k)
		require.Nil(t, v)
	})
	update(t, db, func(tx store.Tx) { require.NoError(t, tx.Delete(one, []byte("a"))) })
}

func testPutGetDelete(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "b", "2", "a", "3") })
	both(t, db, func(tx store.Tx) {
		require.Equal(t, "3", string(tx.Get(one, []byte("a"))))
		require.Equal(t, "2", string(tx.Get(one, []byte("b"))))
		require.Nil(t, tx.Get(one, []byte("c")))
	})
	update(t, db, func(tx store.Tx) {
		require.NoError(t, tx.Delete(one, []byte("a")))
		require.NoError(t, tx.Delete(one, []byte("a")), "deleted twice")
	})
	update(t, db, func(tx store.Tx) { require.NoError(t, tx.Delete(one, []byte("a")), "deleted before") })
	both(t, db, func(tx store.Tx) {
		require.Nil(t, tx.Get(one, []byte("a")))
		require.Equal(t, []string{"b=2"}, pairs(tx.Ascend, one, nil, nil))
	})
	update(t, db, func(tx store.Tx) {
		put(t, tx, one, "a", "4")
		require.NoError(t, tx.Delete(one, []byte("b")))
		put(t, tx, one, "b", "5")
	})
	both(t, db, func(tx store.Tx) { require.Equal(t, []string{"a=4", "b=5"}, pairs(tx.Ascend, one, nil, nil)) })
}

// testValues: an empty value is there, and not nil; a value may span many pages.
func testValues(t *testing.T, db store.DB) {
	big := bytes.Repeat([]byte("0123456789abcdef"), 1<<16) // 1 MiB
	check := func(tx store.Tx) {
		for _, key := range []string{"empty", "nil"} {
			v := tx.Get(one, []byte(key))
			require.NotNil(t, v, key)
			require.Empty(t, v, key)
		}
		require.Nil(t, tx.Get(one, []byte("none")))
		require.True(t, bytes.Equal(big, tx.Get(one, []byte("big"))))
		k, v := tx.Last(one)
		require.Equal(t, "nil", string(k))
		require.NotNil(t, v)
	}
	update(t, db, func(tx store.Tx) {
		require.NoError(t, tx.Put(one, []byte("empty"), []byte{}))
		require.NoError(t, tx.Put(one, []byte("nil"), nil))
		require.NoError(t, tx.Put(one, []byte("big"), big))
		check(tx)
	})
	both(t, db, check)
}

func testKeys(t *testing.T, db store.DB) {
	longest := bytes.Repeat([]byte{0xff}, store.MaxKey)
	odd := [][]byte{{0}, {0, 0}, {0, 1}, {'a', 0}, {'a', 0, 'b'}, {'a', 0xff}, {0xff}, longest}
	update(t, db, func(tx store.Tx) {
		for i, k := range odd {
			require.NoError(t, tx.Put(one, k, []byte{byte(i)}))
		}
		require.ErrorIs(t, tx.Put(one, nil, []byte("x")), store.ErrKey)
		require.ErrorIs(t, tx.Put(one, []byte{}, []byte("x")), store.ErrKey)
		require.ErrorIs(t, tx.Put(one, append(longest, 0), []byte("x")), store.ErrKey)
	})
	both(t, db, func(tx store.Tx) {
		i := 0
		tx.Ascend(one, nil, nil, func(k, v []byte) bool {
			require.True(t, bytes.Equal(odd[i], k))
			require.Equal(t, []byte{byte(i)}, v)
			i++
			return true
		})
		require.Equal(t, len(odd), i)
		k, _ := tx.Last(one)
		require.True(t, bytes.Equal(longest, k))
	})
}

// testTables: tables share nothing, and only those exist that the store was opened with.
func testTables(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1"); put(t, tx, two, "a", "2", "b", "3") })
	update(t, db, func(tx store.Tx) {
		require.NoError(t, tx.Delete(two, []byte("a")))
		require.ErrorIs(t, tx.Put("three", []byte("a"), nil), store.ErrNoTable)
		require.ErrorIs(t, tx.Delete("three", []byte("a")), store.ErrNoTable)
	})
	both(t, db, func(tx store.Tx) {
		require.Equal(t, []string{"a=1"}, pairs(tx.Ascend, one, nil, nil))
		require.Equal(t, []string{"b=3"}, pairs(tx.Ascend, two, nil, nil))
		require.Panics(t, func() { tx.Get("three", []byte("a")) })
		require.Panics(t, func() { tx.Last("three") })
		require.Panics(t, func() { pairs(tx.Ascend, "three", nil, nil) })
		require.Panics(t, func() { pairs(tx.Descend, "three", nil, nil) })
	})
}

func testBounds(t *testing.T, db store.DB) {
	keys := []string{"b", "d", "f"}
	// The values are in the opposite order, so that a bound compared with a value shows.
	update(t, db, func(tx store.Tx) { put(t, tx, one, "b", "z", "d", "y", "f", "x") })
	marks := []string{"", "a", "b", "bb", "d", "e", "f", "g"}
	both(t, db, func(tx store.Tx) {
		for i, from := range marks {
			for j, to := range append(marks, "end") {
				f, u := []byte(from), []byte(to)
				if i == 0 {
					f = nil
				}
				if j == len(marks) {
					u = nil
				}
				want := []string{}
				for n, k := range keys {
					if k >= from && (u == nil || k < to) {
						want = append(want, k+"="+string(rune('z'-n)))
					}
				}
				require.Equal(t, want, pairs(tx.Ascend, one, f, u), "Ascend [%q, %q)", f, u)
				slices.Reverse(want)
				require.Equal(t, want, pairs(tx.Descend, one, f, u), "Descend [%q, %q)", f, u)
			}
		}
	})
}

func testPrefixIsAKey(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "a\x00", "2", "a\x00b", "3", "ab", "4", "b", "5") })
	both(t, db, func(tx store.Tx) {
		require.Equal(t, "1", string(tx.Get(one, []byte("a"))))
		require.Nil(t, tx.Get(one, []byte("a\x00a")))
		require.Equal(t, []string{"a=1", "a\x00=2", "a\x00b=3", "ab=4"}, pairs(tx.Ascend, one, []byte("a"), []byte("b")))
		require.Equal(t, []string{"a\x00b=3", "a\x00=2"}, pairs(tx.Descend, one, []byte("a\x00"), []byte("a\x01")))
	})
	update(t, db, func(tx store.Tx) { require.NoError(t, tx.Delete(one, []byte("a"))) })
	both(t, db, func(tx store.Tx) {
		require.Nil(t, tx.Get(one, []byte("a")))
		require.Equal(t, "2", string(tx.Get(one, []byte("a\x00"))))
	})
}

func testStopEarly(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "", "b", "", "c", "") })
	both(t, db, func(tx store.Tx) {
		var got []string
		stop := func(k, _ []byte) bool { got = append(got, string(k)); return len(got)%2 != 0 }
		tx.Ascend(one, nil, nil, stop)
		tx.Descend(one, nil, nil, stop)
		require.Equal(t, []string{"a", "b", "c", "b"}, got)
	})
}

// testWalksInWalks: walks, and reads beside them, do not disturb each other.
func testWalksInWalks(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "b", "2", "c", "3"); put(t, tx, two, "x", "9") })
	both(t, db, func(tx store.Tx) {
		var got []string
		tx.Ascend(one, nil, nil, func(k, _ []byte) bool {
			tx.Descend(one, nil, nil, func(l, _ []byte) bool {
				got = append(got, string(k)+string(l))
				return tx.Get(one, []byte("b")) != nil
			})
			_, v := tx.Last(one)
			return string(v) == "3"
		})
		require.Equal(t, []string{"ac", "ab", "aa", "bc", "bb", "ba", "cc", "cb", "ca"}, got)
	})
	update(t, db, func(tx store.Tx) {
		tx.Ascend(one, nil, nil, func(k, v []byte) bool {
			require.NoError(t, tx.Put(two, slices.Clone(k), slices.Clone(v)), "another table may be written")
			return true
		})
	})
	both(t, db, func(tx store.Tx) {
		require.Equal(t, []string{"a=1", "b=2", "c=3", "x=9"}, pairs(tx.Ascend, two, nil, nil))
	})
}

func number(i int) string { return fmt.Sprintf("%06d", i) }

// many fills a table with n keys on many pages.
func many(t *testing.T, db store.DB, n int) {
	update(t, db, func(tx store.Tx) {
		for i := range n {
			put(t, tx, one, number(i), "................................................")
		}
	})
}

// testEmptiedInside deletes many pages in the middle, and walks over them in the same transaction.
func testEmptiedInside(t *testing.T, db store.DB) {
	const n, from, to = 3000, 500, 2500
	many(t, db, n)
	check := func(tx store.Tx) {
		var up, down []string
		tx.Ascend(one, nil, nil, func(k, _ []byte) bool { up = append(up, string(k)); return true })
		tx.Descend(one, nil, nil, func(k, _ []byte) bool { down = append(down, string(k)); return true })
		require.Len(t, up, n-(to-from))
		require.True(t, slices.IsSorted(up))
		slices.Reverse(down)
		require.Equal(t, up, down)
		require.Empty(t, pairs(tx.Descend, one, []byte(number(from)), []byte(number(to))))
		require.Len(t, pairs(tx.Descend, one, []byte(number(from-1)), []byte(number(to+1))), 2)
		require.Len(t, pairs(tx.Ascend, one, []byte(number(from-1)), []byte(number(to+1))), 2)
	}
	update(t, db, func(tx store.Tx) {
		for i := from; i < to; i++ {
			require.NoError(t, tx.Delete(one, []byte(number(i))))
		}
		check(tx)
	})
	both(t, db, check)
}

// testEmptiedWhole deletes everything from the end, then the rest, looking for the last key each time.
func testEmptiedWhole(t *testing.T, db store.DB) {
	const n = 2000
	many(t, db, n)
	update(t, db, func(tx store.Tx) {
		for i := n - 1; i >= 0; i-- {
			require.NoError(t, tx.Delete(one, []byte(number(i))))
			if k, _ := tx.Last(one); i > 0 {
				require.Equal(t, number(i-1), string(k))
			} else {
				require.Nil(t, k)
			}
		}
		require.Empty(t, pairs(tx.Ascend, one, nil, nil))
		require.Empty(t, pairs(tx.Descend, one, nil, nil))
		require.Empty(t, pairs(tx.Descend, one, nil, []byte(number(n/2))))
	})
	testEmpty(t, db)
	many(t, db, n)
	both(t, db, func(tx store.Tx) { require.Len(t, pairs(tx.Descend, one, nil, nil), n) })
}

func testOwnWrites(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "c", "3") })
	update(t, db, func(tx store.Tx) {
		put(t, tx, one, "b", "2", "d", "4")
		require.NoError(t, tx.Delete(one, []byte("a")))
		require.Equal(t, "2", string(tx.Get(one, []byte("b"))))
		require.Nil(t, tx.Get(one, []byte("a")))
		require.Equal(t, []string{"b=2", "c=3", "d=4"}, pairs(tx.Ascend, one, nil, nil))
		require.Equal(t, []string{"d=4", "c=3", "b=2"}, pairs(tx.Descend, one, nil, nil))
		k, v := tx.Last(one)
		require.Equal(t, "d=4", string(k)+"="+string(v))
	})
}

// testBufferOfKey: the arguments of the methods that only read may be used again at once.
func testBufferOfKey(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "b", "2") })
	both(t, db, func(tx store.Tx) {
		buffer := []byte("a")
		v := tx.Get(one, buffer)
		buffer[0] = 'b'
		require.Equal(t, "2", string(tx.Get(one, buffer)))
		require.Equal(t, "1", string(v))
	})
	update(t, db, func(tx store.Tx) {
		buffer := []byte("a")
		require.NoError(t, tx.Delete(one, buffer))
		buffer[0] = 'b'
	})
	both(t, db, func(tx store.Tx) { require.Equal(t, []string{"b=2"}, pairs(tx.Ascend, one, nil, nil)) })
}

func testFailedUpdate(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1") })
	refusal := errors.New("refused")
	err := db.Update(func(tx store.Tx) error {
		put(t, tx, one, "a", "2", "b", "3")
		require.NoError(t, tx.Delete(one, []byte("a")))
		return refusal
	})
	require.True(t, err == refusal, "Update returns the very error of f, got %v", err)
	require.False(t, store.IsCommit(err))
	require.True(t, db.View(func(store.Tx) error { return refusal }) == refusal)
	both(t, db, func(tx store.Tx) { require.Equal(t, []string{"a=1"}, pairs(tx.Ascend, one, nil, nil)) })
}

func testPanic(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1") })
	require.PanicsWithValue(t, "boom", func() {
		db.Update(func(tx store.Tx) error { put(t, tx, one, "a", "2"); panic("boom") })
	})
	require.PanicsWithValue(t, "boom", func() { db.View(func(tx store.Tx) error { panic("boom") }) })
	both(t, db, func(tx store.Tx) { require.Equal(t, []string{"a=1"}, pairs(tx.Ascend, one, nil, nil)) })
	require.NoError(t, db.Close(), "nothing is left open")
}

func testWriteInView(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1") })
	view(t, db, func(tx store.Tx) {
		require.ErrorIs(t, tx.Put(one, []byte("a"), []byte("2")), store.ErrReadOnly)
		require.ErrorIs(t, tx.Delete(one, []byte("a")), store.ErrReadOnly)
		require.Equal(t, "1", string(tx.Get(one, []byte("a"))))
	})
}

func testWriteInWalk(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1", "b", "2") })
	update(t, db, func(tx store.Tx) {
		for _, walk := range []func(store.Table, []byte, []byte, func(k, v []byte) bool){tx.Ascend, tx.Descend} {
			require.Panics(t, func() {
				walk(one, nil, nil, func(k, v []byte) bool { tx.Put(one, []byte("c"), nil); return true })
			})
			require.Panics(t, func() {
				walk(one, nil, nil, func(k, v []byte) bool { tx.Delete(one, []byte("a")); return true })
			})
		}
		require.NoError(t, tx.Delete(one, []byte("a")), "after the walk")
	})
	both(t, db, func(tx store.Tx) { require.Equal(t, []string{"b=2"}, pairs(tx.Ascend, one, nil, nil)) })
}

func testAfterEnd(t *testing.T, db store.DB) {
	var kept []store.Tx
	view(t, db, func(tx store.Tx) { kept = append(kept, tx) })
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1"); kept = append(kept, tx) })
	db.Update(func(tx store.Tx) error { kept = append(kept, tx); return errors.New("refused") })
	for _, tx := range kept {
		require.Panics(t, func() { tx.Get(one, []byte("a")) })
		require.Panics(t, func() { tx.Put(one, []byte("a"), nil) })
		require.Panics(t, func() { tx.Delete(one, []byte("a")) })
		require.Panics(t, func() { tx.Last(one) })
		require.Panics(t, func() { pairs(tx.Ascend, one, nil, nil) })
		require.Panics(t, func() { pairs(tx.Descend, one, nil, nil) })
	}
}

func testClosed(t *testing.T, db store.DB) {
	update(t, db, func(tx store.Tx) { put(t, tx, one, "a", "1") })
	require.NoError(t, db.Close())
	require.NoError(t, db.Close(), "closed twice")
	never := func(store.Tx) error { t.Error("runs on a closed store"); return nil }
	require.ErrorIs(t, db.View(never), store.ErrClosed)
	require.ErrorIs(t, db.Update(never), store.ErrClosed)
}
