package scan_test

import (
	"cmp"
	"maps"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// past is a shop in maps.
type past struct {
	devices map[string]scan.Device
	floors  map[string]scan.Floor
	bundles map[tags.Number]scan.Bundle
	lines   map[uint64]*scan.Line
	jobs    map[string]event.JobSet
	runs    map[uint64]scan.Run
	loads   map[tags.Number]load.Load
	loaded  map[tags.Number][]tags.Number
	spots   map[tags.Number][]load.Spot
	places  map[tags.Number]string
	people  map[tags.Number]bool
	aliases map[string]tags.Number
	lots    map[tags.Number]heat.Lot
	holds   map[event.Target]string
	certs   map[heat.Key][]heat.Cert
	cuts    map[uint64]event.CutDone
	bodies  map[uint64]event.Body // beside those that the others tell
	parts   map[tags.Number][]tags.Number
	scanned map[uint64]scan.Reading     // by which device (its Station) and when, by sequence
	closed  map[uint64]*event.RunClosed // by run
	fresh   map[tags.Kind]int
	later   map[uint64]uint64           // the line in the place of a line; 0: withdrawn
	inPlace map[tags.Number]tags.Number // of bundles that fell away
	events  map[uint64]event.Event
	answers map[uint64]uint64 // of claims
}

func (p *past) StopOf(l load.Load, b scan.Bundle) int {
	for _, s := range p.spots[l.Number] {
		if s.Bundle == b.Number && b.Planned == l.Number {
			return s.Stop
		}
	}
	return l.Stop(p.lines[b.Line].Job)
}

func (p *past) Claim(seq uint64) (event.Claimed, uint64, bool) {
	c, ok := p.bodies[seq].(event.Claimed)
	return c, p.answers[seq], ok
}

func (p *past) Device(d string) scan.Device              { return p.devices[d] }
func (p *past) Floor(s string) scan.Floor                { return p.floors[s] }
func (p *past) Bundle(n tags.Number) (scan.Bundle, bool) { b, ok := p.bundles[n]; return b, ok }
func (p *past) Line(seq uint64) *scan.Line               { return p.lines[seq] }
func (p *past) Job(j string) (event.JobSet, bool)        { b, ok := p.jobs[j]; return b, ok }
func (p *past) Run(seq uint64) (scan.Run, bool)          { r, ok := p.runs[seq]; return r, ok }
func (p *past) Load(n tags.Number) (load.Load, bool)     { l, ok := p.loads[n]; return l, ok }
func (p *past) Place(n tags.Number) (string, bool)       { s, ok := p.places[n]; return s, ok }
func (p *past) Person(n tags.Number) bool                { return p.people[n] }
func (p *past) Alias(s string) (tags.Number, bool)       { n, ok := p.aliases[s]; return n, ok }
func (p *past) Lot(n tags.Number) (heat.Lot, bool)       { l, ok := p.lots[n]; return l, ok }
func (p *past) Certs(k heat.Key) []heat.Cert             { return p.certs[k] }
func (p *past) Cut(seq uint64) (event.CutDone, bool)     { return scan.CutOf(p.Body(seq)) }
func (p *past) Scanned(seq uint64) (string, int64) {
	r := p.scanned[seq]
	return r.Station, r.At
}
func (p *past) Closing(r scan.Run) event.RunClosed {
	if c := p.closed[r.Seq]; c != nil {
		return *c
	}
	return event.RunClosed{}
}
func (p *past) RunsOf(lot tags.Number) (out []uint64) {
	for seq, r := range p.runs {
		if slices.Contains(r.Lots, lot) {
			out = append(out, seq)
		}
	}
	slices.Sort(out)
	return out
}

func (p *past) CoilClosing(r scan.Run) event.CoilClosed {
	c, _ := p.bodies[r.By].(event.CoilCut)
	return c.Closed
}
func (p *past) Parts(n tags.Number) []tags.Number { return p.parts[n] }

// Body is what happened at a sequence: those below 10,000 are starts, as run gives them.
func (p *past) Body(seq uint64) event.Body {
	if b, ok := p.bodies[seq]; ok {
		return b
	}
	if c, ok := p.cuts[seq]; ok {
		return c
	}
	if seq < 10_000 {
		return event.RunOpened{}
	}
	return event.StepStarted{}
}

func (p *past) Rests(of scan.Bundle) int {
	rests := of.Rest
	for _, b := range p.bundles {
		if b.Line == of.Line && b.K == of.K {
			rests = max(rests, b.Rest)
		}
	}
	return rests
}

func (p *past) Event(seq uint64) event.Event { return p.events[seq] }
func (p *past) When(seq uint64) int64        { return int64(seq) * 60_000 }
func (p *past) Hold(t event.Target) (h heat.Hold, ok bool) {
	s, ok := p.holds[t]
	return heat.Hold{Target: t, Reason: s}, ok
}

func (p *past) Loaded(n tags.Number, f func(tags.Number) bool) {
	for _, b := range p.loaded[n] {
		if !f(b) {
			return
		}
	}
}

func (p *past) LotsOf(s bar.Steel, f func(heat.Lot) bool) {
	free := slices.DeleteFunc(slices.Collect(maps.Values(p.lots)), func(l heat.Lot) bool {
		return !l.Any() || l.Feed != "" || l.Gone || !s.Matches(l.Steel)
	})
	slices.SortFunc(free, func(a, b heat.Lot) int { return cmp.Or(cmp.Compare(a.At, b.At), cmp.Compare(a.Number, b.Number)) })
	for _, l := range free {
		if !f(l) {
			return
		}
	}
}

func (p *past) HeatLots(mill, name string) (out []heat.Lot) {
	for _, l := range p.lots {
		if (mill == "" || l.Mill == mill) && slices.Contains(l.Heats, name) {
			out = append(out, l)
		}
	}
	return out
}

func (p *past) Fresh(k tags.Kind) tags.Number {
	p.fresh[k]++
	return number(k, 900+p.fresh[k])
}

func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func bundle(serial int) tags.Number { return number(tags.Bundle, serial) }
func stock(serial int) tags.Number  { return number(tags.Stock, serial) }

var (
	five   = bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	eight  = bar.Steel{Size: "#8", Spec: "A615", Grade: "60"}
	dual   = bar.Steel{Size: "#5", Spec: "A615/A706", Grade: "60"}
	low    = bar.Steel{Size: "#5", Spec: "A706", Grade: "60"}
	truck  = number(tags.Load, 1)
	truck2 = number(tags.Load, 2)
	bay    = number(tags.Place, 1)
	badge  = number(tags.Person, 1)
)

func rules() scan.Rules {
	return scan.Rules{
		Plant: 1, Name: "Example Plant", Zone: time.UTC, Units: bar.Imperial, Pause: 3 * time.Second, Repeat: time.Minute, Least: 20 * time.Second,
		Keep: map[bar.Size]bar.Length{"": 4 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot},
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A", "B"}, Pockets: []string{"1", "2"}},
			{Name: "S2", Title: "Shear 2", Does: []scan.Work{"cut"}, Feeds: []string{"A"}},
			{Name: "S3", Title: "Shear 3", Does: []scan.Work{"cut"}, Feeds: []string{"A"}, Single: true},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "B2", Title: "Bender 2", Does: []scan.Work{"bend"}},
			{Name: "B3", Title: "Bender 3", Does: []scan.Work{"bend"}, Single: true},
			{Name: "C1", Title: "Stirrup machine", Does: []scan.Work{"cut and bend"}, Feeds: []string{"A"}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard, scan.Receiving}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
			{Name: "Y2", Title: "Back yard", Does: []scan.Work{scan.Yard}},
			{Name: "G1", Title: "Staging", Does: []scan.Work{scan.Staging}},
			{Name: "L2", Title: "Loadout with lanes", Does: []scan.Work{scan.Loadout, scan.Staging}},
			{Name: "G2", Title: "Yard with lanes", Does: []scan.Work{scan.Staging, scan.Yard}},
		},
	}
}

