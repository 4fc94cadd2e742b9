package floor_test

import (
	"context"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
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
			{Name: "S2", Title: "Shear 2", Does: []scan.Work{"cut"}, Feeds: []string{"A"}},
			{Name: "B2", Title: "Bender 2", Does: []scan.Work{"bend"}},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard, scan.Receiving}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
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
	o := floor.Origin{Device: x.Device, Station: station, Key: strconv.Itoa(s.keys), Happened: s.now, Request: x}
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
	r, err = s.PlanLoad(ctx, floor.Origin{}, event.LoadPlanned{Stops: []event.Stop{{Job: "26-014"}}, Limit: 40_000 * bar.Pound})
	require.NoError(t, err)
	ld, _ := floor.Body[event.LoadPlanned](r)
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
