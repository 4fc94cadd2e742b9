package journal_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/mem"
)

func open() *mem.DB { return mem.Open(journal.Records, journal.Keys) }

func update(t require.TestingT, db store.DB, f func(tx store.Tx)) {
	require.NoError(t, db.Update(func(tx store.Tx) error { f(tx); return nil }))
}

func view(t require.TestingT, db store.DB, f func(tx store.Tx)) {
	require.NoError(t, db.View(func(tx store.Tx) error { f(tx); return nil }))
}

// rows lists a table as "key -> value" in hexadecimal.
func rows(tx store.Tx, table store.Table) (list []string) {
	tx.Ascend(table, nil, nil, func(k, v []byte) bool {
		list = append(list, fmt.Sprintf("%x -> %x", k, v))
		return true
	})
	return list
}

// TestStored holds the stored form to the package comment, byte for byte: it is for ever.
func TestStored(t *testing.T) {
	db := open()
	hash := journal.Hash{0: 0xaa, 7: 0xbb}
	update(t, db, func(tx store.Tx) {
		for i := range uint64(3) {
			seq, err := journal.Append(tx, []byte{byte('x' + i)})
			require.NoError(t, err)
			require.Equal(t, i, seq)
		}
		require.NoError(t, journal.Remember(tx, "gate", "a1", journal.Op{First: 2, Count: 1, Hash: hash}))
		require.NoError(t, journal.Remember(tx, "gate", "01977e4c-9b1a-7def-8123-456789abcdef", journal.Op{First: 258, Count: 300}))
		require.NoError(t, journal.Remember(tx, "", "01977E4C-9B1A-7DEF-8123-456789ABCDEF", journal.Op{First: 1, Count: 1}))
	})
	view(t, db, func(tx store.Tx) {
		require.Equal(t, []string{
			"0000000000000000 -> 78",
			"0000000000000001 -> 79",
			"0000000000000002 -> 7a",
		}, rows(tx, journal.Records))
		zero := strings.Repeat("00", 8)
		require.Equal(t, []string{
			"00" + "01977e4c9b1a7def8123456789abcdef" + hex.EncodeToString([]byte("gate")) + " -> 8202" + "ac02" + zero,
			"02" + "6131" + "67617465" + " -> 0201" + "aa" + strings.Repeat("00", 6) + "bb",
			"24" + hex.EncodeToString([]byte("01977E4C-9B1A-7DEF-8123-456789ABCDEF")) + " -> 0101" + zero,
		}, rows(tx, journal.Keys))
	})
}

func TestAppend(t *testing.T) {
	db := open()
	view(t, db, func(tx store.Tx) {
		require.Zero(t, journal.Head(tx))
		require.Nil(t, journal.Get(tx, 0))
	})
	largest := bytes.Repeat([]byte{1}, journal.MaxRecord)
	update(t, db, func(tx store.Tx) {
		for _, bad := range [][]byte{nil, {}, append(largest, 1)} {
			_, err := journal.Append(tx, bad)
			require.ErrorContains(t, err, fmt.Sprintf("1 to 65536 bytes, this one has %d", len(bad)))
		}
		require.Empty(t, rows(tx, journal.Records), "nothing is written of a record that is refused")
		seq, err := journal.Append(tx, []byte("first"))
		require.NoError(t, err)
		require.Zero(t, seq)
		seq, err = journal.Append(tx, largest)
		require.NoError(t, err)
		require.EqualValues(t, 1, seq)
		require.EqualValues(t, 1, journal.Head(tx))
	})
	view(t, db, func(tx store.Tx) {
		require.Equal(t, "first", string(journal.Get(tx, 0)))
		require.True(t, bytes.Equal(largest, journal.Get(tx, 1)))
		require.Nil(t, journal.Get(tx, 2))
		require.Nil(t, journal.Get(tx, math.MaxUint64))
	})
	view(t, db, func(tx store.Tx) {
		_, err := journal.Append(tx, []byte("x"))
		require.ErrorIs(t, err, store.ErrReadOnly)
	})
}

