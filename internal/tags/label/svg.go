package label

import (
	"fmt"
	"html"
	"io"
	"math"
	"strconv"
	"strings"

	"golang.org/x/image/font/sfnt"
)

// SVG writes a label as a picture of true size that needs nothing else: letters are outlines, so it
// looks the same where the faces are not installed. dpi is that of the printer it will meet, 203,
// 300 or 600: the modules of its symbols are whole dots of it.
func SVG(w io.Writer, l Label, dpi int) error {
	dot, err := dotOf(dpi)
	if err != nil {
		return err
	}
	width, height := l.Size()
	s := &picture{dot: dot}
	if err := l.Draw(s); err != nil {
		return err
	}
	title := ""
	if codes := l.Codes(); len(codes) > 0 {
		title = "<title>" + html.EscapeString(codes[0]) + "</title>\n"
	}
	_, err = fmt.Fprintf(w, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]gmm" height="%[2]gmm" viewBox="0 0 %[1]g %[2]g" role="img">
%[3]s<path fill="#fff" d="M0 0h%[1]gv%[2]gH0z"/>
%[4]s</svg>
`, width, height, title, s.b.String())
	return err
}

// picture is the Device of SVG.
type picture struct {
	dot float64
	b   strings.Builder
}

func (s *picture) Dot() float64 { return s.dot }

// num writes a number with at most four decimals, after a space when it is not the first.
func (s *picture) num(v ...float64) {
	for i, x := range v {
		if i > 0 {
			s.b.WriteByte(' ')
		}
		s.b.WriteString(strconv.FormatFloat(math.Round(x*1e4)/1e4+0, 'f', -1, 64))
	}
}

func (s *picture) Rect(x, y, w, h float64, ink Ink) {
	s.b.WriteString(`<path`)
	s.ink(ink)
	s.b.WriteString(` d="M`)
	s.num(x, y)
	s.b.WriteByte('h')
	s.num(w)
	s.b.WriteByte('v')
	s.num(h)
	s.b.WriteByte('h')
	s.num(-w)
	s.b.WriteString("z\"/>\n")
}

func (s *picture) ink(ink Ink) {
	if ink == White {
		s.b.WriteString(` fill="#fff"`)
	}
}

// Grid draws all cells as one path, so that no seam shows between them.
func (s *picture) Grid(x, y, step float64, cells []Cell) {
	fmt.Fprintf(&s.b, `<path shape-rendering="crispEdges" transform="translate(%.5f %.5f) scale(%.6f)" d="`, x, y, step)
	for _, c := range cells {
		fmt.Fprintf(&s.b, "M%d %dh%dv%dh%dz", c.X, c.Y, c.W, c.H, -c.W)
	}
	s.b.WriteString("\"/>\n")
}

func (s *picture) Line(width float64, points []Point) {
	s.b.WriteString(`<path fill="none" stroke="#000" stroke-linecap="round" stroke-linejoin="round" stroke-width="`)
	s.num(width)
	s.b.WriteString(`" d="`)
	for i, p := range points {
		s.b.WriteByte("ML"[min(i, 1)])
		s.num(p.X, p.Y)
	}
	s.b.WriteString("\"/>\n")
}

func (s *picture) Text(x, y float64, text string, face Face, size float64, ink Ink) {
	t := &typefaces()[face]
	em := size * point
	pen := 0
	s.b.WriteString(`<path`)
	s.ink(ink)
	s.b.WriteString(` d="`)
	for _, r := range text {
		g := t.glyph(r)
		if g == nil {
			continue
		}
		x0 := x + float64(pen)/1000*em
		for i, part := range g.outline {
			n := 1
			switch part.op {
			case sfnt.SegmentOpMoveTo:
				if i > 0 {
					s.b.WriteByte('z')
				}
				s.b.WriteByte('M')
			case sfnt.SegmentOpLineTo:
				s.b.WriteByte('L')
			case sfnt.SegmentOpQuadTo:
				s.b.WriteByte('Q')
				n = 2
			case sfnt.SegmentOpCubeTo:
				s.b.WriteByte('C')
				n = 3
			}
			for j, p := range part.pts[:n] {
				if j > 0 {
					s.b.WriteByte(' ')
				}
				s.num(x0+p.X*em, y+p.Y*em)
			}
		}
		if len(g.outline) > 0 {
			s.b.WriteByte('z')
		}
		pen += g.advance
	}
	s.b.WriteString("\"/>\n")
}
