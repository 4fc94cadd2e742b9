package heat

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// The account of a heat, a lot or the whole yard says where all of its metal is, to the nanometre of bar and
// the microgram of coil. Two laws hold, of every lot and of every run that closed:
//
//	received + count differences = on hand + drawn
//	drawn + missing              = pieces + remnants + scrap
//
// Added up over lots and runs, what was drawn and what was left over cancel out:
//
//	received + count differences + missing = on hand + pieces + scrap + drawn together with others
//
// where a lot is of the account when it is one that was asked for, or left over from a run of the account;
// and a run is, when every lot that it may have drawn from is, and none of its metal is missing. Of a run
// that may have drawn from others too, only the bars that the record says it drew are counted, as drawn
// together with others; which of its pieces they are in nobody knows, so those stand apart, as what may be of
// the heat, and are in no sum. Of the whole yard every lot and run is of the account.
//
// Pieces are counted where they are by their bundles: of a family of bundles that share pieces (split off,
// merged), what was made for them all, parted by what each of them has.

// Books is what an account reads.
type Books interface {
	Lot(tags.Number) (Lot, bool)
	// Worked is a run by its sequence.
	Worked(run uint64) (Worked, bool)
}

// Worked is what a run drew and made. Of one that is open only Lots and Made are known.
type Worked struct {
	Run       uint64
	Size      bar.Size
	Lots      []tags.Number // that it may have drawn from
	Closed    bool
	Draws     []event.Draw
	Scrap     bar.Length
	Missing   bar.Length
	Coils     []event.MassDraw
	CoilScrap bar.Mass
	Lacks     bar.Mass // coil that is missing
	Made      []Made
}

// Made is pieces that a run made, or of an open one has made so far.
type Made struct {
	Bundle tags.Number
	Pieces int
	Length bar.Length // of a piece
}

// coil is the mass of the pieces of a run from coil: rounded once, when it closed.
func (w Worked) coil() bar.Mass {
	m := w.Lacks - w.CoilScrap
	for _, d := range w.Coils {
		m += d.Mass
	}
	return m
}

// Tied is a bundle as an account counts it.
type Tied struct {
	Number tags.Number
	Job    string // that it is for
	State  string // in a word or two: "ready", "waits for bend"
	Pieces int
	Lost   int
	Length bar.Length // of a piece
	Runs   []uint64   // that made its pieces, or those of the bundles that it shares pieces with
}

// Share is how much of a lot is asked for.
type Share int

// The shares: none of it; it may be; all of it.
const (
	None Share = iota
	Part
	Whole
)

// Row is one line of an account. Of coil Length is 0.
type Row struct {
	What   string
	Count  int // bars or pieces
	Length bar.Length
	Mass   bar.Mass // of bars by table, of coil as recorded
}

// The rows that every account can have; those of pieces are named by the states of their bundles.
const (
	Received  = "received"
	DrawnOver = "drawn beyond the record"
	YardCount = "found by counting"
	Lacked    = "missing when made"
	OnFeeds   = "on feeds"
	OnHand    = "on hand"
	Remnants  = "remnants on hand"
	Scrapped  = "scrap"
	LostCount = "lost pieces"
	Shared    = "drawn together with others"
	TiedAmong = "tied among others"
)

// Balance is what came in and where it is.
type Balance struct {
	In, Out []Row
	// Over is In less Out: of bars in nanometres, of coil in micrograms. It is 0, or the record is broken.
	Over int64
}

// Account is where all metal of something is.
type Account struct {
	Bars Balance
	Coil Balance
	// Flows are the rows of pieces, bars and coil together, parted by the jobs that they are for.
	Flows []Flow
	// Working is what open runs have cut so far: their bars are drawn when they close, and still count as on
	// hand.
	Working []Row
	// MayBe is what may be of it, and may be of others: in no sum, and never more than that.
	MayBe []Row
	// Least is what the bars received may weigh at the least by their standard (ASTM A615/A615M and
	// A706/A706M: 94 % of the nominal mass; EN 10080: see bar.LeastMass), and Nominal what they weigh by
	// table, of those sizes of which a tolerance is known.
	Nominal, Least bar.Mass
}

// tally adds up rows by what they are, and their lengths by size.
type tally struct {
	rows  map[string]*Row
	sizes map[string]map[bar.Size]bar.Length
	order []string
}

func (s *tally) add(what string, size bar.Size, count int, length bar.Length, mass bar.Mass) {
	if count == 0 && length == 0 && mass == 0 {
		return
	}
	if s.rows == nil {
		s.rows, s.sizes = map[string]*Row{}, map[string]map[bar.Size]bar.Length{}
	}
	r := s.rows[what]
	if r == nil {
		r = &Row{What: what}
		s.rows[what], s.sizes[what] = r, map[bar.Size]bar.Length{}
		s.order = append(s.order, what)
	}
	r.Count += count
	r.Length += length
	r.Mass += mass
	s.sizes[what][size] += length
}

