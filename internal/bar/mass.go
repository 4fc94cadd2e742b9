package bar

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// Units of Mass. The pound is exact by definition (0.45359237 kg).
const (
	Microgram Mass = 1
	Gram      Mass = 1_000_000
	Kilogram  Mass = 1000 * Gram
	Tonne     Mass = 1000 * Kilogram
	Pound     Mass = 453_592_370
)

// Weigh is the nominal mass of bars of size s that are together total long. It is the table's mass
// per length times total, computed whole and rounded half up to the microgram: pounds per foot rule
// for ASTM sizes, kilograms per metre for EN and CSA. It fails on an unknown size, a negative length
// and a mass that Mass cannot hold.
func Weigh(s Size, total Length) (Mass, error) {
	r, ok := s.Row()
	if !ok {
		return 0, fmt.Errorf("cannot weigh bars of unknown size %s", quote(string(s)))
	}
	if total < 0 {
		return 0, fmt.Errorf("cannot weigh a negative length of %s", s)
	}
	// nm x g/m = 1e-9 g = 1e-3 ug
	factor, divisor := uint64(r.GramsPerMetre), uint64(1000)
	if r.System == ASTM {
		// nm x 0.001 lb/ft, in ug
		factor, divisor = uint64(r.MilliPoundsPerFoot)*uint64(Pound), 1000*uint64(Foot)
	}
	hi, lo := bits.Mul64(uint64(total), factor)
	lo, carry := bits.Add64(lo, divisor/2, 0)
	if hi += carry; hi >= divisor {
		return 0, fmt.Errorf("%s of %s is too heavy to count", total.Millimetres(), s)
	}
	q, _ := bits.Div64(hi, lo, divisor)
	if q > math.MaxInt64 {
		return 0, fmt.Errorf("%s of %s is too heavy to count", total.Millimetres(), s)
	}
	return Mass(q), nil
}

// Pounds is m in pounds, for tables and JSON.
func (m Mass) Pounds() float64 { return float64(m) / float64(Pound) }

// Kilograms is m in kilograms, for tables and JSON.
func (m Mass) Kilograms() float64 { return float64(m) / float64(Kilogram) }

// Text prints m in the units of a plant: whole pounds (26,321 lb) or kilograms with one decimal
// (217.6 kg), rounded half away from zero.
func (m Mass) Text(u Units) string {
	neg, n := m < 0, uint64(m)
	if neg {
		n = -n
	}
	unit, tail := uint64(Kilogram/10), ""
	if u == Imperial {
		unit = uint64(Pound)
	}
	n = (n + unit/2) / unit
	neg = neg && n != 0
	if u == Imperial {
		tail = " lb"
	} else {
		tail = "." + strconv.FormatUint(n%10, 10) + " kg"
		n /= 10
	}
	digits := strconv.FormatUint(n, 10)
	var b strings.Builder
	if neg {
		b.WriteByte('-')
	}
	for i := range len(digits) {
		// Kilograms stay ungrouped: where they are used, a comma is a decimal sign.
		if u == Imperial && i > 0 && (len(digits)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteByte(digits[i])
	}
	b.WriteString(tail)
	return b.String()
}

// Round gives each part in whole units so that they add up to the rounded total, as the lines of a
// paper must. The total is rounded half up; every part is its floor or one more, and those with the
// largest remainders get the one, the earlier of equal ones first. The unit is more than zero.
func Round(parts []Mass, unit Mass) []int64 {
	out := make([]int64, len(parts))
	rest := make([]Mass, len(parts))
	order := make([]int, len(parts))
	var up int64 // whole units in the remainders
	var sum Mass // remainders beyond those
	for i, p := range parts {
		q, r := p/unit, p%unit
		if r < 0 {
			q, r = q-1, r+unit
		}
		out[i], rest[i], order[i] = int64(q), r, i
		if sum >= unit-r {
			up++
			sum -= unit - r
		} else {
			sum += r
		}
	}
	if sum >= unit-sum {
		up++
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(rest[b], rest[a]) })
	for _, i := range order[:up] {
		out[i]++
	}
	return out
}

