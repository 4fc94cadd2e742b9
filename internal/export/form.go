package export

import (
	"tagd/internal/tags/label"
)

// fact is a value with its name; without values it is a line to write on.
type fact struct {
	name   string
	values []string
}

// facts sets columns of facts side by side.
func (s *sheet) facts(columns ...[]fact) block {
	const between = 5.0
	w := (s.w-2*margin+between)/float64(len(columns)) - between
	type placed struct {
		name, value label.Writing
		blank       bool
		x, y        float64
	}
	var all []placed
	deepest := 0.0
	for i, facts := range columns {
		y := 0.0
		for _, f := range facts {
			p := placed{x: margin + float64(i)*(w+between), y: y, blank: len(f.values) == 0}
			p.name = s.set(f.name, smallSize, label.Regular, w, f.name)
			p.value = s.column(label.Column{Name: f.name, W: w, Max: 9.5, Min: 8, Face: label.Bold}, f.values...)
			all = append(all, p)
			y += p.name.Depth() + 3.6 + max(9.5*capital, p.value.Rise()) + p.value.Depth() + 2.8
		}
		deepest = max(deepest, y)
	}
	return block{h: deepest + 0.8, draw: func(d label.Device, y float64) {
		for _, p := range all {
			p.name.Draw(d, p.x, y+p.y+p.name.Rise())
			base := y + p.y + p.name.Depth() + 3.6 + max(9.5*capital, p.value.Rise())
			p.value.Draw(d, p.x, base)
			if p.blank {
				d.Rect(p.x, base+0.6, w, 0.25, label.Black)
			}
		}
	}}
}

// line is a paragraph across the page with room above it.
func (s *sheet) line(above, size float64, face label.Face, text string) block {
	w := s.set("line", size, face, s.w-2*margin, text)
	return block{h: above + w.Rise() + w.Depth(), draw: func(d label.Device, y float64) {
		w.Draw(d, margin, y+above+w.Rise())
	}}
}

// signatures is a place to sign for each role, named in both languages.
func (s *sheet) signatures(roles ...[2]string) block {
	const between, first, step = 7.0, 14.5, 8.6
	captions := [...]string{"name · nombre", "signature · firma", "date, time · fecha, hora"}
	w := (s.w-2*margin+between)/float64(len(roles)) - between
	return block{h: first + 2*step + 3.5, draw: func(d label.Device, y float64) {
		for i, role := range roles {
			x := margin + float64(i)*(w+between)
			d.Text(x, y+5, role[0], label.Bold, 9, label.Black)
			d.Text(x, y+8.3, role[1], label.Regular, 7.5, label.Black)
			for j, c := range captions {
				rule := y + first + float64(j)*step
				d.Rect(x, rule, w, 0.25, label.Black)
				d.Text(x, rule+2.6, c, label.Regular, smallSize, label.Black)
			}
		}
	}}
}

// toWrite is a question and a line to write the answer on.
func (s *sheet) toWrite(question string) block {
	w := s.set("question", bodySize, label.Regular, s.w-2*margin, question)
	return block{h: 7.5, draw: func(d label.Device, y float64) {
		w.Draw(d, margin, y+6)
		x := margin + w.Width() + 2
		d.Rect(x, y+6.7, s.w-margin-x, 0.25, label.Black)
	}}
}
