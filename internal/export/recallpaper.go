package export

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"tagd/internal/heat"
	"tagd/internal/tags/label"
)

// PDF writes the recall as a paper: what is affected and held, where it is now, whom to call, and
// every bundle and lot to be ticked off. The error names a character that cannot be printed, or a row
// that no page can hold; then nothing has been written to w.
func (r Recall) PDF(w io.Writer, paper Paper) error {
	pages, err := r.pages(paper)
	return write(w, pages, err)
}

func (r Recall) pages(paper Paper) ([]*page, error) {
	a := r.account()
	s := &sheet{title: "RECALL LIST", titulo: "Lista de retiro", about: short(r.Asked), plant: r.Plant, foot: a.foot()}
	if r.Trace {
		s.title, s.titulo = "TRACE REPORT", "Informe de trazabilidad"
	}
	if err := s.begin(paper); err != nil {
		return nil, err
	}
	blocks := []block{a.asked(s)}
	blocks = append(blocks, s.box(a.cautions()...)...)
	blocks = append(blocks, a.whereNow(s)...)
	blocks = append(blocks, a.whomToCall(s)...)
	blocks = append(blocks, a.certs(s)...)
	blocks = append(blocks, a.everything(s, paper)...)
	if err := s.put(blocks...); err != nil {
		return nil, err
	}
	return s.finish()
}

// foot says what the paper is about and how much of the records it knows.
func (a *account) foot() string {
	foot := short(a.Asked) + " · made · hecho " + a.Printed
	if a.Through > 0 {
		foot += fmt.Sprintf(" · from records 1 to %d · de los registros 1 a %d", a.Through, a.Through)
	}
	return foot
}

// short is a text of 40 letters at most, for where it is repeated.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return s
}

// fewHolds and fewHeats are how many holds and heats stand beside what was asked for; more stand in
// the box of cautions, and in the table of certs.
const fewHolds, fewHeats = 3, 6

// asked prints in large letters what was asked for, and beside it heats, sizes and holds.
func (a *account) asked(s *sheet) block {
	const between, above = 6.0, 1.0
	w := s.w - 2*margin
	big := s.column(label.Column{Name: "asked for", W: w * 0.45, Max: 26, Min: 9, Face: label.Mono}, a.Asked)
	x := margin + big.Width() + between
	room := s.w - margin - x
	about := s.set("heat", 10, label.Bold, room, a.about())
	var lines []string
	if len(a.Holds) <= fewHolds {
		lines = a.holds()
	}
	small := s.column(label.Column{Name: "hold", W: room, Max: bodySize, Min: bodySize, Face: label.Regular}, lines...)
	left := big.Rise() + big.Depth()
	right := about.Rise() + about.Depth()
	if len(lines) > 0 {
		right += 1.6 + small.Rise() + small.Depth()
	}
	return block{h: above + max(left, right) + 3.5, draw: func(d label.Device, y float64) {
		y += above
		big.Draw(d, margin, y+big.Rise())
		about.Draw(d, x, y+about.Rise())
		small.Draw(d, x, y+about.Rise()+about.Depth()+1.6+small.Rise())
	}}
}

// holds tells each hold in a line.
func (a *account) holds() []string {
	var lines []string
	for _, h := range a.Holds {
		lines = append(lines, h.says())
	}
	return lines
}

// about names mills, heats and sizes: mills alone where the heat is what was asked for.
func (a *account) about() string {
	var parts []string
	for _, k := range a.Heats {
		if k.Heat == a.Asked {
			parts = append(parts, k.Mill)
		} else {
			parts = append(parts, k.String())
		}
	}
	if n := len(parts); n > fewHeats {
		parts = []string{fmt.Sprintf("%d heats · coladas", n)}
	}
	out := strings.Join(parts, ", ")
	if len(a.sizes) > 0 {
		out += " · " + join(a.sizes)
	}
	return strings.TrimPrefix(out, " · ")
}

