package export

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// traceOf is a trace of a job in kilograms: certs, a bundle not begun, a lot used up.
func traceOf() Recall {
	r := recallOf(9)
	r.Trace, r.Asked, r.Units, r.Heats = true, "24-0617", bar.Metric, []heat.Key{heat4, heat1, heat2}
	r.Bundles[4].Draw = heat.Draw{}
	r.Bundles[4].Mark = "=HYPERLINK(\"x\")"
	r.Bundles[8].Place = "-A\x1b[31m"
	r.Holds = append(r.Holds, Hold{Target: event.Target{Number: number(tags.Stock, 320)}, Reason: "no mill tag", Released: &Release{Reason: "tag found", By: "J. Alvarado"}})
	r.Certs = []heat.Cert{
		{Filed: event.CertFiled{Mill: heat1.Mill, Heat: heat1.Heat, Sizes: []bar.Size{"#5", "#11"}, Spec: "A615", Type: "MTR", SHA256: []byte{1}}, Reviewed: true},
		{Filed: event.CertFiled{Mill: heat2.Mill, Heat: heat2.Heat, Sizes: []bar.Size{"#5"}, Spec: "A615", Type: "3.1"}},
	}
	return r
}

func TestCell(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "B10-1": "B10-1", "=1+1": "'=1+1", "+1 555": "'+1 555", "-3": "'-3", "@SUM(A1)": "'@SUM(A1)", "\t=1": "'\t=1", "\r=1": "'\r=1",
		"'=1": "'=1", "1E5": "1E5", " =1": " =1", "Á": "Á",
	} {
		require.Equal(t, want, Cell(in))
	}
}

func TestRecallSays(t *testing.T) {
	r, _ := drawn(t, recallOf(12), A4)
	got := r.words()
	for _, want := range []string{
		"RECALL LIST", "Lista de retiro", "7041893", "Example Mill A · #5, #11",
		"HELD · RETENIDO: heat · colada Example Mill A 7041893: yield below limit on retest (2026-11-26 07:00,",
		"Bundles or lots that may be of another heat: 4 (they count as affected).",
		"1  On the road or delivered · En camino o entregado 6 4 2 228 28,980",
		"4  Stock and remnants · Material y sobrantes 2\u00a0lots 1 1 132\u00a0bars 7,676",
		"All · Todo 12 + 2\u00a0lots 10 4 456 + 132\u00a0bars 65,636",
		"Whom to call · A quién llamar", "P. Sorensen, +1 555 0163", "TRUCK 12, left · salió 2026-11-26 06:40",
		"load · carga 00000874-83   24-0617 Harbour Crossing Pier 4", "remnant · sobrante 20'-0\"",
		"from records 1 to 48211 · de los registros 1 a 48211",
	} {
		require.Contains(t, got, want)
	}
	require.NotContains(t, got, "Nothing is held")
	require.NotContains(t, got, "Certificates")
	require.Less(t, strings.Index(got, "00000874-83"), strings.Index(got, "00000866-10"), "the load that left last is called first")

	require.NotContains(t, got, "in dispute")

	loose := recallOf(3)
	loose.Holds, loose.Disputes = nil, 2
	r, _ = drawn(t, loose, Letter)
	require.Contains(t, r.words(), "Nothing is held")
	require.Contains(t, r.words(), "in dispute and not counted here: 2.")

	r, _ = drawn(t, traceOf(), Letter)
	got = r.words()
	for _, want := range []string{"TRACE REPORT", "Informe de trazabilidad", "24-0617", "01E5 Example Mill A none · ninguno",
		"7041893 Example Mill A #5, #11 A615 MTR reviewed · revisado", "no paper · sin papel", "none yet/sin colada", "Released · Liberado: stock · material 2-001-00000320-29"} {
		require.Contains(t, got, want)
	}
	require.NotContains(t, got, "Nothing is held")
	require.NotContains(t, got, "affected")
}

func TestRecallOfNothing(t *testing.T) {
	_, n := drawn(t, Recall{Asked: "123"}, Letter)
	require.Equal(t, 1, n)
}

func randomRecall(t *rapid.T) Recall {
	r := Recall{
		Trace: rapid.Bool().Draw(t, "trace"), Plant: rapid.SliceOfN(text(80), 0, 3).Draw(t, "plant"), Asked: text(60).Draw(t, "asked"),
		Units: rapid.SampledFrom([]bar.Units{bar.Imperial, bar.Metric}).Draw(t, "units"), Printed: text(40).Draw(t, "printed"), Through: rapid.Uint64().Draw(t, "through"),
	}
	for range rapid.IntRange(0, 4).Draw(t, "heats") {
		k := heat.Key{Mill: text(60).Draw(t, "mill"), Heat: text(32).Draw(t, "heat")}
		r.Heats = append(r.Heats, k)
		r.Certs = append(r.Certs, heat.Cert{Filed: event.CertFiled{Mill: k.Mill, Heat: k.Heat, Spec: text(30).Draw(t, "spec"), Type: text(20).Draw(t, "type")}})
		r.Holds = append(r.Holds, Hold{Target: event.Target{Mill: k.Mill, Heat: k.Heat}, Reason: text(500).Draw(t, "reason"), By: text(60).Draw(t, "by")})
	}
	for i := range rapid.SampledFrom([]int{0, 1, 2, 30, 60}).Draw(t, "bundles") {
		b := Traced{Bundle: randomBundle(t, i+1), Job: rapid.SampledFrom([]string{"24-0617", "A VERY LONG JOB NUMBER OF 2026"}).Draw(t, "job"),
			Where: rapid.SampledFrom([]Where{Shipped, Loaded, Inside, InStock, 77}).Draw(t, "where"), Place: text(80).Draw(t, "place"), Since: text(20).Draw(t, "since")}
		if b.Where <= Loaded {
			b.Load = number(tags.Load, 9_000_000+rapid.IntRange(0, 5).Draw(t, "load"))
		}
		r.Bundles = append(r.Bundles, b)
	}
	for i := range rapid.IntRange(0, 6).Draw(t, "lots") {
		b := randomBundle(t, 1)
		r.Lots = append(r.Lots, TracedLot{Number: number(tags.Stock, 1000+i), Remnant: i%2 == 1, Steel: b.Steel, Bars: rapid.IntRange(-2, 200).Draw(t, "bars"),
			Length: b.Length, Weight: b.Weight, Draw: b.Draw, Place: text(80).Draw(t, "place")})
	}
	for i := range rapid.IntRange(0, 4).Draw(t, "loads") {
		r.Loads = append(r.Loads, Sent{Load: number(tags.Load, 9_000_000+i), Job: "24-0617", JobName: text(200).Draw(t, "job name"),
			ShipTo: rapid.SliceOfN(text(80), 0, 4).Draw(t, "ship-to"), Truck: text(60).Draw(t, "truck"), Left: text(20).Draw(t, "left"), Contact: text(80).Draw(t, "contact")})
	}
	return r
}

