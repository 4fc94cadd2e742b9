package floor_test

import (
	"context"
	"fmt"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// shop is a floor in memory with a clock that stands still until it is moved.
type shop struct {
	*testing.T
	*floor.Floor
	now  time.Time
	db   store.DB
	keys int
}

func rules() scan.Rules {
	return scan.Rules{
		Plant: 1, Zone: time.UTC, Units: bar.Imperial, Pause: 3 * time.Second, Repeat: time.Minute,
		Keep: map[bar.Size]bar.Length{"": 4 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot},
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A", "B"}, Pockets: []string{"1", "2"}},
			{Name: "S2", Title: "Shear 2", Does: []scan.Work{"cut"}, Feeds: []string{"A"}, Pockets: []string{"1"}},
			{Name: "C1", Title: "Stirrup machine", Does: []scan.Work{"cut and bend"}, Feeds: []string{"A"}, Pockets: []string{"1"}},
			{Name: "B2", Title: "Bender 2", Does: []scan.Work{"bend"}},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard, scan.Receiving}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
			{Name: "G1", Title: "Staging", Does: []scan.Work{scan.Staging}},
		},
	}
}

func openShop(t *testing.T) *shop {
	s := &shop{T: t, now: time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC), db: mem.Open(floor.Tables()...)}
	var err error
	s.Floor, err = floor.Open(func() (store.DB, error) { return s.db, nil }, floor.Config{
		Plant: 1, Rules: rules(), Limits: barlist.Limits{Mass: 3000 * bar.Pound}, Settings: []byte("plant = 1\n"),
		Now: func() time.Time { return s.now },
	})
	require.NoError(t, err)
	t.Cleanup(func() { s.Close() })
	return s
}

// scan scans at a station and returns the answer's verdict and first code.
func (s *shop) scan(station string, code string, more ...func(*scan.Scan)) (event.Answer, tags.Number) {
	s.now = s.now.Add(10 * time.Second)
	s.keys++
	read, wrong := tags.Read(code)
	if code == "" {
		wrong = nil
	}
	x := scan.Scan{Read: read, Wrong: wrong, Station: station, Device: "d-" + station, At: s.now.UnixMilli()}
	for _, m := range more {
		m(&x)
	}
	o := floor.Origin{Device: x.Device, Station: station, Key: strconv.Itoa(s.keys), Happened: s.now, Request: fmt.Sprint(code, x.Do, x.Pieces, x.Gone)}
	r, show, err := s.Scan(context.Background(), o, x)
	require.NoError(s, err)
	return *r.Answer, show
}

