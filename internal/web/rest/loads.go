package rest

import (
	"context"
	"errors"
	"fmt"
	"net/http"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

func (a *ops) loads() {
	register(a, http.MethodGet, "/loads", "list-loads", "Truck loads, newest first", a.listLoads, group("loads"))
	register(a, http.MethodPost, "/loads", "plan-load", "Make a truck load", a.planLoad, group("loads"), created)
	register(a, http.MethodPost, "/loads/import", "import-loads", "Plan the loads of a file, all or none", a.importLoads, group("loads"),
		about("CSV or XLSX, the column names in the first row: "+columnNames(load.PlanColumns)+". All faults come at once, each with its row and field."))
	a.uploads("/loads/import", "file", nil, "text/csv")
	register(a, http.MethodGet, "/loads/{number}", "get-load", "A load: what is planned, what is on it, and where the rest is", a.getLoad, group("loads"))
	register(a, http.MethodPut, "/loads/{number}", "replan-load", "State the plan of a load anew, whole", a.replanLoad, group("loads"))
	register(a, http.MethodPost, "/loads/{number}/ship", "ship-load", "Let a load leave", a.shipLoad, group("loads"),
		about("The same as scanning its tag at loadout with do: ship. A refusal is an answer with status 200."))
	register(a, http.MethodPost, "/loads/{number}/unload", "unload-bundle", "Take a bundle off a load that has not left", a.unload, group("loads"),
		about("The same as scanning its tag with do: unload. A refusal is an answer with status 200."))
	a.trips()
}

func (a *ops) load(p *view.Past, l load.Load) api.Load {
	out := api.Load{
		Number: l.Number.String(), State: l.State(), Date: l.Date, Leaves: l.Leaves, Truck: l.Truck, Trailer: l.Trailer, Stops: []api.Stop{},
		Planned: l.Planned, Loaded: l.Count, WeightKG: l.Mass.Kilograms(), Weight: l.Mass.Text(a.units()), Copy: l.Copy, Shipped: when(l.Shipped),
	}
	for _, s := range l.Stops {
		one := api.Stop{Job: s.Job, ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until, Processor: s.Processor, Step: s.Step}
		if len(one.ShipTo) == 0 {
			j, _ := p.Job(s.Job)
			one.ShipTo = j.ShipTo
		}
		out.Stops = append(out.Stops, one)
	}
	if l.Limit > 0 {
		out.LimitKG, out.Limit = l.Limit.Kilograms(), l.Limit.Text(a.units())
	}
	if l.Weighed != 0 {
		out.NetKG, out.Net = l.Net.Kilograms(), l.Net.Text(a.units())
	}
	_, out.Held = p.Hold(event.Target{Number: l.Number})
	return out
}

func (a *ops) listLoads(_ context.Context, in *struct {
	State string `query:"state" enum:"planned,open,shipped,delivered" doc:"In this state only."`
	Date  string `query:"date" maxLength:"10" doc:"Of this day only, as 2026-11-25."`
	Job   string `query:"job" maxLength:"60" doc:"With a stop for this job only."`
	Paged
}) (*answer[api.Loads], error) {
	after, err := pageNumber(in.After, tags.Load)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Loads, error) {
		out := api.Loads{Loads: []api.Load{}}
		var last tags.Number
		p.Loads(func(l load.Load) bool {
			switch {
			case after != 0 && l.Number >= after:
				return true
			case in.State != "" && l.State() != in.State, in.Date != "" && l.Date != in.Date, in.Job != "" && !l.For(in.Job):
				return true
			case len(out.Loads) == in.Limit:
				out.Next = last.String()
				return false
			}
			last = l.Number
			out.Loads = append(out.Loads, a.load(p, l))
			return true
		})
		return out, nil
	})
}

type planIn struct {
	Keyed
	Body api.PlanLoad
}

func (a *ops) planLoad(ctx context.Context, in *planIn) (*answer[api.LoadPlanned], error) {
	return a.plan(ctx, 0, in.Key, in.Body)
}

