// Package floor is the only writer. It owns the clock, the numbers and the transaction: every command
// goes through Do, which lets a room decide against the open transaction, appends the events to the
// journal, applies them to the views, and answers when all of it is on the disk.
//
// The life of a command:
//
//  1. Do queues it; the journal's committer opens one transaction for all that wait.
//  2. A key seen before gets the first receipt again; with another request under it, ErrOtherRequest.
//  3. The room decides: events, or a Refusal. Nothing is written before that.
//  4. The events are appended and applied. An error here undoes the whole transaction.
//  5. After the sync, Do returns the receipt, which is a function of the events alone.
package floor

import (
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"
	"unicode/utf8"

	"github.com/google/uuid"

	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// Tables are all tables of a plant's store.
func Tables() []store.Table {
	return append([]store.Table{journal.Records, journal.Keys, people}, view.Tables...)
}

// No is a command that could not be taken for what lies outside it: a word for programs, a sentence,
// and what to do next.
type No struct{ code, says, next string }

func (n *No) Error() string { return n.says }

// Code is the word for programs.
func (n *No) Code() string { return n.code }

// Next is what to do.
func (n *No) Next() string { return n.next }

// Errors of Do beside refusals.
var (
	// ErrOtherRequest is a key that was used for another request before.
	ErrOtherRequest = &No{"key-reused", "This key was used for another request.", "Give a new request a new key."}
	// ErrBusy is a full queue: nothing was recorded.
	ErrBusy = &No{"busy", "Too many requests are waiting. Nothing was recorded.", "Send it again under the same key, in a moment."}
	// ErrClosing is a command after Close: nothing was recorded.
	ErrClosing = &No{"closing", "The server is shutting down. Nothing was recorded.", "Send it again under the same key, in a moment."}
	// ErrNotRecorded is a commit that failed and did not reach the disk. The request may be sent
	// again under the same key.
	ErrNotRecorded = &No{"busy", "The disk did not take it. Nothing was recorded.", "Send it again under the same key, in a moment."}
	// ErrUncertain is a commit that failed when the store could not be reopened to see what became of
	// it. The request may be sent again under the same key: it counts once.
	ErrUncertain = &No{"uncertain", "The disk failed, and whether this was recorded is not known yet.", "Send it again under the same key: it counts once."}
	// ErrStopped is a command while the store cannot be reopened after a failed commit.
	ErrStopped = &No{"unhealthy", "The store is stopped after a failure of the disk. Nothing was recorded.", "Tell whoever looks after the server."}
)

// Config is what a floor is opened with.
type Config struct {
	Plant  int
	Rules  scan.Rules
	Limits barlist.Limits
	// Settings is the text of the plant's settings, recorded whenever it changed.
	Settings []byte
	// Now is the clock; nil is the machine's.
	Now func() time.Time
	Log *slog.Logger
	// Progress is told how many of all records were folded while views are rebuilt.
	Progress func(done, all uint64)
	// Certs is the folder of cert files; "" keeps none.
	Certs string
}

// Floor is an open plant.
type Floor struct {
	cfg    Config
	open   func() (store.DB, error)
	views  *view.Views
	commit *journal.Committer
	last   int64 // newest recorded time, Unix ms; only jobs of the committer use it
	// reads is the newest read of each device, since not all are recorded; only jobs of the committer
	// use it. A restart forgets it.
	reads map[string]scan.Reading

	worked view.Worked     // how fast the stations work
	recent view.Recent     // what was scanned at the stations last
	far    view.Progresses // how far the jobs are

	mu   sync.RWMutex // guards db against a reopening
	db   store.DB
	gen  uint64 // counts reopenings
	dead error  // why the store could not be reopened

	bell   atomic.Pointer[chan struct{}]
	offset func(time.Time) int16
}

// Open opens the store that open gives (and gives again after a failed commit), makes record 0 in an
// empty one, folds what the views lack, and records the settings when they changed.
func Open(open func() (store.DB, error), cfg Config) (*Floor, error) {
	if cfg.Now == nil {
		cfg.Now = time.Now
	}
	if cfg.Log == nil {
		cfg.Log = slog.New(slog.DiscardHandler)
	}
	if cfg.Rules.Zone == nil {
		cfg.Rules.Zone = time.UTC
	}
	if cfg.Rules.Calendar.Zone == nil {
		cfg.Rules.Calendar.Zone = cfg.Rules.Zone
	}
	f := &Floor{reads: map[string]scan.Reading{}, cfg: cfg, open: open, views: view.New(cfg.Plant)}
	f.offset = func(t time.Time) int16 {
		_, seconds := t.In(cfg.Rules.Zone).Zone()
		return int16(seconds / 60)
	}
	f.ring()
	var err error
	if f.db, err = open(); err != nil {
		return nil, err
	}
	if err := f.start(); err != nil {
		f.db.Close()
		return nil, err
	}
	f.commit = journal.New(f.db, journal.Options{})
	return f, nil
}

// start brings the store to a state in which commands can be taken.
func (f *Floor) start() error {
	empty := false
	var opened event.StoreOpened
	err := f.View(func(p *view.Past) error {
		empty = p.Empty()
		if empty {
			return nil
		}
		var err error
		opened, err = p.Opened()
		f.last = p.Event(p.Head()).Recorded
		f.views.Durable(p.Head())
		return err
	})
	if err != nil {
		return err
	}
	if !empty && opened.Plant != f.cfg.Plant {
		return fmt.Errorf("this store is of plant %d, the settings say plant %d; every printed tag carries the plant, so set it back or start an empty folder", opened.Plant, f.cfg.Plant)
	}
	if !empty {
		if err := view.Ready(f.db, f.views, f.cfg.Progress); err != nil {
			return err
		}
	}
	hash := sha256.Sum256(f.cfg.Settings)
	return f.db.Update(func(tx store.Tx) error {
		p := f.views.At(tx)
		var bodies []event.Body
		settings := p.SettingsHash() // only now: a fold that was cut short had lost it
		if empty {
			if err := view.Stamp(tx); err != nil {
				return err
			}
			bodies = append(bodies, event.StoreOpened{Format: 1, Plant: f.cfg.Plant, UUID: uuid.NewString()})
		}
		if !bytes.Equal(settings, hash[:]) {
			bodies = append(bodies, event.SettingsChanged{SHA256: hash[:], Text: string(f.cfg.Settings)})
		}
		events, err := f.encode(Origin{}, Decision{Events: bodies})
		if err != nil {
			return err
		}
		return record(p, tx, events)
	})
}

// Close ends the floor when all waiting commands are answered.
func (f *Floor) Close() error {
	f.commit.Close()
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.db.Close()
}

// Rules are the plant's settings that decisions use.
func (f *Floor) Rules() scan.Rules { return f.cfg.Rules }

// Origin is who asks, from where, and under which key.
type Origin struct {
	Device     string
	Station    string
	People     []tags.Number
	Identified event.Identified
	Key        string    // the client's own id of the request; "" none
	Happened   time.Time // by the device's clock; zero: now
	Request    string    // what the key stands for, the same text whenever it is sent again
}

// mostName is the most bytes of the names of a device and a station.
const mostName = 200

// check refuses names that could not be written down.
func (o Origin) check() error {
	for _, f := range []struct{ field, name string }{{"device", o.Device}, {"station", o.Station}} {
		if len(f.name) > mostName || !utf8.ValidString(f.name) {
			return &event.Refusal{Field: f.field, Says: fmt.Sprintf("is no name; use a text of %d bytes at most", mostName)}
		}
	}
	return nil
}

// Decision is what a room made of a command.
type Decision struct {
	Answer *event.Answer
	Events []event.Body
	// Crew are the badges of those who did it, where the origin names nobody.
	Crew []tags.Number
	// Write is done in the same transaction, for what lives outside the journal.
	Write func(store.Tx) error
}

// Receipt is what a command came to. It is a function of the events from Seq on.
type Receipt struct {
	Seq    uint64 // of the first event; 0 when nothing was recorded
	Events []event.Event
	Answer *event.Answer
	Again  bool // an earlier receipt, asked for again
}

// Do lets decide judge a command against the state of the open transaction, and records what it
// decides. An error of decide is returned as it is, and nothing is recorded.
func (f *Floor) Do(ctx context.Context, o Origin, decide func(*view.Past) (Decision, error)) (Receipt, error) {
	return f.do(ctx, o, func(_ store.Tx, p *view.Past) (Decision, error) { return decide(p) })
}

// do is Do for a command that also asks for what lies outside the journal.
func (f *Floor) do(ctx context.Context, o Origin, decide func(store.Tx, *view.Past) (Decision, error)) (Receipt, error) {
	var r Receipt
	var raws [][]byte
	var hash journal.Hash
	if err := o.check(); err != nil {
		return r, err
	}
	if o.Key != "" {
		if err := journal.CheckKey(o.Device, o.Key); err != nil {
			return r, err
		}
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s", o.Device, o.Station, o.Request))
		copy(hash[:], sum[:])
	}
	gen := f.generation()
	err := f.commit.Do(ctx, func(tx store.Tx) error {
		r, raws = Receipt{}, nil
		gen = f.generation() // of the store whose commit this is
		return f.guard(func() error {
			p := f.views.At(tx)
			if o.Key != "" {
				op, ok, err := journal.Recall(tx, o.Device, o.Key)
				if err != nil {
					return err
				}
				if ok {
					if op.Hash != hash {
						return ErrOtherRequest
					}
					r = receipt(p, op)
					return nil
				}
			}
			d, err := decide(tx, p)
			if err != nil {
				return err
			}
			if len(d.Events) == 0 {
				if r = (Receipt{Answer: d.Answer}); d.Write != nil {
					return d.Write(tx)
				}
				return nil
			}
			at, err := f.encode(o, d)
			if err != nil {
				return err
			}
			if err := record(p, tx, at); err != nil {
				panic(err) // half written: the committer must roll back the transaction
			}
			if o.Key != "" {
				op := journal.Op{First: at[0].seq, Count: len(at), Hash: hash}
				if err := journal.Remember(tx, o.Device, o.Key, op); err != nil {
					panic(err)
				}
			}
			if d.Write != nil {
				if err := d.Write(tx); err != nil {
					panic(err)
				}
			}
			r = Receipt{Seq: at[0].seq, Answer: d.Answer}
			for _, one := range at {
				r.Events = append(r.Events, one.event)
				raws = append(raws, one.raw)
			}
			return nil
		})
	})
	switch {
	case errors.Is(err, journal.ErrUncertain):
		return f.doubt(gen, r, raws)
	case errors.Is(err, journal.ErrStopped):
		if err := f.reopen(gen); err != nil {
			return Receipt{}, err
		}
		return Receipt{}, ErrNotRecorded
	case errors.Is(err, journal.ErrBusy):
		return Receipt{}, ErrBusy
	case errors.Is(err, journal.ErrClosed):
		return Receipt{}, ErrClosing
	case err != nil:
		return Receipt{}, err
	}
	if n := len(r.Events); n > 0 && !r.Again {
		f.views.Durable(r.Seq + uint64(n) - 1)
		f.ring()
	}
	return r, nil
}

// guard turns a damaged row into an error. Any other panic goes on.
func (f *Floor) guard(do func() error) (err error) {
	defer func() {
		switch v := recover().(type) {
		case nil:
		case view.Damaged:
			err = v
		default:
			panic(v)
		}
	}()
	return do()
}

type recorded struct {
	seq   uint64
	raw   []byte
	event event.Event
}

// encode makes the events of a decision, and their bytes. The answer goes with the first of them.
func (f *Floor) encode(o Origin, d Decision) ([]recorded, error) {
	now := f.cfg.Now()
	f.last = max(f.last, now.UnixMilli())
	var out []recorded
	for i, body := range d.Events {
		e := event.Event{Head: event.Head{
			Recorded: f.last, Offset: f.offset(now), Device: o.Device, People: o.People,
			Identified: o.Identified, Station: o.Station,
		}, Body: body}
		if len(o.People) == 0 && len(d.Crew) > 0 {
			e.People, e.Identified = d.Crew, event.Badge
		}
		if !o.Happened.IsZero() {
			e.Happened = o.Happened.UnixMilli()
		}
		if i == 0 {
			e.Answer = d.Answer
			e.Key = compactKey(o.Key)
		}
		raw, err := event.Encode(e)
		if err != nil {
			return nil, err
		}
		out = append(out, recorded{raw: raw, event: e})
	}
	return out, nil
}

// record appends and applies events.
func record(p *view.Past, tx store.Tx, events []recorded) error {
	for i := range events {
		e := &events[i]
		var err error
		if e.seq, err = journal.Append(tx, e.raw); err != nil {
			return err
		}
		if err := p.Apply(e.seq, e.event); err != nil {
			return err
		}
	}
	return nil
}

// compactKey is a UUID as its 16 bytes, and any other key as it is.
func compactKey(k string) []byte {
	if k == "" {
		return nil
	}
	if u, err := uuid.Parse(k); err == nil && u.String() == k {
		return u[:]
	}
	return []byte(k)
}

// receipt reads the receipt of an operation back from its events.
func receipt(p *view.Past, op journal.Op) Receipt {
	r := Receipt{Seq: op.First, Again: true}
	for i := range op.Count {
		r.Events = append(r.Events, p.Event(op.First+uint64(i)))
	}
	r.Answer = r.Events[0].Answer
	return r
}

func (f *Floor) generation() uint64 {
	f.mu.RLock()
	defer f.mu.RUnlock()
	return f.gen
}

// reopen closes and opens the store after a failed commit; the first caller of a generation does it.
func (f *Floor) reopen(gen uint64) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.gen != gen && f.dead == nil {
		return nil
	}
	f.cfg.Log.Error("a commit failed: reopening the store")
	if f.dead == nil {
		if err := f.db.Close(); err != nil {
			f.cfg.Log.Error("closing the store", "err", err)
		}
	}
	db, err := f.open()
	if err != nil {
		f.dead = err
		f.cfg.Log.Error("reopening the store", "err", err)
		return fmt.Errorf("%w: %v", ErrStopped, err)
	}
	f.db, f.dead = db, nil
	f.gen++
	err = db.View(func(tx store.Tx) error {
		f.views.Durable(journal.Head(tx))
		return nil
	})
	f.commit.Resume(db)
	return err
}

