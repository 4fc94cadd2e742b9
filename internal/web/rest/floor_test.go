package rest_test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/floor"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/store/storetest"
	"tagd/internal/web"
	"tagd/internal/web/rest"
)

// What the floor looks like from outside while it works: stations, feeds, holds, loads, checks.
func TestFloorFromOutside(t *testing.T) {
	s := openShop(t)
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	b1, b2 := taken.Lines[0].Bundles[0], taken.Lines[1].Bundles[0]
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"01E5"}, Size: "#5", Length: "60'", Bars: 100,
		MillBundles: []api.MillBundle{{Number: "B77"}}})
	require.NoError(t, err)
	lot := got.Lots[0].Number
	require.Equal(t, "accepted: charged", verdict(s.at("S1", "B77", func(x *api.Scan) { x.Feed = "B" })), "by the mill's bundle number")
	s.at("S1", b1, func(x *api.Scan) { x.Pocket = "2" })

	all, err := s.Stations(s.ctx)
	require.NoError(t, err)
	require.Len(t, all.Stations, 4)
	one, err := s.Station(s.ctx, "S1")
	require.NoError(t, err)
	require.Equal(t, all.Stations[0], one.Station)
	require.Equal(t, []string{"A", "B"}, []string{one.Feeds[0].Name, one.Feeds[1].Name})
	require.Empty(t, one.Feeds[0].Lots)
	require.Equal(t, lot, one.Feeds[1].Lots[0].Lot)
	require.Equal(t, []any{b1, "4F207", false, []string{lot}}, []any{one.Bundle, one.Run.Members[0].Mark, one.Run.Members[0].Done, one.Run.Lots})
	require.Equal(t, "cut", one.Card.Step)
	require.Equal(t, "B", one.Card.Bring[0].Feed)
	require.Equal(t, []api.Gauge{{Length: `11'-6"`, Stop: `10'-0"`, Out: `1'-6"`, Reach: true, Text: `10'-0" stop, 1'-6" out`}}, one.Card.Gauge)

	// A short cut: the rest is a bundle of its own, and a person should look.
	a := s.at("S1", b1, func(x *api.Scan) { x.Pieces, x.Lang = 38, "es" })
	require.Equal(t, "check", a.Verdict)
	require.Equal(t, "4F207 1/1: 38 piezas cortadas.", a.Says)
	checks, err := s.Open(s.ctx, api.OpenFilter{}, "", 10)
	require.NoError(t, err)
	require.Len(t, checks.Open, 1)
	require.Equal(t, []any{b1, "S1", "count short"}, []any{checks.Open[0].Number, checks.Open[0].Station, checks.Open[0].Notes[0].Code})
	bundles, err := s.Bundles(s.ctx, api.BundleFilter{Job: "26-014", Mark: "4F207"}, "", 0)
	require.NoError(t, err)
	require.Len(t, bundles.Bundles, 2)
	require.Equal(t, []any{"1b", 2, "planned"}, []any{bundles.Bundles[1].K, bundles.Bundles[1].Pieces, bundles.Bundles[1].State})
	b, err := s.Bundle(s.ctx, b1)
	require.NoError(t, err)
	require.Equal(t, []any{"started", "bend", "cut done, S1 pocket 2", "certain"}, []any{b.State, b.Next, b.Where, b.Certainty})

	// A hold counts what it would stop before it is put, and lets go when it is lifted.
	heat := api.Target{Mill: "Example Mill", Heat: "01E5"}
	dry, err := s.Hold(s.ctx, api.PutHold{Target: heat, Reason: "bend test", DryRun: true})
	require.NoError(t, err)
	require.EqualValues(t, 0, dry.Seq)
	put, err := s.Hold(s.ctx, api.PutHold{Target: heat, Reason: "bend test"})
	require.NoError(t, err)
	require.Equal(t, []any{dry.Lots, dry.Bars, dry.Inside, dry.Shipped}, []any{put.Lots, put.Bars, put.Inside, put.Shipped})
	// 38 pieces of 11'-6" are eight bars of 60'; the last gives three, and 25'-6" of it are kept.
	require.Equal(t, []int{2, 1, 0}, []int{put.Lots, put.Inside.Bundles, put.Shipped.Bundles})
	require.Equal(t, "heat Example Mill 01E5", put.What)
	a = s.at("B1", b1)
	require.Equal(t, "refused: held", verdict(a))
	require.Equal(t, "bend test", a.Card.Hold.Reason)
	_, err = s.Lift(s.ctx, api.LiftHold{Target: heat, Reason: "passed"})
	require.NoError(t, err)
	s.at("B1", b1)
	s.at("B1", b1)

	// Onto a load, off it, and off one that it is not on.
	load, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}})
	require.NoError(t, err)
	other, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}})
	require.NoError(t, err)
	require.Equal(t, "check: load opened", verdict(s.at("L1", load.Load.Number)), "no weight limit is known")
	require.Equal(t, "accepted: loaded", verdict(s.at("L1", b1)))
	_, err = s.Unload(s.ctx, other.Load.Number, api.Unload{Bundle: b1})
	require.ErrorContains(t, err, "not on this one")
	off, err := s.Unload(s.ctx, load.Load.Number, api.Unload{Bundle: b1, By: api.By{Device: "office"}})
	require.NoError(t, err)
	require.Equal(t, "accepted: unloaded", verdict(off))
	off, err = s.Unload(s.ctx, load.Load.Number, api.Unload{Bundle: b1, By: api.By{Device: "office"}})
	require.NoError(t, err)
	require.Equal(t, "refused: not on a load", verdict(off))

	// Showing records nothing.
	before, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	require.Equal(t, "accepted: found new", verdict(s.at("S1", b2, func(x *api.Scan) { x.Do = "show" })))
	after, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	require.Equal(t, before.Head, after.Head)
	require.Equal(t, "accepted: emptied", verdict(s.at("S1", "", func(x *api.Scan) { x.Do, x.Feed = "empty", "B" })))
}

// A disk that does not take a commit: 503 with Retry-After, nothing recorded, and the same request
// again counts once.
func TestDiskFails(t *testing.T) {
	disk := mem.Open(floor.Tables()...)
	fail := false
	f, err := floor.Open(func() (store.DB, error) {
		disk = disk.Reopen()
		return &storetest.Faulty{DB: disk, Fault: func() (bool, bool) { return fail, false }}, nil
	}, floor.Config{Plant: 1, Rules: rules()})
	require.NoError(t, err)
	defer f.Close()
	server := web.New(web.Options{})
	require.NoError(t, rest.Mount(server, f, rest.Options{}))
	h := httptest.NewServer(server)
	defer h.Close()
	c := &api.Client{Base: h.URL}
	ask := api.MakePlace{Name: "A-14", By: api.By{Device: "office", Key: "k"}}

	fail = true
	_, err = c.Place(t.Context(), ask)
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, []any{http.StatusServiceUnavailable, "busy"}, []any{p.Status, p.Code})
	require.Contains(t, p.Detail, "Nothing was recorded")
	a, err := http.Post(h.URL+"/api/v1/places", "application/json", strings.NewReader(`{"name":"A-15"}`))
	require.NoError(t, err)
	a.Body.Close()
	require.Equal(t, []any{503, "2"}, []any{a.StatusCode, a.Header.Get("Retry-After")})
	fail = false
	made, err := c.Place(t.Context(), ask)
	require.NoError(t, err)
	require.False(t, made.Again)
	again, err := c.Place(t.Context(), ask)
	require.NoError(t, err)
	require.Equal(t, made.Place, again.Place)
	require.True(t, again.Again)
}
