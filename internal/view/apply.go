package view

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strconv"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// Apply folds the event at seq into the views. It is given every event once, in order, and refuses
// nothing: what it meets was decided. An error is a broken store.
func (p *Past) Apply(seq uint64, e event.Event) (err error) {
	return (&apply{Past: p}).one(seq, e)
}

// one applies an event. An apply may do one after another, as long as none fails.
func (a *apply) one(seq uint64, e event.Event) error {
	a.seq, a.e = seq, e
	a.body()
	if a.err == nil && !a.some {
		a.device()
	}
	if a.err != nil {
		return fmt.Errorf("view: apply record %d (%v): %w", seq, e.Body.Kind(), a.err)
	}
	return nil
}

// apply is one Apply under way; the first error sticks.
type apply struct {
	*Past
	seq uint64
	e   event.Event
	err error
}

func (a *apply) put(t store.Table, key []byte, v any) {
	b, err := enc.Marshal(v)
	if err == nil {
		err = a.tx.Put(t, key, b)
	}
	a.fail(err)
}

func (a *apply) raw(t store.Table, key, value []byte) { a.fail(a.tx.Put(t, key, value)) }

func (a *apply) fail(err error) {
	if a.err == nil {
		a.err = err
	}
}

// missing is the error of an event about something that is not there. Views of some things only lack
// the others.
func (a *apply) missing(what any) {
	if !a.some {
		a.fail(fmt.Errorf("%v is not in the views", what))
	}
}

// when is when an event happened by its device's clock, or else was recorded.
func when(e event.Event) int64 {
	if e.Happened != 0 {
		return e.Happened
	}
	return e.Recorded
}

func (a *apply) when() int64 { return when(a.e) }

func (a *apply) history(n tags.Number) { a.raw(tHistory, twoKey(uint64(n), a.seq), nil) }

// taken marks a number as given out.
func (a *apply) taken(n tags.Number) {
	if n.Plant() == a.v.plant && n.Serial() > a.serial(n.Kind()) {
		a.setSerial(n.Kind(), n.Serial())
	}
}

func (a *apply) setSerial(k tags.Kind, n int) {
	a.raw(tMeta, []byte{'s', byte(k)}, binary.BigEndian.AppendUint32(nil, uint32(n)))
}

func (a *apply) number(t store.Table, key []byte, n tags.Number) { a.raw(t, key, numKey(n)) }

