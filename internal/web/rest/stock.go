package rest

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/sheet"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) stock() {
	register(a, http.MethodGet, "/stock", "list-stock", "Stock lots and remnants, by number", a.listStock, group("stock"))
	register(a, http.MethodPost, "/stock", "receive", "Take a stock lot in", a.receive, group("stock"), created,
		about("Bars have length and bars; coil has weight instead."))
	register(a, http.MethodPost, "/stock/import", "import-stock", "Take a file of stock lots, whole or not at all", a.importStock, group("stock"),
		about("CSV or XLSX, one lot a row, the column names in the first: "+columnNames(heat.StockColumns)+". All faults come at once, each with its row and field; with dry_run the file is only looked at, and its faults are part of the answer."))
	a.uploads("/stock/import", "file", nil, "text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	register(a, http.MethodPost, "/stock/expected", "expect-stock", "Write down a lot that a mill's paper says is coming", a.expect, group("stock"), created,
		about("It has its number from now on, so that its tag can hang ready. It is nothing on hand until a scan where stock is received, or /stock/{number}/confirm, says that it has come."))
	register(a, http.MethodPost, "/stock/counts", "count-yard", "Take a file of counts of the yard, whole or not at all", a.countYard, group("stock"),
		about("CSV or XLSX, one lot a row, the column names in the first: "+columnNames(heat.CountColumns)+"."))
	a.uploads("/stock/counts", "file", nil, "text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	register(a, http.MethodPost, "/stock/{number}/confirm", "confirm-lot", "Take in what came of an expected lot", a.confirm, group("stock"))
	register(a, http.MethodPost, "/stock/{number}/count", "count-lot", "Say how much of a lot lies there", a.countLot, group("stock"),
		about("The record is what was counted from then on; the difference stays in the lot's account."))
	register(a, http.MethodGet, "/stock/{number}", "get-lot", "A lot: its heats, what was drawn, and what is left of it", a.getLot, group("stock"))
	register(a, http.MethodPost, "/stock/{number}/heats", "set-heats", "Correct or add the heats of a lot", a.setHeats, group("stock"),
		about("Its runs, bundles and remnants follow: a heat lives on the lot only. The answer names all of them, and which break a rule of their job by now."))
}

func columnNames(columns []sheet.Column) string {
	var out []string
	for _, c := range columns {
		out = append(out, c.Name+" ("+c.About+")")
	}
	return strings.Join(out, "; ")
}

func (a *ops) stockDefaults() heat.StockDefaults {
	d := a.o.Defaults
	return heat.StockDefaults{LengthUnit: d.LengthUnit, Spec: d.Spec, Grade: d.Grade, Coating: d.Coating}
}

// barLength is the length of a lot's bars; coil has none.
func (a *ops) barLength(l heat.Lot) string {
	if l.Coil() {
		return ""
	}
	return l.Length.Text(a.units())
}

// lot is a lot on the wire.
func (a *ops) lot(p *view.Past, l heat.Lot) api.Lot {
	out := api.Lot{
		Number: l.Number.String(), Remnant: l.Remnant(), Mill: l.Mill, Draw: draw(heat.Of(p, []tags.Number{l.Number}), true),
		Steel: steel(l.Steel), Coil: l.Coil(), LengthMM: l.Length.MM(), Length: a.barLength(l), Received: l.Received, Taken: l.Taken,
		Over: l.Over, OnHand: l.OnHand(), ReceivedKG: l.Mass.Kilograms(), TakenKG: l.MassTaken.Kilograms(), OverKG: l.MassOver.Kilograms(), Feed: l.Feed, Melted: l.Melted, Rolled: l.Rolled, PO: l.PO, Run: l.Run,
		Gone: l.Gone, Copy: l.Copy, At: at(l.At), Parents: shown(l.Parents),
	}
	m := l.Weighs()
	out.WeightKG, out.Weight = m.Kilograms(), m.Text(a.units())
	out.MillBundles, out.MillCoils = a.millOwn(l.Bundles, l.Coils)
	out.Counted, out.CountedKG, out.CountedAt = l.Counted, l.CountedMass.Kilograms(), when(l.CountedAt)
	out.Paper = a.paper(l)
	if name, ok := p.Place(l.Place); ok {
		out.Place = &api.PlaceRef{Number: l.Place.String(), Name: name}
	}
	_, out.Held = heat.HoldOn(p, []tags.Number{l.Number})
	return out
}