func TestScan(t *testing.T) {
	db := open()
	scan := func(tx store.Tx, after uint64, limit int) (got []string) {
		require.NoError(t, journal.Scan(tx, after, limit, func(seq uint64, record []byte) bool {
			got = append(got, fmt.Sprintf("%d=%s", seq, record))
			return true
		}))
		return got
	}
	view(t, db, func(tx store.Tx) { require.Empty(t, scan(tx, 0, 10)) })
	update(t, db, func(tx store.Tx) {
		for i := range 5 {
			_, err := journal.Append(tx, fmt.Append(nil, i*i))
			require.NoError(t, err)
		}
	})
	view(t, db, func(tx store.Tx) {
		require.Equal(t, []string{"1=1", "2=4", "3=9", "4=16"}, scan(tx, 0, 10), "without record 0")
		require.Equal(t, []string{"1=1", "2=4"}, scan(tx, 0, 2))
		require.Equal(t, []string{"3=9", "4=16"}, scan(tx, 2, 2))
		require.Equal(t, []string{"4=16"}, scan(tx, 3, math.MaxInt))
		require.Empty(t, scan(tx, 4, 10))
		require.Empty(t, scan(tx, 99, 10))
		require.Empty(t, scan(tx, math.MaxUint64, 10))
		require.Empty(t, scan(tx, 0, 0))
		require.Empty(t, scan(tx, 0, -1))
		n := 0
		require.NoError(t, journal.Scan(tx, 0, 10, func(uint64, []byte) bool { n++; return n < 3 }))
		require.Equal(t, 3, n)
	})
}

// TestDamage: what is no journal any more is reported and not continued.
func TestDamage(t *testing.T) {
	nothing := func(uint64, []byte) bool { return true }
	gap := open()
	update(t, gap, func(tx store.Tx) {
		for range 5 {
			_, err := journal.Append(tx, []byte("x"))
			require.NoError(t, err)
		}
		require.NoError(t, tx.Delete(journal.Records, []byte{0, 0, 0, 0, 0, 0, 0, 2}))
	})
	view(t, gap, func(tx store.Tx) {
		require.EqualError(t, journal.Scan(tx, 0, 10, nothing), "journal: record 2 is missing")
		require.EqualError(t, journal.Scan(tx, 1, 10, nothing), "journal: record 2 is missing")
		require.NoError(t, journal.Scan(tx, 2, 10, nothing))
	})
	foreign := open()
	update(t, foreign, func(tx store.Tx) {
		require.NoError(t, tx.Put(journal.Records, []byte("zz"), []byte("x")))
		require.Zero(t, journal.Head(tx))
		_, err := journal.Append(tx, []byte("x"))
		require.ErrorContains(t, err, "stored key 7a7a is no sequence")
		require.ErrorContains(t, journal.Scan(tx, 0, 10, nothing), "stored key 7a7a is no sequence")
	})
	full := open()
	update(t, full, func(tx store.Tx) {
		require.NoError(t, tx.Put(journal.Records, bytes.Repeat([]byte{0xff}, 8), []byte("x")))
		require.EqualValues(t, uint64(math.MaxUint64), journal.Head(tx))
		_, err := journal.Append(tx, []byte("x"))
		require.ErrorContains(t, err, "no sequence left")
	})
}

