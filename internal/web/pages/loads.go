package pages

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// loadsPage is the loads that have not left, day by day, and what they lack.
type loadsPage struct {
	Days    []truckDay
	Short   []scan.Short
	Buy     []scan.Buy
	Refused string
	Form    map[string]string // what was typed into a form that was refused
}

type truckDay struct {
	Date   string // "" not known
	Trucks []truckRow
}

// truckRow is a load with what a forecast says of its bundles.
type truckRow struct {
	scan.Truck
	Miss, May, Unknown int
}

// loads lists the loads that have not left.
func (p *pages) loads(c echo.Context) error { return p.showLoads(c, "", nil) }

func (p *pages) showLoads(c echo.Context, refused string, form map[string]string) error {
	o, err := p.floor.Outlook(time.Now(), nil)
	if err != nil {
		return err
	}
	d := loadsPage{Short: o.Short, Buy: o.Buy, Refused: refused, Form: form}
	rows := make([]truckRow, len(o.Trucks))
	for i, t := range o.Trucks {
		rows[i].Truck = t
	}
	for i, n := range o.Needs {
		switch r := &rows[n.Truck]; o.Forecasts[i].Chance {
		case load.WillMiss:
			r.Miss++
		case load.MayMiss:
			r.May++
		case load.NoForecast:
			r.Unknown++
		}
	}
	for _, r := range rows {
		if n := len(d.Days); n == 0 || d.Days[n-1].Date != r.Date {
			d.Days = append(d.Days, truckDay{Date: r.Date})
		}
		day := &d.Days[len(d.Days)-1]
		day.Trucks = append(day.Trucks, r)
	}
	return p.render(c, "loads.html", p.word(language(c), "loads"), d)
}

// makeLoad plans a new load, with one stop.
func (p *pages) makeLoad(c echo.Context) error {
	o, err := origin(c, "new load")
	if err != nil {
		return err
	}
	plan := load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: c.FormValue("job")}}}}
	var planned load.Planned
	var r floor.Receipt
	if err = p.head(c, &plan); err == nil {
		planned, r, err = p.floor.PlanLoad(c.Request().Context(), o, plan)
	}
	says, err := refusal(err)
	switch {
	case err != nil:
		return err
	case says != "":
		form := map[string]string{}
		for _, f := range []string{"date", "leaves", "truck", "trailer", "limit", "job"} {
			form[f] = c.FormValue(f)
		}
		return p.showLoads(c, says, form)
	}
	return p.showLoad(c, planned.Set.Load, planned, r.Answer, "")
}

// head reads what a form says of a load as a whole.
func (p *pages) head(c echo.Context, plan *load.Plan) error {
	plan.Date, plan.Leaves, plan.Truck, plan.Trailer = c.FormValue("date"), c.FormValue("leaves"), c.FormValue("truck"), c.FormValue("trailer")
	plan.Move = c.FormValue("move") != ""
	plan.Limit = p.opt.LoadLimit
	if t := strings.TrimSpace(c.FormValue("limit")); t != "" {
		m, err := bar.ParseMass(t)
		if err != nil {
			return &event.Refusal{Field: "limit", Says: err.Error()}
		}
		plan.Limit = m
	}
	return nil
}

// loadPage is a load with its plan.
type loadPage struct {
	load.Load
	Departs scan.Truck
	Plan    []plannedStop
	Other   []loadedBundle // lie on it and are not planned
	NewStop plannedStop    // an empty one behind them
	Answer  *event.Answer
	Moved   []movedBundle
	Refused string
	trip
}

type plannedStop struct {
	load.Stop
	At      int // from 0
	Nth     int // from 1
	Address string
	Bundles []loadedBundle
}

type loadedBundle struct {
	scan.Bundle
	Line  *scan.Line
	Where string
	On    bool
}

type movedBundle struct {
	load.Move
	Bundle scan.Bundle
	Line   *scan.Line
}

func noLoad(text string) error {
	return web.Refuse("not-found", "There is no load "+text+".", "The loads that have not left are on the page of loads.")
}

// load shows a load with its plan.
func (p *pages) load(c echo.Context) error {
	n, err := tags.ParseNumber(c.Param("number"))
	if err != nil {
		return noLoad(c.Param("number"))
	}
	return p.showLoad(c, n, load.Planned{}, nil, "")
}

