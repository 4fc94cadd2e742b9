package bar

import (
	"math"
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestWeigh(t *testing.T) {
	// 40 bars of #5, 11'-6" each, by ASTM A615/A615M Table 1: 40 x 11.5 ft x 1.043 lb/ft.
	m, err := Weigh("#5", 40*(11*Foot+6*Inch))
	require.NoError(t, err)
	require.InDelta(t, 479.78, m.Pounds(), 1e-8)
	require.Equal(t, "480 lb", m.Text(Imperial))
	require.Equal(t, "217.6 kg", m.Text(Metric))

	// 20 bars of 16 mm, 6.000 m each: 120 m x 1.58 kg/m as EN 10080 prints it. From the area it
	// would be 189.40 kg; the printed mass rules, and the two agree within 0.2 %.
	m, err = Weigh("16mm", 20*6*Metre)
	require.NoError(t, err)
	require.Equal(t, Mass(189_600_000_000), m)
	require.InEpsilon(t, 120*0.00785*math.Pi/4*16*16, m.Kilograms(), 0.002)

	// CSA G30.18 20M, 12 m: 12 x 2.355 kg/m.
	m, err = Weigh("20M", 12*Metre)
	require.NoError(t, err)
	require.Equal(t, Mass(28_260_000_000), m)

	m, err = Weigh("#5", 0)
	require.NoError(t, err)
	require.Zero(t, m)

	// A half of a microgram is rounded up: 0.222 kg/m is 0.222 ug/nm.
	for nm, ug := range map[Length]Mass{2: 0, 3: 1, 250: 56} { // 0.444, 0.666, 55.5
		m, err = Weigh("6mm", nm)
		require.NoError(t, err)
		require.Equal(t, ug, m, nm)
	}

	for _, c := range []struct {
		size  Size
		total Length
		says  string
	}{
		{"10", Metre, "unknown size “10”"},
		{"", Metre, "unknown size"},
		{"#5", -1, "negative length"},
		{"#18", math.MaxInt64, "too heavy to count"},
		{"50mm", math.MaxInt64, "too heavy to count"},
	} {
		m, err := Weigh(c.size, c.total)
		require.ErrorContains(t, err, c.says)
		require.Zero(t, m)
	}
}

func TestLeastMass(t *testing.T) {
	// #8 at 94 % of 2.670 lb/ft (ASTM A615/A615M and A706/A706M, from memory): a bar of 2.50 lb a
	// foot is too light.
	least, err := LeastMass("#8", Foot)
	require.NoError(t, err)
	require.InDelta(t, 2.5098, least.Pounds(), 1e-8)
	weighed, err := ParseMass("2.50 lb")
	require.NoError(t, err)
	require.Less(t, weighed, least)

	// The same column for all ASTM sizes, computed to four figures.
	for size, want := range map[Size]float64{
		"#3": 0.3534, "#4": 0.6279, "#5": 0.9804, "#6": 1.4119, "#7": 1.9214, "#9": 3.1960,
		"#10": 4.0448, "#11": 4.9942, "#14": 7.1910, "#18": 12.784, "#20": 15.689,
	} {
		least, err := LeastMass(size, Foot)
		require.NoError(t, err)
		require.InDelta(t, want, least.Pounds(), 0.0005, size)
	}

	// BS 4449:2005: -6 % up to 8 mm, -4.5 % above.
	least, err = LeastMass("8mm", Metre)
	require.NoError(t, err)
	require.InDelta(t, 0.395*0.94, least.Kilograms(), 1e-9)
	least, err = LeastMass("10mm", Metre)
	require.NoError(t, err)
	require.InDelta(t, 0.617*0.955, least.Kilograms(), 1e-9)

	_, err = LeastMass("20M", Metre)
	require.ErrorContains(t, err, "no mass tolerance is known for 20M")
	_, err = LeastMass("20", Metre)
	require.ErrorContains(t, err, "unknown size")
}

// Weigh is the exact fraction, computed again with numbers of any length.
func TestWeighIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom(Sizes("")).Draw(t, "size")
		total := rapid.Int64Min(0).Draw(t, "total")
		r, _ := size.Row()
		want := new(big.Rat).SetInt64(total)
		if r.System == ASTM {
			want.Mul(want, big.NewRat(r.MilliPoundsPerFoot, 1000))
			want.Mul(want, big.NewRat(int64(Pound), int64(Foot)))
		} else {
			want.Mul(want, big.NewRat(r.GramsPerMetre, 1000))
		}
		got, err := Weigh(size, Length(total))
		if err != nil {
			if want.Cmp(new(big.Rat).SetInt64(math.MaxInt64)) < 0 {
				t.Fatalf("%d nm of %s: %v", total, size, err)
			}
			return
		}
		// got - 1/2 <= want < got + 1/2
		diff := want.Sub(want, new(big.Rat).SetInt64(int64(got)))
		if diff.Cmp(big.NewRat(-1, 2)) < 0 || diff.Cmp(big.NewRat(1, 2)) >= 0 {
			t.Fatalf("%d nm of %s: %d ug is off by %s", total, size, got, diff.FloatString(3))
		}
	})
}

