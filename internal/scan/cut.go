package scan

import (
	"cmp"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// cut judges a bundle that waits to be cut, or is being cut, at a cut station. The first scan opens
// a run or joins the open one, and shows the card; the card's own tag scanned again, or a typed
// count, is the bundle cut.
func (j *judge) cut(b Bundle, l *Line) Outcome {
	if out, past := j.wentOn(b); past {
		return out
	}
	floor := j.past.Floor(j.at.Name)
	shares := j.shares(b)
	run, here, _ := j.shareHere(shares)
	switch {
	case j.scan.Do == Part && j.scan.Pieces == 0:
		return j.refuse(b.Number, "no part", title(b, l))
	case !here && j.scan.Do != Take && j.scan.Pieces > 0 && j.partTwice(b):
		return Outcome{Answer: answer(event.Accepted, "once"), Show: b.Number, Run: floor.Run}
	case j.scan.Do == Take:
		return j.take(floor, b, l)
	case j.scan.Do == Join:
		return j.join(floor, b, l)
	case here:
		return j.cutting(floor, run, b, l)
	case len(shares) > 0 && j.scan.Pieces > 0:
		return j.cutElsewhere(floor, shares, b, l)
	case len(shares) > 0:
		return j.refuse(b.Number, "other station", title(b, l), stations(shares), j.when(shares[0].At))
	}
	return j.begin(floor, b, l)
}

// begin judges the first scan of a bundle at a cut station.
func (j *judge) begin(floor Floor, b Bundle, l *Line) Outcome {
	run, open := j.past.Run(floor.Run)
	if open && j.at.Single && !j.scan.Deed {
		return j.next(floor, run, b, l)
	}
	// Pieces that are counted are cut, whatever steel lies on the table: they get a run of their own.
	aside := open && (run.Steel != l.Steel || j.scan.Deed || j.alone(run)) && j.scan.Pieces > 0
	table := ""
	if aside {
		table = title(j.openMember(run))
		floor.Run, run, open = 0, Run{}, false
	}
	lots, no := j.mayStart(floor, run, b, l)
	if no.Answer.Verdict == event.Refused && (j.scan.Pieces == 0 || !ruled[no.Answer.Notes[0].Code]) {
		return no
	}
	said := len(j.scan.Lots) > 0
	if counted, forgotten := j.forgotten(floor); forgotten {
		lots, no, said = counted, Outcome{}, true
	}
	out := Outcome{Show: b.Number, Run: floor.Run}
	pocket := ""
	if !j.scan.Deed {
		pocket = j.pocket(floor, b.Number)
	}
	if open {
		out.Answer = answer(event.Accepted, "cut joined", title(b, l), b.ToDo(), j.length(l.Length))
		joined := event.RunJoined{Run: floor.Run, Bundle: b.Number, Pocket: pocket, Lots: further(run, j.scan.Lots)}
		run.Lots = union(run.Lots, joined.Lots...)
		out.Events = []event.Body{joined}
	} else {
		out.Answer = answer(event.Accepted, "cut started", title(b, l), b.ToDo(), j.length(l.Length))
		opened := event.RunOpened{Station: j.at.Name, Bundle: b.Number, Lots: lots, Said: said, Pocket: pocket, Aside: aside}
		run = Run{Station: j.at.Name, Steel: l.Steel, Lots: lots, Said: opened.Said}
		out.Events = []event.Body{opened}
	}
	run.Members = append(slices.Clone(run.Members), Member{Bundle: b.Number, Length: l.Length, Pieces: b.ToDo()})
	if j.scan.Pieces > 0 {
		out = j.done(out, run, b, l)
		j.into(&out.Answer, floor, pocket, b.Number)
		if aside {
			look(&out.Answer, "cut aside", title(b, l), j.at.Title, table)
		}
		if no.Answer.Verdict == event.Refused && !lookedAt[no.Answer.Notes[0].Code] {
			heed(&out.Answer, no)
		}
		return out
	}
	j.into(&out.Answer, floor, pocket, b.Number)
	j.madeBefore(&out.Answer, b)
	longest := bar.Length(0)
	for _, n := range lots {
		lot, _ := j.past.Lot(n)
		longest = max(longest, lot.Length)
	}
	switch {
	case len(lots) == 0:
		look(&out.Answer, "bring stock", l.Steel)
	case longest < l.Length && len(j.coils(lots)) == 0:
		look(&out.Answer, "too short", j.length(l.Length), l.Steel)
	}
	return out
}

// further are the lots that a person says and that the run does not have yet.
func further(run Run, said []tags.Number) []tags.Number {
	var out []tags.Number
	for _, n := range said {
		if !slices.Contains(run.Lots, n) {
			out = append(out, n)
		}
	}
	return out
}

// ruled are the refusals that stop a start and only mark a deed: with a typed count the person says
// that the pieces are cut already.
var ruled = map[string]bool{
	"wrong steel": true, "held": true, "origin": true, "heat not known": true, "one heat only": true,
}

// lookedAt are those of them that afterTheDeed finds again.
var lookedAt = map[string]bool{"held": true, "one heat only": true}

// mayStart gives the lots that a bundle would be drawn from, or refuses the start. Run is the open
// one of the station, if any.
func (j *judge) mayStart(floor Floor, run Run, b Bundle, l *Line) ([]tags.Number, Outcome) {
	if p := j.scan.Pocket; p != "" && !slices.Contains(j.at.Pockets, p) {
		return nil, j.refuse(b.Number, "no pocket", j.at.Title, cut(p, 40), join(j.at.Pockets))
	}
	if floor.Run != 0 && (run.Steel != l.Steel || j.alone(run)) {
		first, line := j.openMember(run)
		return nil, j.refuse(b.Number, "other run", j.at.Title, title(first, line), run.Left())
	}
	lots, wrong, out := j.candidates(floor, run, b, l)
	if out.Answer.Verdict == event.Refused {
		return nil, out
	}
	if len(lots) == 0 && wrong != "" {
		return nil, j.refuse(b.Number, "wrong steel", wrong, title(b, l), l.Steel, j.bring(b, l))
	}
	if h, held := j.held(b, lots); held {
		return lots, j.refuseHeld(b.Number, title(b, l), h)
	}
	return lots, j.rulesAtStart(b, l, lots)
}

// candidates are the lots that a bundle may be drawn from: those that a person said, else those on
// the station's feeds that match the line's steel. One that joins a run may be drawn from all that the
// run may draw from, also from what is off the feeds by now. wrong names the steel of what lies there
// and does not match.
func (j *judge) candidates(floor Floor, run Run, b Bundle, l *Line) (lots []tags.Number, wrong string, out Outcome) {
	for _, n := range j.scan.Lots {
		// What a person says that it was cut from, it was cut from: done looks at the steel.
		if lot, _ := j.past.Lot(n); j.scan.Pieces == 0 && !l.Steel.Matches(lot.Steel) {
			return nil, "", j.refuse(b.Number, "lot not right", n, lot.Steel, title(b, l), l.Steel)
		}
	}
	switch {
	case floor.Run != 0:
		lots = union(run.Lots, j.scan.Lots...)
	case len(j.scan.Lots) > 0:
		lots = j.scan.Lots
	}
	for _, n := range floor.Lots() {
		lot, _ := j.past.Lot(n)
		if !l.Steel.Matches(lot.Steel) {
			if wrong == "" {
				wrong = lot.Steel.String()
			}
		} else if floor.Run == 0 && len(j.scan.Lots) == 0 {
			lots = append(lots, n)
		}
	}
	return lots, wrong, Outcome{}
}

// rulesAtStart asks what the job wants of the steel before it is cut.
func (j *judge) rulesAtStart(b Bundle, l *Line, lots []tags.Number) Outcome {
	job, _ := j.past.Job(l.Job)
	if lot, why := heat.Origin(j.past, lots, job.Country); why != "" {
		return j.refuse(b.Number, "origin", job.Job, job.Country, lot.Number, why, madeIn(lot, why))
	}
	if job.Heats == event.HeatsNone || len(lots) == 0 {
		return Outcome{}
	}
	for _, n := range lots {
		if d := heat.Of(j.past, []tags.Number{n}); d.Certainty == heat.Unknown {
			return j.refuse(b.Number, "heat not known", job.Job, n)
		}
	}
	if d := heat.Of(j.past, lots); job.Heats == event.HeatsSingle && len(d.Heats) > 1 {
		return j.refuse(b.Number, "one heat only", job.Job, d.Names())
	}
	return Outcome{}
}

// bring names the steel to fetch with the oldest lot and its place.
func (j *judge) bring(b Bundle, l *Line) string {
	says := l.Steel.String()
	j.past.LotsOf(l.Steel, func(lot heat.Lot) bool {
		if lot.Coil() != (b.Next(l) == string(CutAndBend)) || !lot.Coil() && lot.Length < l.Length {
			return true
		}
		if name, ok := j.past.Place(lot.Place); ok {
			says += " (" + name + ")"
		}
		return false
	})
	return says
}

// openMember is a bundle of the run that is not done.
func (j *judge) openMember(r Run) (Bundle, *Line) {
	for _, m := range r.Members {
		if !m.Done {
			b, _ := j.past.Bundle(m.Bundle)
			return b, j.past.Line(b.Line)
		}
	}
	return Bundle{}, &Line{}
}

// cutting judges a bundle that is in the run of this station.
func (j *judge) cutting(floor Floor, run Run, b Bundle, l *Line) Outcome {
	if floor.Card != b.Number && j.scan.Pieces == 0 {
		return Outcome{
			Answer: answer(event.Accepted, "card shown", title(b, l), b.ToDo(), j.length(l.Length)),
			Events: []event.Body{event.CardShown{Station: j.at.Name, Bundle: b.Number}},
			Show:   b.Number, Run: run.Seq,
		}
	}
	if len(run.Members) > 1 && j.saysCoil() {
		return j.refuse(b.Number, "coil apart", title(b, l))
	}
	out := j.done(Outcome{Show: b.Number, Run: run.Seq}, run, b, l)
	if b.Station == j.at.Name {
		j.soon(&out.Answer, b, l)
	}
	return out
}

// cutElsewhere judges a typed count of a bundle that was started at another station: a person says
// that it was cut here. The start there is taken back; where it was cut at several, this is a share of
// its own.
func (j *judge) cutElsewhere(floor Floor, shares []Run, b Bundle, l *Line) Outcome {
	if len(shares) != 1 || shares[0].Station != b.Station || j.scan.Do != Scanned {
		out := j.begin(floor, b, l)
		if out.Answer.Verdict != event.Refused {
			look(&out.Answer, "started elsewhere", title(b, l), stations(shares))
		}
		return out
	}
	run := shares[0]
	if run.Members[run.open(b.Number)].Lost > 0 {
		// Pieces of it were cut there, so it was: the count ends it there.
		out := j.done(Outcome{Show: b.Number, Run: run.Seq}, run, b, l)
		look(&out.Answer, "started elsewhere", title(b, l), run.Station)
		return out
	}
	u := event.Undone{Bundle: b.Number, Seq: b.Progress[len(b.Progress)-1], Reason: "cut at " + j.at.Name}
	there := &judge{past: j.past, rules: j.rules}
	was := there.undoStart(&u, b, run)
	here := *j
	here.past = book(j.past, u)
	b.Started, b.Runs = false, b.Runs[:len(b.Runs)-1]
	out := here.begin(floor, b, l)
	if out.Answer.Verdict == event.Refused {
		return out
	}
	look(&out.Answer, "started elsewhere", title(b, l), run.Station)
	out.Answer.Notes = append(out.Answer.Notes, was.Notes...)
	out.Events = slices.Insert(out.Events, 0, event.Body(u))
	return out
}

// booked is a past in which some more bars and coil are drawn.
type booked struct {
	Past
	bars  []event.Draw
	coils []event.MassDraw
}

// book is the past with what an event draws.
func book(past Past, e event.Body) Past {
	b := booked{Past: past}
	closed := func(bars *event.RunClosed, coil *event.CoilClosed) {
		if bars != nil {
			b.bars = bars.Draws
		}
		if coil != nil {
			b.coils = coil.Draws
		}
	}
	switch e := e.(type) {
	case event.CutDone:
		closed(e.Closed, nil)
	case event.CoilCut:
		closed(nil, &e.Closed)
	case event.PartDone:
		closed(e.Closed, e.Coil)
	case event.Undone:
		closed(e.Closed, nil)
	}
	if len(b.bars)+len(b.coils) == 0 {
		return past
	}
	return b
}

// Lot finds a stock lot as it is after the draws.
func (p booked) Lot(n tags.Number) (heat.Lot, bool) {
	l, ok := p.Past.Lot(n)
	for _, d := range p.bars {
		if d.Lot == n {
			l.Taken, l.Over = l.Taken+d.Bars, l.Over+d.Over
		}
	}
	for _, d := range p.coils {
		if d.Lot == n {
			l.MassTaken, l.MassOver = l.MassTaken+d.Mass, l.MassOver+d.Over
		}
	}
	return l, ok
}

// done records what a run made of a bundle, and closes the run with its last bundle. That is the
// bundle cut, unless other runs still cut it, or a person says that it is a part. Nothing here is
// refused: the bars are cut.
func (j *judge) done(out Outcome, run Run, b Bundle, l *Line) Outcome {
	pieces := j.scan.Pieces
	if pieces == 0 {
		pieces = b.ToDo()
	}
	all := b.Made + pieces
	others := slices.DeleteFunc(j.shares(b), func(r Run) bool { return r.Seq == run.Seq })
	part := len(others) > 0 || j.scan.Do == Part && all < b.Pieces
	e := event.CutDone{Run: run.Seq, Bundle: b.Number, Pieces: pieces, Asked: b.Pieces}
	switch {
	case len(others) > 0:
		out.Answer = answer(event.Accepted, "share done", title(b, l), pieces, all, b.Pieces, stations(others))
	case part:
		out.Answer = answer(event.Accepted, "part made", title(b, l), pieces, all, b.Pieces, b.Pieces-all)
	default:
		out.Answer = answer(event.Accepted, "cut done", title(b, l), all, after(b, l, b.Done+1))
	}
	switch {
	case part:
	case all < b.Pieces && !j.owes(b):
		look(&out.Answer, "count differs", all, b.Pieces)
	case all < b.Pieces:
		e.Rest, e.Owed = j.past.Fresh(tags.Bundle), b.Pieces-all
		look(&out.Answer, "count short", all, b.Pieces, e.Owed, j.restName(b), e.Rest)
	case all > b.Pieces:
		look(&out.Answer, "count over", all, all-b.Pieces)
	}
	if j.scan.Pieces == 0 && (len(others) > 0 || b.Started && b.Station != run.Station) {
		look(&out.Answer, "count taken as the rest", title(b, l), pieces)
	}
	run.Members = slices.Clone(run.Members)
	if i := run.open(b.Number); i >= 0 {
		m := &run.Members[i]
		m.Done, m.Pieces = true, pieces+m.Lost
	}
	for _, n := range j.scan.Lots {
		if lot, _ := j.past.Lot(n); !run.Steel.Matches(lot.Steel) {
			look(&out.Answer, "drew other steel", n, lot.Steel, run.Steel)
		}
	}
	lots := run.Lots
	var coil *event.CoilClosed
	if run.Left() > 0 {
		e.Lots = further(run, j.scan.Lots)
		lots = union(lots, e.Lots...)
	} else if j.fromCoil(run) {
		closed := j.closeCoil(&out.Answer, run, l)
		if len(closed.Lots) > 0 {
			lots = closed.Lots
		}
		coil = &closed
	} else {
		closed := j.close(&out.Answer, run, l)
		if len(closed.Lots) > 0 {
			lots = closed.Lots
		}
		e.Closed = &closed
		if j.scan.Scrap > 0 {
			look(&out.Answer, "scrap not counted", title(b, l), j.mass(j.scan.Scrap))
		}
	}
	j.afterTheDeed(&out.Answer, b, l, lots)
	switch {
	case part:
		out.Events = append(out.Events, event.PartDone{Station: run.Station, Bundle: b.Number, Step: b.Next(l), Pieces: pieces,
			Run: run.Seq, Closed: e.Closed, Lots: e.Lots, Coil: coil})
	case coil != nil:
		out.Events = append(out.Events, event.CoilCut{Run: e.Run, Bundle: e.Bundle, Pieces: e.Pieces, Rest: e.Rest, Owed: e.Owed, Closed: *coil, Asked: e.Asked})
	default:
		out.Events = append(out.Events, e)
	}
	return out
}

// close works out what a run drew and left. What a person typed stands; what is not typed is taken
// as the first-fit plan has it, and marked as assumed where several lots could have given the bars.
func (j *judge) close(a *event.Answer, run Run, l *Line) event.RunClosed {
	closed := event.RunClosed{}
	lots, said := j.drawnFrom(run)
	var pieces bar.Length
	for _, m := range run.Members {
		pieces += m.Length * bar.Length(m.Pieces)
	}
	closed.Steel = j.leftSteel(run.Steel, lots)
	if pieces == 0 && len(j.scan.Bars) == 0 && len(j.scan.Remnants) == 0 {
		return closed // nothing was made: others made all of it
	}
	plan := j.planOn(lots, run.wants(), run.Steel.Size)
	if len(j.scan.Bars) > 0 {
		closed.Draws = slices.Clone(j.scan.Bars)
	} else {
		closed.Assumed = len(lots) > 1
		for _, p := range plan {
			closed.Draws = drawMore(closed.Draws, p.Lot, p.Bars)
		}
	}
	var drawn bar.Length
	bars := 0
	for i := range closed.Draws {
		d := &closed.Draws[i]
		lot, _ := j.past.Lot(d.Lot)
		if !run.Steel.Matches(lot.Steel) && !slices.Contains(j.scan.Lots, d.Lot) {
			look(a, "drew other steel", d.Lot, lot.Steel, run.Steel)
		}
		d.Over = max(0, d.Bars-max(0, lot.OnHand()))
		if d.Over > 0 {
			look(a, "count difference", d.Lot, d.Over)
		}
		drawn += lot.Length * bar.Length(d.Bars)
		bars += d.Bars
	}
	left := drawn - pieces
	if j.scan.Remnants != nil {
		closed.Remnants = slices.Clone(j.scan.Remnants)
	} else if !j.asPlanned(closed.Draws, plan) {
		if keep := j.rules.KeepFrom(run.Steel.Size); keep > 0 && left >= keep {
			look(a, "left over", j.length(left))
		}
	} else {
		for _, p := range plan {
			if !p.Keep {
				continue
			}
			if i := slices.IndexFunc(closed.Remnants, func(r event.Remnant) bool { return r.Length == p.Left }); i >= 0 {
				closed.Remnants[i].Bars += p.Bars
			} else {
				closed.Remnants = append(closed.Remnants, event.Remnant{Length: p.Left, Bars: p.Bars})
			}
		}
	}
	a.Notes = append(a.Notes, note("run closed", bars))
	for i := range closed.Remnants {
		r := &closed.Remnants[i]
		r.Lot = j.past.Fresh(tags.Stock)
		left -= r.Length * bar.Length(r.Bars)
		a.Notes = append(a.Notes, note("remnant", r.Bars, j.length(r.Length), r.Lot))
	}
	if left >= 0 {
		closed.Scrap = left
	} else {
		closed.Missing = -left
		if len(lots) > 0 {
			look(a, "metal missing", j.length(-left))
		}
		lots = union(run.Lots, lots...) // what is missing may be of any
	}
	if said {
		closed.Lots = lots
	}
	if len(lots) == 0 {
		look(a, "nothing on the feed", run.Steel, l.Mark)
	}
	return closed
}

// drawMore adds bars of a lot to draws.
func drawMore(draws []event.Draw, lot tags.Number, bars int) []event.Draw {
	for i := range draws {
		if draws[i].Lot == lot {
			draws[i].Bars += bars
			return draws
		}
	}
	return append(draws, event.Draw{Lot: lot, Bars: bars})
}

// leftSteel is the steel of what a run leaves: that of its lots where they are alike (a lot marked for
// two specs leaves remnants marked for two), else what the run asked for.
func (j *judge) leftSteel(asked bar.Steel, lots []tags.Number) bar.Steel {
	var s bar.Steel
	for _, n := range lots {
		lot, _ := j.past.Lot(n)
		if s != (bar.Steel{}) && lot.Steel != s {
			return asked
		}
		s = lot.Steel
	}
	if s == (bar.Steel{}) {
		return asked
	}
	return s
}

// asPlanned says whether the bars drawn are those of the plan, so that what it leaves can be taken
// as left.
func (j *judge) asPlanned(draws []event.Draw, plan []Pattern) bool {
	count := map[tags.Number]int{}
	for _, p := range plan {
		count[p.Lot] += p.Bars
	}
	for _, d := range draws {
		count[d.Lot] -= d.Bars
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

// planOn plans the pieces on candidate lots: what each has on hand, and beyond that as many bars of
// the last one as are needed, since they were cut.
func (j *judge) planOn(lots []tags.Number, wants []Want, size bar.Size) []Pattern {
	var stock []From
	for _, n := range lots {
		if lot, ok := j.past.Lot(n); ok && lot.OnHand() > 0 {
			stock = append(stock, From{n, lot.Length, lot.OnHand()})
		}
	}
	for i := len(lots) - 1; i >= 0; i-- {
		if lot, ok := j.past.Lot(lots[i]); ok && !lot.Gone {
			stock = append(stock, From{lots[i], lot.Length, -1})
		}
	}
	plan, _ := FirstFit(wants, stock, j.rules.KeepFrom(size))
	return plan
}

// afterTheDeed looks at a cut bundle with the rules that would have refused its start.
func (j *judge) afterTheDeed(a *event.Answer, b Bundle, l *Line, lots []tags.Number) {
	if h, held := j.held(b, lots); held {
		look(a, "held while worked", title(b, l), h.Reason)
	}
	job, _ := j.past.Job(l.Job)
	if d := heat.Of(j.past, lots); job.Heats == event.HeatsSingle && len(d.Heats) > 1 {
		look(a, "rule broken by now", job.Job, d.Names())
	}
}

// join writes names with commas between them, and "none" where there are none.
func join(names []string) string {
	return cmp.Or(strings.Join(names, ", "), "none")
}
