package floor_test

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func init() {
	actions = append(actions, []action{{8, (*history).revise}}...)
}

// yard is the job of the shop's own stock, which there is on some days.
const yard = "YARD"

// givenInLists are the numbers that go to bundles of a line that was changed.
func givenInLists(b event.Body) (out []tags.Number) {
	if b, ok := b.(event.LineChanged); ok {
		return given(b.Taken)
	}
	return nil
}

// revise takes another revision of some list, or a new list that takes over lines of it: some marks are
// as they were, some changed, some gone. Most of what is asked is decided.
func (h *history) revise() {
	var lists []view.List
	h.read(func(p *view.Past) {
		p.Lists(func(l view.List) bool { lists = append(lists, l); return true })
	})
	if len(lists) == 0 {
		return
	}
	if h.one("yard", 6) {
		h.send("yard", floor.Origin{}, func(o floor.Origin) (floor.Receipt, error) {
			return h.SetJob(context.Background(), o, event.JobSet{Job: yard, Stock: true})
		})
	}
	was := pick(h, "list", lists...)
	h.lists++
	f := barlist.File{Name: "made up, revised.csv", SHA256: [32]byte{byte(h.lists), byte(h.lists >> 8)}}
	said := barlist.Said{}
	to, revision := was.List, fmt.Sprint("R", h.lists)
	switch h.upTo("to", 5) {
	case 0:
		to, said.From, revision = fmt.Sprint(h.lists), was.List, ""
	case 1:
		if other := pick(h, "other", lists...); other.Job == was.Job && other.List != was.List {
			to, said.From = other.List, was.List
		}
	}
	var looked barlist.Taken
	var no error
	h.read(func(p *view.Past) {
		for _, old := range p.Standing(was.Job, was.List) {
			l := barlist.Line{
				Job: was.Job, List: to, Revision: revision, Mark: old.Mark, Steel: old.Steel, Length: old.Length, Pieces: old.Pieces,
				Shape: old.Shape, Route: append([]string{}, old.Route...), Note: old.Note,
			}
			switch h.upTo("what", 6) {
			case 0:
				continue
			case 1:
				l.Note = pick(h, "note", "", "top", "bottom")
			case 2:
				l.Length = bar.Length(1+h.upTo("length", 60)) * bar.Foot / 2
			case 3, 4:
				l.Pieces = 1 + h.upTo("pieces", 40)
			}
			f.Lines = append(f.Lines, l)
		}
		if len(f.Lines) == 0 || h.one("another", 3) {
			f.Lines = append(f.Lines, barlist.Line{
				Job: was.Job, List: to, Revision: revision, Mark: fmt.Sprint("N", h.lists), Steel: pick(h, "steel", steels...),
				Length: 10 * bar.Foot, Pieces: 1 + h.upTo("pieces", 30), Route: []string{"cut"},
			})
		}
		for i := range f.Lines {
			f.Lines[i].Row = i + 2
		}
		looked, no = barlist.Look(p, f, barlist.Limits{Pieces: 12}, said)
	})
	var refused *event.Refusal
	require.True(h, no == nil || errors.As(no, &refused), "%v", no)
	open := 0
	for _, c := range looked.Changes {
		for _, a := range c.Asked {
			if h.one("open", 20) {
				open++
				continue
			}
			said.Decisions = append(said.Decisions, barlist.Decision{Bundle: a.Number, Fate: pick(h, "fate", a.May...)})
		}
	}
	var t barlist.Taken
	r, err := h.send("revise", floor.Origin{}, func(o floor.Origin) (r floor.Receipt, err error) {
		t, r, err = h.Revise(context.Background(), o, f, said)
		return r, err
	})
	if no != nil || open > 0 {
		require.Error(h, err)
		return
	}
	if err != nil || r.Again {
		return
	}
	h.read(func(p *view.Past) {
		for _, c := range t.Changes {
			l, ok := p.LineOf(c.Job, c.List, c.Mark)
			require.True(h, ok)
			if !slices.Contains([]barlist.What{barlist.Added, barlist.Changed, barlist.TakenOver, barlist.Withdrawn}, c.What) {
				continue
			}
			live := 0
			for _, b := range p.BundlesOf(l) {
				if !b.Voided {
					live += b.Pieces
				}
			}
			require.Equal(h, c.Pieces+c.Surplus, live, "%s %s: delivered and owed are what the line asks for, and surplus", c.What, c.Mark)
		}
	})
}
