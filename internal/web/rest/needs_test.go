package rest_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/load"
)

// until16 is a plant that works until 16:00 on weekdays.
var until16 = load.Calendar{Zone: time.UTC, Shifts: []load.Shift{{
	Days: []time.Weekday{time.Monday, time.Tuesday, time.Wednesday, time.Thursday, time.Friday}, From: 7 * time.Hour, To: 16 * time.Hour,
}}}

// on makes a scan at a time of day of the shop's clock.
func (s *shop) on(clock, station, code string) {
	s.Helper()
	t, err := time.Parse(time.TimeOnly, clock)
	require.NoError(s, err)
	s.now = time.Date(s.now.Year(), s.now.Month(), s.now.Day(), t.Hour(), t.Minute(), t.Second(), 0, time.UTC)
	a, err := s.Scan(s.ctx, api.Scan{Code: code, Station: station, By: api.By{Device: "tablet-" + station, At: s.now}})
	require.NoError(s, err)
	require.NotEqual(s, "refused", a.Verdict, a.Says)
}

// TestForecast is the worked example of package load over the whole of the API: Shear 1 has cut #5 five
// times, 40 pieces in 600, 480, 560, 720 and 520 s, the bender has bent them at 30 s a piece. At 8:00 two
// bundles of 100 pieces wait, each cut and bend: the second is bent at 10:03:20, and misses the truck at
// 10:00.
func TestForecast(t *testing.T) {
	s := openShopIn(t, until16)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge (invented)"}})
	require.NoError(t, err)
	file := "mark,size,length,pieces,bends\n"
	for i := range 6 {
		file += fmt.Sprintf("P%d,#5,11'-6\",40,2'-0\" [90] 9'-6\"\n", i)
	}
	file += "W1,#5,11'-6\",100,2'-0\" [90] 9'-6\"\nW2,#5,11'-6\",100,2'-0\" [90] 9'-6\"\n"
	taken, err := s.TakeList(s.ctx, "alder.csv", []byte(file), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"1"}, Size: "#5", Length: "60'", Bars: 100})
	require.NoError(t, err)
	s.now = time.Date(2026, 11, 24, 7, 0, 0, 0, time.UTC)
	s.on("07:00:00", "S1", got.Lots[0].Number)

	bundle := func(i int) string { return taken.Lines[i].Bundles[0] }
	planned, err := s.PlanLoad(s.ctx, api.PlanLoad{Date: "2026-11-25", Leaves: "10:00", Truck: "T-7", Stops: []api.PlanStop{{
		Stop: api.Stop{Job: "26-014"}, Lines: []api.PlanLine{{List: "1", Mark: "W1"}, {List: "1"}}, Bundles: []string{bundle(7)},
	}}})
	require.NoError(t, err)
	require.Len(t, planned.Moved, 8)
	_, err = s.ReplanLoad(s.ctx, planned.Load.Number, api.PlanLoad{Date: "2026-11-25", Leaves: "10:00", Truck: "T-7", Stops: []api.PlanStop{{
		Stop: api.Stop{Job: "26-014"}, Bundles: []string{bundle(6), bundle(7)},
	}}})
	require.NoError(t, err)

	// Too few records: it says so.
	needs, err := s.Needs(s.ctx)
	require.NoError(t, err)
	require.Equal(t, "no forecast", needs.Needs[0].Forecast.Chance)
	require.Equal(t, "too few records: cut at S1, light sizes: 0 of 5", needs.Needs[0].Forecast.Says)
	require.Equal(t, 2, needs.Trucks[0].Unknown)

	at := 7 * time.Hour
	clock := func() string { return time.Time{}.Add(at).Format(time.TimeOnly) }
	for i, took := range []time.Duration{600, 480, 560, 720, 520} {
		s.on(clock(), "S1", bundle(i))
		at += took * time.Second
		s.on(clock(), "S1", bundle(i))
		at += 10 * time.Second
	}
	// What is undone is no record: cut in a second, by mistake.
	s.on(clock(), "S1", bundle(5))
	at += 30 * time.Second
	s.on(clock(), "S1", bundle(5))
	for range 2 {
		_, err = s.Undo(s.ctx, bundle(5), api.Because{Reason: "wrong one"})
		require.NoError(t, err)
	}
	for i := range 5 {
		s.on(clock(), "B1", bundle(i))
		at += 40 * 30 * time.Second
		s.on(clock(), "B1", bundle(i))
		at += 10 * time.Second
	}

	s.now = time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	needs, err = s.Needs(s.ctx)
	require.NoError(t, err)
	require.Equal(t, []api.Pace{
		{Station: "B1", Step: "bend", Class: "light", Records: 5, Enough: true, Median: 30, Low: 30, High: 30},
		{Station: "S1", Step: "cut", Class: "light", Records: 5, Enough: true, Median: 14, Low: 13, High: 15},
	}, needs.Paces)
	require.Equal(t, "W1", needs.Needs[0].Mark)
	require.Equal(t, "09:13:20", needs.Needs[0].Forecast.Ready.Format(time.TimeOnly))
	require.Equal(t, "makes it", needs.Needs[0].Forecast.Chance)
	require.Equal(t, "10:03:20", needs.Needs[1].Forecast.Ready.Format(time.TimeOnly))
	require.Equal(t, "will miss", needs.Needs[1].Forecast.Chance)
	require.Equal(t, 5, needs.Needs[1].Forecast.Records)
	require.Equal(t, 1, needs.Trucks[0].Miss)
	require.Empty(t, needs.Short)

	// What waits at the stations.
	shear, err := s.StationNeeds(s.ctx, "S1")
	require.NoError(t, err)
	require.Len(t, shear.Now, 2)
	bender, err := s.StationNeeds(s.ctx, "B1")
	require.NoError(t, err)
	require.Empty(t, bender.Now)
	require.Len(t, bender.Later, 2)
	_, err = s.StationNeeds(s.ctx, "S9")
	require.ErrorContains(t, err, "There is no station S9")
}

