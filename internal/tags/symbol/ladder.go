package symbol

import (
	"context"
	"errors"
	"math"

	"tagd/internal/tags"
)

// A photo is read as on a ladder: rung by rung, what is quick and finds most first. On every rung
// gozxing only decodes; which part of the photo it sees, how large, how turned and how sharp is
// decided here. The rungs and their order come from photos like those of the tests.

// Effort is how long a photo is looked at.
type Effort uint8

// The two efforts.
const (
	Quick Effort = iota // for a person who waits and can shoot again
	Deep                // for a picture that cannot be had again: up to ten times as long
)

// baseSize is the longer side of the plane that is looked at first, in pixels.
const baseSize = 1500

// How many areas of one plane are tried, the likeliest first.
const (
	mostAreas = 12 // of stripes
	mostCuts  = 4  // of texture
)

// search is one photo being looked at.
type search struct {
	ctx     context.Context
	full    plane
	base    plane // full, or a smaller one
	scanner *scanner
	found   []Found
}

func newSearch(ctx context.Context, p plane) *search {
	return &search{ctx: ctx, full: p, base: p.within(baseSize), scanner: newScanner()}
}

// look reads a photo and gives the tags in it. It stops between two tries when ctx is done.
func look(ctx context.Context, p plane, effort Effort) ([]Found, error) {
	s := newSearch(ctx, p)
	done, err := s.climb(s.quick())
	if !done && err == nil && effort == Deep && s.promising() {
		_, err = s.climb(s.deep())
	}
	if err != nil {
		return nil, err
	}
	return s.found, nil
}

// climb takes rungs until one finds something, and says whether one did. The first two, one for each
// symbology, see all tags of a good photo, so both are always taken.
func (s *search) climb(rungs []rung) (bool, error) {
	for i, r := range rungs {
		r.climb()
		if err := s.ctx.Err(); err != nil {
			return false, err
		}
		if i >= 1 && len(s.found) > 0 {
			return true, nil
		}
	}
	return len(s.found) > 0, nil
}

// promising says whether any part of the photo looks like a symbol, blurred or noisy as it may be.
func (s *search) promising() bool {
	g := grainOf(s.base.smooth().stretch(64))
	return len(g.stripes(closeBy)) > 0 || len(g.textures()) > 0
}

// rung is one way to look at a photo.
type rung struct {
	name  string
	climb func()
}

func (s *search) quick() []rung {
	lines := func(p plane, reach int) { s.lines(p, grainOf(p).stripes(reach), quickTrials) }
	return []rung{
		{"QR", func() { s.qr(s.base, false) }},
		{"Code 128", func() { lines(s.base, closeBy) }},
		{"QR cut out", func() {
			s.cuts(grainOf(s.base), 350, func(p plane) plane { return p.smooth().sharpen(4, 24) })
		}},
		{"Code 128 half size", func() { lines(s.base.half(), closeBy) }},
		{"Code 128 quarter size", func() { lines(s.base.half().half(), apart) }},
		{"QR 0.7 size", func() { s.qr(s.base.scaled(0.7), true) }},
	}
}

func (s *search) deep() []rung {
	cleared := func(p plane) plane { return p.smooth().smooth().sharpen(5, 40) }
	squeezed := func(angle float64) func(plane) plane {
		return func(p plane) plane { return p.smooth().sharpen(5, 24).squeeze(angle, 0.75) }
	}
	unbent := func(k float64, upright bool) func(plane) plane {
		return func(p plane) plane { return p.smooth().bend(k, upright).sharpen(4, 24) }
	}
	cut := func(name string, size int, better func(plane) plane) rung {
		return rung{"QR cut out, " + name, func() { s.cuts(grainOf(s.base.smooth()), size, better) }}
	}
	return []rung{
		{"Code 128 smooth", func() {
			p := s.base.smooth()
			s.lines(p, grainOf(p.stretch(64)).stripes(closeBy), deepTrials)
		}},
		{"QR smooth, sharp", func() { s.qr(cleared(s.base), true) }},
		cut("smooth, sharp", 350, cleared),
		cut("as it is", 350, func(p plane) plane { return p }),
		cut("squeezed sideways", 500, squeezed(0)),
		cut("squeezed upright", 500, squeezed(math.Pi/2)),
		cut("unbent left", 420, unbent(0.1, false)),
		cut("unbent right", 420, unbent(-0.1, false)),
		cut("unbent top", 420, unbent(0.1, true)),
		cut("unbent bottom", 420, unbent(-0.1, true)),
		{"Code 128 finer", func() {
			p := s.full
			if long := max(p.w, p.h); long < 2*baseSize {
				p = p.scaled(min(2, 2*baseSize/float64(long)))
			}
			g := grainOf(p)
			s.lines(p, g.stripes(closeBy), deepTrials)
			if len(s.found) == 0 {
				s.lines(p, g.stripes(apart), deepTrials)
			}
		}},
	}
}

// qr reads the QR codes of a plane.
func (s *search) qr(p plane, harder bool) {
	for _, text := range readQR(p, harder) {
		s.add(text, "]Q1")
	}
}

// cuts reads QR codes in the busiest areas of the base plane one by one, each cut out of the full
// photo at a size, and made better by a function.
func (s *search) cuts(g grain, size int, better func(plane) plane) {
	scale := float64(s.full.w) / float64(s.base.w)
	boxes := g.textures()
	for _, b := range boxes[:min(len(boxes), mostCuts)] {
		if s.ctx.Err() != nil {
			return
		}
		b = b.Inset(-max(b.Dx(), b.Dy())/5 - block)
		p := s.full.cut(float64(b.Min.X)*scale, float64(b.Min.Y)*scale, float64(b.Dx())*scale, float64(b.Dy())*scale, size)
		s.qr(better(p), true)
	}
}

// lines reads Code 128 in areas of stripes of a plane.
func (s *search) lines(p plane, areas []stripeArea, trials []lineTrial) {
	for _, a := range areas[:min(len(areas), mostAreas)] {
		if s.ctx.Err() != nil {
			return
		}
		if text, ok := s.scanner.area(p, a, trials, agreement); ok {
			s.add(text, "]C0")
		}
	}
}

// agreement is how many lines must say a text: two for a number of ours, whose check digits rule
// out 96 of 97 wrong ones, four for anything else.
func agreement(text string) int {
	if _, err := tags.ParseNumber(text); err == nil {
		return 2
	}
	return 4
}

// add keeps what was read. All symbols of one tag make one Found; the QR code, which says most, gives
// its text.
func (s *search) add(text, symbology string) {
	f := Found{Text: text, Symbology: symbology}
	scan, err := tags.Read(text)
	if err == nil && !scan.Garbled {
		f.Number, f.Tag = scan.Number, scan.Tag
	}
	if errors.Is(err, tags.ErrMistyped) {
		return // one of ours, misread
	}
	for i, other := range s.found {
		if f.Number != 0 && f.Number == other.Number {
			if other.Tag == nil {
				s.found[i] = f
			}
			return
		}
		if f.Number == 0 && f.Text == other.Text {
			return
		}
	}
	s.found = append(s.found, f)
}
