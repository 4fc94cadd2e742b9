package label

import (
	"bytes"
	"encoding/binary"
	"encoding/xml"
	"errors"
	"flag"
	"image"
	"image/png"
	"io"
	"iter"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/vector"

	"tagd/internal/bar"
)

var update = flag.Bool("update", false, "write the golden files anew")

// gallery is a label of many sketches in their boxes, to be looked at.
type gallery struct {
	w, h     float64
	sketches []sketch
}

func (g gallery) Size() (w, h float64) { return g.w + 2, float64(len(g.sketches))*(g.h+2) + 1 }
func (g gallery) Codes() []string      { return nil }
func (g gallery) Draw(d Device) error {
	for i, k := range g.sketches {
		y := 1 + float64(i)*(g.h+2)
		frame(d, 1, y, g.w, g.h)
		k.draw(d, 1, y)
	}
	return nil
}

func galleryOf(t *testing.T) gallery {
	g := gallery{w: 93.6, h: 23.5}
	for _, c := range []struct {
		order string
		units bar.Units
	}{
		{`10" [90] 10'-9"`, bar.Imperial},
		{`2 1/2" [135R] 38'-0"`, bar.Imperial},
		{`12'-0" [45L] 7" [45R] 4'-0"`, bar.Imperial},
		{`4" [135] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [135] 4"`, bar.Imperial},
		{`4" [90] 1'-2" [90] 2'-3" [90] 1'-2" [90] 2'-3" [90] 4"`, bar.Imperial},
		{`9" [90L] (R 12'-0" 67L) 9"`, bar.Imperial},
		{`8" [180L] 3'-2" [45R] 2'-1" [45L] 9'-6" [45L] 2'-1" [45R] 3'-2" [180L] 8"`, bar.Imperial},
		{`150 mm [90L] 300 mm [90R] 400 mm [90R] 300 mm [90L] 600 mm [90L] 300 mm [90R] 400 mm [90R] 300 mm [90L] 600 mm [90L] 300 mm [90R] 150 mm [90R] 75 mm`, bar.Metric},
		{`(R 300 mm 350L) 400 mm`, bar.Metric},
	} {
		k, err := drawBend(bent(t, c.order), 0, c.units, g.w, g.h)
		require.NoError(t, err)
		g.sketches = append(g.sketches, k)
	}
	return g
}