func TestThread(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	_, err := s.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "26-014", Name: "Alder Creek Bridge", Heats: event.HeatsSingle})
	require.NoError(t, err)
	steel := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	taken, _, err := s.TakeList(ctx, floor.Origin{}, barlist.File{Name: "x.csv", SHA256: [32]byte{1}, Lines: []barlist.Line{
		{Row: 2, Job: "26-014", List: "1", Mark: "4F207", Steel: steel, Length: 11*bar.Foot + 6*bar.Inch, Pieces: 40,
			Shape: bar.Shape{Legs: []bar.Leg{{Length: 2 * bar.Foot, Turn: 900}, {Length: 9*bar.Foot + 6*bar.Inch}}}},
		{Row: 3, Job: "26-014", List: "1", Mark: "4F208", Steel: steel, Length: 14 * bar.Foot, Pieces: 20},
	}})
	require.NoError(t, err)
	require.Equal(t, 2, taken.Bundles)
	r, err := s.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel", Heats: []string{"7041893"}, Steel: steel, Length: 60 * bar.Foot, Bars: 100})
	require.NoError(t, err)
	lot, err := floor.Body[event.LotReceived](r)
	require.NoError(t, err)

	b1, b2 := num(t, tags.Bundle, 1), num(t, tags.Bundle, 2)
	check := func(a event.Answer, want event.Verdict, code string) {
		t.Helper()
		says, next := scan.Say(a.Notes[0], scan.English)
		t.Log(a.Verdict, says, next)
		require.Equal(t, want.String()+" "+code, a.Verdict.String()+" "+a.Notes[0].Code)
	}
	a, _ := s.scan("S1", lot.Lot.Digits())
	check(a, event.Accepted, "charged")
	a, _ = s.scan("B1", b1.Digits())
	check(a, event.Refused, "not cut yet")
	a, _ = s.scan("S1", b1.Digits())
	check(a, event.Accepted, "cut started")
	a, _ = s.scan("S1", b2.Digits())
	check(a, event.Accepted, "cut joined")
	require.NoError(t, s.View(func(p *view.Past) error {
		c, ok := scan.CardOf(p, s.Rules(), "S1", b2)
		require.True(t, ok)
		bars, _, _ := c.Bars()
		// 20 x 14' and 40 x 11'-6": five bars of 4 x 14' leave 4', eight of 5 x 11'-6" leave 2'-6".
		require.Equal(t, 13, bars)
		require.Len(t, c.Bring, 1)
		return nil
	}))
	a, _ = s.scan("S1", b1.Digits())
	check(a, event.Accepted, "card shown")
	a, _ = s.scan("S1", b1.Digits())
	check(a, event.Accepted, "cut done")
	a, _ = s.scan("S1", b2.Digits())
	check(a, event.Accepted, "card shown")
	a, _ = s.scan("S1", b2.Digits())
	check(a, event.Accepted, "cut done")
	a, _ = s.scan("B1", b1.Digits())
	check(a, event.Accepted, "step started")
	a, _ = s.scan("B1", b1.Digits())
	check(a, event.Accepted, "step done")
	_, r, err = s.PlanLoad(ctx, floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: "26-014"}}}, Limit: 40_000 * bar.Pound})
	require.NoError(t, err)
	ld, _ := floor.Body[event.LoadSet](r)
	a, _ = s.scan("L1", b1.Digits())
	check(a, event.Refused, "no load open")
	a, _ = s.scan("L1", ld.Load.Digits())
	check(a, event.Accepted, "load opened")
	a, _ = s.scan("L1", b1.Digits())
	check(a, event.Accepted, "loaded")
	_, err = s.Hold(ctx, floor.Origin{}, event.HoldPut{Target: event.Target{Mill: "Mesa Steel", Heat: "7041893"}, Reason: "cert in doubt"})
	require.NoError(t, err)
	a, _ = s.scan("L1", b2.Digits())
	check(a, event.Refused, "held")
	a, _ = s.scan("L1", ld.Load.Digits(), func(x *scan.Scan) { x.Do = scan.Ship })
	check(a, event.Refused, "held on load")
	a, _ = s.scan("L1", ld.Load.Digits(), func(x *scan.Scan) { x.Do, x.Gone = scan.Ship, true })
	check(a, event.Check, "shipped")

	require.NoError(t, s.View(func(p *view.Past) error {
		tr := p.Ask("7041893")
		require.Len(t, tr.Bundles, 2)
		require.Equal(t, heat.Certain, tr.Bundles[0].Heats.Certainty)
		require.Equal(t, []tags.Number{ld.Load}, tr.Loads)
		require.Len(t, tr.Lots, 2) // the lot, and the five ends of 4'
		l, _ := p.Lot(lot.Lot)
		require.Equal(t, 87, l.OnHand())
		for _, b := range tr.Bundles {
			t.Log(b.Number, b.Where, b.Heats, b.Held)
		}
		return nil
	}))
}

func num(t require.TestingT, k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	require.NoError(t, err)
	return n
}

// made takes a list of one line of job J, 10' pieces in one bundle, and receives a lot of each heat.
func (s *shop) made(pieces int, heats ...string) (bundles, lots []tags.Number) {
	ctx := context.Background()
	s.keys++
	steel := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	_, r, err := s.TakeList(ctx, floor.Origin{}, barlist.File{SHA256: [32]byte{byte(s.keys)}, Lines: []barlist.Line{
		{Row: 2, Job: "J", List: strconv.Itoa(s.keys), Mark: "A", Steel: steel, Length: 10 * bar.Foot, Pieces: pieces, Route: []string{"cut"}},
	}})
	require.NoError(s, err)
	for _, e := range r.Events {
		if l, ok := e.Body.(event.LineTaken); ok {
			bundles = append(bundles, l.Numbers()...)
		}
	}
	for _, h := range heats {
		r, err := s.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Example Mill", Heats: []string{h}, Steel: steel, Length: 60 * bar.Foot, Bars: 50})
		require.NoError(s, err)
		lots = append(lots, r.Events[0].Body.(event.LotReceived).Lot)
	}
	return bundles, lots
}

// says checks an answer's verdict and the codes of all its notes.
func (s *shop) says(a event.Answer, verdict event.Verdict, codes ...string) {
	s.Helper()
	var got []string
	for _, n := range a.Notes {
		got = append(got, n.Code)
	}
	require.Equal(s, append([]string{verdict.String()}, codes...), append([]string{a.Verdict.String()}, got...))
}

