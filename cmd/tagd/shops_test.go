package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/plant"
)

// shopUp is a shop of the real program that tests share: its address, and what is called how in it.
type shopUp struct {
	url     string
	data    folder
	numbers map[string]string
}

// startShop serves a new data folder with the built program until the tests of the package are over.
func startShop(name, settings string) (*shopUp, error) {
	exe, err := build()
	if err != nil {
		return nil, err
	}
	path, err := os.MkdirTemp(binaries, name+"-")
	if err != nil {
		return nil, err
	}
	dir := folder(path)
	if _, err := dir.beginWith([]byte(settings)); err != nil {
		return nil, err
	}
	server, url, err := startServer(context.Background(), exe, dir, "127.0.0.1:0")
	if err != nil {
		return nil, err
	}
	up.Lock()
	servers = append(servers, server)
	up.Unlock()
	return &shopUp{url: url, data: dir, numbers: map[string]string{}}, nil
}

// servers are the shops that are up.
var (
	up      sync.Mutex
	servers []*child
)

// stopShops ends them.
func stopShops() {
	for _, s := range servers {
		_ = s.stop() // the tests are over
	}
}

// demoShop is the invented shop after its two days, driven through the API.
var demoShop = sync.OnceValues(func() (*shopUp, error) {
	sh, err := startShop("demo", string(plant.Default(""))+demoStations)
	if err != nil {
		return nil, err
	}
	out := filepath.Join(binaries, "demo-out")
	if err := os.MkdirAll(filepath.Join(out, "tags"), 0o755); err != nil {
		return nil, err
	}
	var story bytes.Buffer
	d := newDay(context.Background(), sh.url, out, &story)
	if err := d.run(); err != nil {
		return nil, fmt.Errorf("%w after:\n%s", err, story.String())
	}
	sh.numbers = d.numbers
	for name, of := range map[string]string{
		"job": bridge, "list": "3", "heat": stockBought[0].heat, "bundle": d.numbers["S401"], "begun": d.numbers["S501"], "bent": d.numbers["B501"],
		"lot": d.numbers["the #5 garage lot"], "load": d.numbers["the next bridge truck"], "gone": d.numbers["the bridge truck"],
		"wrong": d.numbers["S402"], "place": d.numbers["R-01"], "query": "26-014", "coil": d.numbers["the coil"], "mill": stockBought[0].mill,
	} {
		sh.numbers[name] = of
	}
	return sh, nil
})

// The longest values that a real shop has, all of them invented.
const (
	longJob   = "26-0147-BRIDGE-DECK"
	longName  = "Northside Regional Water Reclamation Facility Expansion (XX)" // 60 characters
	longMark  = "WALL-NE-14B-2207-EF1"                                         // 20 characters
	longMark2 = "WALL-NE-14B-2207-EF2"
	longList  = "REL-2026-0147-R12"
)

