package pages

import (
	"slices"
	"strconv"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// runsPage is the newest runs of a station, and the form by which a forgotten charge is mended.
type runsPage struct {
	Station scan.Station
	Runs    []runRow
	Before  uint64 // the page of earlier runs; 0: there are none
	Answer  *event.Answer
	Refused string
	Dry     bool
	Was     map[uint64]runRow
	Is      []event.RunMended
	Lot     string
	Feed    string
	Reason  string
	Not     bool
	Chosen  map[uint64]bool
}

type runRow struct {
	scan.Run
	Closed event.RunClosed
	Made   []madeOf
}

// madeOf is a bundle in a run.
type madeOf struct {
	scan.Member
	Line *scan.Line
	Name string
	N    int
}

// mostRuns is how many runs a page shows.
const mostRuns = 50

// stationOf is the station of an address.
func (p *pages) stationOf(c echo.Context) (scan.Station, error) {
	st, ok := p.floor.Rules().Station(c.Param("station"))
	if !ok {
		return st, web.Refuse("not-found", "There is no station "+c.Param("station")+".", "Choose one on the front page.")
	}
	return st, nil
}

func (p *pages) runs(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	return p.showRuns(c, runsPage{Station: st})
}

// mend takes the form: only to look at, or to record.
func (p *pages) mend(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	o, err := origin(c, "mend")
	if err != nil {
		return err
	}
	d := runsPage{Station: st, Lot: c.FormValue("lot"), Feed: c.FormValue("feed"), Reason: c.FormValue("reason"), Not: c.FormValue("not") != "", Chosen: map[uint64]bool{}, Was: map[uint64]runRow{}}
	m := scan.Mending{Station: st.Name, Feed: d.Feed, Not: d.Not, Reason: d.Reason}
	for _, text := range c.Request().PostForm["run"] {
		if seq, err := strconv.ParseUint(text, 10, 63); err == nil {
			m.Runs, d.Chosen[seq] = append(m.Runs, seq), true
		}
	}
	d.Dry = c.FormValue("do") != "record"
	m.Lot, err = tags.ParseNumber(d.Lot)
	if err == nil && d.Dry {
		err = p.floor.View(func(past *view.Past) error {
			out, err := scan.Mend(past, p.floor.Rules(), m)
			if err != nil {
				return err
			}
			d.Answer, d.Is = &out.Answer, out.Event.Runs
			for _, x := range out.Event.Runs {
				d.Was[x.Run] = rowOf(past, x.Run)
			}
			return nil
		})
	} else if err == nil {
		var r floor.Receipt
		if r, err = p.floor.MendCharge(c.Request().Context(), o, m); err == nil {
			d = runsPage{Station: st, Answer: r.Answer}
		}
	} else {
		err = &event.Refusal{Field: "lot", Says: err.Error()}
	}
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	return p.showRuns(c, d)
}

func rowOf(past *view.Past, seq uint64) runRow {
	r, _ := past.Run(seq)
	row := runRow{Run: r, Closed: past.Closing(r)}
	for _, m := range r.Members {
		b, _ := past.Bundle(m.Bundle)
		row.Made = append(row.Made, madeOf{m, past.Line(b.Line), b.Name(), b.N})
	}
	return row
}

// showRuns shows the newest runs of the station, or those before one.
func (p *pages) showRuns(c echo.Context, d runsPage) error {
	before, _ := strconv.ParseUint(c.QueryParam("before"), 10, 63)
	if err := p.floor.View(func(past *view.Past) error {
		past.RunsBefore(d.Station.Name, before, func(r scan.Run) bool {
			if len(d.Runs) == mostRuns {
				d.Before = d.Runs[mostRuns-1].Seq
				return false
			}
			d.Runs = append(d.Runs, rowOf(past, r.Seq))
			return true
		})
		return nil
	}); err != nil {
		return err
	}
	for seq := range d.Chosen {
		if !slices.ContainsFunc(d.Runs, func(r runRow) bool { return r.Seq == seq }) {
			delete(d.Chosen, seq)
		}
	}
	return p.render(c, "runs.html", d.Station.Title, d)
}
