package pages

import (
	"tagd/internal/bar"
	"tagd/internal/scan"
)

// weightBar is the weight of a load as a bar to scale, in a box 1000 wide and 28 high: how far its bundles have
// come as steps of one stair, the farthest first and highest; dashed is not yet.
type weightBar struct {
	Parts []weightPart
	Limit int // where the upright of the limit stands, 0 none
}

type weightPart struct {
	Class      string
	X, Y, W, H int
}

// stair are the steps of a weight bar, the farthest first: class of the sheet, and height.
var stair = []struct {
	of    scan.Reach
	class string
	high  int
}{{scan.IsLoaded, "loaded", 24}, {scan.IsStaged, "staged", 24}, {scan.IsMade, "made", 16}, {scan.IsCut, "iscut", 9}, {scan.NotCut, "ahead", 24}}

// drawWeights draws sums against a limit, 0 for none: the box is the larger of the two.
func drawWeights(s scan.Sums, limit bar.Mass) weightBar {
	full := max(s.All().Mass, limit, 1)
	var b weightBar
	var before bar.Mass
	scale := func(m bar.Mass) int { return int(float64(m) / float64(full) * 996) }
	for _, one := range stair {
		m := s[one.of].Mass
		if m <= 0 {
			continue
		}
		x := scale(before)
		before += m
		b.Parts = append(b.Parts, weightPart{one.class, x + 2, 26 - one.high, max(2, scale(before)-x-2), one.high})
	}
	if limit > 0 {
		b.Limit = scale(limit)
	}
	return b
}