func (a *ops) replanLoad(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Keyed
	Body api.PlanLoad
}) (*answer[api.LoadPlanned], error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	return a.plan(ctx, n, in.Key, in.Body)
}

// knownLoad finds the load of a path.
func (a *ops) knownLoad(text string) (tags.Number, error) {
	n, err := number(text, tags.Load)
	if err != nil {
		return 0, err
	}
	return n, a.f.View(func(p *view.Past) error {
		if _, ok := p.Load(n); !ok {
			return missing("Load %v was never given out here.", n)
		}
		return nil
	})
}

func (a *ops) plan(ctx context.Context, n tags.Number, key string, b api.PlanLoad) (*answer[api.LoadPlanned], error) {
	o, err := a.origin("", b.By, key, []any{"load", n, b})
	if err != nil {
		return nil, err
	}
	e := load.Plan{Load: n, Date: b.Date, Leaves: b.Leaves, Truck: b.Truck, Trailer: b.Trailer, Limit: a.o.LoadLimit, Move: b.Move}
	if b.Limit != "" {
		if e.Limit, err = bar.ParseMass(b.Limit); err != nil {
			return nil, invalid("body.limit", err.Error())
		}
	}
	for i, s := range b.Stops {
		one := load.StopPlan{Stop: load.Stop{Job: s.Job, ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until, Processor: s.Processor, Step: s.Step}}
		if one.Bundles, err = numbers(fmt.Sprintf("body.stops[%d].bundles", i), s.Bundles, tags.Bundle); err != nil {
			return nil, err
		}
		for _, l := range s.Lines {
			one.Lines = append(one.Lines, load.Line{Job: l.Job, List: l.List, Mark: l.Mark})
		}
		e.Stops = append(e.Stops, one)
	}
	if e.Bundles, err = numbers("body.bundles", b.Bundles, tags.Bundle); err != nil {
		return nil, err
	}
	planned, r, err := a.f.PlanLoad(ctx, o, e)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.LoadPlanned, error) { return a.planned(p, planned, r, scan.English), nil })
}

func (a *ops) importLoads(ctx context.Context, in *struct {
	Name string `query:"name" maxLength:"200" doc:"Name of the file, for those who read its faults."`
	Move bool   `query:"move" doc:"Take bundles and lines that are planned on another load off that one."`
	Sender
	Keyed
	Upload
}) (*answer[api.LoadsPlanned], error) {
	name, data, err := in.file(in.Name, "loads")
	if err != nil {
		return nil, err
	}
	by := in.by()
	o, err := a.origin("", by, in.Key, []any{"loads", by, in.Move, string(data)})
	if err != nil {
		return nil, err
	}
	file, faults := load.ReadPlans(name, data, a.o.LoadLimit)
	for i := range file.Plans {
		file.Plans[i].Move = in.Move
	}
	var all []load.Planned
	var r floor.Receipt
	if len(faults) == 0 {
		// A file that was taken before is answered as then, whatever became of its bundles.
		all, r, err = a.f.PlanLoads(ctx, o, file.Plans)
	}
	var no *floor.RowError
	if errors.As(err, &no) || len(faults) > 0 {
		if err := a.f.View(func(p *view.Past) error {
			faults = append(faults, file.Refused(p)...)
			return nil
		}); err != nil {
			return nil, err
		}
		if len(faults) > 0 {
			return nil, fileProblem(name, rowFaults(faults))
		}
	}
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.LoadsPlanned, error) {
		out := api.LoadsPlanned{Recorded: recorded(r), Notes: []api.Note{}, Loads: []api.LoadPlanned{}}
		if r.Answer != nil {
			out.Verdict, out.Notes = r.Answer.Verdict.String(), notes(r.Answer.Notes, scan.English)
		}
		for _, one := range all {
			x := a.planned(p, one, floor.Receipt{Seq: r.Seq, Again: r.Again}, scan.English)
			x.Verdict = out.Verdict
			out.Loads = append(out.Loads, x)
		}
		return out, nil
	})
}

