package floor_test

import (
	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// yardModel is what papers and counts say of lots.
type yardModel struct {
	paper   map[tags.Number]event.LotExpected
	closed  map[tags.Number]bool // no more of it is expected
	came    map[tags.Number]map[string]bool
	counted map[tags.Number]int // what counts added to the record
	weighed map[tags.Number]bar.Mass
	when    map[tags.Number]int64
}

func newYard() yardModel {
	return yardModel{map[tags.Number]event.LotExpected{}, map[tags.Number]bool{}, map[tags.Number]map[string]bool{}, map[tags.Number]int{}, map[tags.Number]bar.Mass{}, map[tags.Number]int64{}}
}

// stock folds what is learned of stock.
func (m *model) stock(e event.Event) {
	switch b := e.Body.(type) {
	case event.LotExpected:
		m.yard.paper[b.Lot] = b
		m.yard.came[b.Lot] = map[string]bool{}
		m.lots[b.Lot] = event.LotReceived{Lot: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length}
	case event.LotConfirmed:
		l := m.lots[b.Lot]
		l.Bars += b.Bars
		m.lots[b.Lot] = l
		for _, x := range b.Bundles {
			m.yard.came[b.Lot][x.Number] = true
		}
		m.yard.closed[b.Lot] = m.yard.closed[b.Lot] || b.Last
	case event.YardCounted:
		m.yard.counted[b.Lot] += b.Bars - b.Record
		m.yard.weighed[b.Lot] += b.Mass - b.RecordMass
		m.yard.when[b.Lot] = e.Recorded
	}
}

// checkYard: what is expected is what papers say and nobody has confirmed, no bundle of a mill comes twice,
// and a count is the record from then on.
func (h *history) checkYard(p *view.Past, m *model) {
	expected := map[tags.Number]bool{}
	p.Coming(func(l heat.Lot) bool { expected[l.Number] = true; return true })
	for n, paper := range m.yard.paper {
		require.Equal(h, !m.yard.closed[n], expected[n], "%v", n)
		l, ok := p.Lot(n)
		require.True(h, ok)
		require.Equal(h, !m.yard.closed[n], l.Coming())
		all := true
		for _, b := range paper.Bundles {
			require.Equal(h, m.yard.came[n][b.Number], l.HasCome(b.Number))
			all = all && m.yard.came[n][b.Number]
			found, ok := p.Alias(heat.MillAlias(paper.Mill, b.Number))
			require.True(h, ok)
			require.Equal(h, n, found, "%s of %s", b.Number, paper.Mill)
		}
		if all && len(paper.Bundles) > 0 {
			require.False(h, l.Coming(), "all bundles of %v have come", n)
		}
		if l.Coming() {
			require.Positive(h, l.Due().Bars+len(paper.Bundles))
		}
	}
	require.Len(h, expected, len(m.yard.paper)-count(m.yard.closed, m.yard.paper))
	p.Lots(0, func(l heat.Lot) bool {
		require.Equal(h, []any{m.yard.counted[l.Number], m.yard.weighed[l.Number], m.yard.when[l.Number]}, []any{l.Counted, l.CountedMass, l.CountedAt}, "%v", l.Number)
		return true
	})
}

func count(closed map[tags.Number]bool, papers map[tags.Number]event.LotExpected) (n int) {
	for lot := range papers {
		if closed[lot] {
			n++
		}
	}
	return n
}
