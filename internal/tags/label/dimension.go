package label

import (
	"cmp"
	"math"
	"slices"
	"strconv"
)

// place puts the texts of all legs, the note on the scale and the angles around a laid bar. It
// fails when a leg's text, or the note, finds no place. Angles that find none are left out: the
// bend itself is drawn true.
func (b *bender) place(r *route, texts []lettering, size float64, area rect, toScale bool) ([]lettering, bool) {
	placed := make([]lettering, 0, 2*len(texts)+1)
	if !toScale {
		note, ok := b.note(r, area)
		if !ok {
			return nil, false
		}
		placed = append(placed, note)
	}
	places := make([][]lettering, len(texts))
	order := make([]int, len(texts))
	for i := range texts {
		order[i] = i
	}
	// Short legs are the hardest: asked first, they end a hopeless attempt soonest.
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(b.legs[i].length, b.legs[j].length) })
	for _, i := range order {
		places[i] = slices.DeleteFunc(b.besideLeg(r, i, texts[i], area), func(t lettering) bool { return clash(t, placed) })
		if len(places[i]) == 0 {
			return nil, false
		}
	}
	// The leg with the fewest places chooses first.
	slices.SortStableFunc(order, func(i, j int) int { return len(places[i]) - len(places[j]) })
	steps := 0
	var choose func(k int) bool
	choose = func(k int) bool {
		if k == len(order) {
			return true
		}
		for _, t := range places[order[k]] {
			if steps++; steps > 500 {
				return false
			}
			if clash(t, placed) {
				continue
			}
			placed = append(placed, t)
			if choose(k + 1) {
				return true
			}
			placed = placed[:len(placed)-1]
		}
		return false
	}
	if !choose(0) {
		return nil, false
	}
	return b.angles(r, placed, size*angleSize, area), true
}

// clash says whether a text stands too near to one of others to be read apart.
func clash(t lettering, others []lettering) bool {
	for _, o := range others {
		if dx, dy := t.box.gap(o.box); dx < sideways && dy < above {
			return true
		}
	}
	return false
}

// besideLeg gives the places where the text of leg i may stand, best first: beside its middle on
// the outer side, then inside, then further along it, then past a free end.
func (b *bender) besideLeg(r *route, i int, t lettering, area rect) []lettering {
	leg := r.legs[i]
	long := r.length(leg)
	var places []lettering
	offer := func(c Point) {
		p := t.at(c)
		if p.box.within(area) && b.belongs(r, i, p.box) {
			places = append(places, p)
		}
	}
	half := Point{(t.box.x1 - t.box.x0) / 2, (t.box.y1 - t.box.y0) / 2}
	reach := func(dir Point) float64 {
		return barWidth/2 + beside + math.Abs(dir.X)*half.X + math.Abs(dir.Y)*half.Y
	}
	side := b.outside(r, leg)
	for _, f := range [...]float64{0, -0.2, 0.2, -0.35, 0.35} {
		at := r.along(leg, long*(0.5+f))
		dir := r.direction(leg, long*(0.5+f))
		out := Point{dir.Y * side, -dir.X * side}
		d := reach(out)
		offer(Point{at.X + out.X*d, at.Y + out.Y*d})
		offer(Point{at.X - out.X*d, at.Y - out.Y*d})
	}
	if i == 0 {
		end, dir := r.points[leg.from], r.direction(leg, 0)
		d := reach(dir)
		offer(Point{end.X - dir.X*d, end.Y - dir.Y*d})
	}
	if i == len(r.legs)-1 {
		end, dir := r.points[leg.to], r.direction(leg, long)
		d := reach(dir)
		offer(Point{end.X + dir.X*d, end.Y + dir.Y*d})
	}
	return places
}

// direction is the unit vector along a span at some way from its beginning.
func (r *route) direction(s span, way float64) Point {
	for i := s.from; i < s.to; i++ {
		p, q := r.points[i], r.points[i+1]
		d := distance(p, q)
		if (way <= d || i == s.to-1) && d > 0 {
			return Point{(q.X - p.X) / d, (q.Y - p.Y) / d}
		}
		way -= d
	}
	return Point{1, 0}
}

// outside says which side of a leg less of the bar lies on: 1 is the left, walking along it, -1 the
// right. A bar with nothing else has its dimension above it.
func (b *bender) outside(r *route, leg span) float64 {
	at, dir := r.middle(leg), r.direction(leg, r.length(leg)/2)
	left := Point{dir.Y, -dir.X}
	weight := 0.0
	for j := 1; j < len(r.points); j++ {
		if j > leg.from && j <= leg.to {
			continue
		}
		p, q := r.points[j-1], r.points[j]
		weight += (((p.X+q.X)/2-at.X)*left.X + ((p.Y+q.Y)/2-at.Y)*left.Y) * distance(p, q)
	}
	if math.Abs(weight) < 1e-6 {
		weight = left.Y
	}
	return -math.Copysign(1, weight)
}

