package view

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strconv"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// Apply folds the event at seq into the views. It is given every event once, in order, and refuses
// nothing: what it meets was decided. An error is a broken store.
func (p *Past) Apply(seq uint64, e event.Event) (err error) {
	a := &apply{Past: p, seq: seq, e: e}
	a.body()
	if a.err == nil && !p.some {
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

func (a *apply) putBundle(b scan.Bundle) {
	if a.bundles.all == nil {
		a.put(tBundle, numKey(b.Number), b)
	}
	a.bundles.set(b.Number, b, true)
}

func (a *apply) putLot(l heat.Lot) {
	if a.lots.all == nil {
		a.put(tLot, numKey(l.Number), l)
	}
	a.lots.set(l.Number, l, true)
}

func (a *apply) putRun(r scan.Run) {
	if a.runs.all == nil {
		a.put(tRun, seqKey(r.Seq), r)
	}
	a.runs.set(r.Seq, r, true)
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

// row changes a bundle.
func (a *apply) row(n tags.Number, change func(*scan.Bundle)) {
	b, ok := a.Bundle(n)
	if !ok {
		a.missing(n)
		return
	}
	was := b
	change(&b)
	b.At = a.e.Recorded
	b.Looks = append(b.Looks, a.looks()...)
	a.putBundle(b)
	a.wasOf(was, b)
	if was.Pocket != b.Pocket || was.Station != b.Station {
		a.pocket(b)
	}
}

// looks is the event's sequence when its answer was a Check.
func (a *apply) looks() []uint64 {
	if a.e.Answer != nil && a.e.Answer.Verdict == event.Check {
		return []uint64{a.seq}
	}
	return nil
}

// bundle is a change of a bundle that is no progress.
func (a *apply) bundle(n tags.Number, change func(*scan.Bundle)) {
	a.row(n, func(b *scan.Bundle) {
		change(b)
		b.Events = append(b.Events, a.seq)
	})
}

// listed notes of what the event is about that it stands on the list to resolve, or was settled: nothing
// of the thing itself changes.
func (a *apply) listed(n tags.Number) {
	b, ok := a.Bundle(n)
	if !ok {
		if n != 0 {
			a.history(n)
		}
		return
	}
	b.Events = append(b.Events, a.seq)
	b.Looks = append(b.Looks, a.looks()...)
	a.putBundle(b)
}

// when is when an event happened by its device's clock, or else was recorded.
func when(e event.Event) int64 {
	if e.Happened != 0 {
		return e.Happened
	}
	return e.Recorded
}

func (a *apply) when() int64 { return when(a.e) }

// pop makes the newest progress of a bundle one that cannot be undone any more.
func pop(b *scan.Bundle) {
	if last := len(b.Progress) - 1; last >= 0 {
		b.Events = append(b.Events, b.Progress[last])
		b.Progress = b.Progress[:last]
	}
}

// progress is a change of a bundle that can be undone.
func (a *apply) progress(n tags.Number, change func(*scan.Bundle)) {
	a.row(n, func(b *scan.Bundle) {
		change(b)
		unstage(b)
		if b.Place != 0 && !a.placedSince(*b) {
			b.Place = 0
		}
		b.Progress = append(b.Progress, a.seq)
	})
}

// placedSince says whether a bundle was put down after what happened now: a late scan of the work on it
// does not take it from where it lies.
func (a *apply) placedSince(b scan.Bundle) bool {
	if a.when() >= b.At {
		return false
	}
	for _, seq := range slices.Backward(b.Events) {
		if e := a.Event(seq); e.Body.Kind() == (event.Placed{}).Kind() {
			return when(e) > a.when()
		}
	}
	return false
}

// free says whether a lot can be brought to a shear: bars or coil on hand, and not on a feed.
func free(l heat.Lot) bool { return l.Any() && l.Feed == "" }

// lot changes a lot and keeps the index of free lots.
func (a *apply) lot(n tags.Number, change func(*heat.Lot)) {
	l, ok := a.Lot(n)
	if !ok {
		a.missing(n)
		return
	}
	had := free(l)
	change(&l)
	a.putLot(l)
	key := sizeKey(l)
	if has := free(l); has != had {
		if has {
			a.raw(tSize, key, nil)
		} else {
			a.del(tSize, key)
		}
	}
}

func sizeKey(l heat.Lot) []byte {
	return binary.BigEndian.AppendUint64(textSeqKey(uint64(l.At), string(l.Steel.Size)), uint64(l.Number))
}

func (a *apply) newLot(l heat.Lot) {
	a.putLot(l)
	if free(l) {
		a.raw(tSize, sizeKey(l), nil)
	}
	a.taken(l.Number)
}

func (a *apply) run(seq uint64, change func(*scan.Run)) {
	r, ok := a.Run(seq)
	if !ok {
		a.missing(fmt.Sprintf("run %d", seq))
		return
	}
	was := r
	change(&r)
	a.putRun(r)
	a.wasIn(was, r)
}

func (a *apply) floor(station string, change func(*scan.Floor)) {
	f := a.Floor(station)
	f.Feeds = slices.Clone(f.Feeds)
	change(&f)
	a.put(tFloor, stationKey(station), f)
	a.floors.set(station, f, true)
}

func (a *apply) load(n tags.Number, change func(*load.Load)) {
	l, ok := a.Load(n)
	if !ok {
		a.missing(n)
		return
	}
	change(&l)
	a.put(tLoad, numKey(n), l)
}

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
	a.put(tFloor, deviceKey(a.e.Device), d)
	a.devices.set(a.e.Device, d, true)
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
	case event.LotReceived:
		a.lotReceived(b)
	case event.CoilReceived:
		a.coilReceived(b)
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
	case event.PiecesLost, event.BundleSplit, event.BundlesMerged, event.TagLost:
		a.mishap()
	case event.TagPrinted:
		a.printed(b)
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

// toldOf keeps that the event is about the target of a hold.
func (a *apply) toldOf(t event.Target) {
	if t.Number != 0 {
		a.history(t.Number)
	} else {
		a.told("heat", t.Mill, t.Heat)
	}
}

// void takes a bundle out of the work, and off the load that it is planned on.
func (a *apply) void(n tags.Number) {
	if x, ok := a.Bundle(n); ok {
		a.unplan(x)
	}
	a.bundle(n, func(x *scan.Bundle) {
		a.away(x)
		unstage(x)
		x.Voided, x.Planned = true, 0
	})
}

func (a *apply) put2(t store.Table, key []byte) { a.raw(t, key, nil) }
func (a *apply) del2(t store.Table, key []byte) { a.del(t, key) }

// heats keeps the two indexes of a lot's heats.
func (a *apply) heats(l heat.Lot, do func(store.Table, []byte)) {
	for _, h := range l.Heats {
		do(tHeat, textSeqKey(uint64(l.Number), l.Mill, h))
		a.raw(tHeatText, textKey(h, l.Mill), nil)
	}
}

func (a *apply) lotReceived(b event.LotReceived) {
	a.lotIn(heat.Lot{
		Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Length: b.Length, Received: b.Bars,
		Bundles: b.Bundles, Place: b.Place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO, At: a.e.Recorded,
	}, millNumbers(b.Bundles, nil))
}

func (a *apply) coilReceived(b event.CoilReceived) {
	a.lotIn(heat.Lot{
		Number: b.Lot, Mill: b.Mill, Heats: b.Heats, Steel: b.Steel, Mass: b.Mass, Coils: b.Coils,
		Place: b.Place, Melted: b.Melted, Rolled: b.Rolled, PO: b.PO, At: a.e.Recorded,
	}, millNumbers(nil, b.Coils))
}

// lotIn takes in a lot from a mill, to be found by its heats and by the mill's own numbers.
func (a *apply) lotIn(l heat.Lot, own []string) {
	a.newLot(l)
	a.history(l.Number)
	a.heats(l, a.put2)
	a.own(l, own)
}

// own makes the mill's own numbers stand for a lot: with the mill, and bare unless another mill's stands
// there.
func (a *apply) own(l heat.Lot, numbers []string) {
	for _, n := range numbers {
		for _, text := range []string{heat.MillAlias(l.Mill, n), n} {
			if key := textKey(text); a.tx.Get(tAlias, key) == nil {
				a.number(tAlias, key, l.Number)
			}
		}
	}
}

func (a *apply) printed(b event.TagPrinted) {
	switch b.Number.Kind() {
	case tags.Bundle:
		a.bundle(b.Number, func(x *scan.Bundle) { x.Copy = b.Copy })
	case tags.Stock:
		a.lot(b.Number, func(l *heat.Lot) { l.Copy = b.Copy })
		a.history(b.Number)
	case tags.Load:
		a.load(b.Number, func(l *load.Load) { l.Copy = b.Copy })
		a.history(b.Number)
	}
}

// feed applies what was put on and taken off a feed.
func (a *apply) feed() {
	switch b := a.e.Body.(type) {
	case event.FeedCharged:
		a.floor(b.Station, func(f *scan.Floor) {
			i := slices.IndexFunc(f.Feeds, func(x scan.Feed) bool { return x.Name == b.Feed })
			if i < 0 {
				f.Feeds = append(f.Feeds, scan.Feed{Name: b.Feed})
				i = len(f.Feeds) - 1
			}
			f.Feeds[i].Lots = append(f.Feeds[i].Lots, b.Lot)
			f.Fed = max(f.Fed, a.when())
		})
		a.lot(b.Lot, func(l *heat.Lot) { l.Feed = b.Station + "/" + b.Feed })
		a.history(b.Lot)
		if b.Run != 0 {
			a.run(b.Run, func(r *scan.Run) {
				if !r.Said {
					a.candidates(r, []tags.Number{b.Lot})
				}
			})
		}
	case event.FeedEmptied:
		var off []tags.Number
		a.floor(b.Station, func(f *scan.Floor) {
			f.Fed = max(f.Fed, a.when())
			for i := range f.Feeds {
				if f.Feeds[i].Name != b.Feed {
					continue
				}
				if b.Lot == 0 {
					off, f.Feeds[i].Lots = f.Feeds[i].Lots, nil
				} else {
					off = []tags.Number{b.Lot}
					f.Feeds[i].Lots = slices.DeleteFunc(slices.Clone(f.Feeds[i].Lots), func(n tags.Number) bool { return n == b.Lot })
				}
			}
		})
		for _, n := range off {
			a.lot(n, func(l *heat.Lot) {
				if l.Feed == b.Station+"/"+b.Feed {
					l.Feed = a.feedOf(n)
				}
				if b.Place != 0 {
					l.Place = b.Place
				}
			})
			a.history(n)
		}
	}
}

// feedOf finds a feed that a lot lies on: bars of one lot may lie on several.
func (a *apply) feedOf(n tags.Number) string {
	on := ""
	a.prefix(tFloor, []byte{'s'}, func(station, v []byte) bool {
		for _, f := range decode[scan.Floor](v).Feeds {
			if slices.Contains(f.Lots, n) {
				on = string(station[:len(station)-1]) + "/" + f.Name
			}
		}
		return on == ""
	})
	return on
}

// truck applies what happened to loads.
func (a *apply) truck() {
	switch b := a.e.Body.(type) {
	case event.LoadPlanned:
		a.planSet(a.stops(b))
	case event.LoadSet:
		a.planSet(b)
	case event.LoadOpened:
		a.history(b.Load)
	case event.Loaded:
		shipped := false
		a.again(b)
		a.load(b.Load, func(l *load.Load) {
			l.Count++
			l.Mass += b.Mass
			shipped = l.Shipped != 0
		})
		a.raw(tLoaded, twoKey(uint64(b.Load), uint64(b.Bundle)), seqKey(a.seq))
		a.progress(b.Bundle, func(x *scan.Bundle) {
			a.away(x)
			x.Load, x.Shipped = b.Load, shipped
			trip(x, func(t *scan.Trip) { t.Back = 0 })
			x.Voided = x.Voided && !a.fell(*x) // the truck went with it: it is made after all
		})
	case event.Unloaded:
		a.unload(b.Load, b.Bundle, b.Mass)
		a.history(b.Load)
		a.bundle(b.Bundle, func(x *scan.Bundle) {
			x.Load = 0
			pop(x)
		})
		a.refall(b.Bundle)
	case event.Shipped:
		a.load(b.Load, func(l *load.Load) { l.Shipped = a.e.Recorded })
		a.del(tHere, numKey(b.Load))
		a.history(b.Load)
		var on []tags.Number
		a.Loaded(b.Load, func(n tags.Number) bool { on = append(on, n); return true })
		for _, n := range on {
			a.bundle(n, func(x *scan.Bundle) { x.Shipped = true })
		}
	}
}

func (a *apply) unload(n, b tags.Number, m bar.Mass) {
	a.load(n, func(l *load.Load) {
		l.Count--
		l.Mass -= m
	})
	a.del(tLoaded, twoKey(uint64(n), uint64(b)))
}
