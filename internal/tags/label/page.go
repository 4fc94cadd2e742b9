package label

import (
	"fmt"

	"tagd/internal/tags"
)

// page draws the parts that tags have in common and keeps the first error.
type page struct {
	d    Device
	w, h float64
	err  error
}

func (p *page) check(err error) {
	if p.err == nil {
		p.err = err
	}
}

// put fits a text and prints it.
func (p *page) put(f field, paragraphs ...string) block {
	b, err := f.fit(paragraphs...)
	if err != nil {
		p.check(err)
		return block{field: f}
	}
	b.draw(p.d)
	return b
}

// caption names the value whose top is at y.
func (p *page) caption(x, y float64, s string) {
	p.d.Text(x, y-1.5, s, Regular, 6.5, Black)
}

// rule draws a level line from margin to margin.
func (p *page) rule(y float64) { p.d.Rect(margin, y, p.w-2*margin, hairline, Black) }

// stub prints the hole, and number and plant left of it.
func (p *page) stub(n tags.Number, plant string) {
	ring(p.d, p.w/2, 9, 4)
	p.put(field{name: "number", x: margin, y: 5, w: p.w/2 - 13, h: 4, max: 11.5, min: 8, lines: 1, face: Mono}, n.String())
	p.put(field{name: "plant", x: margin, y: 9.6, w: p.w/2 - 13, h: 4.6, max: 9, min: 6, lines: 2, face: Regular}, plant)
}

// footer prints the upright bars, h high from top above the lower edge, and below them number, name
// and copy. A name that is too long stands large elsewhere, and is left out.
func (p *page) footer(n tags.Number, name string, copies int, end string, top, h float64) {
	p.check(picket(p.d, n, p.w/2, p.h-top, acrossX(p.d, p.w), h))
	y := p.h - foot
	p.put(field{name: "number", x: margin, y: y, w: 45.5, h: 4, max: 13.5, min: 10, lines: 1, face: Mono}, n.String())
	f := field{name: "mark", x: 52, y: y, w: p.w - 77, h: 4.4, max: 13.5, min: 6, lines: 2, face: Bold}
	if b, err := f.fit(name); err == nil {
		b.draw(p.d)
	}
	f = field{name: "copy", x: p.w - 24, y: y + 0.3, w: 20, h: 3, max: 8, min: 6, lines: 1, face: Regular, side: right}
	text := "copy · copia 1"
	if copies > 1 {
		p.d.Rect(f.x, y-0.6, f.w, 5, Black)
		f.x, f.w, f.y, f.h, f.lines, f.face, f.side, f.ink = f.x+0.5, f.w-1, y-0.1, 4, 2, Bold, middle, White
		text = fmt.Sprintf("COPY · COPIA %d", copies)
	}
	if end != "" {
		text += string(nbsp) + end
	}
	b, err := f.fit(text)
	p.check(err)
	if copies > 1 {
		b.y += (f.h - b.height()) / 2
	}
	b.draw(p.d)
}
