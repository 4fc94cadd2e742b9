package scan

import (
	"fmt"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Ticket is a scale ticket of a load.
type Ticket struct {
	Load   tags.Number
	Ticket string // its number
	Gross  bar.Mass
	Tare   bar.Mass
	SHA256 []byte // of its photo or paper
}

// Weigh records a scale ticket: a fact beside the nominal mass, which it never replaces.
func Weigh(past Past, rules Rules, t Ticket) (Outcome, error) {
	ticket, err := event.CleanText("ticket", t.Ticket, event.MostWords)
	if err != nil {
		return Outcome{}, err
	}
	ld, err := loadOf(past, t.Load)
	switch {
	case err != nil:
		return Outcome{}, err
	case t.Gross <= 0:
		return Outcome{}, refusal("gross", "is missing; write what the scale showed, with its unit: 61,480 lb")
	case t.Tare < 0:
		return Outcome{}, refusal("tare", "is less than nothing")
	case t.Tare >= t.Gross:
		return Outcome{}, refusal("tare", "%s is not less than the gross %s; tare is the empty truck", t.Tare.Text(rules.Units), t.Gross.Text(rules.Units))
	}
	j := &judge{past: past, rules: rules}
	net := t.Gross - t.Tare
	out := Outcome{
		Show:   t.Load,
		Answer: answer(event.Accepted, "weighed", t.Load, j.mass(net), j.mass(ld.Mass), Beside(net, ld.Mass)),
		Events: []event.Body{event.LoadWeighed{Load: t.Load, Ticket: ticket, Gross: t.Gross, Tare: t.Tare, SHA256: t.SHA256}},
	}
	if ld.Limit > 0 && net > ld.Limit {
		look(&out.Answer, "over by scale", t.Load, j.mass(net), j.mass(ld.Limit))
	}
	return out, nil
}

// Beside says by how many percent a mass on a scale differs from the nominal one: "+1.8 %", and "" where
// nothing is nominal. Nobody says here how much is too much: a truck's scale has its own error, and bars
// their rolling tolerance.
func Beside(net, nominal bar.Mass) string {
	if nominal == 0 {
		return ""
	}
	return fmt.Sprintf("%+.1f %%", 100*float64(net-nominal)/float64(nominal))
}

// Delivery is what a signed sheet says.
type Delivery struct {
	Load   tags.Number
	Stop   int    // from 1; 0 all
	Date   string // yyyy-mm-dd, as it stands there
	Signed string // who signed, as it stands there
	SHA256 []byte // of the sheet's photo
}

// Deliver records a load, or one stop of it, as handed over. Said again the newest stands. What has left by
// word only is shipped first, as gone.
func Deliver(past Past, d Delivery) (Outcome, error) {
	signed, err := event.CleanText("signed", d.Signed, event.MostWords)
	if err != nil {
		return Outcome{}, err
	}
	d.Date = strings.TrimSpace(d.Date)
	ld, err := loadOf(past, d.Load)
	switch {
	case err != nil:
		return Outcome{}, err
	case ld.Shipped == 0:
		return Outcome{}, refusal("load", "%v has not left by the record; ship it first, and say that it has gone", d.Load)
	case d.Stop < 0 || d.Stop > len(ld.Stops):
		return Outcome{}, refusal("stop", "%d is none of the %d stops of %v; leave it out for all", d.Stop, len(ld.Stops), d.Load)
	}
	if _, err := time.Parse(time.DateOnly, d.Date); err != nil {
		return Outcome{}, refusal("date", "%q is no day; write it as it stands on the sheet: 2026-11-25", d.Date)
	}
	what := "all"
	if d.Stop > 0 {
		what = itoa(d.Stop)
	}
	by := signed
	if by == "" {
		by = "unknown"
	}
	return Outcome{
		Show:   d.Load,
		Answer: answer(event.Accepted, "delivered", d.Load, what, d.Date, by),
		Events: []event.Body{event.LoadDelivered{Load: d.Load, Stop: d.Stop, Date: d.Date, Signed: signed, SHA256: d.SHA256}},
	}, nil
}
