package floor

import (
	"context"
	"fmt"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// one records a single event that a room has checked.
func one[T event.Body](f *Floor, ctx context.Context, o Origin, decide func(*view.Past) (T, error)) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		e, err := decide(p)
		return Decision{Events: []event.Body{e}}, err
	})
}

// told records a single event that a room has decided, with the answer that goes with it.
func told[T event.Body](f *Floor, ctx context.Context, o Origin, decide func(*view.Past) (T, event.Answer, error)) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		e, a, err := decide(p)
		return Decision{Answer: &a, Events: []event.Body{e}}, err
	})
}

// decided records what a room decided, with the answer that it gives.
func (f *Floor) decided(ctx context.Context, o Origin, decide func(*view.Past) (scan.Outcome, error)) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		out, err := decide(p)
		return Decision{Answer: &out.Answer, Events: out.Events}, err
	})
}

// Body is the first event of a receipt as a T.
func Body[T event.Body](r Receipt) (T, error) {
	if len(r.Events) > 0 {
		if b, ok := r.Events[0].Body.(T); ok {
			return b, nil
		}
	}
	var none T
	return none, fmt.Errorf("%w: it recorded something else", ErrOtherRequest)
}

// mostDevices is how many devices' newest reads are kept; a plant has a few dozen.
const mostDevices = 10_000

// Scan takes a scan at a station. Its answer is in the receipt, and the number that it is about.
func (f *Floor) Scan(ctx context.Context, o Origin, s scan.Scan) (Receipt, tags.Number, error) {
	var show tags.Number
	o.Device, o.Station = s.Device, s.Station
	var err error
	if s.Why, err = event.CleanText("why", s.Why, event.MostReason); err != nil {
		return Receipt{}, 0, err
	}
	r, err := f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		s.Before = f.reads[s.Device]
		out := scan.Decide(p, f.cfg.Rules, s)
		show = out.Show
		if len(f.reads) > mostDevices {
			clear(f.reads)
		}
		f.reads[s.Device] = scan.Reading{Number: show, Station: s.Station, At: s.At}
		return Decision{Answer: &out.Answer, Events: out.Events, Crew: f.crew(p, s, show)}, nil
	})
	if r.Again {
		show = view.Subject(r.Events)
	}
	return r, show, err
}

// crew are the badges of those who scan: the crew of the station, or whose badge it is.
func (f *Floor) crew(p *view.Past, s scan.Scan, show tags.Number) (out []tags.Number) {
	if show.Kind() == tags.Person && p.Person(show) {
		return []tags.Number{show}
	}
	for _, a := range f.cfg.Rules.Aboard(p.Floor(s.Station), s.At) {
		out = append(out, a.Person)
	}
	return out
}

// SetJob makes a job or states it anew.
func (f *Floor) SetJob(ctx context.Context, o Origin, j event.JobSet) (Receipt, error) {
	return one(f, ctx, o, func(*view.Past) (event.JobSet, error) { return barlist.SetJob(j) })
}

// TakeList takes a bar list that was read without faults, and about which nothing has to be decided.
func (f *Floor) TakeList(ctx context.Context, o Origin, file barlist.File) (barlist.Taken, Receipt, error) {
	return f.Revise(ctx, o, file, barlist.Said{})
}

// Revise takes a bar list that was read without faults, with what people decided about begun bundles. It
// is what TakeList does with a list that stands.
func (f *Floor) Revise(ctx context.Context, o Origin, file barlist.File, said barlist.Said) (barlist.Taken, Receipt, error) {
	var t barlist.Taken
	r, err := f.Do(ctx, o, func(p *view.Past) (d Decision, err error) {
		t, err = barlist.Take(p, file, f.cfg.Limits, said)
		return Decision{Events: t.Events}, err
	})
	return t, r, err
}

// Receive takes a stock lot in, and gives it its number.
func (f *Floor) Receive(ctx context.Context, o Origin, lot event.LotReceived) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.LotReceived, error) {
		e, err := heat.Receive(p, lot)
		if err == nil {
			e.Lot = p.Fresh(tags.Stock)
		}
		return e, err
	})
}

// ReceiveCoil takes a lot of coil in, and gives it its number.
func (f *Floor) ReceiveCoil(ctx context.Context, o Origin, lot event.CoilReceived) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.CoilReceived, error) {
		e, err := heat.ReceiveCoil(p, lot)
		if err == nil {
			e.Lot = p.Fresh(tags.Stock)
		}
		return e, err
	})
}

// RowError is a refusal of the Row-th (from 0) of several things.
type RowError struct {
	Row int
	Err error
}

func (e *RowError) Error() string { return e.Err.Error() }
func (e *RowError) Unwrap() error { return e.Err }

