package export

import (
	"bytes"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

func TestLoadSheetPages(t *testing.T) {
	for _, c := range []struct {
		bundles, pages int
	}{{0, 1}, {1, 1}, {12, 1}, {75, 3}} {
		for _, paper := range []Paper{Letter, A4} {
			_, n := drawn(t, sheetOf(c.bundles), paper)
			require.Equal(t, c.pages, n, "%d bundles on %s", c.bundles, paper)
		}
	}
}

func TestLoadSheetSays(t *testing.T) {
	r, _ := drawn(t, oneStop(12), Letter)
	got := r.words()
	for _, want := range []string{
		"LOAD SHEET", "Hoja de carga", "Example Rebar Co. · Plant 1", "4-001-00000871-92", "TRUCK 12 / TR-207", "2026-11-26",
		"Harbour Crossing, Pier 4 North", "45,094 / 9,000 lb", "12 / 456",
		"OVER THE LIMIT: 45,094 lb on a limit of 9,000 lb. · PASA DEL LÍMITE: 45,094 lb con límite de 9,000 lb.",
		"HELD · RETENIDO: bundle · atado 1-001-00000103-16: tie wire loose (2026-11-26 06:12, J. Alvarado)",
		"2 bundles may be of heats that are not known. · 2 atados pueden ser de coladas desconocidas.",
		"1 bundle may be of more than one heat", "1 atado puede ser de varias coladas",
		"No certificate yet for heat 01E5 (#5). · Falta el certificado de la colada 01E5 (#5).",
		"Released · Liberado: heat · colada Example Mill A 7041902: bend test to be repeated",
		"one of/una de: 01E5 7041893", "unknown/desconocida", "unknown, or/ desconocida, o: 7041902", "declared · declarado",
		"A706 Gr\u00a060 EPOXY", "list/lista 4", "39'-11 15/16\"",
		"Weights are nominal, from size and length. · Los pesos son nominales, según calibre y largo.",
		"Securement, flags and permits are the driver's and carrier's.",
		"Loaded by Cargó", "Driver Chofer", "Received by Recibió", "Missing or damaged", "printed · impreso 2026-11-26 06:42 · copy · copia 1",
	} {
		require.Contains(t, got, want)
	}
	// What presses most stands first.
	order := []string{"OVER", "HELD", "2 bundles may", "1 bundle may", "No cert", "Released"}
	for i := range order[1:] {
		require.Less(t, strings.Index(got, order[i]), strings.Index(got, order[i+1]))
	}

	// Whom to call at a stop and when it takes the load stand once, with one stop or several; what came back
	// is said to have.
	for n, l := range map[int]LoadSheet{1: oneStop(12), 2: sheetOf(12)} {
		l.Leaves = "06:30"
		for i := range l.Stops {
			l.Stops[i].Contact, l.Stops[i].From, l.Stops[i].Until = fmt.Sprint("Foreman ", i+1, " (invented)"), "07:00", "09:30"
		}
		l.Stops[n-1].From = ""
		l.Stops[n-1].Bundles[0].Returned = true
		r, _ = drawn(t, l, Letter)
		got = r.words()
		for i := range n {
			require.Equal(t, 1, strings.Count(got, fmt.Sprint("Contact · Contacto: Foreman ", i+1, " (invented)")), got)
		}
		require.Contains(t, got, "Takes it until · Recibe hasta las 09:30")
		require.Equal(t, n-1, strings.Count(got, "Takes it · Recibe: 07:00–09:30"))
		require.Contains(t, got, "2026-11-26 Leaves · Sale 06:30")
		require.Equal(t, 1, strings.Count(got, "returned/devuelto"))
	}

	plain := sheetOf(1)
	plain.NoCert = nil
	r, _ = drawn(t, plain, A4)
	for _, never := range []string{"OVER", "HELD", "may be", "certificate", "Released", "returned", "Leaves", "Takes it", "Contact"} {
		require.NotContains(t, r.words(), never)
	}
}

// A heat number is a mill's own: where two mills use the same one, the sheet tells them apart.
func TestLoadSheetNamesMillsOfEqualHeats(t *testing.T) {
	l := sheetOf(2)
	l.Stops[0].Bundles[0].Draw = certain(heat.Key{Mill: "Mill C", Heat: "55"})
	l.Stops[0].Bundles[1].Draw = certain(heat.Key{Mill: "Mill D", Heat: "55"})
	r, _ := drawn(t, l, Letter)
	require.Len(t, r.find("55 (Mill C)"), 1)
	require.Len(t, r.find("55 (Mill D)"), 1)
}

func TestLoadSheetRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*LoadSheet)
		says   []string
	}{
		"another kind of number": {func(l *LoadSheet) { l.Number = number(tags.Bundle, 1) }, []string{"number", "1-001-00000001-"}},
		"host":                   {func(l *LoadSheet) { l.Host = "tags example" }, []string{"host"}},
		"letters":                {func(l *LoadSheet) { l.Stops[0].Bundles[0].Mark = "鉄" }, []string{"bundle 1-001-00000100-25, Mark", "鉄", "U+9244"}},
		"endless heats": {func(l *LoadSheet) {
			for i := range 2000 {
				l.Stops[0].Bundles[0].Draw.Heats = append(l.Stops[0].Bundles[0].Draw.Heats, heat.Key{Heat: fmt.Sprint("HEAT NUMBER ", i)})
			}
		}, []string{"load sheet", "higher than a page"}},
	} {
		l := sheetOf(3)
		c.change(&l)
		var buf bytes.Buffer
		err := l.PDF(&buf, Letter)
		require.Error(t, err, name)
		for _, s := range c.says {
			require.ErrorContains(t, err, s, name)
		}
		require.Zero(t, buf.Len(), "nothing is written")
	}
	require.ErrorContains(t, sheetOf(1).PDF(io.Discard, "legal"), "legal")
}