func (a *ops) listStock(_ context.Context, in *struct {
	Size   string `query:"size" maxLength:"20" doc:"Of this size only."`
	Mill   string `query:"mill" maxLength:"60" doc:"Of this mill only."`
	Heat   string `query:"heat" maxLength:"32" doc:"Of lots that came in as of this heat."`
	OnHand bool   `query:"on_hand" doc:"With bars or coil on hand only."`
	State  string `query:"state" enum:"expected,short,here" doc:"Of what a mill's paper said was coming: what is expected still, what is short of it (late, or less came and no more is expected), or what is here."`
	Since  string `query:"not_counted_since" maxLength:"10" doc:"A day, 2026-11-30: only what is on hand, came before it, and was not counted on it or later."`
	Paged
}) (*answer[api.Stock], error) {
	after, err := pageNumber(in.After, tags.Stock)
	if err != nil {
		return nil, err
	}
	var size bar.Size
	if in.Size != "" {
		if size, err = bar.ParseSize(in.Size); err != nil {
			return nil, invalid("query.size", err.Error())
		}
	}
	uncounted := func(heat.Lot) bool { return true }
	if in.Since != "" {
		day, err := time.ParseInLocation(time.DateOnly, in.Since, a.f.Rules().Zone)
		if err != nil {
			return nil, invalid("query.not_counted_since", "is no day; write it as 2026-11-30")
		}
		uncounted = func(l heat.Lot) bool {
			return l.Any() && l.CountedAt < day.UnixMilli() && l.At < day.UnixMilli()
		}
	}
	today := a.today()
	return look(a, func(p *view.Past) (api.Stock, error) {
		out := api.Stock{Stock: []api.Lot{}}
		read := 0
		all := func(f func(heat.Lot) bool) { p.Lots(after, f) }
		if in.State == expectedState {
			all = p.Coming
		}
		all(func(l heat.Lot) bool {
			if l.Number <= after {
				return true
			}
			if len(out.Stock) == in.Limit || read == mostRead {
				out.Next = after.String()
				return false
			}
			read++
			after = l.Number
			if (size == "" || l.Steel.Size == size) && (in.Mill == "" || l.Mill == in.Mill) &&
				(in.Heat == "" || slices.Contains(l.Heats, in.Heat)) && (!in.OnHand || l.Any()) &&
				(in.State == "" || inState(l, in.State, today)) && uncounted(l) {
				out.Stock = append(out.Stock, a.lot(p, l))
			}
			return true
		})
		return out, nil
	})
}

func (a *ops) getLot(_ context.Context, in *thenIn) (*answer[api.LotDetail], error) {
	n, err := number(in.Number, tags.Stock)
	if err != nil {
		return nil, err
	}
	return lookThen(a, in.AsOf, n.Digits(), func(p *view.Past) (api.LotDetail, error) {
		l, ok := p.Lot(n)
		if !ok {
			return api.LotDetail{}, missing("Lot %v was never given out here.", n)
		}
		var on *api.Hold
		if h, ok := heat.HoldOn(p, []tags.Number{n}); ok {
			on = hold(&h)
		}
		return api.LotDetail{
			Lot: a.lot(p, l), Hold: on, Runs: notNil(p.RunsOf(n)), Children: shown(p.Children(n)),
			Certs: certs(p, heat.Of(p, []tags.Number{n}).Heats, l.Steel.Size), History: a.history(p, n),
		}, nil
	})
}

