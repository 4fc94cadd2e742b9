package barlist

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// takenPast knows job J, and list 1 of it, revision 0, from the file of SHA-256 1.
type takenPast struct {
	fresh int
	lines map[string][]Old // by list
	stock string
	lots  map[string]event.LineTaken
	loads map[tags.Number]event.LoadSet
}

func (*takenPast) HasJob(job string) bool { return job == "J" }

func (p *takenPast) List(job, list string) (Standing, bool) {
	sha := [32]byte{1}
	_, ok := p.lines[list]
	return Standing{SHA256: sha[:], Revision: "0", Revisions: []string{"0"}}, job == "J" && (list == "1" || ok)
}

func (p *takenPast) Standing(job, list string) []Old { return p.lines[list] }
func (p *takenPast) StockJob() (string, bool)        { return p.stock, p.stock != "" }
func (p *takenPast) Head() uint64                    { return 99 }
func (p *takenPast) LoadPlan(n tags.Number) (event.LoadSet, bool) {
	l, ok := p.loads[n]
	return l, ok
}

func (p *takenPast) Surplus(_, _, mark string) (event.LineTaken, uint64, bool) {
	l, ok := p.lots[mark]
	return l, 7, ok
}

func (p *takenPast) Fresh(k tags.Kind) tags.Number {
	p.fresh++
	return num(k, p.fresh)
}

func num(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func takenLine(row int, job, list, mark string, pieces int) Line {
	return Line{Row: row, Job: job, List: list, Mark: mark, Pieces: pieces, Length: 10 * bar.Foot, Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}}
}

// TestTake: lines become bundles whose numbers follow one another, each list is closed by itself, and
// jobs that nobody made are made.
func TestTake(t *testing.T) {
	f := File{Name: "a\xff.csv", SHA256: [32]byte{2}, Lines: []Line{
		takenLine(2, "J", "2", "A", 100), takenLine(3, " N ", "1", "A", 10), takenLine(4, "J", "2", "B", 40),
	}}
	f.Lines[2].Shape.Legs = []bar.Leg{{Length: bar.Foot, Turn: 900}, {Length: 9 * bar.Foot}}
	f.Lines[1].Route = []string{}
	got, err := Take(&takenPast{}, f, Limits{Pieces: 40}, Said{})
	require.NoError(t, err)
	require.Equal(t, []string{"N"}, got.NewJobs)
	require.Equal(t, 3, got.Lines)
	require.Equal(t, 5, got.Bundles)
	require.Len(t, got.Events, 6)
	first := got.Events[0].(event.LineTaken)
	require.Equal(t, []int{34, 34, 32}, first.Bundles)
	require.Equal(t, 1, first.First.Serial())
	require.Equal(t, []string{"cut"}, first.Route)
	second := got.Events[1].(event.LineTaken)
	require.Equal(t, 4, second.First.Serial())
	require.Equal(t, []string{"cut", "bend"}, second.Route)
	require.Equal(t, event.ListTaken{Job: "J", List: "2", File: "a?.csv", SHA256: f.SHA256[:], Lines: 2}, got.Events[2])
	require.Equal(t, event.JobSet{Job: "N"}, got.Events[3])
	require.Empty(t, got.Events[4].(event.LineTaken).Route, "none is no step")
	require.Equal(t, 1, got.Events[5].(event.ListTaken).Lines)
	for _, e := range got.Events {
		_, err := event.Encode(event.Event{Body: e})
		require.NoError(t, err)
	}
}

func TestTakeAgain(t *testing.T) {
	f := File{SHA256: [32]byte{1}, Lines: []Line{takenLine(2, "J", "1", "A", 1)}}
	got, err := Take(&takenPast{}, f, Limits{}, Said{})
	require.NoError(t, err)
	require.Equal(t, Taken{Existing: true}, got)
	f.Lines = append(f.Lines, takenLine(3, "J", "2", "A", 1))
	got, err = Take(&takenPast{}, f, Limits{}, Said{})
	require.NoError(t, err)
	require.Equal(t, 1, got.Lines, "the list that is there is not taken again")
}

