package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// loadsPage is the loads that have not left, day by day, and what they lack.
type loadsPage struct {
	Days    []truckDay
	Short   []shortRow
	Buy     []scan.Buy
	Jobs    []event.JobSet
	Refused string
	Form    map[string]string // what was typed into a form that was refused
}

type truckDay struct {
	Date   string // "" not known
	Trucks []truckRow
	All    scan.Sums
}

// truckRow is a load, how far its bundles have come, and what wants somebody before it leaves.
type truckRow struct {
	scan.Truck
	At    string // when it leaves, as "06:30"
	Gone  bool   // the time at which it leaves is over
	Sums  scan.Sums
	Done  int // bundles that are ready, or on it
	Bar   weightBar
	Stops []truckStop
	Over  bar.Mass // planned beyond its limit
	Hold  *heat.Hold
	Held  int // bundles

	Will, May int
	Late      []lateBundle // that will or may miss it, those that will first
	Unsure    []unsure
	Short     []scan.Short // that this load is the first to miss
}

// truckStop is a stop of a load.
type truckStop struct {
	load.Stop
	Nth  int
	Name string // of its job
	Sums scan.Sums
	Bar  weightBar
}

// lateBundle is a bundle, and when it will be ready.
type lateBundle struct {
	scan.Need
	load.Forecast
}

// unsure is why there is no forecast, and of how many bundles.
type unsure struct {
	load.Kind // the work that nobody has records of; without a step the plant has no hours of work
	Records   int
	Enough    int
	Bundles   int
}

// shortRow is what cannot be made from the stock, and the first load that misses it.
type shortRow struct {
	scan.Short
	Load scan.Truck
}

// loads lists the loads that have not left.
func (p *pages) loads(c echo.Context) error { return p.showLoads(c, "", nil) }

func (p *pages) showLoads(c echo.Context, refused string, form map[string]string) error {
	d := loadsPage{Refused: refused, Form: form}
	now := time.Now()
	o, err := p.floor.Outlook(now, func(past *view.Past, o *floor.Outlook) error {
		rows := p.truckRows(past, o, now)
		for _, s := range o.Short {
			d.Short = append(d.Short, shortRow{s, o.Trucks[s.Truck]})
		}
		for _, r := range rows {
			slices.SortStableFunc(r.Late, func(a, b lateBundle) int { return b.Ready.Compare(a.Ready) })
			slices.SortStableFunc(r.Late, func(a, b lateBundle) int { return -cmp.Compare(a.Chance, b.Chance) })
			if n := len(d.Days); n == 0 || d.Days[n-1].Date != r.Date {
				d.Days = append(d.Days, truckDay{Date: r.Date})
			}
			day := &d.Days[len(d.Days)-1]
			day.Trucks = append(day.Trucks, r)
			for i := range r.Sums {
				day.All[i].Bundles += r.Sums[i].Bundles
				day.All[i].Mass += r.Sums[i].Mass
			}
		}
		past.Jobs(func(j event.JobSet) bool { d.Jobs = append(d.Jobs, j); return true })
		return nil
	})
	if err != nil {
		return err
	}
	d.Buy = o.Buy
	return p.render(c, "loads.html", p.word(language(c), "trucks"), d)
}

// truckRows are the loads that have not left, with what is foreseen of each.
func (p *pages) truckRows(past *view.Past, o *floor.Outlook, now time.Time) []truckRow {
	rows := make([]truckRow, len(o.Trucks))
	for i, t := range o.Trucks {
		rows[i] = p.truckRow(past, t, now)
	}
	for i, n := range o.Needs {
		rows[n.Truck].foresee(n, o.Forecasts[i], o.Paces)
	}
	for _, s := range o.Short {
		rows[s.Truck].Short = append(rows[s.Truck].Short, s)
	}
	return rows
}