type receiveIn struct {
	Keyed
	Body api.Receive
}

func (a *ops) receive(ctx context.Context, in *receiveIn) (*answer[api.Received], error) {
	o, err := a.origin("", in.Body.By, in.Key, []any{"receive", in.Body})
	if err != nil {
		return nil, err
	}
	lot, err := a.incoming(in.Body)
	if err != nil {
		return nil, err
	}
	var r floor.Receipt
	if lot.Coil != nil {
		r, err = a.f.ReceiveCoil(ctx, o, *lot.Coil)
	} else {
		r, err = a.f.Receive(ctx, o, *lot.Bars)
	}
	if err != nil {
		return nil, err
	}
	return a.received(r)
}

// incoming reads a lot that a person has written down.
func (a *ops) incoming(b api.Receive) (in heat.Incoming, err error) {
	steel, err := heat.SteelOf(b.Size, b.Spec, b.Grade, b.Coating, a.stockDefaults())
	if err != nil {
		field, says := bar.SteelField(err)
		return in, invalid("body."+field, says)
	}
	place, err := a.place("body.place", b.Place)
	if err != nil {
		return in, err
	}
	if b.Weight != "" {
		in.Coil = &event.CoilReceived{Mill: b.Mill, Heats: b.Heats, Steel: steel, Place: place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO}
		in.Coil.Mass, in.Coil.Coils, err = coils(b)
		return in, err
	}
	e := event.LotReceived{Mill: b.Mill, Heats: b.Heats, Steel: steel, Bars: b.Bars, Place: place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO}
	if len(b.MillCoils) > 0 {
		return in, invalid("body.weight", "is missing; write what the coils weigh together, with its unit")
	}
	if e.Length, err = heat.LengthOf(b.Length, a.stockDefaults()); err != nil {
		return in, invalid("body.length", err.Error())
	}
	for _, m := range b.MillBundles {
		e.Bundles = append(e.Bundles, event.MillBundle{Number: m.Number, Bars: m.Bars})
	}
	in.Bars = &e
	return in, nil
}

// coils reads what a lot of coil weighs, and the mill's coils in it.
func coils(b api.Receive) (all bar.Mass, each []event.MillCoil, err error) {
	switch {
	case b.Length != "":
		return 0, nil, invalid("body.length", "stands beside a weight: bars have length and bars, coil has a weight")
	case b.Bars != 0:
		return 0, nil, invalid("body.bars", "stand beside a weight: bars have length and bars, coil has a weight")
	case len(b.MillBundles) > 0:
		return 0, nil, invalid("body.mill_bundles", "are of bars; write the coils as mill_coils")
	}
	if all, err = bar.ParseMass(b.Weight); err != nil {
		return 0, nil, invalid("body.weight", err.Error())
	}
	for i, c := range b.MillCoils {
		one := event.MillCoil{Number: c.Number}
		if c.Weight != "" {
			if one.Mass, err = bar.ParseMass(c.Weight); err != nil {
				return 0, nil, invalid(fmt.Sprintf("body.mill_coils[%d].weight", i), err.Error())
			}
		}
		each = append(each, one)
	}
	return all, each, nil
}

func (a *ops) received(r floor.Receipt) (*answer[api.Received], error) {
	return look(a, func(p *view.Past) (api.Received, error) {
		out := api.Received{Recorded: recorded(r), Lots: []api.Lot{}}
		for _, e := range r.Events {
			var n tags.Number
			switch b := e.Body.(type) {
			case event.LotReceived:
				n = b.Lot
			case event.CoilReceived:
				n = b.Lot
			case event.LotExpected:
				n = b.Lot
			case event.PlaceMade:
				out.Places = append(out.Places, b.Name)
				continue
			default:
				continue
			}
			l, _ := p.Lot(n)
			out.Lots = append(out.Lots, a.lot(p, l))
		}
		return out, nil
	})
}