func TestTakeRefuses(t *testing.T) {
	for name, c := range map[string]struct {
		line        Line
		lim         Limits
		field, says string
	}{
		"no job":               {takenLine(7, " ", "1", "A", 1), Limits{}, "job", "row 7 names no job"},
		"no list":              {takenLine(7, "J", "", "A", 1), Limits{}, "list", "row 7 names no list"},
		"another file":         {takenLine(7, "J", "1", "A", 1), Limits{}, "revision", "list 1 of job J was taken from another file, as revision “0”"},
		"no size":              {Line{Row: 7, Job: "J", List: "2", Pieces: 1}, Limits{}, "size", "row 7: "},
		"far too many bundles": {takenLine(7, "J", "2", "A", 10_001), Limits{Pieces: 1}, "pieces", "row 7 would be 10001 bundles"},
	} {
		t.Run(name, func(t *testing.T) {
			got, err := Take(&takenPast{}, File{SHA256: [32]byte{2}, Lines: []Line{c.line}}, c.lim, Said{})
			var r *event.Refusal
			require.ErrorAs(t, err, &r)
			require.Equal(t, c.field, r.Field)
			require.Contains(t, r.Says, c.says)
			require.Zero(t, got)
		})
	}
	most, err := Take(&takenPast{}, File{Lines: []Line{takenLine(7, "J", "2", "A", 10_000)}}, Limits{Pieces: 1}, Said{})
	require.NoError(t, err)
	_, err = event.Encode(event.Event{Body: most.Events[0]})
	require.NoError(t, err, "the most bundles of a line fit one record")
}

func TestSetJob(t *testing.T) {
	got, err := SetJob(event.JobSet{Job: " 26-014  A ", Name: " Alder  Creek ", Country: "us", ShipTo: []string{" 1 Example Rd"}, Heats: event.HeatsSingle, Certs: event.CertsReviewed})
	require.NoError(t, err)
	require.Equal(t, event.JobSet{Job: "26-014 A", Name: "Alder Creek", Country: "US", ShipTo: []string{"1 Example Rd"}, Heats: event.HeatsSingle, Certs: event.CertsReviewed}, got)
	_, err = SetJob(event.JobSet{Job: strings.Repeat("x", longest["job"])})
	require.NoError(t, err, "as long as a bar list may name it")
	for name, c := range map[string]struct {
		job         event.JobSet
		field, says string
	}{
		"no job":       {event.JobSet{Job: " "}, "job", "is empty"},
		"a long job":   {event.JobSet{Job: strings.Repeat("x", 61)}, "job", "61 characters, 60 fit"},
		"an odd job":   {event.JobSet{Job: "J\x00"}, "job", "cannot be printed"},
		"a long name":  {event.JobSet{Job: "J", Name: strings.Repeat("x", 101)}, "name", "101 characters"},
		"a long PO":    {event.JobSet{Job: "J", PO: strings.Repeat("x", 101)}, "po", "101 characters"},
		"odd customer": {event.JobSet{Job: "J", Customer: "\xff"}, "customer", "UTF-8"},
		"7 lines":      {event.JobSet{Job: "J", ShipTo: make([]string, 7)}, "ship_to", "7 lines"},
		"no heat rule": {event.JobSet{Job: "J", Heats: "all"}, "heats", "is no heat rule"},
		"no cert rule": {event.JobSet{Job: "J", Certs: "all"}, "certs", "is no cert rule"},
		"no country":   {event.JobSet{Job: "J", Country: "U1"}, "country", "ISO 3166"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := SetJob(c.job)
			var r *event.Refusal
			require.ErrorAs(t, err, &r)
			require.Equal(t, c.field, r.Field)
			require.Contains(t, r.Says, c.says)
		})
	}
}
