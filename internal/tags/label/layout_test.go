package label

import (
	"errors"
	"fmt"
	"image"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
)

// recorder is a Device that keeps what is drawn on it.
type recorder struct {
	dot   float64
	rects []rect // black areas
	lines []drawnLine
	grids []drawnGrid
	texts []drawnText
}

type drawnLine struct {
	width  float64
	points []Point
}

type drawnGrid struct {
	x, y, step float64
	cells      []Cell
}

type drawnText struct {
	s    string
	face Face
	size float64
	ink  Ink
	box  rect
}

func (r *recorder) Dot() float64 { return r.dot }

func (r *recorder) Rect(x, y, w, h float64, ink Ink) {
	if ink == Black {
		r.rects = append(r.rects, rect{x, y, x + w, y + h})
	}
}

func (r *recorder) Grid(x, y, step float64, cells []Cell) {
	r.grids = append(r.grids, drawnGrid{x, y, step, cells})
}

func (r *recorder) Line(width float64, points []Point) {
	r.lines = append(r.lines, drawnLine{width, points})
}

func (r *recorder) Text(x, y float64, s string, face Face, size float64, ink Ink) {
	em := size * point
	left, top, right, bottom := face.ink(s)
	r.texts = append(r.texts, drawnText{s, face, size, ink, rect{x + left*em, y + top*em, x + right*em, y + bottom*em}})
}

// box is the symbol, and quiet the symbol with the white it needs.
func (g drawnGrid) box() (box, quiet rect) {
	w, h := 0, 0
	for _, c := range g.cells {
		w, h = max(w, c.X+c.W), max(h, c.Y+c.H)
	}
	box = rect{g.x, g.y, g.x + float64(w)*g.step, g.y + float64(h)*g.step}
	qx, qy := 0, 0
	switch {
	case w == h:
		qx, qy = symbol.QuietQR, symbol.QuietQR
	case w == modules128:
		qx = symbol.QuietCode128
	default:
		qy = symbol.QuietCode128
	}
	quiet = rect{box.x0 - float64(qx)*g.step, box.y0 - float64(qy)*g.step, box.x1 + float64(qx)*g.step, box.y1 + float64(qy)*g.step}
	return box, quiet
}

func overlap(a, b rect) bool {
	dx, dy := a.gap(b)
	return dx < -1e-6 && dy < -1e-6
}

// faults says what is wrong with a drawn tag: texts off the tag, over each other, in a quiet zone
// or on a line; white letters off their bar.
func (r *recorder) faults(w, h float64) error {
	var all []error
	say := func(format string, args ...any) { all = append(all, fmt.Errorf(format, args...)) }
	for i, t := range r.texts {
		if !t.box.within(rect{0, 0, w, h}) {
			say("%q is off the tag: %.1f", t.s, t.box)
		}
		if t.size < 6 {
			say("%q is set in %g pt, too small to be read", t.s, t.size)
		}
		for _, o := range r.texts[:i] {
			if overlap(t.box, o.box) {
				say("%q lies on %q", t.s, o.s)
			}
		}
		for _, g := range r.grids {
			if _, quiet := g.box(); overlap(t.box, quiet) {
				say("%q is in a quiet zone", t.s)
			}
		}
		onBar := false
		for _, b := range r.rects {
			if t.ink == White {
				onBar = onBar || t.box.within(b)
			} else if overlap(t.box, b) {
				say("%q lies on a black area", t.s)
			}
		}
		if t.ink == White && !onBar {
			say("%q is white on white", t.s)
		}
		for _, l := range r.lines {
			for j := 1; j < len(l.points); j++ {
				if t.box.toSegment(l.points[j-1], l.points[j]) < l.width/2 {
					say("%q lies on a line", t.s)
					break
				}
			}
		}
	}
	for _, g := range r.grids {
		box, quiet := g.box()
		if !quiet.within(rect{0, 0, w, h}) {
			say("a quiet zone runs off the tag: %.2f", quiet)
		}
		for _, b := range r.rects {
			if overlap(quiet, b) {
				say("a black area lies in the quiet zone of the symbol at %.1f", box)
			}
		}
		for _, l := range r.lines {
			for j := 1; j < len(l.points); j++ {
				if quiet.toSegment(l.points[j-1], l.points[j]) < l.width/2 {
					say("a line runs through the quiet zone of the symbol at %.1f", box)
					break
				}
			}
		}
		for _, v := range [...]float64{g.x, g.y, g.step} {
			if dots := v / r.dot; math.Abs(dots-math.Round(dots)) > 1e-6 {
				say("a symbol is not on the dots: %.3f", dots)
			}
		}
	}
	return errors.Join(all...)
}