// planned is what a plan came to.
func (a *ops) planned(p *view.Past, planned load.Planned, r floor.Receipt, lang scan.Lang) api.LoadPlanned {
	l, _ := p.Load(planned.Set.Load)
	out := api.LoadPlanned{Recorded: recorded(r), Load: a.load(p, l), Moved: []api.Moved{}, LeftOut: []api.LeftOut{}, Notes: []api.Note{}}
	if r.Answer != nil {
		out.Verdict, out.Notes = r.Answer.Verdict.String(), notes(r.Answer.Notes, lang)
	}
	for _, m := range load.Moves(planned.Set) {
		b, _ := p.Bundle(m.Bundle)
		line := p.Line(b.Line)
		one := api.Moved{
			Bundle: m.Bundle.String(), Line: lined(b, line),
			What: "load", FromLoad: m.From.String(), FromStop: m.FromStop, Stop: m.ToStop,
		}
		switch {
		case m.To == 0:
			one.What = "off"
		case m.From == 0:
			one.What = "added"
		case m.From == m.To:
			one.What = "stop"
		}
		out.Moved = append(out.Moved, one)
	}
	for _, o := range planned.Out {
		one := api.LeftOut{Line: o.Line.String(), Why: "gone", Load: o.Load.String(), Bundles: shown(o.Bundles)}
		switch {
		case o.Planned:
			one.Why = "planned"
		case o.Load != 0:
			one.Why = "loaded"
		}
		out.LeftOut = append(out.LeftOut, one)
	}
	return out
}

func (a *ops) getLoad(_ context.Context, in *numberIn) (*answer[api.LoadDetail], error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.LoadDetail, error) {
		l, _ := p.Load(n)
		out := api.LoadDetail{Load: a.load(p, l), Bundles: []api.LoadBundle{}, History: a.history(p, n)}
		all := p.PlannedOn(n)
		p.Loaded(n, func(m tags.Number) bool {
			if b, _ := p.Bundle(m); b.Planned != n {
				all = append(all, m)
			}
			return true
		})
		for _, m := range all {
			b, _ := p.Bundle(m)
			one := api.LoadBundle{Bundle: a.bundle(p, b), OnPlan: b.Planned == n, OnLoad: b.Load == n, Stop: p.StopOf(l, b) + 1}
			if one.OnPlan && !one.OnLoad {
				out.Missing++
			}
			out.Bundles = append(out.Bundles, one)
		}
		a.trip(p, l, &out)
		return out, nil
	})
}

func (a *ops) shipLoad(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Keyed
	Body api.Ship
}) (*answer[api.ScanAnswer], error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	station, err := a.loadout(in.Body.Station)
	if err != nil {
		return nil, err
	}
	return a.doScan(ctx, station, in.Body.By, in.Key, in.Body.Lang, []any{"ship", n, in.Body},
		scan.Scan{Read: tags.Scan{Number: n, Text: n.Digits()}, Do: scan.Ship, Gone: in.Body.Gone})
}

func (a *ops) unload(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Keyed
	Body api.Unload
}) (*answer[api.ScanAnswer], error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	b, err := oneNumber("body.bundle", in.Body.Bundle, tags.Bundle)
	if err != nil {
		return nil, err
	}
	station, err := a.loadout(in.Body.Station)
	if err != nil {
		return nil, err
	}
	if err := a.f.View(func(p *view.Past) error {
		if on, _ := p.Bundle(b); on.Load != 0 && on.Load != n {
			return invalid("body.bundle", b.String()+" is on load "+on.Load.String()+", not on this one")
		}
		return nil
	}); err != nil {
		return nil, err
	}
	return a.doScan(ctx, station, in.Body.By, in.Key, in.Body.Lang, []any{"unload", n, in.Body},
		scan.Scan{Read: tags.Scan{Number: b, Text: b.Digits()}, Do: scan.Unload})
}

// loadout is the station that was named, or the first one that does loadout.
func (a *ops) loadout(station string) (string, error) {
	if station != "" {
		return station, nil
	}
	for _, s := range a.f.Rules().Stations {
		if s.Can(scan.Loadout) {
			return s.Name, nil
		}
	}
	return "", web.Refuse("conflict", "No station of this plant does loadout.", "Add loadout to what a station does, in the plant's settings.")
}