func TestMassText(t *testing.T) {
	for _, c := range []struct {
		m      Mass
		lb, kg string
	}{
		{0, "0 lb", "0.0 kg"},
		{Pound, "1 lb", "0.5 kg"},
		{Pound / 2, "1 lb", "0.2 kg"}, // half up; 226.796 g
		{Pound/2 - 1, "0 lb", "0.2 kg"},
		{999 * Pound, "999 lb", "453.1 kg"},
		{3000 * Pound, "3,000 lb", "1360.8 kg"},
		{26321 * Pound, "26,321 lb", "11939.0 kg"},
		{1234567 * Pound, "1,234,567 lb", "559990.2 kg"},
		{-3000 * Pound, "-3,000 lb", "-1360.8 kg"},
		{-1, "0 lb", "0.0 kg"},
		{math.MinInt64, "-20,334,054,642 lb", "-9223372036.9 kg"},
	} {
		require.Equal(t, c.lb, c.m.Text(Imperial))
		require.Equal(t, c.kg, c.m.Text(Metric))
	}
}

func TestParseMass(t *testing.T) {
	for in, want := range map[string]Mass{
		"3,000 lb": 3000 * Pound, "3000lb": 3000 * Pound, "3000 LBS": 3000 * Pound, "26,321 lb": 26321 * Pound,
		"1,234,567.5 lbs.": 1234567*Pound + Pound/2, "0.5 lb": Pound / 2,
		"1360 kg": 1360 * Kilogram, "217.6 kg": 217600 * Gram, "217,6 kg": 217600 * Gram, "217.600 kg": 217600 * Gram,
		"1.36 t": 1360 * Kilogram, "1.360 t": 1360 * Kilogram, "1,36 tonnes": 1360 * Kilogram, "0,250 t": 250 * Kilogram,
		"0.000000001 kg": Microgram, "1000000 t": 1_000_000 * Tonne, "5\u00a0kg": 5 * Kilogram,
	} {
		got, err := ParseMass(in)
		require.NoError(t, err, in)
		require.Equal(t, want, got, in)
	}
	for in, says := range map[string]string{
		"":                          "mass is empty",
		"3000":                      "no unit: write 3000 lb or 3000 kg",
		"lb":                        "not readable",
		"-5 kg":                     "not readable",
		"2 tons":                    "a ton is 2,000 lb here and 1000 kg there",
		"2 oz":                      "no unit of mass",
		"1,360 kg":                  "may mean 1360 or 1.36:",
		"1.360 kg":                  "may mean 1360 or 1.36:",
		"1,360 t":                   "may mean 1360 or 1.36:",
		"30,00 lb":                  "a comma in pounds stands before three digits",
		"3,0,0 lb":                  "a comma in pounds stands before three digits",
		"1,234,5 lb":                "a comma in pounds stands before three digits",
		"1.234.567 kg":              "more than one point or comma",
		"0 kg":                      "more than nothing",
		"0.0 lb":                    "more than nothing",
		"1000000.1 t":               "over a million tonnes",
		"99999999999999999 kg":      "far too much",
		"99999999999999999999 t":    "not a number",
		"0.0000000001 kg":           "more decimals than can be held",
		"0.00000000000000000001 kg": "too many decimals",
		"5. kg":                     "not a number",
		".5 kg":                     "not a number",
	} {
		got, err := ParseMass(in)
		require.ErrorContains(t, err, says, in)
		require.Zero(t, got, in)
	}
}

