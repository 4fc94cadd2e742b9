package scan

import (
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// millNumber is the mill's own number of the bundle or coil that was scanned, "" for the lot as a whole.
// What stands for the lot and is no number of the mill's, as the office's word for it, is the whole lot.
func (j *judge) millNumber(lot heat.Lot) string {
	for _, n := range []string{j.own, j.other} {
		if n != "" && (n == j.other || lot.Announced(n) || lot.HasCome(n)) {
			return n
		}
	}
	return ""
}

// receives says whether a scan at this station confirms that some of a lot has come. At a station that
// cuts too, the tag of a lot of which there is some charges it.
func (j *judge) receives(lot heat.Lot) bool {
	if !j.at.Can(Receiving) {
		return false
	}
	own := j.millNumber(lot)
	switch {
	case lot.Coming():
	case own == "" || !lot.Announced(own):
		return false
	case lot.HasCome(own): // its last bundle once more, unless it is put down elsewhere
		return len(j.at.Feeds) == 0 && (j.dev.Put == 0 || j.dev.Put == lot.Place)
	}
	return len(j.at.Feeds) == 0 || !lot.Any() || own != "" && !lot.HasCome(own)
}

// arrives judges the tag of an expected lot, or of one bundle of it, at a station that receives.
func (j *judge) arrives(lot heat.Lot) Outcome {
	a := heat.Arrival{Number: j.millNumber(lot), Place: j.dev.Put, Last: j.scan.Do == Last}
	switch {
	case lot.Coil() && j.scan.Pieces > 0:
		return j.refuse(lot.Number, "by weight", lot.Number)
	case j.scan.Pieces > 0:
		a.Counted, a.Amount = true, heat.Amount{Bars: j.scan.Pieces}
	case a.Number != "" && !lot.Announced(a.Number):
		a.Amount = j.tagSays(lot)
		a.Counted = a.Amount != heat.Amount{}
	}
	return j.confirm(lot, a)
}

// tagSays is how much is in a bundle or coil by the mill's tag that was scanned.
func (j *judge) tagSays(lot heat.Lot) heat.Amount {
	m := j.scan.Read.Mill
	switch {
	case m == nil:
	case lot.Coil():
		if mass, err := bar.ParseMass(m.Weight); err == nil && mass > 0 && mass <= heat.MostCoil {
			return heat.Amount{Mass: mass}
		}
	case m.Quantity > 0 && m.Quantity <= mostCounted:
		return heat.Amount{Bars: m.Quantity}
	}
	return heat.Amount{}
}

// Confirm is that some of an expected lot has come, as somebody says who does not scan it. Of a lot that
// was never expected it is a refusal.
func Confirm(past Past, rules Rules, n tags.Number, a heat.Arrival) (Outcome, error) {
	j := &judge{past: past, rules: rules}
	lot, ok := past.Lot(n)
	switch {
	case !ok:
		return Outcome{}, refusal("lot", "%v is no lot of this plant", n)
	case lot.Paper == nil:
		return Outcome{}, refusal("lot", "%v was not expected: it is here, and can be counted", n)
	case a.Number != "" && lot.HasCome(a.Number):
		return Outcome{}, refusal("number", "%s of lot %v was confirmed already", a.Number, n)
	}
	var err error
	if a.Note, err = event.CleanText("note", a.Note, event.MostReason); err != nil {
		return Outcome{}, err
	}
	if a.Number != "" {
		if a.Number, err = event.CleanText("number", a.Number, 40); err != nil {
			return Outcome{}, err
		}
		if other, taken := past.Alias(heat.MillAlias(lot.Mill, a.Number)); taken && other != n {
			return Outcome{}, refusal("number", "%s of %s came in already, as lot %v", a.Number, lot.Mill, other)
		}
	}
	if a.Counted && !a.Last && a.Amount == (heat.Amount{}) {
		return Outcome{}, refusal("bars", "is 0; say that no more of it comes, or count what came")
	}
	if err := amountOf(lot, a.Counted, a.Amount); err != nil {
		return Outcome{}, err
	}
	return j.confirm(lot, a), nil
}

// amountOf refuses an amount that cannot be one of the lot.
func amountOf(lot heat.Lot, counted bool, n heat.Amount) error {
	switch {
	case !counted:
	case lot.Coil() && (n.Bars != 0 || n.Mass < 0 || n.Mass > heat.MostCoil):
		return refusal("weight", "is missing or no weight of coil; %v is coil, and goes by weight", lot.Number)
	case !lot.Coil() && (n.Mass != 0 || n.Bars < 0 || n.Bars > mostCounted):
		return refusal("bars", "is missing or no count; %v is bars, and goes by their number", lot.Number)
	}
	return nil
}

func (j *judge) confirm(lot heat.Lot, a heat.Arrival) Outcome {
	e, found := heat.Confirm(lot, a)
	out := Outcome{Show: lot.Number, Run: j.past.Floor(j.at.Name).Run}
	if found.Already {
		out.Answer = answer(event.Accepted, "confirmed already", a.Number, lot.Number)
		return out
	}
	units, names := j.rules.Units, heat.Of(j.past, []tags.Number{lot.Number}).Names()
	got, all := heat.Amount{Bars: e.Bars, Mass: e.Mass}.Text(units), lot.With(e).Came().Text(units)
	whole := lot.Paper.Whole().Text(units)
	if e.Last {
		out.Answer = answer(event.Accepted, "confirmed all", lot.Number, names, got, all)
	} else {
		out.Answer = answer(event.Accepted, "confirmed", lot.Number, names, got, all, whole)
	}
	switch {
	case found.Unlisted:
		look(&out.Answer, "not on the paper", a.Number, lot.Number)
	case found.Differs:
		look(&out.Answer, "paper differs", found.Paper.Text(units), got)
	}
	if !lot.Coming() {
		look(&out.Answer, "came after all", lot.Number, got)
	}
	if found.Uncounted {
		look(&out.Answer, "not counted", a.Number)
	}
	if found.Beyond {
		look(&out.Answer, "beyond the paper", all, whole)
	}
	if h, held := heat.HoldOn(j.past, []tags.Number{lot.Number}); held {
		kind, name := heat.Named(h.Target)
		look(&out.Answer, "held lot came", kind, name, h.Reason)
	}
	out.Events = []event.Body{e}
	return out
}

// plainly takes a lot of which more is expected as received, when something was done with it that needs
// steel, and the record has not so much on hand: it has plainly come.
func (j *judge) plainly(lot heat.Lot, bars int) (event.LotConfirmed, bool) {
	if !lot.Coming() || lot.Any() && (lot.Coil() || lot.OnHand() >= bars) {
		return event.LotConfirmed{}, false
	}
	e, _ := heat.Confirm(lot, heat.Arrival{})
	return e, true
}

// tookAsReceived says so at the end of what was done.
func (j *judge) tookAsReceived(out *Outcome, came ...event.LotConfirmed) {
	for _, e := range came {
		look(&out.Answer, "taken as received", e.Lot, heat.Amount{Bars: e.Bars, Mass: e.Mass}.Text(j.rules.Units))
		out.Events = append(out.Events, e)
	}
}

// come is a past in which some expected lots have come.
type come struct {
	Past
	lots []heat.Lot
}

// Lot finds a stock lot as it is with what came.
func (p come) Lot(n tags.Number) (heat.Lot, bool) {
	for _, l := range p.lots {
		if l.Number == n {
			return l, true
		}
	}
	return p.Past.Lot(n)
}

// named are the expected lots that a person says bars are from, at a station that has feeds.
func (j *judge) named() (came []event.LotConfirmed) {
	if len(j.at.Feeds) == 0 {
		return nil
	}
	var now []heat.Lot
	add := func(n tags.Number, bars int) {
		lot, _ := j.past.Lot(n)
		if e, ok := j.plainly(lot, bars); ok {
			came, now = append(came, e), append(now, lot.With(e))
		}
	}
	for _, d := range j.scan.Bars {
		add(d.Lot, d.Bars)
	}
	for _, n := range j.scan.Lots {
		if !slices.ContainsFunc(j.scan.Bars, func(d event.Draw) bool { return d.Lot == n }) {
			add(n, 1)
		}
	}
	if len(now) > 0 {
		j.past = come{j.past, now}
	}
	return came
}

// cuts says whether steel was taken, or is to be taken, by what was decided.
func cuts(events []event.Body) bool {
	return slices.ContainsFunc(events, func(b event.Body) bool {
		switch b.(type) {
		case event.RunOpened, event.RunJoined, event.CutDone, event.CoilCut, event.PartDone, event.BundleAssigned:
			return true
		}
		return false
	})
}

// expected says what is known of a lot of which nothing is here yet.
func (j *judge) expected(lot heat.Lot) Outcome {
	u, day := j.rules.Units, lot.Paper.Date
	if day == "" {
		day = "unknown day"
	}
	return Outcome{
		Answer: answer(event.Accepted, "found coming", lot.Number, day, lot.Came().Text(u), lot.Paper.Whole().Text(u)),
		Show:   lot.Number,
	}
}

// count records how many bars of a lot lie there, against the record.
func (j *judge) count(lot heat.Lot) Outcome {
	n := heat.Amount{Bars: j.scan.Pieces}
	switch {
	case j.scan.Do == None && n.Bars > 0, j.scan.Do == Count && n.Bars == 0:
		return j.refuse(lot.Number, "count missing", lot.Number)
	case lot.Coil() && n.Bars > 0:
		return j.refuse(lot.Number, "by weight", lot.Number)
	}
	place := j.dev.Put
	if lot.Feed != "" {
		place = 0 // it lies on a feed, wherever the device puts things down
	}
	return j.counted(lot, n, place)
}

// CountYard records how much of a lot lies there, as somebody says who does not scan it.
func CountYard(past Past, rules Rules, n tags.Number, amount heat.Amount, place tags.Number) (Outcome, error) {
	j := &judge{past: past, rules: rules}
	lot, ok := past.Lot(n)
	switch _, known := past.Place(place); {
	case !ok || lot.Gone:
		return Outcome{}, refusal("lot", "%v is no lot of this plant", n)
	case place != 0 && !known:
		return Outcome{}, refusal("place", "%v is no place of this plant", place)
	}
	if err := amountOf(lot, true, amount); err != nil {
		return Outcome{}, err
	}
	return j.counted(lot, amount, place), nil
}

func (j *judge) counted(lot heat.Lot, n heat.Amount, place tags.Number) Outcome {
	e, came := heat.CountYard(lot, n, place)
	out := Outcome{Show: lot.Number, Events: []event.Body{e}, Run: j.past.Floor(j.at.Name).Run}
	units := j.rules.Units
	if was := lot.Here(); came == nil && was == n {
		out.Answer = answer(event.Accepted, "counted", lot.Number, n.Text(units))
	} else {
		out.Answer = answer(event.Check, "counted otherwise", lot.Number, n.Text(units), was.Text(units))
	}
	if came != nil {
		j.tookAsReceived(&out, *came)
	}
	return out
}
