package scan_test

import (
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

func (p *past) Newest(line uint64) (uint64, bool) {
	for {
		next, ok := p.later[line]
		if !ok {
			return line, false
		}
		if next == 0 {
			return line, true
		}
		line = next
	}
}

func (p *past) InPlace(b scan.Bundle) (tags.Number, bool) {
	n, fell := p.inPlace[b.Number]
	return n, fell
}

// revised is a shop in which line 1 was revised: it is line 5 now, and bundle 11 fell away.
func revised(p *past) {
	p.later = map[uint64]uint64{1: 5}
	p.inPlace = map[tags.Number]tags.Number{bundle(11): bundle(51)}
	p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true })
}

func withdrawn(p *past) {
	revised(p)
	p.later[1] = 0
	p.inPlace[bundle(11)] = 0
}

// A tag of before a revision names the one to use, and what is cut is cut.
func init() {
	table = append(table, []one{
		{"a tag of before", revised, at("S1", bundle(11)), refused, []string{"list revised"}, refusal(bundle(11))},
		{"at the bender", revised, at("B1", bundle(11)), refused, []string{"list revised"}, nil},
		{"in the yard", revised, at("Y1", bundle(11)), refused, []string{"list revised"}, nil},
		{"no tag in its place", withdrawn, at("S1", bundle(11)), refused, []string{"line withdrawn"}, refusal(bundle(11))},
		{"counted at the bender, and never cut", revised, at("B1", bundle(11), pieces(12)), refused, []string{"list revised"}, nil},
		{"its pieces are cut", revised, at("S1", bundle(11), pieces(12)), check, []string{"cut done", "into pocket", "run closed", "cut though revised"}, []event.Body{
			event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
			event.CutDone{Bundle: bundle(11), Pieces: 12, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 2}}})},
		}},
		{"its pieces were cut while nothing was heard, and the feeds are others by now", func(p *past) { revised(p); p.fed("S1", 1) },
			at("S1", bundle(11), pieces(12), late), check, []string{"disputed", "station went on"}, nil},
		{"some of its pieces are cut, and the others are owed no more", withdrawn, at("S1", bundle(11), pieces(6)), check,
			[]string{"cut done", "into pocket", "count differs", "run closed", "cut though revised"}, []event.Body{
				event.RunOpened{Station: "S1", Bundle: bundle(11), Lots: nums([]int{1}), Pocket: "1"},
				event.CutDone{Bundle: bundle(11), Pieces: 6, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})},
			}},
		{"its pieces are cut, into no pocket", revised, at("S1", bundle(11), pieces(12), pocket("9")), refused, []string{"no pocket"}, nil},
		{"cut short, and the line was withdrawn meanwhile", func(p *past) {
			withdrawn(p)
			p.run("S1", []int{1}, bundle(12))
		}, at("S1", bundle(12), pieces(6)), check, []string{"cut done", "count differs", "run closed"}, []event.Body{
			event.CutDone{Run: 100, Bundle: bundle(12), Pieces: 6, Asked: 12, Closed: closed(event.RunClosed{Draws: []event.Draw{{Lot: stock(1), Bars: 1}}})},
		}},
		{"cut short, and the line was revised meanwhile: it still owes them", func(p *past) {
			revised(p)
			p.run("S1", []int{1}, bundle(12))
		}, at("S1", bundle(12), pieces(6)), check, []string{"cut done", "count short", "run closed"}, nil},
	}...)
}
