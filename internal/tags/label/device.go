package label

import "math"

// Point is a place in millimetres from the top left corner, y downwards.
type Point struct{ X, Y float64 }

// Ink is what a Device draws with.
type Ink uint8

// The two inks: White is for letters on a black bar.
const (
	Black Ink = iota
	White
)

// Cell is a rectangle of dark modules of a bar code, counted in modules from the symbol's corner.
type Cell struct{ X, Y, W, H int }

// Device is something to draw on: a PDF page, an SVG picture, a bitmap. Measures are millimetres
// from the top left corner. A device draws what it is told and checks nothing: texts have been
// found printable and fitting before.
type Device interface {
	// Dot is the side of a dot of the printer in millimetres. Symbols are placed on its multiples.
	Dot() float64
	// Rect fills a rectangle.
	Rect(x, y, w, h float64, ink Ink)
	// Grid fills cells of a symbol in black; the symbol's corner is at x, y and a module is step
	// wide. Neighbouring cells leave no seam.
	Grid(x, y, step float64, cells []Cell)
	// Line draws a black line of a width through points, with round ends and corners. Curves come
	// as many short parts.
	Line(width float64, points []Point)
	// Text draws one line of letters from x on the base line y; size is in points.
	Text(x, y float64, s string, face Face, size float64, ink Ink)
}

// Label is something that can be printed.
type Label interface {
	// Size is the width and height of the label in millimetres.
	Size() (w, h float64)
	// Draw draws the label. The error names the field that cannot be printed; what was drawn
	// before it is worthless.
	Draw(Device) error
	// Codes are the texts that the label's symbols read as, each once.
	Codes() []string
}

// snap moves a place to the nearest multiple of the device's dot.
func snap(d Device, v float64) float64 { return math.Round(v/d.Dot()) * d.Dot() }

// frame draws the outline of a rectangle.
func frame(d Device, x, y, w, h float64) {
	d.Line(hairline, []Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}, {x, y}})
}

// ring draws a circle.
func ring(d Device, x, y, radius float64) {
	d.Line(hairline, arc([]Point{{x + radius, y}}, Point{x, y}, radius, 0, 2*math.Pi))
}

// arc gives the points of an arc around c from an angle on through a sweep (radians; y downwards,
// so a positive sweep turns right), without the first.
func arc(points []Point, c Point, radius, from, sweep float64) []Point {
	// The chords stay within 0.02 mm of the arc, a quarter of a dot at 300 dpi.
	step := 2 * math.Acos(max(0, 1-0.02/radius))
	n := int(math.Ceil(math.Abs(sweep)/step - 1e-9))
	for i := 1; i <= n; i++ {
		sin, cos := math.Sincos(from + sweep*float64(i)/float64(n))
		points = append(points, Point{c.X + radius*cos, c.Y + radius*sin})
	}
	return points
}

// hairline is the width of rules, boxes and the ring, in millimetres: two dots at 203 dpi.
const hairline = 0.25
