package load

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Plan is the plan of a load as a dispatcher states it: whole, stop by stop.
type Plan struct {
	Load    tags.Number
	Date    string // yyyy-mm-dd
	Leaves  string // hh:mm
	Truck   string
	Trailer string
	Limit   bar.Mass
	Stops   []StopPlan
	// Bundles are planned for the first stop that is for their job.
	Bundles []tags.Number
	// Move takes bundles and lines off the load that they are planned on; else they are refused.
	Move bool
}

// StopPlan is a stop and what is planned for it.
type StopPlan struct {
	Stop
	Bundles []tags.Number
	Lines   []Line
}

// Line names a line of a bar list, or with Mark "" the rest of the list: what of it is planned on no
// load yet. The Job "" is that of the stop.
type Line struct{ Job, List, Mark string }

// String is the line for a person: job, list and mark.
func (l Line) String() string {
	return strings.TrimSuffix(l.Job+" / "+l.List+" / "+l.Mark, " / ")
}

// Bundle is what a plan asks of a bundle.
type Bundle struct {
	Number tags.Number
	Line   Line
	Gone   string      // why it can go onto no load any more, as "is voided"; "" when it can
	On     tags.Number // the load on which it lies
	Load   tags.Number // on which it is planned; 0 none
	Stop   int         // of that load, from 0
}

// Past is what a plan is judged against.
type Past interface {
	Load(tags.Number) (Load, bool)
	HasJob(string) bool
	// ToPlan finds a bundle.
	ToPlan(tags.Number) (Bundle, bool)
	// ToPlanOf are the bundles of a line, or with Mark "" of a whole list, in the order of the list.
	ToPlanOf(Line) []Bundle
	// Spots are the bundles that are planned on a load, in the order of its plan.
	Spots(tags.Number) []Spot
	// Loaded calls f for each bundle that lies on a load until f returns false.
	Loaded(load tags.Number, f func(tags.Number) bool)
}

// Planned is what a plan comes to.
type Planned struct {
	Set event.LoadSet
	// Out are bundles of the lines and lists that the plan names which stay off it.
	Out []Out
	// Aboard lie on the truck, and the plan has them no more.
	Aboard []tags.Number
}

// Out is why bundles of a line stay off a plan.
type Out struct {
	Line    Line // as the plan names it
	Load    tags.Number
	Planned bool // on Load; else they lie on it, or with Load 0 are voided or left
	Bundles []tags.Number
}

// Bounds of one load.
const (
	mostStops   = 50
	mostBundles = 2000
	mostText    = 12_000 // bytes of all addresses: with all bundles a plan is still one event
)

// Set resolves a plan against what is there: lines and lists into their bundles that can still go onto
// a load. A bundle that is named goes where it is named; one of a line goes with the line; one of a list
// goes with the rest of it. A plan of a load that left, of what cannot go onto a load, or of what is
// planned elsewhere, is refused.
func Set(past Past, p Plan) (Planned, error) {
	e, err := head(past, p)
	if err != nil {
		return Planned{}, err
	}
	s := &setting{past: past, plan: p, out: Planned{Set: e}, at: map[tags.Number]int{}}
	for _, do := range []func() error{s.named, s.lines, s.rest} {
		if err := do(); err != nil {
			return Planned{}, err
		}
	}
	if len(s.at) > mostBundles {
		return Planned{}, refusal("bundles", "has %d bundles; %d are the most of one load", len(s.at), mostBundles)
	}
	s.moves()
	return s.out, nil
}

func refusal(field, format string, args ...any) error {
	return &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
}

// at names a field of a stop, as requests do.
func at(stop int, field string) string { return fmt.Sprintf("stops[%d].%s", stop, field) }

// words cleans what was typed in a plan. The first fault stays.
type words struct {
	err  error
	size int // bytes of all texts
}

func (w *words) fault(field, format string, args ...any) {
	if w.err == nil {
		w.err = refusal(field, format, args...)
	}
}

