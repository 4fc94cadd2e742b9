package view

import (
	"encoding/binary"
	"fmt"
	"sync"
	"sync/atomic"

	"github.com/fxamacker/cbor/v2"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/journal"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
)

// Damaged is what reading a view panics with when a row cannot be read: the store is broken, and no
// caller could go on. Floor turns it into an error.
type Damaged struct{ Err error }

func (d Damaged) Error() string { return d.Err.Error() }

// Views reads and applies views. It holds only a cache of bar list lines, which never change.
type Views struct {
	plant   int
	durable atomic.Uint64
	lines   sync.Map // seq -> *line
	mu      sync.Mutex
	count   int
}

// New makes Views for a plant.
func New(plant int) *Views { return &Views{plant: plant} }

// maxCached is how many lines are kept; then all are dropped.
const maxCached = 20_000

// Past is the state at one transaction. It serves the rooms that decide (heat.Past, scan.Past) and
// the queries.
type Past struct {
	tx    store.Tx
	v     *Views
	fresh [10]int // numbers given within this decision, by kind
	held  uint8   // 0 not looked yet, 1 nothing is held, 2 something is
	some  bool    // the rows are those of some things only, as of a past moment
	// Of some things only: their events, decoded, and the bundles among them.
	events map[uint64]event.Event
	about  map[tags.Number]depth

	// What was read or written last, decoded: a decision, its Apply and its card read the same rows.
	bundles memo[tags.Number, scan.Bundle]
	lots    memo[tags.Number, heat.Lot]
	runs    memo[uint64, scan.Run]
	loads   memo[tags.Number, load.Load]
	floors  memo[string, scan.Floor]
	devices memo[string, scan.Device]
}

// At gives the state of a transaction. It is valid as long as that.
func (v *Views) At(tx store.Tx) *Past { return &Past{tx: tx, v: v} }

var (
	_ scan.NeedsPast = (*Past)(nil)
	_ heat.Past      = (*Past)(nil)
)

var (
	enc = must(cbor.EncOptions{}.EncMode())
	dec = must(cbor.DecOptions{}.DecMode())
)

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func numKey(n tags.Number) []byte {
	return binary.BigEndian.AppendUint64(make([]byte, 0, 8), uint64(n))
}
func seqKey(s uint64) []byte { return binary.BigEndian.AppendUint64(make([]byte, 0, 8), s) }

func twoKey(a, b uint64) []byte {
	return binary.BigEndian.AppendUint64(binary.BigEndian.AppendUint64(make([]byte, 0, 16), a), b)
}

func textKey(parts ...string) []byte {
	var k []byte
	for _, p := range parts {
		k = append(append(k, p...), 0)
	}
	return k
}

func stationKey(name string) []byte { return textKey("s" + name) }
func deviceKey(id string) []byte    { return textKey("d" + id) }

func textSeqKey(seq uint64, parts ...string) []byte {
	return binary.BigEndian.AppendUint64(textKey(parts...), seq)
}

// after is the first key behind all that begin with prefix.
func after(prefix []byte) []byte {
	end := append([]byte(nil), prefix...)
	for i := len(end) - 1; i >= 0; i-- {
		if end[i]++; end[i] != 0 {
			return end[:i+1]
		}
	}
	return nil
}

func (p *Past) get(t store.Table, key []byte, into any) bool {
	v := p.tx.Get(t, key)
	if v == nil {
		return false
	}
	if err := dec.Unmarshal(v, into); err != nil {
		panic(Damaged{fmt.Errorf("view: table %s, key %x: %w", t, key, err)})
	}
	return true
}

// prefix calls f with the rest of each key that begins with prefix.
func (p *Past) prefix(t store.Table, prefix []byte, f func(rest, value []byte) bool) {
	p.tx.Ascend(t, prefix, after(prefix), func(k, v []byte) bool { return f(k[len(prefix):], v) })
}

// Bundle finds a bundle.
func (p *Past) Bundle(n tags.Number) (scan.Bundle, bool) {
	return remembered(p, &p.bundles, tBundle, n, numKey)
}

// Lot finds a stock lot or remnant.
func (p *Past) Lot(n tags.Number) (heat.Lot, bool) {
	return remembered(p, &p.lots, tLot, n, numKey)
}

