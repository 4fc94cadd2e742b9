package scan

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Mending is what a person finds out later about a feed: that a lot lay there and was not scanned, or that
// one the record has there did not.
type Mending struct {
	Station string
	Feed    string
	Lot     tags.Number
	Not     bool     // it did not lie there
	Runs    []uint64 // that it was cut in, or was not
	// Bars says how many bars of each lot the run took, where one run is named; none: worked out.
	Bars   []event.Draw
	Reason string
}

// Mended is what a mending comes to. Nothing else moves: what was made of those runs is found by them.
type Mended struct {
	Outcome
	Event   event.ChargeMended
	Bundles []tags.Number // that may be of other lots now, with those cut from remnants
	Left    []tags.Number // of them, those that have left
	Against []tags.Number // of them, those that a rule of their job is against by now
}

// mostMended is how many runs one event restates.
const mostMended = 200

// Mend restates the runs that it names. A run that drew more bars than the record had of other lots, or
// made pieces of which no bar is recorded, took them from the lot that was forgotten; a lot that did not
// lie there gives its bars back, and others of its length gave them. What each run drew and what is
// missing stays what it made and left, to the nanometre. A mending is taken back by its opposite.
func Mend(past Past, rules Rules, m Mending) (Mended, error) {
	var out Mended
	reason, err := event.CleanText("reason", m.Reason, event.MostReason)
	if err != nil {
		return out, err
	}
	at, ok := rules.Station(m.Station)
	lot, known := past.Lot(m.Lot)
	switch {
	case reason == "":
		return out, refusal("reason", "is missing; say how this was found out")
	case !ok || len(at.Feeds) == 0:
		return out, refusal("station", "%s is no station with a feed", cut(m.Station, 40))
	case m.Feed != "" && !slices.Contains(at.Feeds, m.Feed):
		return out, refusal("feed", "%s has no feed %s; its feeds: %s", at.Title, cut(m.Feed, 40), join(at.Feeds))
	case !known || lot.Gone:
		return out, refusal("lot", "%v is no lot of this plant", m.Lot)
	case len(m.Runs) == 0:
		return out, refusal("runs", "are missing; name those in which the lot was cut, or was not")
	case len(m.Runs) > mostMended:
		return out, refusal("runs", "are %d; %d are the most at once", len(m.Runs), mostMended)
	case len(m.Bars) > 0 && len(m.Runs) > 1:
		return out, refusal("bars", "are said of one run; %d are named", len(m.Runs))
	}
	j := &judge{past: past, rules: rules, at: at}
	var came []event.LotConfirmed
	if !m.Not { // what lay on the feed has come, received or not
		j.scan.Lots, j.scan.Bars = []tags.Number{m.Lot}, m.Bars
		came = j.named()
		past = j.past
		lot, _ = past.Lot(m.Lot)
	}
	w := mending{Mending: m, past: past, lot: lot, stock: map[tags.Number]heat.Lot{}, now: restated{past, map[uint64]Run{}, map[tags.Number]heat.Lot{}}}
	if err := w.find(); err != nil {
		return out, err
	}
	for _, r := range w.runs {
		one, err := w.run(r)
		if err != nil {
			return out, err
		}
		out.Event.Runs = append(out.Event.Runs, one)
	}
	out.Event.Station, out.Event.Feed, out.Event.Lot, out.Event.Reason = m.Station, m.Feed, m.Lot, reason
	out.Events, out.Show = []event.Body{out.Event}, m.Lot
	if m.Not {
		out.Answer = answer(event.Accepted, "charge taken out", m.Lot, at.Title, len(w.runs))
	} else {
		out.Answer = answer(event.Accepted, "charge mended", m.Lot, at.Title, len(w.runs))
	}
	for _, r := range w.runs {
		closed := w.closed[r.Seq]
		keep, was := rules.KeepFrom(r.Steel.Size), past.Closing(r)
		if keep > 0 && closed.Scrap > was.Scrap && closed.Scrap >= keep {
			look(&out.Answer, "left over", j.length(closed.Scrap))
		}
		for _, d := range closed.Draws {
			if i := slices.IndexFunc(was.Draws, func(o event.Draw) bool { return o.Lot == d.Lot }); d.Over > 0 && (i < 0 || was.Draws[i].Over < d.Over) {
				look(&out.Answer, "count difference", d.Lot, d.Over)
			}
		}
	}
	j.touched(&out, w)
	j.tookAsReceived(&out.Outcome, came...)
	return out, nil
}

