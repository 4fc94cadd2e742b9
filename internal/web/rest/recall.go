package rest

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/export"
	"tagd/internal/heat"
	"tagd/internal/view"
)

func (a *ops) recall() {
	register(a, http.MethodGet, "/recall", "recall", "Everything downstream of a heat, lot, cert or mill, and where it is now", a.getRecall, group("trace"),
		about("In the order of haste: on a truck that is here, left (whom to call), ready, at work, lying, in stock; what is certain apart from what may be of other heats. A cert recalls the heats and sizes on it, a mill all its heats. csv is a table with one row a bundle and one a lot, pdf a paper."),
		orTable[api.Recall](a), func(op *huma.Operation) {
			op.Responses["200"].Content["application/pdf"] = &huma.MediaType{Schema: &huma.Schema{Type: "string", Format: "binary"}}
		})
}

// AsOf is the moment as of which something is asked.
type AsOf struct {
	AsOf string `query:"as_of" maxLength:"40" doc:"A past moment: the sequence of a record, a time with its offset, or by the plant's clock 2026-11-25 14:00 or 2026-11-25 (its end). The answer is that of the record at that sequence. Left out: now."`
}

// then is the past as of the moment that is asked for.
func (a *ops) then(p *view.Past, in AsOf, about string) (*view.Past, error) {
	then, err := a.f.AsOf(p, in.AsOf, about)
	var no *event.Refusal
	if errors.As(err, &no) {
		return nil, invalid("query."+no.Field, no.Says)
	}
	return then, err
}

// lookThen is look as of the moment that is asked for.
func lookThen[T any](a *ops, in AsOf, about string, query func(*view.Past) (T, error)) (*answer[T], error) {
	return look(a, func(p *view.Past) (out T, err error) {
		if p, err = a.then(p, in, about); err != nil {
			return out, err
		}
		return query(p)
	})
}

type recallIn struct {
	Q      string `query:"q" required:"true" minLength:"1" maxLength:"8192" doc:"A heat, with or without its mill; a lot's number, or a mill's number of it; the text of a cert; a mill. As written or scanned."`
	Format string `query:"format" enum:"json,csv,pdf" default:"json"`
	Paper  string `query:"paper" enum:"letter,a4" default:"letter" doc:"Of the pdf."`
	AsOf
}

func (a *ops) getRecall(_ context.Context, in *recallIn) (*stream, error) {
	if in.Format == "pdf" {
		return a.recallPaper(in)
	}
	out, err := lookThen(a, in.AsOf, in.Q, func(p *view.Past) (api.Recall, error) { return a.recalled(p, p.Recall(in.Q)), nil })
	if err != nil {
		return nil, err
	}
	return tabled(a, in.Format, "recall.csv", out.Body, recallTable), nil
}

// recalled is a recall on the wire.
func (a *ops) recalled(p *view.Past, r view.Recall) api.Recall {
	out := api.Recall{
		Asked: r.Asked, Found: notNil(r.Found), Heats: heats(r.Heats), Groups: []api.RecallGroup{}, Calls: []api.RecallCall{}, Bundles: []api.RecallBundle{},
		Lots: []api.RecallLot{}, Certs: []api.Cert{}, Holds: []api.Hold{}, Checks: r.Checks, Open: r.Open, Disputes: r.Disputes, Unsaid: []api.Said{}, Through: r.Through, At: at(p.When(r.Through)),
	}
	for _, g := range r.Groups {
		english, spanish := g.Haste.Title()
		out.Groups = append(out.Groups, api.RecallGroup{
			Sure: sure(g.Haste, g.Sure), Title: api.Said{English: english, Spanish: spanish},
			Amount: a.amount(sum{g.Bundles, g.Pieces, g.Mass}), Lots: g.Lots, Bars: g.Bars, StockKG: g.Stock.Kilograms(), Stock: g.Stock.Text(a.units()),
			Loads: shown(g.Loads), Jobs: notNil(g.Jobs),
		})
	}
	for _, c := range r.Calls {
		one := api.RecallCall{Load: c.Load.String(), Job: c.Job.Job, JobName: c.Job.Name, Stop: c.Stop, ShipTo: notNil(c.ShipTo), Contact: c.Contact, Truck: c.Truck, Left: when(c.Left), Amount: a.amount(sum{c.Bundles, c.Pieces, c.Mass})}
		out.Calls = append(out.Calls, one)
	}
	for _, b := range r.Bundles {
		one := api.RecallBundle{Sure: sure(b.Haste, b.Sure), TraceBundle: api.TraceBundle{Bundle: a.bundle(p, b.Bundle), Lots: shown(b.Lots)}}
		one.Held = b.Held
		if l, ok := p.Load(b.Load); ok {
			one.Stop = p.StopOf(l, b.Bundle) + 1
		}
		out.Bundles = append(out.Bundles, one)
	}
	for _, l := range r.Lots {
		out.Lots = append(out.Lots, api.RecallLot{Sure: sure(l.Haste, l.Sure), Lot: a.lot(p, l.Lot)})
	}
	for _, c := range r.Certs {
		out.Certs = append(out.Certs, cert(c))
	}
	for _, h := range r.Holds {
		out.Holds = append(out.Holds, *hold(&h))
	}
	for _, s := range view.Unsaid {
		out.Unsaid = append(out.Unsaid, api.Said{English: s[0], Spanish: s[1]})
	}
	return out
}