// cautions are what a person must know before calling.
func (a *account) cautions() []string {
	var out []string
	if !a.Trace && !a.held() {
		out = append(out, "Nothing is held: what is still here can be cut and loaded. · Nada está retenido: lo que queda aquí puede cortarse y cargarse.")
	}
	if len(a.Holds) > fewHolds {
		out = append(out, a.holds()...)
	}
	bundles, lots := a.all()
	if n := bundles.oneOf + lots.oneOf; n > 0 {
		english, spanish := "", ""
		if !a.Trace {
			english, spanish = " (they count as affected)", " (cuentan como afectados)"
		}
		out = append(out, fmt.Sprintf("Bundles or lots that may be of another heat: %d%s. · Atados o materiales que pueden ser de otra colada: %d%s.", n, english, n, spanish))
	}
	if n := a.Disputes; n > 0 {
		out = append(out, fmt.Sprintf("Scans of this steel that are in dispute and not counted here: %d. · Escaneos de este acero en disputa, sin contar aquí: %d.", n, n))
	}
	return out
}

// heading is a title between tables; it stays with what follows.
func (s *sheet) heading(text string) block {
	b := s.line(4.5, 11, label.Bold, text)
	b.keep = true
	return b
}

// whereNow is the table of where everything is, in order of haste.
func (a *account) whereNow(s *sheet) []block {
	t := newTable(s, false,
		column{s.w - 2*margin - 112, "Where now", "Dónde está", label.Bold, false},
		column{24, "Bundles", "Atados", label.Regular, true},
		column{17, "certain", "seguro", label.Regular, true},
		column{17, "one of", "una de", label.Regular, true},
		column{30, "Pieces", "Piezas", label.Regular, true},
		column{24, unitName(a.Units), "peso", label.Regular, true},
	)
	row := func(x tally) []string {
		return []string{count(x.bundles, a.Units), count(x.certain, a.Units), count(x.oneOf, a.Units), count(x.pieces, a.Units), figure(x.weight, a.Units)}
	}
	for w, x := range a.places {
		cells := []cell{words(fmt.Sprintf("%d  %s · %s", w+1, places[w].english, places[w].spanish))}
		figures := row(x)
		if Where(w) == InStock {
			figures[0], figures[3] = counted(x.bundles, "lot", a), counted(x.pieces, "bar", a)
		}
		for _, f := range figures {
			cells = append(cells, words(f))
		}
		t.row(places[w].english, "", cells...)
	}
	bundles, lots := a.all()
	all := bundles
	all.weight += lots.weight
	all.certain += lots.certain
	all.oneOf += lots.oneOf
	figures := row(all)
	figures[0] += " + " + counted(lots.bundles, "lot", a)
	figures[3] += " + " + counted(lots.pieces, "bar", a)
	t.total(1, "All · Todo", figures...)
	return t.blocks
}

// counted is "1 lot" or "3 lots".
func counted(n int, word string, a *account) string {
	if n != 1 {
		word += "s"
	}
	return count(n, a.Units) + "\u00a0" + word
}

// whomToCall is the table of those whom steel in question went to.
func (a *account) whomToCall(s *sheet) []block {
	if len(a.calls) == 0 {
		return nil
	}
	english, spanish := a.callsTitle()
	t := newTable(s, true,
		column{23, "Load", "Carga", label.Mono, false},
		column{s.w - 2*margin - 119.5, "Job, place", "Obra, lugar", label.Bold, false},
		column{16, "Bundles", "Atados", label.Regular, true},
		column{16, unitName(a.Units), "peso", label.Regular, true},
		column{30, "Contact", "Contacto", label.Regular, false},
		column{26, "Called: who, when", "Llamado", label.Regular, false},
	)
	for _, c := range a.calls {
		place := words(strings.TrimSpace("Job · Obra "+c.Job+"  "+c.JobName), strings.Join(c.ShipTo, ", "))
		place.note = c.left()
		t.row("load "+c.Load.String(), "", words(serial(c.Load)), place, words(count(c.bundles, a.Units)), words(figure(c.weight, a.Units)), words(c.Contact), words())
	}
	return append([]block{s.heading(english + " · " + spanish)}, t.blocks...)
}

// left says when and on what truck it left.
func (c Sent) left() string {
	if c.Left == "" {
		return c.Truck
	}
	return strings.TrimPrefix(c.Truck+", left · salió "+c.Left, ", ")
}

