package rest

import (
	"cmp"
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

func (a *ops) places() {
	register(a, http.MethodGet, "/places", "list-places", "Places, by name", a.listPlaces, group("places and people"))
	register(a, http.MethodPost, "/places", "make-place", "Make a place of the yard or the shop", a.makePlace, group("places and people"), created)
	register(a, http.MethodGet, "/persons", "list-persons", "Badges, by number", a.listPersons, group("places and people"))
	register(a, http.MethodPost, "/persons", "make-person", "Make a badge", a.makePerson, group("places and people"), created)
	register(a, http.MethodPut, "/persons/{number}", "set-person", "State anew whose a badge is, which offices it holds, and the language", a.setPerson, group("places and people"))
	register(a, http.MethodPost, "/aliases", "set-alias", "Let another's code stand for a number of ours", a.setAlias, group("places and people"), created)
}

// place reads a place in a body by its name or number; "" is none.
func (a *ops) place(location, text string) (n tags.Number, err error) {
	if text == "" {
		return 0, nil
	}
	return n, a.f.View(func(p *view.Past) error {
		var ok bool
		if n, ok = p.PlaceNamed(text); ok {
			return nil
		}
		if n, err = tags.ParseNumber(text); err == nil {
			if _, ok := p.Place(n); ok {
				return nil
			}
		}
		return invalid(location, "there is no place "+text+"; make it first, or leave it out")
	})
}

func (a *ops) listPlaces(_ context.Context, in *Paged) (*answer[api.Places], error) {
	return look(a, func(p *view.Past) (api.Places, error) {
		out := api.Places{Places: []api.Place{}}
		p.Places(func(name string, n tags.Number) bool {
			switch {
			case name <= in.After:
				return true
			case len(out.Places) == in.Limit:
				out.Next = out.Places[in.Limit-1].Name
				return false
			}
			out.Places = append(out.Places, api.Place{Number: n.String(), Name: name})
			return true
		})
		return out, nil
	})
}

func (a *ops) makePlace(ctx context.Context, in *struct {
	Keyed
	Body api.MakePlace
}) (*answer[api.PlaceMade], error) {
	o, err := a.origin("", in.Body.By, in.Key, []any{"place", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.MakePlace(ctx, o, in.Body.Name)
	if err != nil {
		return nil, err
	}
	made, err := floor.Body[event.PlaceMade](r)
	return &answer[api.PlaceMade]{api.PlaceMade{Recorded: recorded(r), Place: api.Place{Number: made.Place.String(), Name: made.Name}}}, err
}

func (a *ops) listPersons(_ context.Context, in *Paged) (*answer[api.Persons], error) {
	after, err := pageNumber(in.After, tags.Person)
	if err != nil {
		return nil, err
	}
	names, err := a.f.People()
	if err != nil {
		return nil, err
	}
	out := api.Persons{Persons: []api.Person{}}
	var all []tags.Number
	for n := range names {
		if n > after {
			all = append(all, n)
		}
	}
	slices.Sort(all)
	for i, n := range all {
		if i == in.Limit {
			out.Next = all[i-1].String()
			break
		}
		out.Persons = append(out.Persons, person(n, names[n]))
	}
	return &answer[api.Persons]{out}, nil
}

func (a *ops) makePerson(ctx context.Context, in *struct {
	Keyed
	Body api.MakePerson
}) (*answer[api.PersonMade], error) {
	o, err := a.origin("", in.Body.By, in.Key, []any{"person", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.MakePerson(ctx, o, floor.Person{Name: in.Body.Name, Offices: offices(in.Body.Offices), Lang: scan.Lang(in.Body.Lang)})
	if err != nil {
		return nil, err
	}
	made, err := floor.Body[event.PersonMade](r)
	if err != nil {
		return nil, err
	}
	all, err := a.f.People()
	return &answer[api.PersonMade]{api.PersonMade{Recorded: recorded(r), Person: person(made.Person, all[made.Person])}}, err
}

func offices(words []string) (out []scan.Office) {
	for _, w := range words {
		out = append(out, scan.Office(w))
	}
	return out
}

// person is a badge on the wire.
func person(n tags.Number, p floor.Person) api.Person {
	out := api.Person{Number: n.String(), Name: p.Name, Offices: []string{}, Lang: string(p.Lang)}
	for _, o := range p.Offices {
		out.Offices = append(out.Offices, string(o))
	}
	return out
}

func (a *ops) setPerson(ctx context.Context, in *struct {
	Number string `path:"number" maxLength:"20"`
	Body   api.SetPerson
}) (*answer[api.Person], error) {
	n, err := number(in.Number, tags.Person)
	if err != nil {
		return nil, err
	}
	all, err := a.f.People()
	if err != nil {
		return nil, err
	}
	who := floor.Person{Name: cmp.Or(in.Body.Name, all[n].Name), Offices: offices(in.Body.Offices), Lang: cmp.Or(scan.Lang(in.Body.Lang), all[n].Lang)}
	if err := a.f.SetPerson(ctx, n, who); err != nil {
		return nil, err
	}
	all, err = a.f.People()
	return &answer[api.Person]{person(n, all[n])}, err
}

func (a *ops) setAlias(ctx context.Context, in *struct {
	Keyed
	Body api.SetAlias
}) (*answer[api.Recorded], error) {
	n, err := oneNumber("body.number", in.Body.Number, tags.Bundle, tags.Stock, tags.Load, tags.Place, tags.Person)
	if err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"alias", in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.SetAlias(ctx, o, event.AliasSet{Text: in.Body.Text, Number: n})
	return &answer[api.Recorded]{recorded(r)}, err
}
