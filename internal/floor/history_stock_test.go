package floor_test

import (
	"context"
	"fmt"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// expect writes down a lot of a mill's paper, with bundles or without.
func (h *history) expect() {
	lot := event.LotExpected{
		Mill: pick(h, "mill", mills...), Heats: h.someHeats(), Steel: pick(h, "steel", stocked...), Melted: "US", Rolled: "US",
		Length: bar.Length(pick(h, "length", 20, 40, 60)) * bar.Foot, Date: pick(h, "date", "", "2026-11-24", "2026-12-01"),
	}
	for i := range h.upTo("bundles", 3) {
		b := event.MillBundle{Number: fmt.Sprintf("M%d-%d", h.keys, i), Bars: 1 + h.upTo("bars", 9)}
		lot.Bars += b.Bars
		lot.Bundles = append(lot.Bundles, b)
	}
	switch {
	case len(lot.Bundles) == 0:
		lot.Bars = 1 + h.upTo("bars", 30)
	case h.one("uncounted", 4):
		for i := range lot.Bundles {
			lot.Bundles[i].Bars = 0
		}
	}
	if len(lot.Bundles) > 0 && h.one("old number", 8) {
		lot.Bundles[0].Number = h.millBundle()
	}
	if h.one("in a file", 2) {
		more := event.LotReceived{Steel: lot.Steel, Length: lot.Length, Bars: 1 + h.upTo("more", 9), Bundles: []event.MillBundle{{Number: fmt.Sprint("F", h.keys)}}}
		h.send("take in", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
			return h.TakeIn(context.Background(), o, []floor.Delivery{{Expected: &lot}, {Bars: &more, Make: pick(h, "bay", "", "Bay 1", "Row 7")}})
		})
		return
	}
	h.send("expect", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Expect(context.Background(), o, lot) })
}

// expected is a lot, rather one of which more is expected.
func (h *history) expected() tags.Number {
	var coming []heat.Lot
	for _, l := range h.lots {
		if l.Coming() {
			coming = append(coming, l)
		}
	}
	if len(coming) == 0 || h.one("any", 10) {
		return h.someLot()
	}
	return pick(h, "expected", coming...).Number
}

// millBundle is a mill's number on some paper, or one that no paper has.
func (h *history) millBundle() string {
	var all []string
	for _, l := range h.lots {
		if l.Paper != nil {
			for _, b := range l.Paper.Bundles {
				all = append(all, b.Number)
			}
		}
	}
	if len(all) == 0 || h.one("none of ours", 10) {
		return "N" + fmt.Sprint(h.upTo("number", 20))
	}
	return pick(h, "mill bundle", all...)
}

// confirm scans a bundle of an expected lot, its heat, or its own tag; or somebody says it.
func (h *history) confirm() {
	count := func(x *scan.Scan) {
		if h.one("count", 4) {
			x.Pieces = 1 + h.upTo("pieces", 20)
		}
		if h.one("last", 10) {
			x.Do = scan.Last
		}
	}
	switch h.upTo("how", 5) {
	case 0:
		h.scan("Y1", h.expected(), count)
	case 1:
		m := tags.MillTag{Supplier: pick(h, "mill", "", mills[0], mills[1]), Heat: pick(h, "heat", heats...), Bundle: h.millBundle(), Quantity: h.upTo("quantity", 5)}
		n := h.expected()
		for _, l := range h.lots {
			if l.Number == n && len(l.Heats) > 0 { // a bundle of it, that its paper may not have
				m.Supplier, m.Heat = l.Mill, l.Heats[0]
			}
		}
		h.scan("Y1", 0, count, func(x *scan.Scan) { x.Read = tags.Scan{Text: "a mill's tag", Mill: &m} })
	case 2:
		n, a := h.expected(), heat.Arrival{Last: h.one("last", 4), Number: pick(h, "number", "", h.millBundle())}
		if h.one("count", 2) {
			a.Counted, a.Amount = true, heat.Amount{Bars: h.upTo("bars", 20)}
		}
		h.send("confirm", floor.Origin{Device: "office"}, func(o floor.Origin) (floor.Receipt, error) { return h.Confirm(context.Background(), o, n, a) })
	default:
		h.scan("Y1", 0, count, func(x *scan.Scan) {
			x.Read = tags.Scan{Text: h.millBundle()}
			x.Wrong = tags.ErrNotNumber
		})
	}
}

// countYard counts lots at the yard or a feed, or from a sheet.
func (h *history) countYard() {
	lot := func() heat.Lot {
		if len(h.lots) == 0 {
			return heat.Lot{Number: h.someLot(), Length: bar.Foot}
		}
		return pick(h, "lot", h.lots...)
	}
	if h.one("scan", 2) {
		l := lot()
		h.scan(pick(h, "station", "Y1", "S1"), l.Number, func(x *scan.Scan) {
			x.Do, x.Pieces = scan.Count, max(0, l.OnHand()+h.upTo("more", 4)-2)
			if h.one("none", 8) {
				x.Do = scan.None
			}
		})
		return
	}
	var sheet []floor.Stocktaking
	for range 1 + h.upTo("rows", 3) {
		l := lot()
		c := floor.Stocktaking{Lot: l.Number, Amount: heat.Amount{Bars: max(0, l.OnHand()+h.upTo("more", 4)-2)}}
		if l.Coil() {
			c.Amount = heat.Amount{Mass: max(0, l.MassOnHand()) + bar.Mass(h.upTo("more", 4))*bar.Kilogram}
		}
		if len(h.places) > 0 && h.one("place", 2) {
			c.Place = pick(h, "place", h.places...)
		}
		sheet = append(sheet, c)
	}
	h.send("count yard", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.CountYard(context.Background(), o, sheet) })
}
