package rest

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) stock() {
	register(a, http.MethodGet, "/stock", "list-stock", "Stock lots and remnants, by number", a.listStock, group("stock"))
	register(a, http.MethodPost, "/stock", "receive", "Take a stock lot in", a.receive, group("stock"), created,
		about("Bars have length and bars; coil has weight instead."))
	register(a, http.MethodPost, "/stock/import", "import-stock", "Take a file of stock lots in, whole or not at all", a.importStock, group("stock"),
		about("CSV or XLSX, one lot a row, the column names in the first: "+stockColumns()+". All faults come at once, each with its row and field."))
	a.uploads("/stock/import", "file", nil, "text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")
	register(a, http.MethodGet, "/stock/{number}", "get-lot", "A lot: its heats, what was drawn, and what is left of it", a.getLot, group("stock"))
	register(a, http.MethodPost, "/stock/{number}/heats", "set-heats", "Correct or add the heats of a lot", a.setHeats, group("stock"),
		about("Its runs, bundles and remnants follow: a heat lives on the lot only."))
}

func stockColumns() string {
	var out []string
	for _, c := range heat.StockColumns {
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
	for _, b := range l.Bundles {
		out.MillBundles = append(out.MillBundles, api.MillBundle{Number: b.Number, Bars: b.Bars})
	}
	for _, c := range l.Coils {
		one := api.MillCoil{Number: c.Number}
		if c.Mass != 0 {
			one.Weight = c.Mass.Text(a.units())
		}
		out.MillCoils = append(out.MillCoils, one)
	}
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
	return look(a, func(p *view.Past) (api.Stock, error) {
		out := api.Stock{Stock: []api.Lot{}}
		read := 0
		p.Lots(after, func(l heat.Lot) bool {
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
				(in.Heat == "" || slices.Contains(l.Heats, in.Heat)) && (!in.OnHand || l.Any()) {
				out.Stock = append(out.Stock, a.lot(p, l))
			}
			return true
		})
		return out, nil
	})
}

func (a *ops) getLot(_ context.Context, in *numberIn) (*answer[api.LotDetail], error) {
	n, err := number(in.Number, tags.Stock)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.LotDetail, error) {
		l, ok := p.Lot(n)
		if !ok {
			return api.LotDetail{}, missing("Lot %v was never given out here.", n)
		}
		return api.LotDetail{
			Lot: a.lot(p, l), Runs: notNil(p.RunsOf(n)), Children: shown(p.Children(n)),
			Certs: certs(p, heat.Of(p, []tags.Number{n}).Heats, l.Steel.Size), History: history(p, n),
		}, nil
	})
}

type receiveIn struct {
	Keyed
	Body api.Receive
}

func (a *ops) receive(ctx context.Context, in *receiveIn) (*answer[api.Received], error) {
	b := in.Body
	o, err := a.origin("", b.By, in.Key, []any{"receive", b})
	if err != nil {
		return nil, err
	}
	steel, err := heat.SteelOf(b.Size, b.Spec, b.Grade, b.Coating, a.stockDefaults())
	if err != nil {
		field, says, _ := strings.Cut(err.Error(), ": ")
		return nil, invalid("body."+field, says)
	}
	place, err := a.place("body.place", b.Place)
	if err != nil {
		return nil, err
	}
	var r floor.Receipt
	if b.Weight != "" {
		e := event.CoilReceived{Mill: b.Mill, Heats: b.Heats, Steel: steel, Place: place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO}
		if e.Mass, e.Coils, err = coils(b); err != nil {
			return nil, err
		}
		r, err = a.f.ReceiveCoil(ctx, o, e)
	} else {
		e := event.LotReceived{Mill: b.Mill, Heats: b.Heats, Steel: steel, Bars: b.Bars, Place: place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO}
		if len(b.MillCoils) > 0 {
			return nil, invalid("body.weight", "is missing; write what the coils weigh together, with its unit")
		}
		if e.Length, err = heat.LengthOf(b.Length, a.stockDefaults()); err != nil {
			return nil, invalid("body.length", err.Error())
		}
		for _, m := range b.MillBundles {
			e.Bundles = append(e.Bundles, event.MillBundle{Number: m.Number, Bars: m.Bars})
		}
		r, err = a.f.Receive(ctx, o, e)
	}
	if err != nil {
		return nil, err
	}
	return a.received(r)
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
			default:
				continue
			}
			l, _ := p.Lot(n)
			out.Lots = append(out.Lots, a.lot(p, l))
		}
		return out, nil
	})
}

