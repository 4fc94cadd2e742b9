package tags

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Bounds of the QR text.
const (
	MaxValue = 64     // bytes of UTF-8 in job, list, mark, size and each heat
	MaxCopy  = 9999   // copies of one tag
	MaxCount = 999999 // pieces in a bundle, bars in a lot
	MaxHeats = 40     // heats on one tag
	MaxText  = 1000   // characters of the whole text
	maxHost  = 255    // characters of host name and port
)

// Tag is what the QR code of a tag says. Empty fields are not on the tag.
type Tag struct {
	Number Number
	Copy   int      // 1 for the first print; 0 is not said
	Job    string   // job number
	List   string   // bar list number
	Mark   string   // mark on the placing drawing
	Size   string   // size, such as "#5" or "16mm"
	Count  int      // pieces of a bundle, bars of a stock lot; 0 is not said
	Heats  []string // one, several, or none
}

// field is one part of the text after the number.
type field struct {
	letter byte
	name   string
	value  string // as it is printed, escaped; "" is left out
}

// legal gives the letters that a kind of number may have, in their order.
func (k Kind) legal() string {
	switch k {
	case Bundle, Assembly:
		return "CJLMSNH"
	case Stock:
		return "CSNH"
	default:
		return "C"
	}
}

// Format prints the QR text of t for a server at host, a host name or IPv4 address with or without
// a port, in any case. A field that its kind of number does not have, or that is out of bounds, is
// refused by name.
func Format(host string, t Tag) (string, error) {
	host = strings.ToUpper(host)
	if err := checkHost(host); err != nil {
		return "", err
	}
	if !t.Number.Valid() {
		return "", fmt.Errorf("a tag needs a valid number, and %d is none", uint64(t.Number))
	}
	if len(t.Heats) > MaxHeats {
		return "", fmt.Errorf("a tag names at most %d heats, not %d", MaxHeats, len(t.Heats))
	}
	var fields []field
	var faults []error
	number := func(letter byte, name string, n, most int) {
		if n < 0 || n > most {
			faults = append(faults, fmt.Errorf("%s %d is out of range: 1 to %d, or 0 for none", name, n, most))
		}
		if n != 0 {
			fields = append(fields, field{letter, name, strconv.Itoa(n)})
		}
	}
	text := func(letter byte, name, value string) {
		if err := checkValue(name, value); err != nil {
			faults = append(faults, err)
		}
		if value != "" {
			fields = append(fields, field{letter, name, escape(value)})
		}
	}
	number('C', "copy", t.Copy, MaxCopy)
	text('J', "job", t.Job)
	text('L', "bar list", t.List)
	text('M', "mark", t.Mark)
	text('S', "size", t.Size)
	number('N', "count", t.Count, MaxCount)
	for _, heat := range t.Heats {
		if heat == "" {
			faults = append(faults, errors.New("a heat on a tag cannot be empty"))
		}
		text('H', "heat", heat)
	}
	legal := t.Number.Kind().legal()
	var b strings.Builder
	b.WriteString("HTTPS://" + host + "/T/" + t.Number.Digits())
	for _, f := range fields {
		if strings.IndexByte(legal, f.letter) < 0 {
			faults = append(faults, fmt.Errorf("a %s tag has no %s", t.Number.Kind(), f.name))
		}
		b.WriteByte('/')
		b.WriteByte(f.letter)
		b.WriteString(f.value)
	}
	if b.Len() > MaxText {
		faults = append(faults, fmt.Errorf("the QR text would have %d characters, more than %d: name fewer heats", b.Len(), MaxText))
	}
	if err := errors.Join(faults...); err != nil {
		return "", err
	}
	return b.String(), nil
}

// Parse reads the QR text of a tag, whatever host printed it. It accepts exactly what Format
// prints.
func Parse(s string) (host string, t Tag, err error) {
	if len(s) > MaxText {
		return "", Tag{}, fmt.Errorf("a tag's text has at most %d characters, not %d", MaxText, len(s))
	}
	rest, ok := strings.CutPrefix(s, "HTTPS://")
	if !ok {
		return "", Tag{}, fmt.Errorf("%q is not the text of a tag: it begins HTTPS://", shorten(s))
	}
	host, rest, ok = strings.Cut(rest, "/T/")
	if !ok {
		return "", Tag{}, fmt.Errorf("%q is not the text of a tag: /T/ and the number follow the host", shorten(s))
	}
	parts := strings.Split(rest, "/")
	if t.Number, err = ParseNumber(parts[0]); err != nil {
		return "", Tag{}, err
	}
	for _, part := range parts[1:] {
		if err := t.take(part); err != nil {
			return "", Tag{}, err
		}
	}
	// Order, repetition, escapes that need not be, capitals and bounds are all judged by printing.
	again, err := Format(host, t)
	if err != nil {
		return "", Tag{}, err
	}
	if again != s {
		return "", Tag{}, fmt.Errorf("%q is not written as a tag's text is: it would be %q", shorten(s), shorten(again))
	}
	return host, t, nil
}

