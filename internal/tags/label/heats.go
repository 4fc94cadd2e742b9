package label

import (
	"fmt"
	"strings"
)

// mixed says whether bars of the named heats, and of unknown ones if unknown, may be of more than
// one heat.
func mixed(heats []string, unknown bool) bool {
	return len(heats) > 1 || unknown && len(heats) == 1
}

// heats prints heats into a box: one as large as it fits; several below a black bar; none as an
// empty frame for a marker pen.
func (p *page) heats(heats []string, unknown bool, box rect, largest float64) {
	f := field{name: "heat", x: box.x0, y: box.y0 + 2.4, w: box.x1 - box.x0, h: box.y1 - box.y0 - 2.4,
		max: largest, min: 7, lines: 1, face: Mono, whole: true}
	switch {
	case mixed(heats, unknown):
		end := p.mixedBar(box)
		f.y, f.h, f.max, f.min, f.lines = end+0.7, box.y1-end-0.7, largest/2, 6, 12
		p.several(f, heats, unknown)
	case len(heats) == 1:
		p.caption(f.x, f.y, "Heat · Colada")
		p.put(f, heats[0])
	default:
		p.caption(f.x, f.y, "Heat · Colada")
		frame(p.d, f.x, f.y, f.w, f.h)
	}
}

// mixedBar prints the warning across the top of a box, and gives where it ends.
func (p *page) mixedBar(box rect) float64 {
	f := field{name: "mixed heats", x: box.x0 + 1, y: box.y0 + 0.8, w: box.x1 - box.x0 - 2, h: 5.4,
		max: 9, min: 6, lines: 2, face: Bold, side: middle, ink: White}
	words := []string{"MIXED HEATS", "COLADAS MEZCLADAS"}
	if f.w > 60 {
		f.max, words = 13, []string{strings.Join(words, " · ")}
	}
	b, err := f.fit(words...)
	p.check(err)
	end := b.bottom() + 0.8
	p.d.Rect(box.x0, box.y0, box.x1-box.x0, end-box.y0, Black)
	b.draw(p.d)
	return end
}

// several prints heats one a line, or running on with commas where that sets them larger or is the
// only way. Heats that still find no room are counted, not named.
func (p *page) several(f field, heats []string, unknown bool) {
	named := make([]string, len(heats), len(heats)+1)
	for i, h := range heats {
		named[i] = strings.ReplaceAll(Clean(h), " ", string(nbsp))
	}
	if unknown {
		named = append(named, "+ unknown · desconocida")
	}
	apart, err := f.fit(named...)
	joined, err2 := f.fit(strings.Join(named, ", "))
	for n := len(named) - 1; err != nil && err2 != nil && n > 0; n-- {
		rest := fmt.Sprintf("+%d more · más", len(named)-n)
		joined, err2 = f.fit(strings.Join(named[:n], ", ") + ", " + strings.ReplaceAll(rest, " ", string(nbsp)))
	}
	switch {
	case err == nil && (err2 != nil || apart.size >= min(joined.size, 9)):
		apart.draw(p.d)
	case err2 == nil:
		joined.draw(p.d)
	default:
		p.check(err)
	}
}
