package pages

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// made is a heat with some jobs, of which each is in some states.
func made(jobs, states int, tied func(job, state int) float64, name string) sankey {
	var mid, now []branch
	var strands []strand
	sums := make([]float64, states)
	total := 0.0
	for j := range jobs {
		w := 0.0
		for s := range states {
			if x := tied(j, s); x > 0 {
				strands = append(strands, strand{j, s, x})
				w += x
				sums[s] += x
			}
		}
		total += w
		mid = append(mid, branch{Name: fmt.Sprintf("26-%03d", j), Under: name, Figure: "12,345 lb", Weight: w})
	}
	for s := range states {
		now = append(now, branch{Name: "waits for " + name, Figure: "1 lb", Weight: sums[s]})
	}
	rest := []branch{{Name: "On hand", Figure: "7 lb", Weight: 7, Quiet: true}, {Name: "Remnants", Figure: "1 lb", Weight: 1, Hatch: "left"}, {Name: "Scrap", Figure: "0 lb", Weight: .001, Hatch: "scrap"}}
	return laySankey([]branch{{Name: "Received", Figure: "x lb", Weight: total + 7}, {Name: "Drawn beyond the record", Figure: "1 lb", Weight: 1.001}}, mid, rest, now, strands)
}

type box struct{ x0, y0, x1, y1 float64 }

// apartAll says that no two labels overlap, that each is within the drawing, and that none lies on a node.
func apartAll(t require.TestingT, s sankey) {
	var labels, nodes []box
	for _, n := range s.Nodes {
		nodes = append(nodes, box{n.X, n.Y, n.X + n.W, n.Y + n.H})
		for _, l := range n.Lines {
			size := small
			if l.Bold {
				size = big
			}
			w := wide(l.Text, size)
			b := box{n.TX, l.Y - size*.75, n.TX + w, l.Y + size*.2}
			if n.Before {
				b.x0, b.x1 = n.TX-w, n.TX
			}
			require.True(t, b.x0 >= 0 && b.x1 <= s.W && b.y0 >= 0 && b.y1 <= s.H, "%q lies at %v, outside of %v x %v", l.Text, b, s.W, s.H)
			labels = append(labels, b)
		}
	}
	over := func(a, b box) bool { return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 }
	for i, a := range labels {
		for _, b := range labels[:i] {
			require.False(t, over(a, b), "labels %v and %v overlap", a, b)
		}
		for _, b := range nodes {
			require.False(t, over(a, b), "label %v lies on the node %v", a, b)
		}
	}
}

func TestASankeysLabels(t *testing.T) {
	for _, jobs := range []int{0, 1, 3, 12} {
		for _, name := range []string{"bend", strings.Repeat("Wide Harbor Point Garage ", 4), strings.Repeat("W", 60)} {
			apartAll(t, made(jobs, min(jobs, 8), func(j, s int) float64 { return float64((j*7+s*3)%5) * 40 }, name))
		}
	}
	require.Empty(t, laySankey(nil, nil, nil, nil, nil).Nodes)
}

func TestAnySankey(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		weights := rapid.SliceOfN(rapid.SampledFrom([]float64{0, 0, .01, 1, 30, 4000}), 96, 96).Draw(t, "weights")
		apartAll(t, made(rapid.IntRange(0, 12).Draw(t, "jobs"), rapid.IntRange(0, 8).Draw(t, "states"), func(j, s int) float64 { return weights[j*8+s] }, "bend"))
	})
}

// Where jobs and states can be ordered so that nothing crosses, nothing does.
func TestUntangle(t *testing.T) {
	jobs, now := make([]branch, 4), make([]branch, 4)
	strands := []strand{{0, 3, 5}, {1, 2, 5}, {2, 1, 5}, {3, 0, 5}, {0, 2, 1}, {2, 0, 1}}
	jobs, now, strands = untangle(jobs, now, strands)
	require.Len(t, jobs, 4)
	require.Len(t, now, 4)
	require.Zero(t, crossings(upTo(4), upTo(4), strands))
}
