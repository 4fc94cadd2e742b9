package heat

import (
	"slices"
	"strconv"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Amount is how much there is of a lot: bars, or of coil its mass.
type Amount struct {
	Bars int
	Mass bar.Mass
}

func (a Amount) plus(b Amount) Amount  { return Amount{a.Bars + b.Bars, a.Mass + b.Mass} }
func (a Amount) minus(b Amount) Amount { return Amount{a.Bars - b.Bars, a.Mass - b.Mass} }

// floor leaves nothing below nothing.
func (a Amount) floor() Amount { return Amount{max(0, a.Bars), max(0, a.Mass)} }

// covers says whether a is no less than b.
func (a Amount) covers(b Amount) bool { return a.Bars >= b.Bars && a.Mass >= b.Mass }

// Text writes the bars, or the mass of coil.
func (a Amount) Text(u bar.Units) string {
	if a.Mass != 0 {
		return a.Mass.Text(u)
	}
	return strconv.Itoa(a.Bars)
}

// Here is what the record has of the lot on hand.
func (l Lot) Here() Amount {
	if l.Coil() {
		return Amount{Mass: max(0, l.MassOnHand())}
	}
	return Amount{Bars: max(0, l.OnHand())}
}

// Whole is what the paper says of the whole lot.
func (p *Paper) Whole() Amount { return Amount{p.Bars, p.Mass} }

// Came is what came of the lot.
func (l Lot) Came() Amount { return Amount{l.Received, l.Mass} }

// Coming says whether more of the lot is expected.
func (l Lot) Coming() bool { return l.Paper != nil && l.Paper.Open }

// Due is what the paper says that has not come; nothing of what came unannounced.
func (l Lot) Due() Amount {
	if l.Paper == nil {
		return Amount{}
	}
	return l.Paper.Whole().minus(l.Came()).floor()
}

// Overdue says whether more of the lot is expected and its day is before a day, yyyy-mm-dd.
func (l Lot) Overdue(day string) bool { return l.Coming() && l.Paper.Date != "" && l.Paper.Date < day }

// Short says whether less came than the paper says, and no more is expected or its day is past.
func (l Lot) Short(day string) bool {
	return l.Paper != nil && l.Due() != Amount{} && (!l.Paper.Open || l.Overdue(day))
}

// numbered is the mill's number of a bundle or coil, and what is in it; none where nobody counted.
type numbered struct {
	number string
	Amount
}

func numbers(bundles []event.MillBundle, coils []event.MillCoil) (out []numbered) {
	for _, b := range bundles {
		out = append(out, numbered{b.Number, Amount{Bars: b.Bars}})
	}
	for _, c := range coils {
		out = append(out, numbered{c.Number, Amount{Mass: c.Mass}})
	}
	return out
}

func find(all []numbered, number string) (numbered, bool) {
	i := slices.IndexFunc(all, func(n numbered) bool { return n.number == number })
	if i < 0 {
		return numbered{}, false
	}
	return all[i], true
}

// HasCome tells whether a mill's bundle or coil number came in this lot.
func (l Lot) HasCome(number string) bool {
	_, ok := find(numbers(l.Bundles, l.Coils), number)
	return ok
}

// Announced tells whether a mill's bundle or coil number stands on the lot's paper.
func (l Lot) Announced(number string) bool {
	if l.Paper == nil {
		return false
	}
	_, ok := find(numbers(l.Paper.Bundles, l.Paper.Coils), number)
	return ok
}

// Expect checks a lot that a mill's paper says is coming. The number is given by the caller.
func Expect(past Yard, e event.LotExpected) (event.LotExpected, error) {
	if e.Date != "" {
		if _, err := time.Parse(time.DateOnly, e.Date); err != nil {
			return e, refuse("date", "%q is no day; write it as 2026-11-30, or leave it out", e.Date)
		}
	}
	if _, err := CleanMill(e.Mill); err != nil {
		return e, err
	}
	// What is asked of steel that comes in is asked of its paper.
	if e.Length == 0 && e.Bars == 0 {
		r, err := ReceiveCoil(past, event.CoilReceived{
			Mill: e.Mill, Heats: e.Heats, Steel: e.Steel, Mass: e.Mass, Coils: e.Coils, Melted: e.Melted, Rolled: e.Rolled, PO: e.PO,
		})
		e.Mill, e.Heats, e.Coils, e.Melted, e.Rolled, e.PO = r.Mill, r.Heats, r.Coils, r.Melted, r.Rolled, r.PO
		return e, err
	}
	r, err := Receive(past, event.LotReceived{
		Mill: e.Mill, Heats: e.Heats, Steel: e.Steel, Length: e.Length, Bars: e.Bars, Bundles: e.Bundles, Melted: e.Melted, Rolled: e.Rolled, PO: e.PO,
	})
	e.Mill, e.Heats, e.Bundles, e.Melted, e.Rolled, e.PO = r.Mill, r.Heats, r.Bundles, r.Melted, r.Rolled, r.PO
	return e, err
}

// Arrival is what came of an expected lot, as somebody says it.
type Arrival struct {
	Number  string // the mill's number of the bundle or coil that came; "": all that is still to come
	Counted bool   // Amount was counted or weighed; else it is what the paper says
	Amount
	Last  bool // no more will come, whatever the paper says
	Place tags.Number
	Note  string
}

// Arrived is what an arrival comes to beside its event.
type Arrived struct {
	Already   bool   // this bundle came before: nothing is to be recorded
	Paper     Amount // what the paper says of it
	Differs   bool   // it was counted otherwise
	Unlisted  bool   // the paper has bundles, and not this one
	Uncounted bool   // neither the paper nor anybody says how much it is
	Beyond    bool   // more has come in all than the paper says
}

// Confirm makes the event of an arrival. It refuses nothing: the steel lies there.
func Confirm(l Lot, a Arrival) (event.LotConfirmed, Arrived) {
	var out Arrived
	listed, came := numbers(l.Paper.Bundles, l.Paper.Coils), numbers(l.Bundles, l.Coils)
	missing := slices.DeleteFunc(slices.Clone(listed), func(n numbered) bool { _, here := find(came, n.number); return here })
	due := l.Due()
	got, with := Amount{}, []numbered(nil)
	switch one, on := find(missing, a.Number); {
	case a.Number == "":
		out.Paper = due
		if !a.Counted || a.Amount.covers(due) {
			with = missing
		}
	case l.HasCome(a.Number):
		out.Already = true
		return event.LotConfirmed{}, out
	case on && one.Amount != Amount{}:
		out.Paper, with = one.Amount, []numbered{one}
	case on && len(missing) == 1 || len(listed) == 0:
		out.Paper, with = due, []numbered{{a.Number, due}}
	default:
		out.Unlisted, out.Uncounted = !on, !a.Counted
		with = []numbered{{number: a.Number}}
	}
	if got = out.Paper; a.Counted {
		got = a.Amount
		// Where the paper names no bundles, one of them is no more than a part.
		part := a.Number != "" && len(listed) == 0 && due.covers(got)
		out.Differs = got != out.Paper && !out.Unlisted && out.Paper != Amount{} && !part
		if a.Number != "" {
			with[0].Amount = got
		}
	}
	all := l.Came().plus(got)
	whole := l.Paper.Whole()
	out.Beyond = all.minus(whole).floor() != Amount{}
	e := event.LotConfirmed{Lot: l.Number, Bars: got.Bars, Mass: got.Mass, Place: a.Place, Note: a.Note}
	for _, n := range with {
		if l.Coil() {
			e.Coils = append(e.Coils, event.MillCoil{Number: n.number, Mass: n.Mass})
		} else {
			e.Bundles = append(e.Bundles, event.MillBundle{Number: n.number, Bars: n.Bars})
		}
	}
	left := len(slices.DeleteFunc(missing, func(n numbered) bool { _, now := find(with, n.number); return now }))
	e.Last = a.Last || left == 0 && (len(listed) > 0 || all.covers(whole))
	return e, out
}

// With is the lot after a confirmation.
func (l Lot) With(e event.LotConfirmed) Lot {
	l.Received, l.Mass = l.Received+e.Bars, l.Mass+e.Mass
	l.Bundles = append(slices.Clip(l.Bundles), e.Bundles...)
	l.Coils = append(slices.Clip(l.Coils), e.Coils...)
	if l.Paper != nil && e.Last {
		paper := *l.Paper
		paper.Open = false
		l.Paper = &paper
	}
	if e.Place != 0 {
		l.Place = e.Place
	}
	return l
}

// CountYard makes the events of a count of what lies there of a lot. What is counted beyond the record of
// a lot of which more is expected has come: as much of it as the paper has is confirmed, and the rest is
// a difference.
func CountYard(l Lot, n Amount, place tags.Number) (e event.YardCounted, came *event.LotConfirmed) {
	here := l.Here()
	if more := n.minus(here).floor(); l.Coming() && more != (Amount{}) {
		due := l.Due()
		if more = (Amount{min(more.Bars, due.Bars), min(more.Mass, due.Mass)}); more != (Amount{}) {
			c, _ := Confirm(l, Arrival{Counted: true, Amount: more})
			came, here = &c, here.plus(more)
		}
	}
	return event.YardCounted{Lot: l.Number, Bars: n.Bars, Record: here.Bars, Mass: n.Mass, RecordMass: here.Mass, Place: place}, came
}
