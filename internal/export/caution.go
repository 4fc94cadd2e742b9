package export

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
)

// Hold is a stop put on something, as papers tell it. Times are in the plant's zone, as they are
// printed; names are those of people.
type Hold struct {
	Target   event.Target
	Reason   string
	At, By   string
	Released *Release // nil: it stands
}

// Release is the end of a hold.
type Release struct {
	Reason string
	At, By string
}

// kinds are the words for what carries a number.
var kinds = map[tags.Kind]string{
	tags.Bundle: "bundle · atado", tags.Stock: "stock · material", tags.Load: "load · carga", tags.Place: "place · lugar",
}

// what names what is held: a heat with its mill, or a number.
func (h Hold) what() string {
	if n := h.Target.Number; n != 0 {
		word, ok := kinds[n.Kind()]
		if !ok {
			word = n.Kind().String()
		}
		return word + " " + n.String()
	}
	return "heat · colada " + heat.Key{Mill: h.Target.Mill, Heat: h.Target.Heat}.String()
}

// says tells the hold in one line.
func (h Hold) says() string {
	put := stamp(h.At, h.By)
	if r := h.Released; r != nil {
		return fmt.Sprintf("Released · Liberado: %s: %s%s; %s%s", h.what(), h.Reason, put, r.Reason, stamp(r.At, r.By))
	}
	return fmt.Sprintf("HELD · RETENIDO: %s: %s%s", h.what(), h.Reason, put)
}

// stamp says when and by whom, in brackets.
func stamp(at, by string) string {
	var parts []string
	for _, p := range [...]string{at, by} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

// HeatSize is a size rolled of a heat: what a mill cert is for.
type HeatSize struct {
	heat.Key
	Size bar.Size
}

// noCert says which heats and sizes have no cert on file, each heat once. A heat that is not known
// is another caution's.
func noCert(missing []HeatSize, name func(heat.Key) string) string {
	sizes := map[heat.Key][]bar.Size{}
	var keys []heat.Key
	for _, m := range missing {
		if m.Heat == "" || slices.Contains(sizes[m.Key], m.Size) {
			continue
		}
		if len(sizes[m.Key]) == 0 {
			keys = append(keys, m.Key)
		}
		sizes[m.Key] = append(sizes[m.Key], m.Size)
	}
	if len(keys) == 0 {
		return ""
	}
	slices.SortFunc(keys, heat.Key.Compare)
	var list []string
	for _, k := range keys {
		sortSizes(sizes[k])
		list = append(list, name(k)+" ("+join(sizes[k])+")")
	}
	all := strings.Join(list, ", ")
	if len(keys) == 1 {
		return fmt.Sprintf("No certificate yet for heat %s. · Falta el certificado de la colada %s.", all, all)
	}
	return fmt.Sprintf("No certificates yet for heats · Faltan los certificados de las coladas: %s.", all)
}

func join(sizes []bar.Size) string {
	var all []string
	for _, s := range sizes {
		all = append(all, string(s))
	}
	return strings.Join(all, ", ")
}

// oneOfCaution and unknownCaution say how many bundles are not of one heat for sure; "" for none.
func oneOfCaution(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 bundle may be of more than one heat (see “one of”). · 1 atado puede ser de varias coladas (véase «una de»)."
	}
	return fmt.Sprintf("%d bundles may be of more than one heat (see “one of”). · %d atados pueden ser de varias coladas (véase «una de»).", n, n)
}

func unknownCaution(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return "1 bundle may be of a heat that is not known. · 1 atado puede ser de una colada desconocida."
	}
	return fmt.Sprintf("%d bundles may be of heats that are not known. · %d atados pueden ser de coladas desconocidas.", n, n)
}

// box makes a frame with a black bar at its left around cautions, those that are not empty. It is
// made of lines, so that a long one can go on on the next page.
func (s *sheet) box(cautions ...string) []block {
	const pad, black = 2.1, 3.0
	w := s.w - 2*margin
	type line struct {
		text label.Writing
		gap  float64
	}
	var lines []line
	for _, c := range cautions {
		if c == "" {
			continue
		}
		column := label.Column{Name: "caution", W: w - black - 5, Max: bodySize, Min: bodySize, Face: label.Bold}
		for i, text := range s.column(column, c).Lines() {
			l := line{s.column(column, text), 1.3}
			if i > 0 {
				l.gap = 0.5
			}
			lines = append(lines, l)
		}
	}
	blocks := make([]block, len(lines))
	for i, l := range lines {
		first, last := i == 0, i == len(lines)-1
		above, h := l.gap, leading
		if first {
			above = pad
		}
		if last {
			h += pad - (leading - bodySize*capital)
		}
		h += above
		blocks[i] = block{h: h, draw: func(d label.Device, y float64) {
			const rule = 0.25
			d.Rect(margin, y, black, h, label.Black)
			d.Rect(margin+w-rule, y, rule, h, label.Black)
			if first {
				d.Rect(margin, y, w, rule, label.Black)
			}
			if last {
				d.Rect(margin, y+h-rule, w, rule, label.Black)
			}
			l.text.Draw(d, margin+black+2.5, y+above+bodySize*capital)
		}}
	}
	if len(blocks) > 0 {
		blocks = append(blocks, block{h: 1})
	}
	return blocks
}