// SetHeats corrects or adds the heats of a lot.
func (f *Floor) SetHeats(ctx context.Context, o Origin, e event.LotHeatSet) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.LotHeatSet, error) { return heat.Correct(p, e) })
}

// FileCert puts a cert on file. Its paper, if any, was stored before under its SHA-256.
func (f *Floor) FileCert(ctx context.Context, o Origin, e event.CertFiled) (Receipt, error) {
	return one(f, ctx, o, func(*view.Past) (event.CertFiled, error) { return heat.File(e) })
}

// ReviewCert says that a person has read a cert.
func (f *Floor) ReviewCert(ctx context.Context, o Origin, e event.CertReviewed) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.CertReviewed, error) {
		if !p.IsCert(e.Cert) {
			return e, &event.Refusal{Field: "cert", Says: fmt.Sprintf("%d is no cert on file", e.Cert)}
		}
		var err error
		e.Note, err = event.CleanText("note", e.Note, event.MostReason)
		return e, err
	})
}

// SetAlias makes another's code stand for one of our numbers.
func (f *Floor) SetAlias(ctx context.Context, o Origin, e event.AliasSet) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.AliasSet, error) {
		var err error
		if e.Text, err = word("alias", e.Text, 60); err != nil {
			return e, err
		}
		if _, err := tags.ParseNumber(e.Text); err == nil {
			return e, &event.Refusal{Field: "alias", Says: fmt.Sprintf("%s is a number of ours; it stands for itself", e.Text)}
		}
		if n, ok := p.Alias(e.Text); ok {
			return e, &event.Refusal{Field: "alias", Says: fmt.Sprintf("%q stands for %v already", e.Text, n)}
		}
		if !p.Known(e.Number) {
			return e, &event.Refusal{Field: "number", Says: fmt.Sprintf("%v is not known here", e.Number)}
		}
		return e, nil
	})
}

func word(field, s string, most int) (string, error) {
	s, err := event.CleanText(field, s, most)
	if err == nil && s == "" {
		err = &event.Refusal{Field: field, Says: "is empty"}
	}
	return s, err
}

// MakePlace makes a place of the yard. A name is given once.
func (f *Floor) MakePlace(ctx context.Context, o Origin, name string) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.PlaceMade, error) {
		name, err := word("name", name, 20)
		if err != nil {
			return event.PlaceMade{}, err
		}
		if n, ok := p.PlaceNamed(name); ok {
			return event.PlaceMade{}, &event.Refusal{Field: "name", Says: fmt.Sprintf("%s is a place already, %v", name, n)}
		}
		return event.PlaceMade{Place: p.Fresh(tags.Place), Name: name}, nil
	})
}

// Hold stops a heat, lot, bundle or load.
func (f *Floor) Hold(ctx context.Context, o Origin, e event.HoldPut) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.HoldPut, error) { return heat.Put(p, e, p.KnownTarget) })
}

// Lift ends a hold.
func (f *Floor) Lift(ctx context.Context, o Origin, e event.HoldLifted) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.HoldLifted, error) { return heat.Lift(p, e) })
}

// Undo takes back the newest progress of a bundle. The answer in the receipt says what else became of
// it, such as remnants of a run that closes with it.
func (f *Floor) Undo(ctx context.Context, o Origin, n tags.Number, reason string) (Receipt, error) {
	return told(f, ctx, o, func(p *view.Past) (event.Undone, event.Answer, error) { return scan.Undo(p, f.cfg.Rules, n, reason) })
}

// Void takes a bundle that is not begun out of the work.
func (f *Floor) Void(ctx context.Context, o Origin, n tags.Number, reason string) (Receipt, error) {
	return one(f, ctx, o, func(p *view.Past) (event.BundleVoided, error) { return scan.Void(p, n, reason) })
}

// Print records one more copy of a tag, and says which.
func (f *Floor) Print(ctx context.Context, o Origin, numbers []tags.Number) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		var d Decision
		for _, n := range numbers {
			c, ok := p.Copy(n)
			if !ok {
				return d, &event.Refusal{Field: "number", Says: fmt.Sprintf("%v is not known here", n)}
			}
			d.Events = append(d.Events, event.TagPrinted{Number: n, Copy: c + 1})
		}
		return d, nil
	})
}

// Restored marks a store that came back from a backup: a new UUID, and serials that jump, so that no
// tag printed after the backup was made comes twice.
func (f *Floor) Restored(ctx context.Context, id string) error {
	_, err := one(f, ctx, Origin{}, func(*view.Past) (event.StoreRestored, error) {
		return event.StoreRestored{UUID: id, Jump: jump}, nil
	})
	return err
}

// jump is how far serials jump at a restore: more tags than a plant prints in a lost day.
const jump = 100_000
