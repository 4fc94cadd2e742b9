package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/google/uuid"

	"tagd/api"
)

// day is the invented shop's two days, driven through the API.
type day struct {
	ctx context.Context
	c   *api.Client
	// scans takes a scan to the server: as a program does, or typed into the page of its station.
	scans   func(context.Context, api.Scan) (api.ScanAnswer, error)
	out     string
	tell    io.Writer
	tick    func(time.Time) time.Time // what the devices' clocks show at the next deed, after the last
	now     time.Time                 // by the devices' clocks
	numbers map[string]string         // what is called how in the story: a lot, a mark "26-014/F501", a load
	err     error                     // the first one; the day ends there
}

// newDay begins yesterday, so that the second day ends today, in an empty shop that is served at url.
func newDay(ctx context.Context, url, out string, tell io.Writer) *day {
	c := &api.Client{Base: url}
	return &day{
		ctx: ctx, c: c, scans: c.Scan, out: out, tell: tell, tick: func(t time.Time) time.Time { return t.Add(4 * time.Minute) },
		now: time.Now().Add(-17 * time.Hour).Truncate(time.Minute), numbers: map[string]string{},
	}
}

func (d *day) say(format string, args ...any) { fmt.Fprintf(d.tell, format+"\n", args...) }

// part begins a part of the story.
func (d *day) part(format string, args ...any) { d.say("\n"+format, args...) }

// by is who asks: a device, at the devices' time, under a key of its own.
func (d *day) by(device string) api.By {
	d.now = d.tick(d.now)
	return api.By{Device: device, At: d.now, Key: uuid.Must(uuid.NewV7()).String()}
}

// must keeps the first error of the day.
func (d *day) must(err error) bool {
	if d.err == nil && err != nil {
		d.err = err
	}
	return d.err == nil
}

// scan scans at a station and prints the answer. The verdict must be the one that the story needs.
func (d *day) scan(station, what, want string, more ...func(*api.Scan)) api.ScanAnswer {
	code, ok := d.numbers[what]
	if !ok {
		code = what
	}
	s := api.Scan{Code: code, Station: station, By: d.by("demo-" + station)}
	for _, m := range more {
		m(&s)
	}
	if d.err != nil {
		return api.ScanAnswer{}
	}
	a, err := d.scans(d.ctx, s)
	if !d.must(err) {
		return a
	}
	d.answer(station, a)
	if a.Verdict != want {
		d.must(fmt.Errorf("the scan of %s at %s was answered %q, the story needs %q", what, station, a.Verdict, want))
	}
	return a
}

func (d *day) answer(station string, a api.ScanAnswer) {
	for i, line := range answerLines(a) {
		if i > 0 {
			station = ""
		}
		d.say("  %-3s %s", station, line)
	}
}

func (d *day) run() error {
	steps := []func(){
		d.open, d.receive, d.takeLists, d.printTags,
		d.threeMarks, d.remnantAgain, d.twoHeats, d.oneHeatOnly, d.countDifference,
		d.bend, d.trucks, d.hold, d.recall,
		d.morning, d.paper, d.coil, d.shifts, d.spoilt, d.whole, d.forgotten, d.revise, d.offline, d.counting, d.tomorrow, d.evening,
	}
	for _, s := range steps {
		if s(); d.err != nil {
			return d.err
		}
	}
	return nil
}

// open makes the jobs, the people and the places.
func (d *day) open() {
	d.part("The shop (invented). Two jobs:")
	for _, j := range []struct {
		job string
		api.JobRules
	}{
		{bridge, api.JobRules{Name: "Alder Creek Bridge (invented)", Customer: "Kestrel Constructors (invented)", PO: "KC-7781", Agency: "BR-0417", Heats: "single", Certs: "on file",
			ShipTo: []string{"Alder Creek Bridge, east abutment", "Mile 12, Old Ferry Road", "Alder Creek (invented)"}}},
		{garage, api.JobRules{Name: "Foundry Street Garage (invented)", Customer: "Brightwater Builders (invented)", PO: "BB-2210", Heats: "load",
			ShipTo: []string{"Foundry Street Garage, gate 2", "400 Foundry Street", "Port Marrow (invented)"}}},
	} {
		if _, err := d.c.SetJob(d.ctx, j.job, api.SetJob{JobRules: j.JobRules, By: d.by("office")}); !d.must(err) {
			return
		}
		d.say("  %s %s: heats %s, certs %s", j.job, j.Name, j.Heats, or(j.Certs, "not asked for"))
	}
	for _, name := range []string{"A-01", "A-02", "A-03", "A-04", "B-01", "B-02", "B-03", "B-04", "R-01"} {
		p, err := d.c.Place(d.ctx, api.MakePlace{Name: name, By: d.by("office")})
		if !d.must(err) {
			return
		}
		d.numbers[name] = p.Place.Number
	}
	for _, name := range []string{"Ana Ruiz (invented)", "Tom Okafor (invented)"} {
		p, err := d.c.Person(d.ctx, api.MakePerson{Name: name, By: d.by("office")})
		if !d.must(err) {
			return
		}
		d.numbers[name] = p.Person.Number
	}
}