// The widths of the table, taken from its heads, so that a test reads the paper as a person does.
func weightEdge(r *record, unit string) float64 {
	for _, x := range r.texts {
		if x.s == unit {
			return x.right
		}
	}
	return -1
}

var serialText = regexp.MustCompile(`^\d{8}-\d{2}$`)

// rows are the numbers of the rows as they were printed, in order.
func (r *record) rows() []inked {
	var out []inked
	for _, x := range r.texts {
		if serialText.MatchString(x.s) {
			out = append(out, x)
		}
	}
	return out
}

// mass reads a figure of the paper in hundredths of its unit.
func mass(t require.TestingT, s string) int {
	v, err := strconv.ParseFloat(strings.ReplaceAll(s, ",", ""), 64)
	require.NoError(t, err, "%q is a figure", s)
	return int(v*100 + 0.5)
}

func text(most int) *rapid.Generator[string] {
	return rapid.OneOf(
		rapid.StringMatching(`[A-Z0-9][A-Z0-9\-]{0,11}`),
		rapid.StringOfN(rapid.RuneFrom([]rune("ABCabc019 -/.,ñÁÜg\u00a0")), 1, most, -1),
	)
}

func drawOf(t *rapid.T) heat.Draw {
	d := heat.Draw{Certainty: rapid.SampledFrom([]heat.Certainty{heat.Certain, heat.OneOf, heat.Declared, heat.Unknown, ""}).Draw(t, "certainty")}
	most := map[heat.Certainty]int{heat.Certain: 1, "": 0}
	n, ok := most[d.Certainty]
	if !ok {
		n = rapid.SampledFrom([]int{1, 2, 5, mostHeats, mostHeats + 1, 60}).Draw(t, "heats")
	}
	for range n {
		d.Heats = append(d.Heats, heat.Key{Mill: rapid.SampledFrom([]string{"Mill A", "Mill B"}).Draw(t, "mill"), Heat: text(32).Draw(t, "heat")})
	}
	return d
}

func randomBundle(t *rapid.T, serial int) Bundle {
	b := Bundle{
		Number: number(tags.Bundle, serial), List: rapid.SampledFrom([]string{"", "1", "2-LONG-LIST-NAME"}).Draw(t, "list"), Mark: text(60).Draw(t, "mark"),
		K: rapid.SampledFrom([]string{"1", "2b", "12", ""}).Draw(t, "k"), N: rapid.IntRange(1, 128).Draw(t, "n"),
		Steel: bar.Steel{Size: rapid.SampledFrom([]bar.Size{"#3", "#5", "#11", "16mm", "15M"}).Draw(t, "size"), Spec: text(20).Draw(t, "spec"), Grade: "60",
			Coating: rapid.SampledFrom([]string{"", "epoxy", "epoxy-prefabricated"}).Draw(t, "coating")},
		Pieces: rapid.IntRange(1, 99999).Draw(t, "pieces"), Length: bar.Length(rapid.Int64Range(1, 80*int64(bar.Foot)).Draw(t, "length")),
		Weight: bar.Mass(rapid.Int64Range(0, 99_999*int64(bar.Pound)).Draw(t, "weight")), Draw: drawOf(t), Returned: rapid.Bool().Draw(t, "returned"),
	}
	return b
}

