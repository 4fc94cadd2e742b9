package event

import (
	"math"
	"strconv"
	"unicode/utf8"

	"tagd/internal/tags"
)

// Most of what a question as of a past moment costs, and much of a replay, is the reading of envelopes by
// reflection. quick reads those that encode makes by hand. Whatever else it meets it leaves alone: what
// is wrong with that, or that it is right all the same, the CBOR decoder says.

// quick reads an envelope in the form that encode gives. The body stays within b.
func quick(b []byte) (env envelope, ok bool) {
	r := reader{b: b}
	last := uint64(0)
	for range r.count(major.fields) {
		key := r.unsigned(math.MaxUint8)
		if key <= last { // in order, and none twice
			return env, false
		}
		switch last = key; key {
		case 1:
			env.Kind = Kind(r.unsigned(math.MaxUint16))
		case 2:
			env.Recorded = r.signed(math.MinInt64, math.MaxInt64)
		case 3:
			env.Happened = r.signed(math.MinInt64, math.MaxInt64)
		case 4:
			env.Offset = int16(r.signed(math.MinInt16, math.MaxInt16))
		case 5:
			env.Device = r.text()
		case 6:
			for range r.count(major.list) {
				env.People = append(env.People, tags.Number(r.unsigned(math.MaxUint64)))
			}
			r.bad = r.bad || len(env.People) == 0
		case 7:
			env.Identified = Identified(r.unsigned(math.MaxUint8))
		case 8:
			env.Station = r.text()
		case 9:
			env.Key = append(make([]byte, 0, 16), r.string(major.bytes)...)
		case 10:
			env.Body = r.item()
		case 11:
			env.Answer = r.answer()
		default:
			return env, false
		}
	}
	return env, !r.bad && len(r.b) == 0 && env.Body != nil
}

// answer reads what Answer.MarshalCBOR writes.
func (r *reader) answer() *Answer {
	n := r.count(major.list)
	if n == 0 {
		r.bad = true
		return nil
	}
	a := &Answer{Verdict: Verdict(r.unsigned(math.MaxUint8))}
	if n > 1 {
		a.Notes = make([]Note, 0, min(n-1, 16))
	}
	for range n - 1 {
		parts := r.count(major.list)
		note := Note{Code: r.code()}
		if r.bad || parts == 0 {
			r.bad = true
			return nil
		}
		if parts > 1 {
			note.Args = make([]string, 0, min(parts-1, 16))
		}
		for range parts - 1 {
			note.Args = append(note.Args, r.argument())
		}
		a.Notes = append(a.Notes, note)
	}
	return a
}

// code reads the code of a sentence: its place in Codes, or what has none there as text.
func (r *reader) code() string {
	if m, _ := r.peek(); m == major.text {
		return r.text()
	}
	n := r.unsigned(uint64(len(Codes) - 1))
	if r.bad {
		return ""
	}
	return Codes[n]
}

// argument reads what packed gives.
func (r *reader) argument() string {
	m, n := r.peek()
	switch m {
	case major.unsigned:
		r.head()
		number := tags.Number(n)
		r.bad = r.bad || !number.Valid()
		return number.String()
	case major.negative:
		r.head()
		r.bad = r.bad || n > math.MaxUint32
		return strconv.FormatUint(n, 10)
	}
	return r.text()
}

// major are the types of CBOR items (RFC 8949, 3.1) that events are made of.
var major = struct{ unsigned, negative, bytes, text, list, fields byte }{0, 1, 2, 3, 4, 5}

// reader reads items of CBOR one after another. What is not in its shortest form, or not what is asked
// for, makes it bad, and then all that it gives is nothing.
type reader struct {
	b   []byte
	bad bool
}

// peek is the type of the next item and its argument: a value, a length or a count.
func (r *reader) peek() (m byte, n uint64) {
	had := r.b
	m, n = r.head()
	r.b = had
	return m, n
}

func (r *reader) head() (m byte, n uint64) {
	if r.bad || len(r.b) == 0 {
		r.bad = true
		return 0, 0
	}
	m, n = r.b[0]>>5, uint64(r.b[0]&31)
	r.b = r.b[1:]
	if n < 24 {
		return m, n
	}
	size := 1 << (n - 24)
	if n > 27 || len(r.b) < size {
		r.bad = true
		return 0, 0
	}
	n = 0
	for _, c := range r.b[:size] {
		n = n<<8 | uint64(c)
	}
	r.b = r.b[size:]
	// What a smaller form could hold is not in its shortest.
	if size == 1 {
		r.bad = n < 24
	} else {
		r.bad = n>>(4*size) == 0
	}
	return m, n
}

// of reads the head of an item that must be of one type.
func (r *reader) of(want byte) uint64 {
	m, n := r.head()
	if m != want {
		r.bad = true
	}
	if r.bad {
		return 0
	}
	return n
}

func (r *reader) unsigned(most uint64) uint64 {
	n := r.of(major.unsigned)
	if n > most {
		r.bad = true
		return 0
	}
	return n
}

func (r *reader) signed(least, most int64) (n int64) {
	m, u := r.head()
	switch {
	case r.bad || u > math.MaxInt64 || m > major.negative:
		r.bad = true
		return 0
	case m == major.negative:
		n = -1 - int64(u)
	default:
		n = int64(u)
	}
	if n < least || n > most {
		r.bad = true
		return 0
	}
	return n
}

// count reads how many items follow: each has a byte at least.
func (r *reader) count(m byte) int {
	n := r.of(m)
	if n > uint64(len(r.b)) {
		r.bad = true
		return 0
	}
	return int(n)
}

func (r *reader) string(m byte) []byte {
	n := r.count(m)
	s := r.b[:n]
	r.b = r.b[n:]
	return s
}

func (r *reader) text() string {
	s := r.string(major.text)
	r.bad = r.bad || !utf8.Valid(s)
	return string(s)
}

// item reads the next item whatever it is, and gives its bytes: what is in it, the CBOR decoder reads.
func (r *reader) item() []byte {
	all := r.b
	for left := 1; left > 0 && !r.bad; left-- {
		switch m, n := r.peek(); m {
		case major.unsigned, major.negative:
			r.head()
		case major.bytes, major.text:
			r.string(m)
		case major.list:
			left += r.count(m)
		case major.fields:
			left += 2 * r.count(m)
			r.bad = r.bad || n > uint64(len(r.b))/2
		default: // true stands in some bodies, and is one byte
			r.bad = r.bad || m != 7 || n > 21
			r.head()
		}
	}
	return all[:len(all)-len(r.b)]
}
