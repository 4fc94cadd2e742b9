package event

import (
	"bytes"
	"errors"
	"fmt"
	"reflect"
	"unicode/utf8"

	"github.com/fxamacker/cbor/v2"

	"tagd/internal/tags"
)

// MaxSize is the most bytes that one stored event may have. A list is one event a line.
const MaxSize = 64 << 10

// format is the first byte of every stored event of this shape.
const format = 1

// ErrUnknown is a stored event of a kind or format that this program does not know: a newer
// program wrote the store, and folding it would lose what that event meant.
var ErrUnknown = errors.New("event: of a kind that this program does not know")

// Kind numbers what happened. A number is never reused and never gets another meaning.
type Kind uint16

// Body is what one kind of event tells. The types of bodies.go implement it.
type Body interface{ Kind() Kind }

// Identified says how the people of an event were told apart.
type Identified uint8

// The ways of knowing who did it.
const (
	Nobody   Identified = 0 // nobody was asked
	Badge    Identified = 1 // a badge was scanned
	PIN      Identified = 2
	Password Identified = 3
	Token    Identified = 4 // a program with a token
)

// Verdict is the answer to a scan.
type Verdict uint8

// The four answers. Kept is given by a device without network and never stored.
const (
	Accepted Verdict = 0
	Check    Verdict = 1 // recorded, a person should look
	Refused  Verdict = 2 // nothing recorded but the refusal itself
	Kept     Verdict = 3
)

// String returns the word of the verdict.
func (v Verdict) String() string {
	return [...]string{"accepted", "check", "refused", "kept"}[v&3]
}

// Head is what every event says beside its body. Times are Unix milliseconds.
type Head struct {
	Recorded   int64         `cbor:"2,keyasint"`           // when the server recorded it; never less than the one before
	Happened   int64         `cbor:"3,keyasint,omitempty"` // when the device says it happened; shown, never an order
	Offset     int16         `cbor:"4,keyasint,omitempty"` // UTC offset of the plant then, in minutes
	Device     string        `cbor:"5,keyasint,omitempty"`
	People     []tags.Number `cbor:"6,keyasint,omitempty"`
	Identified Identified    `cbor:"7,keyasint,omitempty"`
	Station    string        `cbor:"8,keyasint,omitempty"`
	Key        []byte        `cbor:"9,keyasint,omitempty"` // the client's own id of the request
	Answer     *Answer       `cbor:"11,keyasint,omitempty"`
}

// Event is one thing that happened.
type Event struct {
	Head
	Body Body
}

// envelope is Head with kind and body, as stored. Happened is stored as what it differs from Recorded,
// one more where that is not less than 0, so that none at all stays 0.
type envelope struct {
	Kind Kind `cbor:"1,keyasint"`
	Head
	Body cbor.RawMessage `cbor:"10,keyasint"`
}

