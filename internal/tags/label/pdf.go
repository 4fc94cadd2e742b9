package label

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// PDF writes labels as one document, a label a page of its own size, in the order given. dpi is
// that of the printer it will meet, 203, 300 or 600: the modules of its symbols are whole dots of
// it. Letters are text in subsets of the faces, everything else is lines and areas.
func PDF(w io.Writer, dpi int, labels ...Label) error {
	return Sheet(w, dpi, func(yield func(Label, error) bool) {
		for _, l := range labels {
			if !yield(l, nil) {
				return
			}
		}
	}, nil)
}

// Sheet writes a label a page, as they come out of labels, as one PDF for a label printer. After
// each page it calls progress, if there is one, with the number of pages done. The first error,
// from labels or from drawing one, ends it; then nothing has been written to w.
func Sheet(w io.Writer, dpi int, labels iter.Seq2[Label, error], progress func(done int)) error {
	dot, err := dotOf(dpi)
	if err != nil {
		return err
	}
	p := newDocument(dot)
	done := 0
	for l, err := range labels {
		if err != nil {
			return err
		}
		if err := p.page(l); err != nil {
			return fmt.Errorf("page %d: %w", done+1, err)
		}
		if done++; progress != nil {
			progress(done)
		}
	}
	if done == 0 {
		return errors.New("there is no tag to print")
	}
	return p.pdf.Output(w)
}

// document is the Device of PDF. The library counts in millimetres from the top as we do; numbers
// that it would round too far, those of a symbol's grid, are written here in points.
type document struct {
	dot    float64
	pdf    *fpdf.Fpdf
	height float64
	face   Face
	size   float64 // of the letters set last, 0 at the start of a page
	ink    Ink
	buf    []byte
}

func newDocument(dot float64) *document {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm"})
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCatalogSort(true)
	// The library would ask the clock; a fixed date keeps the document a function of its labels.
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	pdf.SetCreationDate(fixed)
	pdf.SetModificationDate(fixed)
	for f := range faces {
		pdf.AddUTF8FontFromBytes(f.family(), "", f.trueType())
	}
	pdf.SetLineCapStyle("round")
	pdf.SetLineJoinStyle("round")
	return &document{dot: dot, pdf: pdf}
}

func (f Face) family() string { return "face" + strconv.Itoa(int(f)) }

func (p *document) page(l Label) error {
	w, h := l.Size()
	p.height, p.size = h, 0
	orientation := "P"
	if w > h {
		orientation, w, h = "L", h, w // the library turns a page given upright
	}
	p.pdf.AddPageFormat(orientation, fpdf.SizeType{Wd: w, Ht: h})
	if err := l.Draw(p); err != nil {
		return err
	}
	return p.pdf.Error()
}

func (p *document) Dot() float64 { return p.dot }

func (p *document) Rect(x, y, w, h float64, ink Ink) {
	if ink == White {
		p.pdf.SetFillColor(255, 255, 255)
		defer p.pdf.SetFillColor(0, 0, 0)
	}
	p.pdf.Rect(x, y, w, h, "F")
}

// Grid sets the module as the unit, so that cells are whole numbers, and fills them as one path.
func (p *document) Grid(x, y, step float64, cells []Cell) {
	const perPoint = 1 / point
	b := append(p.buf[:0], "q "...)
	for _, v := range [...]float64{step * perPoint, 0, 0, -step * perPoint, x * perPoint, (p.height - y) * perPoint} {
		b = append(strconv.AppendFloat(b, v, 'f', 5, 64), ' ')
	}
	b = append(b, "cm\n"...)
	for _, c := range cells {
		for _, v := range [...]int{c.X, c.Y, c.W, c.H} {
			b = append(strconv.AppendInt(b, int64(v), 10), ' ')
		}
		b = append(b, "re\n"...)
	}
	p.buf = append(b, "f Q"...)
	p.pdf.RawWriteStr(string(p.buf))
}

func (p *document) Line(width float64, points []Point) {
	p.pdf.SetLineWidth(width)
	for i, q := range points {
		if i == 0 {
			p.pdf.MoveTo(q.X, q.Y)
		} else {
			p.pdf.LineTo(q.X, q.Y)
		}
	}
	p.pdf.DrawPath("D")
}

func (p *document) Text(x, y float64, s string, face Face, size float64, ink Ink) {
	if face != p.face || size != p.size {
		p.pdf.SetFont(face.family(), "", size)
		p.face, p.size = face, size
	}
	if ink != p.ink {
		level := 255 * int(ink)
		p.pdf.SetTextColor(level, level, level)
		p.ink = ink
	}
	p.pdf.Text(x, y, s)
}