// doubt settles a command whose commit failed: the reopened store has its records, or it has not.
func (f *Floor) doubt(gen uint64, r Receipt, raws [][]byte) (Receipt, error) {
	if err := f.reopen(gen); err != nil {
		return Receipt{}, fmt.Errorf("%w: %v", ErrUncertain, err)
	}
	kept := len(raws) > 0 // without records, what was answered may rest on others that are lost
	err := f.tx(func(tx store.Tx) error {
		for i, raw := range raws {
			kept = kept && bytes.Equal(journal.Get(tx, r.Seq+uint64(i)), raw)
		}
		return nil
	})
	switch {
	case err != nil:
		return Receipt{}, fmt.Errorf("%w: %v", ErrUncertain, err)
	case !kept:
		return Receipt{}, ErrNotRecorded
	}
	f.ring()
	return r, nil
}

func (f *Floor) tx(do func(store.Tx) error) error {
	f.mu.RLock()
	defer f.mu.RUnlock()
	if f.dead != nil {
		return fmt.Errorf("%w: %v", ErrStopped, f.dead)
	}
	return f.db.View(do)
}

// View runs a query on one state. It must not call Do.
func (f *Floor) View(query func(*view.Past) error) error {
	return f.tx(func(tx store.Tx) error {
		return f.guard(func() error { return query(f.views.At(tx)) })
	})
}

// ring wakes all who wait for new events.
func (f *Floor) ring() {
	next := make(chan struct{})
	if old := f.bell.Swap(&next); old != nil {
		close(*old)
	}
}

// News is closed when the next event is recorded.
func (f *Floor) News() <-chan struct{} { return *f.bell.Load() }

// FillPercent says how full a page of each table is packed when it is split. The journal only grows;
// keys of operations are ordered by time, and rows by number come nearly in order.
var FillPercent = map[store.Table]float64{journal.Records: 0.95, journal.Keys: 0.9}

func init() {
	for _, t := range view.Tables {
		FillPercent[t] = 0.8
	}
}
