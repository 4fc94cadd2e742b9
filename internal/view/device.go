package view

import (
	"tagd/internal/event"
	"tagd/internal/tags"
)

// device keeps what the scanning device did last.
func (a *apply) device() {
	if a.e.Device == "" || a.e.Answer == nil {
		return
	}
	d := a.Device(a.e.Device)
	d.At, d.Station, d.Seq = a.e.Happened, a.e.Station, a.seq
	if d.Answer = a.e.Answer; d.Answer.Verdict != event.Refused {
		d.Answer = &event.Answer{Verdict: d.Answer.Verdict} // only a refusal is compared with the next one
	}
	switch b := a.e.Body.(type) {
	case event.LoadOpened:
		d.Load, d.Last = b.Load, b.Load
	case event.PlaceOpened:
		d.Put, d.Last = b.Place, b.Place
	case event.Shipped:
		d.Load, d.Last = 0, b.Load
	case event.ScanDisputed:
		d.Load, d.Put, d.Last = b.Load, b.Put, b.Number
	default:
		d.Last = subject(a.e.Body)
	}
	write(a, &a.devices, tFloor, a.e.Device, deviceKey, d)
}

// subject is the number that a scan's event is about.
func subject(b event.Body) tags.Number {
	switch b := b.(type) {
	case event.FeedCharged:
		return b.Lot
	case event.FeedEmptied:
		return b.Lot
	case event.RunOpened:
		return b.Bundle
	case event.RunJoined:
		return b.Bundle
	case event.CardShown:
		return b.Bundle
	case event.CutDone:
		return b.Bundle
	case event.CoilCut:
		return b.Bundle
	case event.PartDone:
		return b.Bundle
	case event.CrewJoined:
		return b.Person
	case event.CrewLeft:
		return b.Person
	case event.StepStarted:
		return b.Bundle
	case event.StepDone:
		return b.Bundle
	case event.PiecesLost:
		return b.Bundle
	case event.Placed:
		return b.Number
	case event.LotConfirmed:
		return b.Lot
	case event.YardCounted:
		return b.Lot
	case event.Loaded:
		return b.Bundle
	case event.Unloaded:
		return b.Bundle
	case event.RouteSet:
		return b.Bundle
	case event.BundleAssigned:
		return b.Bundle
	case event.Staged:
		return b.Bundle
	case event.BundleReturned:
		return b.Bundle
	case event.BundlesBack:
		return b.From[0]
	case event.ScanRefused:
		return b.Number
	case event.ScanDisputed:
		return b.Number
	case event.ScanNoted:
		return b.Number
	}
	return 0
}
