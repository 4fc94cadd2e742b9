package view

import (
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Trace answers where steel went and where it came from. Whatever was asked for, it holds every
// bundle, lot and load that belongs to the answer, each once.
type Trace struct {
	Asked   string
	Found   []string // what the question was understood as: "heat MILL 123", "bundle 1-001-..."
	Bundles []TracedBundle
	Lots    []TracedLot
	Loads   []tags.Number
	Jobs    []string
	Certs   []heat.Cert
	Holds   []heat.Hold
	// Checks counts the answers about these bundles that wanted a person, Open those of them that nobody has
	// settled yet, and Disputes those of these that are disputed scans: deeds that may have been done. The
	// disputed scans of the lots and loads, and those that name one of the lots, are among all three until
	// they are settled.
	Checks, Open, Disputes int
}

// TracedBundle is a bundle of a trace.
type TracedBundle struct {
	scan.Bundle
	Line  *scan.Line
	Heats heat.Draw
	Drawn bool
	Mass  bar.Mass
	Where string // in words: "cut, S1", "on load ...", "left on load ..."
	Lies  Say    // the same, in both languages
	Held  bool
	Lots  []tags.Number // candidates
}

// TracedLot is a lot of a trace.
type TracedLot struct {
	heat.Lot
	Heats heat.Draw
	Place string
	Held  bool
	Mass  bar.Mass // of what is on hand
}

// Ask traces from any number, alias, heat, mark, list, job or cert text: "123", "MILL 123",
// "job/list", "job/list/mark". A text that is several things is traced as all of them. With nothing
// found, Found is empty.
func (p *Past) Ask(text string) Trace {
	t := p.tracing(text)
	text, ok := question(text)
	if !ok {
		return t.Trace
	}
	read, _ := tags.Read(text)
	if n := read.Number; n != 0 {
		t.number(n)
	}
	if n, ok := p.Alias(read.Text); ok {
		t.found("alias of " + n.String())
		t.number(n)
	}
	if m := read.Mill; m != nil && m.Heat != "" {
		t.heatNamed(m.Heat)
	}
	t.heatNamed(text)
	t.millHeat(text)
	for _, k := range p.CertsNamed(text) {
		t.found("cert " + text)
		t.heat(k)
	}
	t.lists(text)
	if n, ok := p.PlaceNamed(text); ok {
		t.number(n)
	}
	t.finish()
	return t.Trace
}

// question is a text as it is understood; false when nothing can be found by it.
func question(text string) (string, bool) {
	text = strings.Join(strings.Fields(text), " ")
	return text, text != "" && !strings.ContainsRune(text, 0)
}

// millHeats are the heats that "MILL NAME 123" may mean, with the heat as the last word or words.
func millHeats(text string) (out []heat.Key) {
	for i := range len(text) {
		if text[i] == ' ' {
			out = append(out, heat.Key{Mill: text[:i], Heat: text[i+1:]})
		}
	}
	return out
}

type tracing struct {
	p *Past
	Trace
	seen  map[tags.Number]bool
	runs  map[uint64]bool
	down  map[tags.Number]bool // lots that were followed forward, those that are used up too
	draws scan.Draws
	keys  []heat.Key
}

func (p *Past) tracing(text string) tracing {
	return tracing{
		p: p, Trace: Trace{Asked: text}, seen: map[tags.Number]bool{}, runs: map[uint64]bool{}, down: map[tags.Number]bool{}, draws: scan.Draws{Past: p},
	}
}

func (t *tracing) found(what string) {
	if !slices.Contains(t.Found, what) {
		t.Found = append(t.Found, what)
	}
}

// number traces forward from a lot, and back from a bundle or load.
func (t *tracing) number(n tags.Number) {
	if !t.p.Known(n) {
		return
	}
	t.found(n.Kind().String() + " " + n.String())
	switch n.Kind() {
	case tags.Bundle:
		t.bundle(n)
	case tags.Stock:
		t.back([]tags.Number{n})
		t.forward(n)
	case tags.Load:
		t.load(n)
		for _, b := range t.p.Went(n) {
			t.bundle(b)
		}
	}
}

// bundle adds a bundle, the lots and heats that it may be of, and the bundles that have pieces of it now.
func (t *tracing) bundle(n tags.Number) {
	if b, ok := t.p.Bundle(n); ok {
		t.add(b)
		t.back(scan.Drawn(t.p, b))
		t.parts(n, 0)
	}
}

// parts adds the bundles that pieces of a bundle were tied into, and what became of those: those of a
// run, or with 0 all. What was parted before the run has none of it.
func (t *tracing) parts(n tags.Number, run uint64) {
	for _, part := range t.p.Parts(n) {
		b, ok := t.p.Bundle(part)
		if ok && !t.seen[part] && (run == 0 || slices.Contains(b.Runs, run)) {
			t.add(b)
			t.parts(part, run)
		}
	}
}

func (t *tracing) add(b scan.Bundle) {
	if t.seen[b.Number] {
		return
	}
	t.seen[b.Number] = true
	l := t.p.Line(b.Line)
	one := TracedBundle{Bundle: b, Line: l, Lies: Lies(t.p, b, l), Lots: scan.Drawn(t.p, b)}
	one.Where = one.Lies.English
	one.Heats, one.Drawn = t.draws.Bundle(b)
	one.Mass, _ = bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces))
	t.Bundles = append(t.Bundles, one)
	if b.Load != 0 {
		t.load(b.Load)
	}
	if !slices.Contains(t.Jobs, l.Job) {
		t.Jobs = append(t.Jobs, l.Job)
	}
}

