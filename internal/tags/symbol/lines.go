package symbol

import (
	"math"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/oned"
)

// oversample is how many samples a scan line takes to a pixel. Bars of less than two pixels need
// their edges to parts of a pixel.
const oversample = 3

// scanner reads Code 128 along lines of a plane, keeping its room between lines.
type scanner struct {
	decoder oned.RowDecoder
	light   []int // of the samples of a line, in 16ths
	sharp   []int // the same, sharpened
	low     []int // least and most light of each stretch of the line
	high    []int
}

func newScanner() *scanner { return &scanner{decoder: oned.NewCode128Reader().(oned.RowDecoder)} }

// line is where and how to sample.
type line struct {
	x, y   float64 // its middle
	angle  float64
	bars   float64 // direction of the bars, in which the averaged lines lie side by side
	half   float64 // half its length, in pixels
	lines  int     // parallel lines that are averaged, a pixel apart
	sharp  int     // how much of the second difference is added, in eighths
	module float64 // about how wide a module is, in pixels
}

// sample takes the mean light along a line.
func (s *scanner) sample(p plane, l line) {
	const one = 1 << 16
	n := int(2*l.half*oversample) + 1
	s.light = room(s.light, n)
	clear(s.light)
	sin, cos := math.Sincos(l.angle)
	bars, barc := math.Sincos(l.bars)
	du, dv := int(cos*one/oversample), int(sin*one/oversample)
	for k := range l.lines {
		off := float64(k) - float64(l.lines-1)/2
		u := int((l.x - cos*l.half + barc*off) * one)
		v := int((l.y - sin*l.half + bars*off) * one)
		for i := range s.light {
			s.light[i] += int(p.between(u, v)) << 4
			u, v = u+du, v+dv
		}
	}
	for i := range s.light {
		s.light[i] /= l.lines
	}
}

func room(s []int, n int) []int {
	if cap(s) < n {
		return make([]int, n)
	}
	return s[:n]
}

// bits decides dark and light: half way between the least and the most light within some ten
// modules, after sharpening. Where there is no contrast, all is light. It also gives the number of
// changes between the two.
func (s *scanner) bits(l line) (row *gozxing.BitArray, changes int) {
	const least = 10 << 4 // contrast
	n := len(s.light)
	v := s.light
	if l.sharp > 0 {
		reach := max(1, int(l.module*oversample))
		s.sharp = room(s.sharp, n)
		for i := range s.sharp {
			a, b := s.light[max(i-reach, 0)], s.light[min(i+reach, n-1)]
			s.sharp[i] = s.light[i] + l.sharp*(2*s.light[i]-a-b)/8
		}
		v = s.sharp
	}
	size := max(4, int(5*l.module*oversample))
	parts := (n + size - 1) / size
	s.low, s.high = room(s.low, parts), room(s.high, parts)
	for part := range parts {
		lo, hi := math.MaxInt, math.MinInt
		for _, light := range v[part*size : min((part+1)*size, n)] {
			lo, hi = min(lo, light), max(hi, light)
		}
		s.low[part], s.high[part] = lo, hi
	}
	row = gozxing.NewBitArray(n)
	last := false
	for part := range parts {
		from, to := max(part-1, 0), min(part+1, parts-1)
		lo := min(s.low[from], s.low[part], s.low[to])
		hi := max(s.high[from], s.high[part], s.high[to])
		for i := part * size; i < min((part+1)*size, n); i++ {
			dark := hi-lo >= least && v[i] < (lo+hi)/2
			if dark {
				row.Set(i)
			}
			if dark != last {
				changes++
				last = dark
			}
		}
	}
	return row, changes
}

// read tries one line, both ways, and gives the text, and whether the line had as many changes of
// light as a symbol has.
func (s *scanner) read(p plane, l line) (text string, striped bool) {
	const least = 40 // Code 128 with three characters has 6 x 6 + 7 elements
	s.sample(p, l)
	row, changes := s.bits(l)
	if changes < least {
		return "", false
	}
	for range 2 {
		guarded(func() {
			if result, err := s.decoder.DecodeRow(0, row, nil); err == nil {
				text = result.GetText()
			}
		})
		if text != "" {
			break
		}
		row.Reverse()
	}
	return text, true
}

// lineTrial is one way to lay lines through an area of stripes and to clean them.
type lineTrial struct {
	square bool    // square on the stripes, not along the area's axis
	turn   float64 // degrees away from that
	lines  int
	sharp  int
}

// The trials that find nearly everything, and those for blur, noise and slant.
var (
	quickTrials = []lineTrial{
		{lines: 3}, {lines: 3, sharp: 4}, {square: true, lines: 3, sharp: 2}, {lines: 1}, {lines: 7, sharp: 4},
		{turn: 2, lines: 3, sharp: 2}, {turn: -2, lines: 3, sharp: 2},
	}
	deepTrials = []lineTrial{
		{lines: 7, sharp: 8}, {lines: 15, sharp: 4}, {square: true, lines: 15, sharp: 8}, {lines: 3, sharp: 12},
		{turn: 1, lines: 7, sharp: 6}, {turn: -1, lines: 7, sharp: 6}, {turn: 4, lines: 3, sharp: 4}, {turn: -4, lines: 3, sharp: 4},
		{square: true, turn: 3, lines: 7, sharp: 4}, {square: true, turn: -3, lines: 7, sharp: 4},
	}
)

// area reads the symbol in an area of stripes. A text counts when as many lines said it as agree
// asks for: a single line that satisfies Code 128's own check character can still be wrong.
func (s *scanner) area(p plane, a stripeArea, trials []lineTrial, agree func(text string) int) (string, bool) {
	bars := a.across + math.Pi/2
	sin, cos := math.Sincos(bars)
	said := map[string]int{}
	for i, t := range trials {
		angle := a.axis
		if t.square {
			angle = a.across
		}
		striped := false
		for _, off := range [...]float64{0, 0.3, -0.3, 0.6, -0.6} {
			text, some := s.read(p, line{
				x: a.x + cos*off*a.width, y: a.y + sin*off*a.width,
				angle: angle + t.turn*math.Pi/180, bars: bars,
				half:  a.length*1.25 + 10, // with the quiet zones
				lines: t.lines, sharp: t.sharp,
				module: a.length * 2 / 112, // if it is a number of ours
			})
			striped = striped || some
			if text == "" {
				continue
			}
			if said[text]++; said[text] >= agree(text) {
				return text, true
			}
		}
		if i == 0 && !striped {
			break // bars of steel, a fence, an edge
		}
	}
	return "", false
}
