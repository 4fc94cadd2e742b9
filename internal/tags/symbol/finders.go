package symbol

import (
	"cmp"
	"math"
	"slices"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/makiuchi-d/gozxing/qrcode/detector"
)

// mostCentres is how many points that look like the centre of a finder pattern a picture may have.
// gozxing weighs every three of them, so a picture tiled with finder patterns would take minutes.
const mostCentres = 150

// tooManyCentres is what the counting callback panics with, the only way out of gozxing.
type tooManyCentres struct{}

// guarded runs f, which calls a decoder on a picture that anybody may have made, and ends it where
// the decoder panics: then the picture says nothing.
func guarded(f func()) {
	defer func() { _ = recover() }()
	f()
}

// readQR gives the texts of the QR codes of a plane, at most four; harder looks at more rows.
func readQR(p plane, harder bool) (texts []string) {
	guarded(func() {
		bits, err := gozxing.NewHybridBinarizer(sourceOf(p)).GetBlackMatrix()
		if err != nil {
			return
		}
		for range 4 {
			text, at := readOneQR(bits, harder)
			if at == nil {
				return
			}
			texts = append(texts, text)
			wipe(bits, at)
		}
	})
	return texts
}

// readOneQR looks for finder patterns, and tries the threes of them that stand best. It gives the
// symbol's corners, nil if there is no symbol.
func readOneQR(bits *gozxing.BitMatrix, harder bool) (text string, at []gozxing.ResultPoint) {
	count := 0
	finder := detector.NewFinderPatternFinder(bits, func(gozxing.ResultPoint) {
		if count++; count > mostCentres {
			panic(tooManyCentres{})
		}
	})
	hints := map[gozxing.DecodeHintType]interface{}{}
	if harder {
		hints[gozxing.DecodeHintType_TRY_HARDER] = true
	}
	best, err := finder.Find(hints)
	if err != nil {
		return "", nil
	}
	corners, codes := detector.NewDetector(bits), decoder.NewDecoder()
	for _, three := range append([]*detector.FinderPatternInfo{best}, threes(finder.GetPossibleCenters())...) {
		found, err := corners.ProcessFinderPatternInfo(three)
		if err != nil {
			continue
		}
		if result, err := codes.Decode(found.GetBits(), nil); err == nil {
			return result.GetText(), found.GetPoints()
		}
	}
	return "", nil
}

// threes gives the likeliest corners of a QR code among centres of finder patterns: about the same
// size, and standing like three corners of a square. gozxing tries only one three; in a photo a
// false centre is often part of it.
func threes(centres []*detector.FinderPattern) []*detector.FinderPatternInfo {
	const (
		most = 6
		size = 1.5 // between modules of one symbol, seen from the side
		skew = 1.2 // 0 for a square
	)
	if len(centres) < 4 || len(centres) > 24 {
		return nil
	}
	type candidate struct {
		three [3]*detector.FinderPattern
		off   float64
	}
	var all []candidate
	for i, a := range centres {
		for j, b := range centres[i+1:] {
			for _, c := range centres[i+j+2:] {
				sizes := []float64{a.GetEstimatedModuleSize(), b.GetEstimatedModuleSize(), c.GetEstimatedModuleSize()}
				sides := []float64{distance(a, b), distance(b, c), distance(a, c)}
				slices.Sort(sides)
				off := (math.Abs(sides[2]-2*sides[0]) + math.Abs(sides[2]-2*sides[1])) / sides[2]
				if slices.Max(sizes) < size*slices.Min(sizes) && off < skew {
					all = append(all, candidate{[3]*detector.FinderPattern{a, b, c}, off})
				}
			}
		}
	}
	slices.SortFunc(all, func(a, b candidate) int { return cmp.Compare(a.off, b.off) })
	var infos []*detector.FinderPatternInfo
	for _, c := range all[:min(most, len(all))] {
		bl, tl, tr := gozxing.ResultPoint_OrderBestPatterns(c.three[0], c.three[1], c.three[2])
		infos = append(infos, detector.NewFinderPatternInfo(bl.(*detector.FinderPattern), tl.(*detector.FinderPattern), tr.(*detector.FinderPattern)))
	}
	return infos
}

// distance is the squared distance between two centres.
func distance(a, b *detector.FinderPattern) float64 {
	dx, dy := a.GetX()-b.GetX(), a.GetY()-b.GetY()
	return dx*dx + dy*dy
}

// wipe makes the box round a symbol's corners light, so that the next search finds another.
func wipe(bits *gozxing.BitMatrix, at []gozxing.ResultPoint) {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range at {
		x0, y0, x1, y1 = min(x0, p.GetX()), min(y0, p.GetY()), max(x1, p.GetX()), max(y1, p.GetY())
	}
	pad := max(x1-x0, y1-y0) / 4
	for y := max(0, int(y0-pad)); y < min(bits.GetHeight(), int(y1+pad)); y++ {
		for x := max(0, int(x0-pad)); x < min(bits.GetWidth(), int(x1+pad)); x++ {
			bits.Unset(x, y)
		}
	}
}
