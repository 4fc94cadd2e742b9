package pages

import (
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// jobsPage is the jobs by the day on which their first truck leaves.
type jobsPage struct {
	Rows    []jobRow
	All     bool // those too of which everything was delivered
	Open    int  // jobs, without the shop's own stock
	Late    int
	Sum     view.Progress // of the open ones
	Refused string
	Form    event.JobSet // what was typed into a form that was refused
}

// jobRow is a job with how far it is, and what of it wants somebody.
type jobRow struct {
	event.JobSet
	view.Progress
	Lists []view.ListProgress
	// Truck is the first one that is planned for it; nil none.
	Truck     *scan.Truck
	Miss, May int // bundles that will, or may, miss their truck
	Late      int // days since that truck should have left; 1 is today
	Held      int // bundles that a hold stops
}

// Acts says whether something of the job wants somebody.
func (r jobRow) Acts() bool { return r.Late+r.Miss+r.May+r.Held+r.Checks+r.Owed > 0 }

// done says whether everything of the job was delivered.
func (r jobRow) done() bool { return r.All() == r.Delivered && r.Delivered.Pieces > 0 }

// Bar is the progress drawn by weight.
func (r jobRow) Bar() []barPart { return progressBar(r.Progress) }

// barPart is a part of a progress bar, in units of a drawing 400 wide.
type barPart struct {
	Stage string
	X, W  float64
}

// progressBar draws how far something is by weight; a part that is there is at least as wide as a line.
func progressBar(g view.Progress) []barPart {
	const wide, least = 400.0, 3.0
	all := g.All().Mass
	if all <= 0 {
		return nil
	}
	var out []barPart
	x := 0.0
	for _, one := range []struct {
		stage string
		of    view.Amount
	}{{"delivered", g.Delivered}, {"away", g.Away}, {"made", g.Made}, {"planned", g.Planned}} {
		if one.of.Mass <= 0 {
			continue
		}
		w := wide * float64(one.of.Mass) / float64(all)
		out = append(out, barPart{one.stage, x, max(w-1.5, least)})
		x += w
	}
	return out
}

// listBar is the drawing of a list's progress.
func listBar(l view.ListProgress) []barPart { return progressBar(l.Progress) }

// jobPage is one job.
type jobPage struct {
	jobRow
	Files   map[string]view.List // the bar lists, by their numbers
	Loads   []load.Load          // newest first
	More    bool                 // of them
	Repl    []owedBundle
	Claims  []jobClaim
	Holding []heldOf
	Answer  *event.Answer
	Done    bool // the form was taken
	Refused string
	Form    event.JobSet
}

// owedBundle is a bundle in the place of pieces that were lost.
type owedBundle struct {
	scan.Bundle
	Line *scan.Line
}

type jobClaim struct {
	event.Claimed
	Seq    uint64
	At     int64
	Open   bool
	Answer event.Amends
}

// heldOf is a hold with how many bundles of a job it stops.
type heldOf struct {
	Name    string
	Bundles int
}

// mostLoads is how many loads a job's page shows, mostAsked how many loads it looks through for them.
const (
	mostLoads = 60
	mostAsked = 20_000
)

// jobs lists the jobs.
func (p *pages) jobs(c echo.Context) error {
	return p.showJobs(c, jobsPage{All: c.QueryParam("show") == "all"})
}

func (p *pages) showJobs(c echo.Context, d jobsPage) error {
	now := time.Now()
	_, err := p.floor.Outlook(now, func(past *view.Past, o *floor.Outlook) error {
		held := holding(past)
		past.Jobs(func(j event.JobSet) bool {
			r := p.jobRow(past, j, o, now)
			for _, of := range held[j.Job] {
				r.Held += of.Bundles
			}
			if r.Late+r.Miss > 0 {
				d.Late++
			}
			if !r.done() {
				if !j.Stock {
					d.Open++
					d.Sum.Add(r.Progress)
				}
			} else if !d.All && !r.Acts() {
				return true
			}
			d.Rows = append(d.Rows, r)
			return true
		})
		return nil
	})
	if err != nil {
		return err
	}
	slices.SortStableFunc(d.Rows, func(a, b jobRow) int {
		switch {
		case a.Truck != nil && b.Truck != nil:
			return a.Truck.Leaves.Compare(b.Truck.Leaves)
		case a.Truck != nil:
			return -1
		case b.Truck != nil:
			return 1
		}
		return 0
	})
	return p.render(c, "jobs.html", p.word(language(c), "jobs"), d)
}

// jobRow reads how a job stands.
func (p *pages) jobRow(past *view.Past, j event.JobSet, o *floor.Outlook, now time.Time) jobRow {
	r := jobRow{JobSet: j, Lists: p.floor.Progress(past, j.Job)}
	for _, l := range r.Lists {
		r.Add(l.Progress)
	}
	for i, t := range o.Trucks {
		if !t.Leaves.IsZero() && slices.ContainsFunc(t.Stops, func(s load.Stop) bool { return s.Job == j.Job }) {
			r.Truck = &o.Trucks[i]
			if t.Leaves.Before(now) {
				zone := p.floor.Rules().Zone
				r.Late = daysBetween(t.Leaves.In(zone), now.In(zone)) + 1
			}
			break
		}
	}
	for i, n := range o.Needs {
		if n.Line.Job != j.Job {
			continue
		}
		switch o.Forecasts[i].Chance {
		case load.WillMiss:
			r.Miss++
		case load.MayMiss:
			r.May++
		}
	}
	return r
}

// daysBetween counts the midnights between two moments.
func daysBetween(from, to time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(to).Sub(day(from)).Hours() / 24)
}