func (w *words) text(field, s string) string {
	s, err := event.CleanText(field, s, event.MostWords)
	if w.err == nil {
		w.err = err
	}
	w.size += len(s)
	return s
}

func (w *words) lines(field string, lines []string) []string {
	lines, err := event.CleanLines(field, lines)
	if w.err == nil {
		w.err = err
	}
	for _, l := range lines {
		w.size += len(l)
	}
	return lines
}

func (w *words) clock(field, s string) string {
	s = strings.TrimSpace(s)
	if _, ok := Clock(s); s != "" && !ok {
		w.fault(field, "%q is no time of day; write it as 06:30", s)
	}
	return s
}

// head checks all of a plan but its bundles.
func head(past Past, p Plan) (event.LoadSet, error) {
	var w words
	e := event.LoadSet{
		Load: p.Load, Date: strings.TrimSpace(p.Date), Leaves: w.clock("leaves", p.Leaves),
		Truck: w.text("truck", p.Truck), Trailer: w.text("trailer", p.Trailer), Limit: p.Limit,
	}
	if l, ok := past.Load(p.Load); ok && l.Shipped != 0 {
		w.fault("load", "%v left already; plan another one", p.Load)
	}
	if _, err := time.Parse(time.DateOnly, e.Date); e.Date != "" && err != nil {
		w.fault("date", "%q is no day; write it as 2026-11-25", e.Date)
	}
	if e.Leaves != "" && e.Date == "" {
		w.fault("date", "is missing; a time of day is one of a day")
	}
	if e.Limit < 0 {
		w.fault("limit", "is less than nothing")
	}
	if len(p.Stops) == 0 {
		w.fault("stops", "are missing; name the job of each stop")
	}
	if len(p.Stops) > mostStops {
		w.fault("stops", "are %d; %d are the most of one load", len(p.Stops), mostStops)
		return e, w.err
	}
	for i, s := range p.Stops {
		stop := event.LoadStop{
			Job: strings.TrimSpace(s.Job), ShipTo: w.lines(at(i, "ship_to"), s.ShipTo), Contact: w.text(at(i, "contact"), s.Contact),
			From: w.clock(at(i, "from"), s.From), Until: w.clock(at(i, "until"), s.Until), Processor: w.text(at(i, "processor"), s.Processor),
			Step: strings.TrimSpace(s.Step),
		}
		switch {
		case stop.Step != "" && stop.Processor == "":
			w.fault(at(i, "step"), "is what a processor does, and the stop names none")
		case stop.Job == "" && stop.Processor == "":
			w.fault(at(i, "job"), "is missing; name the job, or the processor")
		case stop.Job != "" && !past.HasJob(stop.Job):
			w.fault(at(i, "job"), "stop %d: job %q is not known; make the job first", i+1, stop.Job)
		case stop.From != "" && stop.Until != "" && stop.Until <= stop.From:
			w.fault(at(i, "until"), "%s is not after %s", stop.Until, stop.From)
		}
		e.Stops = append(e.Stops, stop)
	}
	if w.size > mostText {
		w.fault("stops", "have %d characters of addresses; %d are the most of one load", w.size, mostText)
	}
	return e, w.err
}

// setting is a plan being resolved.
type setting struct {
	past Past
	plan Plan
	out  Planned
	at   map[tags.Number]int // stop of each bundle
}

func (s *setting) put(stop int, n tags.Number) {
	s.at[n] = stop
	to := &s.out.Set.Stops[stop]
	to.Bundles = append(to.Bundles, n)
}

