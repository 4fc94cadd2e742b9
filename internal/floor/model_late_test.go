package floor_test

import (
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// list follows what stands on the list to resolve: what was answered with Check, until it is resolved.
func (m *model) list(seq uint64, e event.Event) {
	if m.toResolve == nil {
		m.toResolve = map[uint64]bool{}
	}
	if e.Answer != nil && e.Answer.Verdict == event.Check {
		m.toResolve[seq] = true
	}
	if r, ok := e.Body.(event.Resolved); ok {
		delete(m.toResolve, r.Seq)
	}
}

// checkOpen: the list to resolve is what the journal says, each bundle knows of its own, and every scan
// that was kept has one receipt.
func (h *history) checkOpen(p *view.Past, m *model) {
	var open []uint64
	p.OpenBefore(0, func(seq uint64) bool { open = append(open, seq); return true })
	require.True(h, slices.IsSortedFunc(open, func(a, b uint64) int { return int(b) - int(a) }))
	require.Len(h, open, len(m.toResolve))
	require.Equal(h, len(open), p.OpenCount(1000))
	receipts := map[string]int{}
	for seq, e := range m.events {
		require.Equal(h, m.toResolve[uint64(seq)], p.Open(uint64(seq)))
		if e.Device == "gun 2" && len(e.Key) > 0 {
			receipts[string(e.Key)]++
		}
		if d, ok := e.Body.(event.ScanDisputed); ok && d.Number.Kind() == tags.Bundle {
			if b, known := p.Bundle(d.Number); known {
				require.Contains(h, b.Looks, uint64(seq))
			}
			t := p.Ask(d.Number.String())
			require.GreaterOrEqual(h, t.Checks, t.Open)
			require.GreaterOrEqual(h, t.Open, t.Disputes)
		}
	}
	for _, key := range h.away.sent {
		require.Equal(h, 1, receipts[key], "the kept scan %s", key)
	}
	h.checkFeeds(m)
}

// checkFeeds: whatever the order in which scans arrive, a run that opens or is joined may have drawn from
// all matching lots that lay on the station's feeds when that happened, by what was known then.
func (h *history) checkFeeds(m *model) {
	at := func(e event.Event) int64 {
		if e.Happened != 0 {
			return e.Happened
		}
		return e.Recorded
	}
	type change struct {
		at   int64
		body event.Body
	}
	known := map[string][]change{} // by station, in the order in which they happened
	add := func(station string, e event.Event) {
		c := known[station]
		i := len(c)
		for i > 0 && c[i-1].at > at(e) {
			i--
		}
		known[station] = slices.Insert(c, i, change{at(e), e.Body})
	}
	lay := func(station string, when int64, of func(tags.Number) bool) (out []tags.Number) {
		feeds := map[string][]tags.Number{}
		for _, c := range known[station] {
			if c.at > when {
				break
			}
			switch b := c.body.(type) {
			case event.FeedCharged:
				feeds[b.Feed] = append(feeds[b.Feed], b.Lot)
			case event.FeedEmptied:
				feeds[b.Feed] = slices.DeleteFunc(feeds[b.Feed], func(n tags.Number) bool { return b.Lot == 0 || n == b.Lot })
			}
		}
		for _, lots := range feeds {
			for _, n := range lots {
				if of(n) {
					out = append(out, n)
				}
			}
		}
		return out
	}
	for seq, e := range m.events {
		run, of := uint64(0), tags.Number(0)
		switch b := e.Body.(type) {
		case event.FeedCharged:
			add(b.Station, e)
		case event.FeedEmptied:
			add(b.Station, e)
		case event.RunOpened:
			run, of = uint64(seq), b.Bundle
		case event.RunJoined:
			run, of = b.Run, b.Bundle
		}
		r := m.runs[run]
		if of == 0 || r.said || r.closed != nil && len(r.closed.Lots) > 0 || r.coil != nil && len(r.coil.Lots) > 0 {
			continue // what a person says, goes
		}
		when := at(e)
		for _, before := range m.events[max(0, seq-2):seq] { // of a scan that was taken as done, when it was
			if b, ok := before.Body.(event.Resolved); ok && b.Took && before.Recorded == e.Recorded {
				when = at(m.events[b.Seq])
			}
		}
		for _, n := range lay(r.station, when, func(n tags.Number) bool { return r.steel.Matches(m.steel(n)) }) {
			if m.kin.absent[run][n] {
				continue // a person found out that it was long gone
			}
			require.Contains(h, r.may, n, "record %d: %v was cut when %v lay there", seq, of, n)
		}
	}
}
