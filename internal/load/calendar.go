package load

import (
	"slices"
	"time"
)

// Shift is a time in which the shop works: on some days of the week, from one time of day to another.
// One that ends at or before its beginning runs into the next day.
type Shift struct {
	Name string
	Days []time.Weekday // on which it begins
	From time.Duration  // since midnight by the plant's clock
	To   time.Duration
}

// Calendar is when a plant works. Without shifts it is never known to work.
type Calendar struct {
	Zone   *time.Location
	Shifts []Shift
	Closed []string // days without work, yyyy-mm-dd
}

// span is a stretch of work.
type span struct{ from, to time.Time }

// spans are the stretches of work that begin on a day of the plant, in order. Those of shifts that overlap do so
// too.
func (c Calendar) spans(day time.Time) []span {
	if slices.Contains(c.Closed, day.Format(time.DateOnly)) {
		return nil
	}
	var out []span
	for _, s := range c.Shifts {
		if !slices.Contains(s.Days, day.Weekday()) {
			continue
		}
		to := s.To
		if to <= s.From {
			to += 24 * time.Hour
		}
		out = append(out, span{c.at(day, s.From), c.at(day, to)})
	}
	slices.SortFunc(out, func(a, b span) int { return a.from.Compare(b.from) })
	return out
}

// at is a time of day, since midnight: one of the clock on the wall, since on the night of a change it is
// not so many hours after midnight.
func (c Calendar) at(day time.Time, of time.Duration) time.Time {
	return time.Date(day.Year(), day.Month(), day.Day(), int(of/time.Hour), int(of%time.Hour/time.Minute), 0, 0, c.Zone)
}

// mostDays is how far ahead work is laid: a plant with a calendar works on some day of a year.
const mostDays = 366

// each calls f for the stretches of work after a moment, none twice, until f returns false. It says
// whether f did.
func (c Calendar) each(after time.Time, f func(span) bool) bool {
	local := after.In(c.Zone)
	done := after
	for i := -1; i < mostDays; i++ { // the night shift of the day before may still run
		day := time.Date(local.Year(), local.Month(), local.Day()+i, 12, 0, 0, 0, c.Zone)
		for _, s := range c.spans(day) {
			if s.from.Before(done) {
				s.from = done // shifts that overlap are one time of work, not two
			}
			if !s.to.After(s.from) {
				continue
			}
			done = s.to
			if !f(s) {
				return true
			}
		}
	}
	return false
}

// Ahead is the working time after a moment.
type Ahead struct {
	spans []span
	sum   []time.Duration // work before each span
}

// Ahead lays out the working time of a year after a moment.
func (c Calendar) Ahead(now time.Time) Ahead {
	var a Ahead
	var sum time.Duration
	c.each(now, func(s span) bool {
		a.spans, a.sum = append(a.spans, s), append(a.sum, sum)
		sum += s.to.Sub(s.from)
		return true
	})
	return a
}

// Time is the moment at which so much work has been done: work goes on in shifts only. It is false when
// there is no such work within a year.
func (a Ahead) Time(work time.Duration) (time.Time, bool) {
	// The last span before which less work lies, so that what ends with a shift ends then.
	i, _ := slices.BinarySearch(a.sum, work)
	if i > 0 {
		i--
	}
	if i >= len(a.spans) {
		return time.Time{}, false
	}
	end := a.spans[i].from.Add(work - a.sum[i])
	return end, !end.After(a.spans[i].to)
}

// Work is how long the shop works until a moment.
func (a Ahead) Work(until time.Time) time.Duration {
	var sum time.Duration
	for i, s := range a.spans {
		if !s.from.Before(until) {
			break
		}
		if s.to.After(until) {
			s.to = until
		}
		sum = a.sum[i] + s.to.Sub(s.from)
	}
	return sum
}

// Hours are from when to when the plant works on a day; false where it does not.
func (c Calendar) Hours(day time.Time) (from, to time.Time, ok bool) {
	for _, s := range c.spans(day.In(c.Zone)) {
		if !ok || s.from.Before(from) {
			from = s.from
		}
		if !ok || s.to.After(to) {
			to = s.to
		}
		ok = true
	}
	return from, to, ok
}

// End is the end of the last stretch of work that begins on a day; noon's day counts. It is false on
// a day without work.
func (c Calendar) End(day time.Time) (time.Time, bool) {
	var end time.Time
	for _, s := range c.spans(day) {
		if s.to.After(end) {
			end = s.to
		}
	}
	return end, !end.IsZero()
}

// Clock reads a time of day as hh:mm, from 00:00 to 23:59.
func Clock(s string) (since time.Duration, ok bool) {
	t, err := time.Parse("15:04", s)
	if err != nil || len(s) != 5 {
		return 0, false
	}
	return time.Duration(t.Hour())*time.Hour + time.Duration(t.Minute())*time.Minute, true
}
