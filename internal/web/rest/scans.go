package rest

import (
	"context"
	"fmt"
	"net/http"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) scans() {
	register(a, http.MethodPost, "/scans", "scan", "Scan a tag at a station", a.scan, group("scans"),
		about("One scan box takes any number anywhere, and the station decides what it means. A refusal is an answer with status 200: its verdict says refused, its sentences why, and what to do next."))
}

type scanIn struct {
	Keyed
	Body api.Scan
}

func (a *ops) scan(ctx context.Context, in *scanIn) (*answer[api.ScanAnswer], error) {
	x, err := a.scanOf(in.Body)
	if err != nil {
		return nil, err
	}
	return a.doScan(ctx, in.Body.Station, in.Body.By, in.Key, in.Body.Lang, []any{"scan", in.Body}, x)
}

// scanOf is the scan that a body asks for.
func (a *ops) scanOf(b api.Scan) (scan.Scan, error) {
	x := scan.Scan{Do: scan.Do(b.Do), Pieces: b.Pieces, Feed: b.Feed, Pocket: b.Pocket, Gone: b.Gone, Why: b.Why, Late: b.Kept}
	if b.Code == "" && b.Do != string(scan.Empty) {
		return x, invalid("body.code", "is empty; scan a tag, or type the number under the bars")
	}
	if b.Kept && b.At.IsZero() {
		return x, invalid("body.at", "is missing; a kept scan says when it was, by the device's clock")
	}
	if b.Code != "" {
		x.Read, x.Wrong = a.o.Reader.Read(b.Code)
	}
	var err error
	if x.Lots, err = numbers("body.lots", b.Lots, tags.Stock); err != nil {
		return x, err
	}
	if x.Bars, err = drawn(b.Bars); err != nil {
		return x, err
	}
	for i, d := range b.Coils {
		at := fmt.Sprintf("body.coils[%d]", i)
		one := event.MassDraw{}
		if one.Lot, err = oneNumber(at+".lot", d.Lot, tags.Stock); err != nil {
			return x, err
		}
		if one.Mass, err = bar.ParseMass(d.Weight); err != nil {
			return x, invalid(at+".weight", err.Error())
		}
		x.Coils = append(x.Coils, one)
	}
	if b.Scrap != "" {
		if x.Scrap, err = bar.ParseMass(b.Scrap); err != nil {
			return x, invalid("body.scrap", err.Error())
		}
	}
	if b.Remnants != nil {
		x.Remnants = []event.Remnant{}
	}
	for i, r := range b.Remnants {
		at := fmt.Sprintf("body.remnants[%d]", i)
		one := event.Remnant{Bars: r.Bars}
		if one.Length, err = bar.ParseLength(r.Length); err != nil {
			return x, invalid(at+".length", err.Error())
		}
		if one.Place, err = a.place(at+".place", r.Place); err != nil {
			return x, err
		}
		x.Remnants = append(x.Remnants, one)
	}
	return x, nil
}

// drawn reads counts of bars.
func drawn(bars []api.Drawn) (out []event.Draw, err error) {
	for i, d := range bars {
		n, err := oneNumber(fmt.Sprintf("body.bars[%d].lot", i), d.Lot, tags.Stock)
		if err != nil {
			return nil, err
		}
		out = append(out, event.Draw{Lot: n, Bars: d.Bars})
	}
	return out, nil
}

// doScan takes a scan and says its answer, with the card of a bundle.
func (a *ops) doScan(ctx context.Context, station string, by api.By, key, lang string, request any, x scan.Scan) (*answer[api.ScanAnswer], error) {
	out, show, err := a.scanned(ctx, station, by, key, lang, request, x)
	if err == nil {
		err = a.f.View(func(p *view.Past) error {
			if show.Kind() == tags.Bundle {
				out.Card = a.card(p, station, show)
			}
			out.Load = a.listAt(p, station, by.Device, show)
			return nil
		})
	}
	return &answer[api.ScanAnswer]{out}, err
}

// scanned takes a scan and says its answer, and what it is about.
func (a *ops) scanned(ctx context.Context, station string, by api.By, key, lang string, request any, x scan.Scan) (api.ScanAnswer, tags.Number, error) {
	o, err := a.origin(station, by, key, request)
	if err != nil {
		return api.ScanAnswer{}, 0, err
	}
	o.Happened = a.happened(by)
	x.Station, x.Device, x.At = station, by.Device, o.Happened.UnixMilli()
	r, show, err := a.f.Scan(ctx, o, x)
	if err != nil {
		return api.ScanAnswer{}, 0, err
	}
	if r.Answer == nil { // the key's first request was no scan
		return api.ScanAnswer{}, 0, floor.ErrOtherRequest
	}
	return a.scanAnswer(r, show, lang), show, nil
}

