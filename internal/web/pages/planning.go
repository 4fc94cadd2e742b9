package pages

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// stamp names the stops of a load as a page shows them. A form says a stop by its place among them: where they
// changed since, it may mean another one.
func stamp(stops []load.Stop) string {
	h := fnv.New32a()
	for _, s := range stops {
		fmt.Fprintf(h, "%q%q%q%q", s.Job, s.Processor, s.Step, s.ShipTo)
	}
	return fmt.Sprint(h.Sum32())
}

// unchanged refuses a form that was made when the load had other stops.
func unchanged(p *load.Plan, seen string) error {
	var stops []load.Stop
	for _, s := range p.Stops {
		stops = append(stops, s.Stop)
	}
	if seen != stamp(stops) {
		return &event.Refusal{Field: "stop", Says: "the stops of this load were changed meanwhile; look at them, and say it again"}
	}
	return nil
}

// goal is where bundles may be planned: a stop of a load that has not left, or a new one of it.
type goal struct {
	Value string // number.stop, number.new, or new
	Says  string
	Load  tags.Number
}

// newStop is the stop of a target that makes one.
const newStop = "new"

// targets are the stops of the loads that have not left, in the order in which those leave; with a job those
// that take it.
func (p *pages) targets(past *view.Past, lang scan.Lang, job string) (out []goal) {
	for _, t := range scan.Trucks(past, p.floor.Rules()) {
		name := p.departs(lang, t)
		for _, more := range []string{t.Load.Truck, t.Trailer, t.Number.String()} {
			if more != "" {
				name += ", " + more
			}
		}
		fits := false
		for i, s := range t.Stops {
			if job != "" && !s.For(job) {
				continue
			}
			fits = true
			out = append(out, goal{fmt.Sprintf("%v.%d", t.Number, i), fmt.Sprintf("%s · %s %d: %s", name, p.word(lang, "stop"), i+1, strings.TrimSpace(s.Job+" "+s.Processor)), t.Number})
		}
		if job != "" && !fits {
			out = append(out, goal{fmt.Sprintf("%v.%s", t.Number, newStop), fmt.Sprintf("%s · %s: %s", name, p.word(lang, "new stop"), job), t.Number})
		}
	}
	return out
}

// parseTarget reads a target: the load, 0 for a new one, and the stop, less than 0 for a new one.
func parseTarget(text string) (n tags.Number, stop int, err error) {
	if text == newStop {
		return 0, -1, nil
	}
	number, at, _ := strings.Cut(text, ".")
	n, err = tags.ParseNumber(number)
	if stop = -1; err == nil && at != newStop {
		stop, err = strconv.Atoi(at)
	}
	if err != nil || n.Kind() != tags.Load {
		return 0, 0, &event.Refusal{Field: "to", Says: "is missing; choose the load and the stop"}
	}
	return n, stop, nil
}

// setHead takes the form of what a load is as a whole: its day, its truck, its limit.
func (p *pages) setHead(c echo.Context) error {
	return p.replan(c, "head", func(_ *reader, plan *load.Plan) error { return p.head(c, plan) })
}

// setStop takes the form of a stop: what stands in it, or that it goes up, down or away.
func (p *pages) setStop(c echo.Context) error {
	return p.replan(c, "stop", func(r *reader, plan *load.Plan) error {
		at := r.count("stop")
		if r.err != nil {
			return r.err
		}
		if err := unchanged(plan, c.FormValue("seen")); err != nil {
			return err
		}
		switch c.FormValue("do") {
		case "up":
			return plan.Swap(at, at-1)
		case "down":
			return plan.Swap(at, at+1)
		case "drop":
			return plan.Drop(at)
		}
		s := load.Stop{
			Job: c.FormValue("job"), Contact: c.FormValue("contact"), From: c.FormValue("from"), Until: c.FormValue("until"),
			Processor: c.FormValue("processor"), Step: c.FormValue("step"),
		}
		for l := range strings.Lines(c.FormValue("ship_to")) {
			if l = strings.TrimSpace(l); l != "" {
				s.ShipTo = append(s.ShipTo, l)
			}
		}
		if at >= len(plan.Stops) {
			plan.Stops = append(plan.Stops, load.StopPlan{Stop: s})
			return nil
		}
		plan.Stops[at].Stop = s
		return nil
	})
}

// replan takes a form of a load's page that changes its plan.
func (p *pages) replan(c echo.Context, what string, change func(*reader, *load.Plan) error) error {
	n, err := loadNumber(c)
	if err != nil {
		return err
	}
	o, err := origin(c, what+" "+n.String())
	if err != nil {
		return err
	}
	planned, r, err := p.floor.Replan(c.Request().Context(), o, n, func(plan *load.Plan) error { return change(&reader{c: c}, plan) })
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showLoad(c, n, planned, r.Answer, says)
}

// moveBundles takes the form under the plan of a load: what is ticked or typed goes to a stop, of this load or
// another, or off the plan.
func (p *pages) moveBundles(c echo.Context) error {
	n, err := loadNumber(c)
	if err != nil {
		return err
	}
	o, err := origin(c, "move "+n.String())
	if err != nil {
		return err
	}
	r := reader{c: c}
	bundles := append(r.numbersOf("bundle"), r.numbers("numbers")...)
	if len(bundles) == 0 {
		r.wrong("bundle", "is missing; tick the bundles, or scan their tags")
	}
	off := c.FormValue("to") == "off"
	to, stop := n, 0
	if !off && r.err == nil {
		to, stop, r.err = parseTarget(c.FormValue("to"))
	}
	var planned load.Planned
	var got floor.Receipt
	if err = r.err; err == nil {
		planned, got, err = p.floor.Replan(c.Request().Context(), o, to, func(plan *load.Plan) error {
			if off {
				plan.Off(bundles)
				return nil
			}
			if to == n {
				if err := unchanged(plan, c.FormValue("seen")); err != nil {
					return err
				}
			}
			plan.Move = to != n || c.FormValue("move") != ""
			return plan.Put(stop, bundles, nil)
		})
	}
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showLoad(c, n, planned, got.Answer, says)
}