// holding counts, job by job, the bundles here that each hold stops.
func holding(past *view.Past) map[string][]heldOf {
	out := map[string][]heldOf{}
	var targets []event.Target
	past.Holds(func(h heat.Hold) bool { targets = append(targets, h.Target); return true })
	for _, t := range targets {
		name := t.Mill + " " + t.Heat
		if t.Number != 0 {
			name = t.Number.String()
		}
		count := map[string]int{}
		for _, b := range past.RecallOf(t).Bundles {
			if !b.Shipped && !b.Voided {
				count[b.Line.Job]++
			}
		}
		for job, n := range count {
			out[job] = append(out[job], heldOf{name, n})
		}
	}
	return out
}

// setJob makes a job, or states one anew, whole.
func (p *pages) setJob(c echo.Context) error {
	job, err := ofPath(c, "job")
	if err != nil {
		return err
	}
	fresh := job == ""
	if fresh {
		job = c.FormValue("job")
	}
	o, err := origin(c, "job "+job)
	if err != nil {
		return err
	}
	form := event.JobSet{
		Job: job, Name: c.FormValue("name"), Customer: c.FormValue("customer"), PO: c.FormValue("po"), Agency: c.FormValue("agency"),
		ShipTo: lines(c.FormValue("ship_to")), Heats: event.HeatRule(c.FormValue("heats")), Certs: event.CertRule(c.FormValue("certs")),
		Spec: c.FormValue("spec"), Edition: c.FormValue("edition"), Coating: c.FormValue("coating"), Country: c.FormValue("country"),
		Stock: c.FormValue("stock") != "",
	}
	if fresh {
		err = p.floor.View(func(past *view.Past) error {
			if past.HasJob(strings.TrimSpace(job)) && strings.TrimSpace(job) != "" {
				return &event.Refusal{Field: "job", Says: "is here already; open it, and state it anew there"}
			}
			return nil
		})
	}
	if err == nil {
		var r floor.Receipt
		if r, err = p.floor.SetJob(c.Request().Context(), o, form); err == nil {
			for _, e := range r.Events {
				if j, ok := e.Body.(event.JobSet); ok {
					job = j.Job
				}
			}
		}
	}
	says, err := refusal(err)
	switch {
	case err != nil:
		return err
	case says != "" && fresh:
		return p.showJobs(c, jobsPage{Refused: says, Form: form})
	case says != "":
		return p.showJob(c, job, jobPage{Refused: says, Form: form})
	}
	return p.showJob(c, job, jobPage{Done: true})
}