func sure(h view.Haste, c heat.Certainty) api.Sure {
	return api.Sure{Haste: h.String(), Sure: string(c)}
}

// recallTable writes a recall as a table: bundles in the order of haste, then lots.
func recallTable(b *bytes.Buffer, r api.Recall) {
	w := newTable(b, "haste", "sure", "what", "number", "job", "list", "mark", "bundle", "steel", "count", "length", "weight_kg", "where", "load", "ship_to", "contact", "left", "certainty", "heats", "held", "lots")
	type site struct {
		load, job string
		stop      int
	}
	calls := map[site]api.RecallCall{}
	for _, c := range r.Calls {
		calls[site{c.Load, c.Job, c.Stop}] = c
	}
	for _, x := range r.Bundles {
		var left string
		c := calls[site{x.Load, x.Job, x.Stop}]
		if c.Left != nil {
			left = c.Left.Format("2006-01-02T15:04:05Z07:00")
		}
		w.row(x.Haste, x.Sure.Sure, "bundle", x.Number, x.Job, x.List, x.Mark, x.K+" of "+strconv.Itoa(x.N), x.Steel.Steel, strconv.Itoa(x.Pieces), x.Length,
			strconv.FormatFloat(x.WeightKG, 'f', 1, 64), x.Where, x.Load, strings.Join(c.ShipTo, ", "), c.Contact, left, x.Certainty, heatsText(x.Heats), yes(x.Held), join(x.Lots))
	}
	for _, l := range r.Lots {
		what, where, count := lotCells(l.Lot)
		w.row(l.Haste, l.Sure.Sure, what, l.Number, "", "", "", "", l.Steel.Steel, count, l.Length,
			strconv.FormatFloat(l.WeightKG, 'f', 1, 64), where, "", "", "", "", l.Certainty, heatsText(l.Heats), yes(l.Held), join(l.Parents))
	}
	w.flush()
}

// recallPaper is a recall on paper.
func (a *ops) recallPaper(in *recallIn) (*stream, error) {
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	r := export.Recall{Plant: []string{a.f.Rules().Name}, Asked: in.Q, Units: a.f.Rules().Units, Printed: a.stamp(a.o.Now().UnixMilli())}
	err = a.f.View(func(p *view.Past) error {
		p, err := a.then(p, in.AsOf, in.Q)
		if err != nil {
			return err
		}
		t := p.Recall(in.Q)
		if len(t.Found) == 0 {
			return missing("Nothing here goes by the name of %s.", in.Q)
		}
		r.Through, r.Holds, r.Certs, r.Heats, r.Disputes = t.Through, a.holdsOf(t.Holds, names), t.Certs, slices.Clone(t.Heats), t.Disputes
		for _, b := range t.Bundles {
			if b.Haste != view.NoMore {
				r.Bundles = append(r.Bundles, a.tracedBundle(p, b.TracedBundle))
			}
		}
		for _, l := range t.Lots {
			r.Lots = append(r.Lots, a.tracedLot(l.TracedLot))
		}
		for _, c := range t.Calls {
			r.Loads = append(r.Loads, a.sentTo(c))
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return paper(r, in.Paper, "recall.pdf", 0)
}

func (a *ops) sentTo(c view.Call) export.Sent {
	s := export.Sent{Load: c.Load, Stop: c.Stop, Job: c.Job.Job, JobName: c.Job.Name, ShipTo: c.ShipTo, Contact: c.Contact, Truck: c.Truck}
	if c.Left != 0 {
		s.Left = a.stamp(c.Left)
	}
	return s
}
