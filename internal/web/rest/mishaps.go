package rest

import (
	"context"
	"net/http"
	"slices"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// mishaps are what happens to bundles beside their route.
func (a *ops) mishaps() {
	register(a, http.MethodPost, "/bundles/{number}/lost", "lose-pieces", "Say that pieces of a bundle are lost", a.losePieces, group("bundles"),
		about("Miscut, misbent, taken for a test, damaged, or lost at the site. The line owes a replacement bundle, which is planned for the same truck if that has not left. Of a bundle on a truck that is here nothing is lost before it is unloaded."))
	register(a, http.MethodPost, "/bundles/{number}/split", "split-bundle", "Tie pieces of a bundle as bundles of their own", a.splitBundle, group("bundles"),
		about("The parts are as far as the bundle is, of the same runs and heats, and planned for the same truck; a hold on its number goes with them."))
	register(a, http.MethodPost, "/bundles/{number}/merge", "merge-bundles", "Tie bundles of one line into one of them", a.mergeBundles, group("bundles"),
		about("The one in the path keeps its number, and may be of all heats that they may be of. The others are no more."))
	register(a, http.MethodPost, "/tags/lost", "lose-tag", "Say that the tag of a bundle, lot or load is lost", a.loseTag, group("tags"),
		about("Print the next copy then. A scan of a lost one is a Check; only the QR code says which copy it is. What it hung on is found by /bundles with its size, length and place."))
}

type losePiecesIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.LosePieces
}

func (a *ops) losePieces(ctx context.Context, in *losePiecesIn) (*answer[api.Changed], error) {
	b := in.Body
	loss := scan.Loss{Pieces: b.Pieces, Why: event.Loss(b.Why), Note: b.Note, Settled: b.Settled}
	return a.changeBundle(in.Number, b.By, in.Key, []any{"lost", b}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Lose(ctx, o, n, loss)
	})
}

type splitBundleIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.SplitBundle
}

func (a *ops) splitBundle(ctx context.Context, in *splitBundleIn) (*answer[api.Changed], error) {
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"split", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Split(ctx, o, n, in.Body.Pieces, in.Body.Reason)
	})
}

type mergeBundlesIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	Keyed
	Body api.MergeBundles
}

func (a *ops) mergeBundles(ctx context.Context, in *mergeBundlesIn) (*answer[api.Changed], error) {
	from, err := numbers("body.from", in.Body.From, tags.Bundle)
	if err != nil {
		return nil, err
	}
	return a.changeBundle(in.Number, in.Body.By, in.Key, []any{"merge", in.Body}, func(o floor.Origin, n tags.Number) (floor.Receipt, error) {
		return a.f.Merge(ctx, o, scan.Merging{Into: n, From: from, Reason: in.Body.Reason, Already: in.Body.Already})
	})
}

func (a *ops) loseTag(ctx context.Context, in *struct {
	Keyed
	Body api.LoseTag
}) (*answer[api.TagLost], error) {
	n, err := oneNumber("body.number", in.Body.Number, tags.Bundle, tags.Stock, tags.Load)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"tag lost", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.LoseTag(ctx, o, n, in.Body.Copy, in.Body.Reason)
	if err != nil {
		return nil, err
	}
	e, err := floor.Body[event.TagLost](r)
	if err != nil {
		return nil, err
	}
	return &answer[api.TagLost]{api.TagLost{Recorded: recorded(r), Number: n.String(), Copy: e.Copy, Notes: notes(r.Answer.Notes, scan.English)}}, nil
}

// others are the bundles that a change of one made, changed or ended beside it.
func (a *ops) others(p *view.Past, r floor.Receipt) (out []api.Bundle) {
	add := func(n tags.Number) {
		if b, ok := p.Bundle(n); ok && n != 0 {
			out = append(out, a.bundle(p, b))
		}
	}
	for _, e := range r.Events {
		switch b := e.Body.(type) {
		case event.PiecesLost:
			add(b.Rest)
		case event.BundleSplit:
			for _, part := range b.Into {
				add(part.Number)
			}
		case event.BundlesMerged:
			for _, n := range b.From {
				add(n)
			}
		case event.BundleReturned:
			add(b.Part)
		case event.BundlesBack:
			for _, n := range b.From {
				add(n)
			}
			for _, part := range b.Into {
				if !slices.Contains(b.From, part.Number) {
					add(part.Number)
				}
			}
		case event.ClaimAnswered:
			if len(r.Events) == 1 { // else a loss has made it
				add(b.Rest)
			}
		}
	}
	return out
}

// like says which bundles look like one that has lost its tag. What is "" is not looked at.
func (a *ops) like(size, length, place string) (fits func(scan.Bundle, *scan.Line) bool, err error) {
	var s bar.Size
	var l bar.Length
	if size != "" {
		if s, err = bar.ParseSize(size); err != nil {
			return nil, invalid("query.size", err.Error())
		}
	}
	if length != "" {
		if l, err = bar.ParseLength(length); err != nil {
			return nil, invalid("query.length", err.Error())
		}
	}
	at, err := a.place("query.place", place)
	if err != nil {
		return nil, err
	}
	return func(b scan.Bundle, line *scan.Line) bool {
		return (s == "" || line.Steel.Size == s) && (l == 0 || line.Length == l) && (at == 0 || b.Place == at)
	}, nil
}

// each gives the sequences of runs, each once.
func each(runs []uint64) (out []uint64) {
	for _, r := range runs {
		if !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}
