package floor_test

import (
	"cmp"
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// model is a day told from its journal in the plainest way: maps, and walks over all of them.
type model struct {
	lines   map[tags.Number]event.LineTaken // of each bundle
	pieces  map[tags.Number]int             // of each bundle
	lots    map[tags.Number]event.LotReceived
	remnant map[tags.Number]left
	feeds   map[string][]tags.Number // by "station/feed"
	runs    map[uint64]*run
	open    map[string]uint64           // by station
	of      map[tags.Number][]uint64    // all runs that pieces of each bundle are of
	on      map[tags.Number]tags.Number // load of each bundle
	gone    map[tags.Number]bool        // loads that left
	voided  map[tags.Number]bool
	planned map[tags.Number]spot              // of each bundle
	lies    map[tags.Number]map[string]string // pocket by station of each bundle that was not moved since
	yard    yardModel
	events  []event.Event
	kin     kin
	work    work
	rev     revisions
	trip    trips

	toResolve map[uint64]bool
	said      said
}

// run is a run as it could have gone: may are all lots that its bars can have come from.
type run struct {
	station string
	steel   bar.Steel
	members []*member
	may     []tags.Number
	before  []tags.Number // may, before its closing narrowed it
	said    bool
	closed  *event.RunClosed
	coil    *event.CoilClosed
	by      uint64
}

// left is a remnant: of which run, and what that could have drawn when it left it.
type left struct {
	of      uint64
	rem     event.Remnant
	steel   bar.Steel
	may     []tags.Number
	lacking bool
}

func tell(t require.TestingT, p *view.Past) *model {
	m := &model{
		lines: map[tags.Number]event.LineTaken{}, pieces: map[tags.Number]int{}, lots: map[tags.Number]event.LotReceived{},
		remnant: map[tags.Number]left{}, feeds: map[string][]tags.Number{}, runs: map[uint64]*run{}, open: map[string]uint64{},
		on: map[tags.Number]tags.Number{}, gone: map[tags.Number]bool{},
		voided: map[tags.Number]bool{}, planned: map[tags.Number]spot{},
		lies: map[tags.Number]map[string]string{}, of: map[tags.Number][]uint64{}, kin: newKin(), work: newWork(),
		yard: newYard(), rev: newRevisions(), said: newSaid(), trip: newTrips(),
	}
	for seq := uint64(0); seq <= p.Head(); seq++ {
		e := p.Event(seq)
		m.events = append(m.events, e)
		m.fold(seq, e)
		m.list(seq, e)
		require.True(t, m.pocket(e), "record %d goes into a pocket in which another lies, and the answer does not say so", seq)
	}
	return m
}

// pocket follows bundles into pockets and out of them. It says whether the answer told of a pocket in
// which another lies.
func (m *model) pocket(e event.Event) (told bool) {
	told = true
	in := func(n tags.Number, of uint64, pocket string) {
		if pocket == "" {
			return
		}
		station := m.runs[of].station
		for o, lies := range m.lies {
			if o != n && lies[station] == pocket && e.Answer != nil {
				told = slices.ContainsFunc(e.Answer.Notes, func(n event.Note) bool { return n.Code == "pocket taken" })
			}
		}
		if m.lies[n] == nil {
			m.lies[n] = map[string]string{}
		}
		m.lies[n][station] = pocket
	}
	switch b := e.Body.(type) {
	case event.RunOpened:
		in(b.Bundle, m.of[b.Bundle][len(m.of[b.Bundle])-1], b.Pocket)
	case event.RunJoined:
		in(b.Bundle, b.Run, b.Pocket)
	case event.StepStarted:
		delete(m.lies, b.Bundle)
	case event.Placed:
		delete(m.lies, b.Number)
	case event.Loaded:
		delete(m.lies, b.Bundle)
	}
	return told
}

// lying are the lots on a station's feeds whose steel a run can be cut from.
func (m *model) lying(station string, steel bar.Steel) (out []tags.Number) {
	for feed, lots := range m.feeds {
		if feed[:2] != station {
			continue
		}
		for _, n := range lots {
			if steel.Matches(m.steel(n)) {
				out = append(out, n)
			}
		}
	}
	return out
}

func (m *model) steel(n tags.Number) bar.Steel {
	if r, ok := m.remnant[n]; ok {
		return r.steel
	}
	return m.lots[n].Steel
}

func (m *model) length(n tags.Number) bar.Length {
	if r, ok := m.remnant[n]; ok {
		return r.rem.Length
	}
	return m.lots[n].Length
}

func (m *model) fold(seq uint64, e event.Event) {
	m.foldPlans(e)
	switch b := e.Body.(type) {
	case event.LineTaken:
		for i, pieces := range b.Bundles {
			n, _ := tags.New(tags.Bundle, 1, b.First.Serial()+i)
			m.lines[n], m.pieces[n] = b, pieces
		}
	case event.LotReceived:
		m.lots[b.Lot] = b
	case event.LotHeatSet:
		l := m.lots[b.Lot]
		l.Mill, l.Heats = b.Mill, b.Heats
		m.lots[b.Lot] = l
	case event.FeedCharged:
		feed := b.Station + "/" + b.Feed
		m.feeds[feed] = append(m.feeds[feed], b.Lot)
		if r := m.runs[m.open[b.Station]]; r != nil && !r.said && r.steel.Matches(m.steel(b.Lot)) {
			r.may = append(r.may, b.Lot)
		}
	case event.FeedEmptied:
		feed := b.Station + "/" + b.Feed
		m.feeds[feed] = slices.DeleteFunc(m.feeds[feed], func(n tags.Number) bool { return b.Lot == 0 || n == b.Lot })
	case event.RunOpened:
		r := &run{station: b.Station, steel: m.lines[b.Bundle].Steel, said: b.Said, may: b.Lots}
		if !b.Said {
			r.may = m.lying(b.Station, r.steel)
		}
		m.runs[seq] = r
		m.join(b.Bundle, seq)
		if !b.Aside {
			m.open[b.Station] = seq
		}
	case event.RunJoined:
		r := m.runs[b.Run]
		r.may = slices.Concat(r.may, b.Lots)
		m.join(b.Bundle, b.Run)
	case event.Undone:
		m.undo(seq, b)
	case event.BundleVoided:
		m.void(b.Bundle)
	case event.Loaded:
		m.on[b.Bundle], m.kin.weighed[b.Bundle] = b.Load, b.Mass
	case event.Unloaded:
		delete(m.on, b.Bundle)
	case event.Shipped:
		m.gone[b.Load] = true
	}
	m.working(seq, e)
	m.mishap(seq, e)
	m.stock(e)
	m.revise(seq, e)
	m.told(seq, e)
	m.travel(seq, e)
}

// join makes a bundle one of those that are cut in a run.
func (m *model) join(n tags.Number, of uint64) {
	r := m.runs[of]
	r.members = append(r.members, &member{n: n, pieces: max(0, m.pieces[n]-m.work.made[n])})
	m.of[n] = append(slices.Clip(m.of[n]), of)
}

func (m *model) void(n tags.Number) {
	m.voided[n] = true
	delete(m.planned, n)
	delete(m.trip.staged, n)
}

func (m *model) close(seq, of uint64, c *event.RunClosed) {
	if c == nil {
		return
	}
	r := m.runs[of]
	r.closed, r.by, r.before = c, seq, r.may
	if m.open[r.station] == of {
		delete(m.open, r.station)
	}
	if len(c.Lots) > 0 {
		r.may = c.Lots
	}
	for _, rem := range c.Remnants {
		m.remnant[rem.Lot] = left{of, rem, c.Steel, r.may, c.Missing > 0}
	}
}

func (m *model) undo(seq uint64, u event.Undone) {
	if _, ok := m.events[u.Seq].Body.(event.Loaded); ok {
		delete(m.on, u.Bundle)
	}
	m.untold(u)
	m.unworked(seq, u)
	m.mishapUndone(u)
}

// heats are all heats that something cut in some runs can be of, and whether there may be others.
func (m *model) heats(of []uint64) (heats map[heat.Key]bool, unknown bool) {
	heats = map[heat.Key]bool{}
	var walk func(may []tags.Number, lacking bool)
	walk = func(may []tags.Number, lacking bool) {
		unknown = unknown || lacking || len(may) == 0
		for _, n := range may {
			if r, ok := m.remnant[n]; ok {
				walk(r.may, r.lacking)
				continue
			}
			l := m.lots[n]
			unknown = unknown || len(l.Heats) == 0
			for _, h := range l.Heats {
				heats[heat.Key{Mill: l.Mill, Heat: h}] = true
			}
		}
	}
	for _, seq := range of {
		r := m.runs[seq]
		walk(r.may, r.closed != nil && r.closed.Missing > 0 || r.coil != nil && r.coil.Missing > 0)
	}
	return heats, unknown
}

// check holds the views against the journal. With fold it also folds the journal anew.
func (h *history) check(fold bool) {
	h.read(func(p *view.Past) {
		m := tell(h, p)
		h.checkMetal(p, m)
		h.checkLoads(p, m)
		h.checkHere(p, m)
		h.checkHeats(p, m)
		h.checkLists(p, m)
		h.checkAccount(p, m)
		h.checkKin(p, m)
		h.checkWork(p, m)
		h.checkYard(p, m)
		h.checkTrips(p, m)
		h.checkOpen(p, m)
		h.checkSaid(p, m)
		h.checkCoil(p, m)
		h.checkProgress(p)
	})
	if !fold {
		return
	}
	h.checkOutlook()
	anew := mem.Open(floor.Tables()...)
	require.NoError(h, view.Rebuild(h.disk, anew, view.New(1), nil))
	want, got := dump(h, anew), dump(h, h.disk)
	for _, table := range view.Tables {
		require.Equal(h, want[table], got[table], "table %s", table)
	}
}

func dump(t require.TestingT, db store.DB) map[store.Table][][2]string {
	out := map[store.Table][][2]string{}
	require.NoError(t, db.View(func(tx store.Tx) error {
		for _, table := range view.Tables {
			tx.Ascend(table, nil, nil, func(k, v []byte) bool {
				out[table] = append(out[table], [2]string{string(k), string(v)})
				return true
			})
		}
		return nil
	}))
	return out
}

// checkMetal: pieces and nanometres are conserved, per run, per lot, and over all.
func (h *history) checkMetal(p *view.Past, m *model) {
	taken, over, gone := map[tags.Number]int{}, map[tags.Number]int{}, map[tags.Number]bool{}
	for n := range m.remnant {
		gone[n] = true
	}
	for n := range m.said.declared {
		gone[n] = m.lots[n].Bars == 0
	}
	var in, out bar.Length
	for seq, r := range m.runs {
		state, ok := p.Run(seq)
		require.True(h, ok)
		var members, want []member
		for _, x := range state.Members {
			members = append(members, member{x.Bundle, x.Pieces, x.Lost, x.Done})
		}
		for _, x := range r.members {
			want = append(want, *x)
		}
		require.ElementsMatch(h, want, members)
		if r.coil != nil {
			continue // checkCoil weighs it
		}
		if r.closed == nil {
			if len(r.members) > 0 {
				require.Equal(h, seq, p.Floor(r.station).Run)
			}
			continue
		}
		require.Equal(h, *r.closed, p.Closing(state))
		require.Equal(h, r.by, state.By)
		var drawn, made bar.Length
		for _, d := range r.closed.Draws {
			taken[d.Lot] += d.Bars
			over[d.Lot] += d.Over
			drawn += m.length(d.Lot) * bar.Length(d.Bars)
			in += m.length(d.Lot) * bar.Length(d.Over)
		}
		for _, x := range r.members {
			made += m.lines[x.n].Length * bar.Length(x.pieces)
		}
		out += made + r.closed.Scrap
		in += r.closed.Missing
		for _, x := range r.closed.Remnants {
			delete(gone, x.Lot)
			made += x.Length * bar.Length(x.Bars)
		}
		require.Equal(h, drawn+r.closed.Missing, made+r.closed.Scrap)
		require.True(h, r.closed.Scrap >= 0 && r.closed.Missing >= 0)
	}
	count := 0
	p.Lots(0, func(l heat.Lot) bool {
		count++
		received := m.lots[l.Number].Bars
		if x, ok := m.remnant[l.Number]; ok {
			received = x.rem.Bars
		} else {
			in += l.Length * bar.Length(received)
		}
		counted := m.yard.counted[l.Number]
		if !l.Gone {
			in += l.Length * bar.Length(counted)
		}
		require.Equal(h, gone[l.Number], l.Gone)
		require.Equal(h, []any{received, taken[l.Number], over[l.Number]}, []any{l.Received, l.Taken, l.Over}, "%v", l.Number)
		require.GreaterOrEqual(h, l.OnHand(), 0)
		if l.Gone {
			require.Zero(h, l.Taken, "%v was taken back, and cut", l.Number)
			require.Zero(h, l.OnHand())
		} else {
			require.Equal(h, received+over[l.Number]+counted, l.OnHand()+l.Taken)
		}
		out += l.Length * bar.Length(l.OnHand())
		on := false
		for feed, lots := range m.feeds {
			on = on || slices.Contains(lots, l.Number)
			if l.Feed == feed {
				require.Contains(h, lots, l.Number)
			}
		}
		require.Equal(h, on, l.Feed != "")
		return true
	})
	require.Equal(h, len(m.lots)+len(m.remnant), count)
	require.Equal(h, in, out, "metal in, and metal in pieces, scrap and on hand")
	for _, station := range []string{"S1", "S2", "S3", "C1"} {
		f := p.Floor(station)
		require.Equal(h, m.open[station], f.Run)
		var lying []scan.Lying
		for n, lies := range m.lies {
			if lies[station] != "" {
				lying = append(lying, scan.Lying{Pocket: lies[station], Bundle: n})
			}
		}
		require.ElementsMatch(h, lying, f.Pockets)
		for _, feed := range f.Feeds {
			require.ElementsMatch(h, m.feeds[station+"/"+feed.Name], feed.Lots)
		}
	}
}

// checkLoads: a bundle is on one load, and loads count and weigh what is on them.
func (h *history) checkLoads(p *view.Past, m *model) {
	want := map[tags.Number][]tags.Number{}
	p.Bundles(0, func(b scan.Bundle) bool {
		require.Equal(h, m.on[b.Number], b.Load)
		require.Equal(h, m.voided[b.Number], b.Voided)
		require.Equal(h, m.planned[b.Number].load, b.Planned)
		require.Equal(h, m.lies[b.Number][b.Station], b.Pocket, "%v", b.Number)
		require.Equal(h, b.Load != 0 && m.gone[b.Load], b.Shipped)
		if b.Load != 0 {
			want[b.Load] = append(want[b.Load], b.Number)
		}
		require.Equal(h, m.pieces[b.Number], b.Pieces)
		return true
	})
	for _, l := range h.loadsOf(p) {
		var on []tags.Number
		var mass bar.Mass
		p.Loaded(l, func(n tags.Number) bool {
			on = append(on, n)
			mass += m.kin.weighed[n]
			return true
		})
		state, _ := p.Load(l)
		require.ElementsMatch(h, want[l], on)
		require.Equal(h, len(on), state.Count)
		require.Equal(h, mass, state.Mass)
		require.Equal(h, m.gone[l], state.Shipped != 0)
		h.checkPlan(p, m, state)
	}
}

func (h *history) loadsOf(p *view.Past) (out []tags.Number) {
	for n := 1; ; n++ {
		l, err := tags.New(tags.Load, 1, n)
		require.NoError(h, err)
		if _, ok := p.Load(l); !ok {
			return out
		}
		out = append(out, l)
	}
}

var ranks = map[heat.Certainty]int{heat.Certain: 0, heat.OneOf: 1, heat.Declared: 2, heat.Unknown: 3}

// checkHeats: what a bundle may be of is never less than the feeds' histories allow, nor surer; and the
// trace of each heat finds the bundles that trace back to it, and no others.
func (h *history) checkHeats(p *view.Past, m *model) {
	back := map[heat.Key]map[tags.Number]bool{}
	p.Bundles(0, func(b scan.Bundle) bool {
		d, drawn := scan.HeatsOf(p, b)
		of := m.of[b.Number]
		cut := len(of) > 0
		require.Equal(h, cut, drawn)
		for _, k := range d.Heats {
			if back[k] == nil {
				back[k] = map[tags.Number]bool{}
			}
			back[k][b.Number] = true
		}
		if !cut {
			return true
		}
		may, unknown := m.heats(of)
		for k := range may {
			require.Contains(h, d.Heats, k, "%v could be of %v", b.Number, k)
		}
		best := heat.Certain
		switch {
		case unknown || len(may) == 0:
			best = heat.Unknown
		case m.byPaper(of):
			best = heat.Declared
		case len(may) > 1:
			best = heat.OneOf
		}
		require.GreaterOrEqual(h, ranks[d.Certainty], ranks[best], "%v: %v, and the feeds allow %v of %v", b.Number, d, best, may)
		return true
	})
	for _, mill := range mills {
		for _, name := range heats {
			k := heat.Key{Mill: mill, Heat: name}
			var found []tags.Number
			for _, b := range p.Ask(k.String()).Bundles {
				found = append(found, b.Number)
			}
			require.True(h, slices.IsSorted(found))
			want := slices.SortedFunc(maps.Keys(back[k]), cmp.Compare[tags.Number])
			require.Equal(h, want, found, "%v", k)
		}
	}
}
