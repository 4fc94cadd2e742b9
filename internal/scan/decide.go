package scan

import (
	"errors"
	"slices"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// judge is one decision under way.
type judge struct {
	past  Past
	rules Rules
	scan  Scan
	at    Station
	dev   Device
	found event.Answer // Checks about how the number was found
	own   string       // what was read of it, where that stands for it: the mill's own number, or another word
	other string       // the mill's number on its tag, where the lot was found by the heat
}

// Decide says what a scan means after past: what to answer, and the events to record. It has no
// effects. A refusal is an outcome with a ScanRefused event, unless the same one was just given.
//
// Of a late scan every outcome has an event, and a refusal is a ScanDisputed.
func Decide(past Past, rules Rules, s Scan) Outcome {
	j := &judge{past: past, rules: rules, scan: s, dev: past.Device(s.Device)}
	out := j.decide()
	if s.Late {
		return j.late(out)
	}
	return j.finish(out)
}

func (j *judge) decide() Outcome {
	s, past := &j.scan, j.past
	var ok bool
	if j.at, ok = j.rules.Station(s.Station); !ok {
		var names []string
		for _, st := range j.rules.Stations {
			names = append(names, st.Name)
		}
		return j.refuse(0, "no station", s.Station, strings.Join(names, ", "))
	}
	if out := j.typed(); out.Answer.Verdict == event.Refused {
		return out
	}
	came := j.named()
	n, out := j.what()
	if n == 0 {
		return out
	}
	if j.twice(n) {
		return Outcome{Answer: answer(event.Accepted, "once"), Show: n, Run: j.past.Floor(s.Station).Run}
	}
	switch kind := n.Kind(); {
	case !slices.Contains(with[s.Do], kind):
		out = j.refuse(n, "not for this", string(s.Do), kind)
	case s.Do == Show:
		out = j.show(n)
	case kind == tags.Bundle:
		out = j.bundle(n)
	case kind == tags.Stock:
		out = j.lot(n)
	case kind == tags.Load:
		out = j.load(n)
	case kind == tags.Place:
		out = j.place(n)
	case kind == tags.Person && past.Person(n):
		out = j.crew(n)
	default:
		out = j.refuse(n, "not known", n)
	}
	if out.Answer.Verdict != event.Refused {
		if cuts(out.Events) {
			j.tookAsReceived(&out, came...)
		}
		j.compare(&out, n)
		if len(j.found.Notes) > 0 {
			out.Answer.Verdict = event.Check
			out.Answer.Notes = append(out.Answer.Notes, j.found.Notes...)
		}
	}
	return out
}

// with says of what kinds a tag may be beside each command.
var with = map[Do][]tags.Kind{
	Scanned: {tags.Bundle, tags.Stock, tags.Assembly, tags.Load, tags.Place, tags.Person},
	Show:    {tags.Bundle, tags.Stock, tags.Assembly, tags.Load, tags.Place, tags.Person},
	Part:    {tags.Bundle},
	Take:    {tags.Bundle},
	Join:    {tags.Bundle},
	Empty:   {tags.Stock},
	Last:    {tags.Stock},
	Count:   {tags.Stock},
	None:    {tags.Stock},
	Unload:  {tags.Bundle},
	Move:    {tags.Bundle},
	Return:  {tags.Bundle},
	Back:    {tags.Bundle},
	Ship:    {tags.Load},
	Lost:    {tags.Bundle},
}

// Bounds of what can be typed beside a scan.
const (
	mostCounted = 1_000_000 // pieces or bars
	mostTyped   = 50        // lots, counts of bars, or remnants
)

// typed refuses what cannot be meant as it was typed, and adds up what was typed twice.
func (j *judge) typed() Outcome {
	s := &j.scan
	if s.Pieces < 0 || s.Pieces > mostCounted {
		return j.refuse(0, "count wrong", s.Pieces)
	}
	if n := max(len(s.Lots), len(s.Bars), len(s.Remnants)); n > mostTyped {
		return j.refuse(0, "too many", n, mostTyped)
	}
	known := func(n tags.Number) bool {
		lot, ok := j.past.Lot(n)
		return ok && !lot.Gone
	}
	var lots []tags.Number
	for _, n := range s.Lots {
		if !known(n) {
			return j.refuse(0, "not known", n)
		}
		lots = union(lots, n)
	}
	var bars []event.Draw
	all := 0
	for _, d := range s.Bars {
		if !known(d.Lot) {
			return j.refuse(0, "not known", d.Lot)
		}
		if d.Bars < 1 || d.Bars > mostCounted-all {
			return j.refuse(0, "count wrong", d.Bars)
		}
		bars = drawMore(bars, d.Lot, d.Bars)
		all += d.Bars
	}
	all = 0
	for _, r := range s.Remnants {
		if r.Bars < 1 || r.Bars > mostCounted-all {
			return j.refuse(0, "count wrong", r.Bars)
		}
		if all += r.Bars; r.Length <= 0 || r.Length > bar.MaxLength {
			return j.refuse(0, "length wrong", j.length(r.Length))
		}
		if _, ok := j.past.Place(r.Place); !ok && r.Place != 0 {
			return j.refuse(0, "not known", r.Place)
		}
	}
	s.Lots, s.Bars = lots, bars
	return j.typedCoil()
}

// union adds what is not there yet.
func union(lots []tags.Number, more ...tags.Number) []tags.Number {
	lots = slices.Clip(lots)
	for _, n := range more {
		if !slices.Contains(lots, n) {
			lots = append(lots, n)
		}
	}
	return lots
}

// finish puts the refusal into the events, once.
func (j *judge) finish(o Outcome) Outcome {
	if o.Answer.Verdict != event.Refused {
		return o
	}
	last := j.dev.Answer
	same := last != nil && last.Verdict == event.Refused && j.dev.Last == o.Show && j.dev.Station == j.scan.Station &&
		last.Notes[0].Code == o.Answer.Notes[0].Code && slices.Equal(last.Notes[0].Args, o.Answer.Notes[0].Args) &&
		within(j.scan.At, j.dev.At, j.rules.Repeat)
	if same {
		o.Events = nil
		return o
	}
	refused := event.ScanRefused{Number: o.Show}
	if o.Show == 0 {
		refused.Text = cut(j.scan.Read.Text, 200)
	}
	o.Events = []event.Body{refused}
	return o
}

func cut(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n])
	}
	return s
}

