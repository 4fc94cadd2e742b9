package scan

import (
	"slices"
	"time"

	"tagd/internal/bar"
	"tagd/internal/load"
)

// Step is a piece of work on a bundle, in the words of a route.
type Step string

// The steps that a line's route may name. A bundle with all its steps done may be loaded.
const (
	Cut        Step = "cut"
	Bend       Step = "bend"
	CutAndBend Step = "cut and bend" // one machine, from coil
	Saw        Step = "saw"
	Thread     Step = "thread"
	Head       Step = "head"
	Coat       Step = "coat"
	Tie        Step = "tie"
)

// Work is what a station does: steps of a route, or one of the four kinds of handling.
type Work string

// The kinds of handling that a station may do beside steps.
const (
	Receiving Work = "receiving"
	Yard      Work = "yard"
	Staging   Work = "staging"
	Loadout   Work = "loadout"
)

// Steps are all steps, in the usual order.
var Steps = []Step{Cut, CutAndBend, Saw, Bend, Thread, Head, Coat, Tie}

// Station is a place where scans happen, as the plant's settings state it.
type Station struct {
	Name    string   // short and unique: "S1"
	Title   string   // for people: "Shear 1"
	Does    []Work   // steps and handling
	Feeds   []string // of a cut station, at least one
	Pockets []string // places behind the table, may be none
	// Single says that a run there is of one bundle: the next one that is scanned closes it.
	Single bool
	// Stops are where the table can be stopped, rising; none where a motor moves the stop.
	Stops  []bar.Length
	Travel bar.Length // how far the table moves out from a stop
}

// Can says whether the station does the work.
func (s Station) Can(w Work) bool { return slices.Contains(s.Does, w) }

// Rules are the plant's settings that a decision uses.
type Rules struct {
	Plant    int
	Name     string // of the plant
	Zone     *time.Location
	Units    bar.Units
	Stations []Station
	// Pause is the time within which a second read of the same tag by the same device is the same
	// pull of the trigger.
	Pause time.Duration
	// Repeat is the time within which the same refusal of the same tag at the same device is not
	// written again.
	Repeat time.Duration
	// Least is the time within which nobody makes a bundle; 0 is no such time.
	Least time.Duration
	// Ends are when the shifts end, at which everybody leaves the crews; none: people leave by badge.
	Ends []Clock
	// Keep is the least length of a remnant worth keeping, by size; the size "" is for all others.
	Keep map[bar.Size]bar.Length
	// Stock are the lengths of bar that the plant buys, the first the usual one: what a cut is
	// planned on where no stock is on hand.
	Stock []bar.Length
	// Calendar is when the plant works, for when a truck leaves and what will be ready by then.
	Calendar load.Calendar
	// Days is how many of the last days make the pace of a station.
	Days int
}

// Station finds a station by name.
func (r Rules) Station(name string) (Station, bool) {
	for i := range r.Stations {
		if r.Stations[i].Name == name {
			return r.Stations[i], true
		}
	}
	return Station{}, false
}

// When writes a moment (Unix ms) in the plant's zone.
func (r Rules) When(ms int64) string {
	return time.UnixMilli(ms).In(r.Zone).Format("2006-01-02 15:04")
}

// KeepFrom is the least useful remnant of a size.
func (r Rules) KeepFrom(s bar.Size) bar.Length {
	if l, ok := r.Keep[s]; ok {
		return l
	}
	return r.Keep[""]
}
