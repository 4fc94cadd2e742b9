package rest

import (
	"context"
	"net/http"
	"slices"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// mostHistory is how many of a thing's newest events its page tells.
const mostHistory = 500

func (a *ops) bundles() {
	register(a, http.MethodGet, "/bundles", "list-bundles", "Bundles, by number", a.listBundles, group("bundles"))
	register(a, http.MethodGet, "/bundles/{number}", "get-bundle", "A bundle, where its steel came from and what happened to it", a.getBundle, group("bundles"))
	register(a, http.MethodPost, "/bundles/{number}/undo", "undo-bundle", "Take back the newest progress of a bundle", a.undoBundle, group("bundles"),
		about("A start, a step done, a loading, a loss, a split or a merge. Nothing is deleted: an event says what is taken back, and why."))
	register(a, http.MethodPost, "/bundles/{number}/void", "void-bundle", "Take a bundle that is not begun out of the work", a.voidBundle, group("bundles"))
	a.mishaps()
	register(a, http.MethodPost, "/bundles/{number}/route", "set-route", "Give a bundle a route of its own", a.setRoute, group("bundles"),
		about("Only the steps that are neither done nor begun may change, also after the fact: it was bent elsewhere."))
	register(a, http.MethodPost, "/bundles/{number}/assign", "assign-bundle", "Say which bars a bundle is that no station cuts", a.assign, group("bundles"),
		about("Full stock lengths, or bars that are only bent or coated. Heats, traces and holds follow. A scan with lots or bars beside it does the same."))
	register(a, http.MethodPost, "/bundles/{number}/declare", "declare-bundle", "Say what a supplier's paper has on the heats of a bundle bought ready made", a.declare, group("bundles"),
		about("The steel gets a lot of its own. How sure its heats are is never better than declared."))
	register(a, http.MethodPost, "/bundles/{number}/reassign", "reassign-bundle", "Give a bundle that is made to another line of the same bars", a.reassign, group("bundles"),
		about("What was made for the shop's own stock goes to a customer: it takes the place of a bundle that is not begun, which then owes what is left, or falls away."))
}

// bundle is a bundle on the wire.
func (a *ops) bundle(p *view.Past, b scan.Bundle) api.Bundle {
	// For no station a card holds no plan: only the heats and what holds the bundle.
	c, _ := scan.CardOf(p, a.f.Rules(), "", b.Number)
	return a.bundleOf(p, b, p.Line(b.Line), c)
}

func (a *ops) bundleOf(p *view.Past, b scan.Bundle, l *scan.Line, c scan.Card) api.Bundle {
	m := mass(b, l)
	out := api.Bundle{
		Number: b.Number.String(), Job: l.Job, List: l.List, Mark: l.Mark, K: b.Name(), N: b.N, Steel: steel(l.Steel),
		Pieces: b.Pieces, Made: b.Made, LengthMM: l.Length.MM(), Length: l.Length.Text(a.units()),
		WeightKG: m.Kilograms(), Weight: m.Text(a.units()),
		Shape: l.Shape.Code, Edition: l.Shape.Edition, Bends: l.Shape.Text(a.units()), Route: notNil(b.Steps(l)),
		Done: b.Done, Next: b.Next(l), State: state(p, b, l), Where: view.Where(p, b, l),
		Station: b.Station, Pocket: b.Pocket, Load: b.Load.String(), Planned: b.Planned.String(),
		Draw: draw(c.Heats, c.Drawn), Held: c.Held != nil, Copy: b.Copy, Updated: at(b.At),
	}
	if name, ok := p.Place(b.Place); ok {
		out.Place = name
	}
	if k := b.Kin; k != nil {
		out.Lost, out.Sampled, out.Replacement, out.Parents, out.Into = k.Lost, k.Sampled, k.Replaces, shown(k.Parents), k.Into.String()
	}
	return out
}

// state is the word for how far a bundle is.
func state(p *view.Past, b scan.Bundle, l *scan.Line) string {
	switch {
	case b.Voided:
		return "voided"
	case b.Shipped:
		ld, _ := p.Load(b.Load)
		if at := p.StopOf(ld, b); at >= 0 && at < len(ld.Stops) {
			switch {
			case ld.Stops[at].Processor != "":
				return "away"
			case ld.Stops[at].Delivered != 0:
				return "delivered"
			}
		}
		return "shipped"
	case b.Load != 0:
		return "loaded"
	case b.Staged() != 0:
		return "staged"
	case b.Next(l) == "":
		return "ready"
	case b.Started || b.Done > 0 || b.Made > 0:
		return "started"
	}
	return "planned"
}

type bundlesIn struct {
	Job    string `query:"job" maxLength:"60" doc:"Of this job only."`
	List   string `query:"list" maxLength:"40" doc:"Of this bar list only; with job."`
	Mark   string `query:"mark" maxLength:"40" doc:"Of this mark only."`
	Size   string `query:"size" maxLength:"20" doc:"Of this size only: #5, 16mm, 15M."`
	Length string `query:"length" maxLength:"40" doc:"Of pieces this long only."`
	Place  string `query:"place" maxLength:"40" doc:"Lying at this place only: its name or number."`
	State  string `query:"state" enum:"planned,started,ready,staged,loaded,shipped,delivered,away,voided" doc:"In this state only."`
	Paged
}

func (a *ops) listBundles(_ context.Context, in *bundlesIn) (*answer[api.Bundles], error) {
	after, err := pageNumber(in.After, tags.Bundle)
	if err != nil {
		return nil, err
	}
	if in.List != "" && in.Job == "" {
		return nil, invalid("query.job", "is missing; a list number belongs to a job")
	}
	fits, err := a.like(in.Size, in.Length, in.Place)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Bundles, error) {
		out := api.Bundles{Bundles: []api.Bundle{}}
		read := 0
		add := func(b scan.Bundle) bool {
			if b.Number <= after {
				return true
			}
			if len(out.Bundles) == in.Limit || read == mostRead {
				out.Next = after.String()
				return false
			}
			read++
			after = b.Number
			if l := p.Line(b.Line); fits(b, l) && (in.State == "" || in.State == state(p, b, l)) {
				out.Bundles = append(out.Bundles, a.bundle(p, b))
			}
			return true
		}
		if in.Job == "" && in.Mark == "" {
			p.Bundles(after, add)
			return out, nil
		}
		for _, b := range bundlesOf(p, in.Job, in.List, in.Mark) {
			if !add(b) {
				break
			}
		}
		return out, nil
	})
}

