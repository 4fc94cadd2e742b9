package journal

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"

	"github.com/google/uuid"

	"tagd/internal/store"
)

// Hash tells one request from another under the same key: the first 8 bytes of the SHA-256 of
// the request. Eight are enough, for whoever makes two requests collide deceives only himself.
type Hash [8]byte

// Op is what is remembered of an operation: its records are First to First + Count - 1.
type Op struct {
	First uint64
	Count int
	Hash  Hash
}

// maxName is the greatest length of an operation key and of a device in bytes.
const maxName = 200

// Remember keeps op under the key of the device. Key and device must be as CheckKey wants them,
// Count at least 1; a key that is remembered already keeps its first operation and is an error.
func Remember(tx store.Tx, device, key string, op Op) error {
	k, err := opKey(device, key)
	if err != nil {
		return err
	}
	if op.Count < 1 || op.Count > math.MaxInt32 {
		return fmt.Errorf("journal: operation %q of device %q wrote no record, or too many: %d", key, device, op.Count)
	}
	if tx.Get(Keys, k) != nil {
		return fmt.Errorf("journal: operation %q of device %q is remembered already", key, device)
	}
	if err := tx.Put(Keys, k, formatOp(op)); err != nil {
		return fmt.Errorf("journal: remember operation %q of device %q: %w", key, device, err)
	}
	return nil
}

// Recall returns the operation remembered under the key of the device, and whether there is one.
// An error means that key or device are not as CheckKey wants them, or that the store is damaged.
func Recall(tx store.Tx, device, key string) (op Op, ok bool, err error) {
	k, err := opKey(device, key)
	if err != nil {
		return Op{}, false, err
	}
	v := tx.Get(Keys, k)
	if v == nil {
		return Op{}, false, nil
	}
	if op, ok = parseOp(v); !ok {
		return Op{}, false, fmt.Errorf("journal: what is stored of operation %q of device %q is damaged: %x", key, device, v)
	}
	return op, true, nil
}

// CheckKey says what is wrong with an operation key (1 to 200 bytes) or a device (0 to 200 bytes).
func CheckKey(device, key string) error {
	_, err := opKey(device, key)
	return err
}

func opKey(device, key string) ([]byte, error) {
	if len(key) == 0 || len(key) > maxName {
		return nil, fmt.Errorf("journal: the key of an operation has 1 to %d bytes, this one has %d", maxName, len(key))
	}
	if len(device) > maxName {
		return nil, fmt.Errorf("journal: a device has at most %d bytes, this one has %d", maxName, len(device))
	}
	k := make([]byte, 0, 1+len(key)+len(device))
	if u, err := uuid.Parse(key); err == nil && u.String() == key {
		k = append(append(k, 0), u[:]...)
	} else {
		k = append(append(k, byte(len(key))), key...)
	}
	return append(k, device...), nil
}

func formatOp(op Op) []byte {
	v := binary.AppendUvarint(make([]byte, 0, 10+5+len(op.Hash)), op.First)
	v = binary.AppendUvarint(v, uint64(op.Count))
	return append(v, op.Hash[:]...)
}

// parseOp is the inverse of formatOp, and takes nothing else.
func parseOp(v []byte) (op Op, ok bool) {
	first, at := binary.Uvarint(v)
	if at <= 0 {
		return Op{}, false
	}
	n, size := binary.Uvarint(v[at:])
	if size <= 0 || n == 0 || n > math.MaxInt32 || len(v) != at+size+len(op.Hash) {
		return Op{}, false
	}
	op.First, op.Count = first, int(n)
	copy(op.Hash[:], v[at+size:])
	return op, bytes.Equal(v, formatOp(op))
}
