package floor_test

import (
	"context"
	"fmt"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func init() {
	actions = append(actions, []action{{3, (*history).assign}, {3, (*history).assignByScan}, {2, (*history).declare}, {3, (*history).reassign}, {2, (*history).setRoute},
		{4, (*history).receiveCoil}, {8, (*history).chargeCoil}, {20, (*history).cutCoil}}...)
}

// twin takes a list with a line for another job of bars like those of a bundle that is there.
func (h *history) twin(n tags.Number) {
	var l *scan.Line
	h.read(func(p *view.Past) {
		b, _ := p.Bundle(n)
		l = p.Line(b.Line)
	})
	h.lists++
	f := barlist.File{Name: "twin.csv", SHA256: [32]byte{byte(h.lists), byte(h.lists >> 8)}}
	one := barlist.Line{Row: 2, Job: pick(h, "job", jobs...), List: fmt.Sprint(h.lists), Mark: "T", Steel: l.Steel, Length: l.Length, Pieces: 1 + h.upTo("pieces", 20)}
	one.Route = pick(h, "route", append([]string{}, l.Route...), []string{"cut"}, []string{"cut", "bend"}, []string{"cut and bend"})
	f.Lines = append(f.Lines, one)
	h.send("take twin", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		_, r, err := h.TakeList(context.Background(), o, f)
		return r, err
	})
}

// noDraw says whether a bundle waits for somebody to say which bars it is.
func (h *history) noDraw(b scan.Bundle) bool {
	steps := h.steps[b.Number]
	return len(b.Runs) == 0 && !b.Voided && (len(steps) == 0 || steps[0] == "bend")
}

func (h *history) someDraws() (out []event.Draw) {
	for range 1 + h.upTo("draws", 1) {
		out = append(out, event.Draw{Lot: h.someLot(), Bars: 1 + h.upTo("bars", 12)})
	}
	return out
}

func (h *history) assign() {
	n := h.someBundle(h.noDraw)
	var lots []tags.Number
	bars := h.someDraws()
	if h.one("lots", 2) {
		lots, bars = []tags.Number{h.someLot(), h.someLot()}[:1+h.upTo("lots", 1)], nil
	}
	h.send("assign", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.Assign(context.Background(), o, n, lots, bars)
	})
}

func (h *history) assignByScan() {
	h.scan(pick(h, "station", "S1", "B1", "Y1", "L1"), h.someBundle(h.noDraw), func(x *scan.Scan) {
		if h.one("bars", 2) {
			x.Bars = h.someDraws()
		} else {
			x.Lots = []tags.Number{h.someLot()}
		}
	})
}

func (h *history) declare() {
	e := event.HeatsDeclared{Bundle: h.someBundle(h.noDraw), Mill: pick(h, "mill", mills...), Heats: []string{pick(h, "heat", heats...)}, Paper: "note 7"}
	h.send("declare", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.Declare(context.Background(), o, e) })
}

func (h *history) reassign() {
	n := h.someBundle(func(b scan.Bundle) bool { return b.Done > 0 && !b.Started && !b.Voided && b.Load == 0 })
	var to *scan.Line
	instead := tags.Number(0)
	find := func(p *view.Past) {
		b, _ := p.Bundle(n)
		l := p.Line(b.Line)
		p.Bundles(0, func(o scan.Bundle) bool {
			if line := p.Line(o.Line); !o.Begun() && !o.Voided && line.Seq != l.Seq && line.Steel == l.Steel && line.Length == l.Length {
				to = line
				if h.one("named", 3) {
					instead = o.Number
				}
			}
			return to == nil
		})
	}
	if h.read(find); to == nil {
		h.twin(n)
		if h.read(find); to == nil {
			return
		}
	}
	h.send("reassign", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.Reassign(context.Background(), o, n, to.Job, to.List, to.Mark, instead, "from stock")
	})
}

func (h *history) setRoute() {
	n := h.someBundle(func(b scan.Bundle) bool { return !b.Voided })
	steps := pick(h, "steps", []string{"cut"}, []string{"cut", "bend"}, []string{"bend"}, nil, []string{"cut and bend"})
	h.send("set route", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.SetRoute(context.Background(), o, n, steps, "the office says so")
	})
}

func (h *history) receiveCoil() {
	lot := event.CoilReceived{Mill: pick(h, "mill", mills...), Heats: h.someHeats(), Steel: pick(h, "steel", stocked...), Melted: "US", Rolled: "US"}
	lot.Mass = bar.Mass(1+h.upTo("mass", 400)) * bar.Pound
	if n := h.someBundle(func(b scan.Bundle) bool { return h.forCoil(b) && !b.Started }); h.one("needed", 2) {
		h.read(func(p *view.Past) {
			b, _ := p.Bundle(n)
			lot.Steel = p.Line(b.Line).Steel
		})
	}
	h.send("receive coil", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) { return h.ReceiveCoil(context.Background(), o, lot) })
}

// someCoil is a lot, and mostly one of coil.
func (h *history) someCoil() tags.Number {
	coils := slices.DeleteFunc(slices.Clone(h.lots), func(l heat.Lot) bool { return !l.Coil() })
	if len(coils) == 0 || h.one("any", 10) {
		return h.someLot()
	}
	return pick(h, "coil", coils...).Number
}

// chargeCoil empties the feed of the machine now and then, and charges it.
func (h *history) chargeCoil() {
	station := pick(h, "station", "C1", "C1", "C1", "S1")
	if h.one("empty", 4) {
		h.scan(station, 0, func(x *scan.Scan) { x.Do = scan.Empty })
	}
	h.scan(station, h.someCoil())
}

// cutCoil scans a bundle at the machine that cuts and bends in one, or now and then at a shear.
func (h *history) cutCoil() {
	begun := h.one("begun", 2)
	n := h.someBundle(func(b scan.Bundle) bool { return h.forCoil(b) && begun == b.Started && (!begun || b.Station == "C1") })
	h.scan(pick(h, "station", "C1", "C1", "C1", "C1", "S1"), n, func(x *scan.Scan) {
		if h.one("count", 3) {
			x.Pieces = 1 + h.upTo("pieces", 14)
		}
		if x.Pieces > 0 && h.one("part", 4) {
			x.Do = scan.Part
		}
		if h.one("weighed", 4) {
			for range 1 + h.upTo("draws", 1) {
				x.Coils = append(x.Coils, event.MassDraw{Lot: h.someCoil(), Mass: bar.Mass(1+h.upTo("mass", 200)) * bar.Pound})
			}
		}
		if h.one("scrap", 6) {
			x.Scrap = bar.Mass(h.upTo("scrap", 20)) * bar.Pound
		}
		if h.one("lots", 8) {
			x.Lots = []tags.Number{h.someCoil()}
		}
	})
}

// forCoil says whether a bundle may be cut at the machine that cuts and bends in one.
func (h *history) forCoil(b scan.Bundle) bool {
	steps := h.steps[b.Number]
	return !b.Voided && b.Load == 0 && b.Done == 0 && len(steps) > 0 && (steps[0] == "cut and bend" || len(steps) > 1 && steps[0] == "cut" && steps[1] == "bend")
}
