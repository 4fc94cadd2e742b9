package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Ticket is the newest scale ticket of a load.
func (p *Past) Ticket(l load.Load) (t event.LoadWeighed, ok bool) {
	if l.Weighed == 0 {
		return t, false
	}
	t, ok = p.Event(l.Weighed).Body.(event.LoadWeighed)
	return t, ok
}

// Handover is the newest delivery of a stop of a load.
func (p *Past) Handover(s load.Stop) (d event.LoadDelivered, ok bool) {
	if s.Delivered == 0 {
		return d, false
	}
	d, ok = p.Event(s.Delivered).Body.(event.LoadDelivered)
	return d, ok
}

// Sent is a bundle that went with a load.
type Sent struct {
	Bundle scan.Bundle
	Went   int // pieces
	There  int // of them, those that are there by the record
}

// SentWith are all bundles that went with a load, by number, also those that came back. Pieces that came
// back under another number are of the bundle with which they went.
func (p *Past) SentWith(n tags.Number) (out []Sent) {
	p.Loaded(n, func(m tags.Number) bool {
		b, _ := p.Bundle(m)
		out = append(out, Sent{b, b.Left(), b.Pieces})
		return true
	})
	p.CameBack(n, func(m tags.Number, went int, _ uint64) bool {
		b, _ := p.Bundle(m)
		out = append(out, Sent{b, went, 0})
		return true
	})
	slices.SortFunc(out, func(a, b Sent) int { return int(int64(a.Bundle.Number) - int64(b.Bundle.Number)) })
	return out
}

// ClaimsAfter are the claims on a load, or with 0 on all, that were made after a sequence, oldest first; with
// open those that are not answered.
func (p *Past) ClaimsAfter(on tags.Number, after uint64, open bool) (out []uint64) {
	p.Claims(on, func(seq, answer uint64) bool {
		if seq > after && (!open || answer == 0) {
			out = append(out, seq)
		}
		return true
	})
	slices.Sort(out)
	return out
}