// Whatever the values, the recall comes out whole: nothing overlaps, every bundle and lot has one
// row, in order of haste, whoever steel went to is to be called, and rows add up to what is printed.
func TestRecallOfAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := randomRecall(t)
		pages, err := in.pages(rapid.SampledFrom([]Paper{Letter, A4}).Draw(t, "paper"))
		require.NoError(t, err)
		r := recorded(t, pages)

		where := map[string]Where{}
		calls := map[string]bool{}
		sent := 0
		var exact bar.Mass
		for _, b := range in.Bundles {
			where[b.Number.String()[6:]] = min(b.Where, Inside)
			exact += b.Weight
			if b.Where == Shipped {
				calls[b.Load.String()+" "+b.Job] = true
				sent++
			}
		}
		for _, l := range in.Lots {
			if l.Bars > 0 || in.Trace {
				where[l.Number.String()[6:]] = InStock
				exact += l.Weight
			}
		}
		var rows []inked
		called := 0
		for _, x := range r.rows() {
			if strings.HasPrefix(x.s, "09") {
				called++
			} else {
				rows = append(rows, x)
			}
		}
		require.Len(t, rows, len(where))
		require.Equal(t, len(calls), called)
		last := Shipped
		for _, x := range rows {
			w, ok := where[x.s]
			require.True(t, ok, "%s stands there once", x.s)
			delete(where, x.s)
			require.GreaterOrEqual(t, w, last, "in order of haste")
			last = w
		}
		require.Equal(t, sent > 0, len(r.find("Whom to call"))+len(r.find("Where it went")) == 1)
		if len(rows) == 0 {
			return
		}
		var heads []inked // of the column of weights: where now, maybe whom to call, everything
		for _, x := range r.texts {
			if x.s == unitName(in.Units) {
				heads = append(heads, x)
			}
		}
		sum := 0
		for _, x := range rows {
			sum += mass(t, r.beside(x, heads[len(heads)-1].right))
		}
		require.Equal(t, mass(t, figure(exact, in.Units)), sum)
		require.Equal(t, sum, mass(t, r.beside(r.find("All · Todo")[0], heads[0].right)))
	})
}

// Cautions that fill more than a page go on on the next.
func TestBoxGoesOn(t *testing.T) {
	l := sheetOf(3)
	for i := range 90 {
		l.Holds = append(l.Holds, Hold{Target: event.Target{Number: number(tags.Bundle, 100+i)}, Reason: fmt.Sprintf("reason %d of many, told at some length so that it takes a second line in the box of cautions, as a person in a hurry would write it", i)})
	}
	r, n := drawn(t, l, Letter)
	require.Equal(t, 4, n)
	for i := range 90 {
		require.Len(t, r.find(fmt.Sprintf("HELD · RETENIDO: bundle · atado %s: reason %d of", number(tags.Bundle, 100+i), i)), 1)
	}
	require.True(t, slices.IsSortedFunc(r.find("HELD"), func(a, b inked) int { return a.page - b.page }))
}

// Much of everything still makes a paper.
func TestPapersOfMuch(t *testing.T) {
	l := sheetOf(0)
	l.Stops = nil
	for i := range 50 {
		b := bundleOf(i)
		b.Draw = heat.Draw{Certainty: heat.OneOf}
		for j := range 150 { // three lots of 50 heats
			b.Draw.Heats = append(b.Draw.Heats, heat.Key{Mill: millA, Heat: fmt.Sprintf("%d-%d HEAT OF THE LONGEST KIND", i, j)})
		}
		l.Stops = append(l.Stops, Stop{Job: fmt.Sprintf("%d JOB NUMBER OF THE LONGEST KIND OF ALL THAT THERE ARE", i), Bundles: []Bundle{b}})
	}
	r, n := drawn(t, l, Letter)
	require.Len(t, r.rows(), 50)
	require.Greater(t, n, 10)

	a := recallOf(30)
	a.Heats, a.Asked = nil, strings.Repeat("asked for with many words ", 12)
	for i := range 300 {
		a.Heats = append(a.Heats, heat.Key{Mill: millA, Heat: fmt.Sprint("HEAT ", i)})
		a.Holds = append(a.Holds, Hold{Target: event.Target{Mill: millA, Heat: fmt.Sprint("HEAT ", i)}, Reason: "yield below limit on retest"})
	}
	r, _ = drawn(t, a, A4)
	require.Len(t, r.find("HELD"), 301)
	require.Len(t, r.find("HEAT 299"), 1)
	require.Len(t, r.find("300 heats · coladas"), 1)
}