func or(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// receive takes the stock in, with the certs that came along.
func (d *day) receive() {
	d.part("Stock comes in by heat, and the certs that came with it are put on file:")
	for _, b := range stockBought {
		r, err := d.c.Receive(d.ctx, api.Receive{
			Mill: b.mill, Heats: []string{b.heat}, Size: b.size, Spec: b.spec, Grade: "60", Length: b.length, Bars: b.bars,
			Place: b.place, MillBundles: []api.MillBundle{{Number: b.tied, Bars: b.bars}}, Melted: "US", Rolled: "US", By: d.by("receiving"),
		})
		if !d.must(err) {
			return
		}
		lot := r.Lots[0]
		d.numbers[b.name] = lot.Number
		cert := "no cert yet"
		if b.cert {
			d.fileCert(b)
			cert = "cert on file"
		}
		d.say("  %s  %-8s heat %-8s %3d bars of %-7s %9s at %s, %s", lot.Number, b.size+" "+b.spec, b.heat, lot.Received, lot.Length, lot.Weight, b.place, cert)
	}
}

func (d *day) fileCert(b bought) {
	_, err := d.c.FileCert(d.ctx, api.FileCert{
		Mill: b.mill, Heat: b.heat, Sizes: []string{b.size}, Spec: b.spec, Type: "MTR", Text: "MTR-" + b.heat, Melted: "US", Rolled: "US", By: d.by("office"),
	}, b.heat+".pdf", invented("INVENTED MILL TEST REPORT - NOT A REAL CERTIFICATE", "Heat "+b.heat+"  Size "+b.size+"  Spec "+b.spec))
	d.must(err)
}

// takeLists reads the two bar lists.
func (d *day) takeLists() {
	d.part("The bar lists are read, each line parted into bundles:")
	files, err := demoLists.ReadDir("demo")
	if !d.must(err) {
		return
	}
	for _, f := range files {
		if f.IsDir() {
			continue // of the second day
		}
		data, err := demoLists.ReadFile("demo/" + f.Name())
		if !d.must(err) {
			return
		}
		t, err := d.c.TakeList(d.ctx, f.Name(), data, api.ListOptions{By: d.by("office")})
		if !d.must(err) {
			return
		}
		d.say("  %s: %d lines, %d bundles", f.Name(), len(t.Lines), t.Bundles)
		for _, l := range t.Lines {
			for i, n := range l.Bundles {
				d.numbers[fmt.Sprintf("%s/%d", l.Mark, i+1)] = n
			}
			if len(l.Bundles) > 0 {
				d.numbers[l.Mark] = l.Bundles[0]
			}
		}
	}
	again, err := d.c.TakeList(d.ctx, "again.csv", first(demoLists.ReadFile("demo/26-014-list-3.csv")), api.ListOptions{By: d.by("office")})
	if d.must(err) {
		d.say("  the first one once more: %d bundles made, nothing changed: %v", again.Bundles, again.Existing)
	}
}

func first(b []byte, _ error) []byte { return b }

// printTags prints all bundle tags as one PDF, and a few of each kind as pictures.
func (d *day) printTags() {
	d.part("Tags are printed, each symbol read back before it is given out:")
	for _, job := range []string{bridge, garage} {
		pdf, err := d.c.PrintTags(d.ctx, api.PrintTags{Job: job, By: d.by("office")})
		if !d.must(err) {
			return
		}
		d.write(filepath.Join("tags", job+".pdf"), pdf)
	}
	for _, what := range []string{"F501", "F503", "T401", "C802", "S401", "the #5 bridge lot", "A-01", "Ana Ruiz (invented)"} {
		d.picture(what)
	}
}

func (d *day) picture(what string) {
	n := d.numbers[what]
	for _, format := range []string{"png", "pdf"} {
		b, err := d.c.Tag(d.ctx, n, format, 0, "")
		if !d.must(err) {
			return
		}
		d.write(filepath.Join("tags", n+"."+format), b)
	}
}

func (d *day) write(name string, b []byte) {
	if d.err != nil {
		return
	}
	if d.must(os.WriteFile(filepath.Join(d.out, name), b, 0o644)) {
		d.say("  wrote %s (%d kB)", name, (len(b)+1023)/1024)
	}
}

// threeMarks is a run in which one bar holds three marks.
func (d *day) threeMarks() {
	d.part("Shear 1 cuts three marks of one steel in one run; a bar of 60' holds one piece of each:")
	d.scan("S1", "the #5 bridge lot", "accepted")
	d.scan("S1", "F501", "accepted")
	d.scan("S1", "F502", "accepted")
	a := d.scan("S1", "F503", "accepted")
	d.card(a)
	d.scan("S1", "F503", "accepted")
	d.scan("S1", "F501", "accepted")
	d.scan("S1", "F501", "accepted")
	d.scan("S1", "F502", "accepted")
	d.scan("S1", "F502", "accepted")
}

// card prints what the operator sees of a cut.
func (d *day) card(a api.ScanAnswer) {
	if d.err != nil || a.Card == nil {
		return
	}
	for _, p := range a.Card.Plan {
		var cuts []string
		for _, c := range p.Cuts {
			cuts = append(cuts, fmt.Sprintf("%d x %s", c.Pieces, c.Mark))
		}
		keep := "scrap"
		if p.Keep {
			keep = "keep"
		}
		d.say("        card: %2d bars of %s: %s, left %s (%s)", p.Bars, p.Length, strings.Join(cuts, " + "), p.Left, keep)
	}
	for _, b := range a.Card.Bring {
		where := or(b.Place, "?")
		if b.Feed != "" {
			where = "on feed " + b.Feed
		}
		d.say("        bring: %d bars, heat %s, %s", b.Bars, heatNumbers(b.Heats), where)
	}
}

// remnantAgain cuts a mark that leaves remnants, and cuts one of them again.
func (d *day) remnantAgain() {
	d.part("A run leaves remnants worth keeping; one of them is cut again:")
	d.scan("S1", "F504", "accepted")
	d.scan("S1", "F504", "accepted")
	d.scan("S1", "the #5 bridge lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
	stock, err := d.c.Stock(d.ctx, api.StockFilter{OnHand: true}, "", 100)
	if !d.must(err) {
		return
	}
	longest := 0.0
	for _, lot := range stock.Stock {
		if lot.Remnant && lot.LengthMM > longest { // there are none yet but of this run
			longest, d.numbers["the longest remnant"] = lot.LengthMM, lot.Number
		}
	}
	d.picture("the longest remnant")
	d.scan("S1", "the longest remnant", "accepted")
	d.card(d.scan("S1", "F505", "accepted"))
	d.scan("S1", "F505", "accepted")
	d.scan("S1", "the longest remnant", "accepted", func(s *api.Scan) { s.Do = "empty" })
}

// twoHeats cuts from a feed on which two heats lie.
func (d *day) twoHeats() {
	d.part("A second heat goes onto feed B before the first is used up: what is cut from there is of one of the two:")
	onB := func(s *api.Scan) { s.Feed = "B" }
	d.scan("S1", "the first #4 garage lot", "accepted", onB)
	d.scan("S1", "S401", "accepted")
	d.scan("S1", "the second #4 garage lot", "accepted", onB)
	d.scan("S1", "S401", "accepted")
	d.scan("S1", "S402", "accepted")
	d.scan("S1", "S402", "check", func(s *api.Scan) { s.Pieces = 76 })
	d.scan("S1", "S404", "accepted")
	d.scan("S1", "S404", "accepted")
	d.part("The first of them is used up: the feed is emptied, the second put back alone, and the next bundle is certain:")
	d.scan("S1", "", "accepted", onB, func(s *api.Scan) { s.Do = "empty" })
	d.scan("S1", "the second #4 garage lot", "accepted", onB)
	d.scan("S1", "S403", "accepted")
	d.scan("S1", "S403", "accepted")
	d.scan("S1", "", "accepted", onB, func(s *api.Scan) { s.Do = "empty" })
}

// oneHeatOnly meets the rule of the bridge.
func (d *day) oneHeatOnly() {
	d.part("The bridge wants one heat in a bundle; two lie on the feed:")
	d.scan("S1", "the #6 bridge lot", "accepted")
	d.scan("S1", "the second #6 lot", "accepted")
	d.scan("S1", "P601", "refused")
	d.scan("S1", "the second #6 lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
	d.scan("S1", "P601", "accepted")
	d.scan("S1", "P601", "accepted")
	d.scan("S1", "the #6 bridge lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
	d.part("The other #6 lot has no cert yet; cutting does not wait for it, loadout will:")
	d.scan("S1", "the second #6 lot", "accepted")
	d.scan("S1", "P602", "accepted")
	d.scan("S1", "P602", "accepted")
	d.scan("S1", "the second #6 lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
}

// countDifference draws more bars than a lot has.
func (d *day) countDifference() {
	d.part("A lot gives more bars than were counted when it came in:")
	d.scan("S1", "the #8 bridge lot", "accepted")
	d.scan("S1", "C801", "accepted")
	d.scan("S1", "C801", "check")
	d.scan("S1", "the #8 bridge lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
	d.part("A trigger pulled twice counts once, a digit mistyped is refused, and what is cut is not cut again:")
	d.scan("S1", "the #4 bridge lot", "accepted")
	d.scan("S1", "T401", "accepted")
	if d.err == nil {
		again, err := d.scans(d.ctx, api.Scan{Code: d.numbers["T401"], Station: "S1", By: api.By{Device: "demo-S1", At: d.now.Add(time.Second), Key: uuid.Must(uuid.NewV7()).String()}})
		if d.must(err) {
			d.answer("S1", again)
		}
	}
	d.scan("S1", "T401", "accepted")
	d.scan("S1", "T401", "refused")
	d.scan("S1", swapped(d.numbers["T401"]), "refused")
	d.scan("S1", "", "accepted", func(s *api.Scan) { s.Do = "empty" })
}

// swapped is a number with two digits of its serial changed over.
func swapped(n string) string {
	b := []byte(n)
	for i := len(b) - 4; i > 6; i-- {
		if b[i] != b[i-1] {
			b[i], b[i-1] = b[i-1], b[i]
			return string(b)
		}
	}
	return n
}

// bend bends what is cut.
func (d *day) bend() {
	d.part("Bender 1:")
	d.scan("B1", "F501", "refused") // straight
	d.scan("B1", "P603", "refused") // not cut
	for _, m := range []string{"F503", "F505", "P602", "T401", "S403"} {
		d.scan("B1", m, "accepted")
		d.scan("B1", m, "accepted")
	}
	d.part("The yard: what is put down is found again:")
	d.scan("Y1", "R-01", "accepted")
	d.scan("Y1", "P601", "accepted")
	d.scan("Y1", "the longest remnant", "accepted")
}

// trucks plans two loads, fills them and lets the first leave.
func (d *day) trucks() {
	d.part("Two trucks are planned:")
	for _, t := range []struct{ name, job, truck string }{{"the bridge truck", bridge, "T-14"}, {"the garage truck", garage, "T-09"}} {
		l, err := d.c.PlanLoad(d.ctx, api.PlanLoad{Date: d.now.Format(time.DateOnly), Truck: t.truck, Limit: "44,000 lb", Stops: []api.PlanStop{{Stop: api.Stop{Job: t.job}}}, By: d.by("office")})
		if !d.must(err) {
			return
		}
		d.numbers[t.name] = l.Load.Number
		d.say("  load %s: truck %s for %s", l.Load.Number, t.truck, t.job)
	}
	d.picture("the bridge truck")
	d.scan("L1", "F501", "refused")
	d.scan("L1", "the bridge truck", "accepted")
	d.scan("L1", "F501", "accepted")
	d.scan("L1", "F503", "accepted")
	d.scan("L1", "P601", "accepted")
	d.part("A bundle of the garage comes to the bridge's truck; one is not bent yet; the cert of another is missing, and comes:")
	d.scan("L1", "S401", "refused")
	d.scan("L1", "C802", "refused")
	d.scan("L1", "P602", "refused")
	if d.err == nil {
		d.fileCert(stockBought[2])
		d.say("  the cert of heat %s is put on file", stockBought[2].heat)
	}
	d.scan("L1", "P602", "accepted")
	d.scan("L1", "T401", "accepted")
	d.scan("L1", "F501", "refused")
	d.scan("L1", "the bridge truck", "accepted", func(s *api.Scan) { s.Do = "ship" })
	d.scan("L1", "the garage truck", "accepted")
	d.scan("L1", "S401", "accepted")
	d.scan("L1", "S403", "accepted")
	d.papers("the bridge truck")
	d.papers("the garage truck")
}

// papers writes the load's sheet.
func (d *day) papers(load string) {
	if d.err != nil {
		return
	}
	pdf, err := d.c.LoadSheet(d.ctx, d.numbers[load], "")
	if d.must(err) {
		d.write("load-"+d.numbers[load]+".pdf", pdf)
	}
}

// hold stops a heat of which a part has left.
func (d *day) hold() {
	held := stockBought[0]
	d.part("Northfork calls: heat %s is in doubt. Quality holds it:", held.heat)
	h, err := d.c.Hold(d.ctx, api.PutHold{Target: api.Target{Mill: held.mill, Heat: held.heat}, Reason: "mill recalls the heat", By: d.by("quality")})
	if !d.must(err) {
		return
	}
	d.say("  held: %d lots with %d bars on hand, %d bundles in the shop. The hold does not reach %d bundles (%s) that have left.",
		h.Lots, h.Bars, h.Inside.Bundles, h.Shipped.Bundles, h.Shipped.Weight)
	d.part("From now on it stops at every start and every load:")
	next, err := d.c.PlanLoad(d.ctx, api.PlanLoad{Date: d.now.AddDate(0, 0, 1).Format(time.DateOnly), Truck: "T-14", Limit: "44,000 lb", Stops: []api.PlanStop{{Stop: api.Stop{Job: bridge}}}, By: d.by("office")})
	if !d.must(err) {
		return
	}
	d.numbers["the next bridge truck"] = next.Load.Number
	d.scan("L1", "the next bridge truck", "accepted")
	d.scan("L1", "F502", "refused")
	d.scan("S1", "the #5 bridge lot", "check")
	d.scan("S1", "C501", "refused")
	d.scan("S1", "the #5 bridge lot", "accepted", func(s *api.Scan) { s.Do = "empty" })
}

// recall answers where the held heat went, and what is in a bundle.
func (d *day) recall() {
	held := stockBought[0]
	t, err := d.c.Trace(d.ctx, held.heat)
	if !d.must(err) {
		return
	}
	d.part("Where did heat %s go? %s", held.heat, strings.Join(t.Found, "; "))
	for _, b := range t.Bundles {
		d.say("  %-9s %s/%s %-6s %3d pcs of %-7s %8s  %-9s %s", b.Mark+" "+b.K, b.Job, b.List, b.Size, b.Pieces, b.Length, b.Weight, b.Certainty, b.Where)
	}
	for _, l := range t.Lots {
		kind := "lot"
		if l.Remnant {
			kind = "remnant"
		}
		d.say("  %-8s %s: %d of %d bars of %s on hand (%s)", kind, l.Number, l.OnHand, l.Received, l.Length, l.Weight)
	}
	d.say("  on loads: %s. Left the shop: %d bundles, %s. Still here: %d bundles, %s; %d bars of stock, %s.", strings.Join(t.Loads, ", "),
		t.Totals.Shipped.Bundles, t.Totals.Shipped.Weight, t.Totals.Inside.Bundles, t.Totals.Inside.Weight, t.Totals.OnHand, t.Totals.Stock)
	mark := "S401"
	b, err := d.c.Bundle(d.ctx, d.numbers[mark])
	if !d.must(err) {
		return
	}
	d.part("Which heats are in %s %s/%d? %s: %s", b.Mark, b.K, b.N, b.Certainty, heatNumbers(b.Heats))
	d.account()
	report, err := d.c.TracePDF(d.ctx, held.heat, "")
	if d.must(err) {
		d.write("trace-"+held.heat+".pdf", report)
	}
	table, err := d.c.TraceCSV(d.ctx, held.heat, "")
	if d.must(err) {
		d.write("trace-"+held.heat+".csv", table)
	}
	open, err := d.c.Open(d.ctx, api.OpenFilter{}, "", 100)
	if !d.must(err) {
		return
	}
	d.part("For a person to look at (%d):", len(open.Open))
	for _, o := range open.Open {
		for _, n := range o.Notes {
			d.say("  %s %s (%s)", or(o.Number, "-"), n.Says, o.Office)
		}
	}
}

// account adds up the held heat's bars: received + difference = on hand + taken, of each lot.
func (d *day) account() {
	lot, err := d.c.Lot(d.ctx, d.numbers["the #8 bridge lot"])
	if d.must(err) {
		d.say("Bars of lot %s: received %d + count difference %d = taken %d + on hand %d.", lot.Number, lot.Received, lot.Over+lot.Counted, lot.Taken, lot.OnHand)
	}
}