// shop is a made shop. Lines: 1 is mark M1 of job J, #5, 10' cut and bent; 2 is M2 of J, #5, 20' cut; 3
// is M3 of job K, #8, 10' cut; 4 is M4 of J, full stock lengths, no steps; 5 is M5 of job K, #5 10'
// cut. Bundles 10 n + 1, 2 of 12 pieces are of line n, none is begun. Lots: 1 and 2 are #5 of 60' and
// heats H1 and H2 of Example Mill, 3 is #8, 4 is #5 of unknown heat, 5 is #5 marked A615/A706, all of
// 50 bars melted and rolled in US; lot 1 lies on feed A of S1. Load 1 is for J, with a limit.
func shop() *past {
	p := &past{
		devices: map[string]scan.Device{}, floors: map[string]scan.Floor{}, bundles: map[tags.Number]scan.Bundle{},
		lines: map[uint64]*scan.Line{}, runs: map[uint64]scan.Run{}, loaded: map[tags.Number][]tags.Number{}, spots: map[tags.Number][]load.Spot{},
		jobs:    map[string]event.JobSet{"J": {Job: "J"}, "K": {Job: "K"}},
		loads:   map[tags.Number]load.Load{truck: {Number: truck, Limit: 40_000 * bar.Pound, Stops: []load.Stop{{Job: "J"}}}},
		places:  map[tags.Number]string{bay: "Bay 4"},
		people:  map[tags.Number]bool{badge: true},
		aliases: map[string]tags.Number{}, lots: map[tags.Number]heat.Lot{}, holds: map[event.Target]string{},
		certs: map[heat.Key][]heat.Cert{}, closed: map[uint64]*event.RunClosed{}, cuts: map[uint64]event.CutDone{}, bodies: map[uint64]event.Body{}, parts: map[tags.Number][]tags.Number{}, scanned: map[uint64]scan.Reading{}, fresh: map[tags.Kind]int{},
		events: map[uint64]event.Event{},
	}
	for i, l := range []event.LineTaken{
		{Job: "J", Mark: "M1", Steel: five, Length: 10 * bar.Foot, Route: []string{"cut", "bend"}},
		{Job: "J", Mark: "M2", Steel: five, Length: 20 * bar.Foot, Route: []string{"cut"}},
		{Job: "K", Mark: "M3", Steel: eight, Length: 10 * bar.Foot, Route: []string{"cut"}},
		{Job: "J", Mark: "M4", Steel: five, Length: 60 * bar.Foot},
		{Job: "K", Mark: "M5", Steel: five, Length: 10 * bar.Foot, Route: []string{"cut"}},
	} {
		seq := uint64(i + 1)
		l.List = "1"
		p.lines[seq] = &scan.Line{Seq: seq, LineTaken: l}
		for k := 1; k <= 2; k++ {
			n := bundle(10*(i+1) + k)
			p.bundles[n] = scan.Bundle{Number: n, Line: seq, K: k, N: 2, Pieces: 12, At: 60_000}
		}
	}
	for i, l := range []heat.Lot{
		{Heats: []string{"H1"}, Steel: five}, {Heats: []string{"H2"}, Steel: five}, {Heats: []string{"H3"}, Steel: eight},
		{Steel: five}, {Heats: []string{"H5"}, Steel: dual},
	} {
		l.Number, l.Mill, l.Length, l.Received, l.Melted, l.Rolled, l.At = stock(i+1), "Example Mill", 60*bar.Foot, 50, "US", "US", int64(i)
		p.lots[l.Number] = l
	}
	p.charge("S1", "A", 1)
	return p
}