// take reads one field of the text into t.
func (t *Tag) take(part string) error {
	if len(part) < 2 {
		return fmt.Errorf("%q is no field of a tag's text: a letter and a value", part)
	}
	value, err := unescape(part[1:])
	if err != nil {
		return err
	}
	switch part[0] {
	case 'C':
		t.Copy, err = strconv.Atoi(value)
	case 'J':
		t.Job = value
	case 'L':
		t.List = value
	case 'M':
		t.Mark = value
	case 'S':
		t.Size = value
	case 'N':
		t.Count, err = strconv.Atoi(value)
	case 'H':
		t.Heats = append(t.Heats, value)
	default:
		return fmt.Errorf("%q is no field of a tag's text: C, J, L, M, S, N or H", shorten(part))
	}
	if err != nil {
		return fmt.Errorf("%q in a tag's text is not a number", shorten(part))
	}
	return nil
}

func checkValue(name, value string) error {
	if len(value) > MaxValue {
		return fmt.Errorf("%s %q is too long for a tag: at most %d bytes, not %d", name, shorten(value), MaxValue, len(value))
	}
	if !utf8.ValidString(value) {
		return fmt.Errorf("%s %q is not valid UTF-8 text", name, value)
	}
	for _, r := range value {
		if !unicode.IsPrint(r) {
			return fmt.Errorf("%s %q holds a character that cannot be printed", name, value)
		}
	}
	return nil
}

// checkHost accepts NAME.NAME[:PORT] in capitals: only what QR's alphanumeric mode can hold, so no
// IPv6 address and no other alphabet.
func checkHost(host string) error {
	bad := func(why string) error {
		return fmt.Errorf("%q cannot be the host of a tag's text: %s; right would be TAGS.EXAMPLE or TAGS.EXAMPLE:8080", shorten(host), why)
	}
	if len(host) > maxHost {
		return bad("it is too long")
	}
	name, port, hasPort := strings.Cut(host, ":")
	if hasPort {
		if n, err := strconv.Atoi(port); err != nil || n < 1 || n > 65535 || strconv.Itoa(n) != port {
			return bad("the port is a number from 1 to 65535")
		}
	}
	for label := range strings.SplitSeq(name, ".") {
		if label == "" || len(label) > 63 {
			return bad("each part of the name has 1 to 63 characters")
		}
		for i := range len(label) {
			c := label[i]
			if !(c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || c == '-' && i > 0 && i < len(label)-1) {
				return bad("a name holds letters and digits, with hyphens between")
			}
		}
	}
	return nil
}

// plain says which bytes stand for themselves in a value: QR's alphanumeric set without space, %
// and /, all of which RFC 3986 allows in a path.
func plain(c byte) bool {
	return c >= '0' && c <= '9' || c >= 'A' && c <= 'Z' || strings.IndexByte("$*+-.:", c) >= 0
}

const hexDigits = "0123456789ABCDEF"

func escape(s string) string {
	var b strings.Builder
	for i := range len(s) {
		if c := s[i]; plain(c) {
			b.WriteByte(c)
		} else {
			b.WriteByte('%')
			b.WriteByte(hexDigits[c>>4])
			b.WriteByte(hexDigits[c&15])
		}
	}
	return b.String()
}

func unescape(s string) (string, error) {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		if s[i] != '%' {
			b.WriteByte(s[i])
			continue
		}
		if i+2 >= len(s) {
			return "", fmt.Errorf("%q in a tag's text ends within %%XX", shorten(s))
		}
		hi, lo := strings.IndexByte(hexDigits, s[i+1]), strings.IndexByte(hexDigits, s[i+2])
		if hi < 0 || lo < 0 {
			return "", fmt.Errorf("%q in a tag's text holds a %% that is not followed by two capital hexadecimal digits", shorten(s))
		}
		b.WriteByte(byte(hi<<4 | lo))
		i += 2
	}
	return b.String(), nil
}