// Run finds a run by its sequence.
func (p *Past) Run(seq uint64) (scan.Run, bool) {
	return remembered(p, &p.runs, tRun, seq, seqKey)
}

// Load finds a truck load.
func (p *Past) Load(n tags.Number) (load.Load, bool) {
	return remembered(p, &p.loads, tLoad, n, numKey)
}

// Job finds a job by the shop's number of it.
func (p *Past) Job(job string) (j event.JobSet, ok bool) {
	ok = p.get(tJob, []byte(job+"\x00"), &j)
	return j, ok
}

// HasJob says whether the job is known.
func (p *Past) HasJob(job string) bool { return p.tx.Get(tJob, []byte(job+"\x00")) != nil }

// Floor is the state of a station; the zero value before anything happened there.
func (p *Past) Floor(station string) scan.Floor {
	f, _ := remembered(p, &p.floors, tFloor, station, stationKey)
	return f
}

// Device is the state of a device; the zero value for a new one.
func (p *Past) Device(id string) scan.Device {
	d, _ := remembered(p, &p.devices, tFloor, id, deviceKey)
	return d
}

// Place is the name of a place.
func (p *Past) Place(n tags.Number) (string, bool) {
	v := p.tx.Get(tPlace, numKey(n))
	return string(v), v != nil
}

// PlaceNamed finds a place by its name.
func (p *Past) PlaceNamed(name string) (tags.Number, bool) {
	return p.number(tPlaceName, textKey(name))
}

// Person says whether the badge was given out here.
func (p *Past) Person(n tags.Number) bool { return p.tx.Get(tPerson, numKey(n)) != nil }

// Alias finds the number that another's code stands for.
func (p *Past) Alias(text string) (tags.Number, bool) { return p.number(tAlias, textKey(text)) }

func (p *Past) number(t store.Table, key []byte) (tags.Number, bool) {
	v := p.tx.Get(t, key)
	if len(v) != 8 {
		return 0, false
	}
	return tags.Number(binary.BigEndian.Uint64(v)), true
}

// Hold finds the hold on a target that has not been lifted.
func (p *Past) Hold(t event.Target) (h heat.Hold, ok bool) {
	if p.held == 0 {
		// On most days nothing is held: one look spares a scan all others.
		p.held = 1
		p.tx.Ascend(tHold, nil, nil, func(_, _ []byte) bool { p.held = 2; return false })
	}
	if p.held == 1 {
		return h, false
	}
	ok = p.get(tHold, targetKey(t), &h)
	return h, ok
}

func targetKey(t event.Target) []byte {
	if t.Number != 0 {
		return append([]byte{0}, numKey(t.Number)...)
	}
	return append([]byte{1}, textKey(t.Mill, t.Heat)...)
}

// Certs are the certs filed for a heat, oldest first.
func (p *Past) Certs(k heat.Key) (out []heat.Cert) {
	p.prefix(tCert, textKey(k.Mill, k.Heat), func(_, v []byte) bool {
		var c heat.Cert
		if err := dec.Unmarshal(v, &c); err != nil {
			panic(Damaged{fmt.Errorf("view: cert of %v: %w", k, err)})
		}
		out = append(out, c)
		return true
	})
	return out
}

// Loaded calls f for each bundle on a load until f returns false.
func (p *Past) Loaded(n tags.Number, f func(tags.Number) bool) {
	p.prefix(tLoaded, numKey(n), func(rest, _ []byte) bool { return f(tags.Number(binary.BigEndian.Uint64(rest))) })
}

// LotsOf calls f for lots with bars or coil on hand, on no feed, that match a steel, oldest first, until f
// returns false.
func (p *Past) LotsOf(s bar.Steel, f func(heat.Lot) bool) {
	p.prefix(tSize, textKey(string(s.Size)), func(rest, _ []byte) bool {
		l, ok := p.Lot(tags.Number(binary.BigEndian.Uint64(rest[8:])))
		if !ok || !s.Matches(l.Steel) {
			return true
		}
		return f(l)
	})
}

// Line reads a line of a bar list from the journal. A sequence that is no line is a fault.
func (p *Past) Line(seq uint64) *scan.Line { return &p.line(seq).Line }

// line is a line of a bar list with the event that took it.
type line struct {
	scan.Line
	taken event.Event
}

