package pages

import (
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// pair is the text of a language.
func pair(lang scan.Lang, english, spanish string) string {
	if lang == scan.Spanish {
		return spanish
	}
	return english
}

// recallPage is where everything is that may be of something, in the order of haste.
type recallPage struct {
	Asked, AsOf string
	Refused     string // why the moment is none
	view.Recall
	Parts   []recallPart
	At      int64 // of the newest record that the answer knows
	Account heat.Account
	Unsaid  [][2]string
}

// recallPart is what is equally urgent.
type recallPart struct {
	English, Spanish string
	Groups           []recallGroup
}

// recallGroup is what is equally urgent and equally sure.
type recallGroup struct {
	view.Group
	Ties []view.RecalledBundle
	Pile []view.RecalledLot
}

func (p *pages) recall(c echo.Context) error {
	d := recallPage{Asked: strings.TrimSpace(c.QueryParam("q")), AsOf: strings.TrimSpace(c.QueryParam("as_of"))}
	d.Unsaid = view.Unsaid[:]
	err := p.floor.View(func(past *view.Past) error {
		then, err := p.floor.AsOf(past, d.AsOf, d.Asked)
		if err != nil {
			return err
		}
		d.Recall = then.Recall(d.Asked)
		d.At = then.When(d.Through)
		if d.Asked != "" {
			d.Account, _ = then.Account(d.Asked)
		}
		return nil
	})
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	for h := view.Here; h <= view.NoMore; h++ {
		part := recallPart{}
		part.English, part.Spanish = h.Title()
		for _, g := range d.Groups {
			if g.Haste != h {
				continue
			}
			one := recallGroup{Group: g}
			for _, b := range d.Bundles {
				if b.Haste == h && b.Sure == g.Sure {
					one.Ties = append(one.Ties, b)
				}
			}
			for _, l := range d.Lots {
				if l.Haste == h && l.Sure == g.Sure {
					one.Pile = append(one.Pile, l)
				}
			}
			part.Groups = append(part.Groups, one)
		}
		if len(part.Groups) > 0 {
			d.Parts = append(d.Parts, part)
		}
	}
	return p.render(c, "recall.html", d.Asked, d)
}

// holdsPage is what is held, and what a hold that is asked about would stop.
type holdsPage struct {
	Holds   []heat.Hold
	What    string // in the form
	Reason  string
	Refused string
	Done    string // what was held or lifted
	Asked   *held  // what a hold would stop, or has stopped
}

// held is what a hold on a target stops.
type held struct {
	What          string // in words
	Kind, Name    string // the same in two parts
	Target        event.Target
	Stops, Cannot []view.Say
	// How much it is: lots and remnants on hand, bundles that are here, on trucks that are here, or gone, and
	// those of all of them that may be of something else.
	Lots, Remnants, Here, Aboard, Gone, Unsure int
}

// Bundles is how many bundles a hold is about.
func (h held) Bundles() int { return h.Here + h.Aboard + h.Gone }

// holds shows what is held, and what a hold on something would stop.
func (p *pages) holds(c echo.Context) (err error) {
	d := holdsPage{What: strings.TrimSpace(c.QueryParam("what"))}
	if d.What != "" {
		err = p.floor.View(func(past *view.Past) error {
			t, err := target(past, d.What)
			if err == nil {
				d.Asked = stopped(past, t, p.floor.Rules().Units)
			}
			return err
		})
	}
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	return p.showHolds(c, d)
}

func (p *pages) showHolds(c echo.Context, d holdsPage) error {
	if err := p.floor.View(func(past *view.Past) error {
		past.Holds(func(h heat.Hold) bool { d.Holds = append(d.Holds, h); return true })
		return nil
	}); err != nil {
		return err
	}
	slices.SortFunc(d.Holds, func(a, b heat.Hold) int { return int(int64(a.Seq) - int64(b.Seq)) })
	return p.render(c, "holds.html", p.word(language(c), "holds"), d)
}

// target reads what a hold is put on: a number, or a heat with its mill, or without where there is one only.
func target(past *view.Past, text string) (event.Target, error) {
	text = strings.Join(strings.Fields(text), " ")
	if n, err := tags.ParseNumber(text); err == nil {
		return event.Target{Number: n}, nil
	}
	found := past.HeatsNamed(text)
	for i := range text {
		k := heat.Key{Mill: strings.TrimSpace(text[:i]), Heat: strings.TrimSpace(text[i:])}
		if text[i] == ' ' && past.KnownTarget(event.Target{Mill: k.Mill, Heat: k.Heat}) {
			found = append(found, k)
		}
	}
	switch len(found) {
	case 0:
		return event.Target{}, &event.Refusal{Field: "target", Says: "is not known: write the number of a lot, bundle or load, or a heat with its mill"}
	case 1:
		return event.Target{Mill: found[0].Mill, Heat: found[0].Heat}, nil
	}
	return event.Target{}, &event.Refusal{Field: "target", Says: "is the heat of several mills: write the mill before it"}
}

// putHold takes the form: "would" only says what the hold would stop.
func (p *pages) putHold(c echo.Context) error {
	o, err := origin(c, "hold")
	if err != nil {
		return err
	}
	d := holdsPage{What: c.FormValue("what"), Reason: c.FormValue("reason")}
	e := event.HoldPut{Reason: d.Reason}
	would := c.FormValue("would") != ""
	err = p.floor.View(func(past *view.Past) (err error) {
		if e.Target, err = target(past, d.What); err == nil && would {
			_, err = heat.Put(past, e, past.KnownTarget)
		}
		return err
	})
	if err == nil && !would {
		_, err = p.floor.Hold(c.Request().Context(), o, e)
	}
	switch d.Refused, err = refusal(err); {
	case err != nil:
		return err
	case d.Refused != "":
		return p.showHolds(c, d)
	}
	if err := p.floor.View(func(past *view.Past) error {
		d.Asked = stopped(past, e.Target, p.floor.Rules().Units)
		return nil
	}); err != nil {
		return err
	}
	if !would {
		d.Done, d.What, d.Reason = heat.What(e.Target), "", ""
	}
	return p.showHolds(c, d)
}

func stopped(past *view.Past, t event.Target, u bar.Units) *held {
	h := held{What: heat.What(t), Target: t}
	h.Kind, h.Name = heat.Named(t)
	r := past.RecallOf(t)
	h.Stops, h.Cannot = r.Stops(u)
	for _, b := range r.Bundles {
		switch b.Haste {
		case view.Here:
			h.Aboard++
		case view.Left:
			h.Gone++
		case view.NoMore:
			continue
		default:
			h.Here++
		}
		if b.Sure != heat.Certain {
			h.Unsure++
		}
	}
	for _, l := range r.Lots {
		if l.Remnant() {
			h.Remnants++
		} else {
			h.Lots++
		}
	}
	return &h
}

func (p *pages) liftHold(c echo.Context) error {
	o, err := origin(c, "lift")
	if err != nil {
		return err
	}
	d := holdsPage{}
	e := event.HoldLifted{Reason: c.FormValue("reason")}
	err = p.floor.View(func(past *view.Past) (err error) {
		e.Target, err = target(past, c.FormValue("what"))
		return err
	})
	if err == nil {
		_, err = p.floor.Lift(c.Request().Context(), o, e)
	}
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	if d.Refused == "" {
		d.Done = heat.What(e.Target)
	}
	return p.showHolds(c, d)
}
