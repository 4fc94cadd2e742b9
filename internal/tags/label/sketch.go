package label

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"tagd/internal/bar"
)

// Measures of a sketch, in millimetres.
const (
	barWidth   = 0.9
	barClear   = 0.5  // white between the bar and letters
	beside     = 0.75 // white between a leg and its own dimension
	sideways   = 2.0  // white between two dimensions on one height: 4" 2'-3" must not read as one
	above      = 0.5  // white between dimensions one above the other
	nearer     = 0.25 // by which a dimension is nearer to its own leg than to any other
	legsApart  = 1.5  // between the middle of a leg and any leg that is not its neighbour
	inset      = 2.8  // by which a hook that lies on a leg is drawn beside it
	angleReach = 4.0  // between a bend and its angle at most
	noteSize   = 6.0  // points, of "not to scale"
	angleSize  = 0.8  // of a dimension's size
)

// notToScale is printed where legs are not drawn in proportion.
const notToScale = "not to scale · sin escala"

// powers shorten the long legs for the sake of the short ones: lengths are drawn to these powers,
// so that equal legs stay equal and a rectangle stays closed. 1 is to scale.
var powers = [...]float64{1, 0.8, 0.6, 0.45, 0.3}

// sketch is the drawing of a bent bar in a box, in millimetres from the box's corner.
type sketch struct {
	bar   []Point
	texts []lettering
}

// lettering is a text in its place; box is its ink.
type lettering struct {
	pen  Point
	s    string
	face Face
	size float64
	box  rect
}

// bender is one attempt's setting: the bar, the box, and how texts are written.
type bender struct {
	legs   []leg
	main   int // the longest leg, which lies level
	w, h   float64
	radius float64 // of drawn bends
	least  float64 // length that the shortest leg is drawn with at least
	scale  float64 // that filled a room last, where the next one begins; 0 for none
	route  route   // the bar as it was laid last
}

// drawBend draws a bent bar in a box of w by h: its longest leg level, the rest above it, every leg
// with its dimension. Where dimensions find no room, letters stand at the legs and a list beside;
// where those find none either, the bending order stands in words. diameter is the bar's, 0 if
// unknown; it lengthens arcs to their centre line.
func drawBend(s bar.Shape, diameter bar.Length, u bar.Units, w, h float64) (sketch, error) {
	if err := s.Check(); err != nil {
		return sketch{}, fmt.Errorf("shape: %w", err)
	}
	b := bender{legs: legsOf(s, diameter, u), w: w, h: h, radius: 2}
	small := w < 60
	if small {
		b.radius = 1.3
	}
	for i, l := range b.legs {
		if l.length > b.legs[b.main].length*(1+1e-9) {
			b.main = i
		}
	}
	if len(b.legs) <= len(letters) {
		for _, b.least = range [...]float64{4, 2.5} {
			for _, sizes := range dimensionSizes(small) {
				if k, ok := b.attempt(sizes, 0); ok {
					return k, nil
				}
			}
			for _, list := range [...]float64{12, 10.5, 9} {
				if k, ok := b.attempt([]float64{list + 2}, list); ok {
					return k, nil
				}
			}
		}
	}
	return inWords(s, u, w, h)
}

// dimensionSizes are the sizes of dimensions: the readable ones over all powers, then the small.
func dimensionSizes(small bool) [][]float64 {
	if small {
		return [][]float64{{12}, {11, 10, 9, 8, 7}}
	}
	return [][]float64{{16, 15, 14, 13, 12}, {11, 10, 9}}
}

// attempt tries all powers with the given sizes, largest first. With a list size, letters stand at
// the legs and their dimensions in a list at the right.
func (b *bender) attempt(sizes []float64, list float64) (sketch, bool) {
	area := rect{0, 0, b.w, b.h}
	var listed []lettering
	if list > 0 {
		if listed = b.list(list); listed == nil {
			return sketch{}, false
		}
		for _, t := range listed {
			area.x1 = min(area.x1, t.box.x0-3)
		}
		if area.x1 < b.w/3 {
			return sketch{}, false
		}
	}
	for _, power := range powers {
		// Room for text only makes the bar smaller: what does not do without it never will.
		b.scale = 0
		if _, ok := b.lay(area, power); !ok {
			continue
		}
		// Where the smallest size finds no place, a larger one would not either.
		best, ok := b.attemptSize(sizes[len(sizes)-1], list > 0, area, power)
		if !ok {
			continue
		}
		for _, size := range sizes[:len(sizes)-1] {
			if k, ok := b.attemptSize(size, list > 0, area, power); ok {
				best = k
				break
			}
		}
		best.texts = append(best.texts, listed...)
		return best, true
	}
	return sketch{}, false
}