// belongs says whether a text in box reads as the text of leg i: clear of the bar, and nearer to
// leg i than to any other.
func (b *bender) belongs(r *route, i int, box rect) bool {
	const clear = barWidth/2 + barClear
	limit := math.Hypot(b.w, b.h)
	own := r.toSpan(box, r.legs[i], limit)
	if own < clear {
		return false
	}
	for _, s := range r.bends {
		if r.toSpan(box, s, clear) < clear {
			return false
		}
	}
	for j, s := range r.legs {
		if j != i && r.toSpan(box, s, own+nearer) < max(clear, own+nearer) {
			return false
		}
	}
	return true
}

// free says whether a box is on the area and clear of all of the bar.
func (b *bender) free(r *route, box, area rect, clear float64) bool {
	all := span{0, len(r.points) - 1}
	return box.within(area) && r.toSpan(box, all, barWidth/2+clear) >= barWidth/2+clear
}

// note puts "not to scale" into a free corner.
func (b *bender) note(r *route, area rect) (lettering, bool) {
	t := write(notToScale, Regular, noteSize)
	w, h := t.box.x1-t.box.x0, t.box.y1-t.box.y0
	for _, c := range [4]Point{
		{area.x0 + w/2, area.y1 - h/2}, {area.x1 - w/2, area.y1 - h/2},
		{area.x0 + w/2, area.y0 + h/2}, {area.x1 - w/2, area.y0 + h/2},
	} {
		if p := t.at(c); b.free(r, p.box, area, barClear) {
			return p, true
		}
	}
	return lettering{}, false
}

// angles adds the angles of bends that are neither square nor hooks of 180°, where there is room
// beside the bend: nearer to it than to any other such bend.
func (b *bender) angles(r *route, placed []lettering, size float64, area rect) []lettering {
	for i := range r.bends {
		if !odd(b.legs[i].turn) {
			continue
		}
		for _, s := range [...]float64{size, min(size, 9), min(size, 7)} {
			if t, ok := b.angle(r, i, write(degrees(b.legs[i].turn), Bold, s), placed, area); ok {
				placed = append(placed, t)
				break
			}
		}
	}
	return placed
}

// odd says whether a bend is one whose angle must be told.
func odd(turn float64) bool {
	a := math.Abs(turn)
	return a > 1e-6 && math.Abs(a-math.Pi/2) > 1e-6 && math.Abs(a-math.Pi) > 1e-6
}

// angle finds a place for the angle of bend i: outside the corner, then round about it, then a
// little further off.
func (b *bender) angle(r *route, i int, t lettering, placed []lettering, area rect) (lettering, bool) {
	const limit = angleReach + barWidth/2
	bend := r.bends[i]
	at := r.middle(bend)
	half := Point{(t.box.x1 - t.box.x0) / 2, (t.box.y1 - t.box.y0) / 2}
	// The corner points away from where its two legs go.
	before, after := r.direction(r.legs[i], math.Inf(1)), r.direction(r.legs[i+1], 0)
	outward := math.Atan2(before.Y-after.Y, before.X-after.X)
	for _, further := range [...]float64{0, 1.5, 3} {
		for _, eighths := range [...]float64{0, 1, -1, 2, -2, 3, -3, 4} {
			sin, cos := math.Sincos(outward + eighths*math.Pi/4)
			d := barWidth/2 + beside + further + math.Abs(cos)*half.X + math.Abs(sin)*half.Y
			p := t.at(Point{at.X + cos*d, at.Y + sin*d})
			if !b.free(r, p.box, area, barClear) || clash(p, placed) {
				continue
			}
			own := r.toSpan(p.box, bend, limit)
			alone := own <= limit
			for j, s := range r.bends {
				alone = alone && (j == i || !odd(b.legs[j].turn) || r.toSpan(p.box, s, own+nearer) >= own+nearer)
			}
			if alone {
				return p, true
			}
		}
	}
	return t, false
}

// degrees prints an angle of radians: 45°, 22.5°.
func degrees(angle float64) string {
	tenths := math.Round(math.Abs(angle) * 1800 / math.Pi)
	return strconv.FormatFloat(tenths/10, 'f', -1, 64) + "°"
}