func (t *tracing) load(n tags.Number) {
	if !slices.Contains(t.Loads, n) {
		t.Loads = append(t.Loads, n)
	}
}

func (t *tracing) lot(l heat.Lot) bool {
	if t.seen[l.Number] {
		return false
	}
	t.seen[l.Number] = true
	place, _ := t.p.Place(l.Place)
	one := TracedLot{Lot: l, Heats: heat.Of(t.p, []tags.Number{l.Number}), Place: place}
	one.Mass = l.Weighs()
	_, one.Held = heat.HoldOn(t.p, []tags.Number{l.Number})
	t.Lots = append(t.Lots, one)
	return true
}

// back adds the lots and all that they may be left of.
func (t *tracing) back(lots []tags.Number) {
	for _, l := range heat.Ancestors(t.p, lots) {
		t.lot(l)
		for _, h := range l.Heats {
			t.key(heat.Key{Mill: l.Mill, Heat: h})
		}
	}
}

func (t *tracing) key(k heat.Key) {
	if !slices.Contains(t.keys, k) {
		t.keys = append(t.keys, k)
	}
}

// forward adds what may be of a lot: the bundles of its runs, and its remnants with theirs.
func (t *tracing) forward(n tags.Number) {
	todo := []tags.Number{n}
	for len(todo) > 0 {
		n, todo = todo[0], todo[1:]
		if t.down[n] {
			continue
		}
		t.down[n] = true
		if l, ok := t.p.Lot(n); ok && !l.Gone {
			t.lot(l)
		}
		runs := t.p.RunsOf(n)
		t.Bundles = slices.Grow(t.Bundles, len(runs))
		for _, seq := range runs {
			if t.runs[seq] {
				continue
			}
			t.runs[seq] = true
			run, _ := t.p.Run(seq)
			for _, m := range run.Members {
				if b, ok := t.p.Bundle(m.Bundle); ok {
					t.add(b)
					t.parts(m.Bundle, seq)
				}
			}
		}
		todo = append(todo, t.p.Children(n)...)
	}
}

func (t *tracing) heat(k heat.Key) {
	t.key(k)
	for _, n := range t.p.LotsOfHeat(k) {
		t.forward(n)
	}
}

func (t *tracing) heatNamed(name string) {
	for _, k := range t.p.HeatsNamed(name) {
		t.found("heat " + k.String())
		t.heat(k)
	}
}

// millHeat understands "MILL NAME 123".
func (t *tracing) millHeat(text string) {
	for _, k := range millHeats(text) {
		if !t.p.KnownTarget(event.Target{Mill: k.Mill, Heat: k.Heat}) {
			continue
		}
		t.found("heat " + k.String())
		t.heat(k)
	}
}

