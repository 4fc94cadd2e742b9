package floor_test

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// offline is gun 2 of a history: what it scans while it has no network it keeps, and sends in its order
// when it is back, some at a time, while others work on.
type offline struct {
	on   bool
	kept []scan.Scan
	keys []string // of kept
	sent []string // keys of all that got a receipt
}

// keeps says whether the device keeps a scan for later.
func (h *history) keeps(x scan.Scan) bool {
	o := &h.away
	if x.Device != "gun 2" || !o.on && len(o.kept) == 0 {
		return false
	}
	x.Late = true
	h.keys++
	o.kept, o.keys = append(o.kept, x), append(o.keys, fmt.Sprintf("key %d", h.keys))
	return true
}

func (h *history) goOffline() { h.away.on = true }

// comeBack sends some of what was kept. What could not be sent is sent under the same key the next time.
func (h *history) comeBack() {
	o := &h.away
	o.on = h.one("gone again", 4)
	for some := h.upTo("some", 12); some > 0 && len(o.kept) > 0; some-- {
		x, key := o.kept[0], o.keys[0]
		name := fmt.Sprintf("kept %+v", x)
		origin := floor.Origin{Device: x.Device, Station: x.Station, Key: key, Request: name, Happened: time.UnixMilli(x.At)}
		r, err := h.sendAs(name, origin, func(o floor.Origin) (floor.Receipt, error) {
			r, _, err := h.Scan(context.Background(), o, x)
			return r, err
		})
		if err != nil {
			var no *event.Refusal
			require.False(h, errors.As(err, &no), "a kept scan was lost: %v", err)
			return
		}
		o.kept, o.keys, o.sent = o.kept[1:], o.keys[1:], append(o.sent, key)
		require.NotEmpty(h, r.Events, "a kept scan has no receipt")
		require.NotEqual(h, event.Refused, r.Answer.Verdict)
		_, disputed := r.Events[0].Body.(event.ScanDisputed)
		require.Equal(h, disputed, r.Answer.Notes[0].Code == "disputed")
		require.Equal(h, x.At, r.Events[0].Happened)
	}
}

// resolve settles something of the list, or tries to.
func (h *history) resolve() {
	var open, disputed []uint64
	var e event.Event
	h.read(func(p *view.Past) {
		p.OpenBefore(0, func(seq uint64) bool {
			open = append(open, seq)
			if _, ok := p.Event(seq).Body.(event.ScanDisputed); ok {
				disputed = append(disputed, seq)
			}
			return true
		})
	})
	from := open
	if len(disputed) > 0 && !h.one("any open", 4) {
		from = disputed
	}
	seq := uint64(h.upTo("seq", 40))
	if len(from) > 0 && !h.one("any record", 8) {
		seq = pick(h, "open", from...)
	}
	listed := slices.Contains(open, seq)
	if listed {
		require.NoError(h, h.View(func(p *view.Past) error { e = p.Event(seq); return nil }))
	}
	people, err := h.People()
	require.NoError(h, err)
	person := tags.Number(0)
	if len(people) > 0 {
		person = pick(h, "person", append(slices.Sorted(maps.Keys(people)), 0)...)
	}
	x := scan.Settling{Seq: seq, Reason: "asked the operator", Took: !h.one("by word", 4)}
	if x.Took && h.one("counted", 4) {
		x.Pieces = 1 + h.upTo("pieces", 14)
	}
	if x.Took && h.one("lots known", 4) {
		x.Lots = []tags.Number{h.someLot()}
	}
	r, err := h.send("resolve", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.Resolve(context.Background(), o, person, x)
	})
	if err != nil || len(r.Events) == 0 {
		return
	}
	listed = listed || r.Again
	require.True(h, listed, "record %d was settled, and is not on the list", seq)
	held := false
	for _, p := range people {
		held = held || slices.Contains(p.Offices, scan.Who(*e.Answer))
	}
	require.True(h, !held || slices.Contains(people[person].Offices, scan.Who(*e.Answer)), "%v settled what %v settles", person, scan.Who(*e.Answer))
	require.Equal(h, x.Took, len(r.Events) > 1)
}

// hire makes a badge with an office.
func (h *history) hire() {
	office := pick(h, "office", scan.Offices...)
	h.send("hire", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
		return h.MakePerson(context.Background(), o, floor.Person{Name: "B. Sample", Offices: []scan.Office{office}})
	})
}
