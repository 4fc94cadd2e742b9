package pages

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// loadPage is a load with its plan.
type loadPage struct {
	load.Load
	Departs scan.Truck
	Sums    scan.Sums
	Bar     weightBar
	Over    bar.Mass // planned beyond the limit
	Free    bar.Mass // of what lies on it
	Hold    *heat.Hold
	Plan    []plannedStop
	Other   []loadedBundle // lie on it and are not planned
	NewStop plannedStop    // an empty one behind them
	To      []goal         // where its bundles may be planned
	Seen    string         // the stops as the page shows them
	Answer  *event.Answer
	Moved   []movedBundle
	Refused string
	trip
}

type plannedStop struct {
	load.Stop
	At, Of  int // from 0, of how many
	Nth     int // from 1
	Name    string
	Address string
	Sums    scan.Sums
	Bar     weightBar
	Bundles []scan.Reached
}

type loadedBundle struct {
	scan.Bundle
	Line *scan.Line
}

type movedBundle struct {
	load.Move
	Bundle scan.Bundle
	Line   *scan.Line
}

func noLoad(text string) error {
	return web.Refuse("not-found", "There is no load "+text+".", "The loads that have not left are on the page of trucks.")
}

// load shows a load with its plan.
func (p *pages) load(c echo.Context) error {
	n, err := loadNumber(c)
	if err != nil {
		return err
	}
	return p.showLoad(c, n, load.Planned{}, nil, "")
}

// loadNumber is the load of an address.
func loadNumber(c echo.Context) (tags.Number, error) {
	n, err := tags.ParseNumber(c.Param("number"))
	if err != nil || n.Kind() != tags.Load {
		return 0, noLoad(c.Param("number"))
	}
	return n, nil
}

func (p *pages) showLoad(c echo.Context, n tags.Number, planned load.Planned, a *event.Answer, refused string) error {
	d := loadPage{Answer: a, Refused: refused}
	known := false
	lang := language(c)
	if err := p.floor.View(func(past *view.Past) error {
		if d.Load, known = past.Load(n); !known {
			return nil
		}
		d.Departs.Load = d.Load
		d.Departs.Leaves, d.Departs.Said = d.Leaving(p.floor.Rules().Calendar)
		d.Seen = stamp(d.Stops)
		all := scan.ReachOf(past, p.floor.Rules(), d.Load)
		var each []scan.Sums
		d.Sums, each = scan.SumUp(all, len(d.Stops))
		if d.Bar = drawWeights(d.Sums, d.Limit); d.Limit > 0 {
			d.Over, d.Free = max(0, d.Sums.All().Mass-d.Limit), d.Limit-d.Mass
		}
		for i, s := range d.Stops {
			job, _ := past.Job(s.Job)
			d.Plan = append(d.Plan, plannedStop{
				Stop: s, At: i, Of: len(d.Stops), Nth: i + 1, Name: job.Name, Address: strings.Join(s.ShipTo, "\n"), Sums: each[i], Bar: drawWeights(each[i], 0),
			})
		}
		d.NewStop.At = len(d.Plan)
		for _, r := range all {
			if r.Stop < len(d.Plan) {
				d.Plan[r.Stop].Bundles = append(d.Plan[r.Stop].Bundles, r)
			}
		}
		row := func(m tags.Number) loadedBundle {
			b, _ := past.Bundle(m)
			return loadedBundle{b, past.Line(b.Line)}
		}
		past.Loaded(n, func(m tags.Number) bool {
			if b := row(m); b.Planned != n {
				d.Other = append(d.Other, b)
			}
			return true
		})
		if h, held := past.Hold(event.Target{Number: n}); held {
			d.Hold = &h
		}
		if d.Shipped == 0 {
			d.To = p.targets(past, lang, "")
		}
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
	return p.render(c, "load.html", p.word(lang, "load")+" "+n.String(), d)
}

// loadsLeft are the loads that have left, the newest first, day by day.
type loadsLeft struct {
	Days  []leftDay
	Older tags.Number // 0: there are none
	First bool        // the page begins with the newest
}

type leftDay struct {
	Date  string
	Loads []leftLoad
}

type leftLoad struct {
	load.Load
	At      string // when it left, as "06:30"
	Handed  int    // stops that handed it over
	Differs string // of its weight on a scale
	Claims  int    // that are open
}

// mostLeft is how many loads that left a page lists.
const mostLeft = 50

// left lists loads that have left, from the one with the number before down.
func (p *pages) left(c echo.Context) error {
	before, _ := tags.ParseNumber(c.QueryParam("before"))
	d := loadsLeft{First: before == 0}
	zone := p.floor.Rules().Zone
	if err := p.floor.View(func(past *view.Past) error {
		count := 0
		past.LoadsBefore(before, func(l load.Load) bool {
			if l.Shipped == 0 {
				return true
			}
			if count++; count > mostLeft {
				return false
			}
			d.Older = l.Number
			at := time.UnixMilli(l.Shipped).In(zone)
			one := leftLoad{Load: l, At: at.Format("15:04"), Claims: len(past.ClaimsAfter(l.Number, 0, true))}
			for _, s := range l.Stops {
				if s.Delivered != 0 {
					one.Handed++
				}
			}
			if l.Weighed != 0 {
				one.Differs = scan.Beside(l.Net, l.Mass)
			}
			d.add(at.Format(time.DateOnly), one)
			return true
		})
		if count <= mostLeft {
			d.Older = 0
		}
		return nil
	}); err != nil {
		return err
	}
	d.sort()
	return p.render(c, "left.html", p.word(language(c), "loads left"), d)
}

// add puts a load under its day.
func (d *loadsLeft) add(date string, l leftLoad) {
	for i := range d.Days {
		if d.Days[i].Date == date {
			d.Days[i].Loads = append(d.Days[i].Loads, l)
			return
		}
	}
	d.Days = append(d.Days, leftDay{date, []leftLoad{l}})
}

// sort puts the days, and the loads of each, into the order in which they left, the newest first.
func (d *loadsLeft) sort() {
	slices.SortFunc(d.Days, func(a, b leftDay) int { return strings.Compare(b.Date, a.Date) })
	for _, day := range d.Days {
		slices.SortFunc(day.Loads, func(a, b leftLoad) int { return cmp.Compare(b.Shipped, a.Shipped) })
	}
}