// bundlesOf are the bundles of a job, of a list or mark of it, or of a mark of whatever job, by number.
func bundlesOf(p *view.Past, job, list, mark string) []scan.Bundle {
	var lines []*scan.Line
	switch {
	case job != "" && list != "" && mark != "":
		if l, ok := p.LineOf(job, list, mark); ok {
			lines = append(lines, l)
		}
	case job != "":
		lines = p.LinesOf(job, list)
	default:
		lines = p.LinesMarked(mark)
	}
	var out []scan.Bundle
	for _, l := range lines {
		if mark == "" || l.Mark == mark {
			out = append(out, p.BundlesOf(l)...)
		}
	}
	slices.SortFunc(out, func(x, y scan.Bundle) int { return int(int64(x.Number) - int64(y.Number)) })
	return out
}

// pageNumber reads where a page of numbered things begins.
func pageNumber(after string, kind tags.Kind) (tags.Number, error) {
	if after == "" {
		return 0, nil
	}
	return oneNumber("query.after", after, kind)
}

type numberIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
}

// thatBundle finds the bundle of a path.
func thatBundle(p *view.Past, n tags.Number) (scan.Bundle, error) {
	b, ok := p.Bundle(n)
	if !ok {
		return b, missing("Bundle %v was never given out here.", n)
	}
	return b, nil
}

type thenIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	AsOf
}

