package scan

import (
	"cmp"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// Want is pieces of one length for one bundle.
type Want struct {
	Bundle tags.Number
	Length bar.Length
	Pieces int
}

// From is bars that a plan may take.
type From struct {
	Lot    tags.Number // 0: stock that the plant buys, none on hand
	Length bar.Length
	Bars   int // on hand; less than 0: as many as needed
}

// Piece is how many pieces of a bundle one bar holds.
type Piece struct {
	Bundle tags.Number
	Pieces int
}

// Pattern is Bars bars cut alike.
type Pattern struct {
	Lot    tags.Number
	Length bar.Length // of the bar
	Bars   int
	Cuts   []Piece
	Left   bar.Length // of each bar
	Keep   bool       // Left is a remnant, not scrap
}

// FirstFit plans the cuts by first-fit decreasing: pieces from the longest to the shortest, each
// into the first bar begun that it fits, else into a new bar of the first stock that is long
// enough. Short names the pieces that no stock was left for. The kerf of a shear is nothing.
//
// It works on groups of bars cut alike, so its time goes with the marks and stocks, not the pieces.
func FirstFit(wants []Want, stock []From, keep bar.Length) (plan []Pattern, short []Want) {
	wants = slices.Clone(wants)
	slices.SortStableFunc(wants, func(a, b Want) int { return cmp.Compare(b.Length, a.Length) })
	stock = slices.Clone(stock)
	for _, w := range wants {
		if w.Length <= 0 || w.Pieces <= 0 {
			continue
		}
		left := w.Pieces
		for i := 0; i < len(plan) && left > 0; i++ {
			each := int(plan[i].Left / w.Length)
			if each == 0 {
				continue
			}
			// The bars of the group that are filled, then one with what remains.
			if full := min(plan[i].Bars, left/each); full > 0 {
				plan = split(plan, i, full)
				plan[i] = plan[i].with(w, each)
				left -= full * each
			} else {
				plan = split(plan, i, 1)
				plan[i] = plan[i].with(w, left)
				left = 0
			}
		}
		for i := range stock {
			s := &stock[i]
			each := int(s.Length / w.Length)
			for left > 0 && each > 0 && s.Bars != 0 {
				bars, pieces := left/each, each
				if bars == 0 {
					bars, pieces = 1, left
				}
				if s.Bars > 0 {
					bars = min(bars, s.Bars)
					s.Bars -= bars
				}
				plan = append(plan, Pattern{Lot: s.Lot, Length: s.Length, Bars: bars, Left: s.Length}.with(w, pieces))
				left -= bars * pieces
			}
		}
		if left > 0 {
			short = append(short, Want{w.Bundle, w.Length, left})
		}
	}
	for i := range plan {
		plan[i].Keep = keep > 0 && plan[i].Left >= keep
	}
	return plan, short
}

// split makes plan[i] a group of n bars and puts the others of it behind.
func split(plan []Pattern, i, n int) []Pattern {
	if plan[i].Bars == n {
		return plan
	}
	rest := plan[i]
	rest.Bars -= n
	plan[i].Bars = n
	return slices.Insert(plan, i+1, rest)
}

// with cuts n more pieces of w from each bar of the group.
func (p Pattern) with(w Want, n int) Pattern {
	p.Cuts = append(slices.Clip(p.Cuts), Piece{w.Bundle, n})
	p.Left -= w.Length * bar.Length(n)
	return p
}
