package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// The kinds of slips.
const (
	SlipCount   = "count"   // what was counted or drawn is not what the record had
	SlipLost    = "lost"    // pieces lost
	SlipRefused = "refused" // a scan that was not taken
	SlipCheck   = "check"   // any other answer that wanted a person
)

// SlipKinds are all kinds of slips.
var SlipKinds = []string{SlipCount, SlipLost, SlipRefused, SlipCheck}

// countNotes are the sentences that tell of a count which is not what the record had.
var countNotes = []string{"count difference", "coil difference", "counted otherwise", "metal missing", "coil missing"}

// Slip is something that did not go as it should. The same refusal of the same thing at the same device, told
// again before anything else happened there, is one slip.
type Slip struct {
	Seq     uint64 // of the newest record of it
	Kind    string
	First   int64 // Unix ms, by the device's clock where it has one
	At      int64 // of the newest
	Times   int
	Pieces  int // lost
	Station string
	Device  string
	People  []tags.Number
	Number  tags.Number // that it is about, 0 for none
	Event   event.Event // the newest
	Open    bool        // it is on the list to resolve
}

// Notes are the sentences of the slip's answer that wanted a person, or say why it was refused.
func (s Slip) Notes() (out []event.Note) {
	if s.Event.Answer == nil {
		return nil
	}
	for _, n := range s.Event.Answer.Notes {
		if scan.Sentences[n.Code].Verdict != event.Accepted {
			out = append(out, n)
		}
	}
	return out
}

// SlipsAsked is which slips are asked for.
type SlipsAsked struct {
	Before  uint64 // the sequence that they are before; 0 is none
	Since   int64  // Unix ms; what was recorded earlier is left out
	Station string // "" is any
	Person  tags.Number
	Kind    string
	Most    int // slips
	Look    int // records that are looked at
}

// Slips are the newest slips, newest first. With more to look at, next is the sequence to go on before; else 0.
func (p *Past) Slips(q SlipsAsked) (out []Slip, next uint64) {
	seq := p.Head() + 1
	if q.Before != 0 {
		seq = min(seq, q.Before)
	}
	last := map[string]int{} // by device: its slip that was added last
	for looked := 0; seq > 1; looked++ {
		if looked == q.Look || len(out) == q.Most {
			return out, seq
		}
		seq--
		e := p.Event(seq)
		if e.Recorded < q.Since {
			return out, 0
		}
		s, ok := slipOf(seq, e)
		at := e.Station + "\x00" + e.Device
		i, had := last[at]
		if !ok {
			if had && e.Answer != nil {
				delete(last, at) // something else happened there
			}
			continue
		}
		if q.Station != "" && s.Station != q.Station || q.Person != 0 && !slices.Contains(s.People, q.Person) || q.Kind != "" && s.Kind != q.Kind {
			delete(last, at)
			continue
		}
		if had && s.Kind == SlipRefused && sameRefusal(out[i], s) {
			out[i].Times++
			out[i].First = s.First
			continue
		}
		s.Open = p.Open(seq)
		last[at] = len(out)
		out = append(out, s)
	}
	return out, 0
}

// sameRefusal says whether two refusals at a device are of the same thing for the same reason.
func sameRefusal(a, b Slip) bool {
	x, y := a.Event.Answer.Notes, b.Event.Answer.Notes
	return a.Kind == b.Kind && a.Number == b.Number && a.Event.Body == b.Event.Body && slices.Equal(a.People, b.People) &&
		len(x) > 0 && len(y) > 0 && x[0].Code == y[0].Code && slices.Equal(x[0].Args, y[0].Args)
}

// slipOf is the slip that an event tells of, if it does.
func slipOf(seq uint64, e event.Event) (Slip, bool) {
	s := Slip{Seq: seq, At: e.Happened, Times: 1, Station: e.Station, Device: e.Device, People: e.People, Event: e}
	if s.At == 0 {
		s.At = e.Recorded
	}
	s.First = s.At
	differs := e.Answer != nil && slices.ContainsFunc(e.Answer.Notes, func(n event.Note) bool { return slices.Contains(countNotes, n.Code) })
	switch b := e.Body.(type) {
	case event.PiecesLost:
		s.Kind, s.Pieces, s.Number = SlipLost, b.Pieces, b.Bundle
		return s, true
	case event.YardCounted:
		differs = b.Bars != b.Record || b.Mass != b.RecordMass
	case event.ScanRefused:
		s.Kind, s.Number = SlipRefused, b.Number
		return s, e.Answer != nil
	case event.Resolved:
		return s, false
	}
	s.Number = Subject([]event.Event{e})
	switch {
	case differs:
		s.Kind = SlipCount
	case e.Answer != nil && e.Answer.Verdict == event.Check:
		s.Kind = SlipCheck
	default:
		return s, false
	}
	return s, true
}
