package label

import (
	"math"

	"tagd/internal/bar"
)

// leg is one part of a bent bar as a sketch sees it.
type leg struct {
	length float64 // millimetres of steel: outer dimension, or along the middle of an arc
	sweep  float64 // radians an arc turns, left positive; 0 is straight
	turn   float64 // radians of the bend after it, left positive
	text   string  // its dimension
}

// legsOf reads the legs of a shape, with their dimensions in the plant's units. An arc's length is
// taken along its centre line, half a diameter outside its inner radius. It is known from an angle
// of whole tenths of a degree, and is printed no finer than that.
func legsOf(s bar.Shape, diameter bar.Length, u bar.Units) []leg {
	const tenth = math.Pi / 1800
	legs := make([]leg, len(s.Legs))
	for i, l := range s.Legs {
		if l.Radius == 0 {
			legs[i] = leg{length: l.Length.MM(), turn: float64(l.Turn) * tenth, text: dimension(l.Length, u)}
			continue
		}
		sweep := float64(l.Turn) * tenth
		along := (l.Radius + diameter/2).MM() * math.Abs(sweep)
		legs[i] = leg{length: along, sweep: sweep,
			text: dimension(round(bar.Length(along*float64(bar.Millimetre)), bar.Length(float64(l.Radius)*tenth), u), u) +
				" R " + dimension(l.Radius, u)}
	}
	return legs
}

// round gives a length in the finest fraction of an inch, or of millimetres, that is not finer than
// a tolerance; whole inches or 50 mm at the coarsest.
func round(l, tolerance bar.Length, u bar.Units) bar.Length {
	steps := []bar.Length{bar.Millimetre, 2 * bar.Millimetre, 5 * bar.Millimetre, 10 * bar.Millimetre, 20 * bar.Millimetre, 50 * bar.Millimetre}
	if u == bar.Imperial {
		steps = []bar.Length{bar.Inch / 16, bar.Inch / 8, bar.Inch / 4, bar.Inch / 2, bar.Inch}
	}
	step := steps[0]
	for _, s := range steps {
		if step < tolerance {
			step = s
		}
	}
	return (l + step/2) / step * step
}

// route is a bar drawn as a line: millimetres, y downwards, with its legs and bends as ranges of
// the points. A leg is the straight part between bends, or the whole arc.
type route struct {
	points []Point
	legs   []span
	bends  []span // bends[i] lies between legs i and i+1
	radii  []float64
}

// span is a range of points, both ends included.
type span struct{ from, to int }

// setback is how much of the outer dimension of a leg a bend of radius 1 takes: the distance from
// the outer corner to where the bend begins; past a right angle the bend's own reach.
func setback(turn float64) float64 {
	if t := math.Abs(turn); t < math.Pi/2 {
		return math.Tan(t / 2)
	}
	return 1
}

// walk draws legs of the given lengths with bends of a radius, starting at the origin to the right.
// A bend is tighter where its legs are too short for it. It uses the room that r has.
func (r *route) walk(legs []leg, lengths []float64, radius float64) {
	n := len(legs)
	r.points, r.legs, r.bends, r.radii = r.points[:0], r.legs[:0], r.bends[:0], r.radii[:0]
	for i := range n {
		r.radii = append(r.radii, radius)
		for j := i; j <= i+1 && j < n; j++ {
			room := lengths[j] * 0.9
			if j > 0 && j < n-1 {
				room = lengths[j] / 2
			}
			if legs[j].sweep == 0 {
				r.radii[i] = min(r.radii[i], room/max(setback(legs[i].turn), 1e-3))
			}
		}
	}
	radii := r.radii
	at, heading := Point{}, 0.0
	r.points = append(r.points, at)
	for i, l := range legs {
		from := len(r.points) - 1
		if l.sweep == 0 {
			straight := lengths[i]
			if i > 0 {
				straight -= radii[i-1] * setback(legs[i-1].turn)
			}
			if i < n-1 {
				straight -= radii[i] * setback(l.turn)
			}
			straight = max(straight, 0.01)
			sin, cos := math.Sincos(heading)
			at = Point{at.X + straight*cos, at.Y - straight*sin}
			r.points = append(r.points, at)
		} else {
			at, heading = r.curve(at, heading, lengths[i]/math.Abs(l.sweep), l.sweep)
		}
		r.legs = append(r.legs, span{from, len(r.points) - 1})
		if i == n-1 {
			break
		}
		from = len(r.points) - 1
		if l.turn != 0 && radii[i] > 0 {
			at, heading = r.curve(at, heading, radii[i], l.turn)
		}
		r.bends = append(r.bends, span{from, len(r.points) - 1})
	}
}

// curve adds an arc that begins at a point with a heading (radians, left positive) and gives where
// and how it ends.
func (r *route) curve(at Point, heading, radius, turn float64) (Point, float64) {
	side := math.Copysign(math.Pi/2, turn)
	c := Point{at.X + radius*math.Cos(heading+side), at.Y - radius*math.Sin(heading+side)}
	r.points = arc(r.points, c, radius, -(heading - side), -turn)
	return r.points[len(r.points)-1], heading + turn
}

