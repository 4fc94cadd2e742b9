package rest

import (
	"context"
	"errors"
	"time"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// today is the day at the plant, yyyy-mm-dd.
func (a *ops) today() string { return a.o.Now().In(a.f.Rules().Zone).Format(time.DateOnly) }

// How far what a paper said is here.
const (
	expectedState = "expected"
	shortState    = "short"
	hereState     = "here"
)

// paperState says how far what a paper said of a lot is here; "" for what came unannounced.
func paperState(l heat.Lot, today string) string {
	switch {
	case l.Paper == nil:
		return ""
	case l.Short(today):
		return shortState
	case l.Coming():
		return expectedState
	}
	return hereState
}

// inState says whether a lot belongs into the list of a state: what is late is expected, and short of its
// paper too.
func inState(l heat.Lot, state, today string) bool {
	return state == paperState(l, today) || state == expectedState && l.Coming()
}

// paper is what a mill's paper says of a lot.
func (a *ops) paper(l heat.Lot) *api.Paper {
	if l.Paper == nil {
		return nil
	}
	out := &api.Paper{State: paperState(l, a.today()), Bars: l.Paper.Bars, WeightKG: l.Paper.Mass.Kilograms(), Date: l.Paper.Date, Open: l.Paper.Open}
	if l.Paper.Mass != 0 {
		out.Weight = l.Paper.Mass.Text(a.units())
	}
	out.MillBundles, out.MillCoils = a.millOwn(l.Paper.Bundles, l.Paper.Coils)
	return out
}

// millOwn are the mill's own numbers.
func (a *ops) millOwn(bundles []event.MillBundle, coils []event.MillCoil) (b []api.MillBundle, c []api.MillCoil) {
	for _, one := range bundles {
		b = append(b, api.MillBundle{Number: one.Number, Bars: one.Bars})
	}
	for _, one := range coils {
		coil := api.MillCoil{Number: one.Number}
		if one.Mass != 0 {
			coil.Weight = one.Mass.Text(a.units())
		}
		c = append(c, coil)
	}
	return b, c
}

type expectIn struct {
	Keyed
	Body api.Expect
}

func (a *ops) expect(ctx context.Context, in *expectIn) (*answer[api.Received], error) {
	o, err := a.origin("", in.Body.By, in.Key, []any{"expect", in.Body})
	if err != nil {
		return nil, err
	}
	if in.Body.Place != "" {
		return nil, invalid("body.place", "is not known of steel that is expected; leave it out")
	}
	lot, err := a.incoming(in.Body.Receive)
	if err != nil {
		return nil, err
	}
	lot.Date = in.Body.Date
	r, err := a.f.Expect(ctx, o, lot.Expected())
	if err != nil {
		return nil, err
	}
	return a.received(r)
}

type confirmIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.Confirm
}

func (a *ops) confirm(ctx context.Context, in *confirmIn) (*answer[api.LotAnswer], error) {
	b := in.Body
	arrival := heat.Arrival{Number: b.Number, Last: b.Last, Note: b.Note}
	var err error
	if b.Bars != nil {
		arrival.Counted, arrival.Bars = true, *b.Bars
	}
	if b.Weight != "" {
		arrival.Counted = true
		if arrival.Mass, err = bar.ParseMass(b.Weight); err != nil {
			return nil, invalid("body.weight", err.Error())
		}
	}
	if arrival.Place, err = a.place("body.place", b.Place); err != nil {
		return nil, err
	}
	return a.ofLot(in.Number, b.By, in.Key, []any{"confirm", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Confirm(ctx, o, n, arrival)
	})
}

type countIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.CountLot
}

func (a *ops) countLot(ctx context.Context, in *countIn) (*answer[api.LotAnswer], error) {
	b := in.Body
	c := floor.Stocktaking{Amount: heat.Amount{Bars: b.Bars}}
	var err error
	if b.Weight != "" {
		if c.Mass, err = bar.ParseMass(b.Weight); err != nil {
			return nil, invalid("body.weight", err.Error())
		}
	}
	if c.Place, err = a.place("body.place", b.Place); err != nil {
		return nil, err
	}
	return a.ofLot(in.Number, b.By, in.Key, []any{"count", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		c.Lot = n
		r, err := a.f.CountYard(ctx, o, []floor.Stocktaking{c})
		var row *floor.RowError
		if errors.As(err, &row) {
			err = row.Err
		}
		return r, err
	})
}

// ofLot records what is said of a lot, and answers with the lot as it is then.
func (a *ops) ofLot(text string, by api.By, key string, request []any, do func(floor.Origin, tags.Number) (floor.Receipt, error)) (*answer[api.LotAnswer], error) {
	n, err := a.thatLot(text)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", by, key, append(request, n))
	if err != nil {
		return nil, err
	}
	r, err := do(o, n)
	if err != nil {
		return nil, err
	}
	if r.Answer == nil {
		return nil, floor.ErrOtherRequest
	}
	return look(a, func(p *view.Past) (api.LotAnswer, error) {
		l, _ := p.Lot(n)
		return api.LotAnswer{Recorded: recorded(r), Verdict: r.Answer.Verdict.String(), Notes: notes(r.Answer.Notes, scan.English), Lot: a.lot(p, l)}, nil
	})
}

// thatLot finds the lot of a path.
func (a *ops) thatLot(text string) (tags.Number, error) {
	n, err := number(text, tags.Stock)
	if err != nil {
		return 0, err
	}
	return n, a.f.View(func(p *view.Past) error {
		if _, ok := p.Lot(n); !ok {
			return missing("Lot %v was never given out here.", n)
		}
		return nil
	})
}

type setHeatsIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.SetHeats
}

func (a *ops) setHeats(ctx context.Context, in *setHeatsIn) (*answer[api.HeatsSet], error) {
	n, err := a.thatLot(in.Number)
	if err != nil {
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
	return look(a, func(p *view.Past) (api.HeatsSet, error) {
		l, _ := p.Lot(n)
		t := p.Ask(n.Digits())
		out := api.HeatsSet{Recorded: recorded(r), Lot: a.lot(p, l), Lots: []string{}, Bundles: []string{}, Loads: shown(t.Loads), Jobs: notNil(t.Jobs), Broken: []api.Broken{}}
		for _, o := range t.Lots {
			if o.Number != n {
				out.Lots = append(out.Lots, o.Number.String())
			}
		}
		for _, b := range t.Bundles {
			out.Bundles = append(out.Bundles, b.Number.String())
			for _, note := range scan.Broken(p, a.f.Rules(), b.Bundle) {
				says, next := scan.Say(note, scan.English)
				out.Broken = append(out.Broken, api.Broken{Bundle: b.Number.String(), Job: b.Line.Job, Mark: b.Line.Mark, Load: b.Load.String(), Says: says, Next: next})
			}
		}
		return out, nil
	})
}