// planPage is what is planned on no load yet, of a job or of one of its lists, and where it may go.
type planPage struct {
	Jobs    []event.JobSet
	Job     string
	List    string
	Lists   []looseList
	To      []goal
	Chosen  string // the target
	Picked  map[string]bool
	Date    string
	Leaves  string
	Refused string
}

// looseList is a bar list with what of it is planned nowhere.
type looseList struct {
	List  string
	Loose scan.Sum
	Lines []looseLine // of the list that is looked at
}

// looseLine is a line with its bundles that are planned nowhere.
type looseLine struct {
	*scan.Line
	Loose   scan.Sum
	Bundles []looseBundle
}

type looseBundle struct {
	scan.Bundle
	Next string
}

// plan shows what can be planned.
func (p *pages) plan(c echo.Context) error {
	return p.showPlan(c, planPage{Job: strings.TrimSpace(c.QueryParam("job")), List: strings.TrimSpace(c.QueryParam("list")), Chosen: c.QueryParam("to")})
}

func (p *pages) showPlan(c echo.Context, d planPage) error {
	lang := language(c)
	if err := p.floor.View(func(past *view.Past) error {
		past.Jobs(func(j event.JobSet) bool { d.Jobs = append(d.Jobs, j); return true })
		if d.Job == "" {
			return nil
		}
		d.To = p.targets(past, lang, d.Job)
		d.loose(past)
		return nil
	}); err != nil {
		return err
	}
	return p.render(c, "plan.html", p.word(lang, "plan bundles"), d)
}

// loose reads what of a job is planned on no load that is here, list by list, and line by line of the list that
// is looked at.
func (d *planPage) loose(past *view.Past) {
	for _, l := range past.LinesOf(d.Job, "") {
		line := looseLine{Line: l}
		for _, b := range past.BundlesOf(l) {
			on, _ := past.Load(b.Planned)
			if b.Voided || b.Load != 0 || b.Planned != 0 && on.Shipped == 0 {
				continue
			}
			m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces)) // sizes of lines were checked
			line.Loose.Bundles++
			line.Loose.Mass += m
			line.Bundles = append(line.Bundles, looseBundle{b, b.Next(l)})
		}
		if line.Loose.Bundles == 0 {
			continue
		}
		i := slices.IndexFunc(d.Lists, func(x looseList) bool { return x.List == l.List })
		if i < 0 {
			i, d.Lists = len(d.Lists), append(d.Lists, looseList{List: l.List})
		}
		at := &d.Lists[i]
		at.Loose.Bundles += line.Loose.Bundles
		at.Loose.Mass += line.Loose.Mass
		if d.List == l.List {
			at.Lines = append(at.Lines, line)
		}
	}
}

// planThem takes what was ticked, and plans it for the load and stop that was chosen.
func (p *pages) planThem(c echo.Context) error {
	o, err := origin(c, "plan bundles")
	if err != nil {
		return err
	}
	job := strings.TrimSpace(c.FormValue("job"))
	r := reader{c: c}
	bundles := r.numbersOf("bundle")
	var lines []load.Line
	form := c.Request().PostForm
	for _, list := range form["rest"] {
		lines = append(lines, load.Line{Job: job, List: list})
	}
	for _, mark := range form["mark"] {
		lines = append(lines, load.Line{Job: job, List: c.FormValue("list"), Mark: mark})
	}
	if len(bundles)+len(lines) == 0 {
		r.wrong("rest", "nothing is ticked; tick a list, lines or bundles")
	}
	to, stop, err := parseTarget(c.FormValue("to"))
	if r.err == nil {
		r.err = err
	}
	var planned load.Planned
	var got floor.Receipt
	put := func(plan *load.Plan) error {
		plan.Move = c.FormValue("move") != ""
		at := stop
		if at < 0 {
			at = len(plan.Stops)
			plan.Stops = append(plan.Stops, load.StopPlan{Stop: load.Stop{Job: job}})
		}
		return plan.Put(at, bundles, lines)
	}
	switch err = r.err; {
	case err != nil:
	case to == 0:
		plan := load.Plan{Date: c.FormValue("date"), Leaves: c.FormValue("leaves"), Limit: p.opt.LoadLimit}
		if err = put(&plan); err == nil {
			planned, got, err = p.floor.PlanLoad(c.Request().Context(), o, plan)
		}
	default:
		planned, got, err = p.floor.Replan(c.Request().Context(), o, to, put)
	}
	says, err := refusal(err)
	switch {
	case err != nil:
		return err
	case says == "":
		return p.showLoad(c, cmp.Or(to, planned.Set.Load), planned, got.Answer, "")
	}
	d := planPage{Job: job, List: c.FormValue("list"), Chosen: c.FormValue("to"), Refused: says, Picked: map[string]bool{}, Date: c.FormValue("date"), Leaves: c.FormValue("leaves")}
	for _, field := range []string{"rest", "mark", "bundle"} {
		for _, value := range form[field] {
			d.Picked[field+value] = true
		}
	}
	return p.showPlan(c, d)
}
