package load

import (
	"slices"
	"time"

	"tagd/internal/tags"
)

// # Which bundles will miss their truck
//
// The waiting work is laid on the stations in the order in which the trucks need it. Each step of a
// bundle goes to the station, of those that do it and whose pace is known, that would be done with it
// first. It begins when the bundle's step before is done and the station is done with what it was given
// before; it takes pace x pieces of the plant's working time. A bundle that is done after its truck
// leaves will miss it; one that is so only when every step takes the upper quartile may miss it. For a
// step without a pace there is no forecast, and the answer says so.
//
// What this does not know: a crane that is busy, a machine that breaks, stock that has to come first.
//
// Worked example: it is 8:00, the shift ends at 16:00. Shear 1 cuts #5 at 14 s a piece, the bender takes
// 30 s. Two bundles of 100 pieces wait, each cut and bend. The first is cut at 8:23:20 and bent at
// 9:13:20; the second is cut at 8:46:40 and bent at 10:03:20, when the bender had finished the first. A
// truck at 10:00 misses the second one.

// Waiting is a bundle that a truck needs and that still has steps to be done.
type Waiting struct {
	Bundle tags.Number
	Load   tags.Number
	Leaves time.Time // of the truck; zero: not known
	Steps  []string  // still to be done, in order
	At     string    // the station that has begun the first of them, "" none
	Pieces int       // still to be done of the first step
	All    int       // pieces of the bundle
	Class  Class
}

// Bench is a station, and the steps that it does.
type Bench struct {
	Station string
	Does    []string
}

// Chance says whether a bundle makes its truck.
type Chance string

// The chances.
const (
	Makes      Chance = "makes it"
	MayMiss    Chance = "may miss"
	WillMiss   Chance = "will miss"
	NoForecast Chance = "no forecast"
)

// Forecast is when a bundle will be ready.
type Forecast struct {
	Bundle tags.Number
	Chance Chance
	Ready  time.Time // by the medians
	Late   time.Time // by the upper quartiles
	// Records is the least number of records of the paces that it was made with.
	Records int
	Lacks   Kind // of NoForecast: the first work without a pace; without a station, none does the step
}

// Foresee lays the waiting work on the stations. Waiting is in the order in which it is wanted.
func Foresee(now time.Time, c Calendar, r *Records, benches []Bench, waiting []Waiting) []Forecast {
	ahead := c.Ahead(now)
	paces := map[Kind]Pace{}
	for _, p := range r.Paces() {
		if p.Records >= Enough {
			paces[p.Kind] = p
		}
	}
	usual := lay{benches, paces, func(p Pace) time.Duration { return p.Median }, map[string]time.Duration{}}
	slow := lay{benches, paces, func(p Pace) time.Duration { return p.High }, map[string]time.Duration{}}
	out := make([]Forecast, 0, len(waiting))
	for _, w := range waiting {
		f := Forecast{Bundle: w.Bundle, Chance: Makes}
		ready, records, lacks, ok := usual.bundle(w)
		late, _, _, _ := slow.bundle(w)
		f.Records = records
		if ok {
			f.Ready, ok = ahead.Time(ready)
		}
		if ok {
			f.Late, ok = ahead.Time(late)
		}
		switch {
		case !ok:
			f = Forecast{Bundle: w.Bundle, Chance: NoForecast, Lacks: lacks}
		case w.Leaves.IsZero():
		case f.Ready.After(w.Leaves):
			f.Chance = WillMiss
		case f.Late.After(w.Leaves):
			f.Chance = MayMiss
		}
		out = append(out, f)
	}
	return out
}

// lay is work being laid on stations, in working time from now on.
type lay struct {
	benches []Bench
	paces   map[Kind]Pace
	take    func(Pace) time.Duration
	free    map[string]time.Duration
}

// bundle lays the steps of a bundle, and says after how much working time it is ready, and how many
// records the poorest of the paces has.
func (y *lay) bundle(w Waiting) (ready time.Duration, records int, lacks Kind, ok bool) {
	pieces := w.Pieces
	type given struct {
		station string
		until   time.Duration
		records int
	}
	var laid []given
	free := func(station string) time.Duration {
		for i := len(laid) - 1; i >= 0; i-- {
			if laid[i].station == station {
				return laid[i].until
			}
		}
		return y.free[station]
	}
	for i, step := range w.Steps {
		best := given{until: -1}
		lacks = Kind{Step: step, Class: w.Class}
		for _, b := range y.benches {
			if !slices.Contains(b.Does, step) || i == 0 && w.At != "" && w.At != b.Station {
				continue
			}
			k := Kind{b.Station, step, w.Class}
			if lacks.Station == "" {
				lacks.Station = b.Station
			}
			p, known := y.paces[k]
			if !known {
				continue
			}
			until := max(ready, free(b.Station)) + y.take(p)*time.Duration(pieces)
			if best.until < 0 || until < best.until {
				best = given{b.Station, until, p.Records}
			}
		}
		if best.until < 0 {
			return 0, 0, lacks, false // nothing of it is laid: it would hold up others by a guess
		}
		if i == 0 || best.records < records {
			records = best.records
		}
		laid, ready, pieces = append(laid, best), best.until, w.All
	}
	for _, g := range laid {
		y.free[g.station] = g.until
	}
	return ready, records, Kind{}, true
}