func (a *ops) getBundle(_ context.Context, in *thenIn) (*answer[api.BundleDetail], error) {
	n, err := number(in.Number, tags.Bundle)
	if err != nil {
		return nil, err
	}
	return lookThen(a, in.AsOf, n.Digits(), func(p *view.Past) (api.BundleDetail, error) {
		b, err := thatBundle(p, n)
		if err != nil {
			return api.BundleDetail{}, err
		}
		l := p.Line(b.Line)
		c, _ := scan.CardOf(p, a.f.Rules(), "", n)
		return api.BundleDetail{
			Bundle: a.bundleOf(p, b, l, c), Note: l.Note, Hold: hold(c.Held), Lots: shown(scan.Drawn(p, b)), Runs: notNil(each(b.Runs)),
			Certs: certs(p, c.Heats.Heats, l.Steel.Size), History: a.history(p, n),
		}, nil
	})
}

// history tells the newest events about a number, oldest first.
func (a *ops) history(p *view.Past, n tags.Number) []api.Event {
	seqs := p.History(n)
	out := []api.Event{}
	for _, seq := range seqs[max(0, len(seqs)-mostHistory):] {
		out = append(out, a.eventOf(seq, p.Event(seq)))
	}
	return out
}

type becauseIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.Because
}

func (a *ops) undoBundle(ctx context.Context, in *becauseIn) (*answer[api.Changed], error) {
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"undo", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Undo(ctx, o, n, in.Body.Reason)
	})
}

func (a *ops) voidBundle(ctx context.Context, in *becauseIn) (*answer[api.Changed], error) {
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"void", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Void(ctx, o, n, in.Body.Reason)
	})
}

type setRouteIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.SetRoute
}

func (a *ops) setRoute(ctx context.Context, in *setRouteIn) (*answer[api.Changed], error) {
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"route", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.SetRoute(ctx, o, n, in.Body.Steps, in.Body.Reason)
	})
}

func (a *ops) assign(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.Assign
}) (*answer[api.Changed], error) {
	lots, err := numbers("body.lots", in.Body.Lots, tags.Stock)
	if err != nil {
		return nil, err
	}
	bars, err := drawn(in.Body.Bars)
	if err != nil {
		return nil, err
	}
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"assign", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Assign(ctx, o, n, lots, bars)
	})
}

func (a *ops) declare(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.Declare
}) (*answer[api.Changed], error) {
	b := in.Body
	return a.changeBundle(in.Number, b.By, in.Key, []any{"declare", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Declare(ctx, o, event.HeatsDeclared{Bundle: n, Mill: b.Mill, Heats: b.Heats, Paper: b.Paper, Melted: b.Melted, Rolled: b.Rolled})
	})
}

func (a *ops) reassign(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.Reassign
}) (*answer[api.Changed], error) {
	b := in.Body
	instead := tags.Number(0)
	if b.Instead != "" {
		var err error
		if instead, err = oneNumber("body.instead", b.Instead, tags.Bundle); err != nil {
			return nil, err
		}
	}
	return a.changeBundle(in.Number, b.By, in.Key, []any{"reassign", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Reassign(ctx, o, n, b.Job, b.List, b.Mark, instead, b.Reason)
	})
}

// changeBundle changes a bundle, and says what became of it. The request is what its key stands for.
func (a *ops) changeBundle(text string, by api.By, key string, request []any, do func(floor.Origin, tags.Number) (floor.Receipt, error)) (*answer[api.Changed], error) {
	n, err := number(text, tags.Bundle)
	if err != nil {
		return nil, err
	}
	if err := a.f.View(func(p *view.Past) error { _, err := thatBundle(p, n); return err }); err != nil {
		return nil, err
	}
	o, err := a.origin("", by, key, append(request, n))
	if err != nil {
		return nil, err
	}
	r, err := do(o, n)
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Changed, error) {
		b, err := thatBundle(p, n)
		if err != nil {
			return api.Changed{}, err
		}
		out := api.Changed{Recorded: recorded(r), Bundle: a.bundle(p, b), Others: a.others(p, r), Notes: []api.Note{}}
		if r.Answer != nil {
			out.Notes = notes(r.Answer.Notes, scan.English)
		}
		return out, nil
	})
}

// bodies are the bodies of a receipt's events of one kind.
func bodies[T event.Body](r floor.Receipt) (out []T) {
	for _, e := range r.Events {
		if b, ok := e.Body.(T); ok {
			out = append(out, b)
		}
	}
	return out
}
