package scan_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// BundlesOf are the bundles of a line, by number.
func (p *past) BundlesOf(l *scan.Line) (out []scan.Bundle) {
	for serial := range 1000 {
		if b, ok := p.bundles[bundle(serial+1)]; ok && b.Line == l.Seq {
			out = append(out, b)
		}
	}
	return out
}

// In the shop, line 5 is of job K and made of what line 1 of job J is, but for its bending. Here the
// customer is job K, and J is the shop's own stock, cut and not bent.
func TestReassign(t *testing.T) {
	for _, c := range []struct {
		name    string
		past    func(*past)
		instead int
		want    string // field of the refusal; "" none
		codes   []string
		event   event.BundleReassigned
	}{
		{"as many pieces", nil, 0, "", []string{"reassigned"}, event.BundleReassigned{Instead: bundle(51)}},
		{"one that is named", nil, 52, "", []string{"reassigned"}, event.BundleReassigned{Instead: bundle(52)}},
		{"the one of as many pieces", func(p *past) { p.change(bundle(51), func(b *scan.Bundle) { b.Pieces = 40 }) }, 0, "", []string{"reassigned"},
			event.BundleReassigned{Instead: bundle(52)}},
		{"fewer pieces", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Pieces = 8 }) }, 0, "", []string{"reassigned", "still owed"},
			event.BundleReassigned{Instead: bundle(51), Left: 4}},
		{"more pieces", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Pieces = 13 }) }, 0, "bundle", nil, event.BundleReassigned{}},
		{"more pieces than the named one", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Pieces = 13 }) }, 51, "bundle", nil, event.BundleReassigned{}},
		{"one that is begun", func(p *past) { p.run("S2", []int{1}, bundle(51)) }, 51, "instead", nil, event.BundleReassigned{}},
		{"one of another line", nil, 21, "instead", nil, event.BundleReassigned{}},
		{"none waits", func(p *past) { p.run("S2", []int{1}, bundle(51), bundle(52)) }, 0, "line", nil, event.BundleReassigned{}},
		{"of a customer's job", func(p *past) { p.job(event.JobSet{Job: "J"}) }, 0, "", []string{"reassigned", "taken from a job"}, event.BundleReassigned{Instead: bundle(51)}},
		{"steps that are left", func(p *past) { p.lines[5].Route = []string{"cut", "thread"} }, 0, "", []string{"reassigned"}, event.BundleReassigned{Instead: bundle(51)}},
		{"another beginning", func(p *past) { p.lines[5].Route = []string{"saw"} }, 0, "bundle", nil, event.BundleReassigned{}},
		{"cut, where it is cut and bent in one", func(p *past) { p.lines[5].Route = []string{"cut and bend", "tie"} }, 0, "", []string{"reassigned"},
			event.BundleReassigned{Instead: bundle(51), Route: []string{"cut", "bend", "tie"}}},
		{"bars as they came, where the line cuts", func(p *past) {
			p.change(bundle(11), func(b *scan.Bundle) { b.Done, b.Route, b.Progress = 0, []string{}, nil })
			p.assigned(bundle(11), 1)
		}, 0, "bundle", nil, event.BundleReassigned{}},
		{"other steel", func(p *past) { p.lines[5].Steel = low }, 0, "line", nil, event.BundleReassigned{}},
		{"another length", func(p *past) { p.lines[5].Length = 9 * bar.Foot }, 0, "line", nil, event.BundleReassigned{}},
		{"another shape", func(p *past) { p.lines[5].Shape = bar.Shape{Code: "2", Edition: "ACI 315-99"} }, 0, "line", nil, event.BundleReassigned{}},
		{"in the middle of a step", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Started = true }) }, 0, "bundle", nil, event.BundleReassigned{}},
		{"a step done in part", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Made = 3 }) }, 0, "bundle", nil, event.BundleReassigned{}},
		{"not begun", func(p *past) {
			p.change(bundle(11), func(b *scan.Bundle) { b.Done, b.Runs, b.Progress = 0, nil, nil })
		}, 0, "bundle", nil, event.BundleReassigned{}},
		{"voided", func(p *past) { p.change(bundle(11), func(b *scan.Bundle) { b.Voided = true }) }, 0, "bundle", nil, event.BundleReassigned{}},
		{"on a truck", func(p *past) { p.onto(truck, bundle(11), false) }, 0, "bundle", nil, event.BundleReassigned{}},
		{"it left, and its load went there", func(p *past) {
			p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "K"}}}
			p.onto(truck, bundle(11), true)
		}, 0, "", []string{"reassigned", "reassigned after"}, event.BundleReassigned{Instead: bundle(51)}},
		{"it left, for another job", func(p *past) { p.onto(truck, bundle(11), true) }, 0, "line", nil, event.BundleReassigned{}},
		{"it left without a step", func(p *past) {
			p.loads[truck] = load.Load{Number: truck, Stops: []load.Stop{{Job: "K"}}}
			p.onto(truck, bundle(11), true)
			p.lines[5].Route = []string{"cut", "bend"}
		}, 0, "bundle", nil, event.BundleReassigned{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := shop()
			p.job(event.JobSet{Job: "J", Stock: true})
			p.lines[1].Route = []string{"cut"}
			p.ready(bundle(11))
			if c.past != nil {
				c.past(p)
			}
			instead := tags.Number(0)
			if c.instead != 0 {
				instead = bundle(c.instead)
			}
			e, a, err := scan.Reassign(p, rules(), bundle(11), p.lines[5], instead, "from stock")
			if c.want != "" {
				var no *event.Refusal
				require.ErrorAs(t, err, &no)
				require.Equal(t, c.want, no.Field, no.Says)
				return
			}
			require.NoError(t, err)
			require.Equal(t, c.codes, codes(a))
			c.event.Bundle, c.event.Line, c.event.Reason = bundle(11), 5, "from stock"
			require.Equal(t, c.event, e)
		})
	}
	p := shop()
	_, _, err := scan.Reassign(p, rules(), bundle(99), p.lines[5], 0, "r")
	require.ErrorContains(t, err, "never given out")
	_, _, err = scan.Reassign(p, rules(), bundle(11), p.lines[5], 0, "")
	require.ErrorContains(t, err, "reason")
	_, _, err = scan.Reassign(p, rules(), bundle(41), p.lines[4], 0, "r")
	require.ErrorContains(t, err, "already")
}

