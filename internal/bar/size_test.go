package bar

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseSize(t *testing.T) {
	for in, want := range map[string]Size{
		"#5": "#5", "# 5": "#5", " #5 ": "#5", "No. 5": "#5", "No.5": "#5", "no 5": "#5", "NO.5": "#5", "№ 5": "#5", "Nº5": "#5",
		"#10": "#10", "#18": "#18", "No. 18": "#18",
		// The soft metric designations of ASTM A615/A615M Table 1.
		"[10]": "#3", "[16]": "#5", "[19]": "#6", "[57]": "#18", "[ 64 ]": "#20", "#5 [16]": "#5", "No. 6 [19]": "#6",
		"16mm": "16mm", "16 mm": "16mm", "16MM": "16mm", "Ø16": "16mm", "ø 16 mm": "16mm", "⌀16": "16mm", "φ16": "16mm", "d16": "16mm", "d16mm": "16mm",
		"15M": "15M", "15 M": "15M", "10M": "10M", "55M": "55M",
	} {
		got, err := ParseSize(in)
		require.NoError(t, err, in)
		require.Equal(t, want, got, in)
	}
}

func TestParseSizeRefuses(t *testing.T) {
	for in, says := range map[string]string{
		// A number alone, with everything it may mean.
		"10":  "may mean [10] = #3 (ASTM, 9.5 mm), #10 (ASTM, 32.3 mm), 10mm (EN, 10 mm) or 10M (CSA, 11.3 mm): write which",
		"16":  "may mean [16] = #5 (ASTM, 15.9 mm) or 16mm (EN, 16 mm): write which",
		"20":  "may mean #20 (ASTM, 63.5 mm), 20mm (EN, 20 mm) or 20M (CSA, 19.5 mm): write which",
		"5":   "does not say its system: write #5 (ASTM, 15.9 mm)",
		"99":  "is in no system",
		"0":   "is not readable",
		"":    "size is empty",
		" \t": "size is empty",

		"#16":       "the soft metric [16] is #5: write one of these",
		"No. 57":    "the soft metric [57] is #18",
		"#12":       "ASTM has #3, #4, #5",
		"#1":        "ASTM has #3, #4, #5",
		"[5]":       "there is no size “[5]”: ASTM has",
		"#5 [19]":   "contradicts itself: [19] is #6",
		"16mm [16]": "contradicts itself",
		"#5 [16":    "not readable",
		"x [16]":    "not readable",
		"15mm":      "EN has 6mm, 8mm",
		"16M":       "CSA has 10M, 15M",
		"20m":       "not readable",
		"D16":       "not readable",
		"#05":       "not readable",
		"#5.5":      "not readable",
		"#-5":       "not readable",
		"# 5 epoxy": "not readable",
		`5/8"`:      "not readable",
		"٥":         "not readable",
	} {
		got, err := ParseSize(in)
		require.ErrorContains(t, err, says, in)
		require.Empty(t, got, in)
	}
}

func TestSizes(t *testing.T) {
	require.Len(t, Sizes(ASTM), 12)
	require.Len(t, Sizes(EN), 12)
	require.Len(t, Sizes(CSA), 8)
	require.Len(t, Sizes(""), 32)
	require.Empty(t, Sizes("JIS"))
	for _, system := range []string{ASTM, EN, CSA} {
		last := Row{}
		for _, s := range Sizes(system) {
			row, ok := s.Row()
			require.True(t, ok)
			require.Equal(t, system, s.System())
			require.Greater(t, row.Diameter, last.Diameter, s)
			require.Greater(t, row.AreaTenthsMM2, last.AreaTenthsMM2, s)
			require.Greater(t, row.GramsPerMetre, last.GramsPerMetre, s)
			require.NotEmpty(t, row.Source, s)
			last = row

			parsed, err := ParseSize(string(s))
			require.NoError(t, err)
			require.Equal(t, s, parsed)
		}
	}
	_, ok := Size("16").Row()
	require.False(t, ok)
	require.Empty(t, Size("").System())
}

