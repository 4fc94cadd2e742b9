package pages

import (
	"strconv"
	"strings"
	"time"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// lastScan is one of the last scans of a station.
type lastScan struct {
	At      string // as "10:42"
	Verdict event.Verdict
	What    string // the mark and bundle, or the number, or whose badge
	Did     string // the word of a text that says it shortly
	Note    event.Note
}

// Sign is the verdict as a letter of its own.
func (l lastScan) Sign() string {
	return [...]string{"✓", "▲", "⊘", "◷"}[l.Verdict&3]
}

// last are the last scans of a station, the newest first. What lies open belongs to the device that scans, so
// where no steps are done only its own are told.
func (p *pages) last(past *view.Past, d *stationPage, scans []view.Scanned, device string, people map[tags.Number]floor.Person) (out []lastScan) {
	zone := p.floor.Rules().Zone
	for _, s := range scans {
		if len(out) == mostScans {
			break
		}
		if !d.Steps && s.Device != device || len(s.Answer.Notes) == 0 {
			continue
		}
		l := lastScan{At: time.UnixMilli(s.At).In(zone).Format("15:04"), Verdict: s.Answer.Verdict, Note: s.Answer.Notes[0]}
		l.Did = "did " + l.Note.Code
		if _, ok := ours[l.Did]; !ok {
			l.Did = "did " + s.Answer.Verdict.String()
		}
		l.What = named(past, s.Number, people)
		out = append(out, l)
	}
	return out
}

// named is what people call a numbered thing.
func named(past *view.Past, n tags.Number, people map[tags.Number]floor.Person) string {
	switch n.Kind() {
	case tags.Bundle:
		if b, ok := past.Bundle(n); ok {
			return past.Line(b.Line).Mark + " " + b.Name() + "/" + strconv.Itoa(b.N)
		}
	case tags.Person:
		if name := people[n].Name; name != "" {
			return name
		}
	case tags.Place:
		if name, ok := past.Place(n); ok {
			return name
		}
	}
	if n == 0 {
		return ""
	}
	return n.String()
}

// signedOn tells who signed on at a station last.
func signedOn(past *view.Past, st scan.Station, scans []view.Scanned, people map[tags.Number]floor.Person, rules scan.Rules) *signOn {
	for _, s := range scans {
		if s.Number.Kind() == tags.Person && s.Answer.Verdict != event.Refused {
			return &signOn{Last: named(past, s.Number, people), When: strings.TrimPrefix(rules.When(s.At), time.Now().In(rules.Zone).Format("2006-01-02 "))}
		}
	}
	return &signOn{}
}