// traced are the serials of the bundles that a question finds.
func (s *shop) traced(ask string) (out []int) {
	require.NoError(s, s.View(func(p *view.Past) error {
		for _, b := range p.Ask(ask).Bundles {
			out = append(out, b.Number.Serial())
		}
		return nil
	}))
	return out
}

// TestLotsSaidInBetween: lots that a person says while a run is open are lots that it may be of, for
// all its bundles.
func TestLotsSaidInBetween(t *testing.T) {
	s := openShop(t)
	b, l := s.made(30, "H1", "H2", "H3")
	c, _ := s.made(10)
	lots := func(n tags.Number) func(*scan.Scan) { return func(x *scan.Scan) { x.Lots = []tags.Number{n} } }
	s.scan("S1", l[0].Digits())
	s.scan("S1", b[0].Digits())
	a, _ := s.scan("S1", c[0].Digits(), lots(l[1]))
	s.says(a, event.Accepted, "cut joined", "into pocket")
	require.Equal(t, []int{1, 2}, s.traced("H2"))
	a, _ = s.scan("S1", c[0].Digits(), lots(l[2]))
	s.says(a, event.Accepted, "cut done")
	require.Equal(t, []int{1, 2}, s.traced("H3"), "it is a candidate of the run that goes on")
	a, _ = s.scan("S1", b[0].Digits())
	s.says(a, event.Accepted, "card shown")
	a, _ = s.scan("S1", b[0].Digits())
	s.says(a, event.Accepted, "cut done", "run closed", "remnant")
	for _, h := range []string{"H1", "H2", "H3"} {
		require.Equal(t, []int{1, 2}, s.traced(h))
	}
}

// TestReopenedRun: a run that is opened again may draw from what was charged while it was closed.
func TestReopenedRun(t *testing.T) {
	s := openShop(t)
	b, l := s.made(10, "H1", "H2")
	s.scan("S1", l[0].Digits())
	s.scan("S1", b[0].Digits())
	s.scan("S1", b[0].Digits())
	s.scan("S1", l[1].Digits())
	require.Empty(t, s.traced("H2"))
	r, err := s.Undo(context.Background(), floor.Origin{Device: "d-S1"}, b[0], "still on the table")
	require.NoError(t, err)
	s.says(*r.Answer, event.Accepted, "undone")
	require.Equal(t, []int{1}, s.traced("H2"))
	a, _ := s.scan("S1", b[0].Digits())
	s.says(a, event.Accepted, "cut done", "run closed", "remnant")
	require.Equal(t, []int{1}, s.traced("H2"))
}

// TestTwoFeeds: a lot on two feeds lies on the other one when it is taken off the first.
func TestTwoFeeds(t *testing.T) {
	s := openShop(t)
	_, l := s.made(1, "H1")
	s.scan("S1", l[0].Digits())
	a, _ := s.scan("S2", l[0].Digits())
	s.says(a, event.Check, "charged", "on two feeds")
	feed := func() (f string) {
		require.NoError(t, s.View(func(p *view.Past) error {
			lot, _ := p.Lot(l[0])
			f = lot.Feed
			return nil
		}))
		return f
	}
	empty := func(x *scan.Scan) { x.Do = scan.Empty }
	require.Equal(t, "S2/A", feed())
	s.scan("S2", l[0].Digits(), empty)
	require.Equal(t, "S1/A", feed())
	s.scan("S1", l[0].Digits(), empty)
	require.Empty(t, feed())
}

