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
	return weigh(s, total, 1000)
}

// LeastMass is the least that bars of size s, together total long, may weigh by their standard: 94 %
// of the nominal for ASTM (too heavy is no ground for rejection), 95.5 % for EN and 94 % for its 6
// and 8 mm. It fails as Weigh does, and on CSA sizes, of which no tolerance was read.
func LeastMass(s Size, total Length) (Mass, error) {
	r, ok := s.Row()
	if ok && r.UnderPermille == 0 {
		return 0, fmt.Errorf("no mass tolerance is known for %s (%s)", s, r.System)
	}
	return weigh(s, total, uint64(1000-r.UnderPermille))
}

// weigh is permille thousandths of the nominal mass.
func weigh(s Size, total Length, permille uint64) (Mass, error) {
	r, ok := s.Row()
	if !ok {
		return 0, fmt.Errorf("cannot weigh bars of unknown size %s", quote(string(s)))
	}
	if total < 0 {
		return 0, fmt.Errorf("cannot weigh a negative length of %s", s)
	}
	// nm x g/m = 1e-9 g = 1e-3 ug; nm x 0.001 lb/ft = pounds / 1000 nm per foot
	factor, divisor := uint64(r.GramsPerMetre), uint64(1000)
	if r.System == ASTM {
		factor, divisor = uint64(r.MilliPoundsPerFoot)*uint64(Pound), 1000*uint64(Foot)
	}
	factor, divisor = factor*permille, divisor*1000
	hi, lo := bits.Mul64(uint64(total), factor)
	lo, carry := bits.Add64(lo, divisor/2, 0)
	if hi += carry; hi < divisor {
		if q, _ := bits.Div64(hi, lo, divisor); q <= math.MaxInt64 {
			return Mass(q), nil
		}
	}
	return 0, fmt.Errorf("%s of %s is too heavy to count", total.Millimetres(), s)
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

// maxMass is the most that ParseMass takes.
const maxMass = 1_000_000 * Tonne

// ParseMass reads a mass: 3,000 lb, 1360 kg, 217.6 kg, 1.36 t. Commas group thousands of pounds; with
// kilograms and tonnes a comma is a decimal sign, and 1,360 kg, which may be either, is refused. So
// are a number without a unit, tons (2,000 lb or 1000 kg), nothing at all, and more than a million
// tonnes. The result is exact; it must come out in whole micrograms.
func ParseMass(s string) (Mass, error) {
	t := strings.ToLower(strings.TrimSpace(strings.ReplaceAll(s, "\u00a0", " ")))
	i := strings.IndexFunc(t, func(r rune) bool { return !strings.ContainsRune("0123456789.,", r) })
	switch i {
	case 0:
		return 0, fmt.Errorf("mass %s is not readable: write it like 3,000 lb or 1360 kg", quote(s))
	case -1:
		if t == "" {
			return 0, fmt.Errorf("mass is empty: write it like 3,000 lb or 1360 kg")
		}
		return 0, fmt.Errorf("mass %s has no unit: write %s lb or %s kg", quote(s), t, t)
	}
	number, word := t[:i], strings.TrimSpace(t[i:])
	unit, ok := massUnits[word]
	if !ok {
		return 0, fmt.Errorf("mass %s: %s is no unit of mass (a ton is 2,000 lb here and 1000 kg there): write lb, kg or t", quote(s), quote(word))
	}
	if unit == Pound {
		if number = ungroup(number); strings.Contains(number, ",") {
			return 0, fmt.Errorf("mass %s: a comma in pounds stands before three digits: write it like 26,321 lb or 26.5 lb", quote(s))
		}
	}
	d, err := readDecimal(number)
	if err != nil {
		return 0, fmt.Errorf("mass %s: %w", quote(s), err)
	}
	// As with lengths: a point is decimal, unless grams of a few kilograms would be odd.
	odd := unit == Kilogram && d.whole < 100
	if (d.point == ',' || odd) && d.ambiguous(int64(unit), int64(maxMass)) {
		return 0, fmt.Errorf("mass %s: %s", quote(s), d.readings())
	}
	n, err := d.times(int64(unit))
	switch {
	case err != nil:
		return 0, fmt.Errorf("mass %s: %w", quote(s), err)
	case n > int64(maxMass):
		return 0, fmt.Errorf("mass %s is over a million tonnes: is the unit right?", quote(s))
	case n == 0:
		return 0, fmt.Errorf("mass %s: a mass is more than nothing", quote(s))
	}
	return Mass(n), nil
}

// ungroup takes the commas out of 26,321 and 1,000.5, and leaves what is not grouped so.
func ungroup(s string) string {
	whole, frac, point := strings.Cut(s, ".")
	groups := strings.Split(whole, ",")
	if len(groups[0]) < 1 || len(groups[0]) > 3 || groups[0] == "0" {
		return s
	}
	for _, g := range groups[1:] {
		if len(g) != 3 {
			return s
		}
	}
	whole = strings.Join(groups, "")
	if point {
		whole += "." + frac
	}
	return whole
}