// lists understands a job, job/list, job/list/mark, or a bare mark.
func (t *tracing) lists(text string) {
	if t.p.HasJob(text) {
		t.found("job " + text)
		for _, l := range t.p.LinesOf(text, "") {
			t.line(l)
		}
	}
	parts := strings.Split(text, "/")
	switch len(parts) {
	case 1:
		for _, l := range t.p.LinesMarked(text) {
			t.found("mark " + l.Job + "/" + l.List + "/" + l.Mark)
			t.line(l)
		}
	case 2:
		lines := t.p.LinesOf(parts[0], parts[1])
		if len(lines) > 0 {
			t.found("list " + text)
		}
		for _, l := range lines {
			t.line(l)
		}
	case 3:
		if l, ok := t.p.LineOf(parts[0], parts[1], parts[2]); ok {
			t.found("mark " + text)
			t.line(l)
		}
	}
}

func (t *tracing) line(l *scan.Line) {
	if !slices.Contains(t.Jobs, l.Job) {
		t.Jobs = append(t.Jobs, l.Job)
	}
	for _, b := range t.p.BundlesOf(l) {
		t.add(b)
		t.back(scan.Drawn(t.p, b))
	}
}

// finish adds certs and holds, and orders what was found.
func (t *tracing) finish() {
	slices.SortFunc(t.keys, heat.Key.Compare)
	for _, k := range t.keys {
		t.Certs = append(t.Certs, t.p.Certs(k)...)
		if h, ok := t.p.Hold(event.Target{Mill: k.Mill, Heat: k.Heat}); ok {
			t.Holds = append(t.Holds, h)
		}
	}
	slices.SortFunc(t.Bundles, func(a, b TracedBundle) int { return int(int64(a.Number) - int64(b.Number)) })
	slices.SortFunc(t.Lots, func(a, b TracedLot) int { return int(int64(a.Number) - int64(b.Number)) })
	slices.Sort(t.Loads)
	slices.Sort(t.Jobs)
	held := func(n tags.Number) bool {
		h, ok := t.p.Hold(event.Target{Number: n})
		if ok && !slices.ContainsFunc(t.Holds, func(o heat.Hold) bool { return o.Seq == h.Seq }) {
			t.Holds = append(t.Holds, h)
		}
		return ok
	}
	heldHeat := map[tags.Number]bool{}
	for _, l := range t.Lots {
		held(l.Number)
		heldHeat[l.Number] = l.Held
	}
	for _, n := range t.Loads {
		held(n)
	}
	checks := map[uint64]bool{}
	for i := range t.Bundles {
		b := &t.Bundles[i]
		for _, seq := range b.Looks {
			checks[seq] = true
		}
		b.Held = held(b.Number) || b.Load != 0 && held(b.Load)
		for _, n := range b.Lots {
			h, ok := heldHeat[n]
			if !ok {
				_, h = heat.HoldOn(t.p, []tags.Number{n})
				heldHeat[n] = h
			}
			b.Held = b.Held || h
		}
	}
	for n := range t.down {
		t.disputes(n, checks)
	}
	for _, l := range t.Lots {
		t.disputes(l.Number, checks)
	}
	for _, n := range t.Loads {
		t.disputes(n, checks)
	}
	t.Checks = len(checks)
	for seq := range checks {
		if t.p.Open(seq) {
			t.Open++
			if t.p.disputed(seq) {
				t.Disputes++
			}
		}
	}
}

// disputes adds the disputed scans of a lot or load that nobody has settled.
func (t *tracing) disputes(n tags.Number, to map[uint64]bool) {
	for _, seq := range t.p.seqs(tHistory, numKey(n)) {
		if t.p.Open(seq) && t.p.disputed(seq) {
			to[seq] = true
		}
	}
}

func (p *Past) disputed(seq uint64) bool {
	_, ok := p.Event(seq).Body.(event.ScanDisputed)
	return ok
}

// AskAll traces back from several numbers at once.
func (p *Past) AskAll(numbers []tags.Number) Trace {
	t := p.tracing("")
	for _, n := range numbers {
		t.number(n)
	}
	t.finish()
	return t.Trace
}
