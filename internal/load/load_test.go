package load_test

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// past has jobs J and K, bundle 1 of J, 2 of K, 3 of J planned on load 2, and load 3, which left.
type past struct{}

func number(k tags.Kind, serial int) tags.Number {
	n, err := tags.New(k, 1, serial)
	if err != nil {
		panic(err)
	}
	return n
}

func bundle(n int) tags.Number { return number(tags.Bundle, n) }
func truck(n int) tags.Number  { return number(tags.Load, n) }

func (past) HasJob(j string) bool { return j == "J" || j == "K" }

func (past) Load(n tags.Number) (load.Load, bool) {
	l := load.Load{Number: n}
	if n == truck(3) {
		l.Shipped = 1
	}
	return l, n.Serial() <= 3
}

func (past) BundleJob(n tags.Number) (string, bool) {
	job, ok := map[int]string{1: "J", 2: "K", 3: "J", 4: "J", 5: "J"}[n.Serial()]
	return job, ok
}

func (past) PlannedOn(n tags.Number) (tags.Number, bool) { return truck(2), n == bundle(3) }

func (past) Left(n tags.Number) string {
	return map[tags.Number]string{bundle(4): "is voided", bundle(5): "left on load 7"}[n]
}

func TestPlan(t *testing.T) {
	good := event.LoadPlanned{
		Load: truck(1), Date: "2026-11-25", Truck: " Blue  7 ", Limit: 1, Bundles: []tags.Number{bundle(1)},
		Stops: []event.Stop{{Job: " J", ShipTo: []string{" 1 Example  Rd ", "Sampletown"}}},
	}
	got, err := load.Plan(past{}, good)
	require.NoError(t, err)
	require.Equal(t, "Blue 7", got.Truck)
	require.Equal(t, []event.Stop{{Job: "J", ShipTo: []string{"1 Example Rd", "Sampletown"}}}, got.Stops)
	require.Equal(t, " J", good.Stops[0].Job, "what was given stays")

	for name, c := range map[string]struct {
		change      func(*event.LoadPlanned)
		field, says string
	}{
		"left already":      {func(e *event.LoadPlanned) { e.Load = truck(3) }, "load", "left already"},
		"no day":            {func(e *event.LoadPlanned) { e.Date = "25.11.2026" }, "date", "is no day"},
		"no day of a month": {func(e *event.LoadPlanned) { e.Date = "2026-02-30" }, "date", "is no day"},
		"a limit below 0":   {func(e *event.LoadPlanned) { e.Limit = -1 }, "limit", "less than nothing"},
		"a long truck":      {func(e *event.LoadPlanned) { e.Truck = strings.Repeat("x", 101) }, "truck", "101 characters"},
		"no stops":          {func(e *event.LoadPlanned) { e.Stops = nil }, "stops", "are missing"},
		"51 stops":          {func(e *event.LoadPlanned) { e.Stops = make([]event.Stop, 51) }, "stops", "50 stops"},
		"2,001 bundles":     {func(e *event.LoadPlanned) { e.Bundles = make([]tags.Number, 2001) }, "stops", "2,000 bundles"},
		"a long address":    {func(e *event.LoadPlanned) { e.Stops[0].ShipTo = make([]string, 7) }, "stops", "7 lines"},
		"a job not known":   {func(e *event.LoadPlanned) { e.Stops[0].Job = "L" }, "stops", `stop 1: job "L" is not known`},
		"no bundle":         {func(e *event.LoadPlanned) { e.Bundles[0] = bundle(9) }, "bundles", "is no bundle of this plant"},
		"another job's":     {func(e *event.LoadPlanned) { e.Bundles[0] = bundle(2) }, "bundles", "is for job K, and no stop is"},
		"voided":            {func(e *event.LoadPlanned) { e.Bundles[0] = bundle(4) }, "bundles", "00000004-22 is voided"},
		"left before":       {func(e *event.LoadPlanned) { e.Bundles[0] = bundle(5) }, "bundles", "left on load 7"},
		"twice":             {func(e *event.LoadPlanned) { e.Bundles = append(e.Bundles, bundle(1)) }, "bundles", "stands there twice"},
		"on another load":   {func(e *event.LoadPlanned) { e.Bundles[0] = bundle(3) }, "bundles", "is planned on load 4-001-00000002"},
	} {
		t.Run(name, func(t *testing.T) {
			e := good
			e.Stops, e.Bundles = slices.Clone(good.Stops), slices.Clone(good.Bundles)
			c.change(&e)
			_, err := load.Plan(past{}, e)
			var r *event.Refusal
			require.ErrorAs(t, err, &r)
			require.Equal(t, c.field, r.Field)
			require.Contains(t, r.Says, c.says)
		})
	}
	good.Load, good.Bundles = truck(2), []tags.Number{bundle(3)}
	_, err = load.Plan(past{}, good)
	require.NoError(t, err, "planned on this very load already")
}

func TestLoad(t *testing.T) {
	l := load.Load{Stops: []event.Stop{{Job: "J"}, {Job: "K"}, {Job: "J"}}}
	require.Equal(t, []string{"J", "K"}, l.Jobs())
	require.True(t, l.For("K"))
	require.False(t, l.For("L"))
	require.Equal(t, "planned", l.State())
	l.Count = 1
	require.Equal(t, "open", l.State())
	l.Shipped = 1
	require.Equal(t, "shipped", l.State())
}