// everything is the table of all bundles, then all lots.
func (a *account) everything(s *sheet, paper Paper) []block {
	wide := 0.0
	if paper == Letter {
		wide = 1
	}
	t := newTable(s, true,
		column{36 + 2*wide, "Mark, job", "Marca, obra", label.Bold, false},
		column{13, "Bundle", "Atado", label.Regular, false},
		column{13, "Size", "Calibre", label.Bold, false},
		column{11, "Pcs", "Pzas", label.Bold, true},
		column{14, unitName(a.Units), "peso", label.Regular, true},
		column{27.5 + 2*wide, "Certainty", "Certeza", label.Regular, false},
		column{37 + 1.9*wide, "Where, since", "Dónde, desde", label.Regular, false},
		column{22, "Number", "Número", label.Mono, false},
	)
	var group string
	for _, b := range a.Bundles {
		if g := a.group(b); g != group {
			t.group(g)
			group = g
		}
		mark := words(b.Mark)
		mark.note = strings.TrimSuffix(b.Job+" / "+b.List, " / ")
		sure, below := a.certainty(b.Draw)
		t.row(b.name(), below, mark, words(b.kOfN()), words(string(b.Steel.Size)), words(count(b.Pieces, a.Units)), words(figure(b.Weight, a.Units)),
			sure, at(b.Place, b.Since), words(serial(b.Number)))
	}
	for i, l := range a.Lots {
		if i == 0 {
			t.group(fmt.Sprintf("%d  %s · %s", InStock+1, places[InStock].english, places[InStock].spanish))
		}
		what := words("stock · material")
		if l.Remnant {
			what = words("remnant · sobrante")
		}
		bars := words(count(l.Bars, a.Units))
		if what.note = l.Length.Text(a.Units); l.Length == 0 {
			what.note, bars = "coil · rollo", words()
		}
		sure, below := a.certainty(l.Draw)
		t.row("lot "+l.Number.String(), below, what, words(), words(string(l.Steel.Size)), bars, words(figure(l.Weight, a.Units)),
			sure, at(l.Place, l.Since), words(serial(l.Number)))
	}
	if len(a.Bundles)+len(a.Lots) == 0 {
		return nil
	}
	return append([]block{s.heading("All bundles and lots · Todos los atados y materiales")}, t.blocks...)
}

// at is where something is, and since when.
func at(place, since string) cell {
	if place == "" {
		return words(since)
	}
	return cell{text: []string{place}, note: since}
}

// certs is the table of the mill certs of the heats in question, and of heats that have none.
func (a *account) certs(s *sheet) []block {
	if !a.showCerts() {
		return nil
	}
	t := newTable(s, false,
		column{36, "Heat", "Colada", label.Mono, false},
		column{s.w - 2*margin - 129, "Mill", "Acería", label.Regular, false},
		column{28, "Sizes", "Calibres", label.Bold, false},
		column{22, "Spec", "Norma", label.Regular, false},
		column{15, "Type", "Tipo", label.Regular, false},
		column{28, "State", "Estado", label.Regular, false},
	)
	for _, c := range a.certRows() {
		t.row("cert of "+c.key.String(), "", words(c.key.Heat), words(c.key.Mill), words(join(c.Filed.Sizes)), words(c.Filed.Spec), words(c.Filed.Type),
			words(c.english+" · "+c.spanish))
	}
	return append([]block{s.heading("Certificates · Certificados")}, t.blocks...)
}

// group is the head above a bundle: where it is, and for what is on a truck the load and the job.
func (a *account) group(b Traced) string {
	g := fmt.Sprintf("%d  %s · %s", b.Where+1, places[b.Where].english, places[b.Where].spanish)
	if b.Load != 0 {
		g += "   load · carga " + serial(b.Load)
		if b.Where == Shipped {
			g = strings.TrimSpace(g + "   " + b.Job + " " + a.sent(b).JobName)
		}
	}
	return g
}

// certainty says how sure the heats of a row are, and names all that it may be of. A heat that is
// certain is what was asked for, and is named only where several were.
func (a *account) certainty(d heat.Draw) (cell, string) {
	c, below := heatsOf(d, a.name)
	if d.Certainty == heat.Certain {
		if slices.Equal(d.Heats, a.Heats) {
			return words("certain · seguro"), ""
		}
		c.note = "certain · seguro"
	}
	return c, below
}
