package rest

import (
	"bytes"
	"cmp"
	"context"
	"io"
	"net/http"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/export"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/press"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) papers() {
	register(a, http.MethodGet, "/loads/{number}/sheet.pdf", "get-load-sheet", "The paper that goes with a truck", a.loadSheet, group("loads"),
		about("What lies on the load, or before the first bundle what is planned, by stop and mark, to be ticked off and signed for. Weights are nominal."),
		gives("application/pdf"))
	register(a, http.MethodGet, "/trace.pdf", "trace-paper", "A trace as a paper", a.tracePaper, group("trace"),
		about("Where everything is in order of haste, whom to call, and each bundle."),
		gives("application/pdf"))
}

type sheetIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Paper  string `query:"paper" enum:"letter,a4" default:"letter"`
}

type tracePaperIn struct {
	Q     string `query:"q" required:"true" minLength:"1" maxLength:"8192" doc:"What is asked for, as written or scanned."`
	Paper string `query:"paper" enum:"letter,a4" default:"letter"`
}

// stamp writes a moment (Unix ms) in the plant's zone.
func (a *ops) stamp(ms int64) string { return a.f.Rules().When(ms) }

func (a *ops) loadSheet(_ context.Context, in *sheetIn) (*stream, error) {
	n, err := number(in.Number, tags.Load)
	if err != nil {
		return nil, err
	}
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	sheet := export.LoadSheet{Number: n, Plant: []string{a.f.Rules().Name}, Host: a.o.Host, Units: a.f.Rules().Units, Printed: a.stamp(a.o.Now().UnixMilli())}
	err = a.f.View(func(p *view.Past) error {
		l, ok := p.Load(n)
		if !ok {
			return missing("%v was never given out here.", n)
		}
		sheet.Copy, sheet.Date, sheet.Leaves, sheet.Limit = l.Copy, l.Date, l.Leaves, l.Limit
		var t view.Trace
		on := p.Went(n)
		if len(on) > 0 {
			t = p.Ask(n.Digits())
		} else {
			on = p.PlannedOn(n)
			t = p.AskAll(on)
		}
		longest, widest := scan.Extent(p, on)
		sheet.Longest, sheet.Widest = export.Extent{Length: longest.Length, Mark: longest.Title}, export.Extent{Length: widest.Length, Mark: widest.Title}
		sheet.Scale, sheet.Truck = l.Net, strings.Trim(l.Truck+", "+l.Trailer, ", ")
		sheet.Stops = a.byStop(p, l, t.Bundles)
		sheet.Holds = a.holdsOf(t.Holds, names)
		sheet.NoCert = uncovered(t)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return paper(sheet, in.Paper, "load-"+n.String()+".pdf", n)
}

// paper prints a paper about n, on a size of paper, under a name.
func paper(of interface {
	PDF(io.Writer, export.Paper) error
}, size, name string, n tags.Number) (*stream, error) {
	var b bytes.Buffer
	if err := of.PDF(&b, export.Paper(size)); err != nil {
		return nil, labelProblem(press.NewUnfit(n, err))
	}
	return file("application/pdf", name, b.Bytes()), nil
}

// byStop parts bundles by the stops of a load: where they are planned, else the first stop for their job.
func (a *ops) byStop(p *view.Past, l load.Load, bundles []view.TracedBundle) []export.Stop {
	var out []export.Stop
	went := map[tags.Number]int{}
	if l.Shipped != 0 { // the paper is of what went, whatever came back
		for _, s := range p.SentWith(l.Number) {
			went[s.Bundle.Number] = s.Went
		}
	}
	for i, s := range l.Stops {
		job, _ := p.Job(s.Job)
		stop := export.Stop{Job: s.Job, JobName: strings.TrimSpace(job.Name + " " + s.Processor), ShipTo: s.ShipTo, Contact: s.Contact, From: s.From, Until: s.Until}
		if len(stop.ShipTo) == 0 {
			stop.ShipTo = job.ShipTo
		}
		for _, b := range bundles {
			if p.StopOf(l, b.Bundle) == i {
				one := paperBundle(b)
				switch pieces, sent := went[b.Number]; {
				case sent && pieces != b.Pieces: // what was lost later, or came back, went with it all the same
					one.Pieces = pieces
					one.Weight, _ = bar.Weigh(b.Line.Steel.Size, b.Line.Length*bar.Length(pieces))
				case len(went) > 0 && !sent:
					continue // it was tied of what came back
				}
				_, one.Returned = went[b.Number]
				one.Returned = one.Returned && b.Load != l.Number
				stop.Bundles = append(stop.Bundles, one)
			}
		}
		out = append(out, stop)
	}
	return out
}

func paperBundle(b view.TracedBundle) export.Bundle {
	out := export.Bundle{
		Number: b.Number, List: b.Line.List, Mark: b.Line.Mark, K: b.Name(), N: b.N, Steel: b.Line.Steel,
		Pieces: b.Pieces, Length: b.Line.Length, Weight: b.Mass,
	}
	if b.Drawn {
		out.Draw = b.Heats
	}
	return out
}

func (a *ops) holdsOf(holds []heat.Hold, names map[tags.Number]string) []export.Hold {
	var out []export.Hold
	for _, h := range holds {
		by := ""
		for i, n := range h.People {
			if i > 0 {
				by += ", "
			}
			if names[n] != "" {
				by += names[n]
			} else {
				by += n.String()
			}
		}
		out = append(out, export.Hold{Target: h.Target, Reason: h.Reason, At: a.stamp(h.At), By: by})
	}
	return out
}

// uncovered are the heats and sizes of the bundles of a trace for which no cert of their own is on
// file.
func uncovered(t view.Trace) []export.HeatSize {
	var out []export.HeatSize
	for _, b := range t.Bundles {
		if !b.Drawn {
			continue
		}
		for _, k := range b.Heats.Heats {
			one := export.HeatSize{Key: k, Size: b.Line.Steel.Size}
			covered := slices.ContainsFunc(t.Certs, func(c heat.Cert) bool {
				return c.Filed.Mill == k.Mill && c.Filed.Heat == k.Heat && c.Covers(one.Size) && c.Specific()
			})
			if !covered && !slices.Contains(out, one) {
				out = append(out, one)
			}
		}
	}
	return out
}

func (a *ops) tracePaper(_ context.Context, in *tracePaperIn) (*stream, error) {
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	r := export.Recall{Trace: true, Plant: []string{a.f.Rules().Name}, Asked: in.Q, Units: a.f.Rules().Units, Printed: a.stamp(a.o.Now().UnixMilli())}
	err = a.f.View(func(p *view.Past) error {
		t := p.Ask(in.Q)
		if len(t.Found) == 0 {
			return missing("Nothing here goes by the name of %s.", in.Q)
		}
		r.Through, r.Holds, r.Certs = p.Head(), a.holdsOf(t.Holds, names), t.Certs
		r.Trace, r.Disputes = len(t.Holds) == 0, t.Disputes
		for _, b := range t.Bundles {
			r.Bundles = append(r.Bundles, a.tracedBundle(p, b))
			for _, k := range b.Heats.Heats {
				if !slices.Contains(r.Heats, k) {
					r.Heats = append(r.Heats, k)
				}
			}
		}
		for _, l := range t.Lots {
			r.Lots = append(r.Lots, a.tracedLot(l))
		}
		r.Loads = a.sent(p, t)
		return nil
	})
	if err != nil {
		return nil, err
	}
	// The heats of a question about a heat are that heat alone, not all that a bundle may be of.
	if asked := namedHeats(in.Q, r.Heats); len(asked) > 0 {
		r.Heats = asked
	}
	slices.SortFunc(r.Heats, heat.Key.Compare)
	return paper(r, in.Paper, "trace.pdf", 0)
}

func namedHeats(q string, all []heat.Key) []heat.Key {
	var out []heat.Key
	for _, k := range all {
		if k.Heat == q || k.String() == q {
			out = append(out, k)
		}
	}
	return out
}

func (a *ops) tracedLot(l view.TracedLot) export.TracedLot {
	out := export.TracedLot{
		Number: l.Number, Remnant: l.Remnant(), Steel: l.Steel, Bars: max(0, l.OnHand()), Length: l.Length, Weight: l.Mass,
		Draw: l.Heats, Place: l.Place, Since: a.stamp(l.At),
	}
	if l.Feed != "" {
		out.Place = "feed " + l.Feed
	}
	return out
}

func (a *ops) tracedBundle(p *view.Past, b view.TracedBundle) export.Traced {
	out := export.Traced{Bundle: paperBundle(b), Job: b.Line.Job, Load: b.Load, Place: b.Where, Since: a.stamp(b.At), Where: export.Inside}
	if l, ok := p.Load(b.Load); ok {
		out.Stop = p.StopOf(l, b.Bundle) + 1
	}
	switch {
	case b.Shipped:
		out.Where = export.Shipped
	case b.Load != 0:
		out.Where = export.Loaded
	}
	return out
}

// sent is where the loads of a trace went, and whom to call.
func (a *ops) sent(p *view.Past, t view.Trace) []export.Sent {
	calls := p.Calls(t.Bundles)
	slices.SortStableFunc(calls, func(a, b view.Call) int {
		return cmp.Or(cmp.Compare(slices.Index(t.Loads, a.Load), slices.Index(t.Loads, b.Load)), cmp.Compare(a.Stop, b.Stop))
	})
	var out []export.Sent
	for _, c := range calls {
		out = append(out, a.sentTo(c))
	}
	return out
}
