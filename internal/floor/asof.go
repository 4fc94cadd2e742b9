package floor

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"tagd/internal/event"
	"tagd/internal/view"
)

// AsOf is the past as of a moment, to be asked what the texts ask for and nothing else (see view.Past.AsOf).
// A moment is the sequence of a record, a time with its offset (2026-11-25T14:00:00-06:00), or a time or
// day by the plant's clock (2026-11-25 14:00; of a day, its end); "" is now, and gives the past itself. What
// is no moment, or before the first record, is a *event.Refusal of the field "as_of".
func (f *Floor) AsOf(p *view.Past, moment string, about ...string) (*view.Past, error) {
	if moment = strings.TrimSpace(moment); moment == "" {
		return p, nil
	}
	seq, err := f.recordAt(p, moment)
	if err != nil {
		return nil, err
	}
	return p.AsOf(seq, about...)
}

func (f *Floor) recordAt(p *view.Past, moment string) (uint64, error) {
	no := func(format string, args ...any) (uint64, error) {
		return 0, &event.Refusal{Field: "as_of", Says: fmt.Sprintf(format, args...)}
	}
	if seq, err := strconv.ParseUint(moment, 10, 64); err == nil {
		if seq > p.Head() {
			return no("is record %d, and the newest one is %d", seq, p.Head())
		}
		return seq, nil
	}
	at, day, ok := f.moment(moment)
	if !ok {
		return no("is no moment: %q; write a record's number, 2026-11-25T14:00:00-06:00, or by the plant's clock 2026-11-25 14:00 or 2026-11-25", moment)
	}
	if day {
		at = at.AddDate(0, 0, 1).Add(-time.Millisecond)
	}
	seq, ok := p.RecordAt(at.UnixMilli())
	if !ok {
		return no("is before the first record, which was made %s", f.cfg.Rules.When(p.When(0)))
	}
	return seq, nil
}

// moments are how a person writes a time of the plant, beside RFC 3339.
var moments = []string{"2006-01-02 15:04:05", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02T15:04"}

// moment reads a time as a person writes it, or a day of the plant, which is when it begins.
func (f *Floor) moment(text string) (at time.Time, day, ok bool) {
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return at, false, true
	}
	for _, form := range moments {
		if at, err := time.ParseInLocation(form, text, f.cfg.Rules.Zone); err == nil {
			return at, false, true
		}
	}
	at, err := time.ParseInLocation(time.DateOnly, text, f.cfg.Rules.Zone)
	return at, true, err == nil
}
