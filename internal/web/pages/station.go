package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// frontPage is where everybody begins.
type frontPage struct {
	Stations []scan.Station
	Open     int // things on the list to resolve, up to mostCounted
}

// mostCounted is how far the list to resolve is counted.
const mostCounted = 1000

// front lists the stations, and says how much there is to resolve.
func (p *pages) front(c echo.Context) error {
	d := frontPage{Stations: p.floor.Rules().Stations}
	if err := p.floor.View(func(past *view.Past) error {
		d.Open = past.OpenCount(mostCounted)
		return nil
	}); err != nil {
		return err
	}
	return p.render(c, "front.html", p.floor.Rules().Name, d)
}

// stationPage is a station before or after a scan, with a part for each kind of work that it does.
type stationPage struct {
	Station scan.Station
	Code    string // what was scanned last
	Answer  *event.Answer
	Card    *scan.Card // of what was scanned, else of what lies on the table
	Crew    []aboard

	Steps   bool // it does steps of bundles
	Loads   bool
	Yards   bool // lots are counted here
	Returns bool // what left comes back here

	Cut       *cutPart
	Loadout   *loadoutPart
	Receiving *receivingPart
	Place     string     // open at this device
	Found     *foundPart // what was scanned, where things are put down and found
	Next      []nextNeed // what waits here for the trucks
}

// cutPart is a station that takes stock from feeds.
type cutPart struct {
	Feeds []feedOn
}

// verdict is that of the answer, for the page as a whole.
func (d stationPage) verdict() string {
	if d.Answer == nil {
		return "ready"
	}
	return d.Answer.Verdict.String()
}

// mostNext is how much of what waits a station shows.
const mostNext = 10

// nextNeed is a bundle that waits at a station, and the truck that it is for.
type nextNeed struct {
	scan.Need
	Truck scan.Truck
}

// aboard is a person of the crew.
type aboard struct {
	scan.Aboard
	Name string
}

type feedOn struct {
	Name string
	Lots []lotOn
}

type lotOn struct {
	heat.Lot
	Heats heat.Draw
}

func onHand(past *view.Past, l heat.Lot) lotOn {
	return lotOn{l, heat.Of(past, []tags.Number{l.Number})}
}

func (p *pages) station(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	return p.show(c, st, "", nil, 0)
}

// scan takes what the scanner typed into the form.
func (p *pages) scan(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	code := strings.TrimSpace(c.FormValue("code"))
	read, wrong := p.opt.Reader.Read(code)
	if code == "" {
		wrong = nil
	}
	now, kept, unread := whenScanned(c)
	s := scan.Scan{
		Read: read, Wrong: wrong, Station: st.Name, Device: device(c), At: now.UnixMilli(), Late: kept,
		Do: scan.Do(c.FormValue("do")), Feed: c.FormValue("feed"), Pocket: c.FormValue("pocket"), Gone: c.FormValue("gone") != "",
		Why: c.FormValue("why"),
	}
	if t := strings.TrimSpace(c.FormValue("pieces")); t != "" {
		n, err := strconv.Atoi(t)
		if err != nil {
			n = -1
		}
		s.Pieces = n
	}
	if code == "" && s.Do == scan.Scanned {
		return p.show(c, st, "", nil, 0)
	}
	s.Lots, s.Bars, s.Coils, err = fromLots(c.FormValue("from"))
	switch {
	case err == nil:
	case kept:
		unread = err
	default:
		return err
	}
	// The key stands for the form, not for the moment: the same form sent again is the same scan.
	o := floor.Origin{
		Device: s.Device, Station: st.Name, Key: c.FormValue("key"), Happened: now,
		Request: fmt.Sprint(code, s.Do, s.Pieces, s.Feed, s.Pocket, s.Gone, s.Why, c.FormValue("from")),
	}
	if unread != nil {
		r, err := p.floor.Unread(c.Request().Context(), o, o.Request, unread.Error())
		if err != nil {
			return err
		}
		return p.show(c, st, code, r.Answer, 0)
	}
	r, n, err := p.floor.Scan(c.Request().Context(), o, s)
	if err != nil {
		return err
	}
	return p.show(c, st, code, r.Answer, n)
}

// whenScanned is when a scan was, and whether its device kept it while the server was not there: then the
// device says when, and what cannot be read in it loses neither it nor those behind it.
func whenScanned(c echo.Context) (at time.Time, kept bool, unread error) {
	at, kept = time.Now(), c.FormValue("kept") != ""
	if !kept {
		return at, false, nil
	}
	said, err := time.Parse(time.RFC3339, c.FormValue("at"))
	if err != nil || said.Year() < 2000 || said.Year() > 2999 {
		return at, true, &event.Refusal{Field: "at", Says: strconv.Quote(c.FormValue("at")) + " is not a time of this plant; is the device's clock set?"}
	}
	return said, true, nil
}