func within(now, before int64, d time.Duration) bool {
	return now >= before && now-before < d.Milliseconds()
}

// twice says whether the same device has just read the same tag with success: one pull of the
// trigger often gives two reads. What is typed is never taken for a double read.
func (j *judge) twice(n tags.Number) bool {
	s := j.scan
	if n.Kind() == tags.Stock && s.Feed != "" && !slices.Contains(lotsOn(j.past.Floor(s.Station), s.Feed), n) {
		return false // another feed than before
	}
	if n.Kind() == tags.Stock && j.own+j.other != "" {
		if lot, _ := j.past.Lot(n); j.receives(lot) && j.millNumber(lot) != "" && !lot.HasCome(j.millNumber(lot)) {
			return false // another bundle of it than before
		}
	}
	return s.Do == Scanned && !s.Deed && s.Pieces == 0 && len(s.Lots) == 0 && len(s.Bars) == 0 && len(s.Coils) == 0 && s.Scrap == 0 && s.Remnants == nil &&
		j.justRead(n)
}

// justRead says whether the device's last scan was of this tag at this station, with success, and its last
// read of it within one pull of the trigger.
func (j *judge) justRead(n tags.Number) bool {
	return j.dev.Last == n && j.dev.Station == j.scan.Station && j.dev.Answer != nil && j.dev.Answer.Verdict != event.Refused &&
		within(j.scan.At, j.lastRead(n), j.rules.Pause)
}

// lastRead is when the device last read the tag. A trigger that is held down reads on and on, and only
// the first read is recorded: the pause begins anew with each.
func (j *judge) lastRead(n tags.Number) int64 {
	if b := j.scan.Before; b.Number == n && b.Station == j.scan.Station {
		return max(j.dev.At, b.At)
	}
	return j.dev.At
}

// what finds the number that the scan is about: a tag of ours, another's code that stands for one,
// or a mill's tag of a lot that is here.
func (j *judge) what() (tags.Number, Outcome) {
	read := j.scan.Read
	if read.Text == "" && j.scan.Wrong == nil {
		if j.scan.Do == Empty {
			return 0, j.empty(0)
		}
		return 0, j.refuse(0, "command alone", string(j.scan.Do))
	}
	if n, ok := j.past.Alias(read.Text); ok {
		j.own = read.Text
		return n, Outcome{}
	}
	if errors.Is(j.scan.Wrong, tags.ErrTwoNumbers) {
		return 0, j.refuse(0, "two tags")
	}
	if j.scan.Wrong != nil && !errors.Is(j.scan.Wrong, tags.ErrNotNumber) {
		if errors.Is(j.scan.Wrong, tags.ErrMistyped) {
			return 0, j.refuse(0, "mistyped", cut(read.Text, 40))
		}
		return 0, j.refuse(0, "not a tag", cut(read.Text, 40))
	}
	if n := read.Number; n != 0 {
		if n.Plant() != j.rules.Plant {
			return 0, j.refuse(n, "another plant", n, n.Plant())
		}
		return n, Outcome{}
	}
	if read.Mill != nil {
		return j.millTag(read.Mill)
	}
	return 0, j.refuse(0, "not a tag", cut(read.Text, 40))
}

func (j *judge) refuse(n tags.Number, code string, args ...any) Outcome {
	return Outcome{Answer: answer(event.Refused, code, args...), Show: n}
}

// compare adds a Check where a tag's text says otherwise than the record: an old copy, a count that
// changed. The number rules.
func (j *judge) compare(o *Outcome, n tags.Number) {
	t := j.scan.Read.Tag
	if t == nil || j.scan.Read.Garbled {
		return
	}
	for _, differs := range Differs(j.past, n, *t) {
		o.Answer.Verdict = event.Check
		o.Answer.Notes = append(o.Answer.Notes, differs)
	}
}

