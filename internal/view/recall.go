package view

import (
	"cmp"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Haste is where something is, in the order in which a recall must reach it.
type Haste uint8

// The hastes, the most urgent first.
const (
	Here     Haste = iota // on a truck that is here: it can still be stopped
	Left                  // left the plant: the site must be called
	Standing              // all its steps are done; it may be loaded next
	AtWork                // a step of it is started
	Lying                 // lies between its steps, or on a feed: it may be worked on next
	InStock               // a lot or remnant on hand, on no feed
	NoMore                // voided, lost, or tied into others: nothing of it is left under its number
)

// hastes are the words of the hastes, in their order: for programs, in English, in Spanish.
var hastes = [...][3]string{
	{"here", "On a truck that is here", "En un camión que está aquí"},
	{"left", "Left the plant", "Salió de la planta"},
	{"ready", "Ready, not loaded", "Listo, sin cargar"},
	{"at work", "At work now", "En trabajo ahora"},
	{"lying", "Waiting between steps, or on a feed", "En espera entre pasos, o en un alimentador"},
	{"stock", "Stock and remnants", "Material y sobrantes"},
	{"none left", "Voided, lost or tied into others", "Anulado, perdido o amarrado en otros"},
}

// String is the word for programs.
func (h Haste) String() string { return hastes[min(h, NoMore)][0] }

// Title is the haste in words, in English and Spanish.
func (h Haste) Title() (english, spanish string) {
	w := hastes[min(h, NoMore)]
	return w[1], w[2]
}

// Unsaid is what no record can tell, in English and Spanish: it stands under every recall.
var Unsaid = [...][2]string{
	{"Who has called the sites, and whether they heard, is not known here: write it down.", "Aquí no se sabe quién llamó a las obras ni si se enteraron: anótelo."},
	{"Of which heat a single piece is, is not known where several heats could be drawn: all such bundles stand here.", "No se sabe de qué colada es cada pieza cuando pudo salir de varias: todos esos atados están aquí."},
	{"Where steel went that nobody scanned is not known.", "No se sabe adónde fue el acero que nadie escaneó."},
}

// Recall is everything downstream of a heat, lot, cert or mill, and where it is now.
type Recall struct {
	Asked                  string
	Found                  []string   // what the question was understood as
	Heats                  []heat.Key // in question
	Bundles                []RecalledBundle
	Lots                   []RecalledLot
	Groups                 []Group // by haste, then certainty; those with something in them
	Calls                  []Call  // those that are here, and the loads that left, newest first, by job and stop
	Certs                  []heat.Cert
	Holds                  []heat.Hold
	Checks, Open, Disputes int // as of a Trace

	Through uint64 // sequence of the newest record that the answer knows
}

// RecalledBundle is a bundle of a recall. Sure is how sure it is that the bundle is of what was asked for.
type RecalledBundle struct {
	TracedBundle
	Haste Haste
	Sure  heat.Certainty
}

// RecalledLot is a lot of which something is on hand.
type RecalledLot struct {
	TracedLot
	Haste Haste
	Sure  heat.Certainty
}

// Group sums up what is equally urgent and equally sure.
type Group struct {
	Haste   Haste
	Sure    heat.Certainty
	Bundles int
	Pieces  int
	Mass    bar.Mass // of the bundles
	Lots    int
	Bars    int
	Stock   bar.Mass // of the lots
	Loads   []tags.Number
	Jobs    []string
}

// Call is a stop that a load goes to with bundles of a job, and what of them is in question.
type Call struct {
	Load    tags.Number
	Truck   string
	Left    int64 // Unix ms; 0: it is here
	Stop    int   // of the load, from 1; 0: none of its stops is for the job
	Job     event.JobSet
	ShipTo  []string // who has it there, where that is not the job's site, and the address
	Contact string
	Bundles int
	Pieces  int
	Mass    bar.Mass
}

// Recall finds what may be of a heat ("123", "MILL 123"), of a lot (its number, or a mill's number of it), of
// a cert (its text: the heats and sizes on it) or of a mill (its name), and of a bundle or load by number.
// A text that is several things is recalled as all of them. With nothing found, Found is empty.
func (p *Past) Recall(text string) Recall {
	r := p.recalling(text)
	r.ask(text)
	return r.done()
}

// RecallOf finds what a hold on a target touches.
func (p *Past) RecallOf(t event.Target) Recall {
	r := p.recalling(heat.What(t))
	if t.Number.Kind() == tags.Bundle {
		r.found(heat.What(t))
		if b, ok := p.Bundle(t.Number); ok { // not what was parted from it
			r.bundles[t.Number] = true
			r.add(b)
		}
	} else if t.Number != 0 {
		r.number(t.Number)
	} else {
		r.heat(heat.Key{Mill: t.Mill, Heat: t.Heat})
	}
	return r.done()
}

func (p *Past) recalling(text string) *recalling {
	return &recalling{
		tracing: p.tracing(text), heats: map[heat.Key][]bar.Size{}, lots: map[tags.Number]bool{}, bundles: map[tags.Number]bool{},
	}
}

// recalling is a tracing forward, with what was asked for.
type recalling struct {
	tracing
	heats   map[heat.Key][]bar.Size // no sizes: all
	lots    map[tags.Number]bool
	bundles map[tags.Number]bool // asked for by their numbers
	mill    string
}

func (r *recalling) ask(text string) {
	text, ok := question(text)
	if !ok {
		return
	}
	read, _ := tags.Read(text)
	numbers := []tags.Number{read.Number}
	if n, ok := r.p.Alias(read.Text); ok {
		r.found("alias of " + n.String())
		numbers = append(numbers, n)
	}
	for _, n := range numbers {
		if n != 0 && r.p.Known(n) {
			r.number(n)
		}
	}
	if m := read.Mill; m != nil && m.Heat != "" && len(numbers) == 1 {
		r.named(m.Heat)
	}
	r.named(text)
	for _, k := range millHeats(text) {
		r.heat(k)
	}
	r.cert(text)
	r.ofMill(text)
}

func (r *recalling) number(n tags.Number) {
	switch n.Kind() {
	case tags.Stock:
		r.found("lot " + n.String())
		r.lots[n] = true
		for _, l := range heat.Ancestors(r.p, []tags.Number{n}) {
			for _, h := range l.Heats {
				r.key(heat.Key{Mill: l.Mill, Heat: h})
			}
		}
		r.forward(n)
	case tags.Bundle:
		r.found("bundle " + n.String())
		r.own(n)
	case tags.Load:
		r.found("load " + n.String())
		r.load(n)
		r.p.Loaded(n, func(b tags.Number) bool { r.own(b); return true })
	}
}

// own adds a bundle that is asked for itself.
func (r *recalling) own(n tags.Number) {
	r.bundles[n] = true
	if b, ok := r.p.Bundle(n); ok {
		r.add(b)
		r.parts(n, 0)
	}
}

func (r *recalling) named(name string) {
	for _, k := range r.p.HeatsNamed(name) {
		r.heat(k)
	}
}

// heat adds all of a heat that there is a lot or cert of.
func (r *recalling) heat(k heat.Key) {
	if k.Heat == "" || !r.p.KnownTarget(event.Target{Mill: k.Mill, Heat: k.Heat}) {
		return
	}
	r.found("heat " + k.String())
	r.sized(k)
}

// sized adds what is of a heat, of some sizes or all.
func (r *recalling) sized(k heat.Key, sizes ...bar.Size) {
	if had, ok := r.heats[k]; ok && (had == nil || sizes == nil) {
		sizes = nil
	} else {
		sizes = append(sizes, had...)
	}
	r.heats[k] = sizes
	r.key(k)
	for _, n := range r.p.LotsOfHeat(k) {
		if l, _ := r.p.Lot(n); sizes == nil || slices.Contains(sizes, l.Steel.Size) {
			r.forward(n)
		}
	}
}

// asksFor says whether a heat of a lot is in question, in its size.
func (r *recalling) asksFor(l heat.Lot, name string) bool {
	sizes, ok := r.heats[heat.Key{Mill: l.Mill, Heat: name}]
	return ok && (sizes == nil || slices.Contains(sizes, l.Steel.Size))
}

// cert adds the heats and sizes that stand on the certs of a text.
func (r *recalling) cert(text string) {
	for _, k := range r.p.CertsNamed(text) {
		r.found("cert " + text)
		for _, c := range r.p.Certs(k) {
			if c.Filed.Text == text {
				r.sized(k, c.Filed.Sizes...)
			}
		}
	}
}

// ofMill adds all heats of a mill.
func (r *recalling) ofMill(mill string) {
	for _, k := range r.p.heatsOfMill(mill) {
		r.found("mill " + mill)
		r.mill = mill
		r.sized(k)
	}
}

// heatsOfMill are the heats of which a lot of a mill came in, in order.
func (p *Past) heatsOfMill(mill string) (out []heat.Key) {
	p.prefix(tHeat, textKey(mill), func(rest, _ []byte) bool {
		name, _, _ := strings.Cut(string(rest), "\x00")
		if n := len(out); n == 0 || out[n-1].Heat != name {
			out = append(out, heat.Key{Mill: mill, Heat: name})
		}
		return true
	})
	return out
}

// done orders and sums up what was found.
func (r *recalling) done() Recall {
	r.finish()
	out := Recall{Asked: r.Asked, Found: r.Found, Heats: r.keys, Certs: r.Certs, Holds: r.Holds, Checks: r.Checks, Open: r.Open, Disputes: r.Disputes, Through: r.p.Head()}
	sure := sureness{r: r}
	loads := map[tags.Number]load.Load{}
	for _, n := range r.Loads {
		loads[n], _ = r.p.Load(n)
	}
	out.Bundles = slices.Grow(out.Bundles, len(r.Trace.Bundles))
	for _, b := range r.Trace.Bundles {
		out.Bundles = append(out.Bundles, RecalledBundle{b, hasteOf(b.Bundle, b.Line), sure.bundle(b)})
	}
	slices.SortStableFunc(out.Bundles, func(a, b RecalledBundle) int {
		left := 0
		if a.Haste == Left {
			left = cmp.Compare(loads[b.Load].Shipped, loads[a.Load].Shipped)
		}
		return cmp.Or(cmp.Compare(a.Haste, b.Haste), left, cmp.Compare(b.Load, a.Load))
	})
	for _, l := range r.Trace.Lots {
		if !l.Gone && l.Any() {
			at := InStock
			if l.Feed != "" {
				at = Lying
			}
			out.Lots = append(out.Lots, RecalledLot{l, at, sure.lot(l.Number)})
		}
	}
	slices.SortStableFunc(out.Lots, func(a, b RecalledLot) int { return cmp.Compare(a.Haste, b.Haste) })
	out.sum()
	gone := make([]TracedBundle, 0, len(out.Bundles))
	for _, b := range out.Bundles {
		if b.Haste == Here || b.Haste == Left {
			gone = append(gone, b.TracedBundle)
		}
	}
	out.Calls = r.p.Calls(gone)
	return out
}

// hasteOf is where a bundle is.
func hasteOf(b scan.Bundle, l *scan.Line) Haste {
	switch {
	case b.Voided:
		return NoMore
	case b.Shipped:
		return Left
	case b.Load != 0:
		return Here
	case b.Started:
		return AtWork
	case b.Next(l) == "" || b.Staged() != 0: // what goes to a processor has steps left
		return Standing
	}
	return Lying
}

var certainties = []heat.Certainty{heat.Certain, heat.OneOf, heat.Declared, heat.Unknown}

func (r *Recall) sum() {
	group := func(h Haste, c heat.Certainty) *Group {
		i, ok := slices.BinarySearchFunc(r.Groups, Group{Haste: h, Sure: c}, func(a, b Group) int {
			return cmp.Or(cmp.Compare(a.Haste, b.Haste), cmp.Compare(slices.Index(certainties, a.Sure), slices.Index(certainties, b.Sure)))
		})
		if !ok {
			r.Groups = slices.Insert(r.Groups, i, Group{Haste: h, Sure: c})
		}
		return &r.Groups[i]
	}
	for _, b := range r.Bundles {
		g := group(b.Haste, b.Sure)
		g.Bundles++
		g.Pieces += b.Pieces
		g.Mass += b.Mass
		if b.Load != 0 && !slices.Contains(g.Loads, b.Load) {
			g.Loads = append(g.Loads, b.Load)
		}
		if !slices.Contains(g.Jobs, b.Line.Job) {
			g.Jobs = append(g.Jobs, b.Line.Job)
		}
	}
	for _, l := range r.Lots {
		g := group(l.Haste, l.Sure)
		g.Lots++
		g.Stock += l.Mass
		if !l.Coil() {
			g.Bars += l.OnHand()
		}
	}
	for i := range r.Groups {
		slices.Sort(r.Groups[i].Jobs)
	}
}

// Calls tells where the loads go that bundles are on or left on, and whom to call there, by load, job and
// stop in the order of the bundles.
func (p *Past) Calls(bundles []TracedBundle) (out []Call) {
	type site struct {
		load tags.Number
		job  string
		stop int
	}
	at := map[site]int{}
	loads := map[tags.Number]load.Load{}
	for _, b := range bundles {
		if b.Load == 0 {
			continue
		}
		l, ok := loads[b.Load]
		if !ok {
			l, _ = p.Load(b.Load)
			loads[b.Load] = l
		}
		s := site{b.Load, b.Line.Job, p.StopOf(l, b.Bundle)}
		i, ok := at[s]
		if !ok {
			i = len(out)
			at[s] = i
			out = append(out, p.call(l, s.job, s.stop))
		}
		c := &out[i]
		c.Bundles++
		c.Pieces += b.Pieces
		c.Mass += b.Mass
	}
	return out
}

// call is the site of a job at a stop, from 0, of a load; less than 0 is none of its stops.
func (p *Past) call(l load.Load, name string, stop int) Call {
	job, _ := p.Job(name)
	job.Job = name
	c := Call{Load: l.Number, Truck: l.Truck, Left: l.Shipped, Stop: stop + 1, Job: job, ShipTo: job.ShipTo}
	if stop < 0 {
		c.Stop = 0
		return c
	}
	s := l.Stops[stop]
	switch c.Contact = s.Contact; {
	case s.Processor != "":
		c.ShipTo = append([]string{s.Processor}, s.ShipTo...)
	case len(s.ShipTo) > 0:
		c.ShipTo = s.ShipTo
	}
	return c
}

// sureness works out how sure things are of what was asked for. A text that is several things is asked for
// as all of them together.
type sureness struct {
	r    *recalling
	lots []tags.Number // those that were worked out last
	last heat.Certainty
}

func (s *sureness) bundle(b TracedBundle) heat.Certainty {
	if s.r.bundles[b.Number] {
		return heat.Certain // it was asked for itself
	}
	out := heat.Certain
	for _, seq := range b.Runs {
		run, _ := s.r.p.Run(seq)
		if s.lots == nil || !slices.Equal(run.Lots, s.lots) {
			s.lots, s.last = slices.Concat([]tags.Number{}, run.Lots), s.of(run.Lots)
		}
		if out = worse(out, s.last); run.Missing > 0 || run.Lacking > 0 {
			out = heat.Unknown
		}
	}
	return out
}

func (s *sureness) lot(n tags.Number) heat.Certainty { return s.of([]tags.Number{n}) }

// of walks from lots to those that were asked for, or to where the steel came in.
func (s *sureness) of(lots []tags.Number) heat.Certainty {
	var all, other, declared bool
	unknown := len(lots) == 0
	todo := slices.Clone(lots)
	for i := 0; i < len(todo); i++ {
		if slices.Contains(todo[:i], todo[i]) {
			continue
		}
		l, ok := s.r.p.Lot(todo[i])
		switch {
		case s.r.lots[todo[i]]:
			all = true
		case !ok:
			unknown = true
		case l.Remnant() && len(l.Parents) > 0:
			unknown = unknown || l.Lacking
			todo = append(todo, l.Parents...)
		case len(l.Heats) == 0:
			unknown = unknown || l.Mill == "" || l.Mill != s.r.mill
		default:
			declared = declared || l.Declared
			for _, h := range l.Heats {
				if s.r.asksFor(l, h) {
					all = true
				} else {
					other = true
				}
			}
		}
	}
	switch {
	case unknown:
		return heat.Unknown
	case declared:
		return heat.Declared
	case other || !all:
		return heat.OneOf
	}
	return heat.Certain
}

// worse is the less sure of two certainties.
func worse(a, b heat.Certainty) heat.Certainty {
	return certainties[max(slices.Index(certainties, a), slices.Index(certainties, b))]
}
