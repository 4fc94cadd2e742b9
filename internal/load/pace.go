package load

import (
	"cmp"
	"slices"
	"time"
)

// # How fast a station works
//
// A record is one bundle done at one step: how long the station was at it, and how many pieces that
// were. The time runs from the later of the bundle's start and the station's last done bundle, so that
// bundles that were begun together do not count the same minutes twice:
//
//	seconds a piece = (done - max(started, done before)) / pieces
//
// The pace of a station at a step for a class of sizes is the median of its records, with the lower and
// the upper quartile as its spread. Fewer than Enough records make no pace.
//
// Worked example: Shear 1 has cut #5 five times, 40 pieces in 600, 480, 560, 720 and 520 s: 15, 12, 14,
// 18 and 13 s a piece. The median is 14 s, the quartiles are 13 and 15 s: 100 pieces take 1,400 s, and
// 1,300 to 1,500 as a rule.

// Class is a class of sizes that a station handles alike.
type Class string

// The classes, by the diameter of the bar. Common practice, no source: up to #5 (16 mm) bars are moved
// by hand in bunches, from #9 (29 mm) on one by one or with the crane.
const (
	Light Class = "light"
	Mid   Class = "mid"
	Heavy Class = "heavy"
)

// ClassOf is the class of a diameter in millimetres.
func ClassOf(mm float64) Class {
	switch {
	case mm < 17:
		return Light
	case mm < 28:
		return Mid
	}
	return Heavy
}

// Enough is how many records make a pace.
const Enough = 5

// mostRecords is how many of the newest records of one kind count.
const mostRecords = 200

// Kind is what is compared: the work of a station at a step on a class of sizes.
type Kind struct {
	Station string
	Step    string
	Class   Class
}

// Pace is how long a piece takes.
type Pace struct {
	Kind
	Median, Low, High time.Duration // a piece: median and quartiles
	Records           int
}

// Records are what stations have done, for their pace. The zero value is ready.
type Records struct {
	each map[Kind][]time.Duration // a piece, oldest first
	last map[string]time.Time     // by station: done before
}

// Add adds a bundle done. Without pieces, or with a clock that ran backwards, it is no record, but the
// station's time goes on.
func (r *Records) Add(k Kind, started, done time.Time, pieces int) {
	if r.each == nil {
		r.each, r.last = map[Kind][]time.Duration{}, map[string]time.Time{}
	}
	from := started
	if before := r.last[k.Station]; before.After(from) {
		from = before
	}
	if done.After(r.last[k.Station]) {
		r.last[k.Station] = done
	}
	if pieces <= 0 || !done.After(from) {
		return
	}
	all := append(r.each[k], done.Sub(from)/time.Duration(pieces))
	r.each[k] = all[max(0, len(all)-mostRecords):]
}

// Pace is the pace of a kind of work; false where there are too few records.
func (r *Records) Pace(k Kind) (Pace, bool) {
	all := slices.Sorted(slices.Values(r.each[k]))
	p := Pace{Kind: k, Records: len(all)}
	if len(all) < Enough {
		return p, false
	}
	p.Low, p.Median, p.High = quantile(all, 1), quantile(all, 2), quantile(all, 3)
	return p, true
}

// Paces are all kinds of work with records, by station, step and class.
func (r *Records) Paces() []Pace {
	var out []Pace
	for k := range r.each {
		p, _ := r.Pace(k)
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b Pace) int {
		return cmp.Or(cmp.Compare(a.Station, b.Station), cmp.Compare(a.Step, b.Step), cmp.Compare(a.Class, b.Class))
	})
	return out
}

// quantile is the q-th quartile of sorted values: between two neighbours in proportion (Hyndman and Fan,
// Sample Quantiles in Statistical Packages, 1996, type 7).
func quantile(sorted []time.Duration, q int) time.Duration {
	at := (len(sorted) - 1) * q
	i, rest := at/4, at%4
	if rest == 0 {
		return sorted[i]
	}
	return sorted[i] + (sorted[i+1]-sorted[i])*time.Duration(rest)/4
}
