package rest

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) runs() {
	register(a, http.MethodGet, "/runs", "list-runs", "Runs, oldest first: of a station, between two runs or times", a.listRuns, group("runs"),
		about("A run is one piece of work at a cut station: what it was cut from, what it made and left."))
	register(a, http.MethodPost, "/runs/mend", "mend-charge", "Say that a lot lay on a feed and was not scanned, or did not lie there", a.mendCharge, group("runs"),
		about("One event restates the runs: what they may be of, and what they drew. The bundles, remnants and loads follow; the answer says which, and which break a rule by now. With dry_run it is only worked out. It is taken back by its opposite."))
}

type runsIn struct {
	Station string `query:"station" maxLength:"40" doc:"At this station only."`
	From    string `query:"from" maxLength:"40" doc:"A run's number, or a time: those that were open after it. 2026-01-05 14:00 is of the plant's zone."`
	To      string `query:"to" maxLength:"40" doc:"A run's number, or a time: those that were opened before it."`
	Paged
}

func (a *ops) listRuns(_ context.Context, in *runsIn) (*answer[api.Runs], error) {
	after := uint64(0)
	if in.After != "" {
		var err error
		if after, err = strconv.ParseUint(in.After, 10, 63); err != nil {
			return nil, invalid("query.after", "is no run; give the next of the page before")
		}
	}
	return look(a, func(p *view.Past) (api.Runs, error) {
		out := api.Runs{Runs: []api.RunRecord{}}
		q, err := a.f.RunsAsked(p, in.Station, in.From, in.To)
		if err != nil {
			return out, err
		}
		q.First = max(q.First, after+1)
		p.Runs(q, func(r scan.Run) bool {
			if len(out.Runs) == in.Limit {
				out.Next = seqText(out.Runs[len(out.Runs)-1].Seq)
				return false
			}
			out.Runs = append(out.Runs, a.runRecord(p, r))
			return true
		})
		return out, nil
	})
}

func (a *ops) runRecord(p *view.Past, r scan.Run) api.RunRecord {
	out := api.RunRecord{
		Run: api.Run{Seq: r.Seq, Steel: r.Steel.String(), Members: []api.Member{}, Lots: shown(r.Lots)}, Station: r.Station, Opened: at(r.At),
		Said: r.Said, Mended: r.Mended, RunDraw: a.runDraw(p.Closing(r)),
	}
	for _, m := range r.Members {
		out.Members = append(out.Members, a.member(p, m))
	}
	d := heat.Of(p, r.Lots)
	if r.Missing > 0 {
		d.Certainty = heat.Unknown
	}
	out.Draw = draw(d, true)
	if r.By != 0 {
		out.Closed = when(p.When(r.By))
	}
	return out
}

func (a *ops) runDraw(c event.RunClosed) api.RunDraw {
	out := api.RunDraw{Drawn: []api.Drew{}, Remnants: []api.Drew{}, Assumed: c.Assumed, Scrap: textOf(c.Scrap, a.units()), Missing: textOf(c.Missing, a.units())}
	for _, d := range c.Draws {
		out.Drawn = append(out.Drawn, api.Drew{Lot: d.Lot.String(), Bars: d.Bars, Over: d.Over})
	}
	for _, r := range c.Remnants {
		out.Remnants = append(out.Remnants, api.Drew{Lot: r.Lot.String(), Bars: r.Bars})
	}
	return out
}

// textOf prints a length, and nothing as "".
func textOf(l bar.Length, u bar.Units) string {
	if l == 0 {
		return ""
	}
	return l.Text(u)
}

