package scan

import "tagd/internal/bar"

// Gauge is how a table with fixed stops is set for a length: bars run up to a stop, and the table
// moves out from there by what is missing.
type Gauge struct {
	Length bar.Length // of the piece
	Stop   bar.Length // the last stop that is not beyond the length; 0 when the first one is
	Out    bar.Length // how far to move out from it; 0 without a stop
	Reach  bool       // there is such a stop, and the table moves out as far
}

// Gauge sets the station's stops for a length of piece. A station without stops has no gauge: a stop
// with a motor is told the length itself.
func (s Station) Gauge(length bar.Length) (Gauge, bool) {
	if len(s.Stops) == 0 {
		return Gauge{}, false
	}
	g := Gauge{Length: length}
	for _, stop := range s.Stops {
		if stop > length {
			break
		}
		g.Stop, g.Out = stop, length-stop
	}
	g.Reach = g.Stop > 0 && g.Out <= s.Travel
	return g, true
}
