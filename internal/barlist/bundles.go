package barlist

import "tagd/internal/bar"

// Bundles parts the pieces of a line into bundles: the pieces of each, in order. There are as few
// bundles as the limits allow, all of the same number of pieces but the last, which has what
// remains: 100 pieces at most 40 a bundle are 34, 34, 32. No bundle is empty.
//
// A limit of 0 or less is no limit. Each is the weight of one piece; a piece that is heavier than
// maxWeight is a bundle of its own, as it has to be lifted anyway. No pieces are no bundles.
func Bundles(pieces int, each bar.Mass, maxPieces int, maxWeight bar.Mass) []int {
	if pieces <= 0 {
		return nil
	}
	most := pieces
	if maxPieces > 0 {
		most = min(most, maxPieces)
	}
	if maxWeight > 0 && each > 0 {
		most = int(min(bar.Mass(most), max(maxWeight/each, 1)))
	}
	n := (pieces-1)/most + 1
	share := (pieces-1)/n + 1
	bundles := make([]int, 0, n)
	for left := pieces; left > 0; left -= share {
		bundles = append(bundles, min(share, left))
	}
	return bundles
}
