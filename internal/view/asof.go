package view

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// As of a past moment is the record at a sequence. The views hold only what is, and to fold the whole
// journal up to there for one question would take minutes. But what a question is about is little: a heat
// of 400 bundles has some 2,000 events. So they are gathered from the present indexes and from what those
// held before (former.go), which together are never less than what was; those up to the sequence are
// applied in their order, by the same Apply, to a small store in memory, and the question is asked there.
//
// A thing is gathered as deeply as the answer shows it:
//
//	a bundle   light   its own events: enough for the runs that it was in
//	           whole   and its runs, loads and places, and the bundles that it shares pieces with
//	           asked   and how much is left of the lots that it may be of
//	a lot      named   its own events, and the runs and lots that it is left of: enough for its heats
//	           counted and all runs that drew from it: what is on hand
//	           whole   and all that may be of it
//	a run      light   its members light
//	           whole   its members whole
//
// Whatever is not gathered is not there: the answer is right for what was asked, and for nothing else.

// RecordAt is the sequence of the newest record made at a time or before it, Unix ms; false when there was
// none yet. The times of records never fall.
func (p *Past) RecordAt(ms int64) (uint64, bool) {
	n := p.SeqAt(ms + 1)
	return max(n, 1) - 1, n > 0
}

// AsOf is the past as of the record at a sequence, to be asked what the texts ask for (see Ask), and
// about nothing else. It is valid as long as p.
func (p *Past) AsOf(seq uint64, about ...string) (*Past, error) {
	g := gathering{
		p: p, upto: min(seq, p.Head()), events: map[uint64]event.Event{}, bundles: map[tags.Number]depth{}, lots: map[tags.Number]depth{},
		runs: map[uint64]depth{}, seen: map[once]bool{},
	}
	for _, text := range about {
		g.ask(text)
	}
	then := g.p.v.At(newPart(p.tx, g.upto))
	then.some, then.events, then.about = true, g.events, g.bundles
	then.keepAll()
	seqs := make([]uint64, 0, len(g.events))
	for s := range g.events {
		seqs = append(seqs, s)
	}
	slices.Sort(seqs)
	a := &apply{Past: then}
	for _, s := range seqs {
		if err := a.one(s, g.events[s]); err != nil {
			return nil, fmt.Errorf("view: as of record %d: %w", g.upto, err)
		}
	}
	return then, nil
}

// depth is how deeply something was gathered.
type depth int

const (
	light depth = iota + 1 // of a lot: named
	whole                  // of a lot: counted
	asked                  // of a lot: whole
)

const (
	named   = light
	counted = whole
	full    = asked
)

type gathering struct {
	p       *Past
	upto    uint64
	events  map[uint64]event.Event
	bundles map[tags.Number]depth
	lots    map[tags.Number]depth
	runs    map[uint64]depth
	seen    map[once]bool // loads, places, heats, lines and the like
}

// once is something that is gathered once only.
type once struct {
	what string
	key  any
}

// first says whether something comes for the first time.
func (g *gathering) first(what string, key any) bool {
	k := once{what, key}
	if g.seen[k] {
		return false
	}
	g.seen[k] = true
	return true
}

// event gathers a record, and gives it. Records after the moment are left out.
func (g *gathering) event(seq uint64) (event.Event, bool) {
	if seq > g.upto {
		return event.Event{}, false
	}
	e, ok := g.events[seq]
	if !ok {
		if l, kept := g.p.v.lines.Load(seq); kept { // lines stay decoded from one question to the next
			e = l.(*line).taken
		} else {
			e = g.p.Event(seq)
		}
		g.events[seq] = e
		if e.Answer != nil && e.Answer.Verdict == event.Check {
			g.all(g.p.Told("look", strconv.FormatUint(seq, 10)))
		}
	}
	return e, true
}

func (g *gathering) all(seqs []uint64) {
	for _, seq := range seqs {
		g.event(seq)
	}
}

// history gathers what the history of a number holds beside its own row.
func (g *gathering) history(n tags.Number) []uint64 {
	seqs := g.p.seqs(tHistory, numKey(n))
	g.all(seqs)
	return seqs
}

