package rest

import (
	"bytes"
	"context"
	"net/http"
	"strconv"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/view"
)

func (a *ops) trace() {
	register(a, http.MethodGet, "/trace", "trace", "Where steel went, and where it came from", a.getTrace, group("trace"),
		about("From any number, alias, heat (with or without its mill), mark, bar list (job/list), job, or text of a cert, forward and back. A text that is several things is traced as all of them."),
		orTable[api.Trace](a))
}

type traceIn struct {
	Q      string `query:"q" required:"true" minLength:"1" maxLength:"8192" doc:"What is asked for, as written or scanned."`
	Format string `query:"format" enum:"json,csv" default:"json" doc:"csv is a table with one row a bundle and one a lot, for a spreadsheet."`
	AsOf
}

// stream is an answer that writes itself.
type stream struct{ Body func(huma.Context) }

func (a *ops) getTrace(_ context.Context, in *traceIn) (*stream, error) {
	out, err := lookThen(a, in.AsOf, in.Q, func(p *view.Past) (api.Trace, error) { return a.traced(p, p.Ask(in.Q)), nil })
	if err != nil {
		return nil, err
	}
	return tabled(a, in.Format, "trace.csv", out.Body, traceTable), nil
}

// traced is a trace on the wire.
func (a *ops) traced(p *view.Past, t view.Trace) api.Trace {
	out := api.Trace{
		Asked: t.Asked, Found: notNil(t.Found), Bundles: []api.TraceBundle{}, Lots: []api.Lot{}, Loads: shown(t.Loads),
		Jobs: notNil(t.Jobs), Certs: []api.Cert{}, Holds: []api.Hold{},
	}
	var all, shipped, inside, oneOf sum
	for _, b := range t.Bundles {
		one := api.TraceBundle{Bundle: a.bundle(p, b.Bundle), Lots: shown(b.Lots)}
		one.Held = b.Held
		out.Bundles = append(out.Bundles, one)
		all.add(b.Bundle, b.Mass)
		if b.Shipped {
			shipped.add(b.Bundle, b.Mass)
		} else if b.Drawn {
			inside.add(b.Bundle, b.Mass)
		}
		if b.Drawn && b.Heats.Certainty != heat.Certain {
			oneOf.add(b.Bundle, b.Mass)
		}
	}
	var mass bar.Mass
	for _, l := range t.Lots {
		out.Lots = append(out.Lots, a.lot(p, l.Lot))
		if !l.Gone {
			out.Totals.OnHand += max(0, l.OnHand())
			mass += l.Mass
		}
	}
	for _, c := range t.Certs {
		out.Certs = append(out.Certs, cert(c))
	}
	for _, h := range t.Holds {
		out.Holds = append(out.Holds, *hold(&h))
	}
	out.Totals.All, out.Totals.Shipped, out.Totals.Inside, out.Totals.OneOf = a.amount(all), a.amount(shipped), a.amount(inside), a.amount(oneOf)
	out.Totals.StockKG, out.Totals.Stock, out.Totals.Checks = mass.Kilograms(), mass.Text(a.units()), t.Checks
	out.Totals.Open, out.Totals.Disputes = t.Open, t.Disputes
	return out
}

// traceTable writes a trace as a table: bundles first, then lots.
func traceTable(b *bytes.Buffer, t api.Trace) {
	w := newTable(b, "what", "number", "job", "list", "mark", "bundle", "steel", "count", "length", "weight_kg", "where", "load", "shipped", "certainty", "heats", "held", "lots")
	for _, x := range t.Bundles {
		w.row("bundle", x.Number, x.Job, x.List, x.Mark, x.K+" of "+strconv.Itoa(x.N), x.Steel.Steel, strconv.Itoa(x.Pieces), x.Length,
			strconv.FormatFloat(x.WeightKG, 'f', 1, 64), x.Where, x.Load, yes(x.State == "shipped" || x.State == "delivered" || x.State == "away"), x.Certainty, heatsText(x.Heats), yes(x.Held), join(x.Lots))
	}
	for _, l := range t.Lots {
		what, where, count := lotCells(l)
		w.row(what, l.Number, "", "", "", "", l.Steel.Steel, count, l.Length,
			strconv.FormatFloat(l.WeightKG, 'f', 1, 64), where, "", "", l.Certainty, heatsText(l.Heats), yes(l.Held), join(l.Parents))
	}
	w.flush()
}

// lotCells are the cells of a lot in a table: what it is, where, and how many bars of it there are; coil has
// none.
func lotCells(l api.Lot) (what, where, count string) {
	what, where, count = "lot", l.Feed, strconv.Itoa(l.OnHand)
	if l.Remnant {
		what = "remnant"
	}
	if where == "" && l.Place != nil {
		where = l.Place.Name
	}
	if l.Coil {
		what, count = "coil", ""
	}
	return what, where, count
}
