package pages

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// yard is the stock on hand that is asked for.
type yard struct {
	Kind              string // one of ofStock
	Size, Place, Heat string
	Lots              []yardLot
	Left              int // lots that are not shown
	Bars, Coil, Kept  bar.Mass
	Count, Stopped    int
}

// ofStock are what can be asked for, by the word in the address.
var ofStock = []string{"all", "bars", "remnants", "coil", "held", "no cert"}

// Kinds are what can be chosen.
func (yard) Kinds() []string { return ofStock }

// yardLot is a lot on hand.
type yardLot struct {
	lotOn
	Where string
	Held  bool
	Cert  sizeCert // the worst of its heats
}

// mostLots is how many lots a page shows.
const mostLots = 500

// yardOf reads what is asked for.
func yardOf(c echo.Context) yard {
	ask := func(name string) string { return strings.TrimSpace(c.QueryParam(name)) }
	return yard{Kind: ask("kind"), Size: ask("size"), Place: ask("place"), Heat: ask("heat")}
}

// stations are the names of the plant's stations.
func (p *pages) stations() (out []string) {
	for _, s := range p.floor.Rules().Stations {
		out = append(out, s.Name)
	}
	return out
}

// lies is where a lot lies: its feed, else its place.
func lies(past *view.Past, l heat.Lot) string {
	name, _ := past.Place(l.Place)
	return cmp.Or(l.Feed, name)
}

// read finds the lots, by steel and length, and adds up what they weigh.
func (y *yard) read(p *pages, past *view.Past, refused *string) {
	if !slices.Contains(ofStock, y.Kind) {
		y.Kind = ofStock[0]
	}
	var size bar.Size
	if y.Size != "" {
		var err error
		if size, err = bar.ParseSize(y.Size); err != nil {
			*refused = cmp.Or(*refused, "size: "+err.Error())
		}
	}
	past.OnHand(p.stations(), func(l heat.Lot) bool {
		if size != "" && l.Steel.Size != size || y.Place != "" && !strings.EqualFold(lies(past, l), y.Place) {
			return true
		}
		one := yardLot{lotOn: onHand(past, l), Where: lies(past, l)}
		if y.Heat != "" && !slices.ContainsFunc(one.Heats.Heats, func(k heat.Key) bool { return strings.EqualFold(k.Heat, y.Heat) }) {
			return true
		}
		_, one.Held = heat.HoldOn(past, []tags.Number{l.Number})
		one.Cert = worstCert(past, one.Heats, l.Steel.Size)
		if !y.wants(one) {
			return true
		}
		y.Count++
		if one.Held {
			y.Stopped++
		}
		switch m := l.Weighs(); {
		case l.Remnant():
			y.Kept += m
		case l.Coil():
			y.Coil += m
		default:
			y.Bars += m
		}
		y.Lots = append(y.Lots, one)
		return true
	})
	slices.SortStableFunc(y.Lots, func(a, b yardLot) int {
		return cmp.Or(cmp.Compare(weighs(a.Steel.Size), weighs(b.Steel.Size)), strings.Compare(a.Steel.String(), b.Steel.String()),
			cmp.Compare(b.Length, a.Length), cmp.Compare(a.At, b.At))
	})
	if len(y.Lots) > mostLots {
		y.Left, y.Lots = len(y.Lots)-mostLots, y.Lots[:mostLots]
	}
}

// wants says whether a lot is of the kind that is asked for.
func (y *yard) wants(l yardLot) bool {
	switch y.Kind {
	case "bars":
		return !l.Coil() && !l.Remnant()
	case "remnants":
		return l.Remnant()
	case "coil":
		return l.Coil()
	case "held":
		return l.Held
	case "no cert":
		return l.Cert.State == "no cert"
	}
	return true
}

// weighs orders sizes: by what a length of them weighs.
func weighs(s bar.Size) bar.Mass {
	m, _ := bar.Weigh(s, bar.Foot)
	return m
}

// certStates are what can be on file, the least first.
var certStates = []string{"no cert", "on file", "reviewed"}

// worstCert is the least that is on file for a size of all heats; no heat is no cert.
func worstCert(past *view.Past, d heat.Draw, size bar.Size) sizeCert {
	worst := sizeCert{size, "no cert", "check"}
	for i, k := range d.Heats {
		if one := certOf(past, k, size); i == 0 || slices.Index(certStates, one.State) < slices.Index(certStates, worst.State) {
			worst = one
		}
	}
	return worst
}

// lotPage is one lot.
type lotPage struct {
	lotOn
	Where    string
	Certs    []heatCert
	Held     *heat.Hold
	Came     string // of what a paper said, how much came
	Whole    string
	Missing  []string
	Takings  []taking
	Children []lotOn
	MoreRuns bool
	History  []told
	More     bool // of it
	Touch    *heatsTouch
	Answer   *event.Answer
	Did      bool // what was said is recorded, with no answer of its own
	Refused  string
	deed     string // the form that was sent
	form     url.Values
}

// Opened says whether the form of a deed stands open: it was not taken.
func (d lotPage) Opened(deed string) bool { return d.Refused != "" && d.deed == deed }

// Typed is what was typed into a form that was not taken.
func (d lotPage) Typed(deed, field string) string {
	if !d.Opened(deed) {
		return ""
	}
	return d.form.Get(field)
}

// taking is what a run took of a lot, or may have.
type taking struct {
	Seq     uint64
	Station string
	At      int64
	Open    bool // the run is not closed: nobody knows yet what it takes
	Bars    int
	Mass    bar.Mass
	Bundles []taker
}

