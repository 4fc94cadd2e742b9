package rest

import (
	"context"
	"fmt"
	"net/http"

	"tagd/api"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
)

func (a *ops) needs() {
	register(a, http.MethodGet, "/needs", "get-needs", "What the trucks need, what the stock is short of, and who misses the truck", a.getNeeds, group("loads"))
	register(a, http.MethodGet, "/stations/{name}/needs", "get-station-needs", "What waits at a station for the trucks, in the order in which it is wanted", a.getStationNeeds, group("stations"))
}

func (a *ops) getNeeds(context.Context, *struct{}) (*answer[api.Needs], error) {
	o, err := a.lookout()
	if err != nil {
		return nil, err
	}
	out := api.Needs{
		At: o.At.UTC(), Since: o.Since.UTC(), Trucks: []api.Truck{}, Needs: make([]api.Need, 0, len(o.Needs)),
		Short: []api.Short{}, Buy: []api.Buy{}, Paces: []api.Pace{},
	}
	for _, p := range o.Paces {
		out.Paces = append(out.Paces, api.Pace{
			Station: p.Station, Step: p.Step, Class: string(p.Class), Records: p.Records, Enough: p.Records >= load.Enough,
			Median: p.Median.Seconds(), Low: p.Low.Seconds(), High: p.High.Seconds(),
		})
	}
	for _, t := range o.Trucks {
		one := api.Truck{Load: t.Number.String(), Truck: t.Truck, Jobs: notNil(t.Jobs()), Said: t.Said, Ready: t.Ready, Waiting: t.Waiting, LeavesAt: a.leaves(t)}
		if !t.Leaves.IsZero() {
			utc := t.Leaves.UTC()
			one.Leaves = &utc
		}
		out.Trucks = append(out.Trucks, one)
	}
	for i := range o.Needs {
		n := o.need(i)
		t := &out.Trucks[o.Needs[i].Truck]
		switch load.Chance(n.Forecast.Chance) {
		case load.WillMiss:
			t.Miss++
		case load.MayMiss:
			t.MayMiss++
		case load.NoForecast:
			t.Unknown++
		}
		out.Needs = append(out.Needs, n)
	}
	for _, s := range o.Short {
		out.Short = append(out.Short, api.Short{
			Steel: s.Steel.String(), Length: s.Length.Text(a.units()), LengthMM: s.Length.MM(), Coil: s.Coil, Pieces: s.Pieces,
			Weight: s.Mass.Text(a.units()), Bundles: shown(s.Bundles), Load: o.Trucks[s.Truck].Number.String(),
		})
	}
	for _, b := range o.Buy {
		one := api.Buy{Steel: b.Steel.String(), Coil: b.Coil, Bars: b.Bars, TooLong: b.Pieces}
		if !b.Coil {
			one.Length = b.Length.Text(a.units())
		}
		if b.Mass > 0 {
			one.Weight = b.Mass.Text(a.units())
		}
		out.Buy = append(out.Buy, one)
	}
	return &answer[api.Needs]{out}, nil
}

func (a *ops) getStationNeeds(_ context.Context, in *struct {
	Name string `path:"name" maxLength:"40"`
}) (*answer[api.StationNeeds], error) {
	st, ok := a.f.Rules().Station(in.Name)
	if !ok {
		return nil, missing("There is no station %s.", in.Name)
	}
	o, err := a.lookout()
	if err != nil {
		return nil, err
	}
	out := api.StationNeeds{Station: st.Name, Title: st.Title, Now: []api.Need{}, Later: []api.Need{}}
	for i, n := range o.Needs {
		switch {
		case n.At(st):
			out.Now = append(out.Now, o.need(i))
		case n.Later(st):
			out.Later = append(out.Later, o.need(i))
		}
	}
	return &answer[api.StationNeeds]{out}, nil
}

// leaves says in words when a truck leaves.
func (a *ops) leaves(t scan.Truck) string {
	switch {
	case t.Leaves.IsZero():
		return "no day is planned"
	case !t.Said:
		return a.f.Rules().When(t.Leaves.UnixMilli()) + " (end of the last shift)"
	}
	return a.f.Rules().When(t.Leaves.UnixMilli())
}

// lookout puts an outlook into words.
type lookout struct {
	*ops
	floor.Outlook
	records map[load.Kind]int
}

// lookout is what the trucks need by now.
func (a *ops) lookout() (*lookout, error) {
	o, err := a.f.Outlook(a.o.Now(), nil)
	l := &lookout{ops: a, Outlook: o, records: map[load.Kind]int{}}
	for _, p := range o.Paces {
		l.records[p.Kind] = p.Records
	}
	return l, err
}

func (l *lookout) need(i int) api.Need {
	n := l.Needs[i]
	t := l.Trucks[n.Truck]
	out := api.Need{
		Bundle: n.Bundle.Number.String(), Job: n.Line.Job, List: n.Line.List, Mark: n.Line.Mark, K: n.Bundle.Name(), N: n.Bundle.N,
		Steel: n.Line.Steel.String(), Length: n.Line.Length.Text(l.units()), Pieces: n.Pieces(), Steps: n.Steps(), Stations: []string{},
		Begun: n.Bundle.Started || n.Bundle.Made > 0, Held: n.Held, Load: t.Number.String(), Stop: n.Stop + 1, Leaves: l.leaves(t),
	}
	for _, st := range l.f.Rules().Stations {
		if n.At(st) {
			out.Stations = append(out.Stations, st.Name)
		}
	}
	out.Forecast = l.forecast(l.Forecasts[i])
	return out
}

func (l *lookout) forecast(f load.Forecast) api.Forecast {
	out := api.Forecast{Chance: string(f.Chance)}
	if f.Chance != load.NoForecast {
		ready, late := f.Ready.UTC(), f.Late.UTC()
		out.Ready, out.Late = &ready, &late
		out.Records = f.Records
		out.Says = fmt.Sprintf("ready %s, or %s when it goes slowly (%s)", l.f.Rules().When(f.Ready.UnixMilli()), l.f.Rules().When(f.Late.UnixMilli()), several(f.Records, "record"))
		return out
	}
	k := f.Lacks
	out.Station, out.Step, out.Class, out.Records = k.Station, k.Step, string(k.Class), l.records[k]
	switch {
	case k.Step == "":
		out.Says = "the plant's calendar has no such time of work within a year"
	case k.Station == "":
		out.Says = "no station does: " + k.Step
	default:
		out.Says = fmt.Sprintf("too few records: %s at %s, %s sizes: %d of %d", k.Step, k.Station, k.Class, out.Records, load.Enough)
	}
	return out
}

func several(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", one, "s")
}
