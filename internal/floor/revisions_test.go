package floor_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// revisionOf is a file of list 1 of job J with marks A and B, #5, of 10 pieces each.
func revisionOf(t *testing.T, revision string, n byte, marks map[string]bar.Length) barlist.File {
	f := barlist.File{Name: revision + ".csv", SHA256: [32]byte{n}}
	for _, mark := range []string{"A", "B", "C"} {
		if length, ok := marks[mark]; ok {
			f.Lines = append(f.Lines, barlist.Line{
				Row: len(f.Lines) + 2, Job: "J", List: "1", Revision: revision, Mark: mark, Length: length, Pieces: 10,
				Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}, Route: []string{"cut"},
			})
		}
	}
	return f
}

// TestRevisionMatrix: what becomes of a bundle, begun as far as can be, whose line grows longer or is
// withdrawn, by what is decided. What is made is never touched.
func TestRevisionMatrix(t *testing.T) {
	states := []string{"at work", "part done", "cut", "loaded", "left"}
	for _, state := range states {
		for _, fate := range []event.Fate{event.Deliver, event.Scrap, event.ToStock} {
			for _, withdrawn := range []bool{false, true} {
				t.Run(fmt.Sprint(state, ", ", fate, ", withdrawn ", withdrawn), func(t *testing.T) {
					s := openShop(t)
					ctx := context.Background()
					_, err := s.SetJob(ctx, floor.Origin{}, event.JobSet{Job: "YARD", Stock: true})
					require.NoError(t, err)
					_, _, err = s.TakeList(ctx, floor.Origin{}, revisionOf(t, "0", 1, map[string]bar.Length{"A": 12 * bar.Foot, "B": 12 * bar.Foot}))
					require.NoError(t, err)
					_, _, err = s.PlanLoad(ctx, floor.Origin{}, load.Plan{Stops: []load.StopPlan{{Stop: load.Stop{Job: "J"}}}})
					require.NoError(t, err)
					a, truck := num(t, tags.Bundle, 1), num(t, tags.Load, 1)
					switch state {
					case "at work":
						s.scan("S1", a.Digits())
					case "part done":
						s.scan("S1", a.Digits(), func(x *scan.Scan) { x.Do, x.Pieces = scan.Part, 4 })
					default:
						s.scan("S1", a.Digits(), func(x *scan.Scan) { x.Pieces = 10 })
					}
					if state == "loaded" || state == "left" {
						s.scan("L1", truck.Digits())
						s.scan("L1", a.Digits())
					}
					if state == "left" {
						s.scan("L1", truck.Digits(), func(x *scan.Scan) { x.Do = scan.Ship })
					}
					was := s.bundleOf(a)

					marks := map[string]bar.Length{"A": 13 * bar.Foot, "B": 12 * bar.Foot}
					if withdrawn {
						delete(marks, "A")
					}
					said := barlist.Said{Decisions: []barlist.Decision{{Bundle: a, Fate: fate}}, Reason: "drawing 7"}
					taken, _, err := s.Revise(ctx, floor.Origin{}, revisionOf(t, "A", 2, marks), said)
					if fate != event.Deliver && state != "cut" {
						var u *barlist.Undecided
						require.ErrorAs(t, err, &u)
						require.Equal(t, []event.Fate{event.Deliver}, u.Changes[0].Asked[0].May)
						require.NotEmpty(t, u.Changes[0].Asked[0].WhyOnly)
						require.Equal(t, was, s.bundleOf(a), "refused, and something was done")
						return
					}
					require.NoError(t, err)
					b := s.bundleOf(a)
					owed := 10
					switch fate {
					case event.Deliver:
						owed = 0
						require.Len(t, b.Events, len(was.Events)+1, "it tells of the decision")
						b.Events, b.At = was.Events, was.At
						require.Equal(t, was, b, "it goes on as it was")
					case event.Scrap:
						require.True(t, b.Voided)
						require.Equal(t, 10, b.Lost())
					case event.ToStock:
						require.False(t, b.Voided)
						require.NoError(t, s.View(func(p *view.Past) error {
							l := p.Line(b.Line)
							require.Equal(t, []string{"YARD", "surplus", "J/1/A"}, []string{l.Job, l.List, l.Mark})
							require.Equal(t, 12*bar.Foot, l.Length)
							require.Equal(t, []uint64{was.Runs[0]}, b.Runs, "and is of the bars that it was cut from")
							return nil
						}))
					}
					if withdrawn {
						owed = 0
					}
					require.Equal(t, owed, taken.Changes[slices.IndexFunc(taken.Changes, func(c barlist.Change) bool { return c.Mark == "A" })].Owed)

					// The next revision, with the mark as it is now, asks no more of what is decided, but of what
					// goes out as it was.
					marks["C"] = bar.Foot
					_, _, err = s.Revise(ctx, floor.Origin{}, revisionOf(t, "B", 3, marks), barlist.Said{})
					require.NoError(t, err)
				})
			}
		}
	}
}

func (s *shop) bundleOf(n tags.Number) (b scan.Bundle) {
	s.Helper()
	require.NoError(s, s.View(func(p *view.Past) error {
		b, _ = p.Bundle(n)
		return nil
	}))
	return b
}

// TestRevisedWhileCut: a bundle whose line was revised after its start is cut short. What lacks is made as
// the list says now, and once the list asks for none, nothing is owed.
func TestRevisedWhileCut(t *testing.T) {
	for _, withdrawn := range []bool{false, true} {
		s := openShop(t)
		ctx := context.Background()
		_, _, err := s.TakeList(ctx, floor.Origin{}, revisionOf(t, "0", 1, map[string]bar.Length{"A": 12 * bar.Foot, "B": 12 * bar.Foot}))
		require.NoError(t, err)
		a := num(t, tags.Bundle, 1)
		s.scan("S1", a.Digits())
		marks := map[string]bar.Length{"A": 13 * bar.Foot, "B": 12 * bar.Foot}
		if withdrawn {
			delete(marks, "A")
		}
		_, _, err = s.Revise(ctx, floor.Origin{}, revisionOf(t, "A", 2, marks), barlist.Said{Decisions: []barlist.Decision{{Fate: event.Deliver}}})
		require.NoError(t, err)
		answer, _ := s.scan("S1", a.Digits(), func(x *scan.Scan) { x.Pieces = 7 })
		require.Equal(t, event.Check, answer.Verdict)
		rest := s.bundleOf(num(t, tags.Bundle, 3))
		if withdrawn {
			require.Zero(t, rest.Number)
			continue
		}
		require.Equal(t, []any{3, "1b", 2}, []any{rest.Pieces, rest.Name(), rest.K + 1})
		cut := s.bundleOf(a)
		require.NoError(t, s.View(func(p *view.Past) error {
			require.Equal(t, 13*bar.Foot, p.Line(rest.Line).Length)
			require.Equal(t, 12*bar.Foot, p.Line(cut.Line).Length, "what is made stays what it is")
			return nil
		}))
		// The cut is taken back: all ten wait at 12 feet again, and the three at 13 are no more.
		_, err = s.Undo(ctx, floor.Origin{}, a, "wrong count")
		require.NoError(t, err)
		require.Equal(t, 10, s.bundleOf(a).Pieces)
		require.True(t, s.bundleOf(rest.Number).Voided)
	}
}
