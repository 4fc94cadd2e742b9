package bar

import (
	"math"
	"slices"
)

// Box is the smallest room that a bar of shape s takes lying flat: the rectangle around it that is
// least wide, whichever way it is turned, with its longer side and its width. The zero values are those
// of a straight bar, and of a shape that Check refuses.
//
// The bar is walked along the outer dimensions of its legs with sharp corners, and an arc along its
// inner side in chords of at most one degree; a bend of 180 degrees goes across by the pin. The
// rounding of the corners and the thickness of the bar are not in it: it says how to stow, not how to
// fit.
//
// A convex figure's rectangle of least width lies along one of its sides, since between two sides the
// width is a concave function of the angle. So it is enough to try the sides of the hull: with u the
// direction of a side and v across it, the length is the largest less the smallest of p.u over all
// corners p, and the width that of p.v.
//
// For example 5'-0" [90] 5'-0": the corners (0,0), (5,0) and (5,5). Along a leg the rectangle is 5 by
// 5; along the side from end to end, u is (1,1)/√2, the corners have p.u of 0, 5/√2 and 10/√2, and p.v
// of 0, -5/√2 and 0. So it is 7.0711 by 3.5355 ft, which is 7'-0 27/32" by 3'-6 27/64".
func (s Shape) Box() (long, wide Length) {
	if s.Straight() || s.Check() != nil {
		return 0, 0
	}
	hull := hullOf(s.corners())
	best := point{}
	for i, p := range hull {
		q := hull[(i+1)%len(hull)]
		d := math.Hypot(q.x-p.x, q.y-p.y)
		if d == 0 {
			continue
		}
		u := point{(q.x - p.x) / d, (q.y - p.y) / d}
		box := point{extent(hull, u), extent(hull, point{-u.y, u.x})}
		if best == (point{}) || box.y < best.y-0.5 || box.y < best.y+0.5 && box.x < best.x {
			best = box
		}
	}
	return Length(math.Round(max(best.x, best.y))), Length(math.Round(min(best.x, best.y)))
}

// point is a place in the plane of a bar, in nanometres.
type point struct{ x, y float64 }

// corners walks along the bar and gives where it turns.
func (s Shape) corners() []point {
	out := []point{{}}
	at, heading := point{}, 0.0 // radians
	walk := func(l float64) {
		at = point{at.x + l*math.Cos(heading), at.y + l*math.Sin(heading)}
		out = append(out, at)
	}
	for _, l := range s.Legs {
		turn := float64(l.Turn) * math.Pi / 1800
		if l.arc() {
			// A chord leaves at half its angle from the heading, and is 2 r sin(angle/2) long.
			n := math.Ceil(math.Abs(float64(l.Turn)) / 10)
			step := turn / n
			for range int(n) {
				heading += step / 2
				walk(2 * float64(l.Radius) * math.Sin(math.Abs(step)/2))
				heading += step / 2
			}
			continue
		}
		walk(float64(l.Length))
		if l.Turn == maxBend || l.Turn == -maxBend {
			heading += turn / 2
			walk(float64(s.Pin))
			heading += turn / 2
			continue
		}
		heading += turn
	}
	return out
}

// hullOf is the convex hull of some points, counter-clockwise (Andrew's monotone chain).
func hullOf(points []point) []point {
	slices.SortFunc(points, func(a, b point) int {
		switch {
		case a.x < b.x || a.x == b.x && a.y < b.y:
			return -1
		case a == b:
			return 0
		}
		return 1
	})
	half := func(points []point) (out []point) {
		for _, p := range points {
			for n := len(out); n >= 2 && cross(out[n-2], out[n-1], p) <= 0; n = len(out) {
				out = out[:n-1]
			}
			out = append(out, p)
		}
		return out[:len(out)-1]
	}
	lower := half(points)
	slices.Reverse(points)
	return append(lower, half(points)...)
}

// cross is more than 0 where the way from a over b to c turns left.
func cross(a, b, c point) float64 { return (b.x-a.x)*(c.y-a.y) - (b.y-a.y)*(c.x-a.x) }

// extent is how far some points reach along a direction.
func extent(points []point, u point) float64 {
	least, most := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		d := p.x*u.x + p.y*u.y
		least, most = min(least, d), max(most, d)
	}
	return most - least
}
