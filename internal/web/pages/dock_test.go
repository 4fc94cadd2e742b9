package pages_test

import (
	"context"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// dock is a shop with a load of two stops, and a lane: of mark A one bundle is cut, of B one waits.
func dock(t *testing.T) (*browser, *floor.Floor, tags.Number) {
	b, f := open(t)
	ctx := context.Background()
	_, err := f.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014", Name: "Harbor <Garage> (invented)"})
	require.NoError(t, err)
	take(t, f,
		barlist.Line{Mark: "A", Length: 10 * bar.Foot, Pieces: 20, Route: []string{"cut"}},
		barlist.Line{Mark: "<B>", Length: 20 * bar.Foot, Pieces: 20, Route: []string{"cut"}},
	)
	planned, _, err := f.PlanLoad(ctx, floor.Origin{}, load.Plan{Date: "2026-11-30", Truck: "T-7", Limit: 1000 * bar.Pound, Stops: []load.StopPlan{
		{Stop: load.Stop{Job: "26-014"}, Lines: []load.Line{{List: "1", Mark: "A"}}},
		{Stop: load.Stop{Job: "26-014"}, Lines: []load.Line{{List: "1", Mark: "<B>"}}},
	}})
	require.NoError(t, err)
	cut(t, f, "1-001-00000001-31")
	return b, f, planned.Set.Load
}

// cut says that all pieces of a bundle are cut.
func cut(t *testing.T, f *floor.Floor, bundle string) {
	n, err := tags.ParseNumber(bundle)
	require.NoError(t, err)
	r, _, err := f.Scan(context.Background(), floor.Origin{}, scan.Scan{Station: "S1", Device: "gun", At: time.Now().UnixMilli(), Read: tags.Scan{Number: n, Text: n.Digits()}, Pieces: 20})
	require.NoError(t, err)
	require.NotEqual(t, event.Refused, r.Answer.Verdict)
}

// TestLoadingATruck: without script a load is opened, what is missing is found by its place, a refusal leaves the
// load in view, and the load leaves in two steps only.
func TestLoadingATruck(t *testing.T) {
	b, f, n := dock(t)
	const first, second = "1-001-00000001-31", "1-001-00000002-28"
	require.Equal(t, 200, b.get("/at/L1"))
	b.sees("Scan a load", "2 bundles planned", `name="code" value="`+n.String()+`"`)
	require.Equal(t, 200, b.scan("L1", n.String()))
	b.sees("Accepted", "Still missing of this load", "2 bundles, 626 <span", "Still free", "1,000 <span", "S1 / 1", "—", "to cut", "Longest piece", "20′-0″",
		"Harbor &lt;Garage&gt; (invented)", "0 / 1", "Securement")
	// 20 of 10 ft and 20 of 20 ft at 1.043 lb/ft: 208.6 and 417.2 lb.
	require.Equal(t, 200, b.scan("L1", second))
	b.sees("Refused", "is not cut yet", "Still missing of this load", "2 bundles, 626 <span")
	require.Equal(t, 200, b.scan("L1", first))
	b.sees("Check", "1 bundle of later stops is not on yet", "1 bundle, 417 <span", "209 <span", "791 <span")

	// Nothing on the page itself lets the load leave; the question does, with what stays here.
	require.NotContains(t, b.page, `value="ship"`)
	b.sees(`href="/at/L1?leave=1"`)
	require.Equal(t, 200, b.get("/at/L1?leave=1"))
	b.sees("Does this load leave?", "This stays here", "&lt;B&gt; 1/1", `name="do" value="ship"`, "Not yet")
	require.Equal(t, 200, b.scan("L1", n.String(), "do", "ship"))
	b.sees("Accepted", n.String())
	require.NotContains(t, b.page, "Still free")
	require.Equal(t, 200, b.get("/loads/left"))
	b.sees(n.String(), "209 <span", "0 / 2")
	require.Equal(t, 200, b.get("/loads/"+n.String()))
	b.sees("What went, and what is there now", "It was handed over")
	b.lang = "es"
	require.Equal(t, 200, b.get("/at/L1"))
	b.sees("Listo")
	_ = f
}

// TestAHeldBundleAtTheDock: what is held says so in its row, and the question before the load leaves.
func TestAHeldBundleAtTheDock(t *testing.T) {
	b, f, n := dock(t)
	bundle, err := tags.ParseNumber("1-001-00000001-31")
	require.NoError(t, err)
	_, err = f.Hold(context.Background(), floor.Origin{}, event.HoldPut{Target: event.Target{Number: bundle}, Reason: "rib height"})
	require.NoError(t, err)
	b.lang = "es"
	require.Equal(t, 200, b.get("/at/L1"))
	require.Equal(t, 200, b.scan("L1", n.String()))
	b.sees("Falta de esta carga", "retenido", "rib height", "Queda libre")
	require.Equal(t, 200, b.scan("L1", bundle.String()))
	b.sees("Alto: no aceptado", "Falta de esta carga")
	require.Equal(t, 200, b.get("/loads"))
	b.sees("Atados retenidos: 1")
	require.Equal(t, 200, b.get("/loads/"+n.String()))
	b.sees("rib height")
}

// TestStaging: the loads by the time at which they leave, the last stop first, with what is to be fetched.
func TestStaging(t *testing.T) {
	b, f, n := dock(t)
	cut(t, f, "1-001-00000002-28")
	_, err := f.MakePlace(context.Background(), floor.Origin{}, "Lane 3")
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/at/G1"))
	b.sees(n.String(), "0 / 1", "S1 / 1", "&lt;B&gt; 1/1")
	last, first := regexp.MustCompile(`Stop 2`).FindStringIndex(b.page), regexp.MustCompile(`Stop 1`).FindStringIndex(b.page)
	require.Less(t, last[0], first[0], "what comes off last goes on first")
	require.Equal(t, 200, b.scan("G1", "5-001-00000001-68"))
	b.sees("Lane that is open", "Lane 3")
	require.Equal(t, 200, b.scan("G1", "1-001-00000002-28"))
	b.sees("Accepted", "lies ready for load", "1 / 1", "Lies in Lane 3")
}

// TestReceivingAtAStation: a mill's tag of steel that nobody expected fills the form with what it says, what is
// missing stands first, and the lot and its cert are taken in.
func TestReceivingAtAStation(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/at/R1"))
	b.sees("Nothing is expected", "No more of it comes", `href="/at/R1?new=1"`)
	const tag = "[)>\x1e06\x1dVMesa Steel (invented)\x1d1T0041E5\x1dQ40\x1dSB17\x1e\x04"
	require.Equal(t, 200, b.scan("R1", tag))
	b.sees("Refused", `name="heats" value="0041E5"`, `value="40"`, `name="mill_bundles" value="B17"`, "from the tag", "heat and size first")
	lot := []string{"key", b.key(), "mill", "Mesa Steel (invented)", "heats", "0041E5", "mill_bundles", "B17", "bars", "40", "spec", "A615", "grade", "60", "length", "60'", "type", "MTR"}
	require.Equal(t, 200, b.postFile("/at/R1/receive", "cert.pdf", "%PDF-1.4 an invented cert", lot...))
	b.sees("Refused", "size", `name="heats" value="0041E5"`)
	lot[1] = b.key()
	require.Equal(t, 200, b.postFile("/at/R1/receive", "cert.pdf", "%PDF-1.4 an invented cert", append(lot, "size", "#5")...))
	b.sees("Accepted", "2-001-00000001-16", "/api/v1/stock/2-001-00000001-16/tag.pdf", "Print its tag")
	require.Equal(t, 200, b.get("/at/R1"))
	require.Equal(t, 200, b.scan("R1", "B17"))
	b.sees("Accepted", "It lies at", "not known")

	// The same heat once more: its cert is on file.
	require.Equal(t, 200, b.get("/at/R1?new=1"))
	b.sees(`name="place"`, "may come later")
	require.Equal(t, 200, b.postFile("/at/R1/receive", "", "", "key", b.key(), "mill", "Mesa Steel (invented)", "heats", "0041E5", "size", "#5", "length", "60'"))
	b.sees("Refused", "bars", "on file")
	require.Equal(t, 200, b.postFile("/at/R1/receive", "cert.txt", "no cert at all", "key", b.key(), "mill", "M", "heats", "1", "size", "#5", "spec", "A615", "grade", "60", "length", "60'", "bars", "3"))
	b.sees("Refused", "is no PDF, JPEG or PNG")
	b.lang = "es"
	require.Equal(t, 200, b.get("/at/R1?new=1"))
	b.sees("Recibir", "Colada", "Puede venir después")
}

// TestTheYard: a place that is scanned is open, large; what is scanned lies there; a question records nothing.
func TestTheYard(t *testing.T) {
	b, f, _ := dock(t)
	ctx := context.Background()
	_, err := f.MakePlace(ctx, floor.Origin{}, "Y-12")
	require.NoError(t, err)
	r, err := f.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"0041E5"}, Steel: number5, Length: 60 * bar.Foot, Bars: 20})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)
	require.Equal(t, 200, b.get("/at/Y1"))
	b.sees("Put down at", "no place is open", "Scan a place to put things down there")
	require.Equal(t, 200, b.scan("Y1", "1-001-00000001-31"))
	b.sees("It lies at", "S1 / 1", "A 1/1")
	require.Equal(t, 200, b.scan("Y1", "5-001-00000001-68"))
	b.sees("Accepted", "Y-12", "it lies there from now on", "Where is it?")
	require.Equal(t, 200, b.scan("Y1", lot.Lot.String()))
	b.sees("Accepted", "It lies at", "Y-12", "0041E5", "Bars that lie there")
	require.Equal(t, 200, b.scan("Y1", "1-001-00000001-31", "do", "show"))
	b.sees("It lies at", "S1 / 1") // asked only, it was not put down

	// Counting, from what was found.
	require.Equal(t, 200, b.scan("Y1", lot.Lot.String(), "do", "count", "pieces", "18"))
	b.sees("Check", "18 counted", "18 bars")
	b.lang = "es"
	require.Equal(t, 200, b.scan("Y1", lot.Lot.String(), "do", "show"))
	b.sees("Está en", "¿Dónde está?")
}