func TestAssignInTheOffice(t *testing.T) {
	p := shop()
	e, a, err := scan.Assign(p, rules(), bundle(41), nil, []event.Draw{{Lot: stock(1), Bars: 5}, {Lot: stock(1), Bars: 7}})
	require.NoError(t, err)
	require.Equal(t, []string{"assigned"}, codes(a))
	require.Equal(t, []event.Draw{{Lot: stock(1), Bars: 12}}, e.Closed.Draws)
	require.True(t, e.Said)
	for why, c := range map[string]struct {
		n    tags.Number
		bars []event.Draw
	}{
		"never given out":       {bundle(99), []event.Draw{{Lot: stock(1), Bars: 1}}},
		"how many of which lot": {bundle(41), nil},
		"another route":         {bundle(11), []event.Draw{{Lot: stock(1), Bars: 1}}},
		"was never given":       {bundle(41), []event.Draw{{Lot: stock(99), Bars: 1}}},
		"is no count":           {bundle(41), []event.Draw{{Lot: stock(1)}}},
	} {
		_, _, err := scan.Assign(p, rules(), c.n, nil, c.bars)
		require.ErrorContains(t, err, why)
	}
	p.change(bundle(41), func(b *scan.Bundle) { b.Voided = true })
	_, _, err = scan.Assign(p, rules(), bundle(41), nums([]int{1}), nil)
	require.ErrorContains(t, err, "voided")
}

