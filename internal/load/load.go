// Package load knows truck loads: what is planned for a truck, what lies on it, and when it leaves.
//
// A load is planned, open from the first bundle on it, shipped when it leaves, and delivered when the
// signed sheets of all its stops came back. A bundle is planned
// on one load at most, at one of its stops; what is not cut yet may be planned. Going onto a truck may
// be refused; a truck that has left has left, and is recorded so.
package load

import (
	"cmp"
	"slices"
	"time"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// Load is the state of a truck load. Which bundles are planned on it stands in rows of their own: the
// load is written anew with every bundle that goes onto it.
type Load struct {
	Number  tags.Number `cbor:"1,keyasint"`
	Date    string      `cbor:"2,keyasint,omitempty"` // yyyy-mm-dd
	Truck   string      `cbor:"3,keyasint,omitempty"`
	Limit   bar.Mass    `cbor:"4,keyasint,omitempty"`
	Stops   []Stop      `cbor:"5,keyasint"`
	Planned int         `cbor:"6,keyasint,omitempty"` // bundles planned on it
	Count   int         `cbor:"7,keyasint,omitempty"` // bundles on it
	Mass    bar.Mass    `cbor:"8,keyasint,omitempty"` // nominal, of what is on it
	Shipped int64       `cbor:"9,keyasint,omitempty"` // Unix ms; 0: here
	Copy    int         `cbor:"10,keyasint,omitempty"`
	Leaves  string      `cbor:"11,keyasint,omitempty"` // hh:mm by the plant's clock
	Trailer string      `cbor:"12,keyasint,omitempty"`
	Weighed uint64      `cbor:"13,keyasint,omitempty"` // sequence of the newest scale ticket
	Net     bar.Mass    `cbor:"14,keyasint,omitempty"` // by that ticket
}

// Stop is one address of a load, in the order in which it is driven to.
type Stop struct {
	Job     string   `cbor:"1,keyasint,omitempty"` // "": bundles of any job, at a processor
	ShipTo  []string `cbor:"2,keyasint,omitempty"` // none: the address of the job
	Contact string   `cbor:"3,keyasint,omitempty"`
	From    string   `cbor:"4,keyasint,omitempty"` // hh:mm, when the site takes it
	Until   string   `cbor:"5,keyasint,omitempty"`
	// Processor is who works on the bundles and gives them back; "" is a site.
	Processor string `cbor:"6,keyasint,omitempty"`
	Step      string `cbor:"7,keyasint,omitempty"` // that the processor does; "" is what no station here does
	Delivered uint64 `cbor:"8,keyasint,omitempty"` // sequence of its newest delivery; 0 none
}

// For says whether bundles of a job may go to the stop.
func (s Stop) For(job string) bool { return s.Job == job || s.Job == "" && s.Processor != "" }

// Delivered says whether the signed sheets of all stops came back.
func (l Load) Delivered() bool {
	return len(l.Stops) > 0 && !slices.ContainsFunc(l.Stops, func(s Stop) bool { return s.Delivered == 0 })
}

// State is the load's word: planned, open, shipped or delivered.
func (l Load) State() string {
	switch {
	case l.Shipped != 0 && l.Delivered():
		return "delivered"
	case l.Shipped != 0:
		return "shipped"
	case l.Count > 0:
		return "open"
	}
	return "planned"
}

// For says whether a stop of the load is for the job.
func (l Load) For(job string) bool { return l.Stop(job) >= 0 }

// Stop is the first stop for a job, from 0; less than 0 when there is none.
func (l Load) Stop(job string) int {
	return slices.IndexFunc(l.Stops, func(s Stop) bool { return s.For(job) })
}

// Jobs are the jobs of the stops, in order of the stops; a processor that takes any stands by its name.
func (l Load) Jobs() []string {
	var out []string
	for _, s := range l.Stops {
		name := s.Job
		if name == "" {
			name = s.Processor
		}
		if !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

// Spot is where on a load a bundle is planned.
type Spot struct {
	Bundle tags.Number
	Stop   int // from 0
	At     int // place in the order of planning at the stop
}

// Compare orders spots as a load is planned: by stop, then as they were named, then by number.
func (s Spot) Compare(o Spot) int {
	return cmp.Or(cmp.Compare(s.Stop, o.Stop), cmp.Compare(s.At, o.At), cmp.Compare(s.Bundle, o.Bundle))
}

// Leaving is when a load leaves, as far as its plan says it. Said is false when the plan names no time:
// then it is the end of the last shift of its day, and on a day without work the beginning of that day.
// A load without a date has the zero time: it leaves after all others.
func (l Load) Leaving(c Calendar) (at time.Time, said bool) {
	day, err := time.ParseInLocation(time.DateOnly, l.Date, c.Zone)
	if err != nil {
		return time.Time{}, false
	}
	if of, ok := Clock(l.Leaves); ok {
		return c.at(day, of), true
	}
	if end, ok := c.End(day.Add(12 * time.Hour)); ok {
		return end, false
	}
	return day, false
}
