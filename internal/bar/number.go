package bar

import (
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
	"unicode"
)

// decimal is a number without a sign, as it was written and held exactly.
type decimal struct {
	text   string
	whole  int64
	frac   string // decimals without trailing zeros
	places int    // decimals as written
	point  byte   // '.' or ',', 0 if there are no decimals
}

// readDecimal reads digits with at most one decimal point or comma.
func readDecimal(s string) (decimal, error) {
	d := decimal{text: s}
	whole, frac := s, ""
	if i := strings.IndexAny(s, ".,"); i >= 0 {
		whole, frac, d.point = s[:i], s[i+1:], s[i]
		if strings.ContainsAny(frac, ".,") {
			return d, fmt.Errorf("%s has more than one point or comma: write it without grouping thousands", quote(s))
		}
	}
	n, err := strconv.ParseUint(whole, 10, 63)
	if err != nil || d.point != 0 && (frac == "" || strings.Trim(frac, "0123456789") != "") {
		return d, fmt.Errorf("%s is not a number that can be", quote(s))
	}
	d.whole, d.places, d.frac = int64(n), len(frac), strings.TrimRight(frac, "0")
	return d, nil
}

// times is d x unit if that is whole.
func (d decimal) times(unit int64) (int64, error) {
	if d.whole > math.MaxInt64/unit-1 {
		return 0, fmt.Errorf("%s is far too much", quote(d.text))
	}
	if len(d.frac) > 18 { // 1e18 is the largest power of ten of an int64
		return 0, fmt.Errorf("%s has too many decimals", quote(d.text))
	}
	n, scale, part := d.whole*unit, uint64(1), uint64(0)
	for i := range len(d.frac) {
		scale, part = scale*10, part*10+uint64(d.frac[i]-'0')
	}
	hi, lo := bits.Mul64(part, uint64(unit))
	q, rest := bits.Div64(hi, lo, scale) // part < scale, so q < unit
	if rest != 0 {
		return 0, fmt.Errorf("%s has more decimals than can be held exactly", quote(d.text))
	}
	return n + int64(q), nil
}

// ambiguous says whether the comma or point of d may as well group thousands of unit, which would
// be at most limit: three digits follow it, and one to three stand before it.
func (d decimal) ambiguous(unit, limit int64) bool {
	if d.places != 3 || d.whole == 0 || d.whole > 999 {
		return false
	}
	frac, _ := strconv.ParseInt(d.text[len(d.text)-3:], 10, 64) // three digits
	return d.whole*1000+frac <= limit/unit
}

// readings tells both readings of an ambiguous d.
func (d decimal) readings() string {
	frac := d.frac
	if frac == "" {
		frac = "0"
	}
	return fmt.Sprintf("%s may mean %d%s or %d.%s: write it without grouping thousands",
		d.text, d.whole, d.text[len(d.text)-3:], d.whole, frac)
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

// quote shows what was written in an error: as it stands but for control characters, since lengths
// are full of quotation marks, and shortened so that a whole file does not end up in it.
func quote(s string) string {
	var b strings.Builder
	b.WriteString("“")
	n := 0
	for _, r := range s {
		if n++; n > 40 {
			b.WriteString("…")
			break
		}
		if !unicode.IsPrint(r) {
			r = '�'
		}
		b.WriteRune(r)
	}
	b.WriteString("”")
	return b.String()
}