// length is the drawn length of a span.
func (r *route) length(s span) float64 {
	total := 0.0
	for i := s.from; i < s.to; i++ {
		total += distance(r.points[i], r.points[i+1])
	}
	return total
}

// middle is the point half way along a span.
func (r *route) middle(s span) Point { return r.along(s, r.length(s)/2) }

// along is the point some way from the beginning of a span.
func (r *route) along(s span, way float64) Point {
	for i := s.from; i < s.to; i++ {
		d := distance(r.points[i], r.points[i+1])
		if way <= d && d > 0 {
			p, q := r.points[i], r.points[i+1]
			return Point{p.X + (q.X-p.X)*way/d, p.Y + (q.Y-p.Y)*way/d}
		}
		way -= d
	}
	return r.points[s.to]
}

func distance(p, q Point) float64 { return hypot(q.X-p.X, q.Y-p.Y) }

// hypot is math.Hypot without its care for huge numbers, which a tag has not.
func hypot(x, y float64) float64 { return math.Sqrt(x*x + y*y) }

// level turns the bar, without mirroring it, so that its main leg lies level and the rest above it.
func (r *route) level(main int, curved bool) {
	s := r.legs[main]
	p, q := r.points[s.from], r.points[s.to]
	if distance(p, q) < 1e-6 { // a full circle has no chord: its first part will do
		q = r.points[s.from+1]
	}
	r.turn(-math.Atan2(q.Y-p.Y, q.X-p.X))
	floor := r.points[s.from].Y
	above := 0.0
	for i := 1; i < len(r.points); i++ {
		if i > s.from && i <= s.to {
			continue
		}
		above += (floor - (r.points[i-1].Y+r.points[i].Y)/2) * distance(r.points[i-1], r.points[i])
	}
	if math.Abs(above) < 1e-6 && curved {
		above = r.middle(s).Y - floor // an arc alone sags
	}
	if above < -1e-6 {
		r.turn(math.Pi)
	}
}

// turn rotates the bar about the origin; a positive angle turns right, y being downwards.
func (r *route) turn(angle float64) {
	sin, cos := math.Sincos(angle)
	for i, p := range r.points {
		r.points[i] = Point{p.X*cos - p.Y*sin, p.X*sin + p.Y*cos}
	}
}

func (r *route) box() rect {
	b := rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, p := range r.points {
		b.x0, b.y0 = min(b.x0, p.X), min(b.y0, p.Y)
		b.x1, b.y1 = max(b.x1, p.X), max(b.y1, p.Y)
	}
	return b
}

func (r *route) move(dx, dy float64) {
	for i := range r.points {
		r.points[i].X += dx
		r.points[i].Y += dy
	}
}

// toSpan is the distance of a box from a part of the bar's centre line.
func (r *route) toSpan(b rect, s span, limit float64) float64 {
	best := math.Inf(1)
	for i := s.from; i < s.to; i++ {
		p, q := r.points[i], r.points[i+1]
		if min(p.X, q.X) > b.x1+limit || max(p.X, q.X) < b.x0-limit || min(p.Y, q.Y) > b.y1+limit || max(p.Y, q.Y) < b.y0-limit {
			continue
		}
		best = min(best, b.toSegment(p, q))
	}
	return best
}

// rect is a box: left, top, right, bottom.
type rect struct{ x0, y0, x1, y1 float64 }

func (b rect) within(o rect) bool {
	const slack = 1e-6
	return b.x0 >= o.x0-slack && b.y0 >= o.y0-slack && b.x1 <= o.x1+slack && b.y1 <= o.y1+slack
}

// gap is how far two boxes are apart sideways and in height; negative where they overlap.
func (b rect) gap(o rect) (dx, dy float64) {
	return max(o.x0-b.x1, b.x0-o.x1), max(o.y0-b.y1, b.y0-o.y1)
}

func (b rect) toPoint(p Point) float64 {
	return hypot(max(b.x0-p.X, 0, p.X-b.x1), max(b.y0-p.Y, 0, p.Y-b.y1))
}

// toSegment is the distance of the box from the segment between p and q, 0 when they meet.
func (b rect) toSegment(p, q Point) float64 {
	if b.crosses(p, q) {
		return 0
	}
	d := min(b.toPoint(p), b.toPoint(q))
	for _, c := range [4]Point{{b.x0, b.y0}, {b.x1, b.y0}, {b.x0, b.y1}, {b.x1, b.y1}} {
		d = min(d, toSegment(c, p, q))
	}
	return d
}

// crosses clips the segment to the box (Liang and Barsky) and says whether anything is left.
func (b rect) crosses(p, q Point) bool {
	t0, t1 := 0.0, 1.0
	for _, e := range [4][2]float64{
		{p.X - q.X, p.X - b.x0}, {q.X - p.X, b.x1 - p.X},
		{p.Y - q.Y, p.Y - b.y0}, {q.Y - p.Y, b.y1 - p.Y},
	} {
		run, room := e[0], e[1]
		switch {
		case run == 0:
			if room < 0 {
				return false
			}
		case run < 0:
			t0 = max(t0, room/run)
		default:
			t1 = min(t1, room/run)
		}
	}
	return t0 <= t1
}
