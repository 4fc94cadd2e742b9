package heat

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

func refuse(field, format string, args ...any) error {
	return &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
}

// CleanHeat checks a heat number: text of 1 to 32 printable characters without spaces around it. It
// is never read as a number: leading zeros and "01E5" stay.
func CleanHeat(s string) (string, error) { return clean("heat", s, 32) }

// CleanMill checks a mill's name: 1 to 60 printable characters.
func CleanMill(s string) (string, error) { return clean("mill", s, 60) }

func clean(field, s string, most int) (string, error) {
	s, err := event.CleanText(field, s, most)
	if err == nil && s == "" {
		err = refuse(field, "is empty; write it as the mill does")
	}
	return s, err
}

// cleanReason checks why something is done: it must be said.
func cleanReason(s, missing string) (string, error) {
	s, err := event.CleanText("reason", s, event.MostReason)
	if err == nil && s == "" {
		err = refuse("reason", "is missing; %s", missing)
	}
	return s, err
}

// Yard is what is asked about before stock is taken in.
type Yard interface {
	Alias(string) (tags.Number, bool)
	Place(tags.Number) (string, bool)
}

// Receive checks a lot of bars that comes in. The number is given by the caller.
func Receive(past Yard, r event.LotReceived) (event.LotReceived, error) {
	if err := cleanPaper(paper{&r.Mill, &r.Heats, r.Steel, &r.Melted, &r.Rolled, &r.PO}); err != nil {
		return r, err
	}
	switch {
	case r.Length <= 0:
		return r, refuse("length", "is missing; write the length of one bar, as 60' or 12 m")
	case r.Length > bar.MaxLength:
		return r, refuse("length", "of %s is no bar's; is the unit right?", r.Length.Text(bar.Metric))
	case r.Bars <= 0:
		return r, refuse("bars", "is %d; count them, 1 at least", r.Bars)
	case r.Bars > 1_000_000:
		return r, refuse("bars", "is %d; more than a million bars is no lot", r.Bars)
	}
	if err := knownPlace(past, r.Place); err != nil {
		return r, err
	}
	sum := 0
	r.Bundles = slices.Clone(r.Bundles)
	own := make([]*string, len(r.Bundles))
	for i := range r.Bundles {
		own[i] = &r.Bundles[i].Number
	}
	if err := cleanNumbers(past, "mill_bundles", r.Mill, own); err != nil {
		return r, err
	}
	for _, b := range r.Bundles {
		if b.Bars < 0 || b.Bars > r.Bars {
			return r, refuse("mill_bundles", "%s has %d bars, the lot %d", b.Number, b.Bars, r.Bars)
		}
		sum += b.Bars
	}
	if sum != 0 && sum != r.Bars {
		return r, refuse("bars", "is %d, the mill bundles hold %d together; make them agree, or leave out the bars of the bundles", r.Bars, sum)
	}
	return r, nil
}

// MostCoil is the most mass of one lot of coil: a ship's hold full.
const MostCoil = 50_000_000 * bar.Kilogram

// ReceiveCoil checks a lot of coil that comes in. The number is given by the caller.
func ReceiveCoil(past Yard, r event.CoilReceived) (event.CoilReceived, error) {
	if err := cleanPaper(paper{&r.Mill, &r.Heats, r.Steel, &r.Melted, &r.Rolled, &r.PO}); err != nil {
		return r, err
	}
	switch {
	case r.Mass <= 0:
		return r, refuse("weight", "is missing; write what the coils weigh together, as 3,000 lb or 1360 kg")
	case r.Mass > MostCoil:
		return r, refuse("weight", "of %s is no lot's; is the unit right?", r.Mass.Text(bar.Metric))
	}
	if err := knownPlace(past, r.Place); err != nil {
		return r, err
	}
	r.Coils = slices.Clone(r.Coils)
	own := make([]*string, len(r.Coils))
	for i := range r.Coils {
		own[i] = &r.Coils[i].Number
	}
	if err := cleanNumbers(past, "mill_coils", r.Mill, own); err != nil {
		return r, err
	}
	var sum bar.Mass
	for _, c := range r.Coils {
		if c.Mass < 0 || c.Mass > r.Mass {
			return r, refuse("mill_coils", "%s weighs %s, the lot %s", c.Number, c.Mass.Text(bar.Metric), r.Mass.Text(bar.Metric))
		}
		sum += c.Mass
	}
	if sum != 0 && sum != r.Mass {
		return r, refuse("weight", "is %s, the coils weigh %s together; make them agree, or leave out the weights of the coils", r.Mass.Text(bar.Metric), sum.Text(bar.Metric))
	}
	return r, nil
}