// TestWentUnscanned: a truck that has gone is recorded with what it took, also what nobody scanned.
func TestWentUnscanned(t *testing.T) {
	s := openShop(t)
	b, l := s.made(30, "H1")
	gone := func(x *scan.Scan) { x.Gone = true }
	ship := func(x *scan.Scan) { x.Do = scan.Ship }
	s.scan("S1", l[0].Digits())
	s.scan("S1", b[0].Digits())
	_, r, err := s.PlanLoad(context.Background(), floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: "J"}}}, Limit: 40_000 * bar.Pound})
	require.NoError(t, err)
	ld := r.Events[0].Body.(event.LoadSet).Load
	s.scan("L1", ld.Digits())
	a, _ := s.scan("L1", ld.Digits(), ship)
	s.says(a, event.Refused, "load empty")
	a, _ = s.scan("L1", ld.Digits(), ship, gone)
	s.says(a, event.Check, "shipped", "left empty")
	a, _ = s.scan("L1", b[0].Digits(), gone)
	s.says(a, event.Refused, "no load open")
	a, _ = s.scan("L1", ld.Digits())
	s.says(a, event.Refused, "load left")
	a, _ = s.scan("L1", ld.Digits(), gone)
	s.says(a, event.Check, "load opened", "opened after")
	a, _ = s.scan("L1", b[0].Digits())
	s.says(a, event.Refused, "load left")
	a, _ = s.scan("L1", b[0].Digits(), gone)
	s.says(a, event.Check, "loaded", "cut done", "run closed", "went unscanned")
	require.NoError(t, s.View(func(p *view.Past) error {
		require.Equal(t, 1, p.Ask(b[0].String()).Checks, "only the last scan is about the bundle")
		x, _ := p.Bundle(b[0])
		require.True(t, x.Shipped)
		require.Equal(t, 1, x.Done)
		require.Zero(t, p.Floor("S1").Run, "no run waits for it")
		load, _ := p.Load(ld)
		require.Equal(t, 1, load.Count)
		return nil
	}))
}

// A trigger that is held down reads on and on: beyond the pause, counted from the first read, it must
// not turn a bundle that was started into one that is cut.
func TestTriggerHeldDown(t *testing.T) {
	s := openShop(t)
	_, _, err := s.TakeList(context.Background(), floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: []barlist.Line{
		{Row: 2, Job: "26-014", List: "1", Mark: "M1", Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Length: 10 * bar.Foot, Pieces: 5},
	}})
	require.NoError(t, err)
	b := num(t, tags.Bundle, 1)
	s.scan("S1", b.Digits())
	for range 12 {
		s.now = s.now.Add(-9 * time.Second) // scan puts the clock on by ten
		a, _ := s.scan("S1", b.Digits())
		require.Equal(t, "once", a.Notes[0].Code)
	}
	a, _ := s.scan("S1", b.Digits())
	require.Equal(t, "cut done", a.Notes[0].Code)
}

// Pieces that are counted are cut, even while a run of other steel lies on the table: that run stays
// open and closes by itself, and the count can be taken back only when the table is free.
func TestCountedBesideAnOpenRun(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	five, six := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, bar.Steel{Size: "#6", Spec: "A615", Grade: "60"}
	_, _, err := s.TakeList(ctx, floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: []barlist.Line{
		{Row: 2, Job: "26-014", List: "1", Mark: "M5", Steel: five, Length: 10 * bar.Foot, Pieces: 12},
		{Row: 3, Job: "26-014", List: "1", Mark: "M6", Steel: six, Length: 20 * bar.Foot, Pieces: 6},
	}})
	require.NoError(t, err)
	lots := map[bar.Steel]tags.Number{}
	for _, steel := range []bar.Steel{five, six} {
		r, err := s.Receive(ctx, floor.Origin{}, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{string(steel.Size)}, Steel: steel, Length: 60 * bar.Foot, Bars: 10})
		require.NoError(t, err)
		lot, err := floor.Body[event.LotReceived](r)
		require.NoError(t, err)
		lots[steel] = lot.Lot
		s.scan("S1", lot.Lot.Digits())
	}
	m5, m6 := num(t, tags.Bundle, 1), num(t, tags.Bundle, 2)
	a, _ := s.scan("S1", m5.Digits())
	require.Equal(t, event.Accepted, a.Verdict)
	a, _ = s.scan("S1", m6.Digits())
	require.Equal(t, "other run", a.Notes[0].Code)
	a, _ = s.scan("S1", m6.Digits(), func(x *scan.Scan) { x.Pieces = 6 })
	require.Equal(t, event.Check, a.Verdict)
	_, err = s.Undo(ctx, floor.Origin{}, m6, "wrong tag")
	require.ErrorContains(t, err, "another run open")
	a, _ = s.scan("S1", m5.Digits())
	require.Equal(t, "cut done", a.Notes[0].Code)
	onHand := func(steel bar.Steel) int {
		n := 0
		require.NoError(t, s.View(func(p *view.Past) error { l, _ := p.Lot(lots[steel]); n = l.OnHand(); return nil }))
		return n
	}
	require.Equal(t, []int{8, 8}, []int{onHand(five), onHand(six)})
	_, err = s.Undo(ctx, floor.Origin{}, m6, "wrong tag")
	require.NoError(t, err)
	require.Equal(t, []int{8, 10}, []int{onHand(five), onHand(six)})
}
