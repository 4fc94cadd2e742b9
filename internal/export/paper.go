package export

import (
	"fmt"
	"io"
	"strings"

	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/tags/symbol"
)

// Paper is the size of the sheets that a paper is printed on, held upright.
type Paper string

// The papers.
const (
	Letter Paper = "letter" // 8 1/2 x 11 in
	A4     Paper = "a4"     // 210 x 297 mm
)

func (p Paper) size() (w, h float64, err error) {
	switch p {
	case Letter:
		return 215.9, 279.4, nil
	case A4:
		return 210, 297, nil
	}
	return 0, 0, fmt.Errorf("paper %q is not known: letter or a4", string(p))
}

// Measures that all papers share, in millimetres, and sizes of letters in points.
const (
	margin   = 14.0
	footRule = 13.0 // from the foot's rule to the lower edge
	hairline = 0.08
	point    = 25.4 / 72
	capital  = 0.7227 * point // height of capitals of one point

	bodySize    = 8.5
	smallSize   = 6.5 // captions, and the second language of heads
	leastSize   = 6.5
	leading     = bodySize * point * 1.12
	dpi         = 600
	qrSide      = 30.0 // side of the QR code with its quiet zone
	qrOut       = 3.0  // how far that reaches into the margin: it is white too
	bars        = 58.0 // width of the Code 128, a little generously
	quiet       = 5.2  // its quiet zone on either side
	barsFirst   = 13.0 // their height on the first page
	barsLater   = 9.0  // and on later ones
	laterHead   = 15.0 // height of the head of later pages
	beforeTable = 2.0
)

// block is a part of a paper that stays together on a page.
type block struct {
	h    float64
	keep bool // on one page with the next block
	draw func(d label.Device, y float64)
	// again stands above the block where it begins a later page, so that the rows on that page say
	// what they are.
	again []block
}

// sheet lays blocks out on pages.
type sheet struct {
	title, titulo string
	about         string // what it is about, on later pages; "" for a paper with a number
	plant         []string
	number        tags.Number // 0 for a paper without one
	qr            string      // text of the QR code; "" for none
	qrSide        float64
	foot          string
	w, h          float64
	pages         []*page
	y             float64 // where the next block goes
	fresh         bool    // nothing but the head stands on the page
	err           error
}

// page is one page of a sheet. It is a label.Label, to be drawn by the devices of tags.
type page struct {
	w, h  float64
	codes []string
	head  func(label.Device) error
	draws []func(label.Device)
}

// Size is the size of the paper in millimetres.
func (p *page) Size() (w, h float64) { return p.w, p.h }

// Codes are the texts of the page's symbols.
func (p *page) Codes() []string { return p.codes }

// Draw draws the page.
func (p *page) Draw(d label.Device) error {
	if err := p.head(d); err != nil {
		return err
	}
	for _, draw := range p.draws {
		draw(d)
	}
	return nil
}

// begin opens the first page.
func (s *sheet) begin(paper Paper) error {
	var err error
	if s.w, s.h, err = paper.size(); err != nil {
		return err
	}
	if s.qr != "" {
		m, err := symbol.QR(s.qr, symbol.LevelM)
		if err != nil {
			return fmt.Errorf("QR text: %w", err)
		}
		s.qrSide = max(qrSide, float64(m.Size()+2*symbol.QuietQR)*0.81)
	}
	p := s.turn()
	room := s.w - 2*margin
	if s.number != 0 {
		room = s.w - margin - bars - 2*quiet - s.qrSide + qrOut - margin
		p.codes = append(p.codes, s.qr)
	}
	title := s.set("title", 22, label.Bold, room, s.title)
	titulo := s.set("title", 12, label.Regular, room, s.titulo)
	var name, address label.Writing
	if len(s.plant) > 0 {
		name = s.set("plant", bodySize+0.5, label.Bold, room, s.plant[0])
		address = s.set("plant", bodySize-0.5, label.Regular, room, s.plant[1:]...)
	}
	y := margin + 3
	place := func(w label.Writing, gap float64) {
		if len(w.Lines()) == 0 {
			return
		}
		y += gap + w.Rise()
		at := y
		p.draws = append(p.draws, func(d label.Device) { w.Draw(d, margin, at) })
		y += w.Depth()
	}
	place(title, 0)
	place(titulo, 3)
	place(name, 3)
	place(address, 1.6)
	p.head = func(d label.Device) error {
		if s.number == 0 {
			return nil
		}
		x := s.w - margin + qrOut - s.qrSide
		if err := label.QR(d, s.qr, x, margin-qrOut, s.qrSide); err != nil {
			return err
		}
		return s.bars(d, x-quiet-bars/2, margin, barsFirst)
	}
	s.y = y + 5
	if s.number != 0 {
		s.y = max(s.y, margin+s.qrSide-2*qrOut+5)
	}
	s.fresh = false // later pages have more room
	return s.err
}

