package view

import (
	"slices"

	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Account says where all metal is of what may be recalled by a text (see Recall), or with "" of the whole
// plant. Found is what the text was understood as; with none the account is empty.
func (p *Past) Account(text string) (a heat.Account, found []string) {
	if text == "" {
		return p.accountAll(), []string{"everything"}
	}
	r := p.recalling(text)
	r.ask(r.Asked)
	return p.account(r), r.Found
}

// HeatAccount says where all metal of a heat is, and what may be of it.
func (p *Past) HeatAccount(k heat.Key) (heat.Account, Recall) {
	r := p.recalling(k.String())
	r.heat(k)
	return p.account(r), r.done()
}

// account is the account of what is recalled.
func (p *Past) account(r *recalling) heat.Account {
	books := books{p: p}
	k := heat.Reckon(&books, func(l heat.Lot) heat.Share { return r.share(l) })
	for n := range r.down {
		if l, ok := p.Lot(n); ok {
			k.Lot(l)
		}
	}
	for seq := range r.runs {
		if w, ok := books.Worked(seq); ok {
			k.Run(w)
		}
	}
	seen := map[tags.Number]bool{}
	for _, b := range r.Trace.Bundles {
		k.Family(p.family(b.Bundle, seen)...)
	}
	return k.Account()
}

// share is how much of a lot is asked for.
func (r *recalling) share(l heat.Lot) heat.Share {
	if r.lots[l.Number] {
		return heat.Whole
	}
	mine := 0
	for _, h := range l.Heats {
		if r.asksFor(l, h) {
			mine++
		}
	}
	switch {
	case mine == 0:
		return heat.None
	case mine < len(l.Heats):
		return heat.Part
	}
	return heat.Whole
}

// accountAll is the account of the whole plant.
func (p *Past) accountAll() heat.Account {
	books := books{p: p}
	k := heat.Reckon(&books, nil)
	p.Lots(0, func(l heat.Lot) bool { k.Lot(l); return true })
	p.each(tRun, func(_, v []byte) bool { k.Run(books.worked(decode[scan.Run](v))); return true })
	seen := map[tags.Number]bool{}
	p.Bundles(0, func(b scan.Bundle) bool {
		if len(b.Runs) > 0 || b.Kin != nil {
			k.Family(p.family(b, seen)...)
		}
		return true
	})
	return k.Account()
}

// family are a bundle and all that it shares pieces with, unless they were seen.
func (p *Past) family(b scan.Bundle, seen map[tags.Number]bool) (out []heat.Tied) {
	if b.Kin == nil && len(p.Parts(b.Number)) == 0 {
		return []heat.Tied{p.countedBundle(b)}
	}
	todo := []tags.Number{b.Number}
	for len(todo) > 0 {
		n := todo[0]
		todo = todo[1:]
		b, ok := p.Bundle(n)
		if !ok || seen[n] {
			continue
		}
		seen[n] = true
		out = append(out, p.countedBundle(b))
		todo = append(todo, p.Parts(n)...)
		if b.Kin == nil {
			continue
		}
		for _, from := range b.Kin.Parents { // a split that was undone leaves the parent's name behind
			if slices.Contains(p.Parts(from), n) {
				todo = append(todo, from)
			}
		}
	}
	slices.SortFunc(out, func(a, b heat.Tied) int { return int(int64(a.Number) - int64(b.Number)) })
	return out
}

// countedBundle is a bundle as an account counts it.
func (p *Past) countedBundle(b scan.Bundle) heat.Tied {
	l := p.Line(b.Line)
	t := heat.Tied{Number: b.Number, Job: l.Job, State: p.State(b, l), Pieces: b.Pieces, Length: l.Length, Runs: b.Runs}
	if b.Kin != nil {
		t.Lost = b.Kin.Lost
	}
	return t
}

// State is how far a bundle is, in a word or two, as an account has it: "waits for bend", "at bend", "ready",
// "on a truck here", "left", "away" at a processor, "delivered", or "none left".
func (p *Past) State(b scan.Bundle, l *scan.Line) string {
	switch h := hasteOf(b, l); h {
	case AtWork:
		return "at " + b.Next(l)
	case Lying:
		return "waits for " + b.Next(l)
	case Here:
		return "on a truck here"
	case Left:
		return p.beyond(b)
	default:
		return h.String()
	}
}

// beyond is how far a bundle is that left.
func (p *Past) beyond(b scan.Bundle) string {
	l, ok := p.Load(b.Load)
	if at := p.StopOf(l, b); ok && at >= 0 && at < len(l.Stops) {
		switch s := l.Stops[at]; {
		case s.Processor != "":
			return "away"
		case s.Delivered != 0:
			return "delivered"
		}
	}
	return Left.String()
}

// books are what an account reads of runs, the last few kept.
type books struct {
	p    *Past
	kept memo[uint64, heat.Worked]
}

func (b *books) Lot(n tags.Number) (heat.Lot, bool) { return b.p.Lot(n) }

func (b *books) Worked(run uint64) (heat.Worked, bool) {
	if row := b.kept.find(run); row != nil {
		return row.value, row.ok
	}
	r, ok := b.p.Run(run)
	var w heat.Worked
	if ok {
		w = b.worked(r)
	}
	b.kept.set(run, w, ok)
	return w, ok
}

func (b *books) worked(r scan.Run) heat.Worked {
	w := heat.Worked{Run: r.Seq, Size: r.Steel.Size, Lots: r.Lots, Closed: r.By != 0}
	for _, m := range r.Members {
		if m.Done || w.Closed {
			w.Made = append(w.Made, heat.Made{Bundle: m.Bundle, Pieces: m.Pieces, Length: m.Length})
		}
	}
	if w.Closed {
		bars, coil := b.p.closing(r)
		w.Draws, w.Scrap, w.Missing = bars.Draws, bars.Scrap, bars.Missing
		w.Coils, w.CoilScrap, w.Lacks = coil.Draws, coil.Scrap, coil.Missing
	}
	return w
}