// TestNeedsShort: five bars of 60' give 25 of 11'-6"; 40 and 20 are wanted of the lists' lines.
func TestNeedsShort(t *testing.T) {
	s := openShopIn(t, until16)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge (invented)"}})
	require.NoError(t, err)
	_, err = s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	_, err = s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"1"}, Size: "#5", Length: "60'", Bars: 10})
	require.NoError(t, err)
	first, err := s.PlanLoad(s.ctx, api.PlanLoad{Date: "2026-11-27", Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}, Lines: []api.PlanLine{{List: "1", Mark: "4F207"}}}}})
	require.NoError(t, err)
	second, err := s.PlanLoad(s.ctx, api.PlanLoad{Date: "2026-11-26", Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}, Lines: []api.PlanLine{{List: "1"}}}}})
	require.NoError(t, err)
	require.Equal(t, []api.LeftOut{{Line: "26-014 / 1", Why: "planned", Load: first.Load.Number, Bundles: []string{first.Moved[0].Bundle}}}, second.LeftOut)

	// 20 of 14' are five bars, with 4' left of each; the other five give 25 of the 40 of 11'-6".
	needs, err := s.Needs(s.ctx)
	require.NoError(t, err)
	require.Equal(t, []string{"4F208", "4F207"}, []string{needs.Needs[0].Mark, needs.Needs[1].Mark}, "the truck that leaves first")
	require.Equal(t, "2026-11-26 16:00 (end of the last shift)", needs.Trucks[0].LeavesAt)
	require.Len(t, needs.Short, 1)
	require.Equal(t, []any{"#5 A615 60", "11'-6\"", 15, first.Load.Number}, []any{needs.Short[0].Steel, needs.Short[0].Length, needs.Short[0].Pieces, needs.Short[0].Load})
	require.Equal(t, []any{"60'-0\"", 3}, []any{needs.Buy[0].Length, needs.Buy[0].Bars})

	// To move it says what moved.
	moved, err := s.ReplanLoad(s.ctx, second.Load.Number, api.PlanLoad{Date: "2026-11-26", Move: true, Stops: []api.PlanStop{
		{Stop: api.Stop{Job: "26-014"}}, {Stop: api.Stop{Job: "26-014"}, Lines: []api.PlanLine{{List: "1", Mark: "4F207"}, {List: "1"}}},
	}})
	require.NoError(t, err)
	require.Equal(t, []api.Moved{
		{Bundle: first.Moved[0].Bundle, Line: "26-014 / 1 / 4F207 1/1", What: "load", FromLoad: first.Load.Number, FromStop: 1, Stop: 2},
		{Bundle: second.Moved[0].Bundle, Line: "26-014 / 1 / 4F208 1/1", What: "stop", FromLoad: second.Load.Number, FromStop: 1, Stop: 2},
	}, moved.Moved)
	require.Equal(t, "0 bundles added, 0 taken off, 1 to another stop, 1 from other loads.", moved.Notes[1].Says)
	was, err := s.Load(s.ctx, first.Load.Number)
	require.NoError(t, err)
	require.Zero(t, was.Planned)
}