type importIn struct {
	Name   string   `query:"name" maxLength:"200" doc:"Name of the file, for those who read its faults."`
	Device string   `query:"device" maxLength:"100" doc:"What the request was made with."`
	People []string `query:"people" maxItems:"20" doc:"Numbers of the badges of those who did it, with commas."`
	Keyed
	Upload
}

func (a *ops) importStock(ctx context.Context, in *importIn) (*answer[api.Received], error) {
	name, data, err := in.read("file", mostUpload)
	if err != nil {
		return nil, err
	}
	if in.Name != "" {
		name = in.Name
	}
	if name == "" {
		name = "stock"
	}
	by := api.By{Device: in.Device, People: in.People}
	o, err := a.origin("", by, in.Key, []any{"stock", by, string(data)})
	if err != nil {
		return nil, err
	}
	rows, faults, warnings := heat.ReadStock(name, data, a.stockDefaults())
	bad := rowFaults(faults)
	var lots []event.LotReceived
	err = a.f.View(func(p *view.Past) error {
		for _, row := range rows {
			lot := row.Lot
			if row.Place != "" {
				var ok bool
				if lot.Place, ok = p.PlaceNamed(row.Place); !ok {
					bad = append(bad, api.RowFault{Row: row.Row, Field: "place", Says: "there is no place " + row.Place + "; make it first, or leave it out"})
				}
			}
			lots = append(lots, lot)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(bad) > 0 {
		return nil, fileProblem(name, append(bad, a.refused(rows, lots)...))
	}
	r, err := a.f.ReceiveAll(ctx, o, lots)
	var row *floor.RowError
	if errors.As(err, &row) {
		if bad = a.refused(rows, lots); len(bad) == 0 { // what only shows between two rows
			bad = refusedRow(rows[row.Row].Row, row.Err)
		}
		return nil, fileProblem(name, bad)
	}
	if err != nil {
		return nil, err
	}
	out, err := a.received(r)
	if err == nil && len(warnings) > 0 {
		out.Body.Warnings = rowFaults(warnings)
	}
	return out, err
}

// refused are the rows that the floor would refuse, each for itself.
func (a *ops) refused(rows []heat.Incoming, lots []event.LotReceived) (bad []api.RowFault) {
	_ = a.f.View(func(p *view.Past) error { // with no answer the rows are refused one by one
		for i, lot := range lots {
			lot.Bundles = slices.Clone(lot.Bundles)
			_, err := heat.Receive(p, lot)
			bad = append(bad, refusedRow(rows[i].Row, err)...)
		}
		return nil
	})
	return bad
}

func refusedRow(row int, err error) []api.RowFault {
	var no *event.Refusal
	if !errors.As(err, &no) {
		return nil
	}
	return []api.RowFault{{Row: row, Field: no.Field, Says: no.Says}}
}

type setHeatsIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.SetHeats
}

func (a *ops) setHeats(ctx context.Context, in *setHeatsIn) (*answer[api.Received], error) {
	n, err := number(in.Number, tags.Stock)
	if err != nil {
		return nil, err
	}
	if err := a.f.View(func(p *view.Past) error {
		if _, ok := p.Lot(n); !ok {
			return missing("Lot %v was never given out here.", n)
		}
		return nil
	}); err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"heats", n, in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.SetHeats(ctx, o, event.LotHeatSet{Lot: n, Mill: in.Body.Mill, Heats: in.Body.Heats, Reason: in.Body.Reason})
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Received, error) {
		l, _ := p.Lot(n)
		return api.Received{Recorded: recorded(r), Lots: []api.Lot{a.lot(p, l)}}, nil
	})
}
