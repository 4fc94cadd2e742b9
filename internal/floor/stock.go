package floor

import (
	"cmp"
	"context"
	"errors"
	"fmt"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// Expect writes down a lot that a mill's paper says is coming, and gives it its number.
func (f *Floor) Expect(ctx context.Context, o Origin, lot event.LotExpected) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.LotExpected, error) {
		e, err := heat.Expect(p, lot)
		if err == nil {
			e.Lot = p.Fresh(tags.Stock)
		}
		return e, err
	})
}

// Confirm takes in what came of an expected lot. The answer in the receipt says what a person should look
// at.
func (f *Floor) Confirm(ctx context.Context, o Origin, n tags.Number, a heat.Arrival) (Receipt, error) {
	return f.decided(ctx, o, func(p *view.Past) (scan.Outcome, error) { return scan.Confirm(p, f.cfg.Rules, n, a) })
}

// Stocktaking is one count of what lies there of a lot.
type Stocktaking struct {
	Lot tags.Number
	heat.Amount
	Place tags.Number // where it lies; 0: not said
}

// CountYard records a count of the yard, all of it or nothing. A lot stands in it once.
func (f *Floor) CountYard(ctx context.Context, o Origin, counts []Stocktaking) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		d := Decision{Answer: &event.Answer{Verdict: event.Accepted}}
		seen := map[tags.Number]bool{}
		for i, c := range counts {
			out, err := scan.CountYard(p, f.cfg.Rules, c.Lot, c.Amount, c.Place)
			if err == nil && seen[c.Lot] {
				err = &event.Refusal{Field: "lot", Says: fmt.Sprintf("%v stands in two rows; add them up", c.Lot)}
			}
			if err != nil {
				return d, &RowError{Row: i, Err: err}
			}
			seen[c.Lot] = true
			d.Events = append(d.Events, out.Events...)
			// The answer keeps what differs; what is as recorded is seen by its event.
			if len(counts) == 1 {
				d.Answer = &out.Answer
			} else if out.Answer.Verdict == event.Check && len(d.Answer.Notes) < mostDiffering {
				d.Answer.Verdict = event.Check
				d.Answer.Notes = append(d.Answer.Notes, out.Answer.Notes...)
			}
		}
		if len(counts) > 1 && d.Answer.Verdict == event.Accepted {
			d.Answer = nil
		}
		return d, nil
	})
}

// mostDiffering is how many lots that were counted otherwise the answer to a count of the yard names.
const mostDiffering = 20

// Delivery is one lot of a file: what is received, or expected. Its place is one of the yard, or is made
// under this name.
type Delivery struct {
	Bars     *event.LotReceived
	Coil     *event.CoilReceived
	Expected *event.LotExpected
	Make     string // name of a place to be made for it; "": none
	wrong    error  // why its place cannot be the one that was written
}

// TakeIn takes several lots in, or writes them down as expected: all or none. A refusal is a *RowError.
// Places to be made are made first, each once.
func (f *Floor) TakeIn(ctx context.Context, o Origin, lots []Delivery) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		events, bad := takeIn(p, lots)
		if len(bad) > 0 {
			return Decision{}, bad[0]
		}
		return Decision{Events: events}, nil
	})
}

// Judge makes deliveries of the rows of a stock file, and says what TakeIn would refuse, row by row, and
// which places it would make. Nothing is recorded.
func Judge(p *view.Past, rows []heat.Incoming, use heat.Use) (lots []Delivery, bad []*RowError, places []string) {
	for _, row := range rows {
		lots = append(lots, delivery(p, row, use))
	}
	events, bad := takeIn(p, lots)
	for _, e := range events {
		if b, ok := e.(event.PlaceMade); ok {
			places = append(places, b.Name)
		}
	}
	return lots, bad, places
}