func TestDeclare(t *testing.T) {
	p := shop()
	paper := event.HeatsDeclared{Bundle: bundle(41), Mill: " Sample  Steel ", Heats: []string{"D1", "D1"}, Paper: "note 7", Melted: "mx"}
	e, a, err := scan.Declare(p, paper)
	require.NoError(t, err)
	require.Equal(t, []string{"heats declared"}, codes(a))
	require.Equal(t, event.HeatsDeclared{Bundle: bundle(41), Mill: "Sample Steel", Heats: []string{"D1"}, Paper: "note 7", Melted: "MX"}, e)
	for field, change := range map[string]func(*event.HeatsDeclared){
		"mill":   func(e *event.HeatsDeclared) { e.Mill = "" },
		"heats":  func(e *event.HeatsDeclared) { e.Heats = nil },
		"heat":   func(e *event.HeatsDeclared) { e.Heats = []string{" "} },
		"paper":  func(e *event.HeatsDeclared) { e.Paper = " " },
		"melted": func(e *event.HeatsDeclared) { e.Melted = "USA" },
		"rolled": func(e *event.HeatsDeclared) { e.Rolled = "1" },
		"bundle": func(e *event.HeatsDeclared) { e.Bundle = bundle(11) },
	} {
		e := paper
		change(&e)
		_, _, err := scan.Declare(p, e)
		var no *event.Refusal
		require.ErrorAs(t, err, &no)
		require.Equal(t, field, no.Field)
	}
	p.assigned(bundle(41), 1)
	_, _, err = scan.Declare(p, paper)
	require.ErrorContains(t, err, "undo that first")
	p.change(bundle(42), func(b *scan.Bundle) { b.Voided = true })
	paper.Bundle = bundle(42)
	_, _, err = scan.Declare(p, paper)
	require.ErrorContains(t, err, "voided")
}

// What was said of a bundle's bars is undone; a reassignment is not, but reassigned again.
func TestUndoWhatWasSaid(t *testing.T) {
	p := shop()
	p.assigned(bundle(41), 1)
	u, _, err := scan.Undo(p, rules(), bundle(41), "wrong lot")
	require.NoError(t, err)
	require.Equal(t, uint64(500), u.Seq)
	require.Nil(t, u.Closed)
	p.assigned(bundle(42), 2)
	p.bodies[p.bundles[bundle(42)].Runs[0]] = event.HeatsDeclared{Bundle: bundle(42), Lot: stock(2)}
	p.lot(2, func(l *heat.Lot) { l.Received, l.Taken = 12, 13 })
	_, _, err = scan.Undo(p, rules(), bundle(42), "another paper")
	require.ErrorContains(t, err, "in use elsewhere")
	p.lot(2, func(l *heat.Lot) { l.Taken = 12 })
	_, _, err = scan.Undo(p, rules(), bundle(42), "another paper")
	require.NoError(t, err)
	p.change(bundle(42), func(b *scan.Bundle) { b.Runs, b.Progress = nil, nil })
	p.ready(bundle(21))
	p.bodies[900] = event.BundleReassigned{Bundle: bundle(21)}
	p.change(bundle(21), func(b *scan.Bundle) { b.Progress = append(b.Progress, 900) })
	_, _, err = scan.Undo(p, rules(), bundle(21), "wrong job")
	require.ErrorContains(t, err, "reassign it once more")
	p.change(bundle(42), func(b *scan.Bundle) { b.Route = []string{"bend"} })
	p.assigned(bundle(42), 1)
	p.bodies[901] = event.StepStarted{Bundle: bundle(42)}
	p.change(bundle(42), func(b *scan.Bundle) { b.Started, b.Progress = true, append(b.Progress, 901) })
	u, _, err = scan.Undo(p, rules(), bundle(42), "not yet")
	require.NoError(t, err)
	require.Nil(t, u.Closed, "its bars stay what they are")
}