func (p *Past) line(seq uint64) *line {
	if l, ok := p.v.lines.Load(seq); ok {
		return l.(*line)
	}
	l := &line{Line: scan.Line{Seq: seq}, taken: p.Event(seq)}
	switch b := l.taken.Body.(type) {
	case event.LineTaken:
		l.LineTaken = b
	case event.LineChanged:
		l.LineTaken, l.Was = b.Taken, b.Line
	default:
		panic(Damaged{fmt.Errorf("view: record %d is no line but %v", seq, b.Kind())})
	}
	if seq <= p.v.durable.Load() {
		p.v.keep(l)
	}
	return l
}

// Durable tells that the records up to seq are on the disk. Only their lines are cached: what an
// open transaction wrote may never be committed, and its sequences come to mean something else.
func (v *Views) Durable(seq uint64) { v.durable.Store(seq) }

func (v *Views) keep(l *line) {
	v.mu.Lock()
	defer v.mu.Unlock()
	if v.count++; v.count > maxCached {
		v.lines.Clear()
		v.count = 1
	}
	v.lines.Store(l.Seq, l)
}

// Event reads an event from the journal; a sequence without one is a fault.
func (p *Past) Event(seq uint64) event.Event {
	if e, ok := p.events[seq]; ok {
		return e
	}
	raw := journal.Get(p.tx, seq)
	if raw == nil {
		panic(Damaged{fmt.Errorf("view: record %d is missing", seq)})
	}
	e, err := event.Decode(raw)
	if err != nil {
		panic(Damaged{fmt.Errorf("view: record %d: %w", seq, err)})
	}
	return e
}

// closing is how a run closed, read from the record: one from bars, or one from coil.
func (p *Past) closing(r scan.Run) (bars event.RunClosed, coil event.CoilClosed) {
	if r.By == 0 {
		return bars, coil
	}
	var c *event.RunClosed
	switch b := p.Event(r.By).Body.(type) {
	case event.CutDone:
		c = b.Closed
	case event.CoilCut:
		coil = b.Closed
	case event.PartDone:
		if c = b.Closed; b.Coil != nil {
			coil = *b.Coil
		}
	case event.Undone:
		c = b.Closed
	case event.BundleAssigned:
		c = &b.Closed
	case event.HeatsDeclared:
		l, _ := p.Lot(b.Lot)
		c = declared(b, l)
	}
	if r.Mended > r.By {
		if m := p.mended(r); m.Closed != nil {
			c = m.Closed
		}
	}
	if c != nil {
		bars = *c
	}
	return bars, coil
}

// Closing is how a run closed; the zero value of one that is open, or that lost its last bundle.
func (p *Past) Closing(r scan.Run) event.RunClosed {
	bars, _ := p.closing(r)
	return bars
}

// CoilClosing is how a run from coil closed; the zero value of any other.
func (p *Past) CoilClosing(r scan.Run) event.CoilClosed {
	_, coil := p.closing(r)
	return coil
}

// Cut is the bundle cut at a sequence, if that is what happened there.
func (p *Past) Cut(seq uint64) (event.CutDone, bool) {
	return scan.CutOf(p.Event(seq).Body)
}

// Body is what happened at a sequence.
func (p *Past) Body(seq uint64) event.Body { return p.Event(seq).Body }

// Scanned is by which device an event was scanned, and when by its clock (Unix ms).
func (p *Past) Scanned(seq uint64) (device string, at int64) {
	e := p.Event(seq)
	return e.Device, e.Happened
}

// When is the time at which a record was made, Unix ms.
func (p *Past) When(seq uint64) int64 { return p.Event(seq).Recorded }

// Head is the sequence of the newest record.
func (p *Past) Head() uint64 { return journal.Head(p.tx) }

// Fresh gives the next number of a kind. Numbers become taken when the events that carry them are
// applied; within one decision Fresh counts up.
func (p *Past) Fresh(k tags.Kind) tags.Number {
	p.fresh[k]++
	n, err := tags.New(k, p.v.plant, p.serial(k)+p.fresh[k])
	if err != nil {
		panic(Damaged{fmt.Errorf("view: no number is left: %w", err)})
	}
	return n
}

func (p *Past) serial(k tags.Kind) int {
	v := p.tx.Get(tMeta, []byte{'s', byte(k)})
	if v == nil {
		return 0
	}
	return int(binary.BigEndian.Uint32(v))
}
