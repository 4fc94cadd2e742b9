package rest

import (
	"context"
	"net/http"

	"tagd/api"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func (a *ops) stations() {
	register(a, http.MethodGet, "/stations", "list-stations", "Stations, and what is there now", a.listStations, group("stations"))
	register(a, http.MethodGet, "/stations/{name}", "get-station", "A station, with the card that it shows", a.getStation, group("stations"))
}

func (a *ops) station(p *view.Past, s scan.Station, names map[tags.Number]string) api.Station {
	out := api.Station{Name: s.Name, Title: s.Title, Does: []string{}, Feeds: []api.Feed{}, Pockets: notNil(s.Pockets), Single: s.Single, Crew: []api.Aboard{}}
	for _, w := range s.Does {
		out.Does = append(out.Does, string(w))
	}
	floor := p.Floor(s.Name)
	out.Bundle = floor.Card.String()
	for _, c := range a.f.Rules().Aboard(floor, a.o.Now().UnixMilli()) {
		out.Crew = append(out.Crew, api.Aboard{Number: c.Person.String(), Name: names[c.Person], Since: at(c.At)})
	}
	for _, name := range s.Feeds {
		feed := api.Feed{Name: name, Lots: []api.FeedLot{}}
		for _, f := range floor.Feeds {
			if f.Name != name {
				continue
			}
			for _, n := range f.Lots {
				if l, ok := p.Lot(n); ok {
					feed.Lots = append(feed.Lots, api.FeedLot{Lot: n.String(), Steel: steel(l.Steel), Length: a.barLength(l),
						OnHand: l.OnHand(), Weight: l.Weighs().Text(a.units()), Draw: draw(heat.Of(p, []tags.Number{n}), true)})
				}
			}
		}
		out.Feeds = append(out.Feeds, feed)
	}
	if r, ok := p.Run(floor.Run); ok && floor.Run != 0 {
		run := &api.Run{Seq: r.Seq, Steel: r.Steel.String(), Members: []api.Member{}, Lots: shown(r.Lots)}
		for _, m := range r.Members {
			run.Members = append(run.Members, a.member(p, m))
		}
		out.Run = run
	}
	return out
}

func (a *ops) listStations(context.Context, *struct{}) (*answer[api.Stations], error) {
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Stations, error) {
		out := api.Stations{Stations: []api.Station{}}
		for _, s := range a.f.Rules().Stations {
			out.Stations = append(out.Stations, a.station(p, s, names))
		}
		return out, nil
	})
}

func (a *ops) getStation(_ context.Context, in *struct {
	Name string `path:"name" maxLength:"40"`
}) (*answer[api.StationDetail], error) {
	names, err := a.f.Names()
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.StationDetail, error) {
		s, ok := a.f.Rules().Station(in.Name)
		if !ok {
			return api.StationDetail{}, missing("Station %q is not in the plant's settings.", in.Name)
		}
		out := api.StationDetail{Station: a.station(p, s, names)}
		if n := p.Floor(s.Name).Card; n != 0 {
			out.Card = a.card(p, s.Name, n)
		}
		return out, nil
	})
}