// lines are the lines of a text that say something.
func lines(text string) (out []string) {
	for l := range strings.Lines(text) {
		if l = strings.TrimSpace(l); l != "" {
			out = append(out, l)
		}
	}
	return out
}

// ofPath is a part of the address of a page, as it was before it was escaped: numbers of jobs and lists are text.
func ofPath(c echo.Context, name string) (string, error) {
	text := c.Param(name)
	if c.Request().URL.RawPath == "" {
		return text, nil
	}
	plain, err := url.PathUnescape(text)
	if err != nil {
		return "", web.Refuse("not-found", "The address cannot be read.", "")
	}
	return plain, nil
}

// job shows a job.
func (p *pages) job(c echo.Context) error {
	job, err := ofPath(c, "job")
	if err != nil {
		return err
	}
	return p.showJob(c, job, jobPage{})
}

func (p *pages) showJob(c echo.Context, job string, d jobPage) error {
	now := time.Now()
	_, err := p.floor.Outlook(now, func(past *view.Past, o *floor.Outlook) error {
		j, ok := past.Job(job)
		if !ok {
			return web.Refuse("not-found", "Job "+job+" is not known here.", "Look it up in the list of jobs.")
		}
		d.jobRow = p.jobRow(past, j, o, now)
		if d.Holding = holding(past)[job]; d.Form.Job == "" {
			d.Form = j
		}
		for _, h := range d.Holding {
			d.Held += h.Bundles
		}
		d.Files = map[string]view.List{}
		for _, l := range d.Lists {
			d.Files[l.List], _ = past.ListOf(job, l.List)
		}
		asked := 0
		past.Loads(func(l load.Load) bool {
			if asked++; asked > mostAsked || len(d.Loads) == mostLoads {
				d.More = true
				return false
			}
			if slices.ContainsFunc(l.Stops, func(s load.Stop) bool { return s.Job == job }) {
				d.Loads = append(d.Loads, l)
			}
			return true
		})
		for _, l := range d.Loads {
			d.claims(past, l.Number)
		}
		slices.SortFunc(d.Claims, func(a, b jobClaim) int { return int(b.Seq) - int(a.Seq) })
		if d.Owed > 0 {
			d.replacements(past)
		}
		return nil
	})
	if err != nil {
		return err
	}
	title := d.JobSet.Job
	if d.Name != "" {
		title += " " + d.Name
	}
	return p.render(c, "job.html", title, d)
}

// claims reads the claims on a load that are about the job.
func (d *jobPage) claims(past *view.Past, on tags.Number) {
	past.Claims(on, func(seq, answer uint64) bool {
		e := past.Event(seq)
		claim, ok := e.Body.(event.Claimed)
		if !ok {
			return true
		}
		if claim.Line == 0 {
			b, _ := past.Bundle(claim.Bundle)
			claim.Line = b.Line
		}
		if past.Line(claim.Line).Job != d.JobSet.Job {
			return true
		}
		one := jobClaim{Claimed: claim, Seq: seq, At: e.Recorded, Open: answer == 0}
		if answer != 0 {
			if a, ok := past.Event(answer).Body.(event.ClaimAnswered); ok {
				one.Answer = a.Answer
			}
		}
		d.Claims = append(d.Claims, one)
		return true
	})
}

// replacements finds the bundles that are still owed for pieces that were lost.
func (d *jobPage) replacements(past *view.Past) {
	for _, l := range past.LinesOf(d.JobSet.Job, "") {
		for _, b := range past.BundlesOf(l) {
			if b.Replaces() && !b.Voided && !b.Begun() {
				d.Repl = append(d.Repl, owedBundle{b, past.Line(b.Line)})
			}
		}
	}
}
