// Package rest is the operations of the API: what package api describes, done on a floor. It holds no
// rule of the trade and no state of its own; an operation reads its request, asks the floor, and says
// the answer in the words of the contract.
//
// Every error goes out through the one writer of package web: what huma finds wrong with a request,
// what an operation refuses, and what fails, is handed back to echo as an error, and nothing is
// written before.
package rest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"
	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/floor"
	"tagd/internal/press"
	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
	"tagd/internal/view"
	"tagd/internal/web"
)

// Options are what the operations are told beside the floor's rules.
type Options struct {
	// Defaults is what a bar list or stock means where it does not say it.
	Defaults barlist.Defaults
	// Limits are those that the floor parts lines into bundles by, for lists that are only looked at.
	Limits barlist.Limits
	// LoadLimit is that of a load which does not say its own; 0 is not known.
	LoadLimit bar.Mass
	// Host is the public address that stands in the QR code of a tag: "TAGS.EXAMPLE".
	Host string
	// Reader understands what the plant's scanners type.
	Reader tags.Reader
	// Photos is how many photos are read at a time; each takes a processor and up to 150 MB. Default 1.
	Photos int
	// Now is the clock for requests that do not say when; nil is the machine's.
	Now func() time.Time
}

// ops are the operations of one server.
type ops struct {
	s   *web.Server
	f   *floor.Floor
	o   Options
	api huma.API

	photo *symbol.Reader
	press *press.Press
}

// Mount puts the operations on s under /api/v1, and their description at /openapi.json.
func Mount(s *web.Server, f *floor.Floor, o Options) error {
	if o.Now == nil {
		o.Now = time.Now
	}
	a := &ops{s: s, f: f, o: o, photo: symbol.NewReader(o.Photos), press: &press.Press{Floor: f, Host: o.Host}}
	s.Echo.Use(failures)
	a.api = humaecho.NewWithGroup(s.Echo, s.API, config())
	a.api.UseMiddleware(collect)
	a.jobs()
	a.lists()
	a.stock()
	a.certs()
	a.bundles()
	a.tags()
	a.scans()
	a.keptScans()
	a.openList()
	a.photos()
	a.stations()
	a.runs()
	a.loads()
	a.needs()
	a.holds()
	a.places()
	a.trace()
	a.recall()
	a.account()
	a.histories()
	a.exports()
	a.papers()
	a.journal()
	doc, err := json.MarshalIndent(a.api.OpenAPI(), "", "  ")
	if err != nil {
		return fmt.Errorf("rest: description: %w", err)
	}
	doc = append(doc, '\n')
	s.Pages.GET("/openapi.json", func(c echo.Context) error {
		return c.Blob(http.StatusOK, "application/openapi+json", doc)
	})
	return nil
}

// config is huma without what it adds by itself: no docs page that loads from elsewhere, no $schema
// links, and no query parameter that is ignored because it was mistyped.
func config() huma.Config {
	return huma.Config{
		OpenAPI: &huma.OpenAPI{
			OpenAPI: "3.1.0",
			Info: &huma.Info{
				Title:       "tagd",
				Version:     "1",
				Description: "Tags and traces of a reinforcing bar shop. Numbers are written 1-001-00000042-05; lengths and weights are given as numbers and as text; errors are problem+json (RFC 9457).",
			},
			Servers: []*huma.Server{{URL: "/api/v1"}},
		},
		Formats:                      huma.DefaultFormats,
		DefaultFormat:                "application/json",
		RejectUnknownQueryParameters: true,
	}
}

// register puts one operation on the API. Its error becomes the request's failure.
func register[I, O any](a *ops, method, path, id, summary string, do func(context.Context, *I) (*O, error), more ...func(*huma.Operation)) {
	op := huma.Operation{Method: method, Path: path, OperationID: id, Summary: summary, MaxBodyBytes: -1, BodyReadTimeout: 30 * time.Second}
	for _, m := range more {
		m(&op)
	}
	huma.Register(a.api, op, func(ctx context.Context, in *I) (*O, error) {
		out, err := do(ctx, in)
		if err != nil {
			fail(ctx, problem(err))
			return nil, &web.Problem{Status: http.StatusInternalServerError}
		}
		return out, nil
	})
}

// about says more of an operation than its summary.
func about(text string) func(*huma.Operation) {
	return func(op *huma.Operation) { op.Description = text }
}

// group names the part of the contract that an operation belongs to.
func group(name string) func(*huma.Operation) {
	return func(op *huma.Operation) { op.Tags = []string{name} }
}

// created says that an operation makes something new.
func created(op *huma.Operation) { op.DefaultStatus = http.StatusCreated }

// answer is an answer in JSON.
type answer[T any] struct{ Body T }

// look runs a query on one state and answers with what it gives.
func look[T any](a *ops, query func(*view.Past) (T, error)) (*answer[T], error) {
	var out answer[T]
	err := a.f.View(func(p *view.Past) (err error) {
		out.Body, err = query(p)
		return err
	})
	return &out, err
}

func (a *ops) units() bar.Units { return a.f.Rules().Units }

// at is a time of the journal on the wire.
func at(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// when is a time of the journal on the wire, nil for none.
func when(ms int64) *time.Time {
	if ms == 0 {
		return nil
	}
	t := at(ms)
	return &t
}

// Paged is how a list is asked for.
type Paged struct {
	After string `query:"after" maxLength:"200" doc:"The next of the page before; left out, the list begins."`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
}

// mostRead is how many things a page of a filtered list looks at: a read that stays open long keeps
// the store from reusing its pages.
const mostRead = 20_000