// mending is one Mend under way.
type mending struct {
	Mending
	past   Past
	lot    heat.Lot
	runs   []Run // in the order in which they closed, open ones last
	stock  map[tags.Number]heat.Lot
	now    restated
	closed map[uint64]event.RunClosed
}

// find looks the runs up, and takes what they drew back, to be drawn anew.
func (w *mending) find() error {
	w.closed = map[uint64]event.RunClosed{}
	for _, seq := range w.Runs {
		r, ok := w.past.Run(seq)
		switch {
		case !ok || len(r.Members) == 0:
			return refusal("runs", "%d is no run", seq)
		case r.Station != w.Station:
			return refusal("runs", "%d was at %s", seq, r.Station)
		case !w.Not && !r.Steel.Matches(w.lot.Steel):
			return refusal("lot", "%v is %s, and run %d is %s", w.Lot, w.lot.Steel, seq, r.Steel)
		case w.lot.Coil() || slices.ContainsFunc(r.Lots, func(n tags.Number) bool { return w.of(n).Coil() }):
			// Its one bundle is undone and cut anew from what a person says, which draws by mass.
			return refusal("runs", "%d is of coil, which gives one bundle; undo that, and say the lot when it is recorded again", seq)
		case slices.ContainsFunc(w.runs, func(o Run) bool { return o.Seq == seq }):
			continue
		case slices.Contains(r.Lots, w.Lot) != w.Not && len(w.Bars) == 0:
			continue // the record has it so
		}
		w.runs = append(w.runs, r)
	}
	if len(w.runs) == 0 && w.Not {
		return refusal("runs", "were not cut from lot %v by the record either", w.Lot)
	} else if len(w.runs) == 0 {
		return refusal("runs", "may be of lot %v by the record already", w.Lot)
	}
	slices.SortStableFunc(w.runs, func(a, b Run) int { return cmp.Compare(a.By-1, b.By-1) }) // 0 is last
	from := []tags.Number{w.Lot}
	for _, d := range w.Bars {
		lot, ok := w.past.Lot(d.Lot)
		switch {
		case !ok || lot.Gone:
			return refusal("bars", "name %v, which is no lot of this plant", d.Lot)
		case d.Bars < 1 || d.Bars > mostCounted:
			return refusal("bars", "of lot %v are %d", d.Lot, d.Bars)
		case d.Lot == w.Lot && w.Not:
			return refusal("bars", "name lot %v, which was not there", d.Lot)
		}
		from = append(from, d.Lot)
	}
	above := heat.Ancestors(w.past, from)
	for _, r := range w.runs {
		c := w.past.Closing(r)
		for _, rem := range c.Remnants {
			if slices.ContainsFunc(above, func(l heat.Lot) bool { return l.Number == rem.Lot }) {
				return refusal("lot", "%v came of what run %d left, so run %d was not cut from it", w.Lot, r.Seq, r.Seq)
			}
		}
		for _, d := range c.Draws {
			w.take(d.Lot, -d.Bars, -d.Over)
		}
	}
	return nil
}

func (w *mending) of(n tags.Number) heat.Lot {
	l, ok := w.stock[n]
	if !ok {
		l, _ = w.past.Lot(n)
	}
	return l
}

func (w *mending) take(n tags.Number, bars, over int) {
	l := w.of(n)
	l.Taken, l.Over = l.Taken+bars, l.Over+over
	w.stock[n] = l
}

// with is lots as they are mended; nil where none is left.
func (w *mending) with(lots []tags.Number) []tags.Number {
	if !w.Not {
		return union(lots, w.Lot)
	}
	var out []tags.Number
	for _, n := range lots {
		if n != w.Lot {
			out = append(out, n)
		}
	}
	return out
}