// attemptSize tries one size of text with one power.
func (b *bender) attemptSize(size float64, letter bool, area rect, power float64) (sketch, bool) {
	texts := b.write(size, letter)
	for _, room := range b.rooms(texts, area) {
		toScale, ok := b.lay(room, power)
		if !ok {
			continue
		}
		if placed, ok := b.place(&b.route, texts, size, area, toScale); ok {
			return sketch{slices.Clone(b.route.points), placed}, true
		}
	}
	return sketch{}, false
}

// letters name legs in a sketch with a list; I and O look like figures.
const letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"

// write gives the text of every leg at a size, not yet placed.
func (b *bender) write(size float64, letter bool) []lettering {
	texts := make([]lettering, len(b.legs))
	for i, l := range b.legs {
		if letter {
			l.text = letters[i : i+1]
		}
		texts[i] = write(l.text, Bold, size)
	}
	return texts
}

// write gives a text with its ink, the pen at the origin.
func write(s string, face Face, size float64) lettering {
	em := size * point
	l, t, r, b := face.ink(s)
	return lettering{s: s, face: face, size: size, box: rect{l * em, t * em, r * em, b * em}}
}

// at moves a text so that its ink is centred on c.
func (t lettering) at(c Point) lettering {
	dx, dy := c.X-(t.box.x0+t.box.x1)/2, c.Y-(t.box.y0+t.box.y1)/2
	t.pen = Point{t.pen.X + dx, t.pen.Y + dy}
	t.box = rect{t.box.x0 + dx, t.box.y0 + dy, t.box.x1 + dx, t.box.y1 + dy}
	return t
}

// list sets letters and dimensions in columns at the right of the box; nil if there is no room.
func (b *bender) list(size float64) []lettering {
	pitch := 1.35 * size * point
	rows := int((b.h-0.95*size*point)/pitch) + 1
	columns := (len(b.legs) + rows - 1) / rows
	rows = (len(b.legs) + columns - 1) / columns
	texts := make([]lettering, len(b.legs))
	widest := 0.0
	for i, l := range b.legs {
		texts[i] = write(letters[i:i+1]+string(nbsp)+l.text, Bold, size)
		widest = max(widest, texts[i].box.x1)
	}
	if float64(columns)*(widest+3)-3 > b.w*2/3 {
		return nil
	}
	for i, t := range texts {
		x := b.w - float64(columns-i/rows)*(widest+3) + 3
		y := (0.79 + 1.35*float64(i%rows)) * size * point
		t.pen = Point{x, y}
		t.box = rect{x + t.box.x0, y + t.box.y0, x + t.box.x1, y + t.box.y1}
		texts[i] = t
	}
	return texts
}

// rooms are the parts of the area that the bar may fill while texts stand around it: all of it
// first, since room kept for text costs scale.
func (b *bender) rooms(texts []lettering, area rect) []rect {
	tall, wide := 0.0, 0.0
	for _, t := range texts {
		tall = max(tall, t.box.y1-t.box.y0)
		wide = max(wide, t.box.x1-t.box.x0)
	}
	tall += beside
	wide += beside
	rooms := make([]rect, 0, 8)
	for _, side := range [...]float64{0, wide} {
		for _, v := range [...][2]float64{{0, 0}, {0, tall}, {tall, 0}, {tall, tall}} {
			room := rect{area.x0 + side, area.y0 + v[0], area.x1 - side, area.y1 - v[1]}
			if room.x1-room.x0 > 6 && room.y1-room.y0 > 4 {
				rooms = append(rooms, room)
			}
		}
	}
	return rooms
}

// lay draws the bar as large as the room allows with lengths to a power, and says whether they
// are in proportion. It fails when a leg comes out too short, or too near to another.
func (b *bender) lay(room rect, power float64) (toScale, ok bool) {
	lengths := make([]float64, len(b.legs))
	for i, l := range b.legs {
		lengths[i] = math.Pow(l.length, power)
	}
	if !b.fill(room, lengths, 0, 0) {
		return false, false
	}
	first, last, others := b.crowded()
	if !first && !last && !others {
		return power == 1, true
	}
	// The end hooks of a closed tie bent by 90° lie on its legs; drawn inside them they can be seen.
	if len(b.legs) < 4 || others {
		return false, false
	}
	var in [2]float64
	if first {
		in[0] = inset
	}
	if last {
		in[1] = inset
	}
	if !b.fill(room, lengths, in[0], in[1]) {
		return false, false
	}
	first, last, others = b.crowded()
	return false, !first && !last && !others
}

