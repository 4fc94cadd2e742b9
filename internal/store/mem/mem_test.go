package mem_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
)

func TestConformance(t *testing.T) {
	storetest.Run(t, func(testing.TB) store.DB { return mem.Open(storetest.Tables...) })
}

const a = store.Table("a")

func key(s string) []byte { return []byte(s) }

// TestPolice breaks each rule once.
func TestPolice(t *testing.T) {
	kept := key("kept")
	for name, crime := range map[string]func(db *mem.DB){
		"an Update in a View": func(db *mem.DB) {
			db.View(func(store.Tx) error { return db.Update(func(store.Tx) error { return nil }) })
		},
		"a View in a View": func(db *mem.DB) {
			db.View(func(store.Tx) error { return db.View(func(store.Tx) error { return nil }) })
		},
		"an Update in an Update": func(db *mem.DB) {
			db.Update(func(store.Tx) error { return db.Update(func(store.Tx) error { return nil }) })
		},
		"Close in a View": func(db *mem.DB) { db.View(func(store.Tx) error { return db.Close() }) },
		"a value changed that Get gave": func(db *mem.DB) {
			db.View(func(tx store.Tx) error { tx.Get(a, key("k"))[0] = 'x'; return nil })
		},
		"a key changed that Ascend gave": func(db *mem.DB) {
			db.View(func(tx store.Tx) error {
				tx.Ascend(a, nil, nil, func(k, _ []byte) bool { k[0] = 'x'; return true })
				return nil
			})
		},
		"a value changed that Last gave": func(db *mem.DB) {
			db.View(func(tx store.Tx) error { _, v := tx.Last(a); v[0] = 'x'; return nil })
		},
		"a value changed after Put": func(db *mem.DB) {
			db.Update(func(tx store.Tx) error {
				v := key("v")
				err := tx.Put(a, key("n"), v)
				v[0] = 'x'
				return err
			})
		},
		"a key changed after Put": func(db *mem.DB) {
			db.Update(func(tx store.Tx) error {
				err := tx.Put(a, kept, nil)
				kept[0] = 'x'
				return err
			})
		},
	} {
		t.Run(name, func(t *testing.T) {
			db := mem.Open(a)
			require.NoError(t, db.Update(func(tx store.Tx) error { return tx.Put(a, key("k"), key("v")) }))
			require.Panics(t, func() { crime(db) })
			require.NoError(t, db.Update(func(tx store.Tx) error {
				require.Equal(t, "v", string(tx.Get(a, key("k"))))
				require.Nil(t, tx.Get(a, key("n")))
				return nil
			}), "usable, and nothing of the crime is left")
		})
	}
}

// TestSpoilsWhatIsKept: a slice kept beyond its transaction does not stay what it was.
func TestSpoilsWhatIsKept(t *testing.T) {
	db := mem.Open(a)
	require.NoError(t, db.Update(func(tx store.Tx) error { return tx.Put(a, key("k"), key("value")) }))
	var kept []byte
	require.NoError(t, db.View(func(tx store.Tx) error { kept = tx.Get(a, key("k")); return nil }))
	require.NotEqual(t, "value", string(kept))
	require.NoError(t, db.View(func(tx store.Tx) error {
		require.Equal(t, "value", string(tx.Get(a, key("k"))))
		return nil
	}))
}

func TestReopen(t *testing.T) {
	old := mem.Open(a)
	require.NoError(t, old.Update(func(tx store.Tx) error { return tx.Put(a, key("k"), key("v")) }))
	require.NoError(t, old.Close())
	db := old.Reopen()
	require.NoError(t, db.Update(func(tx store.Tx) error {
		require.Equal(t, "v", string(tx.Get(a, key("k"))))
		return tx.Put(a, key("l"), key("w"))
	}))
	require.ErrorIs(t, old.View(func(store.Tx) error { return nil }), store.ErrClosed)
}
