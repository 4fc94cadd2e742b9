package bar

import (
	"fmt"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// The limits of a bent shape. They keep a drawing readable and arithmetic safe; a bar bent further
// than half a turn at one pin would run into itself.
const (
	MaxLegs = 100
	maxBend = 1800 // tenths of a degree at one bend
	maxArc  = 3600 // tenths of a degree of one arc
)

// arc says whether l is an arc.
func (l Leg) arc() bool { return l.Radius != 0 }

// Straight says whether a bar of shape s needs no bending.
func (s Shape) Straight() bool { return s.Bends() == 0 }

// Same says whether bars of two shapes are alike: bent alike at alike pins, by their legs where both
// have them, else by code and edition.
func (s Shape) Same(o Shape) bool {
	if s.Pin != o.Pin {
		return false
	}
	if len(s.Legs) > 0 && len(o.Legs) > 0 {
		return slices.Equal(s.Legs, o.Legs)
	}
	return len(s.Legs) == len(o.Legs) && s.Code == o.Code && s.Edition == o.Edition
}

// Bends counts the bends of s; an arc is one.
func (s Shape) Bends() int {
	n := 0
	for _, l := range s.Legs {
		if l.Turn != 0 {
			n++
		}
	}
	return n
}

// Outer is the sum of the outer dimensions of the straight legs and of the arcs along their inner
// side, as BVBS records sum it. The bar is cut shorter, since it runs along the centre line of its
// bends: see BS8666Length. It is 0 of a shape that Check refuses.
func (s Shape) Outer() Length {
	if s.Check() != nil {
		return 0
	}
	var sum Length
	for _, l := range s.Legs {
		if l.arc() {
			sum += arcLength(l.Radius, l.Turn)
		} else {
			sum += l.Length
		}
	}
	return sum
}

// pi15 is pi x 1e15: good to a nanometre for what MaxLength and maxArc allow.
const pi15 = 3_141_592_653_589_793

// arcLength is the length of an arc of radius r over turn tenths of a degree, rounded to the
// nanometre.
func arcLength(r Length, turn int32) Length {
	if turn < 0 {
		turn = -turn
	}
	return timesPi(uint64(r)*uint64(turn), 1800)
}

// timesPi is n x pi / d, rounded to the nearest whole number, for n up to 4e15 and d from 1 to 1800.
func timesPi(n, d uint64) Length {
	hi, lo := bits.Mul64(n, pi15)
	d *= 1e15
	lo, carry := bits.Add64(lo, d/2, 0)
	q, _ := bits.Div64(hi+carry, lo, d)
	return Length(q)
}

// Check says what is wrong with the legs of s, if anything: too many, a leg of no length, a leg that
// is both straight and curved, a bend of more than 180 degrees or an arc of more than 360, a bend
// after the last leg.
func (s Shape) Check() error {
	if len(s.Legs) > MaxLegs {
		return fmt.Errorf("shape has %d legs, over %d", len(s.Legs), MaxLegs)
	}
	for i, l := range s.Legs {
		n := i + 1
		switch {
		case l.arc() && l.Length != 0:
			return fmt.Errorf("leg %d is both straight and an arc", n)
		case l.arc() && (l.Radius < 0 || l.Radius > MaxLength):
			return fmt.Errorf("leg %d: an arc of inner radius %s", n, l.Radius.Millimetres())
		case l.arc() && (l.Turn == 0 || l.Turn < -maxArc || l.Turn > maxArc):
			return fmt.Errorf("leg %d: an arc turns by more than 0 and at most 360 degrees, not %s", n, degrees(l.Turn))
		case l.arc():
		case l.Length <= 0 || l.Length > MaxLength:
			return fmt.Errorf("leg %d: a straight leg of %s", n, l.Length.Millimetres())
		case l.Turn < -maxBend || l.Turn > maxBend:
			return fmt.Errorf("leg %d: a bend turns by at most 180 degrees, not %s", n, degrees(l.Turn))
		case n == len(s.Legs) && l.Turn != 0:
			return fmt.Errorf("leg %d is the last and has a bend after it", n)
		}
	}
	return nil
}

// Text prints the legs of s in the order of bending: 1'-6" [90] 8'-6" [90] 1'-6". Angles are in
// degrees and turn left; once one of them turns right, each has its side: [135L], [90R]. An arc
// stands in round brackets with its inner radius and its sweep: 2'-0" (R 12'-0" 60L) 2'-0". Without
// legs it is "".
func (s Shape) Text(u Units) string {
	sides := false
	for _, l := range s.Legs {
		sides = sides || l.Turn < 0
	}
	var b strings.Builder
	for i, l := range s.Legs {
		if i > 0 {
			b.WriteByte(' ')
		}
		if l.arc() {
			b.WriteString("(R " + l.Radius.Text(u) + " " + degrees(l.Turn) + side(l.Turn) + ")")
			continue
		}
		b.WriteString(l.Length.Text(u))
		// Nothing is bent where an arc runs on from a straight leg; between straight legs the
		// bend must show, or they read as one.
		straightNext := i+1 < len(s.Legs) && !s.Legs[i+1].arc()
		if l.Turn != 0 || straightNext {
			b.WriteString(" [" + degrees(l.Turn))
			if sides {
				b.WriteString(side(l.Turn))
			}
			b.WriteByte(']')
		}
	}
	return b.String()
}

// degrees prints tenths of a degree without their sign: 90, 22.5.
func degrees(tenths int32) string {
	n := int64(tenths)
	if n < 0 {
		n = -n
	}
	if n%10 == 0 {
		return strconv.FormatInt(n/10, 10)
	}
	return strconv.FormatInt(n/10, 10) + "." + strconv.FormatInt(n%10, 10)
}

// side is the letter of a turn's side, none for no turn.
func side(turn int32) string {
	switch {
	case turn > 0:
		return "L"
	case turn < 0:
		return "R"
	}
	return ""
}

// ParseBends is the inverse of Shape.Text. It reads lengths as ParseLength does, angles with or
// without a side and a degree sign, and a minus for the right: [90], [135R], [-135], [90°L]. Of ""
// the legs are nil.
func ParseBends(s string) ([]Leg, error) {
	if len(s) > 8000 {
		return nil, fmt.Errorf("bends %s: too long a text", quote(s))
	}
	var legs []Leg
	rest := strings.TrimSpace(s)
	open := false // a bend is waiting for its next leg
	for rest != "" {
		if len(legs) == MaxLegs {
			return nil, fmt.Errorf("bends %s: over %d legs", quote(s), MaxLegs)
		}
		n := len(legs) + 1
		if rest[0] == '(' {
			body, after, ok := strings.Cut(rest[1:], ")")
			if !ok {
				return nil, fmt.Errorf("leg %d: the arc has no closing bracket: write it like (R 12'-0\" 60L)", n)
			}
			leg, err := parseArc(body)
			if err != nil {
				return nil, fmt.Errorf("leg %d: %w", n, err)
			}
			legs, rest, open = append(legs, leg), strings.TrimSpace(after), false
			continue
		}
		end := strings.IndexAny(rest, "[](")
		if end < 0 {
			end = len(rest)
		}
		l, err := ParseLength(rest[:end])
		if err != nil {
			return nil, fmt.Errorf("leg %d: %w; between two legs stands a bend like [90]", n, err)
		}
		leg := Leg{Length: l}
		rest, open = rest[end:], false
		if rest != "" && rest[0] != '(' {
			body, after, ok := strings.Cut(rest[1:], "]")
			if rest[0] != '[' || !ok {
				return nil, fmt.Errorf("leg %d: the bend after it is not in square brackets: write it like [90]", n)
			}
			if leg.Turn, err = parseTurn(body, maxBend); err != nil {
				return nil, fmt.Errorf("bend after leg %d: %w", n, err)
			}
			rest, open = strings.TrimSpace(after), true
			// [0] before an arc says nothing that the arc does not.
			if leg.Turn == 0 && strings.HasPrefix(rest, "(") {
				return nil, fmt.Errorf("bend after leg %d: an arc runs on without a bend: leave out [0]", n)
			}
		}
		legs = append(legs, leg)
	}
	if open {
		return nil, fmt.Errorf("bends %s: a leg is missing after the last bend", quote(s))
	}
	return legs, nil
}

// parseArc reads the inside of (R 12'-0" 60L).
func parseArc(s string) (Leg, error) {
	s = strings.TrimSpace(s)
	i := strings.LastIndexByte(s, ' ')
	if i < 0 || s[0] != 'R' {
		return Leg{}, fmt.Errorf("arc %s: write it like (R 12'-0\" 60L)", quote(s))
	}
	r, err := ParseLength(s[1:i])
	if err != nil {
		return Leg{}, fmt.Errorf("radius of the arc: %w", err)
	}
	turn, err := parseTurn(s[i+1:], maxArc)
	if err != nil {
		return Leg{}, fmt.Errorf("arc: %w", err)
	}
	if turn == 0 {
		return Leg{}, fmt.Errorf("arc: an arc of no angle is no arc")
	}
	return Leg{Radius: r, Turn: turn}, nil
}

// parseTurn reads an angle with its side, at most limit tenths of a degree.
func parseTurn(s string, limit int64) (int32, error) {
	t, right := strings.CutSuffix(strings.TrimSpace(s), "R")
	t, left := strings.CutSuffix(t, "L")
	t, minus := strings.CutPrefix(strings.TrimSuffix(t, "°"), "-")
	whole, tenth, point := strings.Cut(t, ".")
	if !point {
		tenth = "0"
	}
	n, err := strconv.ParseUint(whole+tenth, 10, 32)
	if err != nil || whole == "" || len(tenth) != 1 || right && left || minus && (right || left) {
		return 0, fmt.Errorf("angle %s is not readable: write degrees and a side, like 90, 135L or 22.5R", quote(s))
	}
	if int64(n) > limit {
		return 0, fmt.Errorf("angle %s is over %d degrees", quote(s), limit/10)
	}
	if right || minus {
		return -int32(n), nil
	}
	return int32(n), nil
}
