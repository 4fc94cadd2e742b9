package bar

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// MaxLength is the longest length that ParseLength takes: longer than any bar, and than the
// straightened bar of a coil that a shear line can handle as one piece.
const MaxLength = 1000 * Metre

// unitWords are the units that ParseLength knows, as they are written.
var unitWords = map[string]Length{
	"mm": Millimetre, "millimetre": Millimetre, "millimetres": Millimetre,
	"millimeter": Millimetre, "millimeters": Millimetre,
	"cm": 10 * Millimetre, "centimetre": 10 * Millimetre, "centimetres": 10 * Millimetre,
	"centimeter": 10 * Millimetre, "centimeters": 10 * Millimetre,
	"m": Metre, "metre": Metre, "metres": Metre, "meter": Metre, "meters": Metre,
	"in": Inch, "inch": Inch, "inches": Inch, `"`: Inch,
	"ft": Foot, "foot": Foot, "feet": Foot, "'": Foot,
}

// ParseLength reads a length as a bar list writes it: feet and inches (14'-10", 14' 10 1/2, 14-10,
// 11-06, 60', 14.5 ft, 178 in) or metric (4521 mm, 451.2 cm, 4.521 m, 4,521 m). Typographic primes
// and vulgar fractions (14′-10½″) are read too. The result is exact: a fraction of an inch has a
// denominator of 2, 4, 8, 16, 32 or 64, and a decimal must come out in whole nanometres.
//
// It refuses a number without a unit, zero, anything over MaxLength, inches of 12 or more after
// feet, and a comma that may be decimal or may group thousands (4,521 mm; of points only those like
// 4.521 mm). The error says what to write instead.
func ParseLength(s string) (Length, error) { return parseLength(s, "") }

// ParseLengthIn reads a length as ParseLength does, but a bare number is taken in unit: "mm", "cm",
// "m", "in" or "ft". It serves tables that have their unit in the head or in a column of its own.
// A length that carries its own unit keeps it. Feet and inches without marks (14-10) are read only
// where unit is "in" or "ft".
func ParseLengthIn(s, unit string) (Length, error) {
	switch unit {
	case "mm", "cm", "m", "in", "ft":
		return parseLength(s, unit)
	}
	return 0, fmt.Errorf("unknown unit %s: write mm, cm, m, in or ft", quote(unit))
}

// parseLength reads s; a bare number takes unit, or is refused if unit is "".
func parseLength(s, unit string) (Length, error) {
	toks, err := lengthTokens(s)
	if err != nil {
		return 0, err
	}
	p := lengthParser{text: strings.TrimSpace(s), toks: toks, bare: unit}
	l, err := p.length()
	if err != nil {
		return 0, err
	}
	switch {
	case l == 0:
		return 0, p.fail("a length is more than nothing")
	case l > MaxLength:
		return 0, p.fail("it is over 1000 m: is the unit right?")
	}
	return l, nil
}

// lengthToken is a number ('0'), a unit ('u'), or one of the signs '-' and '/'.
type lengthToken struct {
	kind byte
	text string
}

// lengthFold rewrites the typographic characters of lengths as plain ones.
var lengthFold = strings.NewReplacer(
	"′", "'", "’", "'", "‘", "'", "´", "'", "`", "'", "ʹ", "'",
	"″", `"`, "”", `"`, "“", `"`, "„", `"`, "ʺ", `"`, "''", `"`, "′′", `"`, "’’", `"`,
	"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8",
	"⁄", "/", "−", "-", "–", "-", "—", "-", "‐", "-", "‑", "-",
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\t", " ",
)