// fromLots reads which lots a scan is of, with commas between them: a number alone, with = and a count of
// bars, or with = and a weight of coil.
func fromLots(text string) (lots []tags.Number, bars []event.Draw, coils []event.MassDraw, err error) {
	for _, one := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '\n' }) {
		number, much, counted := strings.Cut(strings.TrimSpace(one), "=")
		if number == "" {
			continue
		}
		lot, err := tags.ParseNumber(strings.TrimSpace(number))
		if err != nil {
			return nil, nil, nil, &event.Refusal{Field: "lots", Says: err.Error() + "; write the number on the lot's tag, as 2-001-00000001-16, and behind it =12 for bars or =900 kg for coil"}
		}
		much = strings.TrimSpace(much)
		if n, err := strconv.Atoi(much); !counted {
			lots = append(lots, lot)
		} else if err == nil {
			bars = append(bars, event.Draw{Lot: lot, Bars: n})
		} else if mass, err := bar.ParseMass(much); err == nil {
			coils = append(coils, event.MassDraw{Lot: lot, Mass: mass})
		} else {
			return nil, nil, nil, &event.Refusal{Field: "lots", Says: strconv.Quote(much) + " is neither a count of bars nor a weight; write 2-001-00000001-16=12 for bars, or =900 kg for coil"}
		}
	}
	return lots, bars, coils, nil
}

// show writes the station's page, with the answer to a scan about n if there was one. What a station does not
// do costs no reads.
func (p *pages) show(c echo.Context, st scan.Station, code string, a *event.Answer, n tags.Number) error {
	return p.showAlso(c, st, code, a, n, nil)
}

// showWith writes the page of a station that receives, with the answer to a form of it.
func (p *pages) showWith(c echo.Context, st scan.Station, a *event.Answer, also func(*view.Past, *receivingPart)) error {
	return p.showAlso(c, st, "", a, 0, also)
}

func (p *pages) showAlso(c echo.Context, st scan.Station, code string, a *event.Answer, n tags.Number, also func(*view.Past, *receivingPart)) error {
	c.Set(shown, p.newest()) // what was scanned is no news to its own page
	d := stationPage{Station: st, Code: code, Answer: a, Loads: st.Can(scan.Loadout)}
	d.Steps = slices.ContainsFunc(scan.Steps, func(s scan.Step) bool { return st.Can(scan.Work(s)) })
	receives, cuts := st.Can(scan.Receiving), len(st.Feeds) > 0
	d.Returns = receives || st.Can(scan.Yard)
	d.Yards = receives || cuts || st.Can(scan.Yard) || st.Can(scan.Staging)
	dev := device(c)
	err := p.floor.View(func(past *view.Past) error {
		if d.Returns || st.Can(scan.Staging) {
			d.Found = foundOf(past, n)
		}
		at := past.Floor(st.Name)
		if n.Kind() != tags.Bundle {
			n = at.Card
		}
		if n != 0 {
			if card, ok := scan.CardOf(past, p.floor.Rules(), st.Name, n); ok {
				d.Card = &card
			}
		}
		for _, a := range p.floor.Rules().Aboard(at, time.Now().UnixMilli()) {
			d.Crew = append(d.Crew, aboard{Aboard: a})
		}
		if cuts {
			d.Cut = &cutPart{Feeds: feeds(past, at)}
		}
		if d.Steps {
			w := scan.NeedsAt(past, p.floor.Rules(), st, mostNext)
			for _, n := range w.Needs {
				d.Next = append(d.Next, nextNeed{n, w.Trucks[n.Truck]})
			}
		}
		if !d.Loads && !d.Yards {
			return nil
		}
		has := past.Device(dev)
		if d.Loads || st.Can(scan.Staging) {
			d.Loadout = p.dock(past, st, has.Load, c.QueryParam("leave") != "")
		}
		d.Place, _ = past.Place(has.Put)
		if receives {
			d.Receiving = p.receiving(past, c, code, a, d.Place)
			if also != nil {
				also(past, d.Receiving)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	var crew []string
	if len(d.Crew) > 0 {
		names, err := p.floor.Names()
		if err != nil {
			return err
		}
		for i := range d.Crew {
			a := &d.Crew[i]
			a.Name = names[a.Person]
			crew = append(crew, cmp.Or(a.Name, a.Person.String()))
		}
	}
	return p.renderIn(c, onFloor, "station.html", st.Title, crew, d)
}

// feeds are what lies on a station's feeds, newest on top.
func feeds(past *view.Past, at scan.Floor) (out []feedOn) {
	for _, f := range at.Feeds {
		on := feedOn{Name: f.Name}
		for i := len(f.Lots) - 1; i >= 0; i-- {
			l, _ := past.Lot(f.Lots[i])
			on.Lots = append(on.Lots, onHand(past, l))
		}
		out = append(out, on)
	}
	return out
}

// drawing is a cutting pattern to scale, in a box 1000 wide.
type drawing struct {
	Pieces []piece
	Left   piece
	Keep   bool
}

type piece struct {
	X, W int
	Says string
}

// draw lays a pattern's pieces along its bar, for bars up to most long.
func draw(pt scan.Pattern, c scan.Card, units bar.Units) drawing {
	var most bar.Length
	for _, p := range c.Plan {
		most = max(most, p.Length)
	}
	scale := func(l bar.Length) int { return int(l / max(1, most/1000)) }
	var d drawing
	var at bar.Length
	for _, cut := range pt.Cuts {
		length := bar.Length(0)
		for _, m := range c.Members {
			if m.Bundle == cut.Bundle {
				length = m.Length
			}
		}
		for range cut.Pieces {
			d.Pieces = append(d.Pieces, piece{scale(at), max(1, scale(length)-3), length.Text(units)})
			at += length
		}
	}
	d.Left, d.Keep = piece{scale(at), max(0, scale(pt.Left)), pt.Left.Text(units)}, pt.Keep
	return d
}