// ask gathers what Ask and Recall read for a text.
func (g *gathering) ask(text string) {
	text, ok := question(text)
	if !ok {
		return
	}
	read, _ := tags.Read(text)
	g.number(read.Number)
	if n, ok := g.p.Alias(read.Text); ok {
		g.number(n)
	}
	if m := read.Mill; m != nil && m.Heat != "" {
		g.heatNamed(m.Heat)
	}
	g.heatNamed(text)
	for _, k := range millHeats(text) {
		g.heat(k)
	}
	for _, k := range g.p.CertsNamed(text) {
		g.heat(k)
	}
	for _, k := range g.heatsOfMill(text) {
		g.heat(k)
	}
	g.lists(text)
	if n, ok := g.p.PlaceNamed(text); ok {
		g.number(n)
	}
}

// heatsOfMill are all heats that a lot of a mill is, or was.
func (g *gathering) heatsOfMill(mill string) (out []heat.Key) {
	g.p.ever(tHeat, textKey(mill), func(rest, _ []byte) {
		if name, _, ok := strings.Cut(string(rest), "\x00"); ok {
			if k := (heat.Key{Mill: mill, Heat: name}); !slices.Contains(out, k) {
				out = append(out, k)
			}
		}
	})
	return out
}

func (g *gathering) number(n tags.Number) {
	g.history(n) // of a number that was never given out, its refusals
	switch n.Kind() {
	case tags.Bundle:
		g.bundle(n, asked)
	case tags.Stock:
		g.lot(n, full)
	case tags.Load:
		g.p.ever(tLoaded, numKey(n), func(rest, _ []byte) {
			if len(rest) >= 8 {
				g.bundle(number8(rest[:8]), asked)
			}
		})
		g.p.ever(tPlanned, numKey(n), func(rest, _ []byte) {
			if len(rest) >= 8 {
				g.bundle(number8(rest[:8]), light)
			}
		})
	}
}

func (g *gathering) heatNamed(name string) {
	g.p.prefix(tHeatText, textKey(name), func(rest, _ []byte) bool {
		g.heat(heat.Key{Mill: strings.TrimSuffix(string(rest), "\x00"), Heat: name})
		return true
	})
}

// heat gathers all that may be of a heat.
func (g *gathering) heat(k heat.Key) {
	g.papers(k)
	g.p.ever(tHeat, textKey(k.Mill, k.Heat), func(rest, _ []byte) {
		if len(rest) == 8 {
			g.lot(number8(rest), full)
		}
	})
}

// papers gathers the certs and holds of a heat.
func (g *gathering) papers(k heat.Key) {
	if !g.first("heat", k) {
		return
	}
	g.all(g.p.seqs(tCert, textKey(k.Mill, k.Heat)))
	g.all(g.p.Told("heat", k.Mill, k.Heat))
}

func (g *gathering) lists(text string) {
	parts := strings.Split(text, "/")
	if g.p.HasJob(text) {
		g.job(text)
		g.lines(textKey(text))
	}
	switch len(parts) {
	case 1:
		g.p.ever(tMark, textKey(text), func(rest, _ []byte) {
			if len(rest) == 8 {
				g.line(seq8(rest), asked)
			}
		})
	case 2:
		g.all(g.p.Told("list", parts[0], parts[1]))
		g.lines(textKey(parts[0], parts[1]))
	case 3:
		g.lines(textKey(parts[0], parts[1], parts[2]))
	}
}

func (g *gathering) job(job string) {
	if g.first("job", job) {
		g.all(g.p.Told("job", job))
	}
}

// lines gathers the lines, with all their bundles, whose key begins with prefix.
func (g *gathering) lines(prefix []byte) {
	g.p.ever(tLine, prefix, func(_, v []byte) { g.line(seq8(v), asked) })
}

// line gathers a line, with the lines that it took the place of; not light, with all its bundles.
func (g *gathering) line(seq uint64, d depth) {
	if !g.first("line", seq) && d == light || d != light && !g.first("bundles of line", seq) {
		return
	}
	e, ok := g.event(seq)
	if !ok {
		return
	}
	revised := false
	switch b := e.Body.(type) {
	case event.LineTaken:
		g.job(b.Job)
	case event.LineChanged:
		g.job(b.Taken.Job)
		g.line(b.Line, d)
		revised = true
	}
	g.p.ever(tLater, seqKey(seq), func(_, v []byte) {
		if len(v) == 9 {
			revised = true
			g.line(seq8(v[:8]), light)
		}
	})
	if d == light && !revised {
		return
	}
	// What a revision does to one bundle depends on which others of the line were not begun.
	if l, ok := lineOf(e.Body); ok {
		g.lineBundles(seq, l, d)
	}
}