// lengthTokens cuts s into tokens.
func lengthTokens(s string) ([]lengthToken, error) {
	if len(s) > 100 {
		return nil, fmt.Errorf("length %s is too long a text: write it like 14'-10\" or 4521 mm", quote(s))
	}
	t := strings.ToLower(lengthFold.Replace(s))
	var toks []lengthToken
	for i := 0; i < len(t); {
		start, c := i, t[i]
		switch {
		case c == ' ':
			i++
			continue
		case isDigit(c):
			for i < len(t) && (isDigit(t[i]) || (t[i] == '.' || t[i] == ',') && i+1 < len(t) && isDigit(t[i+1])) {
				i++
			}
			toks = append(toks, lengthToken{'0', t[start:i]})
		case (c == '.' || c == ',') && i+1 < len(t) && isDigit(t[i+1]):
			for i++; i < len(t) && isDigit(t[i]); i++ {
			}
			toks = append(toks, lengthToken{'0', "0" + t[start:i]})
		case c == '-' || c == '/':
			i++
			toks = append(toks, lengthToken{c, t[start:i]})
		case c == '\'' || c == '"':
			i++
			toks = append(toks, lengthToken{'u', t[start:i]})
		case 'a' <= c && c <= 'z':
			for i < len(t) && 'a' <= t[i] && t[i] <= 'z' {
				i++
			}
			word := t[start:i]
			if _, ok := unitWords[word]; !ok {
				return nil, fmt.Errorf("length %s: %s is no unit of length: write mm, cm, m, in or ft", quote(s), quote(word))
			}
			if i < len(t) && t[i] == '.' { // "ft." and "in."
				i++
			}
			toks = append(toks, lengthToken{'u', word})
		default:
			_, n := utf8.DecodeRuneInString(t[i:])
			return nil, fmt.Errorf("length %s: unexpected %s: write it like 14'-10\" or 4521 mm", quote(s), quote(t[i:i+n]))
		}
	}
	if len(toks) == 0 {
		return nil, fmt.Errorf("length is empty: write it like 14'-10\" or 4521 mm")
	}
	return toks, nil
}

// lengthParser walks the tokens of one length.
type lengthParser struct {
	text string
	toks []lengthToken
	bare string // unit of a bare number, "" if there is none
}

// next is the kind of the token n places ahead, 0 past the end.
func (p *lengthParser) next(n int) byte {
	if n < len(p.toks) {
		return p.toks[n].kind
	}
	return 0
}

// unit is the unit of the token n places ahead, 0 if it is none.
func (p *lengthParser) unit(n int) Length {
	if p.next(n) == 'u' {
		return unitWords[p.toks[n].text]
	}
	return 0
}

func (p *lengthParser) fail(format string, args ...any) error {
	return fmt.Errorf("length %s: "+format, append([]any{quote(p.text)}, args...)...)
}

// length reads the whole text.
func (p *lengthParser) length() (Length, error) {
	if p.next(0) == '-' {
		return 0, p.fail("a length has no sign: write it like 14'-10\" or 4521 mm")
	}
	q, err := p.quantity()
	if err != nil {
		return 0, err
	}
	unit := p.unit(0)
	switch {
	case unit != 0:
		p.toks = p.toks[1:]
	case p.next(0) == '-':
		return p.dashed(q)
	case len(p.toks) > 0:
		return 0, p.fail("not readable: write it like 14'-10\" or 4521 mm")
	case p.bare == "":
		return 0, p.fail("no unit: is it %s mm, %s m, %s in or %s ft?", q, q, q, q)
	default:
		unit = unitWords[p.bare]
	}
	l, err := p.in(q, unit)
	if err != nil || len(p.toks) == 0 {
		return l, err
	}
	if unit != Foot {
		return 0, p.fail("nothing may follow the unit here: write it like 14'-10\" or 4521 mm")
	}
	if !q.plain() {
		return 0, p.fail("parts of a foot and inches together: write whole feet and inches, like 14'-6\"")
	}
	if p.next(0) == '-' {
		p.toks = p.toks[1:]
	}
	inches, err := p.inches()
	return l + inches, err
}

