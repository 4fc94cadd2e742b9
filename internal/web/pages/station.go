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

// stationPage is a station before or after a scan, with a part for each kind of work that it does.
type stationPage struct {
	Station scan.Station
	Code    string    // what was scanned last
	Answer  *reply    // nil: nothing was
	Card    *workCard // what is worked on here, else what was scanned
	Work    bool      // the card is of work to be done here
	Crew    []aboard
	SignOn  *signOn // nobody is aboard: ask for a badge first

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
	Done      *doneToday // where steps are done
	Last      []lastScan // newest first
}

// verdict is that of the answer, for the page as a whole.
func (d stationPage) verdict() string {
	if d.Answer == nil {
		return "ready"
	}
	return d.Answer.Verdict.String()
}

// cutPart is a station that takes stock from feeds.
type cutPart struct {
	Feeds []feedOn
}

// signOn is what is shown where nobody has scanned a badge yet.
type signOn struct {
	Last string // who did so last here, and when
	When string
}

// doneToday is what a station has done today.
type doneToday struct {
	Bundles int
	Mass    bar.Mass
}

// mostNext is how much of what waits a station shows, mostScans how many of its last scans.
const (
	mostNext  = 10
	mostScans = 10
)

// nextNeed is a bundle that waits at a station, and the truck that it is for.
type nextNeed struct {
	scan.Need
	Truck   scan.Truck
	JobName string
	Mass    bar.Mass
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
	keep(c, "station", st.Name)
	return p.show(c, st, "", nil, 0)
}

// scan takes what the scanner typed into the form.
func (p *pages) scan(c echo.Context) error {
	st, err := p.stationOf(c)
	if err != nil {
		return err
	}
	code, typed := strings.TrimSpace(c.FormValue("code")), strings.TrimSpace(c.FormValue("pieces"))
	// A key on a card stands for its tag, and the count that is typed there is of no other one.
	card, _ := tags.ParseNumber(c.FormValue("card"))
	switch {
	case c.FormValue("signout") != "":
		if code = c.FormValue("signout"); !p.isAboard(st, code) {
			return p.show(c, st, "", nil, 0)
		}
	case code == "" && c.FormValue("of") != "" && card != 0:
		code, typed = card.Digits(), cmp.Or(typed, strings.TrimSpace(c.FormValue("count")), c.FormValue("all"))
	}
	read, wrong := p.opt.Reader.Read(code)
	if code == "" {
		wrong = nil
	} else if card != 0 && read.Number == card {
		typed = cmp.Or(typed, strings.TrimSpace(c.FormValue("count")))
	}
	now, kept, unread := whenScanned(c)
	s := scan.Scan{
		Read: read, Wrong: wrong, Station: st.Name, Device: device(c), At: now.UnixMilli(), Late: kept,
		Do: scan.Do(c.FormValue("do")), Feed: c.FormValue("feed"), Pocket: c.FormValue("pocket"), Gone: c.FormValue("gone") != "",
		Why: c.FormValue("why"),
	}
	if typed != "" {
		n, err := strconv.Atoi(typed)
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

// isAboard says whether a badge is of a station's crew. Whoever has left by now does not join again by the key
// with which the page still offers to sign them out.
func (p *pages) isAboard(st scan.Station, badge string) (is bool) {
	n, err := tags.ParseNumber(badge)
	if err != nil {
		return false
	}
	err = p.floor.View(func(past *view.Past) error {
		is = slices.ContainsFunc(p.floor.Rules().Aboard(past.Floor(st.Name), time.Now().UnixMilli()), func(a scan.Aboard) bool { return a.Person == n })
		return nil
	})
	return is && err == nil
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
	now := time.Now()
	d := stationPage{Station: st, Code: code, Loads: st.Can(scan.Loadout)}
	d.Steps = slices.ContainsFunc(scan.Steps, func(s scan.Step) bool { return st.Can(scan.Work(s)) })
	receives, cuts := st.Can(scan.Receiving), len(st.Feeds) > 0
	d.Returns = receives || st.Can(scan.Yard)
	d.Yards = receives || cuts || st.Can(scan.Yard) || st.Can(scan.Staging)
	dev, rules := device(c), p.floor.Rules()
	people, err := p.floor.People()
	if err != nil {
		return err
	}
	if who, ok := people[n]; ok && a != nil && a.Notes[0].Code == "crew joined" {
		p.badge(c, who)
	}
	err = p.floor.View(func(past *view.Past) error {
		if d.Returns || st.Can(scan.Staging) {
			d.Found = foundOf(past, n)
		}
		at := past.Floor(st.Name)
		for _, a := range rules.Aboard(at, now.UnixMilli()) {
			d.Crew = append(d.Crew, aboard{a, cmp.Or(people[a.Person].Name, a.Person.String())})
		}
		scans := p.floor.LastScans(past, st.Name)
		p.work(past, &d, at, scans, a, n)
		if cuts {
			d.Cut = &cutPart{Feeds: feeds(past, at)}
		}
		if d.Steps {
			d.Done = &doneToday{}
			p.floor.Today(past, now, d.Done.add(st.Name))
			d.Next = p.next(past, st)
		}
		d.Last = p.last(past, &d, scans, dev, people)
		if a != nil {
			asked(c) // who scans without a badge is at work: the page that looks for news must not ask again
		} else if len(d.Crew) == 0 && len(people) > 0 && !badged(c) {
			d.SignOn = signedOn(past, st, scans, people, rules)
		}
		if !d.Loads && !d.Yards {
			return nil
		}
		has := past.Device(dev)
		if d.Loads || st.Can(scan.Staging) {
			d.Loadout = p.dock(past, st, has.Load, c.QueryParam("leave") != "")
			if d.Loadout.Load != nil {
				d.Found = nil // the load stays in view
			}
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
	if a != nil {
		d.Answer = p.reply(language(c), &d, *a, now)
	}
	var crew []string
	for _, a := range d.Crew {
		crew = append(crew, a.Name)
	}
	return p.renderIn(c, onFloor, "station.html", st.Title, crew, d)
}

// add adds up what one station does.
func (d *doneToday) add(station string) func(view.Work) {
	return func(w view.Work) {
		if w.Station != station {
			return
		}
		d.Mass += w.Mass
		if w.Whole {
			d.Bundles++
		}
	}
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

// next is what waits at a station, in the order in which the trucks need it.
func (p *pages) next(past *view.Past, st scan.Station) (out []nextNeed) {
	names := map[string]string{}
	w := scan.NeedsAt(past, p.floor.Rules(), st, mostNext)
	for _, n := range w.Needs {
		one := nextNeed{Need: n, Truck: w.Trucks[n.Truck]}
		if _, ok := names[n.Line.Job]; !ok {
			job, _ := past.Job(n.Line.Job)
			names[n.Line.Job] = job.Name
		}
		one.JobName = names[n.Line.Job]
		one.Mass, _ = bar.Weigh(n.Line.Steel.Size, n.Line.Length*bar.Length(n.Pieces())) // sizes of lines were checked
		out = append(out, one)
	}
	return out
}
