package rest_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// TestShifts: a part of a bundle, and who works at a station, on the wire.
func TestShifts(t *testing.T) {
	s := openShop(t)
	taken, err := s.TakeList(s.ctx, "list.csv", []byte(list), api.ListOptions{Job: "26-014", List: "A1"})
	require.NoError(t, err)
	bundle := taken.Lines[1].Bundles[0]
	p, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Ruiz (invented)"})
	require.NoError(t, err)
	ana := p.Person.Number

	require.Equal(t, "accepted: crew joined", verdict(s.at("S1", ana)))
	joined := s.now
	st, err := s.Station(s.ctx, "S1")
	require.NoError(t, err)
	require.Equal(t, []api.Aboard{{Number: ana, Name: "Ana Ruiz (invented)", Since: joined.UTC()}}, st.Crew)
	require.False(t, st.Single)

	require.Equal(t, "check: cut started", verdict(s.at("S1", bundle)))
	a := s.at("S1", bundle, func(x *api.Scan) { x.Do, x.Pieces = "part", 12 })
	require.Equal(t, "check: part made", verdict(a)) // nothing lies on the feeds
	require.Equal(t, 12, a.Card.Made)
	require.Equal(t, 20, a.Card.Pieces)
	require.Equal(t, "cut", a.Card.Step)
	require.Equal(t, 8, a.Card.Members[0].Pieces, "what is still to be cut")
	require.Equal(t, "started", a.Card.State)
	require.Equal(t, "cut part done, 12 of 20, S1 pocket 1", a.Card.Where)
	require.Equal(t, "refused: nothing to take", verdict(s.at("S1", bundle, func(x *api.Scan) { x.Do = "take" })))

	// An undo goes back to where the part was being cut.
	_, err = s.Undo(s.ctx, bundle, api.Because{Reason: "it was 10"})
	require.NoError(t, err)
	d, err := s.Bundle(s.ctx, bundle)
	require.NoError(t, err)
	require.Zero(t, d.Made)
	require.Equal(t, "cut started, S1 pocket 1", d.Where)
	require.Equal(t, "accepted: crew left", verdict(s.at("S1", ana)))
	all, err := s.Stations(s.ctx)
	require.NoError(t, err)
	require.Empty(t, all.Stations[0].Crew)
}