// dashed reads the rest of feet-inches without a foot mark: 14-10 1/2.
func (p *lengthParser) dashed(feet quantity) (Length, error) {
	p.toks = p.toks[1:]
	if !feet.plain() {
		return 0, p.fail("not readable: write it like 14'-6\" or 14.5 ft")
	}
	if p.bare == "mm" || p.bare == "cm" || p.bare == "m" {
		return 0, p.fail("feet and inches without marks where %s are expected: write them like 14'-10\"", p.bare)
	}
	if p.next(0) == '0' && p.next(1) == '/' {
		// 10-1/2" is ten and a half inches to everyone who writes inches with a hyphen; without
		// the inch mark it may as well be ten feet and half an inch.
		if err := p.fraction(&feet); err != nil {
			return 0, err
		}
		if len(p.toks) == 1 && p.unit(0) == Inch {
			return p.in(feet, Inch)
		}
		return 0, p.fail("may be inches or feet: write %s\" or %s'-0 %d/%d\"", feet, feet.text, feet.num, feet.den)
	}
	l, err := p.in(feet, Foot)
	if err != nil {
		return 0, err
	}
	inches, err := p.inches()
	return l + inches, err
}

// inches reads what follows feet, to the end of the text.
func (p *lengthParser) inches() (Length, error) {
	q, err := p.quantity()
	if err != nil {
		return 0, err
	}
	if q.plain() && p.next(0) == '-' && p.next(1) == '0' && p.next(2) == '/' { // 14'-10-1/2"
		p.toks = p.toks[1:]
		if err := p.fraction(&q); err != nil {
			return 0, err
		}
	}
	if p.unit(0) == Inch {
		p.toks = p.toks[1:]
	}
	if len(p.toks) > 0 {
		return 0, p.fail("not readable after the inches: write it like 14'-10 1/2\"")
	}
	if q.whole >= 12 {
		return 0, p.fail("%d inches after feet: 12 inches are another foot", q.whole)
	}
	return p.in(q, Inch)
}

// quantity is a number as written, with decimals or with a fraction.
type quantity struct {
	decimal
	num, den int64 // fraction besides; den 0 if none
}

// plain says that q is a whole number and nothing else.
func (q quantity) plain() bool { return q.point == 0 && q.den == 0 }

// String shows q in an error.
func (q quantity) String() string {
	switch {
	case q.den == 0:
		return q.text
	case q.text == "":
		return fmt.Sprintf("%d/%d", q.num, q.den)
	}
	return fmt.Sprintf("%s %d/%d", q.text, q.num, q.den)
}

// quantity reads a decimal, a whole number, a fraction, or a whole number and a fraction.
func (p *lengthParser) quantity() (quantity, error) {
	var q quantity
	if p.next(0) != '0' {
		return q, p.fail("a number is missing: write it like 14'-10\" or 4521 mm")
	}
	if p.next(1) == '/' {
		return q, p.fraction(&q)
	}
	var err error
	if q.decimal, err = readDecimal(p.toks[0].text); err != nil {
		return q, p.fail("%w", err)
	}
	p.toks = p.toks[1:]
	if p.next(0) == '0' && p.next(1) == '/' {
		if q.point != 0 {
			return q, p.fail("decimals and a fraction together: write one of them")
		}
		err = p.fraction(&q)
	}
	return q, err
}

// fraction reads num/den into q.
func (p *lengthParser) fraction(q *quantity) error {
	if p.next(2) != '0' {
		return p.fail("the fraction has no lower number: write it like 1/2")
	}
	num, err1 := strconv.ParseInt(p.toks[0].text, 10, 64)
	den, err2 := strconv.ParseInt(p.toks[2].text, 10, 64)
	if err1 != nil || err2 != nil || den < 2 || den > 64 || den&(den-1) != 0 || num >= den {
		return p.fail("%s/%s is no fraction of a rule: write halves, 4ths, 8ths, 16ths, 32nds or 64ths below one",
			p.toks[0].text, p.toks[2].text)
	}
	p.toks = p.toks[3:]
	q.num, q.den = num, den
	return nil
}