var (
	encMode = must(cbor.CoreDetEncOptions().EncMode())
	decMode = must(cbor.DecOptions{
		DupMapKey:         cbor.DupMapKeyEnforcedAPF,
		ExtraReturnErrors: cbor.ExtraDecErrorUnknownField,
		MaxNestedLevels:   16,
		MaxArrayElements:  MaxSize,
		MaxMapPairs:       MaxSize,
		IndefLength:       cbor.IndefLengthForbidden,
	}.DecMode())
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// Encode gives the bytes of e as they are stored for ever: a format byte, then deterministic CBOR
// (RFC 8949, 4.2.1) with integer keys. What Decode could not read back is a *Refusal: an event that
// is too large, or a text that is not UTF-8.
func Encode(e Event) ([]byte, error) {
	b, err := encode(e)
	switch {
	case err != nil:
		return nil, err
	case len(b) > MaxSize:
		return nil, &Refusal{Says: fmt.Sprintf("%v: has %d bytes, and %d are the most of one record; shorten its texts, or part it", e.Body.Kind(), len(b), MaxSize)}
	case !validTexts(b[1:]):
		return nil, &Refusal{Says: fmt.Sprintf("%v: holds a text that is not UTF-8", e.Body.Kind())}
	}
	return b, nil
}

func encode(e Event) ([]byte, error) {
	body, err := encMode.Marshal(e.Body)
	if err != nil {
		return nil, fmt.Errorf("event: body of kind %v: %w", e.Body.Kind(), err)
	}
	if far(e.Recorded) || far(e.Happened) {
		return nil, &Refusal{Says: fmt.Sprintf("%v: its time is some hundred thousand years off; set the device's clock", e.Body.Kind())}
	}
	env := envelope{Kind: e.Body.Kind(), Head: e.Head, Body: body}
	if e.Happened != 0 {
		env.Happened = e.Happened - e.Recorded
		if env.Happened >= 0 {
			env.Happened++
		}
	}
	b, err := encMode.Marshal(env)
	if err != nil {
		return nil, fmt.Errorf("event: head of kind %v: %w", e.Body.Kind(), err)
	}
	return append([]byte{format}, b...), nil
}

// far says whether a time in Unix ms is beyond what the difference of two can hold.
func far(ms int64) bool { return ms > 1<<52 || ms < -(1<<52) }

// validTexts says whether all texts in what encMode made are UTF-8. The encoder does not look, and
// the decoder refuses others: such a record could never be read again.
func validTexts(b []byte) bool {
	for len(b) > 0 {
		major, n := b[0]>>5, uint64(b[0]&31)
		b = b[1:]
		if n >= 24 { // the argument follows in 1, 2, 4 or 8 bytes
			size := 1 << (n - 24)
			n = 0
			for _, c := range b[:size] {
				n = n<<8 | uint64(c)
			}
			b = b[size:]
		}
		switch major {
		case 2:
			b = b[n:]
		case 3:
			if !utf8.Valid(b[:n]) {
				return false
			}
			b = b[n:]
		}
	}
	return true
}

// Decode is the inverse of Encode. An unknown format, kind or field is an error that wraps ErrUnknown.
// What it reads back is not looked at for being the only way to write the event: Exact does that.
func Decode(b []byte) (Event, error) {
	if len(b) == 0 || b[0] != format {
		return Event{}, fmt.Errorf("%w: first byte %x", ErrUnknown, b[:min(1, len(b))])
	}
	if len(b) > MaxSize {
		return Event{}, fmt.Errorf("event: has %d bytes, %d are the most", len(b), MaxSize)
	}
	env, ok := quick(b[1:])
	if !ok {
		env = envelope{}
		if err := decode(b[1:], &env); err != nil {
			return Event{}, err
		}
	}
	if h := env.Happened; h != 0 {
		if h > 0 {
			h--
		}
		env.Happened = env.Recorded + h
	}
	t, ok := bodies[env.Kind]
	if !ok {
		return Event{}, fmt.Errorf("%w: kind %d", ErrUnknown, env.Kind)
	}
	p := reflect.New(t)
	if err := decode(env.Body, p.Interface()); err != nil {
		return Event{}, fmt.Errorf("kind %v: %w", env.Kind, err)
	}
	return Event{Head: env.Head, Body: p.Elem().Interface().(Body)}, nil
}

// KindOf reads the kind of a stored event without decoding it; 0 of what is none.
func KindOf(b []byte) Kind {
	// The format, the head of a map, the key 1, and an unsigned integer in its shortest form.
	switch {
	case len(b) < 4 || b[0] != format || b[2] != 1:
		return 0
	case b[3] < 24:
		return Kind(b[3])
	case b[3] == 24 && len(b) > 4:
		return Kind(b[4])
	}
	return 0
}

// Exact decodes b and says whether it is byte for byte what Encode gives.
func Exact(b []byte) error {
	e, err := Decode(b)
	if err != nil {
		return err
	}
	if again, err := encode(e); err != nil || !bytes.Equal(again, b) {
		return fmt.Errorf("event: kind %v is not as it was written", e.Body.Kind())
	}
	return nil
}

func decode(b []byte, v any) error {
	err := decMode.Unmarshal(b, v)
	var unknown *cbor.UnknownFieldError
	if errors.As(err, &unknown) {
		return fmt.Errorf("%w: %v", ErrUnknown, err)
	}
	if err != nil {
		return fmt.Errorf("event: %w", err)
	}
	return nil
}

// String returns the kind as a word, as the journal shows it.
func (k Kind) String() string {
	if t, ok := bodies[k]; ok {
		return words(t.Name())
	}
	return fmt.Sprintf("kind %d", uint16(k))
}

// words turns "LotReceived" into "lot received".
func words(s string) string {
	var out []byte
	for i := range len(s) {
		c := s[i]
		if 'A' <= c && c <= 'Z' {
			if i > 0 {
				out = append(out, ' ')
			}
			c += 'a' - 'A'
		}
		out = append(out, c)
	}
	return string(out)
}

// TypeOf gives the type of a kind's body, if the kind is built.
func TypeOf(k Kind) (reflect.Type, bool) {
	t, ok := bodies[k]
	return t, ok
}
