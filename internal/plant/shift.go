package plant

import (
	"slices"
	"strings"
	"time"

	"tagd/internal/load"
	"tagd/internal/scan"
)

// Bounds that no plant reaches.
const (
	maxShifts = 50
	maxClosed = 1000
)

// weekdays are the days of the week as the settings write them.
var weekdays = []string{"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"}

// readShifts reads when the plant works. A file without a shift has those of the default file; an empty
// list is a plant that says nothing of when it works.
func (s *Settings) readShifts(root, calendar table) {
	s.Calendar.Zone = s.Zone
	whole := root.each("shift", maxShifts, func(t table) {
		t.only([]string{"name", "days", "from", "to"})
		s.Calendar.Shifts = append(s.Calendar.Shifts, readShift(t))
	})
	if !whole {
		return
	}
	s.Calendar.Closed, _ = calendar.texts("closed", maxClosed, 10)
	for _, day := range s.Calendar.Closed {
		if _, err := time.Parse(time.DateOnly, day); err != nil {
			calendar.fault("closed", "has %q, which is no day; write each as \"2026-11-26\"", day)
		}
	}
}

// readShift reads one shift.
func readShift(t table) (out load.Shift) {
	if t.has("name") {
		out.Name, _ = t.text("name", 40)
	}
	days := weekdays[:5]
	if t.has("days") {
		var ok bool
		if days, ok = t.texts("days", len(weekdays), 9); ok && len(days) == 0 {
			t.fault("days", "is empty; write one or more of %s, or leave it out for Monday to Friday", listed(weekdays))
		}
	}
	for _, d := range days {
		i := slices.IndexFunc(weekdays, func(w string) bool { return strings.EqualFold(w, d) })
		if i < 0 {
			t.fault("days", "has %q; write one or more of %s", d, listed(weekdays))
			continue
		}
		out.Days = append(out.Days, time.Weekday((i+1)%7))
	}
	for _, f := range []struct {
		key string
		to  *time.Duration
	}{{"from", &out.From}, {"to", &out.To}} {
		if !t.has(f.key) {
			t.fault(f.key, "is missing; write a time of day, as \"06:00\"")
			continue
		}
		text, ok := t.text(f.key, 5)
		if !ok {
			continue
		}
		if *f.to, ok = load.Clock(text); !ok {
			t.fault(f.key, "is %q; write a time of day from 00:00 to 23:59, as \"06:00\"", text)
		}
	}
	return out
}

// ends are the times of day at which shifts end, each once.
func (s Settings) ends() (out []scan.Clock) {
	for _, shift := range s.Calendar.Shifts {
		if at := scan.Clock(shift.To / time.Minute); !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	return out
}
