package label

import (
	"fmt"
	"math"

	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
)

const (
	modules128 = 112  // of Code 128 for 14 digits: start, 7 pairs, check, stop
	ladderX    = 0.5  // least module of a bar code that does not run across the tag, millimetres
	qrModule   = 0.8  // least module of a QR code, millimetres
	register   = 0.4  // white kept at either edge beyond the quiet zone: dark steel lies behind it
	slack      = 1e-6 // of a dot, for rounding
)

// dotsUp and dotsDown give the least and the greatest whole number of dots from and to a length.
func dotsUp(d Device, v float64) float64   { return math.Ceil(v/d.Dot()-0.01) * d.Dot() }
func dotsDown(d Device, v float64) float64 { return math.Floor(v/d.Dot()+slack) * d.Dot() }

// acrossX is the module of the bar code that runs across a tag of a width: the largest whole number
// of dots at which it fits with its quiet zones.
func acrossX(d Device, width float64) float64 {
	return dotsDown(d, (width-2*register)/(modules128+2*symbol.QuietCode128))
}

// runs gives the dark bars as cells, a module high.
func runs(bars symbol.Bars) []Cell {
	cells := make([]Cell, 0, 32)
	for i := 0; i < len(bars); i++ {
		from := i
		for i < len(bars) && bars[i] {
			i++
		}
		if i > from {
			cells = append(cells, Cell{from, 0, i - from, 1})
		}
	}
	return cells
}

// picket draws the bar code of a number with upright bars, centred on x and about h high.
func picket(d Device, n tags.Number, x, y, step, h float64) error {
	bars, err := symbol.Code128(n.Digits())
	if err != nil {
		return fmt.Errorf("number: %w", err)
	}
	cells := runs(bars)
	for i := range cells {
		cells[i].H = int(math.Round(h / step))
	}
	d.Grid(snap(d, x-float64(len(bars))*step/2), snap(d, y), step, cells)
	return nil
}

// ladder draws the bar code of a number with level bars, its first bar at the bottom.
func ladder(d Device, n tags.Number, x, y, step, w float64) error {
	bars, err := symbol.Code128(n.Digits())
	if err != nil {
		return fmt.Errorf("number: %w", err)
	}
	cells := runs(bars)
	for i, c := range cells {
		cells[i] = Cell{0, len(bars) - c.X - c.W, int(math.Round(w / step)), c.W}
	}
	d.Grid(snap(d, x), snap(d, y), step, cells)
	return nil
}

// qrRoom is how many characters a QR code on a tag holds: version 7 at level M, the largest whose
// modules are readable in its box at 203 and 300 dpi (ISO/IEC 18004, table 7).
const qrRoom = 178

// qrText is the QR text of a tag: all of it if it fits, else without the heats, else number and
// copy, which alone rule. Heats are all named or none, since a part of them would read as all; some
// being unknown, there are none.
func qrText(host string, unknown bool, t tags.Tag) (string, error) {
	if unknown || len(t.Heats) > tags.MaxHeats {
		t.Heats = nil
	}
	text, err := tags.Format(host, t)
	if err == nil && len(text) > qrRoom {
		t.Heats = nil
		text, err = tags.Format(host, t)
	}
	if err == nil && len(text) > qrRoom {
		text, err = tags.Format(host, tags.Tag{Number: t.Number, Copy: t.Copy})
	}
	return text, err
}

// qr draws a QR code in the middle of a square box that includes its quiet zone: at level Q, or M
// if only that fits, in the largest whole dots.
func qr(d Device, text string, x, y, side float64) error {
	for _, level := range [...]symbol.Level{symbol.LevelQ, symbol.LevelM} {
		m, err := symbol.QR(text, level)
		if err != nil {
			return fmt.Errorf("QR text: %w", err)
		}
		step := dotsDown(d, side/float64(m.N+2*symbol.QuietQR))
		if step < qrModule {
			continue
		}
		var cells []Cell
		for row := range m.N {
			for col := 0; col < m.N; col++ {
				from := col
				for m.Dark(col, row) {
					col++
				}
				if col > from {
					cells = append(cells, Cell{from, row, col - from, 1})
				}
			}
		}
		margin := (side - float64(m.N)*step) / 2
		d.Grid(snap(d, x+margin), snap(d, y+margin), step, cells)
		return nil
	}
	return &FitError{"QR text", text}
}
