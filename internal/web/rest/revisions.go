package rest

import (
	"strings"

	"tagd/api"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/web"
)

// said reads what was decided beside a list.
func (in *takeListIn) said() (barlist.Said, error) {
	s := barlist.Said{From: in.From, Reason: in.Reason}
	for _, text := range append(strings.Split(in.texts["decide"], "\n"), in.Decide...) {
		if strings.TrimSpace(text) == "" {
			continue
		}
		d, err := barlist.ParseDecision(text)
		if err != nil {
			return s, err
		}
		s.Decisions = append(s.Decisions, d)
	}
	return s, nil
}

func listChanges(changes []barlist.Change) []api.ListChange {
	out := []api.ListChange{}
	for _, c := range changes {
		one := api.ListChange{
			Row: c.Row, Job: c.Job, List: c.List, Mark: c.Mark, What: string(c.What), From: c.From, Fields: []api.FieldChange{},
			Pieces: c.Pieces, Had: []api.StateCount{}, Asked: []api.ListQuestion{},
			Counted: c.Counted, Stays: c.Stays, Owed: c.Owed, Surplus: c.Surplus,
		}
		for _, f := range c.Fields {
			one.Fields = append(one.Fields, api.FieldChange{Field: f.Name, Was: f.Was, Is: f.Is})
		}
		for _, s := range barlist.States {
			if n := c.In(s); n.Bundles > 0 {
				one.Had = append(one.Had, api.StateCount{State: string(s), Bundles: n.Bundles, Pieces: n.Pieces})
			}
		}
		for _, a := range c.Asked {
			one.Asked = append(one.Asked, api.ListQuestion{
				Bundle: a.Number.String(), Name: a.Name, Pieces: a.Pieces, State: string(a.State), Why: a.Why,
				May: fates(a.May), WhyOnly: a.WhyOnly, Decided: string(a.Decided),
			})
		}
		out = append(out, one)
	}
	return out
}

func fates(may []event.Fate) []string {
	out := make([]string, len(may))
	for i, f := range may {
		out[i] = string(f)
	}
	return out
}

// mostAsked is how many bundles a problem names.
const mostAsked = 200

// undecided is the problem of a list about whose begun bundles not all is said: each is a field of its
// own.
func undecided(u *barlist.Undecided) error {
	var fields []web.Field
	all := 0
	for _, c := range u.Changes {
		for _, a := range c.Asked {
			if a.Decided != "" {
				continue
			}
			if all++; all > mostAsked {
				continue
			}
			says := a.Name + ", " + itoa(a.Pieces) + " pieces, " + string(a.State) + "; " + a.Why + ": " + strings.Join(fates(a.May), ", ")
			if a.WhyOnly != "" {
				says += " (" + a.WhyOnly + ")"
			}
			fields = append(fields, web.Field{Location: location(c.Row, "mark "+c.Mark) + ", " + a.Number.String(), Message: says})
		}
	}
	says := "Nothing was taken: say what becomes of " + itoa(all) + " bundles that are begun."
	if all == 1 {
		says = "Nothing was taken: say what becomes of a bundle that is begun. " + fields[0].Error() + "."
	}
	if all > mostAsked {
		says += " The first " + itoa(mostAsked) + " are named."
	}
	return web.Refuse("invalid", says, "Look at the file with dry_run, and send it again with a decision for each: NUMBER=deliver, or all=deliver.", fields...)
}