// paper is what a mill's paper says of steel, whatever its form.
type paper struct {
	mill   *string
	heats  *[]string
	steel  bar.Steel
	melted *string
	rolled *string
	po     *string
}

func cleanPaper(p paper) (err error) {
	// A heat is one of its mill. Where neither can be read any more, both are unknown.
	if *p.mill = strings.TrimSpace(*p.mill); *p.mill != "" || len(*p.heats) > 0 {
		if *p.mill, err = CleanMill(*p.mill); err != nil {
			return err
		}
	}
	if *p.heats, err = cleanHeats(*p.heats); err != nil {
		return err
	}
	if *p.melted, err = event.CleanCountry("melted", *p.melted); err != nil {
		return err
	}
	if *p.rolled, err = event.CleanCountry("rolled", *p.rolled); err != nil {
		return err
	}
	if *p.po, err = event.CleanText("po", *p.po, event.MostWords); err != nil {
		return err
	}
	if p.steel.Size == "" {
		return refuse("size", "is missing; write #5, 16mm or 15M")
	}
	return nil
}

func knownPlace(past Yard, n tags.Number) error {
	if _, ok := past.Place(n); n != 0 && !ok {
		return refuse("place", "%v is no place of this plant", n)
	}
	return nil
}

// cleanNumbers checks the numbers of a mill's bundles or coils: none of ours, none that came in before,
// none twice.
func cleanNumbers(past Yard, field, mill string, own []*string) (err error) {
	if len(own) > 500 {
		return refuse(field, "are %d; 500 are the most in one lot", len(own))
	}
	for i, n := range own {
		if *n, err = clean(field, *n, 40); err != nil {
			return err
		}
		if _, err := tags.ParseNumber(*n); err == nil {
			return refuse(field, "%s is a number of ours, not the mill's", *n)
		}
		if lot, ok := past.Alias(MillAlias(mill, *n)); ok {
			return refuse(field, "%s of %s came in already, as lot %v", *n, mill, lot)
		}
		if slices.ContainsFunc(own[:i], func(o *string) bool { return *o == *n }) {
			return refuse(field, "%s stands there twice", *n)
		}
	}
	return nil
}

// MillAlias is the alias under which a mill's bundle number is found: mill, then number.
func MillAlias(mill, bundle string) string { return mill + "\x1f" + bundle }

func cleanHeats(in []string) ([]string, error) {
	var out []string
	for _, h := range in {
		h, err := CleanHeat(h)
		if err != nil {
			return nil, err
		}
		if !slices.Contains(out, h) {
			out = append(out, h)
		}
	}
	if len(out) > 50 {
		return nil, refuse("heats", "are %d; 50 are the most in one lot", len(out))
	}
	return out, nil
}

// Declare checks what a supplier's paper says of the heats of something bought ready made.
func Declare(e event.HeatsDeclared) (event.HeatsDeclared, error) {
	var err error
	if e.Mill, err = CleanMill(e.Mill); err != nil {
		return e, err
	}
	if e.Heats, err = cleanHeats(e.Heats); err != nil {
		return e, err
	}
	if len(e.Heats) == 0 {
		return e, refuse("heats", "are missing; write those that the paper names")
	}
	if e.Melted, err = event.CleanCountry("melted", e.Melted); err != nil {
		return e, err
	}
	if e.Rolled, err = event.CleanCountry("rolled", e.Rolled); err != nil {
		return e, err
	}
	e.Paper, err = event.CleanText("paper", e.Paper, event.MostWords)
	if err == nil && e.Paper == "" {
		err = refuse("paper", "is missing; write which paper of the supplier says it")
	}
	return e, err
}

// Correct checks new heats for a lot. A remnant has no heat of its own.
func Correct(past Past, e event.LotHeatSet) (event.LotHeatSet, error) {
	l, ok := past.Lot(e.Lot)
	if !ok {
		return e, refuse("lot", "%v is no lot of this plant", e.Lot)
	}
	if l.Remnant() {
		return e, refuse("lot", "%v is a remnant: its heats are those of lot %v; correct that one", e.Lot, l.Parents)
	}
	var err error
	if e.Heats, err = cleanHeats(e.Heats); err != nil {
		return e, err
	}
	if strings.TrimSpace(e.Mill) == "" {
		e.Mill = l.Mill
	}
	if e.Mill != "" || len(e.Heats) > 0 {
		if e.Mill, err = CleanMill(e.Mill); err != nil {
			return e, err
		}
	}
	e.Reason, err = cleanReason(e.Reason, "say why the heat is another")
	return e, err
}