// massUnits are the units that ParseMass knows.
var massUnits = map[string]Mass{
	"lb": Pound, "lbs": Pound, "lb.": Pound, "lbs.": Pound, "pound": Pound, "pounds": Pound,
	"kg": Kilogram, "kgs": Kilogram, "kilogram": Kilogram, "kilograms": Kilogram, "kilo": Kilogram, "kilos": Kilogram,
	"t": Tonne, "tonne": Tonne, "tonnes": Tonne,
}

// ParseMass reads a mass: 3,000 lb, 1360 kg, 217.6 kg, 1.36 t. Commas group thousands of pounds; with
// kilograms and tonnes a comma is a decimal sign, and 1,360 kg, which may be either, is refused. So
// are a number without a unit, "tons" (2,000 lb or 1,000 kg), nothing at all, and more than a million
// tonnes. The result is exact; it must come out in whole micrograms.
func ParseMass(s string) (Mass, error) {
	t := strings.ToLower(strings.TrimSpace(strings.ReplaceAll(s, "\u00a0", " ")))
	i := strings.IndexFunc(t, func(r rune) bool { return r != '.' && r != ',' && (r < '0' || r > '9') })
	if t == "" || i == 0 {
		return 0, fmt.Errorf("mass %s is not readable: write it like 3,000 lb or 1360 kg", quote(s))
	}
	if i < 0 {
		return 0, fmt.Errorf("mass %s has no unit: write %s lb or %s kg", quote(s), t, t)
	}
	number, word := t[:i], strings.TrimSpace(t[i:])
	unit, ok := massUnits[word]
	if !ok {
		if word == "ton" || word == "tons" {
			return 0, fmt.Errorf("mass %s: a ton is 2,000 lb here and 1000 kg there: write lb, kg or t", quote(s))
		}
		return 0, fmt.Errorf("mass %s: %s is no unit of mass: write lb, kg or t", quote(s), quote(word))
	}
	number, err := plainNumber(number, unit == Pound)
	if err != nil {
		return 0, fmt.Errorf("mass %s: %w", quote(s), err)
	}
	whole, dec, _ := strings.Cut(number, ".")
	dec = strings.TrimRight(dec, "0")
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil || n > int64(1_000_000*Tonne/unit) {
		return 0, fmt.Errorf("mass %s is over a million tonnes: is the unit right?", quote(s))
	}
	m := Mass(n) * unit
	if dec != "" {
		scale, part := uint64(1), uint64(0)
		if len(dec) > 12 {
			return 0, fmt.Errorf("mass %s is finer than a microgram: write fewer decimals", quote(s))
		}
		for j := range len(dec) {
			scale, part = scale*10, part*10+uint64(dec[j]-'0')
		}
		hi, lo := bits.Mul64(part, uint64(unit))
		q, rest := bits.Div64(hi, lo, scale)
		if rest != 0 {
			return 0, fmt.Errorf("mass %s is not a whole number of micrograms: write fewer decimals", quote(s))
		}
		m += Mass(q)
	}
	if m == 0 {
		return 0, fmt.Errorf("mass %s is zero: a mass is more than nothing", quote(s))
	}
	return m, nil
}

// plainNumber takes the grouping commas out of s, or makes its decimal comma a point.
func plainNumber(s string, grouped bool) (string, error) {
	whole, dec, point := strings.Cut(s, ".")
	if strings.ContainsAny(dec, ".,") || point && dec == "" || whole == "" {
		return "", fmt.Errorf("not readable: write it like 3,000 lb or 217.6 kg")
	}
	groups := strings.Split(whole, ",")
	if len(groups) == 1 {
		return s, nil
	}
	thousands := len(groups[0]) >= 1 && len(groups[0]) <= 3 && groups[0][0] != '0'
	for _, g := range groups[1:] {
		thousands = thousands && len(g) == 3
	}
	switch {
	case thousands && (grouped || point || len(groups) > 2):
		return strings.Join(groups, "") + s[len(whole):], nil
	case thousands:
		return "", fmt.Errorf("%s may mean %s%s or %s.%s: write it without grouping thousands", s, groups[0], groups[1], groups[0], groups[1])
	case len(groups) == 2 && !point && groups[0] != "" && groups[1] != "":
		return groups[0] + "." + groups[1], nil
	}
	return "", fmt.Errorf("not readable: write it like 3,000 lb or 217.6 kg")
}