// all are the rows: those named first in their order, the others after them by name.
func (s *tally) all(first ...string) []Row {
	slices.SortFunc(s.order, func(a, b string) int {
		i, j := slices.Index(first, a), slices.Index(first, b)
		if i < 0 {
			i = len(first)
		}
		if j < 0 {
			j = len(first)
		}
		return cmp.Or(cmp.Compare(i, j), cmp.Compare(a, b))
	})
	var out []Row
	for _, what := range s.order {
		r := *s.rows[what]
		for size, length := range s.sizes[what] {
			m, _ := bar.Weigh(size, length) // sizes of lots and lines were checked
			r.Mass += m
		}
		out = append(out, r)
	}
	return out
}

// Reckoning makes an account. Every lot, run and family of bundles that may be of it is given once, in any
// order.
type Reckoning struct {
	books Books
	all   bool
	asked func(Lot) Share
	lots  map[tags.Number]bool
	runs  map[uint64]bool

	in, out, coilIn, coilOut, working, maybe, flows tally
	least, nominal                                  bar.Mass
}

// Reckon begins an account of the lots of which asked says so. A nil asked is of everything.
func Reckon(books Books, asked func(Lot) Share) *Reckoning {
	r := &Reckoning{books: books, asked: asked, lots: map[tags.Number]bool{}, runs: map[uint64]bool{}}
	if asked == nil {
		r.all, r.asked = true, func(l Lot) Share {
			if l.Remnant() {
				return None
			}
			return Whole
		}
	}
	return r
}

// of says whether a lot is of the account: asked for, or left over from a run that is. A lot that comes up
// again while that is worked out adds nothing to it.
func (r *Reckoning) of(n tags.Number) bool {
	if r.all {
		return true
	}
	if is, ok := r.lots[n]; ok {
		return is
	}
	r.lots[n] = true
	l, ok := r.books.Lot(n)
	is := ok && (r.asked(l) == Whole || l.Remnant() && !l.Lacking && r.made(l.Run))
	r.lots[n] = is
	return is
}

// made says whether a run is of the account.
func (r *Reckoning) made(run uint64) bool {
	if r.all {
		return true
	}
	if is, ok := r.runs[run]; ok {
		return is
	}
	r.runs[run] = true
	w, ok := r.books.Worked(run)
	is := ok && len(w.Lots) > 0 && w.Missing == 0 && w.Lacks == 0
	for _, n := range w.Lots {
		is = is && r.of(n)
	}
	for _, d := range w.Draws {
		is = is && r.of(d.Lot)
	}
	for _, d := range w.Coils {
		is = is && r.of(d.Lot)
	}
	r.runs[run] = is
	return is
}

// Lot counts a lot.
func (r *Reckoning) Lot(l Lot) {
	size := l.Steel.Size
	bars := func(n int) bar.Length { return l.Length * bar.Length(n) }
	switch {
	case l.Gone:
		return
	case !r.of(l.Number):
		if l.Any() {
			r.maybe.add(whereLies(l), size, max(0, l.OnHand()), bars(l.OnHand()), l.MassOnHand())
		}
		return
	case l.Coil():
		if r.asked(l) == Whole {
			r.coilIn.add(Received, "", 0, 0, l.Mass)
		}
		r.coilIn.add(DrawnOver, "", 0, 0, l.MassOver)
		r.coilIn.add(YardCount, "", 0, 0, l.CountedMass)
		r.coilOut.add(whereLies(l), "", 0, 0, l.MassOnHand())
		return
	}
	if r.asked(l) == Whole {
		r.in.add(Received, size, l.Received, bars(l.Received), 0)
		if least, err := bar.LeastMass(size, bars(l.Received)); err == nil {
			nominal, _ := bar.Weigh(size, bars(l.Received))
			r.least, r.nominal = r.least+least, r.nominal+nominal
		}
	}
	r.in.add(DrawnOver, size, l.Over, bars(l.Over), 0)
	r.in.add(YardCount, size, l.Counted, bars(l.Counted), 0)
	r.out.add(whereLies(l), size, l.OnHand(), bars(l.OnHand()), 0)
}

func whereLies(l Lot) string {
	switch {
	case l.Feed != "":
		return OnFeeds
	case l.Remnant():
		return Remnants
	}
	return OnHand
}

// Run counts a run.
func (r *Reckoning) Run(w Worked) {
	if !w.Closed {
		for _, m := range w.Made {
			if r.made(w.Run) {
				r.working.add("cut, run open", w.Size, m.Pieces, m.Length*bar.Length(m.Pieces), 0)
			} else {
				r.maybe.add("cut, run open", w.Size, m.Pieces, m.Length*bar.Length(m.Pieces), 0)
			}
		}
		return
	}
	if r.made(w.Run) {
		r.in.add(Lacked, w.Size, 0, w.Missing, 0)
		r.out.add(Scrapped, w.Size, 0, w.Scrap, 0)
		r.coilIn.add(Lacked, "", 0, 0, w.Lacks)
		r.coilOut.add(Scrapped, "", 0, 0, w.CoilScrap)
		return
	}
	for _, d := range w.Draws {
		if l, ok := r.books.Lot(d.Lot); ok && r.of(d.Lot) {
			r.out.add(Shared, l.Steel.Size, d.Bars, l.Length*bar.Length(d.Bars), 0)
		}
	}
	for _, d := range w.Coils {
		if r.of(d.Lot) {
			r.coilOut.add(Shared, "", 0, 0, d.Mass)
		}
	}
	r.maybe.add(Scrapped, w.Size, 0, w.Scrap, w.CoilScrap)
}

