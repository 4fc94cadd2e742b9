// Package journal is the numbered record for ever: opaque bytes under sequence numbers, the keys of
// the operations that wrote them, and the committer that writes many of them with one sync.
//
// # Records
//
// A record is 1 to 65,536 bytes that this package never reads, changes or removes. The first has
// sequence 0, the next 1, and so on without a gap: the sequence of the newest record is its head,
// and head + 1 records exist. Record 0 says what the journal is (its writer decides how); records
// from 1 on say what happened. Order is the sequence and nothing else.
//
// # Operation keys
//
// A device that gets no answer sends its operation again, under the same key. So that it counts
// once, the writer remembers beside the records, in the same transaction, which operation wrote
// them: the sequence of the first, how many, and a hash of the request, by which another request
// under an old key is told from a repeated one. A key belongs to its device. Keys that grow with
// time (UUID version 7) keep the writes of a day on neighbouring pages.
//
// # As stored
//
// Two tables. Numbers are unsigned; BE64 is eight bytes, most significant first.
//
//	j    BE64(sequence)            ->  the record
//	key  operation key . device    ->  uvarint(first) . uvarint(count) . hash (8 bytes)
//
// In the table key, an operation key that is a UUID in its canonical text (36 characters, lower
// case) is stored as byte 0 and its 16 bytes; any other text of 1 to 200 bytes as a byte with its
// length and the text. The device, 0 to 200 bytes, is what remains. Example: the third record,
// written alone by operation "a1" of device "gate":
//
//	j    00 00 00 00 00 00 00 02   ->  ...
//	key  02 61 31 67 61 74 65      ->  02 01 . hash
//
// # Reading
//
// A reader that follows the journal calls Scan with the last sequence it has seen, and asks for at
// most 10,000 records in one transaction: a read transaction that stays open keeps the store from
// reusing pages, and the file grows.
package journal

import (
	"encoding/binary"
	"errors"
	"fmt"

	"tagd/internal/store"
)

// The tables of a journal. Both must be among those that the store is opened with.
const (
	Records store.Table = "j"
	Keys    store.Table = "key"
)

// MaxRecord is the greatest length of a record in bytes.
const MaxRecord = 64 << 10

// Append adds record after the head and returns its sequence. The journal keeps a reference to
// record until the transaction ends. A record that is empty or longer than MaxRecord is refused
// before anything is written.
func Append(tx store.Tx, record []byte) (uint64, error) {
	if len(record) == 0 || len(record) > MaxRecord {
		return 0, fmt.Errorf("journal: a record has 1 to %d bytes, this one has %d", MaxRecord, len(record))
	}
	var next uint64
	if k, _ := tx.Last(Records); k != nil {
		head, err := parseSeq(k)
		if err != nil {
			return 0, err
		}
		if next = head + 1; next == 0 {
			return 0, errors.New("journal: no sequence left")
		}
	}
	if err := tx.Put(Records, seqKey(next), record); err != nil {
		return 0, fmt.Errorf("journal: append %d: %w", next, err)
	}
	return next, nil
}

// Get returns the record at seq, or nil if there is none. The bytes are valid inside the
// transaction only.
func Get(tx store.Tx, seq uint64) []byte { return tx.Get(Records, seqKey(seq)) }

// Head returns the sequence of the newest record. It is 0 of an empty journal too, which has no
// record 0: Get(tx, 0) is nil. It is 0 also if the last stored key is no sequence; Append and Scan
// report that damage.
func Head(tx store.Tx) uint64 {
	k, _ := tx.Last(Records)
	if len(k) != 8 {
		return 0
	}
	return binary.BigEndian.Uint64(k)
}

// Scan calls f for each record after the sequence after, in order, until f returns false or limit
// records were given. Record 0 is therefore never among them; Get reads it. The bytes given to f
// are valid inside the transaction only. The error is of a stored key that is no sequence, or of a
// gap in the sequences: the store is damaged.
func Scan(tx store.Tx, after uint64, limit int, f func(seq uint64, record []byte) bool) error {
	if limit <= 0 || after+1 == 0 {
		return nil
	}
	var err error
	want := after + 1
	tx.Ascend(Records, seqKey(want), nil, func(k, v []byte) bool {
		var seq uint64
		if seq, err = parseSeq(k); err != nil {
			return false
		}
		if seq != want {
			err = fmt.Errorf("journal: record %d is missing", want)
			return false
		}
		want++
		limit--
		return f(seq, v) && limit > 0
	})
	return err
}

func seqKey(seq uint64) []byte { return binary.BigEndian.AppendUint64(make([]byte, 0, 8), seq) }

func parseSeq(k []byte) (uint64, error) {
	if len(k) != 8 {
		return 0, fmt.Errorf("journal: stored key %x is no sequence", k)
	}
	return binary.BigEndian.Uint64(k), nil
}
