package floor

import (
	"context"
	"time"

	"tagd/internal/bar"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/view"
)

// Outlook is what the trucks need, what the stock on hand is short of, and who misses the truck.
type Outlook struct {
	At time.Time
	scan.Wanted
	scan.Shortage
	Forecasts []load.Forecast // of each need, in their order
	Paces     []load.Pace     // of all work with records in the last days
	Since     time.Time       // of the records
}

// Outlook works out what the trucks need by now. It also calls with, if that is not nil, on the same state.
func (f *Floor) Outlook(now time.Time, with func(*view.Past, *Outlook) error) (Outlook, error) {
	rules := f.cfg.Rules
	out := Outlook{At: now, Since: f.daysBefore(now, rules.Days)}
	err := f.View(func(p *view.Past) error {
		out.Wanted = scan.Needs(p, rules)
		out.Shortage = out.Wanted.Shortage(p, rules)
		f.worked.Records(p, out.Since, func(r *load.Records) {
			out.Forecasts = out.Foresee(now, rules, r)
			out.Paces = r.Paces()
		})
		if with == nil {
			return nil
		}
		return with(p, &out)
	})
	return out, err
}

// daysBefore is the beginning of the plant's day some days before a moment.
func (f *Floor) daysBefore(now time.Time, days int) time.Time {
	day := now.In(f.cfg.Rules.Zone)
	return time.Date(day.Year(), day.Month(), day.Day()-days, 0, 0, 0, 0, f.cfg.Rules.Zone)
}

// Today calls use for all work that was done on the plant's day of a moment, in the order of the record.
func (f *Floor) Today(p *view.Past, now time.Time, use func(view.Work)) {
	f.worked.Each(p, f.daysBefore(now, f.cfg.Rules.Days), f.daysBefore(now, 0), use)
}

// LoadedToday calls use for all bundles that went onto a truck on the plant's day of a moment and lie there still:
// where and when that was, in ms of Unix time, and what they weigh.
func (f *Floor) LoadedToday(p *view.Past, now time.Time, use func(station string, at int64, mass bar.Mass)) {
	f.worked.EachLoaded(p, f.daysBefore(now, f.cfg.Rules.Days), f.daysBefore(now, 0), use)
}

// LastScans are the newest scans at a station, the newest first, refusals included.
func (f *Floor) LastScans(p *view.Past, station string) []view.Scanned {
	return f.recent.At(p, station)
}

// Progress is how far the lists of a job are by the state of p, by their numbers. It is kept in memory until
// something of the job moves, and not to be changed.
func (f *Floor) Progress(p *view.Past, job string) []view.ListProgress { return f.far.Of(p, job) }

// ReadPaces reads the record ahead for how fast the stations work, part by part until ctx ends, so that the
// first who asks for an Outlook does not wait for it.
func (f *Floor) ReadPaces(ctx context.Context) error {
	since := f.daysBefore(f.cfg.Now(), f.cfg.Rules.Days)
	for more := true; more && ctx.Err() == nil; {
		if err := f.View(func(p *view.Past) error {
			more = f.worked.Ahead(p, since)
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}