// Family counts bundles that share pieces: for most, one alone.
func (r *Reckoning) Family(bundles ...Tied) {
	if len(bundles) == 0 {
		return
	}
	var runs []uint64
	for _, b := range bundles {
		for _, seq := range b.Runs {
			if !slices.Contains(runs, seq) {
				runs = append(runs, seq)
			}
		}
	}
	var mine, coil amount
	others := false
	var size bar.Size
	for _, seq := range runs {
		w, ok := r.books.Worked(seq)
		if !ok || !w.Closed {
			continue
		}
		size = w.Size
		switch {
		case !r.made(seq):
			others = true
		case w.fromCoil():
			coil.add(w.madeFor(bundles))
		default:
			mine.add(w.madeFor(bundles))
		}
	}
	if others {
		r.lies(bundles[0].Job, TiedAmong, size, mine, coil)
		for _, b := range bundles {
			r.maybe.add(b.State, size, b.Pieces, b.Length*bar.Length(b.Pieces), 0)
		}
		return
	}
	r.part(size, mine, coil, bundles)
}

// lies counts pieces from bars and from coil for a job where they are.
func (r *Reckoning) lies(job, what string, size bar.Size, mine, coil amount) {
	r.out.add(what, size, mine.pieces, mine.length, 0)
	r.coilOut.add(what, "", coil.pieces, 0, coil.mass)
	r.flow(job, what, size, mine, coil)
}

// amount is pieces, and what they are.
type amount struct {
	pieces int
	length bar.Length // of those from bars
	mass   bar.Mass   // of those from coil
}

func (a *amount) add(b amount) {
	a.pieces, a.length, a.mass = a.pieces+b.pieces, a.length+b.length, a.mass+b.mass
}

// fromCoil says whether the run drew coil.
func (w Worked) fromCoil() bool { return len(w.Coils) > 0 || w.Lacks != 0 }

// madeFor is what a run made for some bundles. A run from coil makes one bundle.
func (w Worked) madeFor(bundles []Tied) (a amount) {
	for _, m := range w.Made {
		if slices.ContainsFunc(bundles, func(b Tied) bool { return b.Number == m.Bundle }) {
			a.pieces += m.Pieces
			if w.fromCoil() {
				a.mass += w.coil()
			} else {
				a.length += m.Length * bar.Length(m.Pieces)
			}
		}
	}
	return a
}

// part counts what was made for bundles where their pieces are. What was lost comes first, of pieces from bars
// before those from coil, and the last bundle takes what is left, so that nothing of it goes astray, whatever
// their counts say.
func (r *Reckoning) part(size bar.Size, mine, coil amount, bundles []Tied) {
	each := coil.mass / bar.Mass(max(1, coil.pieces))
	take := func(job, what string, pieces int, length bar.Length, last bool) {
		n := min(pieces, mine.pieces)
		a := amount{pieces: n, length: min(length*bar.Length(n), mine.length)}
		n = min(pieces-n, coil.pieces)
		c := amount{pieces: n, mass: min(each*bar.Mass(n), coil.mass)}
		if last {
			a, c = mine, coil
		}
		mine.pieces, mine.length = mine.pieces-a.pieces, mine.length-a.length
		coil.pieces, coil.mass = coil.pieces-c.pieces, coil.mass-c.mass
		r.lies(job, what, size, a, c)
	}
	for _, b := range bundles {
		take(b.Job, LostCount, b.Lost, b.Length, false)
	}
	have := slices.DeleteFunc(slices.Clone(bundles), func(b Tied) bool { return b.Pieces == 0 })
	if len(have) == 0 {
		take(bundles[0].Job, LostCount, 0, 0, true)
		return
	}
	for i, b := range have {
		take(b.Job, b.State, b.Pieces, b.Length, i == len(have)-1)
	}
}

// Account is the account of all that was given.
func (r *Reckoning) Account() Account {
	a := Account{
		Bars:  balance(r.in.all(Received, DrawnOver, YardCount, Lacked), r.out.all(OnFeeds, OnHand, Remnants), false),
		Coil:  balance(r.coilIn.all(Received, DrawnOver, YardCount, Lacked), r.coilOut.all(OnFeeds, OnHand), true),
		Flows: r.byJob(), Working: r.working.all(), MayBe: r.maybe.all(OnFeeds, OnHand, Remnants), Nominal: r.nominal, Least: r.least,
	}
	return a
}

func balance(in, out []Row, coil bool) Balance {
	b := Balance{In: in, Out: out}
	of := func(r Row) int64 {
		if coil {
			return int64(r.Mass)
		}
		return int64(r.Length)
	}
	for _, r := range in {
		b.Over += of(r)
	}
	for _, r := range out {
		b.Over -= of(r)
	}
	return b
}
