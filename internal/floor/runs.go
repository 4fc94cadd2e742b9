package floor

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// RunsAsked reads what a person says about which runs of a station are meant: from and to are each a run's
// number, or a day or time of the plant; "" is no bound. Runs are meant that were open between two times,
// and that were opened from one run to another.
func (f *Floor) RunsAsked(p *view.Past, station, from, to string) (q view.RunsAsked, err error) {
	q.Station = station
	if _, ok := f.cfg.Rules.Station(station); station != "" && !ok {
		return q, &event.Refusal{Field: "station", Says: station + " is not in the plant's settings"}
	}
	seq, at, err := f.bound("from", from, false)
	if err != nil {
		return q, err
	}
	if q.First = seq; !at.IsZero() {
		q.Ended = p.SeqAt(at.UnixMilli())
	}
	if seq, at, err = f.bound("to", to, true); err != nil {
		return q, err
	}
	if q.Last = seq; !at.IsZero() {
		q.Last = max(2, p.SeqAt(at.UnixMilli())) - 1 // what is recorded first opens no run
	}
	return q, nil
}

// bound reads one of them. A day as the end is its end.
func (f *Floor) bound(field, text string, end bool) (seq uint64, at time.Time, err error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0, at, nil
	}
	if seq, err = strconv.ParseUint(text, 10, 63); err == nil {
		return seq, at, nil
	}
	at, day, ok := f.moment(text)
	if !ok {
		return 0, at, &event.Refusal{Field: field, Says: fmt.Sprintf("%q is no run and no time; write a run's number, or 2026-01-05 14:00", text)}
	}
	if day && end {
		at = at.AddDate(0, 0, 1)
	}
	return 0, at, nil
}

// Mendable are the runs that are asked for in which a lot may have been cut and was not scanned, or with
// not, of which the record says that it may: those of its steel, of which no person has said the lots.
func Mendable(p *view.Past, q view.RunsAsked, lot tags.Number, not bool) (out []uint64) {
	l, _ := p.Lot(lot)
	p.Runs(q, func(r scan.Run) bool {
		if r.Steel.Matches(l.Steel) && !r.Said && slices.Contains(r.Lots, lot) == not {
			out = append(out, r.Seq)
		}
		return true
	})
	return out
}
