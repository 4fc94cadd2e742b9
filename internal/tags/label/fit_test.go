package label

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"pgregory.net/rapid"
)

func TestFit(t *testing.T) {
	f := field{name: "mark", w: 38.5, h: 12.5, max: 48, min: 9, lines: 2, face: Bold}
	for _, c := range []struct {
		name  string
		field func(field) field
		text  []string
		lines []string
		least float64 // size
		most  float64
	}{
		{"short text at the largest size", nil, []string{"A1"}, []string{"A1"}, 48, 48},
		{"one line down to 0.7 of the largest size", nil, []string{"4F207"}, []string{"4F207"}, 0.7 * 48, 40},
		{"then broken", nil, []string{"PIER4W-FT128"}, []string{"PIER4W-", "FT128"}, 17, 21},
		{"a word that cannot be broken is set smaller", nil, []string{"PIER4WXFT128"}, []string{"PIER4WXFT128"}, 9, 16},
		{"a length breaks at spaces only", func(f field) field { f.w, f.whole = 20, true; return f }, []string{`12'-10 15/16"`}, []string{`12'-10`, `15/16"`}, 9, 20},
		{"spaces at a break are dropped, others stay", func(f field) field { f.h, f.max, f.w = 7, 10, 30; return f }, []string{"24-0617  Harbour Crossing"}, []string{"24-0617  Harbour", "Crossing"}, 6, 10},
		{"paragraphs begin lines", func(f field) field { f.lines = 5; return f }, []string{"one", "two"}, []string{"one", "two"}, 17, 21},
		{"empty paragraphs take no line", nil, []string{"", "one", " "}, []string{"one"}, 48, 48},
		{"nothing", nil, []string{""}, nil, 48, 48},
	} {
		g := f
		if c.field != nil {
			g = c.field(f)
		}
		b, err := g.fit(c.text...)
		require.NoError(t, err, c.name)
		require.Equal(t, c.lines, b.text, c.name)
		require.GreaterOrEqual(t, b.size, c.least, c.name)
		require.LessOrEqual(t, b.size, c.most, c.name)
	}
	_, err := f.fit("MARKMARKMARKMARKMARK")
	var fit *FitError
	require.ErrorAs(t, err, &fit)
	require.Equal(t, FitError{"mark", "MARKMARKMARKMARKMARK"}, *fit)
	require.ErrorContains(t, err, "shorten")
}

// Whatever is set stays in its box and loses no letter.
func TestFitKeepsEveryLetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := field{name: "f", w: rapid.Float64Range(5, 95).Draw(t, "w"), h: rapid.Float64Range(2, 30).Draw(t, "h"),
			max: rapid.Float64Range(6, 60).Draw(t, "max"), min: 6, lines: rapid.IntRange(1, 6).Draw(t, "lines"),
			face: rapid.SampledFrom([]Face{Regular, Bold, Mono}).Draw(t, "face"), whole: rapid.Bool().Draw(t, "whole")}
		s := rapid.StringOfN(rapid.SampledFrom([]rune("AWijgy,Q.-/ 019ÁÑñ'\"")), 0, 40, -1).Draw(t, "text")
		b, err := f.fit(s)
		if err != nil {
			return
		}
		em := b.size * point
		all := ""
		for _, line := range b.text {
			_, _, right, _ := f.face.ink(line)
			if w := max(f.face.width(line), right) * em; w > f.w+1e-6 {
				t.Fatalf("%q is %.2f mm wide in %.2f", line, w, f.w)
			}
			all += line
		}
		if h := b.height(); h > f.h+1e-6 {
			t.Fatalf("%.2f mm high in %.2f", h, f.h)
		}
		strip := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if strip(all) != strip(Clean(s)) {
			t.Fatalf("%q became %q", s, b.text)
		}
	})
}

func TestClean(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", " B12-3 ", "B12-3"},
		{"composed", "Pen\u0303a", "Peña"},
		{"already composed", "Peña", "Peña"},
		{"line end and tab", "Gate C\r\n\tNorth", "Gate C   North"},
		{"hyphens", "A\u2010B\u2011C", "A-B-C"},
		{"soft hyphen, zero width, byte order mark", "A\u00adB\u200bC\ufeff", "ABC"},
		{"thin space", "12\u2009mm", "12 mm"},
		{"not UTF-8", "A\xffB", "A\ufffdB"},
	} {
		require.Equal(t, c.want, Clean(c.in), c.name)
		require.Equal(t, c.want, Clean(c.want), "%s: clean text stays", c.name)
	}
}

func TestUnprintable(t *testing.T) {
	for _, s := range []string{"Peña", "Łódź", "Ærø", "Straße", "Ünal", "Αθήνα", "Київ", "#5 · ½ × 3°", `12'-10 1/2"`, "“quoted” – ‘text’ …", "€ £", "A\u00a0B"} {
		r, found := Unprintable(s)
		require.False(t, found, "%q: %q", s, r)
	}
	for s, want := range map[string]rune{"漢字": '漢', "Gate 😀": '😀', "مرحبا": 'م', "A\xff": utf8.RuneError} {
		r, found := Unprintable(s)
		require.True(t, found, s)
		require.Equal(t, want, r)
	}
}

// Widths agree with another reader of the same font: golang.org/x/image's drawer without hinting.
func TestWidths(t *testing.T) {
	parsed, err := opentype.Parse(gobold.TTF)
	require.NoError(t, err)
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: 2048, DPI: 72})
	require.NoError(t, err)
	for _, s := range []string{"W", "11'-6\"", "Harbour Crossing", "Peña Ñ"} {
		sum := fixed.Int26_6(0)
		for _, r := range s {
			advance, ok := face.GlyphAdvance(r)
			require.True(t, ok)
			sum += advance
		}
		require.InDelta(t, float64(sum)/64/2048, Bold.width(s), 0.0005*float64(len(s)))
	}
	// Capital height and figures of the three faces, as measured for the layouts.
	for f := range faces {
		_, top, _, _ := f.ink("H")
		require.InDelta(t, capEm, -top, 0.0005)
	}
}

// The three faces hold the same characters, so that one check serves all fields.
func TestFacesHoldTheSameCharacters(t *testing.T) {
	all := typefaces()
	for r := rune(0); r <= 0xFFFF; r++ {
		regular := all[Regular].glyph(r) != nil
		require.Equal(t, regular, all[Bold].glyph(r) != nil, "%U", r)
		require.Equal(t, regular, all[Mono].glyph(r) != nil, "%U", r)
	}
}

// No text whatever stops the program: it is printed or refused by name.
func TestAnyText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := bundleOf(1)
		b.JobName = rapid.String().Draw(t, "job name")
		b.Mark = rapid.String().Draw(t, "mark")
		b.ShipTo = rapid.SliceOfN(rapid.String(), 0, 3).Draw(t, "ship-to")
		b.Heats = rapid.SliceOfN(rapid.String(), 0, 3).Draw(t, "heats")
		_ = b.Draw(&recorder{dot: 0.125}) // must not panic
		s := stockOf(1)
		s.Mill, s.Place = rapid.String().Draw(t, "mill"), rapid.String().Draw(t, "place")
		_ = s.Draw(&recorder{dot: 0.125})
	})
}