func (a *apply) body() {
	if a.e.Answer != nil && a.e.Answer.Verdict == event.Check {
		a.raw(tLook, seqKey(a.seq), nil)
	}
	switch b := a.e.Body.(type) {
	case event.StoreOpened:
		a.put(tMeta, []byte("store"), b)
	case event.SettingsChanged:
		a.raw(tMeta, []byte("settings"), b.SHA256)
	case event.StoreRestored:
		var opened event.StoreOpened
		a.get(tMeta, []byte("store"), &opened)
		opened.UUID = b.UUID
		a.put(tMeta, []byte("store"), opened)
		for k := tags.Bundle; k <= tags.Person; k++ {
			a.setSerial(k, a.serial(k)+b.Jump)
		}
	case event.JobSet:
		a.put(tJob, []byte(b.Job+"\x00"), b)
		a.told("job", b.Job)
	case event.LineTaken:
		a.lineTaken(b, 0)
	case event.LineChanged:
		a.lineChanged(b)
	case event.LineWithdrawn:
		a.fallAway(b.Line, 0)
		a.setLater(b.Line, true)
	case event.LineDecided:
		a.bundle(b.Bundle, func(*scan.Bundle) {})
	case event.ListTaken:
		a.list(b)
		a.told("list", b.Job, b.List)
	case event.LotReceived, event.CoilReceived:
		a.lotIn(heat.NewLot(b))
	case event.LotExpected, event.LotConfirmed, event.YardCounted, event.LotHeatSet:
		a.stock()
	case event.CertFiled:
		a.put(tCert, textSeqKey(a.seq, b.Mill, b.Heat), heat.Cert{Seq: a.seq, Filed: b, At: a.e.Recorded})
		if b.Text != "" {
			a.raw(tCertText, textSeqKey(a.seq, b.Text), textKey(b.Mill, b.Heat))
		}
	case event.CertReviewed:
		filed, _ := a.Event(b.Cert).Body.(event.CertFiled)
		key := textSeqKey(b.Cert, filed.Mill, filed.Heat)
		var c heat.Cert
		if !a.get(tCert, key, &c) {
			a.missing(fmt.Sprintf("cert %d", b.Cert))
			return
		}
		c.Reviewed = true
		a.put(tCert, key, c)
		a.told("heat", filed.Mill, filed.Heat)
	case event.AliasSet:
		a.number(tAlias, textKey(b.Text), b.Number)
		a.history(b.Number)
	case event.FeedCharged, event.FeedEmptied:
		a.feed()
	case event.RunOpened, event.RunJoined, event.CardShown, event.CutDone, event.CoilCut, event.PartDone, event.StepStarted, event.StepDone, event.Undone:
		a.work()
	case event.CrewJoined:
		a.crew(b.Station, b.Person, true)
	case event.CrewLeft:
		a.crew(b.Station, b.Person, false)
	case event.BundleVoided:
		a.void(b.Bundle)
	case event.BundleAssigned:
		a.assigned(b)
	case event.HeatsDeclared:
		a.declared(b)
	case event.BundleReassigned:
		a.reassigned(b)
	case event.RouteSet:
		a.bundle(b.Bundle, func(x *scan.Bundle) { x.Route = append([]string{}, b.Route...) })
	case event.ChargeMended:
		a.mend(b)
	case event.PiecesLost, event.BundleSplit, event.BundlesMerged:
		a.mishap()
	case event.TagPrinted:
		a.printed(b)
	case event.TagLost:
		a.tagLost(b)
	case event.PlaceMade:
		a.raw(tPlace, numKey(b.Place), []byte(b.Name))
		a.number(tPlaceName, textKey(b.Name), b.Place)
		a.taken(b.Place)
		a.history(b.Place)
	case event.PersonMade:
		a.raw(tPerson, numKey(b.Person), nil)
		a.taken(b.Person)
		a.history(b.Person)
	case event.ScanRefused:
		if b.Number != 0 {
			a.history(b.Number)
		}
	case event.ScanDisputed:
		a.listed(b.Number)
		for _, n := range disputedLots(b) {
			a.history(n)
		}
	case event.ScanNoted:
	case event.Resolved:
		a.del(tLook, seqKey(b.Seq))
		a.told("look", strconv.FormatUint(b.Seq, 10))
		a.listed(a.SubjectOf(b.Seq))
	case event.PlaceOpened:
	case event.Placed:
		if b.Number.Kind() == tags.Stock {
			a.lot(b.Number, func(l *heat.Lot) { l.Place = b.Place })
			a.history(b.Number)
		} else {
			a.bundle(b.Number, func(x *scan.Bundle) {
				a.away(x)
				unstage(x)
				x.Place = b.Place
			})
		}
	case event.LoadPlanned, event.LoadSet, event.LoadOpened, event.Loaded, event.Unloaded, event.Shipped:
		a.truck()
	case event.Staged, event.LoadWeighed, event.LoadDelivered, event.BundleReturned, event.BundlesBack, event.Claimed, event.ClaimAnswered:
		a.loading()
	case event.HoldPut:
		a.held = 2
		a.put(tHold, targetKey(b.Target), heat.Hold{Target: b.Target, Reason: b.Reason, At: a.e.Recorded, People: a.e.People, Seq: a.seq})
		a.toldOf(b.Target)
	case event.HoldLifted:
		a.del(tHold, targetKey(b.Target))
		a.toldOf(b.Target)
	default:
		a.fail(fmt.Errorf("%w: %T", event.ErrUnknown, b))
	}
}

// disputedLots are the lots that a disputed scan says bars or coil are from.
func disputedLots(b event.ScanDisputed) []tags.Number {
	out := slices.Clone(b.Lots)
	for _, d := range b.Bars {
		out = append(out, d.Lot)
	}
	for _, d := range b.Coils {
		out = append(out, d.Lot)
	}
	return out
}