func TestRemember(t *testing.T) {
	db := open()
	op := journal.Op{First: 7, Count: 3, Hash: journal.Hash(sha256.New().Sum(nil)[:8])}
	update(t, db, func(tx store.Tx) {
		require.NoError(t, journal.Remember(tx, "gate", "k", op))
		require.ErrorContains(t, journal.Remember(tx, "gate", "k", op), "remembered already")
		require.ErrorContains(t, journal.Remember(tx, "gate", "l", journal.Op{First: 7}), "wrote no record")
	})
	view(t, db, func(tx store.Tx) {
		got, ok, err := journal.Recall(tx, "gate", "k")
		require.NoError(t, err)
		require.True(t, ok)
		require.Equal(t, op, got)
		for _, other := range [][2]string{{"gate", "l"}, {"gate2", "k"}, {"", "k"}, {"gat", "ek"}, {"ate", "kg"}} {
			_, ok, err := journal.Recall(tx, other[0], other[1])
			require.NoError(t, err)
			require.False(t, ok, "%q", other)
		}
	})
	long := strings.Repeat("x", 201)
	for _, c := range []struct{ device, key, says string }{
		{"gate", "", "the key of an operation has 1 to 200 bytes, this one has 0"},
		{"gate", long, "the key of an operation has 1 to 200 bytes, this one has 201"},
		{long, "k", "a device has at most 200 bytes, this one has 201"},
	} {
		require.ErrorContains(t, journal.CheckKey(c.device, c.key), c.says)
		update(t, db, func(tx store.Tx) {
			require.ErrorContains(t, journal.Remember(tx, c.device, c.key, op), c.says)
			_, _, err := journal.Recall(tx, c.device, c.key)
			require.ErrorContains(t, err, c.says)
		})
	}
	require.NoError(t, journal.CheckKey(long[:200], long[:200]))
	update(t, db, func(tx store.Tx) {
		require.NoError(t, tx.Put(journal.Keys, []byte("\x01kgate"), []byte("short")))
		_, _, err := journal.Recall(tx, "gate", "k")
		require.ErrorContains(t, err, `operation "k" of device "gate" is damaged`)
	})
}

// TestKeysApart: two operations are the same only if device and key are, however they are spelled.
func TestKeysApart(t *testing.T) {
	text := rapid.OneOf(
		rapid.StringOfN(rapid.RuneFrom([]rune{'a', 0, 1, 2}), 1, 3, -1),
		rapid.SampledFrom([]string{
			"01977e4c-9b1a-7def-8123-456789abcdef", "01977E4C-9b1a-7def-8123-456789abcdef",
			"01977e4c9b1a7def8123456789abcdef", "{01977e4c-9b1a-7def-8123-456789abcdef}",
			"urn:uuid:01977e4c-9b1a-7def-8123-456789abcdef", "\x01\x97\x7e\x4c\x9b\x1a\x7d\xef\x81\x23\x45\x67\x89\xab\xcd\xef",
			"01977e4c-9b1a-7def-8123-456789abcdefa", strings.Repeat("a", 200),
		}),
	)
	device := rapid.OneOf(rapid.Just(""), text)
	rapid.Check(t, func(t *rapid.T) {
		db := open()
		known := map[[2]string]journal.Op{}
		update(t, db, func(tx store.Tx) {
			for i := range rapid.IntRange(1, 30).Draw(t, "operations") {
				at := [2]string{device.Draw(t, "device"), text.Draw(t, "key")}
				op := journal.Op{First: rapid.Uint64().Draw(t, "first"), Count: rapid.IntRange(1, math.MaxInt32).Draw(t, "count"), Hash: journal.Hash{byte(i)}}
				got, ok, err := journal.Recall(tx, at[0], at[1])
				require.NoError(t, err)
				want, had := known[at]
				require.Equal(t, had, ok)
				require.Equal(t, want, got)
				if !had {
					require.NoError(t, journal.Remember(tx, at[0], at[1], op))
					known[at] = op
				}
			}
		})
	})
}

// FuzzRecall: no stored bytes make Recall panic, and what it takes is what Remember writes.
func FuzzRecall(f *testing.F) {
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 2, 1, 16: 9})
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 2, 0x80, 0x00, 17: 9})
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 2, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0x01, 25: 9})
	f.Add([]byte{0, 0, 0, 0, 0, 0, 0, 2, 0x81, 0x00, 17: 9})
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, stored []byte) {
		db := open()
		update(t, db, func(tx store.Tx) {
			require.NoError(t, tx.Put(journal.Keys, []byte("\x01kd"), stored))
			op, ok, err := journal.Recall(tx, "d", "k")
			require.Equal(t, err == nil, ok)
			if err != nil {
				return
			}
			require.NoError(t, journal.Remember(tx, "e", "k", op))
			require.Equal(t, stored, tx.Get(journal.Keys, []byte("\x01ke")))
		})
	})
}
