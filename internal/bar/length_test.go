package bar

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseLength(t *testing.T) {
	const sixteenth = Inch / 16
	for _, c := range []struct {
		in   string
		want Length
	}{
		// One length in all its spellings: 11 ft 6 in is 3505.2 mm by the definition of the inch
		// (25.4 mm, international yard and pound agreement of 1959).
		{`11'-6"`, 3505200 * Millimetre / 1000},
		{`11-06`, 3505200 * Millimetre / 1000},
		{`11' 6`, 3505200 * Millimetre / 1000},
		{`138 in`, 3505200 * Millimetre / 1000},
		{`3505.2 mm`, 3505200 * Millimetre / 1000},
		{`60 ft`, 18288 * Millimetre},
		{`60'`, 18288 * Millimetre},
		{`60'-0"`, 18288 * Millimetre},

		{`14'-10"`, 178 * Inch},
		{`14'10"`, 178 * Inch},
		{`14' - 10"`, 178 * Inch},
		{`14-10`, 178 * Inch},
		{`14-10"`, 178 * Inch},
		{`14 ft 10 in`, 178 * Inch},
		{`14ft.-10in.`, 178 * Inch},
		{`14 Feet 10 Inches`, 178 * Inch},
		{` 178" `, 178 * Inch},
		{`178 in`, 178 * Inch},
		{`014'-010"`, 178 * Inch},
		{`0'-8"`, 8 * Inch},
		{`0-8`, 8 * Inch},
		{`8"`, 8 * Inch},
		{`8''`, 8 * Inch},

		{`14' 10 1/2`, 178*Inch + Inch/2},
		{`14'-10 1/2"`, 178*Inch + Inch/2},
		{`14'-10-1/2"`, 178*Inch + Inch/2},
		{`14-10 1/2`, 178*Inch + Inch/2},
		{`14-10-1/2`, 178*Inch + Inch/2},
		{`14'-10.5"`, 178*Inch + Inch/2},
		{`14'-10,5"`, 178*Inch + Inch/2},
		{`10-1/2"`, 10*Inch + Inch/2},
		{`10 1/2"`, 10*Inch + Inch/2},
		{`1/2"`, Inch / 2},
		{`14'-0 1/2"`, 168*Inch + Inch/2},
		{`14'-1/2"`, 168*Inch + Inch/2},
		{`14 1/2 ft`, 174 * Inch},
		{`14.5'`, 174 * Inch},
		{`14,5 ft`, 174 * Inch},
		{`.5"`, Inch / 2},
		{`5/64"`, 5 * Inch / 64},
		{`2 13/16"`, 2*Inch + 13*sixteenth},
		{`0.00001"`, 254},

		{`14′-10½″`, 178*Inch + Inch/2},
		{`14’-10¼”`, 178*Inch + Inch/4},
		{`14′ 10 ¾″`, 178*Inch + 3*Inch/4},
		{`⅞"`, 7 * Inch / 8},
		{"14'\u00a010\"", 178 * Inch},
		{`14'–10"`, 178 * Inch},
		{`1⁄2"`, Inch / 2},

		{`4521 mm`, 4521 * Millimetre},
		{`4521MM`, 4521 * Millimetre},
		{`4521.0 mm`, 4521 * Millimetre},
		{`4.521 m`, 4521 * Millimetre},
		{`4,521 m`, 4521 * Millimetre},
		{`451.2 cm`, 4512 * Millimetre},
		{`451,2 cm`, 4512 * Millimetre},
		{`12 metres`, 12 * Metre},
		{`850.000 mm`, 850 * Millimetre},
		{`0,500 ft`, Foot / 2},
		{`14,500 ft`, 174 * Inch}, // 14,500 ft would be over the limit
		{`0.000001 mm`, Nanometre},
		{`1000 m`, MaxLength},
	} {
		got, err := ParseLength(c.in)
		require.NoError(t, err, c.in)
		require.Equal(t, c.want, got, c.in)
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for in, says := range map[string]string{
		``:                            `is empty`,
		`   `:                         `is empty`,
		`178`:                         `no unit: is it 178 mm, 178 m, 178 in or 178 ft?`,
		`14.5`:                        `no unit`,
		`10 1/2`:                      `no unit: is it 10 1/2 mm`,
		`14 10`:                       `not readable`,
		`0`:                           `no unit`,
		`0 mm`:                        `more than nothing`,
		`0'-0"`:                       `more than nothing`,
		`-5 mm`:                       `no sign`,
		`−5 mm`:                       `no sign`,
		`+5 mm`:                       `unexpected “+”`,
		`14'-12"`:                     `12 inches are another foot`,
		`14-13`:                       `12 inches are another foot`,
		`14.5'-3"`:                    `whole feet and inches`,
		`14 1/2' 3"`:                  `whole feet and inches`,
		`14.5-3`:                      `not readable`,
		`10-1/2`:                      `write 10 1/2" or 10'-0 1/2"`,
		`14'-`:                        `a number is missing`,
		`'`:                           `a number is missing`,
		`14'-10"-3`:                   `not readable after the inches`,
		`14'-10 mm`:                   `not readable after the inches`,
		`5 mm 3`:                      `nothing may follow the unit`,
		`14"-3`:                       `nothing may follow the unit`,
		`1/3"`:                        `no fraction of a rule`,
		`1/128"`:                      `no fraction of a rule`,
		`4/4"`:                        `no fraction of a rule`,
		`1/0"`:                        `no fraction of a rule`,
		`1/1"`:                        `no fraction of a rule`,
		`1/"`:                         `no lower number`,
		`1/2 mm`:                      `fractions are for feet and inches`,
		`10.5 1/2"`:                   `decimals and a fraction together`,
		`4,521 mm`:                    `4,521 may mean 4521 or 4.521`,
		`4.521 mm`:                    `4.521 may mean 4521 or 4.521`,
		`12,000 mm`:                   `may mean 12000 or 12.0`,
		`3,000 ft`:                    `may mean 3000 or 3.0`,
		`1,000 m`:                     `may mean 1000 or 1.0`,
		`1.234.567 mm`:                `more than one point or comma`,
		`1,234,567 mm`:                `more than one point or comma`,
		`1.mm`:                        `unexpected “.”`,
		`1000.1 m`:                    `over 1000 m`,
		`1000001 mm`:                  `over 1000 m`,
		`3281 ft`:                     `over 1000 m`,
		`1e3 mm`:                      `“e” is no unit`,
		`5 yd`:                        `“yd” is no unit`,
		`0.333333333"`:                `more decimals than can be held`,
		`0.0000001 mm`:                `more decimals than can be held`,
		`14'-10" (typ)`:               `unexpected “(”`,
		"5\x00mm":                     `unexpected “�”`,
		`99999999999999999999 mm`:     `not a number that can be`,
		strings.Repeat("1", 50) + "'": `not a number that can be`,
		strings.Repeat("9", 101):      `too long a text`,
	} {
		l, err := ParseLength(in)
		require.ErrorContains(t, err, says, in)
		require.Zero(t, l, in)
	}
}

func TestParseLengthIn(t *testing.T) {
	for _, c := range []struct {
		in, unit string
		want     Length
	}{
		{"4521", "mm", 4521 * Millimetre},
		{"3505,2", "mm", 35052 * Millimetre / 10},
		{"451.2", "cm", 4512 * Millimetre},
		{"4,521", "m", 4521 * Millimetre},
		{"178", "in", 178 * Inch},
		{"10 1/2", "in", 10*Inch + Inch/2},
		{"14.5", "ft", 174 * Inch},
		{"14-10", "ft", 178 * Inch},
		{"14-10", "in", 178 * Inch},
		{`14'-10"`, "mm", 178 * Inch},
		{`2 m`, "in", 2 * Metre},
	} {
		got, err := ParseLengthIn(c.in, c.unit)
		require.NoError(t, err, c.in)
		require.Equal(t, c.want, got, c.in)
	}
	for _, c := range []struct{ in, unit, says string }{
		{"4,521", "mm", "may mean 4521 or 4.521"},
		{"14-10", "mm", "feet and inches without marks where mm are expected"},
		{"10 1/2", "mm", "fractions are for feet and inches"},
		{"5", "yd", "unknown unit “yd”"},
		{"5", "", "unknown unit “”"},
		{"", "mm", "is empty"},
		{"0", "mm", "more than nothing"},
	} {
		_, err := ParseLengthIn(c.in, c.unit)
		require.ErrorContains(t, err, c.says, c.in)
	}
}

func TestLengthText(t *testing.T) {
	for _, c := range []struct {
		l        Length
		feet, mm string
	}{
		{0, `0"`, "0 mm"},
		{8 * Inch, `8"`, "203.2 mm"},
		{Inch / 2, `1/2"`, "12.7 mm"},
		{8*Inch + Inch/2, `8 1/2"`, "215.9 mm"},
		{Foot, `1'-0"`, "304.8 mm"},
		{18 * Inch, `1'-6"`, "457.2 mm"},
		{60 * Foot, `60'-0"`, "18288 mm"},
		{178*Inch + Inch/2, `14'-10 1/2"`, "4533.9 mm"},
		{168*Inch + 3*Inch/64, `14'-0 3/64"`, "4268.4 mm"},
		{4521 * Millimetre, `14'-10"`, "4521 mm"},      // rounded to the nearest 1/16 in
		{12*Inch - Millimetre/10, `1'-0"`, "304.7 mm"}, // rounds up into the foot
		{-18 * Inch, `-1'-6"`, "-457.2 mm"},            // a difference
		{-Nanometre, `0"`, "0 mm"},                     // no minus before nothing
		{Inch/32 + 1, `1/16"`, "0.8 mm"},               // over half a sixteenth
		{1000 * Metre, `3280'-10 1/16"`, "1000000 mm"},
		{math.MaxInt64, `30260406945'-0 3/4"`, "9223372036854.8 mm"},
		{math.MinInt64, `-30260406945'-0 3/4"`, "-9223372036854.8 mm"},
	} {
		require.Equal(t, c.feet, c.l.Feet())
		require.Equal(t, c.mm, c.l.Millimetres())
		require.Equal(t, c.feet, c.l.Text(Imperial))
		require.Equal(t, c.mm, c.l.Text(Metric))
	}
	require.InDelta(t, 3505.2, (138 * Inch).MM(), 1e-9)
}

// Whatever a unit can tell exactly is read back as it was; what it cannot is off by half its last
// place at most.
func TestLengthPrintsAndParses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(1, int64(MaxLength)).Draw(t, "length"))
		step := rapid.SampledFrom([]Length{1, Inch / 64, Inch / 16, Millimetre / 10, Millimetre}).Draw(t, "step")
		if l = l / step * step; l < Millimetre {
			l = Millimetre
		}
		for _, u := range []Units{Imperial, Metric} {
			text := l.Text(u)
			got, err := ParseLength(text)
			if err != nil {
				if l > MaxLength-Inch && strings.Contains(err.Error(), "over 1000 m") {
					continue // rounded up, over the limit
				}
				t.Fatalf("%d nm prints %s: %v", l, text, err)
			}
			off := max(got-l, l-got)
			half := map[Units]Length{Imperial: Inch / 32, Metric: Millimetre / 20}[u]
			if l.Exact(u) && off != 0 || off > half {
				t.Fatalf("%d nm prints %s and reads %d nm", l, text, got)
			}
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{
		`14'-10"`, `14-10`, `14' 10 1/2`, `11-06`, `178 in`, `4521 mm`, `4,521 m`, `14′-10½″`, `10-1/2"`,
		`1/64"`, `.5"`, `14 ft 10 in.`, `4,521 mm`, `⅞"`, `9999999999999999999'`, `''`, `5/`, `-`, "\xff",
	} {
		f.Add(s, "")
		f.Add(s, "mm")
	}
	f.Fuzz(func(t *testing.T, s, unit string) {
		l, err := ParseLength(s)
		if unit != "" {
			l, err = ParseLengthIn(s, unit)
		}
		if err != nil {
			if l != 0 {
				t.Fatalf("%q: %d nm besides the error %v", s, l, err)
			}
			return
		}
		if l <= 0 || l > MaxLength {
			t.Fatalf("%q: %d nm", s, l)
		}
		for _, u := range []Units{Imperial, Metric} {
			if !l.Exact(u) {
				continue
			}
			if got, err := ParseLength(l.Text(u)); err != nil || got != l {
				t.Fatalf("%q is %d nm, prints %s, reads %d nm, %v", s, l, l.Text(u), got, err)
			}
		}
	})
}

func BenchmarkParseLength(b *testing.B) {
	for _, s := range []string{`14'-10 1/2"`, `14′-10½″`, `4521 mm`} {
		b.Run(s, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ParseLength(s); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
