// Package load knows truck loads: what is planned for a truck, what lies on it, and what may go on.
//
// A load is planned, open from the first bundle on it, and shipped when it leaves. Going onto a truck
// may be refused; a truck that has left has left, and is recorded so.
package load

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Load is the state of a truck load.
type Load struct {
	Number  tags.Number   `cbor:"1,keyasint"`
	Date    string        `cbor:"2,keyasint,omitempty"` // yyyy-mm-dd
	Truck   string        `cbor:"3,keyasint,omitempty"`
	Limit   bar.Mass      `cbor:"4,keyasint,omitempty"`
	Stops   []event.Stop  `cbor:"5,keyasint"`
	Planned []tags.Number `cbor:"6,keyasint,omitempty"`
	Count   int           `cbor:"7,keyasint,omitempty"` // bundles on it
	Mass    bar.Mass      `cbor:"8,keyasint,omitempty"` // nominal, of what is on it
	Shipped int64         `cbor:"9,keyasint,omitempty"` // Unix ms; 0: here
	Copy    int           `cbor:"10,keyasint,omitempty"`
}

// State is the load's word: planned, open or shipped.
func (l Load) State() string {
	switch {
	case l.Shipped != 0:
		return "shipped"
	case l.Count > 0:
		return "open"
	}
	return "planned"
}

// For says whether a stop of the load is for the job.
func (l Load) For(job string) bool {
	return slices.ContainsFunc(l.Stops, func(s event.Stop) bool { return s.Job == job })
}

// Jobs are the jobs of the stops, in order of the stops.
func (l Load) Jobs() []string {
	var out []string
	for _, s := range l.Stops {
		if !slices.Contains(out, s.Job) {
			out = append(out, s.Job)
		}
	}
	return out
}

// Plan checks a load's plan. Loads of other plants' bundles, or of jobs that are not known, are
// refused; a load that has left can be planned no more.
func Plan(past interface {
	Load(tags.Number) (Load, bool)
	HasJob(string) bool
	BundleJob(tags.Number) (string, bool)
	PlannedOn(tags.Number) (tags.Number, bool)
	// Left says why a bundle can go onto no load any more: "is voided", "left on load ..."; else "".
	Left(tags.Number) string
}, e event.LoadPlanned) (event.LoadPlanned, error) {
	refuse := func(field, format string, args ...any) (event.LoadPlanned, error) {
		return e, &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
	}
	if l, ok := past.Load(e.Load); ok && l.Shipped != 0 {
		return refuse("load", "%v left already; plan another one", e.Load)
	}
	if e.Date != "" {
		if _, err := time.Parse(time.DateOnly, e.Date); err != nil {
			return refuse("date", "%q is no day; write it as 2026-11-25", e.Date)
		}
	}
	if e.Limit < 0 {
		return refuse("limit", "is less than nothing")
	}
	if len(e.Stops) == 0 {
		return refuse("stops", "are missing; name the job of each stop")
	}
	if len(e.Stops) > 50 || len(e.Bundles) > 2000 {
		return refuse("stops", "50 stops and 2,000 bundles are the most of one load")
	}
	var err error
	if e.Truck, err = event.CleanText("truck", e.Truck, event.MostWords); err != nil {
		return e, err
	}
	e.Stops = slices.Clone(e.Stops)
	for i := range e.Stops {
		e.Stops[i].Job = strings.TrimSpace(e.Stops[i].Job)
		if e.Stops[i].ShipTo, err = event.CleanLines("stops", e.Stops[i].ShipTo); err != nil {
			return e, err
		}
		if !past.HasJob(e.Stops[i].Job) {
			return refuse("stops", "stop %d: job %q is not known; make the job first", i+1, e.Stops[i].Job)
		}
	}
	for i, b := range e.Bundles {
		job, ok := past.BundleJob(b)
		switch on, planned := past.PlannedOn(b); {
		case !ok:
			return refuse("bundles", "%v is no bundle of this plant", b)
		case past.Left(b) != "":
			return refuse("bundles", "%v %s", b, past.Left(b))
		case !slices.ContainsFunc(e.Stops, func(s event.Stop) bool { return s.Job == job }):
			return refuse("bundles", "%v is for job %s, and no stop is", b, job)
		case slices.Contains(e.Bundles[:i], b):
			return refuse("bundles", "%v stands there twice", b)
		case planned && on != e.Load:
			return refuse("bundles", "%v is planned on load %v; take it off that one first", b, on)
		}
	}
	return e, nil
}
