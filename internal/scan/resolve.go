package scan

import (
	"fmt"
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Office is what a person is trusted to settle. Who holds which office the plant says, beside the badges.
type Office string

// The offices.
const (
	Quality   Office = "quality"
	Shipping  Office = "shipping"
	FloorLead Office = "floor lead"
	Desk      Office = "office"
)

// Offices are all offices, the strictest first: of an answer with several sentences, the first that any
// of them asks for settles all.
var Offices = []Office{Quality, Shipping, FloorLead, Desk}

// Word is the office in a language.
func (o Office) Word(lang Lang) string {
	if w, ok := words[string(o)]; ok && lang == Spanish {
		return w
	}
	return string(o)
}

// Settle says who may settle what a sentence leaves to look at, and how.
type Settle struct {
	Office Office
	EN, ES string
}

// settle is the row of a sentence. A refusal without one is of a dispute, or marks a deed: the floor lead
// knows what was done.
func settle(code string) (Settle, bool) {
	s, ok := Settles[code]
	if !ok && Sentences[code].Verdict == event.Refused {
		return Settle{Office: FloorLead}, true
	}
	return s, ok
}

// Who is the office that settles an answer.
func Who(a event.Answer) Office {
	who := Desk
	for _, n := range a.Notes {
		if s, ok := settle(n.Code); ok && slices.Index(Offices, s.Office) < slices.Index(Offices, who) {
			who = s.Office
		}
	}
	return who
}

// How says what to do to settle an answer, a sentence for each thing that it leaves to look at.
func How(a event.Answer, lang Lang) []string {
	var out []string
	for _, n := range a.Notes {
		s, _ := settle(n.Code)
		says := s.EN
		if lang == Spanish {
			says = s.ES
		}
		if says != "" && !slices.Contains(out, says) {
			out = append(out, says)
		}
	}
	return out
}

// As says in which office a person settles what wants an office, where holders are all badges that hold
// any. Where nobody holds it, anybody may, and As says so.
func As(want Office, person tags.Number, holders map[tags.Number][]Office) (string, error) {
	if slices.Contains(holders[person], want) {
		return string(want), nil
	}
	var may []tags.Number
	for n, offices := range holders {
		if slices.Contains(offices, want) {
			may = append(may, n)
		}
	}
	slices.Sort(may)
	switch {
	case len(may) == 0:
		return "anybody, since nobody here holds " + string(want), nil
	case person == 0:
		return "", refusal("person", "is missing; this is settled by %s: scan a badge of %s, such as %v", want, want, may[0])
	}
	return "", refusal("person", "%v may not settle this; %s may, such as badge %v", person, want, may[0])
}

// Settling is what a person says to settle something on the list.
type Settling struct {
	Seq    uint64 // what is settled
	Reason string
	Took   bool // a disputed scan was done: it is judged again as a deed
	// What is known now of a scan that is taken, where the scan itself does not say it.
	Pieces int
	Lots   []tags.Number
	// Reader understands the text of a scan that had no number of ours.
	Reader tags.Reader
}

// Resolve settles what an event left to look at. The first event is Resolved; of a disputed scan that is
// taken as done, what it did follows. What makes no sense as a deed either is refused, and stays on the
// list; the refusal says what to do instead. As is in which office the person settles it.
func Resolve(past Past, rules Rules, open bool, s Settling, as string) (event.Answer, []event.Body, error) {
	a := answer(event.Accepted, "resolved", s.Seq)
	reason, err := event.CleanText("reason", s.Reason, event.MostReason)
	r := event.Resolved{Seq: s.Seq, Reason: reason, Took: s.Took, As: as}
	switch {
	case err != nil:
		return a, nil, err
	case !open:
		return a, nil, refusal("seq", "record %d is not on the list to resolve: it was settled, or never left anything to look at", s.Seq)
	case reason == "":
		return a, nil, refusal("reason", "is missing; say what was found, and what was done about it")
	case !s.Took && (s.Pieces != 0 || len(s.Lots) > 0):
		return a, nil, refusal("took", "is missing: pieces and lots are said of a scan that is taken as done")
	case !s.Took:
		return a, []event.Body{r}, nil
	}
	out, err := take(past, rules, s)
	if err != nil {
		return a, nil, err
	}
	out.Answer.Notes = append([]event.Note{note("taken")}, out.Answer.Notes...)
	return out.Answer, append([]event.Body{r}, out.Events...), nil
}

// take judges a disputed scan again, as a deed that was done.
func take(past Past, rules Rules, s Settling) (Outcome, error) {
	e := past.Event(s.Seq)
	d, ok := e.Body.(event.ScanDisputed)
	switch {
	case !ok:
		return Outcome{}, refusal("took", "record %d is no disputed scan but %v, which counts already; settle it without", s.Seq, e.Body.Kind())
	case slices.ContainsFunc(e.Answer.Notes, func(n event.Note) bool { return n.Code == "kept not read" }):
		return Outcome{}, refusal("took", "the kept scan cannot be read, so nothing can be taken; scan again what was done, and settle it without")
	}
	x := Scan{
		Read: tags.Scan{Number: d.Number, Text: d.Number.Digits()}, Station: e.Station, Device: e.Device, At: happened(e), Do: Do(d.Do),
		Pieces: d.Pieces, Feed: d.Feed, Lots: d.Lots, Bars: d.Bars, Remnants: d.Remnants, Coils: d.Coils, Scrap: d.Scrap, Gone: d.Gone, Why: d.Why, Deed: true,
	}
	if d.Number == 0 {
		x.Read, x.Wrong = s.Reader.Read(d.Text)
	}
	if s.Pieces != 0 {
		x.Pieces = s.Pieces
	}
	if len(s.Lots) > 0 {
		x.Lots = s.Lots
	}
	j := &judge{past: past, rules: rules, scan: x, dev: Device{Load: d.Load, Put: d.Put}}
	out := j.decide()
	says, next := Say(out.Answer.Notes[0], English)
	switch {
	case out.Answer.Verdict == event.Refused:
		if instead := insteads[out.Answer.Notes[0].Code]; instead != "" {
			next = instead
		}
		return out, refusal("took", "makes no sense as the record is: %s %s", says, next)
	case !changes(out.Events):
		return out, refusal("took", "would change nothing: %s Settle it without", says)
	}
	return out, nil
}

// changes says whether events do more than open something at a device that has gone on since.
func changes(events []event.Body) bool {
	return slices.ContainsFunc(events, func(b event.Body) bool {
		switch b.(type) {
		case event.LoadOpened, event.PlaceOpened, event.CardShown, event.ScanNoted:
			return false
		}
		return true
	})
}

// insteads say how what cannot be taken is recorded, or mended, by the refusal.
var insteads = map[string]string{
	"done already":    "If that is right, settle this without. If it is wrong, undo it first: POST /bundles/{number}/undo.",
	"loaded already":  "If that is right, settle this without. If it is wrong, unload the bundle first.",
	"shipped already": "If that is right, settle this without. If it came back, return it first.",
	"away already":    "If that is right, settle this without. If it came back, say so first.",
	"not left":        "If the truck left, ship the load first, as gone; else unload it.",
	"only whole":      "Return all of it, and settle this without.",
	"not away":        "Settle this without.",
	"voided":          "Scan the pieces under the bundle that they are counted in now, with the count, and settle this without.",
	"not known":       "Keep the tag, scan again what was done under its right number, and settle this without.",
	"not a tag":       "Scan again what was done, and settle this without.",
	"mistyped":        "Scan again what was done, and settle this without.",
	"not cut yet":     "Scan it there first, with the count, and then take this.",
	"not ready":       "Scan it there first, with the count, and then take this.",
	"no load open":    "Scan the load that it went on, and then the bundle; if the truck has gone, say so.",
	"load left":       "If it left then, settle this without.",
	"not on a load":   "Settle this without.",
	"not on the feed": "Settle this without.",
}

// Title names what an event on the list is about: a bundle by mark, which of how many, job and list; any
// other thing by its number; else the text that was scanned.
func Title(past Past, n tags.Number, e event.Event) string {
	if b, ok := past.Bundle(n); ok {
		l := past.Line(b.Line)
		return fmt.Sprintf("%s, %s/%s", title(b, l), l.Job, l.List)
	}
	if n != 0 {
		return n.Kind().String() + " " + n.String()
	}
	if d, ok := e.Body.(event.ScanDisputed); ok {
		return cut(d.Text, 40)
	}
	return e.Body.Kind().String()
}