// drawn draws a label and fails on any fault.
func drawn(l Label, dpi int) (*recorder, error) {
	r := &recorder{dot: 25.4 / float64(dpi)}
	if err := l.Draw(r); err != nil {
		return r, err
	}
	w, h := l.Size()
	return r, r.faults(w, h)
}

func TestNothingOverlaps(t *testing.T) {
	for name, l := range samples(t) {
		for _, dpi := range [...]int{203, 300, 600} {
			_, err := drawn(l, dpi)
			require.NoError(t, err, "%s at %d dpi", name, dpi)
		}
	}
}

// The modules that the layout is made for, in dots, at 203, 300 and 600 dpi.
func TestModules(t *testing.T) {
	for _, c := range []struct {
		paper               Paper
		dpi, ladder, picket int
	}{
		{FourBySix, 203, 4, 6},
		{FourBySix, 300, 6, 9},
		{MetricA6, 203, 4, 6},
		{MetricA6, 300, 6, 8}, // 9 dots would break the quiet zone
		{FourBySix, 600, 12, 18},
	} {
		b := bundleOf(43)
		b.Paper = c.paper
		r, err := drawn(b, c.dpi)
		require.NoError(t, err)
		require.Len(t, r.grids, 3)
		dots := func(g drawnGrid) int { return int(math.Round(g.step / r.dot)) }
		require.Equal(t, c.ladder, dots(r.grids[0]), "ladder at %d dpi", c.dpi)
		require.Equal(t, c.picket, dots(r.grids[2]), "upright bars at %d dpi", c.dpi)
		require.GreaterOrEqual(t, r.grids[0].step, 0.5)
		require.GreaterOrEqual(t, r.grids[1].step, qrModule)
	}
}

// Quiet zones are measured on the finished picture: at least 10 X of white before the first and
// after the last bar (ISO/IEC 15417), 4 modules around a QR code (ISO/IEC 18004).
func TestQuietZones(t *testing.T) {
	for name, l := range samples(t) {
		for _, dpi := range [...]int{203, 300} {
			r, err := drawn(l, dpi)
			require.NoError(t, err)
			img, err := Bitmap(l, dpi)
			require.NoError(t, err)
			for _, g := range r.grids {
				box, quiet := g.box()
				in, out := dotRect(box, r.dot), dotRect(quiet, r.dot)
				require.True(t, out.In(img.Rect), "%s at %d dpi: quiet zone %v on the picture %v", name, dpi, out, img.Rect)
				for y := out.Min.Y; y < out.Max.Y; y++ {
					for x := out.Min.X; x < out.Max.X; x++ {
						if !image.Pt(x, y).In(in) && img.ColorIndexAt(x, y) == 1 {
							t.Fatalf("%s at %d dpi: a black dot at %d, %d in the quiet zone %v of %v", name, dpi, x, y, out, in)
						}
					}
				}
			}
		}
	}
}

func dotRect(r rect, dot float64) image.Rectangle {
	return image.Rect(int(math.Round(r.x0/dot)), int(math.Round(r.y0/dot)), int(math.Round(r.x1/dot)), int(math.Round(r.y1/dot)))
}

