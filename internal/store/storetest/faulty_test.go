package storetest_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
)

// TestFaultyConformance: without faults it is the store that it wraps.
func TestFaultyConformance(t *testing.T) {
	storetest.Run(t, func(testing.TB) store.DB { return &storetest.Faulty{DB: mem.Open(storetest.Tables...)} })
}

func TestFaulty(t *testing.T) {
	a, k := storetest.Tables[0], []byte("k")
	for _, c := range []struct {
		name       string
		fail, keep bool
		want       []byte
	}{
		{"succeeds", false, false, []byte("v")},
		{"fails and is lost", true, false, nil},
		{"fails but is kept", true, true, []byte("v")},
	} {
		t.Run(c.name, func(t *testing.T) {
			disk := mem.Open(storetest.Tables...)
			asked := 0
			db := &storetest.Faulty{DB: disk, Fault: func() (bool, bool) { asked++; return c.fail, c.keep }}
			refused := errors.New("refused")
			require.Equal(t, refused, db.Update(func(store.Tx) error { return refused }))
			require.Zero(t, asked, "an Update that is not committed cannot fail at it")

			err := db.Update(func(tx store.Tx) error { return tx.Put(a, k, []byte("v")) })
			require.Equal(t, c.fail, store.IsCommit(err))
			require.Equal(t, c.fail, err != nil)
			err = db.Update(func(store.Tx) error { return nil })
			if c.fail {
				require.ErrorIs(t, err, store.ErrFailed)
				require.False(t, store.IsCommit(err))
			} else {
				require.NoError(t, err)
			}
			require.NoError(t, db.Close())
			require.NoError(t, disk.Reopen().View(func(tx store.Tx) error {
				require.Equal(t, c.want, tx.Get(a, k))
				return nil
			}))
		})
	}
}
