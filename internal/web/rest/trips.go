package rest

import (
	"context"
	"net/http"
	"strconv"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// trips are what happens to loads when they are loaded, and after they left.
func (a *ops) trips() {
	register(a, http.MethodPost, "/loads/{number}/weigh", "weigh-load", "Record the scale ticket of a load", a.weighLoad, group("loads"),
		about("A form: what the scale showed, with units, and if there is one a photo of the ticket. It stands beside the nominal weight and never replaces it."))
	a.uploads("/loads/{number}/weigh", "file", formFields(map[string]string{
		"ticket": "Number of the ticket.", "gross": "As shown, with its unit: 61,480 lb.", "tare": "Of the empty truck, with its unit.",
	})).Required = []string{"gross", "tare"}
	register(a, http.MethodPost, "/loads/{number}/deliver", "deliver-load", "Say that a load, or a stop of it, was handed over", a.deliverLoad, group("loads"),
		about("A form: what the signed sheet says, and a photo of it. Said again, the newest stands; what came back is returned."))
	a.uploads("/loads/{number}/deliver", "file", formFields(map[string]string{
		"stop": "From 1. Left out: all stops.", "date": "As it stands on the sheet: 2026-11-25. Left out: today.", "signed": "Who signed, as it stands there.",
	})).Required = nil
	register(a, http.MethodGet, "/loads/{number}/papers/{seq}", "get-load-paper", "The photo of a scale ticket, or of a signed sheet", a.loadPaper, group("loads"),
		gives("application/pdf", "image/jpeg", "image/png"))
	register(a, http.MethodPost, "/bundles/{number}/return", "return-bundle", "Say that a bundle, or pieces of it, came back from a load that left", a.returnBundle, group("bundles"),
		about("It is here again, as it went. Pieces of a bundle of which others stayed there are a bundle of their own then. The same as scanning its tag with do: return."))
	register(a, http.MethodPost, "/loads/{number}/back", "bring-back", "Say what came back from a processor", a.bringBack, group("loads"),
		about("As it went, or tied anew under the processor's own tags. What was tied anew may be of all heats of all that went into it. What does not come back stays away."))
	register(a, http.MethodGet, "/claims", "list-claims", "Claims, oldest first", a.listClaims, group("claims"))
	register(a, http.MethodPost, "/claims", "make-claim", "Record what a site says of a load that left", a.makeClaim, group("claims"), created)
	register(a, http.MethodGet, "/claims/{claim}", "get-claim", "A claim", a.getClaim, group("claims"))
	register(a, http.MethodPost, "/claims/{claim}/answer", "answer-claim", "Answer a claim", a.answerClaim, group("claims"))
}

// list is the planned list of a load on the wire.
func (a *ops) list(p *view.Past, l load.Load) api.LoadList {
	out := api.LoadList{Load: l.Number.String(), State: l.State(), Planned: l.Planned, Loaded: l.Count, Weight: l.Mass.Text(a.units()), Stops: []api.ListStop{}}
	if l.Limit > 0 {
		out.Limit = l.Limit.Text(a.units())
	}
	for i, s := range scan.ListOf(p, a.f.Rules(), l).Stops {
		one := api.ListStop{Stop: i + 1, Job: s.Job, Processor: s.Processor, Planned: s.Planned, On: s.On, Missing: []api.Absent{}}
		for _, m := range s.Missing {
			out.Missing++
			one.Missing = append(one.Missing, api.Absent{Bundle: m.Bundle.Number.String(), Title: titled(m.Bundle, m.Line), Where: m.Where})
		}
		out.Stops = append(out.Stops, one)
	}
	return out
}

// titled names a bundle by its mark, and which of how many it is.
func titled(b scan.Bundle, l *scan.Line) string {
	return l.Mark + " " + b.Name() + "/" + strconv.Itoa(b.N)
}

// lined names a bundle by its job and list too.
func lined(b scan.Bundle, l *scan.Line) string {
	return l.Job + " / " + l.List + " / " + titled(b, l)
}

// listAt is the list beside a scan at loadout: of the load that is open at the device, or was scanned.
func (a *ops) listAt(p *view.Past, station, device string, show tags.Number) *api.LoadList {
	if st, ok := a.f.Rules().Station(station); !ok || !st.Can(scan.Loadout) {
		return nil
	}
	n := p.Device(device).Load
	if show.Kind() == tags.Load {
		n = show
	}
	l, ok := p.Load(n)
	if !ok {
		return nil
	}
	out := a.list(p, l)
	return &out
}

// sized is a piece on the wire; nil where there is none.
func (a *ops) sized(s scan.Sized) *api.Sized {
	if s.Bundle == 0 {
		return nil
	}
	return &api.Sized{Bundle: s.Bundle.String(), Title: s.Title, MM: s.Length.MM(), Length: s.Length.Text(a.units())}
}

// trip tells of a load what is beside its bundles.
func (a *ops) trip(p *view.Past, l load.Load, out *api.LoadDetail) {
	out.List, out.Signed, out.Claims = a.list(p, l), []api.Handover{}, []api.Claim{}
	on := p.Went(l.Number)
	if len(on) == 0 {
		on = p.PlannedOn(l.Number)
	}
	longest, widest := scan.Extent(p, on)
	out.Longest, out.Widest = a.sized(longest), a.sized(widest)
	if t, ok := p.Ticket(l); ok {
		net := t.Gross - t.Tare
		out.Scale = &api.Scale{Seq: l.Weighed, Ticket: t.Ticket, Gross: t.Gross.Text(a.units()), Tare: t.Tare.Text(a.units()), NetKG: net.Kilograms(),
			Net: net.Text(a.units()), Differs: scan.Beside(net, l.Mass), Over: l.Limit > 0 && net > l.Limit, Photo: len(t.SHA256) > 0}
	}
	for i, s := range l.Stops {
		if d, ok := p.Handover(s); ok {
			out.Signed = append(out.Signed, api.Handover{Seq: s.Delivered, Stop: i + 1, Date: d.Date, Signed: d.Signed, Photo: len(d.SHA256) > 0})
		}
	}
	p.Claims(l.Number, func(seq, _ uint64) bool { out.Claims = append(out.Claims, a.claim(p, seq)); return true })
	if l.Shipped != 0 {
		out.There = a.there(p, l)
	}
}

// there is what is where a load went.
func (a *ops) there(p *view.Past, l load.Load) *api.Net {
	var net sum
	out := &api.Net{Went: []api.Went{}}
	for _, w := range p.SentWith(l.Number) {
		line := p.Line(w.Bundle.Line)
		if w.There > 0 {
			there := w.Bundle
			there.Pieces = w.There
			net.add(there, mass(there, line))
		}
		out.Went = append(out.Went, api.Went{Bundle: w.Bundle.Number.String(), Title: titled(w.Bundle, line), Pieces: w.Went, There: w.There, Where: view.Where(p, w.Bundle, line)})
	}
	out.Amount = a.amount(net)
	return out
}

type loadForm struct {
	Number string `path:"number" maxLength:"20"`
	Keyed
	Upload
}

// loadOf reads the form of a load with some fields: its values, and its photo, nil for none. Whoever gets a
// photo drops it, also with an error.
func (a *ops) loadOf(in *loadForm, what string, fields ...string) (n tags.Number, values map[string]string, by api.By, paper *floor.Paper, err error) {
	if n, err = a.knownLoad(in.Number); err != nil {
		return
	}
	var form map[string][]string
	form, paper, err = a.form(&in.Upload, what, append(fields, "device", "people")...)
	values = map[string]string{}
	for _, f := range append(fields, "device") {
		v, wrong := single(form, f)
		if values[f] = v; err == nil {
			err = wrong
		}
	}
	by = api.By{Device: values["device"], People: words(form["people"])}
	return
}

func (a *ops) weighLoad(ctx context.Context, in *loadForm) (*answer[api.LoadChanged], error) {
	n, form, by, paper, err := a.loadOf(in, "A scale ticket", "ticket", "gross", "tare")
	defer paper.Drop()
	if err != nil {
		return nil, err
	}
	t := scan.Ticket{Load: n, Ticket: form["ticket"], SHA256: paper.Sum()}
	for _, m := range []struct {
		name string
		to   *bar.Mass
	}{{"gross", &t.Gross}, {"tare", &t.Tare}} {
		if *m.to, err = bar.ParseMass(form[m.name]); err != nil {
			return nil, invalid("body."+m.name, err.Error())
		}
	}
	o, err := a.origin("", by, in.Key, []any{"weigh", n, form, by.People, t.SHA256})
	if err != nil {
		return nil, err
	}
	if err := a.f.View(func(p *view.Past) error { _, err := scan.Weigh(p, a.f.Rules(), t); return err }); err != nil {
		return nil, err
	}
	if err := paper.Keep(); err != nil { // what the record cannot take was refused before
		return nil, err
	}
	r, err := a.f.Weigh(ctx, o, t)
	return a.loadChanged(n, r, err)
}

func (a *ops) deliverLoad(ctx context.Context, in *loadForm) (*answer[api.LoadChanged], error) {
	n, form, by, paper, err := a.loadOf(in, "A delivery", "stop", "date", "signed")
	defer paper.Drop()
	if err != nil {
		return nil, err
	}
	d := scan.Delivery{Load: n, Date: form["date"], Signed: form["signed"], SHA256: paper.Sum()}
	if form["stop"] != "" {
		if d.Stop, err = strconv.Atoi(form["stop"]); err != nil {
			return nil, invalid("body.stop", "is no number of a stop; the first is 1")
		}
	}
	o, err := a.origin("", by, in.Key, []any{"deliver", n, form, by.People, d.SHA256})
	if err != nil {
		return nil, err
	}
	if d.Date == "" {
		d.Date = a.today()
	}
	if err := a.f.View(func(p *view.Past) error { _, err := scan.Deliver(p, d); return err }); err != nil {
		return nil, err
	}
	if err := paper.Keep(); err != nil { // what the record cannot take was refused before
		return nil, err
	}
	r, err := a.f.Deliver(ctx, o, d)
	return a.loadChanged(n, r, err)
}

// loadChanged is the receipt of what was said of a load.
func (a *ops) loadChanged(n tags.Number, r floor.Receipt, err error) (*answer[api.LoadChanged], error) {
	if err != nil {
		return nil, err
	}
	if r.Answer == nil {
		return nil, floor.ErrOtherRequest
	}
	return look(a, func(p *view.Past) (api.LoadChanged, error) {
		l, _ := p.Load(n)
		return api.LoadChanged{Recorded: recorded(r), Verdict: r.Answer.Verdict.String(), Notes: notes(r.Answer.Notes, scan.English), Load: a.load(p, l), Bundles: notNil(a.others(p, r))}, nil
	})
}

func (a *ops) loadPaper(_ context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Seq    uint64 `path:"seq" doc:"Sequence of the ticket, or of the delivery."`
}) (*stream, error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	var sum []byte
	if err := a.f.View(func(p *view.Past) error {
		if in.Seq > p.Head() {
			return nil
		}
		switch e := p.Event(in.Seq).Body.(type) {
		case event.LoadWeighed:
			if e.Load == n {
				sum = e.SHA256
			}
		case event.LoadDelivered:
			if e.Load == n {
				sum = e.SHA256
			}
		}
		return nil
	}); err != nil {
		return nil, err
	}
	if len(sum) == 0 {
		return nil, missing("Load %v has no photo at record %d.", n, in.Seq)
	}
	return a.photoOf(sum, "load "+n.String()+" "+strconv.FormatUint(in.Seq, 10))
}

func (a *ops) returnBundle(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.ReturnBundle
}) (*answer[api.Changed], error) {
	b := in.Body
	place, err := a.place("body.place", b.Place)
	if err != nil {
		return nil, err
	}
	return a.changeBundle(in.Number, b.By, in.Key, []any{"return", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.TakeBack(ctx, o, scan.CameBack{Bundle: n, Pieces: b.Pieces, Place: place, Reason: b.Reason, Scrap: b.Scrap})
	})
}

func (a *ops) bringBack(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Keyed
	Body api.BringBack
}) (*answer[api.LoadChanged], error) {
	n, err := a.knownLoad(in.Number)
	if err != nil {
		return nil, err
	}
	x := scan.Backing{Load: n, Step: in.Body.Step}
	if x.From, err = numbers("body.from", in.Body.From, tags.Bundle); err != nil {
		return nil, err
	}
	if x.Place, err = a.place("body.place", in.Body.Place); err != nil {
		return nil, err
	}
	for _, into := range in.Body.Into {
		x.Into = append(x.Into, scan.BackInto{Pieces: into.Pieces, Alias: into.Tag})
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"back", n, in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.BringBack(ctx, o, x)
	return a.loadChanged(n, r, err)
}