// named plans the bundles that are named one by one.
func (s *setting) named() error {
	one := func(field string, stop int, n tags.Number) error {
		b, ok := s.past.ToPlan(n)
		_, twice := s.at[n]
		if ok && stop < 0 {
			stop = slices.IndexFunc(s.plan.Stops, func(x StopPlan) bool { return x.clean().For(b.Line.Job) })
		}
		switch {
		case !ok:
			return refusal(field, "%v is no bundle of this plant", n)
		case b.Gone != "":
			return refusal(field, "%v %s", n, b.Gone)
		case stop < 0:
			return refusal(field, "%v is for job %s, and no stop is", n, b.Line.Job)
		case !s.plan.Stops[stop].clean().For(b.Line.Job):
			return refusal(field, "%v is for job %s, and stop %d is for %s", n, b.Line.Job, stop+1, s.plan.Stops[stop].Job)
		case twice:
			return refusal(field, "%v stands there twice", n)
		case b.On != 0 && b.On != s.plan.Load:
			return refusal(field, "%v lies on load %v; unload it first", n, b.On)
		case !s.plan.Move && s.elsewhere(b):
			return refusal(field, "%v is planned on load %v; say move to take it off that one", n, b.Load)
		}
		s.put(stop, n)
		return nil
	}
	for i, stop := range s.plan.Stops {
		for _, n := range stop.Bundles {
			if err := one(at(i, "bundles"), i, n); err != nil {
				return err
			}
		}
	}
	for _, n := range s.plan.Bundles {
		if err := one("bundles", -1, n); err != nil {
			return err
		}
	}
	return nil
}

// elsewhere says whether a bundle is planned on another load that is still here: what stayed behind when
// its truck left is planned anew.
func (s *setting) elsewhere(b Bundle) bool {
	if b.Load == 0 || b.Load == s.plan.Load {
		return false
	}
	l, _ := s.past.Load(b.Load)
	return l.Shipped == 0
}

// clean is a stop as it is compared.
func (s Stop) clean() Stop {
	s.Job, s.Processor = strings.TrimSpace(s.Job), strings.TrimSpace(s.Processor)
	return s
}

// lines plans whole lines, and rest what remains of lists.
func (s *setting) lines() error {
	return s.each(func(l Line) bool { return l.Mark != "" }, s.plan.Move)
}

func (s *setting) rest() error { return s.each(func(l Line) bool { return l.Mark == "" }, false) }

// each plans the lines that are wanted, at each stop. With move what is planned on another load comes
// along, else it stays there.
func (s *setting) each(want func(Line) bool, move bool) error {
	seen := map[Line]bool{}
	for i, stop := range s.plan.Stops {
		for _, l := range stop.Lines {
			l = Line{strings.TrimSpace(l.Job), strings.TrimSpace(l.List), strings.TrimSpace(l.Mark)}
			if l.Job == "" {
				l.Job = stop.clean().Job
			}
			if !want(l) {
				continue
			}
			all := s.past.ToPlanOf(l)
			switch {
			case l.Job == "" || l.List == "":
				return refusal(at(i, "lines"), "%q names no line; give job, list and mark, or job and list for the rest of it", l.String())
			case !stop.clean().For(l.Job):
				return refusal(at(i, "lines"), "%v is for job %s, and stop %d is for %s", l, l.Job, i+1, stop.Job)
			case len(all) == 0:
				return refusal(at(i, "lines"), "%v is not known", l)
			case seen[l]:
				return refusal(at(i, "lines"), "%v stands there twice", l)
			}
			seen[l] = true
			for _, b := range all {
				s.take(i, l, b, move)
			}
		}
	}
	return nil
}

// take plans a bundle of a line, or says why it stays off.
func (s *setting) take(stop int, l Line, b Bundle, move bool) {
	o := Out{Line: l}
	switch _, taken := s.at[b.Number]; {
	case taken:
		return // it is named elsewhere in this plan
	case b.Gone != "":
	case b.On != 0 && b.On != s.plan.Load:
		o.Load = b.On
	case !move && s.elsewhere(b):
		o.Load, o.Planned = b.Load, true
	default:
		s.put(stop, b.Number)
		return
	}
	same := func(x Out) bool { return x.Line == o.Line && x.Load == o.Load && x.Planned == o.Planned }
	i := slices.IndexFunc(s.out.Out, same)
	if i < 0 {
		i, s.out.Out = len(s.out.Out), append(s.out.Out, o)
	}
	s.out.Out[i].Bundles = append(s.out.Out[i].Bundles, b.Number)
}

