package rest

import (
	"context"
	"encoding/json"
	"net/http"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"

	"tagd/api"
	"tagd/internal/view"
	"tagd/internal/web"
)

func (a *ops) journal() {
	register(a, http.MethodGet, "/journal", "read-journal", "The record of everything that happened, in order", a.readJournal, group("journal"))
	register(a, http.MethodGet, "/events", "follow-journal", "The journal as it grows, as server-sent events", a.follow, group("journal"),
		about("Each message has the sequence as its id and an Event as its data. Whoever comes back with Last-Event-ID (or after) is told what came after it, nothing twice and nothing left out; without it, what comes from now on."),
		func(op *huma.Operation) {
			op.Responses = map[string]*huma.Response{"200": {Description: "A stream that does not end.", Content: map[string]*huma.MediaType{
				"text/event-stream": {Schema: &huma.Schema{Type: "string"}},
			}}}
		})
}

func (a *ops) readJournal(_ context.Context, in *struct {
	After int64 `query:"after" minimum:"-1" default:"-1" doc:"Sequence of the last event that was seen. -1: from the beginning."`
	Limit int   `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most events in the page."`
}) (*answer[api.Journal], error) {
	return look(a, func(p *view.Past) (api.Journal, error) {
		out := api.Journal{Events: []api.Event{}, Head: p.Head()}
		for seq := uint64(in.After + 1); seq <= out.Head && len(out.Events) < in.Limit; seq++ {
			out.Events = append(out.Events, a.eventOf(seq, p.Event(seq)))
		}
		return out, nil
	})
}

func (a *ops) follow(_ context.Context, in *struct {
	Last  string `header:"Last-Event-ID" maxLength:"20" doc:"Sequence of the last event that was seen."`
	After string `query:"after" maxLength:"20" doc:"The same, for the first time."`
}) (*stream, error) {
	return &stream{func(ctx huma.Context) {
		c := humaecho.Unwrap(ctx)
		last, said, err := web.LastEventID(c.Request())
		if err == nil && !said {
			err = a.f.View(func(p *view.Past) error { last = p.Head(); return nil })
		}
		if err != nil {
			fail(ctx.Context(), err)
			return
		}
		bells, quiet := context.WithCancel(ctx.Context())
		defer quiet()
		if err := a.s.Stream(c, last, a.messages, web.BellOf(bells, a.f.News)); err != nil {
			fail(ctx.Context(), problem(err))
		}
	}}, nil
}

// messages gives the events after a sequence as messages of a stream.
func (a *ops) messages(after uint64, limit int) (out []web.Message, err error) {
	err = a.f.View(func(p *view.Past) error {
		for seq := after + 1; seq <= p.Head() && len(out) < limit; seq++ {
			data, err := json.Marshal(a.eventOf(seq, p.Event(seq)))
			if err != nil {
				return err
			}
			out = append(out, web.Message{ID: seq, Data: data})
		}
		return nil
	})
	return out, err
}