// run restates one run.
func (w *mending) run(r Run) (event.RunMended, error) {
	was := w.past.Closing(r)
	opened := r.Lots
	if len(was.Lots) > 0 {
		opened = r.Before
	}
	one := event.RunMended{Run: r.Seq, Lots: w.with(opened)}
	lots := w.with(r.Lots)
	if len(lots) == 0 && len(w.Bars) == 0 {
		return one, refusal("lot", "%v is all that run %d can be of; mend it with the lot that lay there first", w.Lot, r.Seq)
	}
	next := r
	if next.Lots = one.Lots; r.By == 0 {
		if len(w.Bars) > 0 {
			return one, refusal("bars", "are said when run %d is closed; it is open", r.Seq)
		}
		w.now.runs[r.Seq] = next
		return one, nil
	}
	c := was
	c.Lots, c.Assumed = lots, len(lots) > 1
	switch {
	case len(w.Bars) > 0:
		c.Draws, c.Assumed, c.Lots = slices.Clone(w.Bars), false, nil
		for _, d := range w.Bars {
			c.Lots = union(c.Lots, d.Lot)
		}
	case w.Not:
		c.Draws = w.without(was.Draws, lots)
	default:
		c.Draws = w.added(r, was)
	}
	var left bar.Length
	for _, m := range r.Members {
		left -= m.Length * bar.Length(m.Pieces)
	}
	for _, rem := range c.Remnants {
		left -= rem.Length * bar.Length(rem.Bars)
	}
	for i := range c.Draws {
		d := &c.Draws[i]
		d.Over = max(0, d.Bars-max(0, w.of(d.Lot).OnHand()))
		w.take(d.Lot, d.Bars, d.Over)
		left += w.of(d.Lot).Length * bar.Length(d.Bars)
	}
	if c.Scrap, c.Missing = max(0, left), max(0, -left); c.Missing > 0 {
		c.Lots = union(c.Lots, lots...) // what is missing may be of any
	}
	if len(c.Draws) == 0 {
		c.Draws = nil
	}
	one.Closed = &c
	w.closed[r.Seq] = c
	next.Lots, next.Before, next.Missing = c.Lots, one.Lots, c.Missing
	w.now.runs[r.Seq] = next
	for _, rem := range c.Remnants {
		if l, ok := w.past.Lot(rem.Lot); ok {
			l.Parents, l.Lacking = c.Lots, c.Missing > 0
			w.now.lots[rem.Lot] = l
		}
	}
	return one, nil
}

// added are the draws of a run that was cut from the forgotten lot too: bars that others gave and did not
// have were of it, and so is what no recorded bar accounts for.
func (w *mending) added(r Run, was event.RunClosed) []event.Draw {
	draws := slices.Clone(was.Draws)
	bars := 0
	for i := range draws {
		d := &draws[i]
		// Without them, the lots have what the record says; with too few of it, they were not theirs.
		if short := d.Bars - max(0, w.of(d.Lot).OnHand()); short > 0 && d.Over > 0 && w.of(d.Lot).Length == w.lot.Length && d.Lot != w.Lot {
			n := min(short, d.Over)
			d.Bars -= n
			bars += n
		}
	}
	if was.Missing > 0 && w.lot.Length > 0 {
		bars += w.lacking(r, was)
	}
	draws = slices.DeleteFunc(draws, func(d event.Draw) bool { return d.Bars == 0 })
	if bars > 0 {
		draws = append(draws, event.Draw{Lot: w.Lot, Bars: bars})
	}
	return draws
}

// lacking is how many bars of the lot make what is missing: of a run of which nothing was recorded, as a
// cut of all its pieces is planned; else as many as hold the metal.
func (w *mending) lacking(r Run, was event.RunClosed) int {
	if len(was.Draws) > 0 {
		return int((was.Missing + w.lot.Length - 1) / w.lot.Length)
	}
	bars := 0
	plan, _ := FirstFit(r.wants(), []From{{w.Lot, w.lot.Length, -1}}, 0)
	for _, p := range plan {
		bars += p.Bars
	}
	return bars
}

