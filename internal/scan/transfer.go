package scan

import (
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// A bundle may go to a processor (a coater, a cage shop, another plant) before it is done, where its next
// step is what the stop says, or one that no station of this plant does. It is away there until it comes
// back: as it went, or tied anew with others of its line under the processor's own tags. Those have runs and
// parents of all that they may be of, so that no heat is lost on the way. What does not come back stays away.

// worksOn says whether a stop's processor does the next step of a bundle.
func (j *judge) worksOn(s load.Stop, b Bundle, l *Line) bool {
	return b.Next(l) != "" && j.stepsHere(s, b, l) == b.Done
}

// stepsHere is how many steps of a bundle's route are done here before it goes to a stop: those before the
// first that the stop's processor does, and at a site all. Nobody else cuts it.
func (j *judge) stepsHere(s load.Stop, b Bundle, l *Line) int {
	route := b.Steps(l)
	if s.Processor == "" {
		return len(route)
	}
	for i := max(b.Done, firstDraw(route)+1); i < len(route); i++ {
		does := func(st Station) bool { return st.Can(Work(route[i])) }
		if s.Step == route[i] || !slices.ContainsFunc(j.rules.Stations, does) {
			return i
		}
	}
	return len(route)
}

// nothingDone is the step of what comes back as it went.
const nothingDone = "none"

// Backing is what comes back from a processor.
type Backing struct {
	Load  tags.Number // on which it went
	From  []tags.Number
	Into  []BackInto // none: as they went
	Step  string     // the last that was done there; "" is the next one, "none" nothing
	Place tags.Number
}

// BackInto is a bundle as the processor tied it. Pieces 0 are all.
type BackInto struct {
	Pieces int
	Alias  string // what its tag says
}

// BringBack records what came back from a processor, at a desk.
func BringBack(past Past, rules Rules, x Backing) (Outcome, error) {
	ld, err := loadOf(past, x.Load)
	switch {
	case err != nil:
		return Outcome{}, err
	case len(x.From) == 0:
		return Outcome{}, refusal("from", "are missing; name the bundles that went")
	case len(x.From) > mostParts || len(x.Into) > mostParts:
		return Outcome{}, refusal("from", "names more than %d bundles at once", mostParts)
	}
	j := &judge{past: past, rules: rules}
	var from []Bundle
	for i, n := range x.From {
		b, l, err := bundleOf(past, "from", n)
		switch {
		case err != nil:
			return Outcome{}, err
		case slices.Contains(x.From[:i], n):
			return Outcome{}, refusal("from", "%v stands there twice", n)
		case b.Voided:
			return spoken(j.noMore(b, l), "from")
		case b.Load != x.Load || !b.Shipped:
			return Outcome{}, refusal("from", "%v is not away on load %v", n, x.Load)
		case stopOf(past, ld, b).Processor == "":
			return Outcome{}, refusal("from", "%v went to a site and not to a processor; what comes back from there is returned", n)
		}
		from = append(from, b)
	}
	return j.back(from, x)
}

// backAlone judges the scan of a bundle that came back from a processor, with the count that was typed.
func (j *judge) backAlone(b Bundle, l *Line) Outcome {
	if !b.Shipped || j.stopOf(b).Processor == "" {
		return j.refuse(b.Number, "not away", title(b, l))
	}
	x := Backing{Load: b.Load, From: []tags.Number{b.Number}, Place: j.dev.Put}
	switch {
	case j.scan.Pieces > 0 && j.scan.Pieces != b.Pieces && unfinished(b, l):
		return j.refuse(b.Number, "only whole", title(b, l), b.Next(l))
	case j.scan.Pieces > 0:
		x.Into = []BackInto{{Pieces: j.scan.Pieces}}
	}
	out, err := j.back([]Bundle{b}, x)
	if err != nil { // a scan names no step and no tags, so nothing is left to refuse
		return j.refuse(b.Number, "only whole", title(b, l), b.Next(l))
	}
	return out
}

// back judges bundles that are away and come back.
func (j *judge) back(from []Bundle, x Backing) (Outcome, error) {
	first, l := from[0], j.past.Line(from[0].Line)
	step, err := j.stepDone(from, strings.TrimSpace(x.Step))
	if err != nil {
		return Outcome{}, err
	}
	e := event.BundlesBack{Load: x.Load, From: x.From, Step: step, Place: x.Place}
	who := j.stopOf(first).Processor
	out := Outcome{Show: first.Number}
	did := step
	if did == "" {
		did = "nothing"
	}
	out.Answer = answer(event.Accepted, "back", j.fewOf(x.From), who, did)
	if len(x.Into) > 0 {
		if err := j.tiedThere(&out.Answer, &e, from, x); err != nil {
			return Outcome{}, err
		}
		job, _ := j.past.Job(l.Job)
		if d := j.allHeats(from); job.Heats == event.HeatsSingle && len(d.Heats) > 1 {
			look(&out.Answer, "rule broken by now", job.Job, d.Names())
		}
	}
	out.Events = []event.Body{e}
	var fresh []tags.Number
	for _, part := range e.Into {
		if part.Number != first.Number {
			fresh = append(fresh, part.Number)
		}
	}
	for _, b := range from {
		if len(fresh) > 0 && j.holdParts(&out, b.Number, fresh) {
			break // nobody can say which of them have the pieces that are held, and one hold is enough
		}
	}
	return out, nil
}

// stepDone is the step that the processor did on bundles.
func (j *judge) stepDone(from []Bundle, said string) (string, error) {
	if said == nothingDone {
		return "", nil
	}
	for i, b := range from {
		l := j.past.Line(b.Line)
		switch next := b.Next(l); {
		case said == "" && i == 0:
			if said = next; next == "" || b.Draws(l) {
				said = nothingDone
			}
		case said == nothingDone && (next == "" || b.Draws(l)):
		case said == nothingDone:
			return "", refusal("step", "is missing: %v still has to %s, and others are done; say what was done, or none", b.Number, next)
		}
		if said != nothingDone && StepsTo(b, l, said) == 0 {
			return "", refusal("step", "%v has no %q before it; it goes %s. Set its route first, or say none", b.Number, said, after(b, l, b.Done))
		}
	}
	if said == nothingDone {
		return "", nil
	}
	return said, nil
}

// StepsTo is how many steps of its route a bundle has done when it has done one that is still before it; 0
// where that is not.
func StepsTo(b Bundle, l *Line, step string) int {
	if b.Draws(l) {
		return 0 // nothing can be done with what is not cut
	}
	for i, s := range b.Steps(l) {
		if i >= b.Done && s == step {
			return i + 1
		}
	}
	return 0
}

// tiedThere makes the bundles that a processor tied of those that went.
func (j *judge) tiedThere(a *event.Answer, e *event.BundlesBack, from []Bundle, x Backing) error {
	first, l := from[0], j.past.Line(from[0].Line)
	went := 0
	for _, b := range from {
		if b.Line != first.Line || b.Done != first.Done || !slices.Equal(b.Steps(l), first.Steps(l)) {
			return refusal("from", "%v is %s, and %v is %s; bundles of one mark that are equally far are tied anew", b.Number, title(b, j.past.Line(b.Line)), first.Number, title(first, l))
		}
		if said := len(first.Runs) > 0; said != (len(b.Runs) > 0) { // together they would be of the bars of one
			unsaid := first
			if said {
				unsaid = b
			}
			return refusal("from", "of %v nobody has said which bars it is, and of others it is said; say it first", unsaid.Number)
		}
		went += b.Pieces
	}
	var seen []string
	came := 0
	for i, into := range x.Into {
		alias, err := j.alias(x, into.Alias, seen)
		if err != nil {
			return err
		}
		seen = append(seen, alias)
		if into.Pieces < 0 || into.Pieces == 0 && len(x.Into) > 1 {
			return refusal("into", "bundle %d has %d pieces; count them", i+1, into.Pieces)
		}
		if into.Pieces == 0 {
			into.Pieces = went
		}
		came += into.Pieces
		part := event.BackPart{Pieces: into.Pieces, Alias: alias}
		if over := came - went; over > 0 { // those went under no number of ours
			part.Pieces = max(0, part.Pieces-over)
		}
		if part.Pieces == 0 {
			return refusal("into", "%d pieces went, and the bundles before this one have them all; name the other bundles that went", went)
		}
		e.Into = append(e.Into, part)
	}
	if len(from) == 1 && len(e.Into) == 1 && e.Into[0].Pieces == first.Pieces {
		e.Into[0].Number = first.Number // as it went, under another tag
	} else {
		name := first
		name.Rest = j.past.Rests(first)
		for i := range e.Into {
			name.Rest++
			e.Into[i].Number = j.past.Fresh(tags.Bundle)
			a.Notes = append(a.Notes, note("part", e.Into[i].Pieces, name.Name(), e.Into[i].Number))
		}
	}
	if unfinished(first, l) && e.Into[0].Number != first.Number {
		return refusal("from", "%v is not made by the record (%s); say first that it came back as it went", first.Number, first.Next(l))
	}
	switch {
	case came > went:
		look(a, "more back than went", went, came)
	case came < went:
		look(a, "fewer back than went", came, went, j.stopOf(first).Processor)
	}
	return nil
}

// alias checks what a processor's tag says: it stands for nothing else here.
func (j *judge) alias(x Backing, text string, before []string) (string, error) {
	text, err := event.CleanText("into", text, mostAlias)
	if err != nil || text == "" {
		return text, err
	}
	if _, err := tags.ParseNumber(text); err == nil {
		return "", refusal("into", "%s is a number of ours; it stands for itself", text)
	}
	if n, ok := j.past.Alias(text); ok && !slices.Contains(x.From, n) || slices.Contains(before, text) {
		return "", refusal("into", "%q stands for another bundle already", text)
	}
	return text, nil
}

// mostAlias is the most characters of a code of others.
const mostAlias = 60

// allHeats are all heats that some bundles may be of.
func (j *judge) allHeats(from []Bundle) (d heat.Draw) {
	for i, b := range from {
		one, _ := HeatsOf(j.past, b)
		if i == 0 {
			d = one
		} else {
			d = heat.Join(d, one)
		}
	}
	return d
}
