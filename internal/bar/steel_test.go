package bar

import (
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseSteel(t *testing.T) {
	for _, c := range []struct {
		size, spec, grade, coating string
		want                       string
	}{
		{"#5", "A706", "60", "", "#5 A706 60"},
		{"#5", "A615", "60", "epoxy", "#5 A615 60 epoxy"},
		{"No. 5", "ASTM A615", "Gr 60", "EC", "#5 A615 60 epoxy"},
		{"[16]", "A615/A615M", "Grade 420", "black", "#5 A615 60"},
		{"#5", "a615m", "GR.60", "Epoxy-coated", "#5 A615 60 epoxy"},
		{"#5", "ASTM A615/A615M-20", "60 [420]", "none", "#5 A615 60"},
		{"#5", "A615-05a1", "G60", "-", "#5 A615 60"},
		{"#5", "A706/A706M-16", "80", "ASTM A775/A775M", "#5 A706 80 epoxy"},
		{"#5", "A615/A706", "60", "GALV", "#5 A615/A706 60 galvanized"},
		{"#5", "ASTM A706 / ASTM A615", "60", "Galvanised", "#5 A615/A706 60 galvanized"},
		{"#5", "A615 & A706", "grado 60", "A767", "#5 A615/A706 60 galvanized"},
		{"#20", "A615", "100", "A934", "#20 A615 100 epoxy-prefabricated"},
		{"#6", "A615", "280", "A1055", "#6 A615 40 dual"},
		{"16mm", "BS4449", "B500B", "", "16mm BS4449 B500B"},
		{"Ø16", "BS 4449:2005+A3:2016", "B 500 C", "", "16mm BS4449 B500C"},
		{"16 mm", "BS EN 10080", "b500a", "HDG", "16mm EN10080 B500A galvanized"},
		{"16mm", "EN 10080:2005", "B500B", "", "16mm EN10080 B500B"},
		{"15M", "CSA G30.18", "400W", "", "15M G30.18 400W"},
		{"15M", "CAN/CSA-G30.18-09", "Gr 400R", "", "15M G30.18 400R"},

		// The spec from the grade, where one spec alone has it.
		{"16mm", "", "B500B", "", "16mm BS4449 B500B"},
		{"15M", "", "500W", "", "15M G30.18 500W"},
		{"#5", "", "40", "", "#5 A615 40"},
		{"#20", "", "60", "", "#20 A615 60"}, // A706 ends at #18
	} {
		got, err := ParseSteel(c.size, c.spec, c.grade, c.coating)
		require.NoError(t, err, c)
		require.Equal(t, c.want, got.String())
	}
}

func TestParseSteelRefuses(t *testing.T) {
	for _, c := range []struct{ size, spec, grade, coating, says string }{
		{"10", "A615", "60", "", "size: size “10” may mean"},
		{"", "A615", "60", "", "size: size is empty"},
		{"#5", "", "60", "", "spec: is empty, and grade “60” of #5 may be A615, A706, A615/A706: write which"},
		{"#5", "", "B500B", "", "spec: is empty, and no spec of #5 has grade “B500B”: write one of A615, A706, A615/A706, BS4449, EN10080, G30.18"},
		{"16mm", "", "60", "", "spec: is empty, and no spec of 16mm has grade “60”"},
		{"#5", "A700", "60", "", "spec: “A700” is not known: write one of A615"},
		{"#5", "A615-x", "60", "", "spec: “A615-x” is not known"},
		{"#5", "/", "60", "", "spec: “/” is not known"},
		{"#5", "A706", "40", "", "grade: A706 has no grade “40”: it has 60, 80, 100"},
		{"#5", "A706", "", "", "grade: is empty"},
		{"#5", "A706", "Gr", "", "grade: is empty"},
		{"15M", "G30.18", "300W", "", "grade: G30.18 has no grade “300W”"}, // in a public table, but not in the standard's scope
		{"16mm", "A615", "60", "", "size: 16mm is a size of EN, but A615 has ASTM sizes, #3 to #20"},
		{"#20", "A706", "60", "", "size: A706 grade 60 is made from #3 to #18, not in #20"},
		{"#8", "A615", "40", "", "size: A615 grade 40 is made from #3 to #6, not in #8"},
		{"#5", "A615", "60", "paint", "coating: “paint” is not known: write plain, epoxy (ASTM A775/A775M)"},
		{"#5", "A615", "60", "galv/epoxy", "coating: “galv/epoxy” is not known"},
	} {
		got, err := ParseSteel(c.size, c.spec, c.grade, c.coating)
		require.ErrorContains(t, err, c.says)
		require.Zero(t, got)
	}
}

func TestSteelMatches(t *testing.T) {
	a615 := Steel{"#5", "A615", "60", ""}
	a706 := Steel{"#5", "A706", "60", ""}
	both := Steel{"#5", "A615/A706", "60", ""}
	require.True(t, a615.Matches(a615))
	require.True(t, a615.Matches(both))
	require.True(t, a706.Matches(both))
	require.True(t, both.Matches(both))
	require.False(t, both.Matches(a706), "one of the two does not meet both")
	require.False(t, a615.Matches(a706), "another spec is for an engineer to allow")
	for _, other := range []Steel{{"#6", "A615/A706", "60", ""}, {"#5", "A615/A706", "80", ""}, {"#5", "A615/A706", "60", "epoxy"}, {"#5", "", "60", ""}, {}} {
		require.False(t, a615.Matches(other), other)
	}
}

func TestSpecs(t *testing.T) {
	for _, sp := range Specs() {
		require.NotEmpty(t, sp.Source, sp.Name)
		require.NotEmpty(t, sp.Edition, sp.Name)
		require.NotContains(t, sp.Name, " ", "a tag separates by blanks")
		for _, g := range sp.Grades {
			for _, size := range []Size{g.From, g.To} {
				s, err := ParseSteel(string(size), sp.Name, g.Name, "")
				require.NoError(t, err)
				require.Equal(t, Steel{size, sp.Name, g.Name, ""}, s)
				if g.SoftMetric != "" {
					s, err = ParseSteel(string(size), sp.Title, g.SoftMetric, "")
					require.NoError(t, err)
					require.Equal(t, Steel{size, sp.Name, g.Name, ""}, s)
				}
			}
		}
	}
	// The slices are the caller's.
	Specs()[0].Name = "changed"
	Coatings()[1].Name = "changed"
	require.Equal(t, "A615", Specs()[0].Name)
	require.Equal(t, "epoxy", Coatings()[1].Name)
}

// The soft metric grades of ASTM are the grades in MPa (1 ksi is 6.894757 MPa), in steps of ten.
func TestSoftMetricGrades(t *testing.T) {
	for ksi, mpa := range map[string]float64{"40": 275.8, "60": 413.7, "75": 517.1, "80": 551.6, "100": 689.5} {
		for _, sp := range Specs() {
			if g, ok := sp.grade(ksi); ok {
				n, err := strconv.Atoi(g.SoftMetric)
				require.NoError(t, err)
				require.InDelta(t, mpa, n, 7, sp.Name+" "+ksi)
			}
		}
	}
}

func FuzzParseSteel(f *testing.F) {
	f.Add("#5", "A615", "60", "epoxy")
	f.Add("[16]", "ASTM A706/A706M-16", "Gr. 420", "galv")
	f.Add("16mm", "", "B500B", "black")
	f.Add("15M", "CAN/CSA-G30.18-09", "400W", "-")
	f.Add("#5", "A706 / A615", "60/420", "A1055")
	f.Add("10", "//", "g", "/m")
	f.Fuzz(func(t *testing.T, size, spec, grade, coating string) {
		s, err := ParseSteel(size, spec, grade, coating)
		if err != nil {
			field, _, _ := strings.Cut(err.Error(), ":")
			if s != (Steel{}) || !strings.Contains("size spec grade coating", field) {
				t.Fatalf("%q %q %q %q: %v besides the error %v", size, spec, grade, coating, s, err)
			}
			return
		}
		again, err := ParseSteel(string(s.Size), s.Spec, s.Grade, s.Coating)
		if err != nil || again != s {
			t.Fatalf("%v reads as %v, %v", s, again, err)
		}
		if !s.Matches(s) {
			t.Fatalf("%v does not match itself", s)
		}
		if _, err := Weigh(s.Size, Metre); err != nil {
			t.Fatal(err)
		}
	})
}
