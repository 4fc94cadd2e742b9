package label

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/vector"
)

// PNG writes a label as a picture of black and white dots, one bit each, with a pHYs chunk that
// gives its true size. dpi is 203, 300 or 600.
func PNG(w io.Writer, l Label, dpi int) error {
	img, err := Bitmap(l, dpi)
	if err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := png.Encode(&buf, img); err != nil {
		return err
	}
	// The library writes no pHYs chunk; it belongs between IHDR (8 bytes of signature, 25 of chunk)
	// and the palette (PNG specification, 5.6).
	const afterHeader = 8 + 25
	file := buf.Bytes()
	for _, part := range [][]byte{file[:afterHeader], physical(dpi), file[afterHeader:]} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// physical is a pHYs chunk: dots a metre in both directions.
func physical(dpi int) []byte {
	perMetre := uint32(math.Round(float64(dpi) / 0.0254))
	chunk := binary.BigEndian.AppendUint32(nil, 9)
	chunk = append(chunk, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // the unit is the metre
	return binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
}

// Bitmap draws a label as black (index 1) and white (index 0) dots.
func Bitmap(l Label, dpi int) (*image.Paletted, error) {
	dot, err := dotOf(dpi)
	if err != nil {
		return nil, err
	}
	w, h := l.Size()
	b := &bitmap{
		dot:   dot,
		img:   image.NewPaletted(image.Rect(0, 0, int(math.Round(w/dot)), int(math.Round(h/dot))), color.Palette{color.White, color.Black}),
		masks: map[maskKey]mask{},
	}
	if err := l.Draw(b); err != nil {
		return nil, err
	}
	return b.img, nil
}

// dotOf gives the side of a dot in millimetres.
func dotOf(dpi int) (float64, error) {
	switch dpi {
	case 203, 300, 600:
		return 25.4 / float64(dpi), nil
	}
	return 0, fmt.Errorf("dpi: %d dots per inch is not a resolution that tags are made for: 203, 300 or 600", dpi)
}

// bitmap is the Device of black and white dots.
type bitmap struct {
	dot    float64
	img    *image.Paletted
	masks  map[maskKey]mask
	raster vector.Rasterizer
}

// maskKey names a glyph at a size. Glyphs begin on whole dots, so one mask serves all of a kind.
type maskKey struct {
	face Face
	r    rune
	size float64
}

// mask is a glyph in dots, with its corner relative to the pen.
type mask struct {
	x, y int
	img  *image.Alpha
}

func (b *bitmap) Dot() float64 { return b.dot }

func (b *bitmap) dots(v float64) int { return int(math.Round(v / b.dot)) }

// fill paints dots from x0, y0 up to but not including x1, y1, as far as they are on the label.
func (b *bitmap) fill(x0, y0, x1, y1 int, ink Ink) {
	r := image.Rect(x0, y0, x1, y1).Intersect(b.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		row := b.img.Pix[b.img.PixOffset(r.Min.X, y):][:r.Dx()]
		for i := range row {
			row[i] = 1 - uint8(ink)
		}
	}
}

func (b *bitmap) Rect(x, y, w, h float64, ink Ink) {
	x0, y0 := b.dots(x), b.dots(y)
	b.fill(x0, y0, x0+max(1, b.dots(w)), y0+max(1, b.dots(h)), ink)
}

func (b *bitmap) Grid(x, y, step float64, cells []Cell) {
	x0, y0, n := b.dots(x), b.dots(y), b.dots(step)
	for _, c := range cells {
		b.fill(x0+c.X*n, y0+c.Y*n, x0+(c.X+c.W)*n, y0+(c.Y+c.H)*n, Black)
	}
}

// Line blackens the dots whose middle is within half the width of the line; straight level and
// upright lines become rectangles, so that rules are of even thickness.
func (b *bitmap) Line(width float64, points []Point) {
	for i := 1; i < len(points); i++ {
		b.segment(points[i-1], points[i], max(width, b.dot)/2)
	}
	if len(points) == 1 {
		b.segment(points[0], points[0], max(width, b.dot)/2)
	}
}

func (b *bitmap) segment(p, q Point, radius float64) {
	x0, x1 := int((min(p.X, q.X)-radius)/b.dot), int((max(p.X, q.X)+radius)/b.dot)+1
	y0, y1 := int((min(p.Y, q.Y)-radius)/b.dot), int((max(p.Y, q.Y)+radius)/b.dot)+1
	r := image.Rect(x0, y0, x1+1, y1+1).Intersect(b.img.Rect)
	for y := r.Min.Y; y < r.Max.Y; y++ {
		for x := r.Min.X; x < r.Max.X; x++ {
			middle := Point{(float64(x) + 0.5) * b.dot, (float64(y) + 0.5) * b.dot}
			if toSegment(middle, p, q) <= radius {
				b.img.Pix[b.img.PixOffset(x, y)] = 1
			}
		}
	}
}

// Text places every glyph by the unhinted advances before it, on the nearest dot.
func (b *bitmap) Text(x, y float64, s string, face Face, size float64, ink Ink) {
	t := &typefaces()[face]
	pen := 0
	for _, r := range s {
		g := t.glyph(r)
		if g == nil {
			continue
		}
		m := b.mask(face, r, g, size)
		left := b.dots(x+float64(pen)/1000*size*point) + m.x
		b.stamp(m.img, left, b.dots(y)+m.y, ink)
		pen += g.advance
	}
}

func (b *bitmap) stamp(m *image.Alpha, x, y int, ink Ink) {
	if m == nil {
		return
	}
	r := m.Rect.Add(image.Pt(x, y)).Intersect(b.img.Rect)
	for py := r.Min.Y; py < r.Max.Y; py++ {
		from := m.Pix[m.PixOffset(r.Min.X-x, py-y):][:r.Dx()]
		to := b.img.Pix[b.img.PixOffset(r.Min.X, py):][:r.Dx()]
		for i, a := range from {
			if a >= 0x80 {
				to[i] = 1 - uint8(ink)
			}
		}
	}
}

func (b *bitmap) mask(face Face, r rune, g *glyph, size float64) mask {
	key := maskKey{face, r, size}
	m, ok := b.masks[key]
	if !ok && len(g.outline) > 0 {
		em := size * point / b.dot
		m.x, m.y = int(math.Floor(g.left*em)), int(math.Floor(g.top*em))
		w, h := int(math.Ceil(g.right*em))-m.x, int(math.Ceil(g.bottom*em))-m.y
		at := func(p Point) (float32, float32) {
			return float32(p.X*em - float64(m.x)), float32(p.Y*em - float64(m.y))
		}
		b.raster.Reset(w, h)
		for _, s := range g.outline {
			x0, y0 := at(s.pts[0])
			x1, y1 := at(s.pts[1])
			x2, y2 := at(s.pts[2])
			switch s.op {
			case sfnt.SegmentOpMoveTo:
				b.raster.ClosePath()
				b.raster.MoveTo(x0, y0)
			case sfnt.SegmentOpLineTo:
				b.raster.LineTo(x0, y0)
			case sfnt.SegmentOpQuadTo:
				b.raster.QuadTo(x0, y0, x1, y1)
			case sfnt.SegmentOpCubeTo:
				b.raster.CubeTo(x0, y0, x1, y1, x2, y2)
			}
		}
		b.raster.ClosePath()
		m.img = image.NewAlpha(image.Rect(0, 0, w, h))
		b.raster.Draw(m.img, m.img.Rect, image.Opaque, image.Point{})
	}
	b.masks[key] = m
	return m
}

// toSegment is the distance of a point from the segment between p and q.
func toSegment(m, p, q Point) float64 {
	dx, dy := q.X-p.X, q.Y-p.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = max(0, min(1, ((m.X-p.X)*dx+(m.Y-p.Y)*dy)/l))
	}
	return hypot(m.X-p.X-t*dx, m.Y-p.Y-t*dy)
}
