package scan

import (
	"slices"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Card is what a station shows of a bundle: the work, and at a cut station the run's bars and what to
// bring.
type Card struct {
	Bundle Bundle
	Line   *Line
	Step   string // the next step of the bundle, "" when all are done
	Heats  heat.Draw
	Drawn  bool // Heats is of a run, not only of what lies on the feeds
	Held   *heat.Hold
	// Of a bundle that is cut next or being cut:
	Run     uint64    // the open run; 0 before the start
	Members []Member  // all bundles of the run, with this one
	Plan    []Pattern // of the whole run
	Bring   []Bring   // lots that the plan takes bars from, those on the feeds first
	Short   []Want    // pieces that no stock on hand serves; the plan has them on stock that the plant buys
	// Of a bundle that is cut from coil there is no plan of bars.
	Coil    bool
	Mass    bar.Mass // that its pieces need
	Lacking bar.Mass // of that, what no coil on hand serves
	Gauges  []Gauge  // for each length of the run, that of this bundle first; none at a table without stops
}

// Bring is a lot to cut from.
type Bring struct {
	Lot   heat.Lot
	Place string // name of the place, "" when not known
	Feed  string // the feed of this station that it lies on
	Heats heat.Draw
	Bars  int      // that the plan takes
	Mass  bar.Mass // of coil, that the bundle takes
}

// mostLots is how many lots of the yard a card looks at: the oldest ones.
const mostLots = 12

// CardOf makes the card of a bundle for a station.
func CardOf(past Past, rules Rules, station string, n tags.Number) (Card, bool) {
	b, ok := past.Bundle(n)
	if !ok {
		return Card{}, false
	}
	l := past.Line(b.Line)
	c := Card{Bundle: b, Line: l, Step: b.Next(l)}
	c.Heats, c.Drawn = HeatsOf(past, b)
	j := &judge{past: past, rules: rules}
	if h, held := j.held(b, Drawn(past, b)); held {
		c.Held = &h
	}
	at, ok := rules.Station(station)
	if ok && b.Draws(l) && at.Can(Work(c.Step)) && !b.Voided {
		c.plan(past, rules, at)
	}
	return c, true
}

// plan fills in the bars of the run.
func (c *Card) plan(past Past, rules Rules, at Station) {
	floor := past.Floor(at.Name)
	steel, lots := c.Line.Steel, floor.Lots()
	if run, ok := past.Run(floor.Run); ok && floor.Run != 0 && run.Steel == steel {
		c.Run, c.Members = floor.Run, slices.Clone(run.Members)
		if run.Said {
			lots = run.Lots
		}
	}
	if (Run{Members: c.Members}).open(c.Bundle.Number) < 0 {
		c.Members = append(c.Members, Member{Bundle: c.Bundle.Number, Length: c.Line.Length, Pieces: c.Bundle.ToDo()})
	}
	c.gauge(at)
	onFeed := (&judge{past: past}).coils(lots)
	onFeed = slices.DeleteFunc(onFeed, func(n tags.Number) bool { l, _ := past.Lot(n); return !steel.Matches(l.Steel) })
	if len(c.Members) == 1 && (len(onFeed) > 0 || c.Step == string(CutAndBend)) {
		c.fromCoil(past, floor, onFeed)
		return
	}
	wants := Run{Members: c.Members}.wants()
	var stock []From
	var found []heat.Lot
	add := func(l heat.Lot) {
		known := slices.ContainsFunc(found, func(o heat.Lot) bool { return o.Number == l.Number })
		if l.OnHand() > 0 && steel.Matches(l.Steel) && !known {
			stock = append(stock, From{l.Number, l.Length, l.OnHand()})
			found = append(found, l)
		}
	}
	for _, n := range lots {
		if l, ok := past.Lot(n); ok {
			add(l)
		}
	}
	keep := rules.KeepFrom(steel.Size)
	c.Plan, c.Short = FirstFit(wants, stock, keep)
	if len(c.Short) > 0 { // more has to be brought
		seen := 0
		past.LotsOf(steel, func(l heat.Lot) bool {
			add(l)
			seen++
			return seen < mostLots
		})
		c.Plan, c.Short = FirstFit(wants, stock, keep)
	}
	if len(c.Short) > 0 { // more has to be bought
		for _, s := range rules.Stock {
			stock = append(stock, From{Length: s, Bars: -1})
		}
		c.Plan, _ = FirstFit(wants, stock, keep)
	}
	for _, l := range found {
		bars := 0
		for _, p := range c.Plan {
			if p.Lot == l.Number {
				bars += p.Bars
			}
		}
		if bars == 0 {
			continue
		}
		br := bring(past, floor, l)
		br.Bars = bars
		c.Bring = append(c.Bring, br)
	}
}

// bring is a lot to bring, and where it lies.
func bring(past Past, floor Floor, l heat.Lot) Bring {
	br := Bring{Lot: l, Heats: heat.Of(past, []tags.Number{l.Number})}
	br.Place, _ = past.Place(l.Place)
	for _, f := range floor.Feeds {
		if slices.Contains(f.Lots, l.Number) {
			br.Feed = f.Name
		}
	}
	return br
}

// gauge sets the stops for each length of the run.
func (c *Card) gauge(at Station) {
	lengths := []bar.Length{c.Line.Length}
	for _, m := range c.Members {
		if !slices.Contains(lengths, m.Length) {
			lengths = append(lengths, m.Length)
		}
	}
	for _, l := range lengths {
		if g, ok := at.Gauge(l); ok {
			c.Gauges = append(c.Gauges, g)
		}
	}
}

// Bars is how many bars the plan takes, and Left what it leaves of them: kept and scrapped.
func (c Card) Bars() (bars int, keep, scrap bar.Length) {
	for _, p := range c.Plan {
		bars += p.Bars
		if p.Keep {
			keep += p.Left * bar.Length(p.Bars)
		} else {
			scrap += p.Left * bar.Length(p.Bars)
		}
	}
	return bars, keep, scrap
}