func TestRound(t *testing.T) {
	for _, c := range []struct {
		parts []Mass
		want  []int64
	}{
		{nil, []int64{}},
		{[]Mass{0, 0}, []int64{0, 0}},
		{[]Mass{Pound / 3, Pound / 3, Pound / 3}, []int64{1, 0, 0}},                   // one pound in all
		{[]Mass{14 * Pound / 10, 14 * Pound / 10, 14 * Pound / 10}, []int64{2, 1, 1}}, // 4.2
		{[]Mass{16 * Pound / 10, 16 * Pound / 10, 3 * Pound / 10}, []int64{2, 2, 0}},  // 3.5, half up
		{[]Mass{-15 * Pound / 10, 2 * Pound}, []int64{-1, 2}},                         // 0.5 is 1
	} {
		require.Equal(t, c.want, Round(c.parts, Pound))
	}
}

// Rounded parts add up to the rounded total and are each within one unit of the exact part; what is
// larger is never shown smaller.
func TestRoundAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := rapid.SliceOfN(rapid.Map(rapid.Int64Range(0, 1e16), func(n int64) Mass { return Mass(n) }), 0, 50).Draw(t, "parts")
		unit := rapid.SampledFrom([]Mass{1, Gram, Pound, Kilogram / 10, Kilogram}).Draw(t, "unit")
		got := Round(parts, unit)
		var total Mass
		var sum int64
		for i, p := range parts {
			total += p
			sum += got[i]
			if off := Mass(got[i])*unit - p; off >= unit || off <= -unit {
				t.Fatalf("%d ug shown as %d of %d", p, got[i], unit)
			}
			for j, q := range parts {
				if p > q && got[i] < got[j] {
					t.Fatalf("%d ug shown as %d, %d ug as %d", p, got[i], q, got[j])
				}
			}
		}
		if want := int64((total + unit/2) / unit); sum != want {
			t.Fatalf("parts add up to %d, the total is %d", sum, want)
		}
	})
}

func FuzzParseMass(f *testing.F) {
	for _, s := range []string{"3,000 lb", "1360 kg", "217,6 kg", "1.36 t", "1,360 kg", "2 tons", "1,234,567.5 lbs.", ",", "0.5lb", "\xff kg"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		m, err := ParseMass(s)
		if err != nil {
			if m != 0 {
				t.Fatalf("%q: %d ug besides the error %v", s, m, err)
			}
			return
		}
		if m <= 0 || m > 1_000_000*Tonne {
			t.Fatalf("%q: %d ug", s, m)
		}
		for _, u := range []Units{Imperial, Metric} {
			text := m.Text(u)
			again, err := ParseMass(text)
			if text == "0 lb" || text == "0.0 kg" || m > 1_000_000*Tonne-Pound {
				continue // rounded to nothing, or over the limit
			}
			if err != nil || again.Text(u) != text {
				t.Fatalf("%q prints %s and reads %d ug, %v", s, text, again, err)
			}
		}
	})
}

func BenchmarkWeigh(b *testing.B) {
	for _, size := range []Size{"#5", "16mm"} {
		b.Run(string(size), func(b *testing.B) {
			for b.Loop() {
				if _, err := Weigh(size, 40*138*Inch); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