// Every bar of a symbol is as many dots wide as it is modules: no edge is rounded.
func TestBarsAreWholeDots(t *testing.T) {
	for _, dpi := range [...]int{203, 300} {
		b := bundleOf(43)
		r, err := drawn(b, dpi)
		require.NoError(t, err)
		img, err := Bitmap(b, dpi)
		require.NoError(t, err)
		picket := r.grids[2]
		step := int(math.Round(picket.step / r.dot))
		box, _ := picket.box()
		in := dotRect(box, r.dot)
		bars, err := symbol.Code128(b.Number.Digits())
		require.NoError(t, err)
		for i, dark := range bars {
			for k := range step {
				black := img.ColorIndexAt(in.Min.X+i*step+k, (in.Min.Y+in.Max.Y)/2) == 1
				require.Equal(t, dark, black, "module %d at %d dpi", i, dpi)
			}
		}
	}
}

// What a person acts on comes in the order of reading distance: pieces and length largest, then
// mark and k/n; the number stands at both ends.
func TestOrderOfSizes(t *testing.T) {
	r, err := drawn(bundleOf(43), 203)
	require.NoError(t, err)
	size := map[string]float64{}
	for _, d := range r.texts {
		size[d.s] = max(size[d.s], d.size)
	}
	require.GreaterOrEqual(t, size["24"], size[`11'-6"`])
	require.Greater(t, size[`11'-6"`], size["4F207"])
	require.GreaterOrEqual(t, size["2/3"], 29.0)
	require.Greater(t, size["4F207"], size["2/3"])
	ends := 0
	for _, d := range r.texts {
		if d.s == bundleOf(43).Number.String() {
			ends++
		}
	}
	require.Equal(t, 2, ends)
}

// says tells whether a text is printed, lines joined.
func says(r *recorder, want string) bool {
	var b strings.Builder
	for _, d := range r.texts {
		b.WriteString(d.s + " ")
	}
	return strings.Contains(strings.Join(strings.Fields(b.String()), " "), want)
}

func TestWhatATagSays(t *testing.T) {
	b := bundleOf(43)
	b.Job, b.List = "24-0617", "3"
	for _, c := range []struct {
		name   string
		change func(*Bundle)
		want   []string
		not    []string
	}{
		{"job and list together", func(*Bundle) {}, []string{"24-0617 / 3 Harbour", "A615 Gr 60", "7041893", "copy · copia 1"}, []string{"MIXED", "STRAIGHT"}},
		{"coating", func(b *Bundle) { b.Steel.Coating = "galvanized" }, []string{"A615 Gr 60 GALVANIZED"}, nil},
		{"straight", func(b *Bundle) { b.Shape = bar.Shape{} }, []string{"STRAIGHT · RECTA"}, nil},
		{"shape with a name only", func(b *Bundle) { b.Shape = bar.Shape{Code: "17"} }, []string{"SHAPE · FORMA 17"}, []string{"STRAIGHT"}},
		{"several heats", func(b *Bundle) { b.Heats = []string{"A1", "B2"} }, []string{"MIXED HEATS COLADAS MEZCLADAS", "A1", "B2"}, nil},
		{"one heat and unknown ones", func(b *Bundle) { b.Unknown = true }, []string{"MIXED HEATS", "7041893", "unknown · desconocida"}, nil},
		{"reprint, end B", func(b *Bundle) { b.Copy, b.End = 2, "B" }, []string{"COPY · COPIA 2 B"}, []string{"copy"}},
		{"metric", func(b *Bundle) { b.Units = bar.Metric }, []string{"3505.2 mm", "130.6 kg"}, []string{"'"}},
	} {
		x := b
		c.change(&x)
		r, err := drawn(x, 203)
		require.NoError(t, err, c.name)
		for _, w := range c.want {
			require.True(t, says(r, w), "%s: %q", c.name, w)
		}
		for _, w := range c.not {
			require.False(t, says(r, w), "%s: %q", c.name, w)
		}
	}
}

