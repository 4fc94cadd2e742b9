package floor_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TestCrew: what is scanned at a station is its crew's, unless the scan says whose it is.
func TestCrew(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	_, _, err := s.TakeList(ctx, floor.Origin{}, barlist.File{SHA256: [32]byte{1}, Lines: []barlist.Line{
		{Row: 2, Job: "26-014", List: "1", Mark: "M1", Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Length: 10 * bar.Foot, Pieces: 5, Route: []string{"cut"}},
	}})
	require.NoError(t, err)
	ana, tom := num(t, tags.Person, 1), num(t, tags.Person, 2)
	for _, name := range []string{"Ana Ruiz (invented)", "Tom Okafor (invented)"} {
		_, err := s.MakePerson(ctx, floor.Origin{}, floor.Person{Name: name})
		require.NoError(t, err)
	}
	newest := func() (e event.Event) {
		require.NoError(t, s.View(func(p *view.Past) error {
			e = p.Event(p.Head())
			return nil
		}))
		return e
	}
	b := num(t, tags.Bundle, 1)
	s.scan("S1", b.Digits())
	require.Empty(t, newest().People, "nobody is aboard")
	require.Equal(t, event.Nobody, newest().Identified)

	a, show := s.scan("S1", ana.Digits())
	require.Equal(t, "crew joined", a.Notes[0].Code)
	require.Equal(t, ana, show)
	require.Equal(t, []tags.Number{ana}, newest().People)
	s.now = s.now.Add(-9 * time.Second)
	a, _ = s.scan("S1", ana.Digits())
	require.Equal(t, "once", a.Notes[0].Code, "one pull of the trigger")
	s.scan("S1", tom.Digits())
	require.Equal(t, []tags.Number{tom}, newest().People)
	s.scan("S1", b.Digits(), func(x *scan.Scan) { x.Do, x.Pieces = scan.Part, 2 })
	require.Equal(t, []tags.Number{ana, tom}, newest().People)
	require.Equal(t, event.Badge, newest().Identified)
	s.scan("B1", b.Digits())
	require.IsType(t, event.ScanRefused{}, newest().Body)
	require.Empty(t, newest().People, "another station's crew")

	a, _ = s.scan("S1", ana.Digits())
	require.Equal(t, "crew left", a.Notes[0].Code)
	s.scan("S1", b.Digits())
	require.Equal(t, []tags.Number{tom}, newest().People)
	x := scan.Scan{Read: tags.Scan{Number: b, Text: b.Digits()}, Station: "S1", Device: "gun", At: s.now.UnixMilli(), Pieces: 3}
	_, _, err = s.Scan(ctx, floor.Origin{People: []tags.Number{ana}, Identified: event.PIN}, x)
	require.NoError(t, err)
	require.IsType(t, event.CutDone{}, newest().Body)
	require.Equal(t, []tags.Number{ana}, newest().People)
	require.Equal(t, event.PIN, newest().Identified)
}