// Differs says what the tag of a bundle says otherwise than the record: an old copy, one that was reported lost, a
// count that changed. None is of a tag that says what the record does, or whose number is not known.
func Differs(past Past, n tags.Number, t tags.Tag) []event.Note {
	var a event.Answer
	b, ok := past.Bundle(n)
	if !ok {
		return nil
	}
	l := past.Line(b.Line)
	for _, f := range []struct{ name, tag, record string }{
		{"job", t.Job, l.Job}, {"list", t.List, l.List}, {"mark", t.Mark, l.Mark}, {"size", t.Size, string(l.Steel.Size)},
	} {
		if f.tag != "" && f.tag != f.record {
			look(&a, "tag differs", f.name, f.tag, f.record)
		}
	}
	switch {
	case t.Count != 0 && t.Count != b.Pieces:
		look(&a, "tag differs", "pieces", t.Count, b.Pieces)
	case t.Copy > 0 && t.Copy <= b.Mislaid():
		look(&a, "lost copy", title(b, l), t.Copy)
	case t.Copy < b.Copy:
		look(&a, "tag differs", "copy", t.Copy, b.Copy)
	}
	return a.Notes
}

// title names a bundle in a sentence: mark, and which of how many.
func title(b Bundle, l *Line) string { return l.Mark + " " + b.Name() + "/" + itoa(b.N) }

func (j *judge) length(l bar.Length) string { return l.Text(j.rules.Units) }
func (j *judge) mass(m bar.Mass) string     { return m.Text(j.rules.Units) }

// when writes a moment in the plant's zone.
func (j *judge) when(ms int64) string {
	return j.rules.When(ms)
}

// stationsFor names the stations that do a piece of work.
func (j *judge) stationsFor(w string) string {
	var out []string
	for _, s := range j.rules.Stations {
		if s.Can(Work(w)) {
			out = append(out, s.Title)
		}
	}
	if len(out) == 0 {
		return "no station does it"
	}
	return strings.Join(out, ", ")
}

// after names what follows once the bundle has done steps done.
func after(b Bundle, l *Line, done int) string {
	if route := b.Steps(l); done < len(route) {
		return route[done]
	}
	return "loadout"
}

// placeName names where something lies.
func (j *judge) placeName(n tags.Number) string {
	if name, ok := j.past.Place(n); ok {
		return name
	}
	return "unknown"
}

// show answers without recording anything.
func (j *judge) show(n tags.Number) Outcome {
	return j.tellHeld(j.whatIs(n), n, n)
}

// whatIs says what a number is, and where.
func (j *judge) whatIs(n tags.Number) Outcome {
	found := func(code string, args ...any) Outcome {
		return Outcome{Answer: answer(event.Accepted, code, args...), Show: n}
	}
	switch n.Kind() {
	case tags.Bundle:
		if b, ok := j.past.Bundle(n); ok {
			return j.where(b, j.past.Line(b.Line))
		}
	case tags.Stock:
		if l, ok := j.past.Lot(n); ok && l.Feed != "" {
			return found("found on feed", n, l.Feed)
		} else if ok && l.Coming() && !l.Any() {
			return j.expected(l)
		} else if ok {
			return found("found", n, j.placeName(l.Place))
		}
	case tags.Load:
		if l, ok := j.past.Load(n); ok {
			return found("found", n, l.State())
		}
	case tags.Place:
		if name, ok := j.past.Place(n); ok {
			return found("found", n, name)
		}
	case tags.Person:
		if j.past.Person(n) {
			return found("person", n)
		}
	}
	return j.refuse(n, "not known", n)
}

// where says where a bundle is and what it waits for.
func (j *judge) where(b Bundle, l *Line) Outcome {
	found := func(code string, args ...any) Outcome {
		return Outcome{Answer: answer(event.Accepted, code, append([]any{title(b, l)}, args...)...), Show: b.Number}
	}
	at := b.Station
	if b.Pocket != "" {
		at += " / " + b.Pocket
	}
	switch {
	case b.Shipped && j.stopOf(b).Processor != "":
		return found("found away", j.stopOf(b).Processor, b.Load)
	case b.Shipped && j.stopOf(b).Delivered != 0:
		return found("found delivered", b.Load)
	case b.Shipped:
		return found("found left", b.Load)
	case b.Into() != 0:
		return found("found merged", b.Into())
	case b.Voided && b.Lost() > 0:
		return found("found lost")
	case b.Voided:
		return found("found voided")
	case b.Load != 0:
		return found("found loaded", b.Load)
	case b.Started:
		return found("found at work", b.Next(l), at)
	case b.Made > 0:
		return found("found part", b.Next(l), b.Made, b.Pieces, at)
	case b.Staged() != 0:
		return found("found staged", b.Staged(), j.lane(b.Place))
	case b.Place != 0:
		return found("found lying", j.placeName(b.Place), after(b, l, b.Done))
	case b.Done == 0:
		return found("found new", after(b, l, 0))
	}
	return found("found lying", at, after(b, l, b.Done))
}