// lineWith gathers a line with its bundles, light.
func (g *gathering) lineWith(seq uint64) {
	g.line(seq, light)
	e, _ := g.event(seq)
	if l, ok := lineOf(e.Body); ok && g.first("light bundles of line", seq) {
		g.lineBundles(seq, l, light)
	}
}

// lineBundles gathers all bundles that are of a line, or were.
func (g *gathering) lineBundles(seq uint64, l event.LineTaken, d depth) {
	for _, n := range l.Numbers() {
		g.bundle(n, d)
	}
	g.p.ever(tRest, seqKey(seq), func(rest, _ []byte) { g.bundle(number8(rest), d) })
}

func lineOf(body event.Body) (event.LineTaken, bool) {
	switch b := body.(type) {
	case event.LineTaken:
		return b, true
	case event.LineChanged:
		return b.Taken, true
	}
	return event.LineTaken{}, false
}

// aside gathers a load or place that something else names: its own events.
func (g *gathering) aside(n tags.Number) {
	if n != 0 && g.first("aside", n) {
		g.history(n)
	}
}

// bundle gathers a bundle.
func (g *gathering) bundle(n tags.Number, d depth) {
	if g.bundles[n] >= d {
		return
	}
	b, ok := g.p.Bundle(n)
	if !ok {
		return
	}
	g.bundles[n] = d
	g.line(b.Line, light)
	g.p.former(formerLine, numKey(n), func(rest, _ []byte) { g.line(seq8(rest), light) })
	seqs := slices.Concat(b.Events, b.Progress, g.history(n))
	for _, seq := range seqs {
		e, ok := g.event(seq)
		if ok && d > light {
			switch e.Body.(type) { // a run has the sequence of the event that began it
			case event.RunOpened, event.BundleAssigned, event.HeatsDeclared:
				g.ran(seq, d)
			}
			g.mentions(e.Body, d)
		}
	}
	if d == light {
		if own := slices.Concat(b.Events, b.Progress); len(own) > 0 {
			g.maker(slices.Min(own))
		}
		return
	}
	for _, seq := range b.Runs {
		g.ran(seq, d)
	}
}

// ran gathers a run of a bundle; of one that is asked for, with how much is left of the lots.
func (g *gathering) ran(seq uint64, d depth) {
	g.run(seq, light)
	if d < asked {
		return
	}
	for _, n := range g.mayHave(seq) {
		g.stock(n)
	}
}

// mayHave are all lots that a run may have drawn from, by what was ever recorded.
func (g *gathering) mayHave(run uint64) []tags.Number {
	r, _ := g.p.Run(run)
	lots := slices.Concat(r.Lots, r.Before)
	g.p.former(formerLot, seqKey(run), func(rest, _ []byte) { lots = append(lots, number8(rest)) })
	return lots
}

// stock gathers a lot, and all that it may be left of, with what is on hand.
func (g *gathering) stock(n tags.Number) {
	if !g.first("stock", n) {
		return
	}
	g.lot(n, counted)
	if l, ok := g.p.Lot(n); ok && l.Run != 0 {
		for _, o := range append(g.mayHave(l.Run), l.Parents...) {
			g.stock(o)
		}
	}
}

// maker gathers, by the first event of a bundle, that from which it was parted, as light as that. Whether it was
// parted its name need not say any more.
func (g *gathering) maker(seq uint64) {
	e, ok := g.event(seq)
	if !ok {
		return
	}
	switch b := e.Body.(type) {
	case event.RunOpened, event.Loaded: // as most begin
		return
	case event.ClaimAnswered:
		g.claimed(b)
	}
	v := reflect.ValueOf(e.Body)
	for i := range v.NumField() {
		if n, is := v.Field(i).Interface().(tags.Number); is && n.Kind() == tags.Bundle {
			g.bundle(n, light)
		}
	}
}

// claimed gathers the bundle that a claim is about, of which its answer may make another.
func (g *gathering) claimed(b event.ClaimAnswered) {
	e, _ := g.event(b.Claim)
	if c, ok := e.Body.(event.Claimed); ok {
		g.bundle(c.Bundle, light)
	}
}