// taker is a bundle of a run.
type taker struct {
	Number    tags.Number
	Mark, Job string
	Pieces    int
}

// heatsTouch is what a lot's heats touch.
type heatsTouch struct {
	view.Trace
	Broken []brokenRule
}

type brokenRule struct {
	Bundle view.TracedBundle
	Notes  []event.Note
}

// mostTakings is how many runs a lot's page tells, the newest of them.
const mostTakings = 100

// lot shows a lot.
func (p *pages) lot(c echo.Context) error {
	n, err := tags.ParseNumber(c.Param("deed"))
	if err != nil || n.Kind() != tags.Stock {
		return web.Refuse("not-found", "There is no such lot here.", "Look it up in the stock.")
	}
	return p.showLot(c, n, lotPage{})
}

func (p *pages) showLot(c echo.Context, n tags.Number, d lotPage) error {
	units := p.floor.Rules().Units
	err := p.floor.View(func(past *view.Past) error {
		l, ok := past.Lot(n)
		if !ok {
			return web.Refuse("not-found", "Lot "+n.String()+" was never given out here.", "Look it up in the stock.")
		}
		d.lotOn, d.Where = onHand(past, l), lies(past, l)
		for _, k := range d.Heats.Heats {
			d.Certs = append(d.Certs, heatCert{k, certOf(past, k, l.Steel.Size)})
		}
		if h, held := heat.HoldOn(past, []tags.Number{n}); held {
			d.Held = &h
		}
		if l.Paper != nil {
			d.Came, d.Whole, d.Missing = l.Came().Text(units), l.Paper.Whole().Text(units), notCome(l)
		}
		runs := past.RunsOf(n)
		slices.Reverse(runs)
		if d.MoreRuns = len(runs) > mostTakings; d.MoreRuns {
			runs = runs[:mostTakings]
		}
		for _, seq := range runs {
			d.Takings = append(d.Takings, takingOf(past, n, seq))
		}
		for _, m := range past.Children(n) {
			if child, ok := past.Lot(m); ok && !child.Gone {
				d.Children = append(d.Children, onHand(past, child))
			}
		}
		seqs := past.History(n)
		if d.More = len(seqs) > mostTold; d.More {
			seqs = seqs[len(seqs)-mostTold:]
		}
		for _, seq := range seqs {
			d.History = append(d.History, tellOf(past, seq, units))
		}
		return nil
	})
	if err != nil {
		return err
	}
	return p.render(c, "lot.html", p.word(language(c), "stock lot")+" "+n.String(), d)
}

// notCome are the mill's numbers of a paper that have not come.
func notCome(l heat.Lot) (out []string) {
	for _, b := range l.Paper.Bundles {
		if !l.HasCome(b.Number) {
			out = append(out, b.Number)
		}
	}
	for _, c := range l.Paper.Coils {
		if !l.HasCome(c.Number) {
			out = append(out, c.Number)
		}
	}
	return out
}

// takingOf reads what a run took of a lot.
func takingOf(past *view.Past, lot tags.Number, seq uint64) taking {
	r, _ := past.Run(seq)
	out := taking{Seq: seq, Station: r.Station, At: r.At, Open: r.By == 0}
	for _, d := range past.Closing(r).Draws {
		if d.Lot == lot {
			out.Bars += d.Bars
		}
	}
	for _, d := range past.CoilClosing(r).Draws {
		if d.Lot == lot {
			out.Mass += d.Mass
		}
	}
	for _, m := range r.Members {
		if b, ok := past.Bundle(m.Bundle); ok {
			line := past.Line(b.Line)
			out.Bundles = append(out.Bundles, taker{m.Bundle, line.Mark, line.Job, m.Pieces})
		}
	}
	return out
}

// placesPage is the places with what lies there of the stock.
type placesPage struct {
	Places  []placeSeen
	Refused string
	Made    string // the place that was made
	Name    string // that was typed
}

// placeSeen is a place with the lots that lie there.
type placeSeen struct {
	Number tags.Number
	Name   string
	Lots   int
	Mass   bar.Mass
}

// places lists the places.
func (p *pages) places(c echo.Context) error { return p.showPlaces(c, placesPage{}) }

// makePlace makes a place.
func (p *pages) makePlace(c echo.Context) error {
	o, err := origin(c, "place")
	if err != nil {
		return err
	}
	d := placesPage{}
	r, err := p.floor.MakePlace(c.Request().Context(), o, c.FormValue("name"))
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	if d.Refused != "" {
		d.Name = c.FormValue("name")
	}
	for _, e := range r.Events {
		if b, ok := e.Body.(event.PlaceMade); ok {
			d.Made = b.Name
		}
	}
	return p.showPlaces(c, d)
}

func (p *pages) showPlaces(c echo.Context, d placesPage) error {
	err := p.floor.View(func(past *view.Past) error {
		at := map[tags.Number]int{}
		past.Places(func(name string, n tags.Number) bool {
			at[n] = len(d.Places)
			d.Places = append(d.Places, placeSeen{Number: n, Name: name})
			return true
		})
		past.OnHand(nil, func(l heat.Lot) bool {
			if i, ok := at[l.Place]; ok {
				d.Places[i].Lots++
				d.Places[i].Mass += l.Weighs()
			}
			return true
		})
		return nil
	})
	if err != nil {
		return err
	}
	return p.render(c, "places.html", p.word(language(c), "stock places"), d)
}
