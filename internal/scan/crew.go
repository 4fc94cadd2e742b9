package scan

import (
	"slices"
	"time"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Clock is a time of day: minutes since midnight, as the clock on the wall has it.
type Clock int

// crew judges a badge: it joins the crew of the station, and the same badge again leaves it.
func (j *judge) crew(n tags.Number) Outcome {
	floor := j.past.Floor(j.at.Name)
	out := Outcome{Show: n, Run: floor.Run}
	is := func(a Aboard) bool { return a.Person == n }
	aboard := j.rules.Aboard(floor, j.scan.At)
	if slices.ContainsFunc(aboard, is) {
		out.Answer = answer(event.Accepted, "crew left", n, j.at.Title)
		out.Events = []event.Body{event.CrewLeft{Station: j.at.Name, Person: n}}
		return out
	}
	out.Answer = answer(event.Accepted, "crew joined", n, j.at.Title)
	out.Events = []event.Body{event.CrewJoined{Station: j.at.Name, Person: n}}
	// Those who left as their shift ended are written down now, so that the crew on record stays short.
	for _, a := range floor.Crew {
		if !is(a) && !slices.Contains(aboard, a) {
			out.Events = append(out.Events, event.CrewLeft{Station: j.at.Name, Person: a.Person})
		}
	}
	return out
}

// Aboard are the people of a station's crew at a moment (Unix ms): those who joined, did not leave, and
// whose shift has not ended since.
func (r Rules) Aboard(f Floor, now int64) []Aboard {
	if len(f.Crew) == 0 {
		return nil
	}
	end := r.shiftEnd(now)
	return slices.DeleteFunc(slices.Clone(f.Crew), func(a Aboard) bool { return a.At < end })
}

// shiftEnd is the newest end of a shift that is not after a moment (Unix ms); 0 where shifts do not end.
func (r Rules) shiftEnd(now int64) int64 {
	var newest int64
	day := time.UnixMilli(now).In(r.Zone)
	for _, end := range r.Ends {
		// An end of today, or else of yesterday; of the day before where a zone skipped a whole day.
		for back := range 3 {
			if at := r.on(day.Year(), day.Month(), day.Day()-back, end).UnixMilli(); at <= now {
				newest = max(newest, at)
				break
			}
		}
	}
	return newest
}

// on is the first moment of a day of the plant at which the clock on the wall shows a time. Where it
// jumps over that time in spring, it is the moment of the jump; where it shows it twice in autumn, the
// first one.
func (r Rules) on(year int, month time.Month, day int, c Clock) time.Time {
	wall := time.Date(year, month, day, 0, int(c), 0, 0, time.UTC)
	_, before := wall.Add(-24 * time.Hour).In(r.Zone).Zone()
	_, behind := wall.Add(24 * time.Hour).In(r.Zone).Zone()
	one := wall.Add(-time.Duration(before) * time.Second).In(r.Zone)
	two := wall.Add(-time.Duration(behind) * time.Second).In(r.Zone)
	shows := func(t time.Time) bool {
		return t.Format(time.DateTime) == wall.Format(time.DateTime)
	}
	switch {
	case shows(one) && (!shows(two) || one.Before(two)):
		return one
	case shows(two):
		return two
	}
	jump, _ := one.ZoneBounds()
	return jump
}