func (a *ops) mendCharge(ctx context.Context, in *struct {
	Keyed
	Body api.MendCharge
}) (*answer[api.ChargeMended], error) {
	b := in.Body
	m := scan.Mending{Station: b.Station, Feed: b.Feed, Not: b.Not, Runs: b.Runs, Reason: b.Reason}
	var err error
	if m.Lot, err = oneNumber("body.lot", b.Lot, tags.Stock); err != nil {
		return nil, err
	}
	for i, d := range b.Bars {
		n, err := oneNumber(fmt.Sprintf("body.bars[%d].lot", i), d.Lot, tags.Stock)
		if err != nil {
			return nil, err
		}
		m.Bars = append(m.Bars, event.Draw{Lot: n, Bars: d.Bars})
	}
	if len(b.Runs) > 0 && b.From+b.To != "" {
		return nil, invalid("body.runs", "stand beside from and to; name the runs, or say between which")
	}
	o, err := a.origin("", b.By, in.Key, []any{"mend", b})
	if err != nil {
		return nil, err
	}
	// What it comes to is worked out before it is recorded, while the runs are as they were. A request that
	// is sent again meets them mended, and gets its first receipt all the same.
	out := api.ChargeMended{DryRun: b.DryRun, Against: []string{}}
	looked := a.f.View(func(p *view.Past) error { return a.mending(p, b, &m, &out) })
	if b.DryRun || looked != nil && o.Key == "" {
		return &answer[api.ChargeMended]{out}, looked
	}
	r, err := a.f.MendCharge(ctx, o, m)
	if err != nil {
		return nil, cmp.Or(looked, err)
	}
	e, err := floor.Body[event.ChargeMended](r)
	if err != nil {
		return nil, err
	}
	out.Recorded = recorded(r)
	out.Verdict, out.Notes = r.Answer.Verdict.String(), notes(r.Answer.Notes, scan.English)
	if r.Again {
		err = a.f.View(func(p *view.Past) error { a.restated(p, e, &out); return nil })
	}
	return &answer[api.ChargeMended]{out}, err
}

// mending finds the runs that are meant, and works out what mending them comes to.
func (a *ops) mending(p *view.Past, b api.MendCharge, m *scan.Mending, out *api.ChargeMended) error {
	if len(m.Runs) == 0 {
		if b.From == "" {
			return invalid("body.from", "is missing; name the runs, or say from which run or time the lot lay there")
		}
		q, err := a.f.RunsAsked(p, b.Station, b.From, b.To)
		if err != nil {
			return err
		}
		if m.Runs = floor.Mendable(p, q, m.Lot, m.Not); len(m.Runs) == 0 {
			return invalid("body.from", "finds no run of the lot's steel at "+b.Station+" that the record has otherwise")
		}
	}
	done, err := scan.Mend(p, a.f.Rules(), *m)
	if err != nil {
		return err
	}
	out.Verdict, out.Notes, out.Against = done.Answer.Verdict.String(), notes(done.Answer.Notes, scan.English), shown(done.Against)
	a.restated(p, done.Event, out)
	for i := range out.Runs {
		r, _ := p.Run(out.Runs[i].Run)
		if out.Runs[i].Before = shown(r.Lots); r.By != 0 {
			was := a.runDraw(p.Closing(r))
			out.Runs[i].Was = &was
		}
	}
	return nil
}

// restated says what runs are by an event that restates them, and what was made of them.
func (a *ops) restated(p *view.Past, e event.ChargeMended, out *api.ChargeMended) {
	out.Runs, out.Loads, out.Jobs = []api.Mended{}, []string{}, []string{}
	var runs []uint64
	for _, x := range e.Runs {
		runs = append(runs, x.Run)
		one := api.Mended{Run: x.Run, Before: []string{}, After: shown(x.Lots)}
		if x.Closed != nil {
			is := a.runDraw(*x.Closed)
			one.After, one.Is = shown(x.Closed.Lots), &is
		}
		out.Runs = append(out.Runs, one)
	}
	made := scan.MadeOf(p, runs)
	out.Bundles, out.Left = shown(made), []string{}
	for _, n := range made {
		b, _ := p.Bundle(n)
		if b.Shipped {
			out.Left = append(out.Left, n.String())
		}
		if job := p.Line(b.Line).Job; !slices.Contains(out.Jobs, job) {
			out.Jobs = append(out.Jobs, job)
		}
		if on := b.Load.String(); b.Load != 0 && !slices.Contains(out.Loads, on) {
			out.Loads = append(out.Loads, on)
		}
	}
}