func (p *pages) showLoad(c echo.Context, n tags.Number, planned load.Planned, a *event.Answer, refused string) error {
	d := loadPage{Answer: a, Refused: refused}
	known := false
	if err := p.floor.View(func(past *view.Past) error {
		if d.Load, known = past.Load(n); !known {
			return nil
		}
		d.Departs.Load = d.Load
		d.Departs.Leaves, d.Departs.Said = d.Leaving(p.floor.Rules().Calendar)
		for i, s := range d.Stops {
			d.Plan = append(d.Plan, plannedStop{Stop: s, At: i, Nth: i + 1, Address: strings.Join(s.ShipTo, "\n")})
		}
		d.NewStop.At = len(d.Plan)
		row := func(m tags.Number) loadedBundle {
			b, _ := past.Bundle(m)
			l := past.Line(b.Line)
			return loadedBundle{b, l, view.Where(past, b, l), b.Load == n}
		}
		for _, s := range past.Spots(n) {
			d.Plan[s.Stop].Bundles = append(d.Plan[s.Stop].Bundles, row(s.Bundle))
		}
		past.Loaded(n, func(m tags.Number) bool {
			if b := row(m); b.Planned != n {
				d.Other = append(d.Other, b)
			}
			return true
		})
		d.trip = p.trip(past, d.Load)
		for _, m := range load.Moves(planned.Set) {
			b := row(m.Bundle)
			d.Moved = append(d.Moved, movedBundle{m, b.Bundle, b.Line})
		}
		return nil
	}); err != nil {
		return err
	}
	if !known {
		return noLoad(n.String())
	}
	return p.render(c, "load.html", p.word(language(c), "load")+" "+n.String(), d)
}

// replan takes the form of a load's plan: what stands on the plan now, without what is ticked to be taken
// off, and with what is added.
func (p *pages) replan(c echo.Context) error {
	n, err := tags.ParseNumber(c.Param("number"))
	if err != nil {
		return noLoad(c.Param("number"))
	}
	o, err := origin(c, "plan "+n.String())
	if err != nil {
		return err
	}
	plan := load.Plan{Load: n}
	var planned load.Planned
	var r floor.Receipt
	if err = p.head(c, &plan); err == nil {
		err = p.stops(c, &plan)
	}
	if err == nil {
		planned, r, err = p.floor.PlanLoad(c.Request().Context(), o, plan)
	}
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showLoad(c, n, planned, r.Answer, says)
}

// mostStops is the most stops of a form: those of a load, and a new one.
const mostStops = 51

// stops reads the stops of a form. What is typed at a stop goes there, from wherever it stood.
func (p *pages) stops(c echo.Context, plan *load.Plan) error {
	r := reader{c: c}
	off := r.numbersOf(c.Request().PostForm["off"])
	stand := map[int][]tags.Number{}
	if err := p.floor.View(func(past *view.Past) error {
		for _, s := range past.Spots(plan.Load) {
			stand[s.Stop] = append(stand[s.Stop], s.Bundle)
		}
		// A limit that was left as it stood is that one, whatever its text was rounded to.
		if l, _ := past.Load(plan.Load); c.FormValue("limit") == l.Limit.Text(p.floor.Rules().Units) {
			plan.Limit = l.Limit
		}
		return nil
	}); err != nil {
		return err
	}
	field := func(name string, i int) string { return name + "-" + strconv.Itoa(i) }
	typed := map[int][]tags.Number{}
	for i := range mostStops {
		typed[i] = r.numbers(field("bundles", i))
		off = append(off, typed[i]...)
	}
	for i := range mostStops {
		value := func(name string) string { return strings.TrimSpace(c.FormValue(field(name, i))) }
		if value("drop") != "" || value("job")+value("processor") == "" {
			continue
		}
		s := load.StopPlan{Stop: load.Stop{
			Job: value("job"), Contact: value("contact"), From: value("from"), Until: value("until"), Processor: value("processor"), Step: value("step"),
		}}
		for l := range strings.Lines(value("ship_to")) {
			s.ShipTo = append(s.ShipTo, strings.TrimSpace(l))
		}
		kept := slices.DeleteFunc(stand[i], func(n tags.Number) bool { return slices.Contains(off, n) })
		s.Bundles = append(kept, typed[i]...)
		if list := value("list"); list != "" {
			s.Lines = append(s.Lines, load.Line{Job: value("of"), List: list, Mark: value("mark")})
		}
		plan.Stops = append(plan.Stops, s)
	}
	return r.err
}

// numbersOf are numbers that a form of ours sent.
func (r *reader) numbersOf(texts []string) (out []tags.Number) {
	for _, t := range texts {
		n, err := tags.ParseNumber(t)
		if err != nil {
			r.wrong("off", "%v", err)
		}
		out = append(out, n)
	}
	return out
}

// departs says in words when a truck leaves.
func (p *pages) departs(lang scan.Lang, t scan.Truck) string {
	switch {
	case t.Leaves.IsZero():
		return p.word(lang, "no day")
	case !t.Said:
		return fmt.Sprintf("%s (%s)", p.floor.Rules().When(t.Leaves.UnixMilli()), p.word(lang, "end of shift"))
	}
	return p.floor.Rules().When(t.Leaves.UnixMilli())
}