// The golden pictures are to be looked at when they change. Pictures are compared dot by dot, since
// how PNG packs them is the library's affair.
func TestGolden(t *testing.T) {
	all := samples(t)
	all["sketches"] = galleryOf(t)
	for name, l := range all {
		dpi := 203
		if name == "mixed" {
			dpi = 300
		}
		got, err := Bitmap(l, dpi)
		require.NoError(t, err, name)
		file := filepath.Join("testdata", name+".png")
		if *update {
			var buf bytes.Buffer
			require.NoError(t, PNG(&buf, l, dpi))
			require.NoError(t, os.WriteFile(file, buf.Bytes(), 0o644))
		}
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		want, err := png.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		paletted, ok := want.(*image.Paletted)
		require.True(t, ok, "%s is not a picture of two colours", file)
		require.Equal(t, paletted.Rect, got.Rect, name)
		require.True(t, bytes.Equal(paletted.Pix, got.Pix), "%s differs from %s; look at both and run with -update", name, file)
	}
	var svg bytes.Buffer
	require.NoError(t, SVG(&svg, all["bent"], 203))
	file := filepath.Join("testdata", "bent.svg")
	if *update {
		require.NoError(t, os.WriteFile(file, svg.Bytes(), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err)
	require.True(t, bytes.Equal(want, svg.Bytes()), "the SVG differs from %s; look at both and run with -update", file)
}

// A picture has one bit a dot and its true size: 203 dpi are 7992 dots a metre (PNG specification,
// 11.3.5.3).
func TestPNGIsOneBitOfTrueSize(t *testing.T) {
	for dpi, perMetre := range map[int]uint32{203: 7992, 300: 11811, 600: 23622} {
		var buf bytes.Buffer
		require.NoError(t, PNG(&buf, bundleOf(43), dpi))
		file := buf.Bytes()
		header := file[8:]
		require.Equal(t, "IHDR", string(header[4:8]))
		require.Equal(t, uint32(int(101.6/25.4*float64(dpi)+0.5)), binary.BigEndian.Uint32(header[8:]), "width")
		require.Equal(t, []byte{1, 3}, header[16:18], "bit depth, palette")
		chunk := file[8+25:]
		require.Equal(t, uint32(9), binary.BigEndian.Uint32(chunk))
		require.Equal(t, "pHYs", string(chunk[4:8]))
		require.Equal(t, perMetre, binary.BigEndian.Uint32(chunk[8:]))
		require.Equal(t, perMetre, binary.BigEndian.Uint32(chunk[12:]))
		require.Equal(t, byte(1), chunk[16])
		_, err := png.Decode(bytes.NewReader(file)) // checks the CRC of every chunk
		require.NoError(t, err)
	}
	for _, dpi := range [...]int{0, 72, -203} {
		require.ErrorContains(t, PNG(io.Discard, bundleOf(43), dpi), "dpi")
		require.ErrorContains(t, SVG(io.Discard, bundleOf(43), dpi), "dpi")
		require.ErrorContains(t, PDF(io.Discard, dpi, bundleOf(43)), "dpi")
	}
}

// The SVG shows what the PNG shows, and needs nothing from outside.
func TestSVGLooksLikePNG(t *testing.T) {
	all := samples(t)
	for _, name := range []string{"bent", "mixed", "load"} {
		l := all[name]
		var buf bytes.Buffer
		require.NoError(t, SVG(&buf, l, 203))
		require.NotContains(t, buf.String(), "<text")
		require.NotContains(t, buf.String(), "href")
		require.NotContains(t, buf.String(), "style")
		got := renderSVG(t, buf.Bytes(), 25.4/203)
		want, err := Bitmap(l, 203)
		require.NoError(t, err)
		require.Less(t, differing(got, want), 0.012, name)
	}
}

// differing is the share of dots in which two pictures differ.
func differing(a, b *image.Paletted) float64 {
	n := 0
	for i := range a.Pix {
		if a.Pix[i] != b.Pix[i] {
			n++
		}
	}
	return float64(n) / float64(len(a.Pix))
}

type svgPath struct {
	D         string `xml:"d,attr"`
	Fill      string `xml:"fill,attr"`
	Stroke    string `xml:"stroke,attr"`
	Width     string `xml:"stroke-width,attr"`
	Transform string `xml:"transform,attr"`
}

var (
	pathPart  = regexp.MustCompile(`([A-Za-z])([^A-Za-z]*)`)
	pathValue = regexp.MustCompile(`-?[0-9.]+`)
)

func numbers(t *testing.T, s string) []float64 {
	var all []float64
	for _, v := range pathValue.FindAllString(s, -1) {
		f, err := strconv.ParseFloat(v, 64)
		require.NoError(t, err)
		all = append(all, f)
	}
	return all
}

// renderSVG draws the part of SVG that our pictures use: paths of M, L, H, h, v, Q and z, filled or
// stroked, moved and scaled.
func renderSVG(t *testing.T, file []byte, dot float64) *image.Paletted {
	var doc struct {
		XMLName xml.Name  `xml:"http://www.w3.org/2000/svg svg"`
		Width   string    `xml:"width,attr"`
		Height  string    `xml:"height,attr"`
		ViewBox string    `xml:"viewBox,attr"`
		Paths   []svgPath `xml:"path"`
	}
	require.NoError(t, xml.Unmarshal(file, &doc))
	box := numbers(t, doc.ViewBox)
	require.Equal(t, strconv.FormatFloat(box[2], 'f', -1, 64)+"mm", doc.Width)
	blank, err := Bitmap(blankLabel{box[2], box[3]}, 203)
	require.NoError(t, err)
	b := &bitmap{dot: dot, img: blank}
	var z vector.Rasterizer
	for _, p := range doc.Paths {
		move, scale := Point{}, 1.0
		if p.Transform != "" {
			v := numbers(t, p.Transform)
			move, scale = Point{v[0], v[1]}, v[2]
		}
		var line []Point
		z.Reset(b.img.Rect.Dx(), b.img.Rect.Dy())
		pen, start := Point{}, Point{}
		at := func(p Point) (float32, float32) {
			return float32((move.X + p.X*scale) / dot), float32((move.Y + p.Y*scale) / dot)
		}
		to := func(p Point) {
			pen = p
			line = append(line, p)
			x, y := at(p)
			z.LineTo(x, y)
		}
		for _, part := range pathPart.FindAllStringSubmatch(p.D, -1) {
			v := numbers(t, part[2])
			switch part[1] {
			case "M":
				pen, start = Point{v[0], v[1]}, Point{v[0], v[1]}
				line = append(line[:0:0], pen)
				x, y := at(pen)
				z.MoveTo(x, y)
			case "L":
				to(Point{v[0], v[1]})
			case "H":
				to(Point{v[0], pen.Y})
			case "h":
				to(Point{pen.X + v[0], pen.Y})
			case "v":
				to(Point{pen.X, pen.Y + v[0]})
			case "Q":
				x0, y0 := at(Point{v[0], v[1]})
				pen = Point{v[2], v[3]}
				x1, y1 := at(pen)
				z.QuadTo(x0, y0, x1, y1)
			case "z":
				z.ClosePath()
				pen = start
			default:
				t.Fatalf("path command %q", part[1])
			}
		}
		if p.Stroke != "" {
			b.Line(numbers(t, p.Width)[0], line)
			continue
		}
		m := image.NewAlpha(b.img.Rect)
		z.Draw(m, m.Rect, image.Opaque, image.Point{})
		ink := Black
		if p.Fill == "#fff" {
			ink = White
		}
		b.stamp(m, 0, 0, ink)
	}
	return b.img
}

type blankLabel struct{ w, h float64 }

func (l blankLabel) Size() (w, h float64) { return l.w, l.h }
func (l blankLabel) Draw(Device) error    { return nil }
func (l blankLabel) Codes() []string      { return nil }

func sheetOf(labels ...Label) iter.Seq2[Label, error] {
	return func(yield func(Label, error) bool) {
		for _, l := range labels {
			if !yield(l, nil) {
				return
			}
		}
	}
}

func TestSheet(t *testing.T) {
	var done []int
	var buf bytes.Buffer
	require.NoError(t, Sheet(&buf, 203, sheetOf(bundleOf(1), mixedOf(t), stockOf(2)), func(n int) { done = append(done, n) }))
	require.Equal(t, []int{1, 2, 3}, done)
	pages := regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllStringSubmatch(buf.String(), 3)
	// 101.6 x 152.4 mm are 288 x 432 points, 100 x 150 mm are 283.46 x 425.20.
	require.Equal(t, []string{"288.00", "432.00"}, pages[0][1:])
	require.Equal(t, []string{"283.46", "425.20"}, pages[1][1:])
	require.Contains(t, buf.String(), "/Count 3")
}

func TestSheetErrors(t *testing.T) {
	bad := bundleOf(2)
	bad.Mark = strings.Repeat("W", 30)
	var buf bytes.Buffer
	err := Sheet(&buf, 203, sheetOf(bundleOf(1), bad), nil)
	var fit *FitError
	require.ErrorAs(t, err, &fit)
	require.ErrorContains(t, err, "page 2: mark")
	require.Zero(t, buf.Len())

	gone := errors.New("the list ends here")
	err = Sheet(&buf, 203, func(yield func(Label, error) bool) {
		_ = yield(bundleOf(1), nil) && yield(nil, gone)
	}, nil)
	require.ErrorIs(t, err, gone)
	require.Zero(t, buf.Len())
	require.ErrorContains(t, Sheet(&buf, 203, sheetOf(), nil), "no tag")
}