// bars prints the number as Code 128 centred on x, and below it in figures.
func (s *sheet) bars(d label.Device, x, y, h float64) error {
	if err := label.Picket(d, s.number, x, y, h); err != nil {
		return err
	}
	d.Text(x-bars/2, y+h+4.2, s.number.String(), label.Mono, 10.5, label.Black)
	return nil
}

// turn begins a page.
func (s *sheet) turn() *page {
	p := &page{w: s.w, h: s.h}
	if s.number != 0 {
		p.codes = append(p.codes, s.number.Digits())
	}
	s.pages = append(s.pages, p)
	s.fresh = true
	return p
}

// later begins a page after the first: its head is the title in small, and the bars again.
func (s *sheet) later() {
	p := s.turn()
	room := s.w - 2*margin
	if s.number != 0 {
		room -= bars + quiet
	}
	title := s.set("title", 11, label.Bold, room, joinSet(" · ", s.title, s.titulo, s.about))
	p.head = func(d label.Device) error {
		title.Draw(d, margin, margin+4)
		if s.number == 0 {
			return nil
		}
		return s.bars(d, s.w-margin-bars/2, margin-4, barsLater)
	}
	s.y = margin + laterHead - 4
}

// set breaks a text into lines, and keeps the first error.
func (s *sheet) set(name string, size float64, face label.Face, w float64, paragraphs ...string) label.Writing {
	c := label.Column{Name: name, W: w, Max: size, Min: min(size, max(leastSize, 0.7*size)), Face: face}
	return s.column(c, paragraphs...)
}

func (s *sheet) column(c label.Column, paragraphs ...string) label.Writing {
	w, err := c.Set(paragraphs...)
	if err != nil && s.err == nil {
		s.err = err
	}
	return w
}

// bottom is where blocks must end.
func (s *sheet) bottom() float64 { return s.h - footRule - 2 }

// put lays blocks out below what is there. A chain of blocks that keep each other goes to the next
// page where this one has no room, and is broken only if a whole page has none.
func (s *sheet) put(blocks ...block) error {
	for len(blocks) > 0 {
		n, h := 1, blocks[0].h
		for n < len(blocks) && blocks[n-1].keep {
			h += blocks[n].h
			n++
		}
		if s.y+h > s.bottom() && !s.fresh {
			s.again(blocks[0])
		}
		for _, b := range blocks[:n] {
			if s.y+b.h > s.bottom() && !s.fresh {
				s.again(b)
			}
			if s.y+b.h > s.bottom() {
				return fmt.Errorf("a part of the %s is higher than a page: shorten its texts, or name fewer heats in one row", strings.ToLower(s.title))
			}
			s.draw(b)
			s.fresh = false
		}
		blocks = blocks[n:]
	}
	return s.err
}

// again turns the page for a block.
func (s *sheet) again(b block) {
	s.later()
	for _, head := range b.again {
		s.draw(head)
	}
}

func (s *sheet) draw(b block) {
	p, y := s.pages[len(s.pages)-1], s.y
	if b.draw != nil {
		p.draws = append(p.draws, func(d label.Device) { b.draw(d, y) })
	}
	s.y += b.h
}

// finish prints the foot on all pages.
func (s *sheet) finish() ([]*page, error) {
	if s.err != nil {
		return nil, s.err
	}
	n := len(s.pages)
	for i, p := range s.pages {
		c := label.Column{Name: "foot", W: 62, Max: bodySize, Min: leastSize, Face: label.Bold, Right: true}
		right := s.column(c, fmt.Sprintf("page %d of %d · página %d de %d", i+1, n, i+1, n))
		left := s.set("foot", 7.5, label.Regular, s.w-2*margin-65, s.foot)
		y := s.h - footRule
		p.draws = append(p.draws, func(d label.Device) {
			d.Rect(margin, y, s.w-2*margin, 0.25, label.Black)
			left.Draw(d, margin, y+4)
			right.Draw(d, s.w-margin-c.W, y+4)
		})
	}
	return s.pages, s.err
}

// write prints pages as one PDF.
func write(w io.Writer, pages []*page, err error) error {
	if err != nil {
		return err
	}
	all := make([]label.Label, len(pages))
	for i, p := range pages {
		all[i] = p
	}
	return label.PDF(w, dpi, all...)
}

// joinSet joins the texts that are not empty.
func joinSet(by string, texts ...string) string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, by)
}