// in is q of unit, exactly.
func (p *lengthParser) in(q quantity, unit Length) (Length, error) {
	// Commas are decimal signs in half the world and group thousands in the other, so one that may
	// do either is refused. A point groups thousands where Spanish is written; as a decimal point
	// it is believed, unless it would make a bar of some millimetres and a few micrometres.
	odd := unit == Millimetre && q.whole < 100
	if (q.point == ',' || odd) && q.ambiguous(int64(unit), int64(MaxLength)) {
		return 0, p.fail("%s", q.readings())
	}
	if q.den != 0 && unit != Inch && unit != Foot {
		return 0, p.fail("fractions are for feet and inches: write a metric length with decimals")
	}
	n, err := q.times(int64(unit))
	if err != nil {
		return 0, p.fail("%w", err)
	}
	if n > int64(MaxLength) {
		return 0, p.fail("it is over 1000 m: is the unit right?")
	}
	l := Length(n)
	if q.den != 0 {
		l += unit / Length(q.den) * Length(q.num) // an inch is 64 x 396 875 nm
	}
	return l, nil
}

// Feet prints l in feet, inches and fractions of an inch: 14'-10 1/2", 60'-0", and under a foot 8".
// Fractions go to 1/64 if that says l exactly; any other length is rounded to the nearest 1/16, and
// Exact tells which it was.
func (l Length) Feet() string {
	neg, n := l.abs()
	const inch64 = uint64(Inch / 64)
	parts := (n + 2*inch64) / (4 * inch64) * 4 // nearest 1/16, counted in 64ths
	if n%inch64 == 0 {
		parts = n / inch64
	}
	feet, parts := parts/(12*64), parts%(12*64)
	inches, num, den := parts/64, parts%64, uint64(64)
	for num != 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	b := make([]byte, 0, 24)
	if neg && (feet|inches|num) != 0 {
		b = append(b, '-')
	}
	if feet > 0 {
		b = strconv.AppendUint(b, feet, 10)
		b = append(b, "'-"...)
	}
	if feet > 0 || inches > 0 || num == 0 {
		b = strconv.AppendUint(b, inches, 10)
		if num != 0 {
			b = append(b, ' ')
		}
	}
	if num != 0 {
		b = strconv.AppendUint(b, num, 10)
		b = append(b, '/')
		b = strconv.AppendUint(b, den, 10)
	}
	return string(append(b, '"'))
}

// Millimetres prints l in millimetres, to a tenth where needed: 4521 mm, 3505.2 mm.
func (l Length) Millimetres() string {
	neg, n := l.abs()
	const tenth = uint64(Millimetre / 10)
	n = (n + tenth/2) / tenth
	b := make([]byte, 0, 24)
	if neg && n != 0 {
		b = append(b, '-')
	}
	b = strconv.AppendUint(b, n/10, 10)
	if n%10 != 0 {
		b = append(b, '.', byte('0'+n%10))
	}
	return string(append(b, " mm"...))
}

// Text prints l in the units of a plant, by Feet or by Millimetres.
func (l Length) Text(u Units) string {
	if u == Imperial {
		return l.Feet()
	}
	return l.Millimetres()
}

// Exact says whether Text(u) tells l to the nanometre: a multiple of 1/64 in, or of 0.1 mm.
func (l Length) Exact(u Units) bool {
	if u == Imperial {
		return l%(Inch/64) == 0
	}
	return l%(Millimetre/10) == 0
}

// MM is l in millimetres, for tables and JSON; under 9000 km it is good to the nanometre.
func (l Length) MM() float64 { return float64(l) / float64(Millimetre) }

// abs is the sign and size of l, also of the least int64.
func (l Length) abs() (neg bool, n uint64) {
	if l < 0 {
		return true, -uint64(l)
	}
	return false, uint64(l)
}
