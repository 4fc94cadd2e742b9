package floor

import (
	"context"
	"fmt"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// Unread records a kept scan of which no scan can be made: its text, and why it cannot be read. The time
// of o is that of the device.
func (f *Floor) Unread(ctx context.Context, o Origin, text, why string) (Receipt, error) {
	return f.decided(ctx, o, func(*view.Past) (scan.Outcome, error) {
		at := o.Happened
		if at.IsZero() {
			at = f.cfg.Now()
		}
		return scan.Unread(f.cfg.Rules, text, why, at.UnixMilli()), nil
	})
}

// Resolve settles what the event at s.Seq left to look at. It takes the badge of a person who holds the
// office that may; where nobody holds it, anybody may.
func (f *Floor) Resolve(ctx context.Context, o Origin, person tags.Number, s scan.Settling) (Receipt, error) {
	if person != 0 {
		o.People, o.Identified = []tags.Number{person}, event.Badge
	}
	return f.do(ctx, o, func(tx store.Tx, p *view.Past) (Decision, error) {
		if person != 0 && !p.Person(person) {
			return Decision{}, &event.Refusal{Field: "person", Says: fmt.Sprintf("%v is no badge of this plant", person)}
		}
		open := p.Open(s.Seq)
		as := ""
		if open {
			offices := map[tags.Number][]scan.Office{}
			for n, who := range peopleIn(tx) {
				offices[n] = who.Offices
			}
			var err error
			if as, err = scan.As(scan.Who(*p.Event(s.Seq).Answer), person, offices); err != nil {
				return Decision{}, err
			}
		}
		a, events, err := scan.Resolve(p, f.cfg.Rules, open, s, as)
		return Decision{Answer: &a, Events: events}, err
	})
}