// More heats than there is room for are counted on the tag, and left out of the QR code, where a
// part of them would read as all.
func TestManyHeats(t *testing.T) {
	b := bundleOf(43)
	b.Heats = nil
	for i := range 30 {
		b.Heats = append(b.Heats, fmt.Sprintf("HEAT%07d", i))
	}
	r, err := drawn(b, 203)
	require.NoError(t, err)
	require.True(t, says(r, "HEAT0000000, HEAT0000001"))
	require.True(t, says(r, "more · más"))
	require.NotContains(t, b.Codes()[1], "/H")
	require.Contains(t, b.Codes()[1], "/M4F207")
}

func TestFieldsThatCannotBePrinted(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(*Bundle)
	}{
		{"mark", func(b *Bundle) { b.Mark = strings.Repeat("W", 20) }},
		{"job", func(b *Bundle) { b.JobName = strings.Repeat("Long Name ", 30) }},
		{"ship-to", func(b *Bundle) { b.ShipTo = []string{"a", "b", "c", "d", "e", "f"} }},
		{"heat", func(b *Bundle) { b.Heats = []string{strings.Repeat("1", 40)} }},
		{"plant", func(b *Bundle) { b.Plant = strings.Repeat("Plant ", 40) }},
		{"pieces", func(b *Bundle) { b.Pieces = 999999 }},
	} {
		b := bundleOf(43)
		c.change(&b)
		var fit *FitError
		require.ErrorAs(t, b.Draw(&recorder{dot: 0.125}), &fit, c.field)
		require.Equal(t, c.field, fit.Field)
	}
	b := bundleOf(43)
	b.JobName = "Harbour 漢"
	var letter *LetterError
	require.ErrorAs(t, b.Draw(&recorder{dot: 0.125}), &letter)
	require.Equal(t, "job", letter.Field)
	require.Equal(t, '漢', letter.Letter)
	b = bundleOf(43)
	b.Host = "not a host"
	require.ErrorContains(t, b.Draw(&recorder{dot: 0.125}), "host")
	wrong := plainOf(0x5, "A-14")
	wrong.Number = bundleOf(1).Number
	require.ErrorContains(t, wrong.Draw(&recorder{dot: 0.125}), "bundle")
}

// text draws up to n characters of a set.
func text(t *rapid.T, label string, n int, set string) string {
	return rapid.StringOfN(rapid.SampledFrom([]rune(set)), 1, n, -1).Draw(t, label)
}

const (
	codeSet = "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-./"
	nameSet = "ABCDEGHILMNPRSTWabcdefghijklmnopqrstuvwxyzáéíñóúüÁÑ0123456789,.-/&'"
)

// words draws a name as shops write it, in small or in capital letters, of words of at most twelve
// letters and n characters in all at most.
func words(t *rapid.T, label string, n int) string {
	runes := []rune(text(t, label, n, nameSet))
	length := rapid.IntRange(3, 12).Draw(t, label+" words")
	for i := length; i < len(runes)-1; i += length + 1 {
		runes[i] = ' '
	}
	if rapid.Bool().Draw(t, label+" capitals") {
		return strings.ToUpper(string(runes))
	}
	return string(runes)
}