func randomSheet(t *rapid.T) LoadSheet {
	l := sheetOf(0)
	l.Units = rapid.SampledFrom([]bar.Units{bar.Imperial, bar.Metric}).Draw(t, "units")
	l.Plant = rapid.SliceOfN(text(80), 0, 3).Draw(t, "plant")
	l.Truck, l.Printed = text(80).Draw(t, "truck"), text(40).Draw(t, "printed")
	l.Host = rapid.SampledFrom([]string{"T.EX", "TAGS.EXAMPLE:8080", strings.Repeat("LONG.", 40) + "EXAMPLE"}).Draw(t, "host")
	l.Limit = bar.Mass(rapid.Int64Range(0, 100_000*int64(bar.Pound)).Draw(t, "limit"))
	for range rapid.IntRange(0, 5).Draw(t, "missing certs") {
		l.NoCert = append(l.NoCert, HeatSize{heat.Key{Mill: "Mill A", Heat: text(32).Draw(t, "heat")}, "#5"})
	}
	for range rapid.IntRange(0, 4).Draw(t, "holds") {
		h := Hold{Target: event.Target{Mill: text(60).Draw(t, "mill"), Heat: text(32).Draw(t, "heat")}, Reason: text(500).Draw(t, "reason")}
		if rapid.Bool().Draw(t, "released") {
			h.Released = &Release{Reason: text(200).Draw(t, "why released"), At: "2026-11-26 05:55"}
		}
		l.Holds = append(l.Holds, h)
	}
	l.Stops = nil
	serial := 0
	for range rapid.IntRange(2, 4).Draw(t, "stops") {
		s := Stop{Job: text(40).Draw(t, "job"), JobName: text(200).Draw(t, "job name"), ShipTo: rapid.SliceOfN(text(80), 0, 4).Draw(t, "ship-to")}
		s.Contact, s.From = rapid.OneOf(rapid.Just(""), text(80)).Draw(t, "contact"), rapid.SampledFrom([]string{"", "07:00"}).Draw(t, "from")
		for range rapid.SampledFrom([]int{0, 1, 2, 3, 20, 45}).Draw(t, "bundles") {
			serial++
			s.Bundles = append(s.Bundles, randomBundle(t, serial))
		}
		l.Stops = append(l.Stops, s)
	}
	return l
}

// Whatever the values, the sheet comes out whole: nothing overlaps, every bundle has one row, in the
// order of stops, subtotals and totals are the sums of the figures printed, heads keep rows and the
// signatures keep the totals.
func TestLoadSheetOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := randomSheet(t)
		paper := rapid.SampledFrom([]Paper{Letter, A4}).Draw(t, "paper")
		pages, err := l.pages(paper)
		require.NoError(t, err)
		r := recorded(t, pages)
		require.Equal(t, []string{l.Number.Digits()}, pages[0].codes[:1])
		require.Len(t, pages[0].codes, 2)

		rows, totals := r.rows(), r.find("Stop total")
		require.Len(t, totals, len(l.Stops))
		edge := weightEdge(r, unitName(l.Units))
		var exact bar.Mass
		all, at := 0, 0
		for i, s := range l.Stops {
			var want, got []string
			for _, b := range s.Bundles {
				want = append(want, b.Number.String()[6:])
				exact += b.Weight
			}
			sum := 0
			for range s.Bundles {
				got = append(got, rows[at].s)
				sum += mass(t, r.beside(rows[at], edge))
				at++
			}
			slices.Sort(got)
			slices.Sort(want)
			require.Equal(t, want, got, "rows of stop %d", i+1)
			require.Equal(t, sum, mass(t, r.beside(totals[i], edge)), "weight of stop %d", i+1)
			all += sum
			head := r.find(fmt.Sprintf("Stop %d ·", i+1))[0]
			if n := len(s.Bundles); n > 0 {
				require.Equal(t, head.page, rows[at-n].page, "a head keeps its first row")
				require.Equal(t, head.page, rows[min(at-1, at-n+1)].page, "and the second")
				require.Equal(t, rows[at-1].page, totals[i].page, "a subtotal keeps the last row")
			} else {
				require.Equal(t, head.page, totals[i].page)
			}
		}
		require.Len(t, rows, at, "no row twice")
		require.Equal(t, mass(t, figure(exact, l.Units)), all, "rows add up to the rounded weight of all")
		require.Contains(t, r.words(), exact.Text(l.Units))

		total := r.find("LOAD TOTAL")[0].page
		require.Equal(t, len(pages), total)
		for _, s := range []string{"Weights are", "Securement", "Loaded by", "Received by", "Missing or damaged"} {
			require.Equal(t, total, r.find(s)[0].page, s)
		}
	})
}

// Rows of a stop go by mark in natural order, list, and k of n.
func TestLoadSheetOrder(t *testing.T) {
	l := sheetOf(0)
	for i, x := range []struct{ mark, list, k string }{
		{"4F10", "1", "1"}, {"4F9", "2", "1"}, {"4F9", "1", "10"}, {"4F9", "1", "2b"}, {"4F9", "1", "2"}, {"4F10", "1", "1"},
	} {
		b := bundleOf(i)
		b.Mark, b.List, b.K = x.mark, x.list, x.k
		l.Stops[1].Bundles = append(l.Stops[1].Bundles, b)
	}
	r, _ := drawn(t, l, Letter)
	var got []string
	for _, x := range r.rows() {
		got = append(got, x.s[:8])
	}
	require.Equal(t, []string{"00000104", "00000103", "00000102", "00000101", "00000100", "00000105"}, got)
	require.Equal(t, "4F10", l.Stops[1].Bundles[0].Mark, "the caller's slice is left as it is")
}

// BenchmarkLoadSheet prints a sheet of 75 bundles, three pages.
func BenchmarkLoadSheet(b *testing.B) {
	l := sheetOf(75)
	b.ReportAllocs()
	for b.Loop() {
		if err := l.PDF(io.Discard, Letter); err != nil {
			b.Fatal(err)
		}
	}
}
