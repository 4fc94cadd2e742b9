package export

import (
	"cmp"
	"encoding/csv"
	"io"
	"maps"
	"slices"
	"strconv"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Edges is the record as a graph, for programs of others: what a heat, lot, run or bundle went into.
// Everything downstream of a thing is what can be reached from it. In SQLite, with the table imported as
// "edges":
//
//	WITH RECURSIVE down(kind, name) AS (
//	  VALUES('heat', 'Example Mill / 0123E5')
//	  UNION SELECT to_kind, to_name FROM edges JOIN down ON from_kind = kind AND from_name = name)
//	SELECT * FROM down;
//
// It is told from the events alone, one by one, with maps of its own: it shares nothing with the views that
// answer the same question, so that one can be held against the other. It needs memory for the whole record.
//
//	heat    its lots, by what is known now of their heats
//	lot     the runs that may have drawn from it, and the remnants that may be left of it
//	run     the bundles that have pieces of it: those that it made, and those tied from their pieces
//	bundle  the load that it is on or left on
type Edges struct {
	heats    map[tags.Number][]heat.Key // of lots
	runs     map[uint64]*edgeRun
	parents  map[tags.Number][]tags.Number // of remnants
	of       map[tags.Number][]uint64      // runs of bundles
	on       map[tags.Number]tags.Number   // loads of bundles
	progress map[uint64]event.Body         // what can be taken back
	before   uint64                        // the newest record
}

// edgeRun is a run: the lots that it may have drawn from, also before a person said so at its closing.
type edgeRun struct {
	may, wide []tags.Number
	said      bool
	closed    bool
}

// NewEdges begins a graph.
func NewEdges() *Edges {
	return &Edges{
		heats: map[tags.Number][]heat.Key{}, runs: map[uint64]*edgeRun{}, parents: map[tags.Number][]tags.Number{},
		of: map[tags.Number][]uint64{}, on: map[tags.Number]tags.Number{}, progress: map[uint64]event.Body{},
	}
}

func (g *Edges) keys(lot tags.Number, mill string, heats []string) {
	var keys []heat.Key
	for _, h := range heats {
		keys = append(keys, heat.Key{Mill: mill, Heat: h})
	}
	g.heats[lot] = keys
}

func (g *Edges) run(seq uint64) *edgeRun {
	r := g.runs[seq]
	if r == nil {
		r = &edgeRun{}
		g.runs[seq] = r
	}
	return r
}

func addTo[T comparable](to []T, more ...T) []T {
	for _, n := range more {
		if !slices.Contains(to, n) {
			to = append(slices.Clip(to), n)
		}
	}
	return to
}

// close closes a run: a person may have said fewer lots, and what is left over is of those.
func (g *Edges) close(seq uint64, lots []tags.Number, remnants []event.Remnant) {
	r := g.run(seq)
	r.closed, r.wide = true, r.may
	if len(lots) > 0 {
		r.may = lots
	}
	for _, m := range remnants {
		g.parents[m.Lot] = r.may
	}
}

func (g *Edges) closeBy(seq uint64, c *event.RunClosed) {
	if c != nil {
		g.close(seq, c.Lots, c.Remnants)
	}
}

// reopen takes a closing back, and adds lots that lie there by now. What it left over is gone, and stays known
// as of its parents, as a lot that a paper declared stays known as of its heats: a run may name it.
func (g *Edges) reopen(seq uint64, lots []tags.Number) {
	r := g.run(seq)
	if r.closed {
		r.closed, r.may = false, r.wide
	}
	r.may = addTo(r.may, lots...)
}

// Add tells the next event of the record, from the first one on.
func (g *Edges) Add(seq uint64, e event.Event) {
	switch b := e.Body.(type) {
	case event.LotReceived:
		g.keys(b.Lot, b.Mill, b.Heats)
	case event.CoilReceived:
		g.keys(b.Lot, b.Mill, b.Heats)
	case event.LotExpected:
		g.keys(b.Lot, b.Mill, b.Heats)
	case event.LotHeatSet:
		g.keys(b.Lot, b.Mill, b.Heats)
	case event.FeedCharged:
		if r := g.run(b.Run); b.Run != 0 && !r.said {
			r.may = addTo(r.may, b.Lot)
		}
	case event.ChargeMended:
		for _, m := range b.Runs {
			r := g.run(m.Run)
			if r.may = m.Lots; m.Closed != nil {
				r.wide, r.may = m.Lots, m.Closed.Lots
				for _, left := range m.Closed.Remnants {
					g.parents[left.Lot] = r.may
				}
			}
		}
	case event.Loaded:
		g.on[b.Bundle] = b.Load
		g.progress[seq] = b
	case event.Unloaded:
		delete(g.on, b.Bundle)
	case event.BundleReturned:
		if b.Part == 0 {
			delete(g.on, b.Bundle)
		} else {
			g.of[b.Part] = g.of[b.Bundle]
		}
	case event.BundlesBack:
		for _, n := range b.From {
			delete(g.on, n)
			for _, into := range b.Into {
				g.of[into.Number] = addTo(g.of[into.Number], g.of[n]...)
			}
		}
	default:
		g.work(seq, e.Body)
	}
	g.before = seq
}

// work tells of runs, and of bundles that are parted and tied.
func (g *Edges) work(seq uint64, body event.Body) {
	switch b := body.(type) {
	case event.RunOpened:
		r := g.run(seq)
		r.may, r.said = b.Lots, b.Said
		g.join(b.Bundle, seq)
	case event.RunJoined:
		r := g.run(b.Run)
		r.may = addTo(r.may, b.Lots...)
		g.join(b.Bundle, b.Run)
	case event.CutDone:
		b.Run = cmp.Or(b.Run, g.before)
		g.run(b.Run).may = addTo(g.run(b.Run).may, b.Lots...)
		g.closeBy(b.Run, b.Closed)
		body = b
	case event.CoilCut:
		b.Run = cmp.Or(b.Run, g.before)
		g.close(b.Run, b.Closed.Lots, nil)
		body = b
	case event.PartDone:
		if opened, ok := g.progress[g.before].(event.RunOpened); b.Run == 0 && ok && opened.Bundle == b.Bundle {
			b.Run = g.before
		}
		body = b
		if b.Run == 0 { // of a step that draws nothing
			break
		}
		g.run(b.Run).may = addTo(g.run(b.Run).may, b.Lots...)
		g.closeBy(b.Run, b.Closed)
		if b.Coil != nil {
			g.close(b.Run, b.Coil.Lots, nil)
		}
	case event.BundleAssigned:
		g.join(b.Bundle, seq)
		g.closeBy(seq, &b.Closed)
	case event.HeatsDeclared:
		g.keys(b.Lot, b.Mill, b.Heats)
		g.join(b.Bundle, seq)
		g.close(seq, []tags.Number{b.Lot}, nil)
	case event.BundleSplit:
		for _, p := range b.Into {
			g.of[p.Number] = g.of[b.Bundle]
		}
	case event.BundlesMerged:
		for _, n := range b.From {
			g.of[b.Into] = append(slices.Clip(g.of[b.Into]), g.of[n]...)
		}
	case event.Undone:
		g.undo(b)
		return
	default:
		return
	}
	g.progress[seq] = body
}

// join puts a bundle into a run, and leave takes it out: one that was made there before stays in it.
func (g *Edges) join(n tags.Number, run uint64) { g.of[n] = append(slices.Clip(g.of[n]), run) }

func (g *Edges) leave(n tags.Number, run uint64) {
	runs := slices.Clone(g.of[n])
	for i := len(runs) - 1; i >= 0; i-- {
		if runs[i] == run {
			g.of[n] = slices.Delete(runs, i, i+1)
			return
		}
	}
}

// undo takes back the newest progress of a bundle.
func (g *Edges) undo(u event.Undone) {
	leave := func(run uint64) {
		g.leave(u.Bundle, run)
		g.closeBy(run, u.Closed)
	}
	switch b := g.progress[u.Seq].(type) {
	case event.RunOpened:
		leave(u.Seq)
	case event.RunJoined:
		leave(b.Run)
	case event.CutDone:
		g.reopen(b.Run, u.Lots)
	case event.CoilCut:
		g.reopen(b.Run, u.Lots)
	case event.PartDone:
		if b.Run != 0 {
			g.reopen(b.Run, u.Lots)
		}
	case event.BundleAssigned:
		g.leave(u.Bundle, u.Seq)
	case event.HeatsDeclared:
		g.leave(u.Bundle, u.Seq)
	case event.BundleSplit:
		for _, p := range b.Into {
			delete(g.of, p.Number)
		}
	case event.BundlesMerged:
		n := len(g.of[b.Into])
		for _, from := range b.From {
			n -= len(g.of[from])
		}
		g.of[b.Into] = g.of[b.Into][:n]
	case event.Loaded:
		delete(g.on, u.Bundle)
	}
}

// Edge is one arrow of the graph. A heat is named "MILL / HEAT", a run by the sequence of its opening.
type Edge struct {
	FromKind, From string
	ToKind, To     string
}

// All calls f for each edge, in order.
func (g *Edges) All(f func(Edge) error) error {
	var err error
	give := func(fromKind, from, toKind, to string) {
		if err == nil {
			err = f(Edge{fromKind, from, toKind, to})
		}
	}
	for _, n := range slices.Sorted(maps.Keys(g.heats)) {
		for _, k := range g.heats[n] {
			give("heat", k.Mill+" / "+k.Heat, "lot", n.String())
		}
	}
	for _, n := range slices.Sorted(maps.Keys(g.parents)) {
		for _, p := range g.parents[n] {
			give("lot", p.String(), "lot", n.String())
		}
	}
	for _, seq := range slices.Sorted(maps.Keys(g.runs)) {
		for _, n := range g.runs[seq].may {
			give("lot", n.String(), "run", strconv.FormatUint(seq, 10))
		}
	}
	for _, n := range slices.Sorted(maps.Keys(g.of)) {
		for _, seq := range addTo(nil, g.of[n]...) {
			give("run", strconv.FormatUint(seq, 10), "bundle", n.String())
		}
	}
	for _, n := range slices.Sorted(maps.Keys(g.on)) {
		give("bundle", n.String(), "load", g.on[n].String())
	}
	return err
}

// CSV writes the graph as a table (RFC 4180) with the columns from_kind, from_name, to_kind, to_name.
func (g *Edges) CSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	if err := out.Write([]string{"from_kind", "from_name", "to_kind", "to_name"}); err != nil {
		return err
	}
	if err := g.All(func(e Edge) error {
		return out.Write([]string{e.FromKind, Cell(e.From), e.ToKind, Cell(e.To)})
	}); err != nil {
		return err
	}
	out.Flush()
	return out.Error()
}