// longShop is a shop that has the longest values, in a state where the pages show them: four heats on the
// feeds, a bundle begun, a load of five stops, a hold.
var longShop = sync.OnceValues(func() (*shopUp, error) {
	sh, err := startShop("long", string(plant.Default(""))+demoStations)
	if err != nil {
		return nil, err
	}
	ctx, c := context.Background(), &api.Client{Base: sh.url}
	by := func() api.By { return api.By{Device: "office", Key: uuid.Must(uuid.NewV7()).String()} }
	var wrong error
	keep := func(err error) {
		if wrong == nil && err != nil {
			wrong = err
		}
	}
	_, err = c.SetJob(ctx, longJob, api.SetJob{JobRules: api.JobRules{Name: longName, Customer: "Constructora Hermanos Etcheverry-Goyeneche y Asociados (invented)", PO: "PO-2026-0147-0000001", Agency: "BR-0417-2026(014)",
		Heats: "bundle", ShipTo: []string{longName, "12345 Northwest Old Ferry Landing Road, Building 14, Gate 2", "Saint Bartholomew-on-the-River (invented)"}}, By: by()})
	keep(err)
	list := "job,list,mark,size,spec,grade,length,pieces,shape,edition,bends\n"
	for i, mark := range []string{longMark, longMark2, "WALL-NE-14B-2207-EF3", "WALL-NE-14B-2207-EF4"} {
		list += fmt.Sprintf("%s,%s,%s,#11,A706,60,\"59'-11 63/64\"\"\",%d,,,\n", longJob, longList, mark, 48-i)
	}
	list += fmt.Sprintf("%s,%s,%s,#11,A706,60,\"59'-11 63/64\"\"\",48,17,ACI 315-99,\"19'-11 63/64\"\" [90] 20'-0\"\" [90] 20'-0\"\"\"\n", longJob, longList, "WALL-NE-14B-2207-BN5")
	taken, err := c.TakeList(ctx, "long.csv", []byte(list), api.ListOptions{By: by()})
	keep(err)
	var bundles []string
	for _, l := range taken.Lines {
		bundles = append(bundles, l.Bundles...)
	}
	for _, place := range []string{"YARD-NORTH-ROW-14", "BAY-07"} {
		p, err := c.Place(ctx, api.MakePlace{Name: place, By: by()})
		keep(err)
		sh.numbers[place] = p.Place.Number
	}
	for _, who := range []string{"Maximiliano Etcheverry-Goyeneche (invented)", "Bartholomew Featherstonehaugh (invented)"} {
		p, err := c.Person(ctx, api.MakePerson{Name: who, By: by()})
		keep(err)
		sh.numbers[who] = p.Person.Number
	}
	var lots []string
	for _, heat := range []string{"01E5WW774101", "01E5WW774102", "01E5WW774103", "01E5WW774104"} {
		r, err := c.Receive(ctx, api.Receive{Mill: "Siderúrgica Laguna del Norte (invented)", Heats: []string{heat}, Size: "#11", Spec: "A706", Grade: "60", Length: "60'", Bars: 120, Place: "YARD-NORTH-ROW-14",
			MillBundles: []api.MillBundle{{Number: "LN-2026-" + heat, Bars: 120}}, By: by()})
		keep(err)
		if err == nil {
			lots = append(lots, r.Lots[0].Number)
		}
	}
	if wrong != nil || len(bundles) < 5 || len(lots) < 4 {
		return nil, fmt.Errorf("%w, %d bundles, %d lots", wrong, len(bundles), len(lots))
	}
	scan := func(station, code string, more ...func(*api.Scan)) {
		s := api.Scan{Code: code, Station: station, By: by()}
		s.Device = "scanner of " + station
		for _, m := range more {
			m(&s)
		}
		_, err := c.Scan(ctx, s)
		keep(err)
	}
	for who := range sh.numbers {
		if strings.HasSuffix(who, "(invented)") {
			scan("S1", sh.numbers[who])
		}
	}
	for _, l := range lots {
		scan("S1", l)
	}
	scan("S1", bundles[3])
	scan("S1", bundles[3], func(s *api.Scan) { s.Pieces = 40 })
	scan("S1", bundles[4])
	scan("S1", bundles[4], func(s *api.Scan) { s.Pieces = 48 })
	scan("S1", bundles[0])
	var stops []api.PlanStop
	for i := range 5 {
		stops = append(stops, api.PlanStop{Stop: api.Stop{Job: longJob, ShipTo: []string{fmt.Sprintf("%s, gate %d", longName[:50], i+1), "12345 Northwest Old Ferry Landing Road, Building 14"}, Contact: "Maximiliano Etcheverry-Goyeneche (invented), 555-0147", From: "07:00", Until: "11:00"},
			Bundles: bundles[i : i+1]})
	}
	l, err := c.PlanLoad(ctx, api.PlanLoad{Date: "2026-12-31", Leaves: "06:30", Truck: "TRACTOR-0147", Trailer: "TRAILER-0147", Limit: "48,000 lb", Stops: stops, By: by()})
	keep(err)
	if wrong != nil {
		return nil, wrong
	}
	scan("L1", l.Load.Number)
	_, err = c.Hold(ctx, api.PutHold{Target: api.Target{Mill: "Siderúrgica Laguna del Norte (invented)", Heat: "01E5WW774104"}, Reason: "elongation of the second sample is below what the cert says; mill was called", By: by()})
	keep(err)
	for name, of := range map[string]string{
		"job": longJob, "list": longList, "heat": "01E5WW774101", "bundle": bundles[0], "begun": bundles[0], "bent": bundles[4], "lot": lots[1],
		"load": l.Load.Number, "gone": l.Load.Number, "wrong": "1-001-00000001-32", "place": sh.numbers["YARD-NORTH-ROW-14"], "query": longMark,
		"coil": lots[2], "mill": "Siderúrgica Laguna del Norte (invented)",
	} {
		sh.numbers[name] = of
	}
	return sh, wrong
})

// sharedShop is one of the shared shops, or the end of the test.
func sharedShop(t testing.TB, start func() (*shopUp, error)) *shopUp {
	t.Helper()
	sh, err := start()
	require.NoError(t, err)
	return sh
}
