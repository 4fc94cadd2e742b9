package view

import (
	"fmt"
	"slices"
	"sync"

	"tagd/internal/event"
	"tagd/internal/journal"
	"tagd/internal/tags"
)

// Recent follows the record for the newest scans of each station, refusals included. It is kept in memory: at
// a question it reads what is new, of much only the newest; so it survives a restart as well. The zero value is ready.
type Recent struct {
	mu   sync.Mutex
	next uint64 // to be read; 0: nothing was read
	each map[string][]Scanned
}

// Scanned is a scan that was answered at a station.
type Scanned struct {
	Seq    uint64
	At     int64 // by the device's clock, Unix ms
	Device string
	Number tags.Number // that it was about, 0 of none
	Answer event.Answer
}

// Bounds of what is kept in memory.
const (
	mostScanned = 40    // scans of a station
	mostBefore  = 4_000 // records that are read for one question
)

// At gives the newest scans at a station, the newest first, brought up to the state of p. The slice is the
// caller's.
func (r *Recent) At(p *Past, station string) []Scanned {
	r.mu.Lock()
	defer r.mu.Unlock()
	if p.Empty() {
		return nil
	}
	r.follow(p)
	out := slices.Clone(r.each[station])
	slices.Reverse(out)
	return out
}

// follow reads what is new, of much only the newest.
func (r *Recent) follow(p *Past) {
	head := p.Head()
	if r.each == nil {
		r.each = map[string][]Scanned{}
	}
	if r.next = max(r.next, 1, head-min(head, mostBefore)); r.next > head {
		return
	}
	err := journal.Scan(p.tx, r.next-1, int(head-r.next)+1, func(seq uint64, raw []byte) bool {
		r.next = seq + 1
		if unscanned[event.KindOf(raw)] {
			return true
		}
		e, err := event.Decode(raw)
		if err != nil {
			panic(Damaged{fmt.Errorf("view: record %d: %w", seq, err)})
		}
		if e.Answer == nil || e.Station == "" {
			return true
		}
		all := append(r.each[e.Station], Scanned{Seq: seq, At: when(e), Device: e.Device, Number: Subject([]event.Event{e}), Answer: *e.Answer})
		r.each[e.Station] = all[max(0, len(all)-mostScanned):]
		return true
	})
	if err != nil {
		panic(Damaged{err})
	}
}

// unscanned are the kinds of which a list has thousands, and that answer no scan: they need no decoding.
var unscanned = map[event.Kind]bool{event.LineTaken{}.Kind(): true, event.LineChanged{}.Kind(): true}
