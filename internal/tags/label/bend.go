package label

import (
	"fmt"

	"tagd/internal/bar"
)

// Bend is the sketch of a bent bar for a screen, in millimetres from the upper left corner of its box, as the
// tags have it: the longest leg level, every leg with its dimension beside it.
type Bend struct {
	W, H  float64
	Width float64 // of the bar
	Bar   []Point // its middle line; none where the order of bending stands in words
	Texts []BendText
}

// BendText is a text of a sketch. X and Y are where its base line begins; W is how wide the text runs in its
// size, so that another face can be set as wide.
type BendText struct {
	X, Y, W float64
	Says    string
	Size    float64 // of an em, in millimetres
	Note    bool    // it is of the drawing, not of the bar
}

// BendOf draws a bent bar in a box of w by h millimetres. diameter is the bar's, 0 if unknown; it lengthens arcs
// to their centre line. The error is of a shape that bar.Shape.Check refuses, or that has no room in any form.
func BendOf(s bar.Shape, diameter bar.Length, u bar.Units, w, h float64) (Bend, error) {
	k, err := drawBend(s, diameter, u, w, h)
	if err != nil {
		return Bend{}, fmt.Errorf("sketch: %w", err)
	}
	out := Bend{W: w, H: h, Width: barWidth, Bar: k.bar}
	for _, t := range k.texts {
		em := t.size * point
		out.Texts = append(out.Texts, BendText{X: t.pen.X, Y: t.pen.Y, W: t.face.width(t.s) * em, Says: t.s, Size: em, Note: t.s == notToScale})
	}
	return out, nil
}