// The printed metric columns of ASTM A615/A615M and A706/A706M Table 1. Our table holds the inch
// columns and derives from them.
func TestASTMTable(t *testing.T) {
	for _, c := range []struct {
		size     Size
		kgPerM   float64
		diaMM    string
		areaMM2  int64
		areaIn2  float64
		lbPerFt  float64
		metricNo int
	}{
		{"#3", 0.560, "9.5 mm", 71, 0.11, 0.376, 10},
		{"#4", 0.994, "12.7 mm", 129, 0.20, 0.668, 13},
		{"#5", 1.552, "15.9 mm", 199, 0.31, 1.043, 16}, // a public copy has 1.522
		{"#6", 2.235, "19.1 mm", 284, 0.44, 1.502, 19},
		{"#7", 3.042, "22.2 mm", 387, 0.60, 2.044, 22},
		{"#8", 3.973, "25.4 mm", 510, 0.79, 2.670, 25},
		{"#9", 5.060, "28.7 mm", 645, 1.00, 3.400, 29},
		{"#10", 6.404, "32.3 mm", 819, 1.27, 4.303, 32},
		{"#11", 7.907, "35.8 mm", 1006, 1.56, 5.313, 36}, // a public copy has 7.970
		{"#14", 11.38, "43 mm", 1452, 2.25, 7.65, 43},    // a public copy has 7.60 lb/ft
		{"#18", 20.24, "57.3 mm", 2581, 4.00, 13.60, 57},
		{"#20", 24.84, "63.5 mm", 3167, 4.91, 16.69, 64},
	} {
		r, ok := c.size.Row()
		require.True(t, ok, c.size)
		require.InDelta(t, c.kgPerM, float64(r.GramsPerMetre)/1000, 1e-9, c.size)
		require.InDelta(t, c.lbPerFt, float64(r.MilliPoundsPerFoot)/1000, 1e-9, c.size)
		require.Equal(t, c.diaMM, r.Diameter.Millimetres(), c.size)
		require.Equal(t, c.areaMM2*10, r.AreaTenthsMM2, c.size)
		require.InDelta(t, c.areaIn2, float64(r.AreaHundredthsIn2)/100, 1e-9, c.size)
		require.Equal(t, c.metricNo, r.SoftMetric, c.size)

		// Each column again from another: 1 lb/ft is 0.45359237/0.3048 kg/m, steel weighs
		// 3.4 lb/ft a square inch, and the areas are those of the nominal diameters.
		require.InDelta(t, c.lbPerFt*1.488164, c.kgPerM, 0.005, c.size)
		inches := float64(r.Diameter) / float64(Inch)
		require.InDelta(t, 3.4*math.Pi/4*inches*inches, c.lbPerFt, 0.005, c.size)
		require.InDelta(t, math.Pi/4*inches*inches, c.areaIn2, 0.006, c.size)
		require.InDelta(t, c.areaIn2*645.16, float64(c.areaMM2), 1.0, c.size)
	}
	for i, s := range Sizes(ASTM)[:6] { // #3 to #8 are eighths of an inch
		r, _ := s.Row()
		require.Equal(t, Length(i+3)*Inch/8, r.Diameter, s)
	}
}

// EN 10080: area pi/4 d2 and mass 0.00785 kg/(mm2 m) x area, each printed with three figures (areas
// from 1000 mm2 with four).
func TestENTable(t *testing.T) {
	for _, s := range Sizes(EN) {
		r, _ := s.Row()
		d := r.Diameter.MM()
		require.Equal(t, string(s), strings.ReplaceAll(r.Diameter.Millimetres(), " ", ""))
		area := math.Pi / 4 * d * d
		digits := 3
		if area >= 1000 {
			digits = 4
		}
		require.Equal(t, figures(area, digits), figures(float64(r.AreaTenthsMM2)/10, 6), s)
		require.Equal(t, figures(0.00785*area, 3), figures(float64(r.GramsPerMetre)/1000, 6), s)
	}
}

// figures is v rounded to so many significant figures.
func figures(v float64, digits int) float64 {
	var out float64
	_, _ = fmt.Sscan(fmt.Sprintf("%.*g", digits, v), &out)
	return out
}

// CSA G30.18: areas are round numbers, mass is 0.00785 kg/(mm2 m) x area, and diameters those of
// the areas. 55M is 2500 mm2: the U.S. Navy's manual for steelworkers (NAVEDTRA 14251) has
// 3.88 in2, though a public table has 2000 mm2.
func TestCSATable(t *testing.T) {
	for _, s := range Sizes(CSA) {
		r, _ := s.Row()
		area := float64(r.AreaTenthsMM2) / 10
		require.InDelta(t, 0.00785*area, float64(r.GramsPerMetre)/1000, 1e-9, s)
		require.InDelta(t, math.Sqrt(area*4/math.Pi), r.Diameter.MM(), 0.06, s)
	}
	r, _ := Size("20M").Row()
	require.EqualValues(t, 2355, r.GramsPerMetre)
	r, _ = Size("55M").Row()
	require.InDelta(t, 3.88*645.16, float64(r.AreaTenthsMM2)/10, 4)
}

func FuzzParseSize(f *testing.F) {
	for _, s := range []string{"#5", "No. 5", "[16]", "#5 [16]", "16mm", "Ø16", "d16", "15M", "10", "#16", "D16", "[", "Ømm", "\xff", "[[16]"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		size, err := ParseSize(s)
		if err != nil {
			if size != "" {
				t.Fatalf("%q: %s besides the error %v", s, size, err)
			}
			return
		}
		if _, ok := size.Row(); !ok {
			t.Fatalf("%q: %s is in no table", s, size)
		}
		if again, err := ParseSize(string(size)); err != nil || again != size {
			t.Fatalf("%q: %s reads as %s, %v", s, size, again, err)
		}
	})
}