// randomBundle draws a bundle within the limits that every tag must print: a mark of 12
// characters, a job name of 60, heats of 16, three lines of ship-to of 40.
func randomBundle(t *rapid.T) Bundle {
	b := bundleOf(rapid.IntRange(1, 99_999_999).Draw(t, "serial"))
	b.Copy = rapid.IntRange(0, 12).Draw(t, "copy")
	b.End = rapid.SampledFrom([]string{"", "A", "B"}).Draw(t, "end")
	b.Job, b.List = text(t, "job", 14, codeSet), text(t, "list", 8, codeSet)
	b.JobName = words(t, "job name", 60)
	b.Mark = text(t, "mark", 12, codeSet)
	b.K, b.N = rapid.SampledFrom([]string{"1", "2b", "12", "128"}).Draw(t, "k"), rapid.IntRange(1, 128).Draw(t, "n")
	b.Pieces = rapid.IntRange(1, 9999).Draw(t, "pieces")
	b.Length = bar.Length(rapid.IntRange(1, 1920*12).Draw(t, "length")) * bar.Inch / 16
	b.Weight = bar.Mass(rapid.IntRange(1, 9999).Draw(t, "weight")) * bar.Pound
	b.Units = rapid.SampledFrom([]bar.Units{bar.Imperial, bar.Metric}).Draw(t, "units")
	b.Paper = rapid.SampledFrom([]Paper{{}, FourBySix, MetricA6}).Draw(t, "paper")
	b.Steel = rapid.SampledFrom([]bar.Steel{
		{Size: "#3", Spec: "A615", Grade: "60"}, {Size: "#18", Spec: "A615/A706", Grade: "100", Coating: "epoxy-prefabricated"},
		{Size: "#11", Spec: "A706", Grade: "80", Coating: "galvanized"}, {Size: "16mm", Spec: "BS4449", Grade: "B500B"},
		{Size: "55M", Spec: "G30.18", Grade: "400W", Coating: "dual"}, {Size: "32mm", Spec: "EN10080", Grade: "B500C"},
	}).Draw(t, "steel")
	b.Heats = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string { return text(t, "heat", 16, codeSet) }), 0, 3).Draw(t, "heats")
	b.Unknown = rapid.Bool().Draw(t, "unknown")
	b.ShipTo = nil
	for range rapid.IntRange(0, 3).Draw(t, "ship-to lines") {
		b.ShipTo = append(b.ShipTo, words(t, "ship-to", 40))
	}
	b.Shape = bar.Shape{}
	if rapid.Bool().Draw(t, "bent") {
		b.Shape.Legs = randomLegs(t, 12)
	}
	return b
}

func TestRandomBundlesFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := randomBundle(t)
		if _, err := drawn(b, rapid.SampledFrom([]int{203, 300}).Draw(t, "dpi")); err != nil {
			t.Fatal(err)
		}
	})
}

// A mark of the widest letters fits too.
func TestWidestMark(t *testing.T) {
	for _, mark := range []string{strings.Repeat("W", 12), strings.Repeat("M", 12)} {
		b := bundleOf(43)
		b.Mark = mark
		r, err := drawn(b, 203)
		require.NoError(t, err)
		found := 0
		for _, d := range r.texts {
			if d.s == mark {
				found++
			}
		}
		require.Equal(t, 2, found, "the mark stands at both ends")
	}
}

func TestRandomOtherTagsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		paper := rapid.SampledFrom([]Paper{{}, FourBySix, MetricA6}).Draw(t, "paper")
		copies := rapid.IntRange(0, 120).Draw(t, "copy")
		b := randomBundle(t)
		s := stockOf(rapid.IntRange(1, 99_999_999).Draw(t, "serial"))
		s.Paper, s.Copy, s.Steel, s.Heats, s.Unknown = paper, copies, b.Steel, b.Heats, b.Unknown
		s.Bars, s.Length, s.Units = b.Pieces, b.Length, b.Units
		s.Mill, s.Place, s.Cert = words(t, "mill", 40), text(t, "place", 12, codeSet), text(t, "cert", 8, codeSet)
		if s.Remnant = rapid.Bool().Draw(t, "remnant"); s.Remnant {
			for i := range rapid.IntRange(1, 3).Draw(t, "parents") {
				s.From = append(s.From, number(tags.Stock, i+1))
			}
		}
		p := plainOf(rapid.SampledFrom([]tags.Kind{tags.Load, tags.Place, tags.Person}).Draw(t, "kind"), words(t, "title", 40))
		p.Paper, p.Copy = paper, copies
		for range rapid.IntRange(0, 6).Draw(t, "lines") {
			p.Lines = append(p.Lines, words(t, "line", 40))
		}
		for _, l := range [...]Label{s, p} {
			if _, err := drawn(l, 203); err != nil {
				t.Fatalf("%T: %v", l, err)
			}
		}
	})
}
