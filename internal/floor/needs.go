package floor

import (
	"time"

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
	day := now.In(rules.Zone)
	out := Outlook{At: now, Since: time.Date(day.Year(), day.Month(), day.Day()-rules.Days, 0, 0, 0, 0, rules.Zone)}
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
