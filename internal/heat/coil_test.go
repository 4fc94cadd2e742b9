package heat_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

func TestReceiveCoil(t *testing.T) {
	good := func() event.CoilReceived {
		return event.CoilReceived{
			Mill: " Example  Mill ", Heats: []string{"0123", "0123"}, Steel: bar.Steel{Size: "#4", Spec: "A615", Grade: "60"},
			Mass: 12_000 * bar.Pound, Coils: []event.MillCoil{{Number: "C1", Mass: 5_000 * bar.Pound}, {Number: "C2", Mass: 7_000 * bar.Pound}}, Melted: "us",
		}
	}
	past := past{aliases: map[string]tags.Number{heat.MillAlias("Example Mill", "C9"): 42}}
	got, err := heat.ReceiveCoil(past, good())
	require.NoError(t, err)
	require.Equal(t, []any{"Example Mill", []string{"0123"}, "US"}, []any{got.Mill, got.Heats, got.Melted})
	for name, tt := range map[string]struct {
		change func(*event.CoilReceived)
		field  string
	}{
		"no mill":        {func(r *event.CoilReceived) { r.Mill = " " }, "mill"},
		"no size":        {func(r *event.CoilReceived) { r.Steel = bar.Steel{} }, "size"},
		"no weight":      {func(r *event.CoilReceived) { r.Mass = 0 }, "weight"},
		"a ship's hold":  {func(r *event.CoilReceived) { r.Mass = heat.MostCoil + 1 }, "weight"},
		"another sum":    {func(r *event.CoilReceived) { r.Mass -= bar.Pound }, "weight"},
		"a coil beyond":  {func(r *event.CoilReceived) { r.Coils[0].Mass = r.Mass + 1 }, "mill_coils"},
		"less than none": {func(r *event.CoilReceived) { r.Coils[0].Mass = -1 }, "mill_coils"},
		"twice":          {func(r *event.CoilReceived) { r.Coils[1].Number = "C1" }, "mill_coils"},
		"here already":   {func(r *event.CoilReceived) { r.Coils[1].Number = "C9" }, "mill_coils"},
		"no such place":  {func(r *event.CoilReceived) { r.Place = 7 }, "place"},
		"a country":      {func(r *event.CoilReceived) { r.Melted = "USA" }, "melted"},
	} {
		t.Run(name, func(t *testing.T) {
			r := good()
			tt.change(&r)
			_, err := heat.ReceiveCoil(past, r)
			var no *event.Refusal
			require.ErrorAs(t, err, &no)
			require.Equal(t, tt.field, no.Field)
		})
	}
	r := good()
	r.Coils = []event.MillCoil{{Number: "C1"}}
	_, err = heat.ReceiveCoil(past, r)
	require.NoError(t, err, "coils that nobody weighed apart")
}

func TestCoilOnHand(t *testing.T) {
	l := heat.Lot{Steel: bar.Steel{Size: "#4"}, Mass: 100, MassTaken: 70, MassOver: 5, CountedMass: -10}
	require.True(t, l.Coil())
	require.True(t, l.Any())
	require.Equal(t, bar.Mass(25), l.MassOnHand())
	require.Equal(t, bar.Mass(25), l.Weighs())
	l.MassTaken = 95
	require.False(t, l.Any())
	// ASTM A615/A615M Table 1: No. 4 has 0.668 lb/ft.
	bars := heat.Lot{Steel: bar.Steel{Size: "#4"}, Length: 60 * bar.Foot, Received: 100}
	require.Equal(t, 4_008*bar.Pound, bars.Weighs())
	bars.Gone = true
	require.Zero(t, bars.Weighs())
}