func (p *past) charge(station, feed string, lots ...int) {
	f := p.floors[station]
	i := slices.IndexFunc(f.Feeds, func(x scan.Feed) bool { return x.Name == feed })
	if i < 0 {
		i, f.Feeds = len(f.Feeds), append(f.Feeds, scan.Feed{Name: feed})
	}
	for _, n := range lots {
		l := p.lots[stock(n)]
		l.Feed = station + "/" + feed
		p.lots[l.Number] = l
		f.Feeds[i].Lots = append(f.Feeds[i].Lots, l.Number)
	}
	p.floors[station] = f
}

func (p *past) empty(station string) {
	for _, n := range p.floors[station].Lots() {
		l := p.lots[n]
		l.Feed = ""
		p.lots[n] = l
	}
	f := p.floors[station]
	f.Feeds = nil
	p.floors[station] = f
}

// lies puts a bundle into a pocket of a station.
func (p *past) lies(station, pocket string, n tags.Number) {
	p.change(n, func(b *scan.Bundle) { b.Station, b.Pocket = station, pocket })
	f := p.floors[station]
	f.Pockets = append(f.Pockets, scan.Lying{Pocket: pocket, Bundle: n})
	p.floors[station] = f
}

func (p *past) change(n tags.Number, change func(*scan.Bundle)) {
	b := p.bundles[n]
	change(&b)
	p.bundles[n] = b
}

