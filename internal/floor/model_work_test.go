package floor_test

import (
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// member is a share of a bundle in a run: what is to be made of it there, or when it is done what was. Those
// lost while it was being cut are among them.
type member struct {
	n            tags.Number
	pieces, lost int
	done         bool
}

// work is how far bundles are, and who is at which station.
type work struct {
	made   map[tags.Number]int  // in parts, of the next step
	done   map[tags.Number]int  // steps
	begun  map[tags.Number]bool // a step that draws no stock
	unmade map[tags.Number]int  // pieces that were lost, and had not been made
	before map[uint64]int       // made, before the event with this sequence
	losses map[uint64]string    // of which pieces those were that an event lost
	crew   map[string]map[tags.Number]bool
}

func newWork() work {
	return work{
		made: map[tags.Number]int{}, done: map[tags.Number]int{}, begun: map[tags.Number]bool{}, unmade: map[tags.Number]int{},
		before: map[uint64]int{}, losses: map[uint64]string{}, crew: map[string]map[tags.Number]bool{},
	}
}

// share is the newest run in which a bundle is still to be made, of those at a station or with "" of all.
func (m *model) share(n tags.Number, station string) (seq uint64, x *member) {
	for _, of := range m.of[n] {
		r := m.runs[of]
		for _, one := range r.members {
			if one.n == n && !one.done && (station == "" || r.station == station) {
				seq, x = of, one
			}
		}
	}
	return seq, x
}

// plan says in all open shares what is to be made of a bundle.
func (m *model) plan(n tags.Number) {
	for _, r := range m.runs {
		for _, one := range r.members {
			if one.n == n && !one.done {
				one.pieces = max(0, m.pieces[n]-m.work.made[n]) + one.lost
			}
		}
	}
}

// ends lets a run have made pieces of a bundle.
func (m *model) ends(seq uint64, n tags.Number, station string, pieces int, lots []tags.Number, closed *event.RunClosed, coil *event.CoilClosed) {
	of, one := m.share(n, station)
	r := m.runs[of]
	r.may = slices.Concat(r.may, lots)
	one.done, one.pieces = true, pieces+one.lost
	m.close(seq, of, closed)
	m.closeCoil(seq, of, coil)
}

// cut is a bundle cut, from bars or from coil.
func (m *model) cut(seq uint64, b event.CutDone, closed *event.RunClosed, coil *event.CoilClosed) {
	w, station := m.work, ""
	if b.Run != 0 {
		station = m.runs[b.Run].station
	}
	m.ends(seq, b.Bundle, station, b.Pieces, b.Lots, closed, coil)
	m.pieces[b.Bundle] = w.made[b.Bundle] + b.Pieces
	w.before[seq], w.made[b.Bundle] = w.made[b.Bundle], 0
	w.done[b.Bundle]++
}

// working folds how far bundles are.
func (m *model) working(seq uint64, e event.Event) {
	w := m.work
	switch b := e.Body.(type) {
	case event.CutDone:
		m.cut(seq, b, b.Closed, nil)
	case event.CoilCut:
		cut, _ := scan.CutOf(b)
		m.cut(seq, cut, nil, &b.Closed)
	case event.PartDone:
		w.before[seq] = w.made[b.Bundle]
		if scan.EndedRun(m, seq) != 0 {
			m.ends(seq, b.Bundle, b.Station, b.Pieces, b.Lots, b.Closed, b.Coil)
		}
		w.made[b.Bundle] += b.Pieces
		w.begun[b.Bundle] = false
		m.plan(b.Bundle)
	case event.StepStarted:
		w.begun[b.Bundle] = true
	case event.StepDone:
		w.before[seq], w.made[b.Bundle], w.begun[b.Bundle] = w.made[b.Bundle], 0, false
		w.done[b.Bundle]++
	case event.CrewJoined:
		if w.crew[b.Station] == nil {
			w.crew[b.Station] = map[tags.Number]bool{}
		}
		w.crew[b.Station][b.Person] = true
	case event.CrewLeft:
		delete(w.crew[b.Station], b.Person)
	}
}

// unworked takes the newest progress of a bundle back.
func (m *model) unworked(seq uint64, u event.Undone) {
	w := m.work
	switch b := m.events[u.Seq].Body.(type) {
	case event.RunOpened, event.RunJoined:
		of := m.of[u.Bundle][len(m.of[u.Bundle])-1]
		r := m.runs[of]
		m.of[u.Bundle] = m.of[u.Bundle][:len(m.of[u.Bundle])-1]
		r.members = slices.DeleteFunc(r.members, func(x *member) bool { return x.n == u.Bundle && !x.done })
		m.close(seq, of, u.Closed)
		if len(r.members) == 0 {
			delete(m.open, r.station)
		}
		stays := slices.ContainsFunc(m.of[u.Bundle], func(o uint64) bool { return m.runs[o].station == r.station })
		if !stays {
			delete(m.lies[u.Bundle], r.station)
		}
	case event.CutDone, event.CoilCut:
		cut, _ := scan.CutOf(b)
		w.done[u.Bundle]--
		m.pieces[u.Bundle], w.made[u.Bundle] = cut.Asked, w.before[u.Seq]
		m.again(scan.EndedRun(m, u.Seq), u)
		if cut.Rest != 0 {
			m.void(cut.Rest)
		}
	case event.PartDone:
		w.made[u.Bundle] = w.before[u.Seq]
		if of := scan.EndedRun(m, u.Seq); of != 0 {
			m.again(of, u)
		} else {
			w.begun[u.Bundle] = true
		}
	case event.StepStarted:
		w.begun[u.Bundle] = false
	case event.StepDone:
		w.done[u.Bundle]--
		w.made[u.Bundle], w.begun[u.Bundle] = w.before[u.Seq], true
	}
}

// again lets a run go on whose making of a bundle was undone.
func (m *model) again(of uint64, u event.Undone) {
	r := m.runs[of]
	for i := len(r.members) - 1; i >= 0; i-- {
		if r.members[i].n == u.Bundle {
			r.members[i].done = false
			break
		}
	}
	if r.closed != nil || r.coil != nil {
		r.may = r.before
		if !r.said {
			r.may = slices.Concat(r.may, m.lying(r.station, r.steel))
		}
		r.closed, r.coil = nil, nil
		m.open[r.station] = of
	}
	m.plan(u.Bundle)
}

// Body is what happened at a sequence.
func (m *model) Body(seq uint64) event.Body { return m.events[seq].Body }

// lossOf is of which pieces some are that are lost of a bundle.
func (m *model) lossOf(b event.PiecesLost) string {
	w := m.work
	_, open := m.share(b.Bundle, "")
	switch {
	case open != nil:
		return "being cut"
	case !w.begun[b.Bundle] && w.made[b.Bundle] > 0 && (w.done[b.Bundle] == 0 || b.Why == event.Misbent):
		return "made"
	case w.done[b.Bundle] == 0 && !m.said.bars[b.Bundle]:
		return "unmade"
	}
	return "cut"
}

// lessWork counts lost pieces where they are lost, or with -1 where they are found again.
func (m *model) lessWork(at string, b event.PiecesLost, sign int) {
	switch at {
	case "being cut":
		_, open := m.share(b.Bundle, "")
		open.lost += sign * b.Pieces
	case "made":
		m.work.made[b.Bundle] -= sign * b.Pieces
	case "unmade":
		if !m.said.bars[b.Bundle] {
			m.work.unmade[b.Bundle] += sign * b.Pieces
		}
	}
	m.plan(b.Bundle)
}

// checkWork: how far each bundle is, who is aboard where, and that what the runs made is what there is.
func (h *history) checkWork(p *view.Past, m *model) {
	w := m.work
	p.Bundles(0, func(b scan.Bundle) bool {
		n := b.Number
		_, open := m.share(n, "")
		require.Equal(h, w.made[n], b.Made, "%v", n)
		require.Equal(h, open != nil || w.begun[n], b.Started, "%v", n)
		if b.Into() == 0 && !b.Voided {
			require.Equal(h, w.done[n], b.Done, "%v", n)
		}
		at := map[string]int{}
		for _, seq := range b.Runs {
			if r, _ := p.Run(seq); r.Cutting(n) {
				at[r.Station] = 1
			}
		}
		require.Equal(h, open != nil, len(at) > 0)
		return true
	})
	for _, station := range []string{"S1", "S2", "S3", "C1", "B1", "B2", "Y1", "L1"} {
		var crew []tags.Number
		for _, a := range p.Floor(station).Crew {
			crew = append(crew, a.Person)
		}
		var want []tags.Number
		for n := range w.crew[station] {
			want = append(want, n)
		}
		require.ElementsMatch(h, want, crew)
	}
}