// File checks a cert record.
func File(e event.CertFiled) (event.CertFiled, error) {
	var err error
	if e.Mill, err = CleanMill(e.Mill); err != nil {
		return e, err
	}
	if e.Heat, err = CleanHeat(e.Heat); err != nil {
		return e, err
	}
	if e.Melted, err = event.CleanCountry("melted", e.Melted); err != nil {
		return e, err
	}
	if e.Rolled, err = event.CleanCountry("rolled", e.Rolled); err != nil {
		return e, err
	}
	for _, f := range []struct {
		name string
		text *string
	}{{"spec", &e.Spec}, {"type", &e.Type}, {"text", &e.Text}} {
		if *f.text, err = event.CleanText(f.name, *f.text, event.MostWords); err != nil {
			return e, err
		}
	}
	if len(e.Sizes) == 0 {
		return e, refuse("sizes", "are missing; a cert covers only the sizes that stand on it")
	}
	for i, s := range e.Sizes {
		if _, ok := s.Row(); !ok {
			return e, refuse("sizes", "%q is no size; write #5, 16mm or 15M", s)
		}
		if slices.Contains(e.Sizes[:i], s) {
			return e, refuse("sizes", "%s stands there twice", s)
		}
	}
	return e, nil
}

// Put checks a hold.
func Put(past Past, e event.HoldPut, known func(event.Target) bool) (event.HoldPut, error) {
	var err error
	if e.Reason, err = cleanReason(e.Reason, "who meets this hold must know why"); err != nil {
		return e, err
	}
	if e.Target, err = cleanTarget(e.Target); err != nil {
		return e, err
	}
	if k := e.Target.Number.Kind(); e.Target.Number != 0 && k != tags.Stock && k != tags.Bundle && k != tags.Load {
		return e, refuse("target", "%v is a %v; a hold is put on a heat, lot, bundle or load", e.Target.Number, k)
	}
	if !known(e.Target) {
		return e, refuse("target", "%s is not known here", What(e.Target))
	}
	if h, ok := past.Hold(e.Target); ok {
		return e, refuse("target", "%s is held already: %s", What(e.Target), h.Reason)
	}
	return e, nil
}

// Lift checks the end of a hold.
func Lift(past Past, e event.HoldLifted) (event.HoldLifted, error) {
	var err error
	if e.Target, err = cleanTarget(e.Target); err != nil {
		return e, err
	}
	if _, ok := past.Hold(e.Target); !ok {
		return e, refuse("target", "%s is not held", What(e.Target))
	}
	e.Reason, err = cleanReason(e.Reason, "say why the hold ends")
	return e, err
}

// cleanTarget checks that a target is a number, or a heat with its mill, and not both.
func cleanTarget(t event.Target) (event.Target, error) {
	if t.Mill == "" && t.Heat == "" && t.Number != 0 {
		return t, nil
	}
	if t.Number != 0 || t.Mill == "" || t.Heat == "" {
		return t, refuse("target", "is not clear; name a heat with its mill, or the number of a lot, bundle or load")
	}
	var err error
	if t.Mill, err = CleanMill(t.Mill); err == nil {
		t.Heat, err = CleanHeat(t.Heat)
	}
	return t, err
}

// MillNumbers are the mill's own numbers of bundles and coils.
func MillNumbers(bundles []event.MillBundle, coils []event.MillCoil) (out []string) {
	for _, b := range bundles {
		out = append(out, b.Number)
	}
	for _, c := range coils {
		out = append(out, c.Number)
	}
	return out
}

// NewLot is the lot that an event takes in or writes down as expected, but for the time, and the mill's own
// numbers in it. Of any other event it is the zero value.
func NewLot(body event.Body) (l Lot, own []string) {
	switch b := body.(type) {
	case event.LotReceived:
		return Lot{
			Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length, Received: b.Bars,
			Bundles: b.Bundles, Place: b.Place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO,
		}, MillNumbers(b.Bundles, nil)
	case event.CoilReceived:
		return Lot{
			Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Mass: b.Mass, Coils: b.Coils,
			Place: b.Place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO,
		}, MillNumbers(nil, b.Coils)
	case event.LotExpected:
		return Lot{
			Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO,
			Paper: &Paper{Bars: b.Bars, Mass: b.Mass, Bundles: b.Bundles, Coils: b.Coils, Date: b.Date, Open: true},
		}, MillNumbers(b.Bundles, b.Coils)
	}
	return l, nil
}