// truckRow is a load with how far its bundles have come.
func (p *pages) truckRow(past *view.Past, t scan.Truck, now time.Time) truckRow {
	all := scan.ReachOf(past, p.floor.Rules(), t.Load)
	whole, each := scan.SumUp(all, len(t.Load.Stops))
	r := truckRow{Truck: t, Sums: whole, Bar: drawWeights(whole, t.Limit)}
	if !t.Leaves.IsZero() {
		r.At = t.Leaves.In(p.floor.Rules().Zone).Format("15:04")
		r.Gone = t.Leaves.Before(now)
	}
	r.Done = whole.All().Bundles - whole[scan.NotCut].Bundles - whole[scan.IsCut].Bundles
	if over := whole.All().Mass - t.Limit; t.Limit > 0 && over > 0 {
		r.Over = over
	}
	for i, s := range t.Load.Stops {
		job, _ := past.Job(s.Job)
		r.Stops = append(r.Stops, truckStop{s, i + 1, job.Name, each[i], drawWeights(each[i], 0)})
	}
	if h, held := past.Hold(event.Target{Number: t.Number}); held {
		r.Hold = &h
	}
	for _, one := range all {
		if one.Held != nil {
			r.Held++
		}
	}
	return r
}

// foresee adds what is foreseen of a bundle.
func (r *truckRow) foresee(n scan.Need, f load.Forecast, paces []load.Pace) {
	switch f.Chance {
	case load.WillMiss:
		r.Will++
	case load.MayMiss:
		r.May++
	case load.NoForecast:
		i := slices.IndexFunc(r.Unsure, func(u unsure) bool { return u.Kind == f.Lacks })
		if i < 0 {
			u := unsure{Kind: f.Lacks, Enough: load.Enough}
			if at := slices.IndexFunc(paces, func(p load.Pace) bool { return p.Kind == f.Lacks }); at >= 0 {
				u.Records = paces[at].Records
			}
			i, r.Unsure = len(r.Unsure), append(r.Unsure, u)
		}
		r.Unsure[i].Bundles++
		return
	default:
		return
	}
	r.Late = append(r.Late, lateBundle{n, f})
}

// makeLoad plans a new load, with one stop.
func (p *pages) makeLoad(c echo.Context) error {
	o, err := origin(c, "new load")
	if err != nil {
		return err
	}
	plan := load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: strings.TrimSpace(c.FormValue("job")), Processor: c.FormValue("processor")}}}}
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
		for _, f := range []string{"date", "leaves", "truck", "trailer", "limit", "job", "processor"} {
			form[f] = c.FormValue(f)
		}
		return p.showLoads(c, says, form)
	}
	return p.showLoad(c, planned.Set.Load, planned, r.Answer, "")
}

// head reads what a form says of a load as a whole.
func (p *pages) head(c echo.Context, plan *load.Plan) error {
	plan.Date, plan.Leaves, plan.Truck, plan.Trailer = c.FormValue("date"), c.FormValue("leaves"), c.FormValue("truck"), c.FormValue("trailer")
	text := strings.TrimSpace(c.FormValue("limit"))
	if plan.Load != 0 && text == plan.Limit.Text(p.floor.Rules().Units) {
		return nil // left as it stood, it is that one, whatever its text was rounded to
	}
	plan.Limit = p.opt.LoadLimit
	if text != "" {
		m, err := bar.ParseMass(text)
		if err != nil {
			return &event.Refusal{Field: "limit", Says: err.Error()}
		}
		plan.Limit = m
	}
	return nil
}

// numbersOf are numbers that a form of ours sent.
func (r *reader) numbersOf(field string) (out []tags.Number) {
	for _, t := range r.c.Request().PostForm[field] {
		n, err := tags.ParseNumber(t)
		if err != nil {
			r.wrong(field, "%v", err)
		}
		out = append(out, n)
	}
	return out
}

// leaves says shortly when a truck leaves: the day of the week and the time, where the plan says one.
func (p *pages) leaves(lang scan.Lang, t scan.Truck) string {
	if t.Leaves.IsZero() {
		return p.word(lang, "no day")
	}
	at := t.Leaves.In(p.floor.Rules().Zone)
	says := p.word(lang, "day "+strconv.Itoa(int(at.Weekday())))
	if off := time.Until(t.Leaves); off < -6*24*time.Hour || off > 6*24*time.Hour {
		says = at.Format("01-02")
	}
	if t.Said {
		says += " " + at.Format("15:04")
	}
	return says
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

// weekday is a day with the name of its weekday, as "Mon 2026-11-30".
func (p *pages) weekday(lang scan.Lang, date string) string {
	day, err := time.Parse(time.DateOnly, date)
	if err != nil {
		return date
	}
	return p.word(lang, "on "+strings.ToLower(day.Weekday().String())) + " " + date
}