// without are the draws of a run that was not cut from the lot: the others of its length gave its bars,
// those that have some first.
func (w *mending) without(draws []event.Draw, lots []tags.Number) []event.Draw {
	bars := 0
	out := slices.DeleteFunc(slices.Clone(draws), func(d event.Draw) bool {
		if d.Lot == w.Lot {
			bars += d.Bars
		}
		return d.Lot == w.Lot
	})
	give := func(n tags.Number, k int) {
		out = drawMore(out, n, k)
		bars -= k
	}
	last := tags.Number(0)
	for _, n := range lots {
		l := w.of(n)
		if l.Length != w.lot.Length {
			continue
		}
		last = n
		has := l.OnHand()
		for _, d := range out {
			if d.Lot == n {
				has -= d.Bars
			}
		}
		if k := min(bars, has); k > 0 {
			give(n, k)
		}
	}
	if bars > 0 && last != 0 {
		give(last, bars)
	}
	return out
}

// restated is a past in which some runs may be of other lots, and so what they left.
type restated struct {
	Past
	runs map[uint64]Run
	lots map[tags.Number]heat.Lot
}

// Run finds a run as it is mended.
func (p restated) Run(seq uint64) (Run, bool) {
	if r, ok := p.runs[seq]; ok {
		return r, true
	}
	return p.Past.Run(seq)
}

// Lot finds a lot as it is mended.
func (p restated) Lot(n tags.Number) (heat.Lot, bool) {
	if l, ok := p.lots[n]; ok {
		return l, true
	}
	return p.Past.Lot(n)
}

// mostTold is how many bundles an answer names one by one.
const mostTold = 20

// touched finds what was made of the runs, and says of what has left or is here that it may be of steel
// that its job does not want, or that is held.
func (j *judge) touched(out *Mended, w mending) {
	var runs []uint64
	for _, r := range w.runs {
		runs = append(runs, r.Seq)
	}
	out.Bundles = MadeOf(j.past, runs)
	after := &judge{past: w.now, rules: j.rules}
	var notes event.Answer
	for _, n := range out.Bundles {
		b, _ := j.past.Bundle(n)
		if b.Shipped {
			out.Left = append(out.Left, n)
		}
		l := j.past.Line(b.Line)
		was, is := j.rulesAtLoad(b, l), after.rulesAtLoad(b, l)
		against := is.Answer.Verdict == event.Refused && (was.Answer.Verdict != event.Refused || was.Answer.Notes[0].Code != is.Answer.Notes[0].Code)
		if against {
			out.Against = append(out.Against, n)
		}
		_, before := j.held(b, Drawn(j.past, b))
		h, held := after.held(b, Drawn(w.now, b))
		if len(notes.Notes) > 2*mostTold {
			continue
		}
		if against && b.Shipped {
			look(&notes, "left against a rule", title(b, l), b.Load)
		} else if against {
			look(&notes, "here against a rule", title(b, l))
		}
		if against {
			notes.Notes = append(notes.Notes, is.Answer.Notes...)
		}
		if b.Shipped && held && !before {
			look(&notes, "left with held", title(b, l), h.Reason)
		}
	}
	out.Answer.Notes = append(out.Answer.Notes, note("mended bundles", len(out.Bundles), len(out.Left)))
	if len(notes.Notes) > 0 {
		out.Answer.Verdict = event.Check
		out.Answer.Notes = append(out.Answer.Notes, notes.Notes...)
	}
}

// MadeOf are the bundles that have pieces of runs, or of what those left, under whatever number, in order.
func MadeOf(past Past, runs []uint64) (out []tags.Number) {
	runs = slices.Clone(runs)
	for i := 0; i < len(runs); i++ {
		r, _ := past.Run(runs[i])
		for _, m := range r.Members {
			out = parted(past, out, m.Bundle, r.Seq)
		}
		for _, rem := range past.Closing(r).Remnants {
			for _, seq := range past.RunsOf(rem.Lot) {
				if !slices.Contains(runs, seq) {
					runs = append(runs, seq)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

// parted adds a bundle of a run, and those that its pieces of that run were tied into.
func parted(past Past, all []tags.Number, n tags.Number, run uint64) []tags.Number {
	b, ok := past.Bundle(n)
	if !ok || slices.Contains(all, n) || !slices.Contains(b.Runs, run) {
		return all
	}
	if !b.Voided {
		all = append(all, n)
	}
	for _, part := range past.Parts(n) {
		all = parted(past, all, part, run)
	}
	return all
}