// moves notes where the bundles were that the plan moves, and what lies on the truck and is planned no
// more.
func (s *setting) moves() {
	e := &s.out.Set
	for i, stop := range e.Stops {
		for _, n := range stop.Bundles {
			if b, _ := s.past.ToPlan(n); b.Load == 0 {
				e.Was = append(e.Was, event.WasPlanned{Bundle: n})
			} else if b.Load != e.Load || b.Stop != i {
				e.Was = append(e.Was, event.WasPlanned{Bundle: n, Load: b.Load, Stop: b.Stop + 1})
			}
		}
	}
	for _, o := range s.past.Spots(e.Load) {
		if _, on := s.at[o.Bundle]; !on {
			e.Was = append(e.Was, event.WasPlanned{Bundle: o.Bundle, Load: e.Load, Stop: o.Stop + 1})
		}
	}
	if len(s.at) == 0 {
		return // a load without a plan takes what comes
	}
	s.past.Loaded(e.Load, func(n tags.Number) bool {
		if _, on := s.at[n]; !on {
			s.out.Aboard = append(s.out.Aboard, n)
		}
		return true
	})
}

// Move is a bundle that a plan moves. Stops are from 1; 0 is none.
type Move struct {
	Bundle   tags.Number
	From     tags.Number // 0: planned nowhere before
	FromStop int
	To       tags.Number // 0: taken off
	ToStop   int
}

// Moves are what a plan moved, the bundles at its stops first.
func Moves(e event.LoadSet) []Move {
	stop := map[tags.Number]int{}
	for i, s := range e.Stops {
		for _, n := range s.Bundles {
			stop[n] = i + 1
		}
	}
	var out []Move
	for _, w := range e.Was {
		m := Move{Bundle: w.Bundle, From: w.Load, FromStop: w.Stop}
		if to, on := stop[w.Bundle]; on {
			m.To, m.ToStop = e.Load, to
		}
		out = append(out, m)
	}
	return out
}

// SetAll resolves several plans that are stated at once, each after the ones before it. An error is that
// of the plan with the given index.
func SetAll(past Past, plans []Plan) (all []Planned, i int, err error) {
	then := after{past, map[tags.Number]Bundle{}}
	for i, p := range plans {
		out, err := then.set(p)
		if err != nil {
			return nil, i, err
		}
		all = append(all, out)
	}
	return all, 0, nil
}

// after is the past with some bundles planned otherwise.
type after struct {
	Past
	at map[tags.Number]Bundle // load and stop
}

// set resolves a plan, after which the bundles are planned as it says.
func (a after) set(p Plan) (Planned, error) {
	out, err := Set(a, p)
	if err != nil {
		return out, err
	}
	for _, m := range Moves(out.Set) {
		a.at[m.Bundle] = Bundle{Load: m.To, Stop: m.ToStop - 1}
	}
	return out, nil
}

func (a after) now(b Bundle) Bundle {
	if at, moved := a.at[b.Number]; moved {
		b.Load, b.Stop = at.Load, at.Stop
	}
	return b
}

func (a after) ToPlan(n tags.Number) (Bundle, bool) {
	b, ok := a.Past.ToPlan(n)
	return a.now(b), ok
}

func (a after) ToPlanOf(l Line) []Bundle {
	all := a.Past.ToPlanOf(l)
	for i := range all {
		all[i] = a.now(all[i])
	}
	return all
}

func (a after) Spots(load tags.Number) []Spot {
	out := slices.DeleteFunc(a.Past.Spots(load), func(s Spot) bool { _, moved := a.at[s.Bundle]; return moved })
	for n, at := range a.at {
		if at.Load == load && load != 0 {
			out = append(out, Spot{Bundle: n, Stop: at.Stop})
		}
	}
	slices.SortFunc(out, Spot.Compare)
	return out
}