// mentions gathers what an event about a bundle names.
func (g *gathering) mentions(body event.Body, d depth) {
	switch b := body.(type) {
	case event.LineTaken:
		return // it names the first bundle of many
	case event.StepStarted, event.StepDone:
		return // the usual ones are not looked through
	case event.ClaimAnswered:
		g.claimed(b)
	case event.RunOpened: // its lots are those of the run
		return
	case event.CutDone:
		if b.Run != 0 {
			g.ran(b.Run, d)
		}
		if b.Rest == 0 && len(b.Lots) == 0 && b.Closed == nil {
			return
		}
	case event.Loaded:
		g.aside(b.Load)
		return
	case event.BundleReassigned:
		g.lineWith(b.Line)
	case event.LoadPlanned: // names many bundles that have nothing to do with one another
		g.aside(b.Load)
		return
	case event.LoadSet:
		g.aside(b.Load)
		return
	}
	g.walk(reflect.ValueOf(body), d)
}

var (
	typeNumber = reflect.TypeFor[tags.Number]()
	typeSeq    = reflect.TypeFor[uint64]()
)

func (g *gathering) walk(v reflect.Value, d depth) {
	switch {
	case v.Type() == typeNumber:
		switch n := v.Interface().(tags.Number); n.Kind() {
		case tags.Bundle:
			g.bundle(n, d)
		case tags.Stock:
			g.lot(n, map[depth]depth{whole: named, asked: counted}[d])
		case tags.Load, tags.Place:
			g.aside(n)
		}
	case v.Kind() == reflect.Pointer:
		if !v.IsNil() {
			g.walk(v.Elem(), d)
		}
	case v.Kind() == reflect.Slice:
		for i := range v.Len() {
			g.walk(v.Index(i), d)
		}
	case v.Kind() == reflect.Struct:
		for i := range v.NumField() {
			f := v.Field(i)
			if f.Type() != typeSeq {
				g.walk(f, d)
			} else if seq := f.Uint(); seq != 0 {
				switch v.Type().Field(i).Name {
				case "Run":
					g.ran(seq, d)
				case "Line":
					g.line(seq, light)
				default:
					g.event(seq)
				}
			}
		}
	}
}

// run gathers a run, its members, and the lots that it may have drawn from.
func (g *gathering) run(seq uint64, d depth) {
	if g.runs[seq] >= d {
		return
	}
	r, ok := g.p.Run(seq)
	if !ok {
		return
	}
	g.runs[seq] = d
	g.all([]uint64{seq, r.By, r.Mended})
	g.p.former(formerMended, seqKey(seq), func(rest, _ []byte) { g.event(seq8(rest)) })
	for _, m := range r.Members {
		g.bundle(m.Bundle, d)
	}
	g.p.former(formerMember, seqKey(seq), func(rest, _ []byte) { g.bundle(number8(rest), d) })
	for _, n := range g.mayHave(seq) {
		g.lot(n, named)
	}
}

// lot gathers a lot.
func (g *gathering) lot(n tags.Number, d depth) {
	if g.lots[n] >= d {
		return
	}
	l, ok := g.p.Lot(n)
	if !ok {
		return
	}
	g.lots[n] = d
	g.aside(l.Place)
	for _, seq := range g.history(n) {
		e, _ := g.event(seq)
		switch b := e.Body.(type) {
		case event.LotReceived:
			g.heats(b.Mill, b.Heats)
			g.aside(b.Place)
		case event.CoilReceived:
			g.heats(b.Mill, b.Heats)
			g.aside(b.Place)
		case event.LotExpected:
			g.heats(b.Mill, b.Heats)
		case event.LotHeatSet:
			g.heats(b.Mill, b.Heats)
		case event.HeatsDeclared:
			g.heats(b.Mill, b.Heats)
			g.bundle(b.Bundle, light) // it is as long as the pieces of that
		case event.Placed:
			g.aside(b.Place)
		case event.FeedEmptied:
			g.aside(b.Place)
		case event.LotConfirmed:
			g.aside(b.Place)
		case event.YardCounted:
			g.aside(b.Place)
		}
	}
	g.heats(l.Mill, l.Heats)
	if l.Run != 0 {
		g.run(l.Run, light)
	}
	if d == full { // the lots that it may be left of are shown with it
		g.stock(n)
	}
	for _, o := range l.Parents {
		g.lot(o, named)
	}
	if d == named {
		return
	}
	of := light
	if d == full {
		of = whole
	}
	g.p.ever(tLotRun, numKey(n), func(rest, _ []byte) { g.run(seq8(rest), of) })
	if d == full {
		g.p.ever(tChild, numKey(n), func(rest, _ []byte) { g.lot(number8(rest), full) })
	}
}

func (g *gathering) heats(mill string, names []string) {
	for _, h := range names {
		g.papers(heat.Key{Mill: mill, Heat: h})
	}
}
