package tags

import (
	"errors"
	"fmt"
	"strconv"
)

// Number is the 14 digits K PPP NNNNNNNN CC of a thing that carries a tag, read as one integer.
// Zero is no number. Whether any other value is a number that could have been given out is what
// Valid says; New and ParseNumber make only such.
type Number uint64

// Kind is the first digit of a number: what sort of thing carries it.
type Kind uint8

// The kinds of things that carry a number. Their values are printed and never change.
const (
	Bundle   Kind = 1 // bars of one mark tied together
	Stock    Kind = 2 // a stock lot or a remnant
	Assembly Kind = 3 // a cage or other tied assembly
	Load     Kind = 4 // a truck load
	Place    Kind = 5 // a place in the yard or the shop
	Person   Kind = 6 // a person's badge
)

var kindNames = [...]string{Bundle: "bundle", Stock: "stock", Assembly: "assembly", Load: "load", Place: "place", Person: "person"}

// String is the kind's word in lower case, or "kind N" for one that does not exist.
func (k Kind) String() string {
	if k.valid() {
		return kindNames[k]
	}
	return "kind " + strconv.Itoa(int(k))
}

func (k Kind) valid() bool { return Bundle <= k && k <= Person }

// Bounds of the parts of a number.
const (
	MaxPlant  = 999
	MaxSerial = 99_999_999
	digits    = 14
)

// Why a text is not a number. A *NumberError wraps one of these, so errors.Is tells them apart.
var (
	ErrNotNumber  = errors.New("not a tag number")
	ErrMistyped   = errors.New("check digits do not match")
	ErrKind       = errors.New("unknown kind of number")
	ErrOutOfRange = errors.New("plant or serial out of range")
)

// NumberError says why Text is not a number of ours, in a sentence for the person who typed it.
type NumberError struct {
	Text string // as it came, shortened to 40 characters
	Says string // the whole sentence
	Err  error  // ErrNotNumber, ErrMistyped, ErrKind or ErrOutOfRange
}

// Error is the sentence.
func (e *NumberError) Error() string { return e.Says }

// Unwrap gives the reason.
func (e *NumberError) Unwrap() error { return e.Err }

// New makes the number of the serial-th thing of a kind at a plant, with its check digits. Plants
// run from 1 to MaxPlant, serials from 1 to MaxSerial.
func New(k Kind, plant, serial int) (Number, error) {
	refuse := func(err error, format string, args ...any) (Number, error) {
		return 0, &NumberError{Says: fmt.Sprintf(format, args...), Err: err}
	}
	switch {
	case !k.valid():
		return refuse(ErrKind, "%s does not exist: a number begins with 1 (bundle), 2 (stock), 3 (assembly), 4 (load), 5 (place) or 6 (person)", k)
	case plant < 1 || plant > MaxPlant:
		return refuse(ErrOutOfRange, "plant %d is out of range: plants are numbered from 1 to %d", plant, MaxPlant)
	case serial < 1 || serial > MaxSerial:
		return refuse(ErrOutOfRange, "serial %d is out of range: serials run from 1 to %d", serial, MaxSerial)
	}
	twelve := (uint64(k)*1000+uint64(plant))*100_000_000 + uint64(serial)
	return Number(twelve*100 + mod97(twelve)), nil
}

// mod97 gives the two check digits of n by ISO/IEC 7064 MOD 97-10: 98 less the remainder of n00 by
// 97. They lie between 02 and 98.
func mod97(n uint64) uint64 { return 98 - n%97*100%97 }

// ParseNumber reads the 14 digits of a number, or its shown form 1-001-00000042-05, and nothing
// else: no blanks, no other grouping. It accepts exactly what Digits and String print. Every error
// is a *NumberError.
func ParseNumber(s string) (Number, error) {
	refuse := func(err error, format string, args ...any) (Number, error) {
		text := shorten(s)
		return 0, &NumberError{Text: text, Says: strconv.Quote(text) + " " + fmt.Sprintf(format, args...), Err: err}
	}
	var n uint64
	count := 0
	for i := range len(s) {
		c := s[i]
		if c == '-' && len(s) == digits+3 && (i == 1 || i == 5 || i == 14) {
			continue
		}
		if c < '0' || c > '9' || len(s) > digits+3 {
			count = -1
			break
		}
		n = n*10 + uint64(c-'0')
		count++
	}
	if count != digits {
		return refuse(ErrNotNumber, "is not a tag number: it has 14 digits, printed like 1-001-00000042-05 or without the dashes")
	}
	k, plant, serial := Number(n).parts()
	if !k.valid() {
		return refuse(ErrKind, "is no number of ours: it begins with %d, and ours begin with 1 (bundle) to 6 (person)", k)
	}
	if mod97(n/100) != n%100 {
		return refuse(ErrMistyped, "is mistyped: the last two digits do not match the others. Scan the tag, or read the number again digit by digit")
	}
	if plant == 0 || serial == 0 {
		return refuse(ErrOutOfRange, "is no number of ours: plant and serial begin at 1")
	}
	return Number(n), nil
}

func (n Number) parts() (k Kind, plant, serial int) {
	first := uint64(n) / 100_000_000_000_00
	if first > 255 {
		first = 0
	}
	return Kind(first), int(n / 100_000_000_00 % 1000), int(n / 100 % 100_000_000)
}

// Kind is the sort of thing that carries the number; 0 for no number.
func (n Number) Kind() Kind { k, _, _ := n.parts(); return k }

// Plant is the number of the plant that gave the number out.
func (n Number) Plant() int { _, plant, _ := n.parts(); return plant }

// Serial is the running number within kind and plant.
func (n Number) Serial() int { _, _, serial := n.parts(); return serial }

// Valid says whether n could have been given out: a known kind, plant and serial from 1, and the
// right check digits.
func (n Number) Valid() bool {
	k, plant, serial := n.parts()
	return k.valid() && plant > 0 && serial > 0 && mod97(uint64(n)/100) == uint64(n)%100
}

// Digits is the number as a scanner gives it and Code 128 carries it: 14 digits, nothing else. It
// is empty for no number.
func (n Number) Digits() string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%014d", uint64(n))
}

// String is the number as it is printed for people, 1-001-00000042-05; empty for no number.
func (n Number) String() string {
	d := n.Digits()
	if len(d) != digits {
		return d
	}
	return d[:1] + "-" + d[1:4] + "-" + d[4:12] + "-" + d[12:]
}

// MarshalText gives the shown form, empty for no number. A value that is not Valid is refused.
func (n Number) MarshalText() ([]byte, error) {
	if n != 0 && !n.Valid() {
		return nil, &NumberError{Text: n.Digits(), Says: fmt.Sprintf("%d is not a number that can be given out", uint64(n)), Err: ErrNotNumber}
	}
	return []byte(n.String()), nil
}

// UnmarshalText reads what ParseNumber reads; the empty text is no number.
func (n *Number) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*n = 0
		return nil
	}
	m, err := ParseNumber(string(text))
	if err != nil {
		return err
	}
	*n = m
	return nil
}

// shorten cuts s to 40 characters for a message.
func shorten(s string) string {
	const most = 40
	count := 0
	for i := range s {
		if count == most {
			return s[:i] + "…"
		}
		count++
	}
	return s
}