func (p *past) lot(n int, change func(*heat.Lot)) {
	l := p.lots[stock(n)]
	change(&l)
	p.lots[l.Number] = l
}

func (p *past) hold(t event.Target) { p.holds[t] = "rib height" }

func (p *past) job(j event.JobSet) { p.jobs[j.Job] = j }

// run opens a run at a station with bundles, drawing from lots; the first bundle's card is shown.
func (p *past) run(station string, lots []int, bundles ...tags.Number) uint64 {
	seq := uint64(100 + len(p.runs))
	r := scan.Run{Seq: seq, Station: station, At: 60_000}
	for _, n := range lots {
		r.Lots = append(r.Lots, stock(n))
	}
	for i, n := range bundles {
		p.change(n, func(b *scan.Bundle) {
			l := p.lines[b.Line]
			r.Steel = l.Steel
			r.Members = append(r.Members, scan.Member{Bundle: n, Length: l.Length, Pieces: b.Pieces})
			b.Started, b.Station, b.Runs = true, station, []uint64{seq}
			b.Progress = append(b.Progress, seq+uint64(1000*i))
		})
	}
	p.runs[seq] = r
	f := p.floors[station]
	f.Run, f.Card = seq, bundles[0]
	p.floors[station] = f
	return seq
}

// done makes bundles cut, in a closed run that drew from lots.
func (p *past) done(station string, lots []int, bundles ...tags.Number) uint64 {
	f := p.floors[station]
	seq := p.run(station, lots, bundles...)
	r := p.runs[seq]
	p.closed[seq] = &event.RunClosed{Steel: r.Steel}
	for i := range r.Members {
		r.Members[i].Done = true
		r.By = 10_000 + seq + uint64(i)
		p.cuts[r.By] = event.CutDone{Run: seq, Bundle: r.Members[i].Bundle, Pieces: r.Members[i].Pieces, Asked: r.Members[i].Pieces}
		p.change(r.Members[i].Bundle, func(b *scan.Bundle) {
			b.Started, b.Done = false, 1
			b.Progress = append(b.Progress, r.By)
		})
	}
	p.runs[seq] = r
	p.floors[station] = f
	return seq
}

// assigned makes a bundle that of bars of lots.
func (p *past) assigned(n tags.Number, lots ...int) {
	seq := uint64(500 + len(p.runs))
	b := p.bundles[n]
	l := p.lines[b.Line]
	p.runs[seq] = scan.Run{Seq: seq, Steel: l.Steel, Lots: nums(lots), By: seq, At: 60_000,
		Members: []scan.Member{{Bundle: n, Length: l.Length, Pieces: b.Pieces, Done: true}}}
	p.bodies[seq] = event.BundleAssigned{Bundle: n, Closed: event.RunClosed{Lots: nums(lots)}}
	p.change(n, func(b *scan.Bundle) { b.Runs, b.Progress = []uint64{seq}, append(b.Progress, seq) })
}

