package symbol

import (
	"context"
	"fmt"
	"image"
	"slices"
	"strings"
)

// CheckImage reads a finished picture of a tag or paper and says which of the wanted texts it does
// not carry in a symbol. It looks at three sizes, since the QR reader misses up to 3 in 100 perfect
// symbols at any one. That a program reads a picture is no grade of its print.
func CheckImage(img image.Image, want ...string) error {
	missing := slices.Clone(want)
	strike := func(text string) {
		missing = slices.DeleteFunc(missing, func(w string) bool { return w == text })
	}
	s := newSearch(context.Background(), planeOf(img))
	for _, factor := range [...]float64{1, 0.5, 0.7} {
		if len(missing) == 0 {
			return nil
		}
		p := s.base.scaled(factor)
		for _, text := range readQR(p, false) {
			strike(text)
		}
		g := grainOf(p)
		for _, a := range append(g.stripes(closeBy), g.stripes(apart)...) {
			if text, ok := s.scanner.area(p, a, quickTrials, agreement); ok {
				strike(text)
			}
		}
	}
	if len(missing) > 0 {
		return fmt.Errorf("no symbol in the picture says %s", strings.Join(missing, ", nor "))
	}
	return nil
}