// TestImportLoads: a file of loads is planned whole or not at all, and again changes nothing.
func TestImportLoads(t *testing.T) {
	s := openShop(t)
	_, err := s.SetJob(s.ctx, "26-014", api.SetJob{JobRules: api.JobRules{Name: "Alder Creek Bridge (invented)"}})
	require.NoError(t, err)
	_, err = s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	file := strings.Join([]string{
		"load,date,leaves,truck,limit,stop,job,contact,list,mark",
		`A,2026-11-25,06:30,T-7,"40,000 lb",2,26-014,,1,`,
		"A,,,,,1,26-014,A. Sample,1,4F208",
		"B,2026-11-26,,,,,26-014,,,",
	}, "\n")
	ana, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Example"})
	require.NoError(t, err)
	by := api.By{Key: "one", People: []string{ana.Person.Number}}
	got, err := s.ImportLoads(s.ctx, "loads.csv", []byte(file), false, by)
	require.NoError(t, err)
	require.Len(t, got.Loads, 2)
	a, err := s.Load(s.ctx, got.Loads[0].Load.Number)
	require.NoError(t, err)
	require.Equal(t, []string{"4F208 1", "4F207 2"}, []string{fmt.Sprint(a.Bundles[0].Mark, " ", a.Bundles[0].Stop), fmt.Sprint(a.Bundles[1].Mark, " ", a.Bundles[1].Stop)})
	require.Equal(t, "A. Sample", a.Stops[0].Contact)
	require.Equal(t, "06:30", a.Leaves)
	require.Equal(t, by.People, a.History[0].People)

	again, err := s.ImportLoads(s.ctx, "loads.csv", []byte(file), false, by)
	require.NoError(t, err)
	require.True(t, again.Again)
	require.Equal(t, got.Loads[0].Load.Number, again.Loads[0].Load.Number)
	require.Equal(t, got.Loads[0].Moved, again.Loads[0].Moved)

	before, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	_, err = s.ImportLoads(s.ctx, "loads.csv", []byte(strings.Join([]string{
		"load,date,stop,job,list,mark,bundle",
		"A,2026-13-25,1,26-014,1,",
		"B,2026-11-26,1,26-999,,",
		"C,2026-11-26,1,26-014,1,4F999",
		"D,,1,26-014,,,2-001-00000001-16",
		a.Number + ",2026-11-25,1,26-014,1,4F208",
	}, "\n")), false, api.By{})
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	var faults []string
	for _, f := range p.Errors {
		faults = append(faults, f.Location)
	}
	require.Equal(t, []string{"row 5, bundle", "row 2, date", "row 3, job", "row 4, list"}, faults)
	after, err := s.Journal(s.ctx, -1, 1)
	require.NoError(t, err)
	require.Equal(t, before.Head, after.Head, "nothing is planned")
}