// ready makes a bundle of line 2 ready to load, cut from lot 1.
func (p *past) ready(n tags.Number) { p.done("S1", []int{1}, n) }

func (p *past) onto(ld tags.Number, n tags.Number, shipped bool) {
	p.change(n, func(b *scan.Bundle) {
		b.Load, b.Shipped = ld, shipped
		l := p.lines[b.Line]
		m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces))
		seq := 50_000 + uint64(len(p.bodies))
		p.bodies[seq] = event.Loaded{Load: ld, Bundle: n, Mass: m}
		b.Progress = append(b.Progress, seq)
	})
	l := p.loads[ld]
	l.Count++
	if shipped {
		l.Shipped = 120_000
	}
	p.loads[ld] = l
	p.loaded[ld] = append(p.loaded[ld], n)
}

const now = 1_000_000

// at is a scan of a number at a station by the device "gun".
func at(station string, n tags.Number, more ...func(*scan.Scan)) scan.Scan {
	s := scan.Scan{Station: station, Device: "gun", At: now}
	if n != 0 {
		s.Read = tags.Scan{Number: n, Text: n.Digits()}
	}
	for _, m := range more {
		m(&s)
	}
	return s
}

// typed is a scan of a text as a scanner types it.
func typed(station, text string, more ...func(*scan.Scan)) scan.Scan {
	s := at(station, 0, more...)
	s.Read, s.Wrong = tags.Read(text)
	return s
}

// mill is a scan of a mill's tag that was read as m.
func mill(station string, m tags.MillTag, more ...func(*scan.Scan)) scan.Scan {
	s := at(station, 0, more...)
	s.Read = tags.Scan{Mill: &m, Text: "a mill's code"}
	return s
}

func do(d scan.Do) func(*scan.Scan)         { return func(s *scan.Scan) { s.Do = d } }
func pieces(n int) func(*scan.Scan)         { return func(s *scan.Scan) { s.Pieces = n } }
func onFeed(f string) func(*scan.Scan)      { return func(s *scan.Scan) { s.Feed = f } }
func pocket(p string) func(*scan.Scan)      { return func(s *scan.Scan) { s.Pocket = p } }
func from(lots ...int) func(*scan.Scan)     { return func(s *scan.Scan) { s.Lots = nums(lots) } }
func gone(s *scan.Scan)                     { s.Gone = true }
func bars(d ...event.Draw) func(*scan.Scan) { return func(s *scan.Scan) { s.Bars = d } }
func left(r ...event.Remnant) func(*scan.Scan) {
	return func(s *scan.Scan) { s.Remnants = append([]event.Remnant{}, r...) }
}

func nums(lots []int) (out []tags.Number) {
	for _, n := range lots {
		out = append(out, stock(n))
	}
	return out
}

// opened makes a load the one that the device loads onto.
func (p *past) opened(n tags.Number) {
	d := p.devices["gun"]
	d.Load = n
	p.devices["gun"] = d
}

// last is what the device scanned last, ms ago.
func (p *past) last(n tags.Number, station string, a event.Answer, ago int64) {
	d := p.devices["gun"]
	d.Last, d.Station, d.Answer, d.At = n, station, &a, now-ago
	p.devices["gun"] = d
}

func codes(a event.Answer) (out []string) {
	for _, n := range a.Notes {
		out = append(out, n.Code)
	}
	return out
}

func decide(t *testing.T, p *past, s scan.Scan) scan.Outcome {
	t.Helper()
	out := scan.Decide(p, rules(), s)
	require.NotEmpty(t, out.Answer.Notes)
	for _, n := range out.Answer.Notes {
		require.Contains(t, scan.Sentences, n.Code)
	}
	return out
}
