package rest_test

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// TestRevision: a list is looked at, asked about, decided and taken, and taken over.
func TestRevision(t *testing.T) {
	s := openShop(t)
	o := api.ListOptions{Job: "26-014", List: "1", Revision: "0"}
	taken, err := s.TakeList(s.ctx, "rev-0.csv", []byte("mark,size,length,pieces\nA,#5,12',10\nB,#5,12',10\nC,#5,10',10\n"), o)
	require.NoError(t, err)
	require.Empty(t, taken.Changes, "nothing stood before")
	a, b, c := taken.Lines[0].Bundles[0], taken.Lines[1].Bundles[0], taken.Lines[2].Bundles[0]
	for _, n := range []string{a, b} {
		require.Equal(t, "check: cut done", verdict(s.at("S1", n, func(x *api.Scan) { x.Pieces = 10 })))
	}

	const next = "mark,size,length,pieces,note\nA,#5,13',10,\nC,#5,10',10,top\nD,#5,20',4,\n"
	o.Revision, o.DryRun = "A", true
	looked, err := s.TakeList(s.ctx, "rev-a.csv", []byte(next), o)
	require.NoError(t, err)
	require.Equal(t, []api.ListChange{
		{Row: 2, Job: "26-014", List: "1", Mark: "A", What: "changed", Fields: []api.FieldChange{{Field: "length", Was: `12'-0"`, Is: `13'-0"`}}, Pieces: 10,
			Had: []api.StateCount{{State: "cut", Bundles: 1, Pieces: 10}}, Counted: 10, Asked: []api.ListQuestion{
				{Bundle: a, Name: "1/1", Pieces: 10, State: "cut", Why: "it is made to what the list said before", May: []string{"deliver", "scrap"}, WhyOnly: "to keep it, make a job that is the shop's own stock first"},
			}},
		{Row: 3, Job: "26-014", List: "1", Mark: "C", What: "changed", Fields: []api.FieldChange{{Field: "note", Was: "", Is: "top"}}, Pieces: 10,
			Had: []api.StateCount{{State: "not begun", Bundles: 1, Pieces: 10}}, Stays: 10, Asked: []api.ListQuestion{}},
		{Row: 4, Job: "26-014", List: "1", Mark: "D", What: "added", Fields: []api.FieldChange{}, Pieces: 4, Had: []api.StateCount{}, Owed: 4, Asked: []api.ListQuestion{}},
		{Job: "26-014", List: "1", Mark: "B", What: "withdrawn", Fields: []api.FieldChange{}, Had: []api.StateCount{{State: "cut", Bundles: 1, Pieces: 10}}, Surplus: 10, Asked: []api.ListQuestion{
			{Bundle: b, Name: "1/1", Pieces: 10, State: "cut", Why: "the list has the mark no more", May: []string{"deliver", "scrap"}, WhyOnly: "to keep it, make a job that is the shop's own stock first"},
		}},
	}, looked.Changes)

	// Nothing is taken while a bundle is open; each is a field of the problem.
	o.DryRun = false
	for _, try := range []struct {
		decide []string
		open   int
	}{{nil, 2}, {[]string{a + "=scrap"}, 1}, {[]string{"all=to stock"}, 2}} {
		o.Decide = try.decide
		_, err = s.TakeList(s.ctx, "rev-a.csv", []byte(next), o)
		var p *api.Problem
		require.ErrorAs(t, err, &p)
		require.Equal(t, []any{422, "invalid"}, []any{p.Status, p.Code})
		last := p.Errors[len(p.Errors)-1]
		require.Equal(t, "mark B, "+b, last.Location)
		require.Equal(t, "1/1, 10 pieces, cut; the list has the mark no more: deliver, scrap (to keep it, make a job that is the shop's own stock first)", last.Message)
		require.Len(t, p.Errors, try.open)
	}
	for text, says := range map[string]string{"x": "is no decision", b + "=melt": "none of deliver"} {
		o.Decide = []string{text}
		_, err = s.TakeList(s.ctx, "rev-a.csv", []byte(next), o)
		require.ErrorContains(t, err, says)
	}

	// With a decision for each it is taken, and once.
	o.Decide, o.Reason, o.Key = []string{a + "=scrap", "all=deliver: the site has the old drawing"}, "drawing R-7", "rev a"
	taken, err = s.TakeList(s.ctx, "rev-a.csv", []byte(next), o)
	require.NoError(t, err)
	require.Len(t, taken.Lines, 3)
	require.Equal(t, 2, taken.Bundles)
	require.Equal(t, "scrap", taken.Changes[0].Asked[0].Decided)
	again, err := s.TakeList(s.ctx, "rev-a.csv", []byte(next), o)
	require.NoError(t, err)
	require.Equal(t, taken.Seq, again.Seq)
	list, err := s.List(s.ctx, "26-014", "1")
	require.NoError(t, err)
	require.Equal(t, "A", list.Revision)
	require.Equal(t, 3, list.Lines)
	require.Len(t, list.Marks, 4)
	require.True(t, list.Marks[1].Withdrawn)
	bundle, err := s.Bundle(s.ctx, b)
	require.NoError(t, err)
	require.Equal(t, "the site has the old drawing", bundle.History[len(bundle.History)-1].Body["reason"])
	job, err := s.Job(s.ctx, "26-014")
	require.NoError(t, err)
	require.Equal(t, 34, job.Planned.Pieces, "10 of A anew, 10 of B that go out, 10 of C, 4 of D")

	status, _, body := s.ask("POST", "/api/v1/lists?job=26-014&list=2&from_list=1&decide="+url.QueryEscape("all=deliver")+"&name=two.csv", "text/csv", "mark,size,length,pieces\nC,#5,10',25\n")
	require.Equal(t, 200, status, body)
	require.Contains(t, body, `"what":"taken over"`)
	list, err = s.List(s.ctx, "26-014", "1")
	require.NoError(t, err)
	require.Equal(t, "2", list.Marks[2].Into)
	require.Equal(t, "refused: list revised", verdict(s.at("S1", c)))
}
