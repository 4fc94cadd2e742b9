package rest

import (
	"context"
	"net/http"
	"strconv"

	"tagd/api"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) histories() {
	register(a, http.MethodGet, "/history/{number}", "get-history", "All that happened to a bundle, lot, load or place, oldest first", a.getHistory, group("trace"),
		about("Who, when, where and what, in sentences of both languages. Of a bundle with the closing of its runs, and what happened to its pieces under other numbers."))
}

type historyIn struct {
	Number string `path:"number" maxLength:"20" doc:"As shown, or its 14 digits."`
	After  string `query:"after" maxLength:"20" doc:"The next of the page before; left out, the list begins."`
	Limit  int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
	AsOf
}

func (a *ops) getHistory(_ context.Context, in *historyIn) (*answer[api.History], error) {
	n, err := number(in.Number, tags.Bundle, tags.Stock, tags.Load, tags.Place)
	if err != nil {
		return nil, err
	}
	after := uint64(0)
	if in.After != "" {
		if after, err = strconv.ParseUint(in.After, 10, 64); err != nil {
			return nil, invalid("query.after", "is no sequence; give the next of the page before")
		}
	}
	return lookThen(a, in.AsOf, n.Digits(), func(p *view.Past) (api.History, error) {
		if !p.Known(n) {
			return api.History{}, missing("%v was never given out here.", n)
		}
		out := api.History{Number: n.String(), Events: []api.Event{}}
		for _, seq := range p.History(n) {
			if seq <= after {
				continue
			}
			if len(out.Events) == in.Limit {
				out.Next = seqText(out.Events[in.Limit-1].Seq)
				break
			}
			out.Events = append(out.Events, a.eventOf(seq, p.Event(seq)))
		}
		return out, nil
	})
}
