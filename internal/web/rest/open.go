package rest

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) openList() {
	register(a, http.MethodGet, "/open", "list-open", "The list to resolve, newest first", a.listOpen, group("list to resolve"),
		about("Answers that want a person (check), and kept scans that do not fit the record (disputed), until somebody settles them: each with who may, and how."),
		orTable[api.Open](a))
	register(a, http.MethodPost, "/open/{seq}/resolve", "resolve", "Settle a thing on the list to resolve", a.resolve, group("list to resolve"),
		about("With the badge of a person who holds the office that may. With took, a kept scan that does not fit the record is recorded now as done, with check where the rules would have refused it."))
}

type openIn struct {
	Station  string `query:"station" maxLength:"40" doc:"Of this station only."`
	Bundle   string `query:"bundle" maxLength:"20" doc:"About this bundle only."`
	Office   string `query:"office" enum:"quality,shipping,floor lead,office" doc:"What this office settles only."`
	Disputed bool   `query:"disputed" doc:"Kept scans that do not fit the record only."`
	Lang     string `query:"lang" enum:"en,es" default:"en" doc:"Language of the sentences."`
	Format   string `query:"format" enum:"json,csv" default:"json" doc:"csv is a table with one row for each thing, for a spreadsheet."`
	After    uint64 `query:"after" doc:"The next of the page before; left out, the list begins with the newest."`
	Limit    int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
}

func (a *ops) listOpen(_ context.Context, in *openIn) (*stream, error) {
	var bundle tags.Number
	if in.Bundle != "" {
		var err error
		if bundle, err = tags.ParseNumber(in.Bundle); err != nil {
			return nil, invalid("query.bundle", err.Error())
		}
	}
	out := api.Open{Open: []api.OpenItem{}}
	if err := a.f.View(func(p *view.Past) error {
		read, last := 0, in.After
		p.OpenBefore(in.After, func(seq uint64) bool {
			if len(out.Open) == in.Limit || read == mostRead {
				out.Next = seqText(last)
				return false
			}
			read, last = read+1, seq
			e := p.Event(seq)
			one := a.openItem(p, seq, e, scan.Lang(in.Lang))
			if (in.Station == "" || one.Station == in.Station) && (in.Office == "" || one.Office == in.Office) &&
				(!in.Disputed || one.Disputed) && (bundle == 0 || one.Number == bundle.String()) {
				out.Open = append(out.Open, one)
			}
			return true
		})
		return nil
	}); err != nil {
		return nil, err
	}
	return tabled(a, in.Format, "open.csv", out, openTable), nil
}

// openItem is a thing on the list to resolve on the wire.
func (a *ops) openItem(p *view.Past, seq uint64, e event.Event, lang scan.Lang) api.OpenItem {
	n := p.SubjectOf(seq)
	_, disputed := e.Body.(event.ScanDisputed)
	out := api.OpenItem{
		Seq: seq, Kind: e.Body.Kind().String(), Disputed: disputed, Number: n.String(), About: scan.Title(p, n, e), Recorded: at(e.Recorded), Happened: when(e.Happened),
		Age: age(a.o.Now().Sub(at(e.Recorded))), Device: e.Device, Station: e.Station, People: shown(e.People), Notes: []api.Note{},
		Office: string(scan.Who(*e.Answer)), How: notNil(scan.How(*e.Answer, lang)),
	}
	for _, n := range notes(e.Answer.Notes, lang) {
		if scan.Sentences[n.Code].Verdict != event.Accepted {
			out.Notes = append(out.Notes, n)
		}
	}
	return out
}

// age says roughly how long something is.
func age(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d min", max(0, int(d.Minutes())))
	case d < 48*time.Hour:
		return fmt.Sprintf("%d h", int(d.Hours()))
	}
	return fmt.Sprintf("%d d", int(d.Hours()/24))
}

// openTable writes the list to resolve for a spreadsheet.
func openTable(b *bytes.Buffer, l api.Open) {
	t := newTable(b, "seq", "recorded", "age", "disputed", "what", "number", "about", "station", "device", "people", "says", "office", "how")
	for _, o := range l.Open {
		var says []string
		for _, n := range o.Notes {
			says = append(says, n.Says)
		}
		t.row(seqText(o.Seq), o.Recorded.Format(time.RFC3339), o.Age, yes(o.Disputed), o.Kind, o.Number, o.About, o.Station, o.Device,
			join(o.People), strings.Join(says, " "), o.Office, strings.Join(o.How, " "))
	}
	t.flush()
}

func (a *ops) resolve(ctx context.Context, in *struct {
	Keyed
	Seq  uint64 `path:"seq"`
	Body api.Resolve
}) (*answer[api.Resolved], error) {
	b := in.Body
	o, err := a.origin("", b.By, in.Key, []any{"resolve", in.Seq, b})
	if err != nil {
		return nil, err
	}
	var person tags.Number
	if b.Person != "" {
		if person, err = oneNumber("body.person", b.Person, tags.Person); err != nil {
			return nil, err
		}
	}
	x := scan.Settling{Seq: in.Seq, Reason: b.Reason, Took: b.Took, Pieces: b.Pieces, Reader: a.o.Reader}
	if x.Lots, err = numbers("body.lots", b.Lots, tags.Stock); err != nil {
		return nil, err
	}
	r, err := a.f.Resolve(ctx, o, person, x)
	if err != nil {
		return nil, err
	}
	body, err := floor.Body[event.Resolved](r)
	if err != nil {
		return nil, err
	}
	var about tags.Number
	err = a.f.View(func(p *view.Past) error { about = p.SubjectOf(body.Seq); return nil })
	return &answer[api.Resolved]{api.Resolved{
		Recorded: recorded(r), As: body.As, Verdict: r.Answer.Verdict.String(), Notes: slices.Clip(notes(r.Answer.Notes, scan.Lang(b.Lang))), Number: about.String(),
	}}, err
}
