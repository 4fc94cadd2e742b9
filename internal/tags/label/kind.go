package label

import (
	"fmt"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// Stock is the tag of a stock lot or, with Remnant, of a remnant.
type Stock struct {
	Number  tags.Number
	Copy    int // 1 for the first print, which 0 means too
	Plant   string
	Host    string // of the QR code's address
	Remnant bool

	Steel  bar.Steel
	Bars   int
	Length bar.Length // of a bar; 0 is coil, which has Weight instead of bars
	Weight bar.Mass
	// Heats are those of the lot, none if it is not known; Unknown says that some bars may be of a
	// heat that nobody knows.
	Heats   []string
	Unknown bool
	Mill    string

	From  []tags.Number // parents of a remnant
	Date  string        // received, or of a remnant cut, as it is printed: "2026-11-20"
	Place string        // name of the place: "A-14"
	Cert  string        // type of the mill cert as written on it: "MTR", "3.1"

	Units bar.Units
	Paper Paper
}

// Size is the size of the paper in millimetres.
func (s Stock) Size() (w, h float64) { return s.Paper.size() }

// Codes are the number's digits and the QR text.
func (s Stock) Codes() []string { return codes(s.Number, s.qrText) }

func (s Stock) qrText() (string, error) {
	return qrText(s.Host, s.Unknown, tags.Tag{Number: s.Number, Copy: max(1, s.Copy), Size: string(s.Steel.Size),
		Count: s.Bars, Heats: s.Heats})
}

// Draw draws the tag: how many bars of which size and length, or how much coil, and above all of which
// heat.
func (s Stock) Draw(d Device) error {
	text, err := s.qrText()
	if err != nil {
		return err
	}
	w, h := s.Size()
	p := page{d: d, w: w, h: h}
	p.stub(s.Number, s.Plant)
	p.put(field{name: "size", x: w/2 + 9, y: 4.5, w: w/2 - 13, h: 8, max: 30, min: 14, lines: 1, face: Bold, side: right}, string(s.Steel.Size))
	if s.Remnant {
		p.band("REMNANT · SOBRANTE", true)
	} else {
		p.band("STOCK · MATERIAL", true)
	}
	const side = 46
	p.check(qr(d, text, w-side-3, 24.6, side))
	room := w - side - 3.5 - margin
	p.caption(margin, 29, "Size · Calibre")
	p.put(field{name: "size", x: margin, y: 29, w: room, h: 15.6, max: 60, min: 24, lines: 1, face: Bold}, string(s.Steel.Size))
	steel := strings.TrimSpace(s.Steel.Spec + " " + gradeText(s.Steel) + " " + strings.ToUpper(s.Steel.Coating))
	p.put(field{name: "grade", x: margin, y: 47, w: room, h: 5.7, max: 14, min: 7, lines: 2, face: Bold}, steel)
	bars := field{name: "bars", x: margin, y: 57, w: room, h: 12, max: 46, min: 24, lines: 1, face: Bold}
	length := field{name: "length", x: margin, y: 75, w: w - 2*margin, h: 13.6, max: 50, min: 24, lines: 1, face: Bold}
	if s.Length == 0 {
		both := bars
		both.name, both.y, both.h, both.min, both.lines = "coil", 56, 13.5, 14, 2
		p.put(both, "COIL", "ROLLO")
		p.caption(margin, 75, "Weight · Peso")
		length.name = "weight"
		p.put(length, s.Weight.Text(s.Units))
	} else {
		p.caption(margin, 57, "Bars · Barras")
		p.put(bars, strconv.Itoa(s.Bars))
		p.caption(margin, 75, "Length · Largo")
		p.put(length, s.Length.Text(s.Units))
	}
	p.rule(90)
	p.heats(s.Heats, s.Unknown, rect{margin, 92, w - margin, h - 44}, 52)
	p.put(field{name: "mill", x: margin, y: h - 41.6, w: w - 2*margin, h: 4.4, max: 13, min: 7, lines: 1, face: Bold}, s.Mill)
	p.put(field{name: "origin", x: margin, y: h - 36, w: w - 2*margin, h: 5.6, max: 9, min: 6, lines: 2, face: Regular, whole: true}, s.origin())
	p.rule(h - 29.8)
	p.footer(s.Number, s.Steel.String(), s.Copy, "", 24.6, 15.5)
	return p.err
}

// origin says where the bars came from, in one line.
func (s Stock) origin() string {
	var parts []string
	say := func(caption, value string) {
		if value != "" {
			parts = append(parts, strings.ReplaceAll(caption+" "+value, " ", string(nbsp)))
		}
	}
	if s.Remnant {
		from := make([]string, len(s.From))
		for i, n := range s.From {
			from[i] = n.String()
		}
		say("From · De", strings.Join(from, ", "))
		say("Cut · Corte", s.Date)
	} else {
		say("Received · Recibido", s.Date)
	}
	say("Place · Lugar", s.Place)
	say("Cert · Certificado", s.Cert)
	return strings.Join(parts, "   ")
}

// Plain is the tag of a load, a place or a person: a large title, and lines below it. The kind is
// that of its number.
type Plain struct {
	Number tags.Number
	Copy   int // 1 for the first print, which 0 means too
	Plant  string
	Host   string // of the QR code's address
	Title  string // "TRUCK 12", "A-14", a person's name
	Lines  []string
	Paper  Paper
}

// Size is the size of the paper in millimetres.
func (l Plain) Size() (w, h float64) { return l.Paper.size() }

// Codes are the number's digits and the QR text.
func (l Plain) Codes() []string { return codes(l.Number, l.qrText) }

func (l Plain) qrText() (string, error) {
	return tags.Format(l.Host, tags.Tag{Number: l.Number, Copy: max(1, l.Copy)})
}

// Draw draws the tag.
func (l Plain) Draw(d Device) error {
	text, err := l.qrText()
	if err != nil {
		return err
	}
	w, h := l.Size()
	p := page{d: d, w: w, h: h}
	p.stub(l.Number, l.Plant)
	switch l.Number.Kind() {
	case tags.Load:
		p.band("LOAD · CARGA", true)
	case tags.Place:
		p.band("PLACE · LUGAR", false)
	case tags.Person:
		p.band("PERSON · PERSONA", false)
	default:
		return fmt.Errorf("number: %s is the number of a %s, and this tag is for a load, a place or a person", l.Number, l.Number.Kind())
	}
	title := p.put(field{name: "title", x: margin, y: 28, w: w - 2*margin, h: 34, max: 150, min: 16, lines: 2, face: Bold}, l.Title)
	const side = 52
	p.check(qr(d, text, w-side-1, h-80, side))
	// Lines stand below the title across the tag, or where they are too many, beside the QR code.
	top := title.bottom() + 4
	lines := field{name: "lines", x: margin, y: top, w: w - 2*margin, h: h - 80 - top, max: 14, min: 9, lines: 14, face: Bold, whole: true}
	if _, err := lines.fit(l.Lines...); err != nil {
		lines.y, lines.w, lines.h, lines.min = h-76, w-side-2*margin, 48, 7
	}
	p.put(lines, l.Lines...)
	p.footer(l.Number, l.Title, l.Copy, "", footBars, 12.8)
	return p.err
}

// codes are the texts of a tag's symbols; a tag whose QR text is refused cannot be drawn either.
func codes(n tags.Number, qrText func() (string, error)) []string {
	all := []string{n.Digits()}
	if text, err := qrText(); err == nil {
		all = append(all, text)
	}
	return all
}

// band prints the kind of a tag below the hole: white on black, or black between two rules.
func (p *page) band(words string, black bool) {
	f := field{name: "kind", x: margin, y: stubRule + 1.5, w: p.w - 2*margin, h: 5.3, max: 20, min: 12, lines: 1, face: Bold, side: middle}
	if black {
		p.d.Rect(0, stubRule, p.w, 8, Black)
		f.ink = White
	} else {
		p.rule(stubRule)
		p.rule(stubRule + 8)
	}
	p.put(f, words)
}