// delivery is a row of a stock file as it is taken.
func delivery(p *view.Past, in heat.Incoming, use heat.Use) (d Delivery) {
	var place tags.Number
	switch n, ok := p.PlaceNamed(in.Place); {
	case in.Place == "":
	case use == heat.AsExpected:
		d.wrong = &event.Refusal{Field: "place", Says: "steel that is expected lies at no place yet; leave the cell empty"}
	case ok:
		place = n
	case use == heat.AsGoLive:
		d.Make = in.Place
	default:
		d.wrong = &event.Refusal{Field: "place", Says: "there is no place " + in.Place + "; make it first, or leave it out"}
	}
	switch {
	case use == heat.AsExpected:
		e := in.Expected()
		d.Expected = &e
	case in.Coil != nil:
		c := *in.Coil
		c.Place, d.Coil = place, &c
	default:
		b := *in.Bars
		b.Place, d.Bars = place, &b
	}
	return d
}

// Lot is a delivery as the lot that it makes, without its number.
func (d Delivery) Lot() heat.Lot {
	l, _ := heat.NewLot(d.body())
	return l
}

// body is what is recorded of a delivery, before it is checked; nil where it is none.
func (d Delivery) body() event.Body {
	switch {
	case d.Expected != nil:
		return *d.Expected
	case d.Coil != nil:
		return *d.Coil
	case d.Bars != nil:
		return *d.Bars
	}
	return nil
}

func takeIn(p *view.Past, lots []Delivery) (made []event.Body, bad []*RowError) {
	places := map[string]tags.Number{}
	y := yard{p, places}
	var events []event.Body
	seen := map[string]int{}
	for i, d := range lots {
		no := func(err error) { bad = append(bad, &RowError{Row: i, Err: err}) }
		if d.wrong != nil {
			no(d.wrong)
		}
		place := tags.Number(0)
		if d.Make != "" {
			name, err := word("place", d.Make, 20)
			if err != nil {
				no(err)
				continue
			}
			var ok bool
			if place, ok = p.PlaceNamed(name); !ok {
				if place = places[name]; place == 0 {
					place = p.Fresh(tags.Place)
					places[name] = place
					made = append(made, event.PlaceMade{Place: place, Name: name})
				}
			}
		}
		e, err := y.lot(d, place)
		lot, own := heat.NewLot(e)
		field := "mill_bundles"
		if d.Coil != nil {
			field = "mill_coils"
		}
		for _, n := range own {
			alias := heat.MillAlias(lot.Mill, n)
			if row, twice := seen[alias]; err == nil && twice && row != i {
				err = &event.Refusal{Field: field, Says: fmt.Sprintf("%s of %s stands in two rows", n, lot.Mill)}
			}
			seen[alias] = i
		}
		if err != nil {
			no(err)
			continue
		}
		events = append(events, e)
	}
	return append(made, events...), bad
}

// yard is the past with places that are about to be made.
type yard struct {
	*view.Past
	made map[string]tags.Number
}

// Place is the name of a place.
func (y yard) Place(n tags.Number) (string, bool) {
	for name, m := range y.made {
		if m == n {
			return name, true
		}
	}
	return y.Past.Place(n)
}

// lot checks one lot and numbers it.
func (y yard) lot(d Delivery, place tags.Number) (event.Body, error) {
	switch b := d.body().(type) {
	case event.LotReceived:
		b.Place = cmp.Or(place, b.Place)
		b, err := heat.Receive(y, b)
		if err == nil {
			b.Lot = y.Fresh(tags.Stock)
		}
		return b, err
	case event.CoilReceived:
		b.Place = cmp.Or(place, b.Place)
		b, err := heat.ReceiveCoil(y, b)
		if err == nil {
			b.Lot = y.Fresh(tags.Stock)
		}
		return b, err
	case event.LotExpected:
		b, err := heat.Expect(y, b)
		if err == nil {
			b.Lot = y.Fresh(tags.Stock)
		}
		return b, err
	}
	return nil, errors.New("floor: a delivery of nothing")
}
