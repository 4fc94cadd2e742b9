package heat

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

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
	s = strings.TrimSpace(s)
	switch {
	case s == "":
		return "", refuse(field, "is empty; write it as the mill does")
	case len([]rune(s)) > most:
		return "", refuse(field, "has %d characters; %d are the most", len([]rune(s)), most)
	case strings.ContainsFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }):
		return "", refuse(field, "has a character that cannot be printed: %q", s)
	}
	return s, nil
}

func cleanCountry(field, s string) (string, error) {
	s = strings.ToUpper(strings.TrimSpace(s))
	if s == "" {
		return "", nil
	}
	if len(s) != 2 || s[0] < 'A' || s[0] > 'Z' || s[1] < 'A' || s[1] > 'Z' {
		return "", refuse(field, "%q is no country code; ISO 3166 has two letters, as US or ES", s)
	}
	return s, nil
}

// Receive checks a lot that comes in. The number is given by the caller.
func Receive(past interface {
	Alias(string) (tags.Number, bool)
	Place(tags.Number) (string, bool)
}, r event.LotReceived) (event.LotReceived, error) {
	var err error
	if r.Mill, err = CleanMill(r.Mill); err != nil {
		return r, err
	}
	if r.Heats, err = cleanHeats(r.Heats); err != nil {
		return r, err
	}
	if r.Melted, err = cleanCountry("melted", r.Melted); err != nil {
		return r, err
	}
	if r.Rolled, err = cleanCountry("rolled", r.Rolled); err != nil {
		return r, err
	}
	switch {
	case r.Steel.Size == "":
		return r, refuse("size", "is missing; write #5, 16mm or 15M")
	case r.Length <= 0:
		return r, refuse("length", "is missing; write the length of one bar, as 60' or 12 m")
	case r.Bars <= 0:
		return r, refuse("bars", "is %d; count them, 1 at least", r.Bars)
	case r.Bars > 1_000_000:
		return r, refuse("bars", "is %d; more than a million bars is no lot", r.Bars)
	case len(r.Bundles) > 500:
		return r, refuse("mill_bundles", "are %d; 500 are the most in one lot", len(r.Bundles))
	}
	if r.Place != 0 {
		if _, ok := past.Place(r.Place); !ok {
			return r, refuse("place", "%v is no place of this plant", r.Place)
		}
	}
	sum := 0
	for i, b := range r.Bundles {
		if r.Bundles[i].Number, err = clean("mill_bundles", b.Number, 40); err != nil {
			return r, err
		}
		if b.Bars < 0 {
			return r, refuse("mill_bundles", "%s has %d bars", b.Number, b.Bars)
		}
		if n, ok := past.Alias(MillAlias(r.Mill, r.Bundles[i].Number)); ok {
			return r, refuse("mill_bundles", "%s of %s came in already, as lot %v", b.Number, r.Mill, n)
		}
		if slices.ContainsFunc(r.Bundles[:i], func(o event.MillBundle) bool { return o.Number == r.Bundles[i].Number }) {
			return r, refuse("mill_bundles", "%s stands there twice", b.Number)
		}
		sum += b.Bars
	}
	if sum != 0 && sum != r.Bars {
		return r, refuse("bars", "is %d, the mill bundles hold %d together; make them agree, or leave out the bars of the bundles", r.Bars, sum)
	}
	return r, nil
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
	if e.Mill, err = CleanMill(e.Mill); err != nil {
		return e, err
	}
	if strings.TrimSpace(e.Reason) == "" {
		return e, refuse("reason", "is missing; say why the heat is another")
	}
	return e, nil
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
	if e.Melted, err = cleanCountry("melted", e.Melted); err != nil {
		return e, err
	}
	if e.Rolled, err = cleanCountry("rolled", e.Rolled); err != nil {
		return e, err
	}
	if len(e.Sizes) == 0 {
		return e, refuse("sizes", "are missing; a cert covers only the sizes that stand on it")
	}
	return e, nil
}

// Put checks a hold.
func Put(past Past, e event.HoldPut, known func(event.Target) bool) (event.HoldPut, error) {
	if strings.TrimSpace(e.Reason) == "" {
		return e, refuse("reason", "is missing; who meets this hold must know why")
	}
	if e.Target.Number == 0 && (e.Target.Mill == "" || e.Target.Heat == "") {
		return e, refuse("target", "is missing; name a heat with its mill, or the number of a lot, bundle or load")
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
	if _, ok := past.Hold(e.Target); !ok {
		return e, refuse("target", "%s is not held", What(e.Target))
	}
	if strings.TrimSpace(e.Reason) == "" {
		return e, refuse("reason", "is missing; say why the hold ends")
	}
	return e, nil
}
