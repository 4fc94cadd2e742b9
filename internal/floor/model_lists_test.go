package floor_test

import (
	"maps"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// revisions is what the model knows of bar lists that were revised.
type revisions struct {
	lines map[uint64]event.LineTaken
	was   map[uint64]uint64      // the line whose place each took
	next  map[uint64]uint64      // the line that took the place of each
	out   map[uint64]bool        // withdrawn
	of    map[tags.Number]uint64 // line of each bundle
	fell  map[tags.Number]bool   // bundles that fell away with a revision
}

func newRevisions() revisions {
	return revisions{
		lines: map[uint64]event.LineTaken{}, was: map[uint64]uint64{}, next: map[uint64]uint64{}, out: map[uint64]bool{},
		of: map[tags.Number]uint64{}, fell: map[tags.Number]bool{},
	}
}

// newest is the line that stands in the place of a line.
func (r revisions) newest(line uint64) uint64 {
	for r.next[line] != 0 {
		line = r.next[line]
	}
	return line
}

// chain says whether a bundle is of a line, or of one before it.
func (r revisions) chain(n tags.Number, line uint64) bool {
	for ; line != 0; line = r.was[line] {
		if r.of[n] == line {
			return true
		}
	}
	return false
}

func (m *model) waits(n tags.Number) bool {
	_, on := m.on[n]
	w := m.work
	return !m.voided[n] && len(m.of[n]) == 0 && !w.begun[n] && w.made[n] == 0 && w.done[n] == 0 && !on
}

// revise folds what happens to lines, after all else.
func (m *model) revise(seq uint64, e event.Event) {
	r := m.rev
	switch b := e.Body.(type) {
	case event.LineTaken:
		m.taken(seq, b)
	case event.LineChanged:
		m.fallAway(b.Line, b.Stay, seq, b.Taken)
		r.was[seq], r.next[b.Line] = b.Line, seq
		delete(r.out, b.Line)
		m.taken(seq, b.Taken)
	case event.LineWithdrawn:
		m.fallAway(b.Line, 0, 0, event.LineTaken{})
		r.out[b.Line] = true
	case event.CutDone:
		m.owed(b.Rest, b.Bundle)
	case event.CoilCut:
		m.owed(b.Rest, b.Bundle)
	case event.PiecesLost:
		m.owed(b.Rest, b.Bundle)
	case event.BundleSplit:
		for _, part := range b.Into {
			r.of[part.Number] = r.of[b.Bundle]
		}
	case event.RunOpened:
		m.made(b.Bundle)
	case event.RunJoined:
		m.made(b.Bundle)
	case event.Loaded:
		m.made(b.Bundle)
	case event.Unloaded:
		m.unmade(b.Bundle)
	case event.Undone:
		if cut, ok := scan.CutOf(m.events[b.Seq].Body); ok && r.fell[cut.Rest] {
			m.pieces[b.Bundle] -= cut.Owed // owed elsewhere since
			m.plan(b.Bundle)
		}
		m.unmade(b.Bundle)
	}
}

func (m *model) taken(seq uint64, b event.LineTaken) {
	m.rev.lines[seq] = b
	for i, pieces := range b.Bundles {
		n, _ := tags.New(tags.Bundle, 1, b.First.Serial()+i)
		m.lines[n], m.pieces[n], m.rev.of[n] = b, pieces, seq
	}
}

// fallAway takes what is not begun of a line and of those before it out of the work, but for the first of
// the line's own that have so many pieces together.
func (m *model) fallAway(line uint64, stay int, to uint64, is event.LineTaken) {
	for _, n := range slices.Sorted(maps.Keys(m.rev.of)) {
		switch {
		case !m.rev.chain(n, line) || !m.waits(n):
		case m.rev.of[n] == line && m.pieces[n] <= stay:
			stay -= m.pieces[n]
			m.rev.of[n], m.lines[n] = to, is
		default:
			m.void(n)
			m.rev.fell[n] = true
		}
	}
}

// owed makes what a bundle lacks one of the line that stands now.
func (m *model) owed(rest, of tags.Number) {
	if rest != 0 {
		m.rev.of[rest] = m.rev.newest(m.rev.of[of])
		m.lines[rest] = m.rev.lines[m.rev.of[rest]]
	}
}

func (m *model) made(n tags.Number) {
	if m.rev.fell[n] {
		delete(m.voided, n)
	}
}

func (m *model) unmade(n tags.Number) {
	if m.rev.fell[n] && m.waits(n) {
		m.void(n)
	}
}

// checkLists: each line stands for what it took the place of, and has the bundles of all of it, once.
func (h *history) checkLists(p *view.Past, m *model) {
	names := map[[2]any]bool{}
	p.Bundles(0, func(b scan.Bundle) bool {
		require.Equal(h, m.rev.of[b.Number], b.Line, "%v", b.Number)
		require.Equal(h, m.lines[b.Number].Length, p.Line(b.Line).Length)
		_, fell := p.InPlace(b)
		require.Equal(h, m.rev.fell[b.Number], fell, "%v", b.Number)
		if b.Voided && m.said.given[b.Number] > 0 {
			return true // another one has its place, and so its name
		}
		name := [2]any{m.rev.newest(b.Line), b.Name()}
		require.False(h, names[name], "two bundles of one mark are %s", b.Name())
		names[name] = true
		return true
	})
	live := map[tags.Number]int{}
	for seq := range m.rev.lines {
		newest, out := p.Newest(seq)
		require.Equal(h, m.rev.newest(seq), newest)
		require.Equal(h, m.rev.out[newest], out)
		if newest != seq {
			continue
		}
		l := p.Line(seq)
		var got, want []tags.Number
		for _, b := range p.BundlesOf(l) {
			got = append(got, b.Number)
			live[b.Number]++
		}
		for n, of := range m.rev.of {
			if of == seq || m.rev.chain(n, seq) && (!m.voided[n] || len(m.of[n]) > 0) {
				want = append(want, n)
			}
		}
		require.ElementsMatch(h, want, got, "bundles of %s/%s/%s", l.Job, l.List, l.Mark)
	}
	for n := range m.rev.of {
		if !m.voided[n] {
			require.Equal(h, 1, live[n], "%v is of one line", n)
		}
	}
	all := map[tags.Number]int{}
	for _, job := range append([]string{yard}, jobs...) {
		for _, l := range p.LinesOf(job, "") {
			for _, b := range p.BundlesOf(l) {
				all[b.Number]++
			}
		}
	}
	require.Equal(h, live, all, "a job has each of its bundles once")
}