// fill scales lengths so that the bar fills the room, and centres it there. The second and the
// last but one leg are drawn shorter by the given insets.
func (b *bender) fill(room rect, lengths []float64, in0, in1 float64) bool {
	w, h := room.x1-room.x0-barWidth, room.y1-room.y0-barWidth
	n := len(lengths)
	scaled := make([]float64, n)
	scale := b.scale
	if scale == 0 {
		for _, l := range lengths {
			scale += l
		}
		scale = (w + h) / scale
	}
	r := &b.route
	for range 12 {
		shortest := math.Inf(1)
		for i, l := range lengths {
			scaled[i] = l * scale
			shortest = min(shortest, scaled[i])
		}
		if n >= 4 {
			scaled[1], scaled[n-2] = max(0.1, scaled[1]-in0), max(0.1, scaled[n-2]-in1)
		}
		r.walk(b.legs, scaled, min(b.radius, shortest))
		r.level(b.main, b.legs[b.main].sweep != 0)
		box := r.box()
		f := min(w/max(box.x1-box.x0, 1e-9), h/max(box.y1-box.y0, 1e-9))
		if f >= 1 && f < 1.003 {
			b.scale = scale
			r.move((room.x0+room.x1-box.x0-box.x1)/2, (room.y0+room.y1-box.y0-box.y1)/2)
			return shortest >= b.least && b.ends()
		}
		scale *= f * 0.9995
	}
	return false
}

// ends says whether enough of the first and the last leg stands clear of its bend to be seen.
func (b *bender) ends() bool {
	r := &b.route
	for _, s := range [2]span{r.legs[0], r.legs[len(r.legs)-1]} {
		if r.length(s) < 0.75*b.least {
			return false
		}
	}
	return true
}

// crowded says whether the first leg, the last, or another one has a middle too near to a leg that
// is not its neighbour.
func (b *bender) crowded() (first, last, others bool) {
	r := &b.route
	n := len(r.legs)
	for i := range n {
		m := r.middle(r.legs[i])
		at := rect{m.X, m.Y, m.X, m.Y}
		for j := range n {
			if j >= i-1 && j <= i+1 || r.toSpan(at, r.legs[j], legsApart) >= legsApart {
				continue
			}
			switch {
			case i == 0 || j == 0:
				first = true
			case i == n-1 || j == n-1:
				last = true
			default:
				others = true
			}
		}
	}
	return first, last, others
}

// inWords writes the bending order, one text that breaks between legs.
func inWords(s bar.Shape, u bar.Units, w, h float64) (sketch, error) {
	order := s.Text(u)
	if u != bar.Imperial {
		order = strings.ReplaceAll(order, " mm", "")
	}
	order = strings.ReplaceAll(order, " ", string(nbsp))
	order = strings.ReplaceAll(order, "]"+string(nbsp), "] ")
	order = strings.ReplaceAll(order, ")"+string(nbsp), ") ")
	order = strings.ReplaceAll(order, string(nbsp)+"(", " (")
	set, err := field{name: "shape", w: w, h: h - 0.9, max: 16, min: 6, lines: 40, face: Bold, whole: true}.fit(order)
	if err != nil {
		return sketch{}, err
	}
	var k sketch
	em := set.size * point
	for i, line := range set.text {
		t := write(line, Bold, set.size)
		t.pen = Point{0, (0.79 + leading*float64(i)) * em}
		t.box = rect{t.box.x0, t.pen.Y + t.box.y0, t.box.x1, t.pen.Y + t.box.y1}
		k.texts = append(k.texts, t)
	}
	return k, nil
}

// dimension prints a length beside a leg: millimetres without their unit.
func dimension(l bar.Length, u bar.Units) string {
	return strings.TrimSuffix(l.Text(u), " mm")
}

// draw prints the sketch with its box at x, y.
func (k sketch) draw(d Device, x, y float64) {
	if len(k.bar) > 0 {
		points := make([]Point, len(k.bar))
		for i, p := range k.bar {
			points[i] = Point{x + p.X, y + p.Y}
		}
		d.Line(barWidth, points)
	}
	for _, t := range k.texts {
		d.Text(x+t.pen.X, y+t.pen.Y, t.s, t.face, t.size, Black)
	}
}