// scanAnswer is the receipt of a scan about show on the wire.
func (a *ops) scanAnswer(r floor.Receipt, show tags.Number, lang string) api.ScanAnswer {
	a.s.Metrics.Scan(r.Answer.Verdict.String())
	out := api.ScanAnswer{Recorded: recorded(r), Verdict: r.Answer.Verdict.String(), Notes: notes(r.Answer.Notes, scan.Lang(lang)), Number: show.String()}
	out.Says, out.Next = out.Notes[0].Says, nextOf(out.Notes)
	if show != 0 && show.Kind() != tags.Assembly {
		out.Kind = show.Kind().String()
	}
	return out
}

// notes are the sentences of an answer.
func notes(in []event.Note, lang scan.Lang) []api.Note {
	out := make([]api.Note, 0, len(in))
	for _, n := range in {
		says, next := scan.Say(n, lang)
		out = append(out, api.Note{Code: n.Code, Args: notNil(n.Args), Says: says, Next: next})
	}
	return out
}

// nextOf is what to do next: what the last sentence that wants a person says, else the first that
// says anything.
func nextOf(notes []api.Note) string {
	next := ""
	for _, n := range notes {
		if n.Next != "" && (next == "" || scan.Sentences[n.Code].Verdict == event.Check) {
			next = n.Next
		}
	}
	return next
}

// card is the work card of a bundle at a station; nil for a bundle that is not known.
func (a *ops) card(p *view.Past, station string, n tags.Number) *api.Card {
	c, ok := scan.CardOf(p, a.f.Rules(), station, n)
	if !ok {
		return nil
	}
	bars, _, _ := c.Bars()
	out := &api.Card{Bundle: a.bundleOf(p, c.Bundle, c.Line, c), Step: c.Step, Hold: hold(c.Held), Run: c.Run, Bars: bars}
	marks := map[tags.Number]string{}
	for _, m := range c.Members {
		one := a.member(p, m)
		marks[m.Bundle] = one.Mark
		out.Members = append(out.Members, one)
	}
	for _, pt := range c.Plan {
		cut := api.Cut{Lot: pt.Lot.String(), LengthMM: pt.Length.MM(), Length: pt.Length.Text(a.units()), Bars: pt.Bars,
			Cuts: []api.Piece{}, LeftMM: pt.Left.MM(), Left: leftText(pt.Left, a.units()), Keep: pt.Keep}
		for _, piece := range pt.Cuts {
			cut.Cuts = append(cut.Cuts, api.Piece{Bundle: piece.Bundle.String(), Mark: marks[piece.Bundle], Pieces: piece.Pieces})
			if piece.Bundle == n && out.PiecesPerBar == 0 {
				out.PiecesPerBar = int(pt.Length / c.Line.Length)
			}
		}
		out.Plan = append(out.Plan, cut)
	}
	if c.Coil {
		out.Coil, out.NeedKG, out.Need = true, c.Mass.Kilograms(), c.Mass.Text(a.units())
		if c.Lacking > 0 {
			out.LackKG, out.Lack = c.Lacking.Kilograms(), c.Lacking.Text(a.units())
		}
	}
	for _, b := range c.Bring {
		takes, left := "", ""
		if b.Lot.Coil() {
			takes, left = b.Mass.Text(a.units()), b.Lot.Weighs().Text(a.units())
		}
		out.Bring = append(out.Bring, api.Bring{Takes: takes, Left: left, Lot: b.Lot.Number.String(), Place: b.Place, Feed: b.Feed, Bars: b.Bars,
			OnHand: b.Lot.OnHand(), Draw: draw(b.Heats, true), LengthMM: b.Lot.Length.MM(), Length: a.barLength(b.Lot)})
	}
	for _, w := range c.Short {
		out.Short = append(out.Short, api.Piece{Bundle: w.Bundle.String(), Mark: marks[w.Bundle], Pieces: w.Pieces})
	}
	for _, g := range c.Gauges {
		out.Gauge = append(out.Gauge, gauge(g, a.units()))
	}
	return out
}

// gauge tells how the stops are set.
func gauge(g scan.Gauge, u bar.Units) api.Gauge {
	out := api.Gauge{Length: g.Length.Text(u), Reach: g.Reach}
	if g.Stop == 0 {
		out.Text = "shorter than the first stop"
		return out
	}
	out.Stop = g.Stop.Text(u)
	out.Text = out.Stop + " stop"
	if g.Out > 0 {
		out.Out = g.Out.Text(u)
		out.Text += ", " + out.Out + " out"
	}
	if !g.Reach {
		out.Text += ": farther than the table moves"
	}
	return out
}

// leftText prints what is left of a bar, which may be nothing.
func leftText(l bar.Length, u bar.Units) string {
	if l == 0 {
		return "0"
	}
	return l.Text(u)
}

func (a *ops) member(p *view.Past, m scan.Member) api.Member {
	b, _ := p.Bundle(m.Bundle)
	return api.Member{Bundle: m.Bundle.String(), Mark: p.Line(b.Line).Mark, K: b.Name(), N: b.N, Pieces: m.Pieces,
		Length: m.Length.Text(a.units()), Done: m.Done}
}
