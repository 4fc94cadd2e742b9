package barlist

import (
	"bytes"
	"fmt"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// WriteBF2D writes lines as a BVBS file, each record ending in CR LF: what Read reads from it, with
// the same defaults, are the same lines. The text is UTF-8. A record has no place for spec, coating,
// route, note and shape code; they are left out.
//
// It fails on a line that no record can hold: a size that is not of EN 10080, or a text with an @.
func WriteBF2D(lines []Line) ([]byte, error) {
	var out bytes.Buffer
	for i, l := range lines {
		at := func(says string, args ...any) error {
			return fmt.Errorf("line %d, mark %s: %s", i+1, sheet.Quote(l.Mark), fmt.Sprintf(says, args...))
		}
		if l.Steel.Size.System() != bar.EN {
			return nil, at("size %s has no diameter in whole millimetres, as BF2D wants it", l.Steel.Size)
		}
		for _, text := range []string{l.Job, l.List, l.Revision, l.Mark, l.Steel.Grade} {
			if strings.ContainsAny(text, "@\r\n") {
				return nil, at("%s holds an @ or a line break, which end the fields of BF2D", sheet.Quote(text))
			}
		}
		each, err := bar.Weigh(l.Steel.Size, l.Length)
		if err != nil {
			return nil, at("%s", err)
		}
		begin := out.Len()
		fmt.Fprintf(&out, "BF2D@Hj%s@r%s@i%s@p%s@l%s@n%d@e%.3f@d%s@g%s@s%s@v@G",
			l.Job, l.List, l.Revision, l.Mark, mm(l.Length), l.Pieces, each.Kilograms(),
			strings.TrimSuffix(string(l.Steel.Size), "mm"), l.Steel.Grade, mm(l.Shape.Pin))
		if len(l.Shape.Legs) == 0 {
			fmt.Fprintf(&out, "l%s@w0@", mm(l.Length))
		}
		for _, leg := range l.Shape.Legs {
			if leg.Radius != 0 {
				fmt.Fprintf(&out, "r%s@w%s@", mm(leg.Radius), angle(leg.Turn))
			} else {
				fmt.Fprintf(&out, "l%s@w%s@", mm(leg.Length), angle(leg.Turn))
			}
		}
		out.WriteByte('C')
		fmt.Fprintf(&out, "%d@\r\n", Checksum(out.Bytes()[begin:]))
	}
	return out.Bytes(), nil
}

// mm writes a length in millimetres, exactly.
func mm(l bar.Length) string { return decimal(int64(l), 6) }

// angle writes tenths of a degree in degrees.
func angle(tenths int32) string { return decimal(int64(tenths), 1) }

// decimal writes n with so many decimals, without zeros at their end.
func decimal(n int64, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	digits := fmt.Sprintf("%0*d", places+1, n)
	whole, dec := digits[:len(digits)-places], strings.TrimRight(digits[len(digits)-places:], "0")
	if dec != "" {
		dec = "." + dec
	}
	return sign + whole + dec
}
