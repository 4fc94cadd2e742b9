package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Sankey shows where the weight of something went: in at the left, the jobs in the middle with what is of no
// job below them, and at the right where the jobs' bundles are now. It is laid out in numbers here and drawn by
// a template in classes, since the strict policy for content takes no style attribute.

// branch is something that weight comes to: Name and Under are its label, Figure its weight as it is printed.
type branch struct {
	Name, Under, Figure string
	Hatch               string // "left" or "scrap": what is left over
	Quiet               bool   // lies here as it came
	Weight              float64
}

// strand is weight that goes from a job on to where its bundles are.
type strand struct {
	Job, State int
	Weight     float64
}

// node is a branch in its place. Text stands at TX, its lines at the places of Lines; Before says that it ends
// there.
type node struct {
	branch
	X, Y, W, H float64
	TX         float64
	Before     bool
	Lines      []line
}

type line struct {
	Y    float64
	Text string
	Bold bool
}

// ribbon is weight on its way.
type ribbon struct {
	Path  string
	Class string
	Hatch string
}

// sankey is a drawing, W by H.
type sankey struct {
	W, H    float64
	Nodes   []node
	Ribbons []ribbon
}

// The measures of a Sankey, in units of its drawing. The texts are 15 and 18 high.
const (
	sankeyWidth = 1000.0
	sankeyFlows = 300.0 // how high all that came in is drawn
	thinnest    = 2.0   // ribbon
	leastNode   = 5.0   // height
	nodeWidth   = 16.0
	columnIn    = 164.0 // where the nodes begin
	columnJobs  = 486.0
	columnNow   = 806.0
	textAway    = 10.0 // from its node
	small, big  = 15.0, 18.0
	smallLine   = 17.0
	bigLine     = 21.0
	apart       = 12.0 // between labels, one above the other
	mostJobs    = 12
)

// laySankey lays out what came in, the jobs with what is of none below them, where the jobs' bundles are, and
// how much of each job is where. Jobs and states are put in an order in which few ribbons cross.
func laySankey(in, jobs, rest, now []branch, strands []strand) sankey {
	s := sankey{W: sankeyWidth}
	jobs, now, strands = untangle(jobs, now, strands)
	total := 0.0
	for _, b := range in {
		total += b.Weight
	}
	if total <= 0 {
		return s
	}
	thick := func(w float64) float64 { return max(thinnest, w*sankeyFlows/total) }

	// How high each node is: what goes through it, on the side where that is more.
	out := make([]float64, len(jobs))
	into := make([]float64, len(now))
	for _, f := range strands {
		out[f.Job] += thick(f.Weight)
		into[f.State] += thick(f.Weight)
	}
	middle := place(jobs, columnJobs, true, 0, func(i int) float64 { return max(thick(jobs[i].Weight), out[i]) })
	right := place(now, columnNow, false, 0, func(i int) float64 { return into[i] })
	level(middle, right)
	below := place(rest, columnJobs, false, max(bottom(middle), bottom(right))+apart, func(i int) float64 { return thick(rest[i].Weight) })
	through := 0.0
	for _, b := range slices.Concat(jobs, rest) {
		through += thick(b.Weight)
	}
	left := place(in, columnIn, true, 0, func(i int) float64 { return through * in[i].Weight / total })
	stack(left)
	s.H = max(bottom(middle), bottom(right), bottom(below)) + 4
	if over := s.H - bottom(left); over > 0 {
		shift(left, over/2)
	} else {
		s.H -= over
	}

	// From what came in to the jobs and the rest, one below the other.
	y := left[0].Y
	for i, n := range slices.Concat(middle, below) {
		t := thick(n.Weight)
		r := ribbon{Path: band(columnIn+nodeWidth, y, columnJobs, n.Y, t), Class: "flow"}
		if i >= len(middle) {
			r.Hatch = n.Hatch
			if n.Quiet {
				r.Class = "flow lies"
			}
		}
		s.Ribbons = append(s.Ribbons, r)
		y += t
	}
	from, to := make([]float64, len(jobs)), make([]float64, len(now))
	slices.SortFunc(strands, func(a, b strand) int { return cmp.Or(a.Job-b.Job, a.State-b.State) })
	for _, f := range strands {
		t := thick(f.Weight)
		s.Ribbons = append(s.Ribbons, ribbon{Path: band(columnJobs+nodeWidth, middle[f.Job].Y+from[f.Job], columnNow, right[f.State].Y+to[f.State], t), Class: "flow"})
		from[f.Job] += t
		to[f.State] += t
	}
	s.Nodes = slices.Concat(left, middle, right, below)
	return s
}

// band is the outline of a ribbon of a thickness, from the edge of one node to that of another.
func band(x0, y0, x1, y1, t float64) string {
	m := (x0 + x1) / 2
	return fmt.Sprintf("M%.1f %.1fC%.1f %.1f %.1f %.1f %.1f %.1fV%.1fC%.1f %.1f %.1f %.1f %.1f %.1fZ",
		x0, y0, m, y0, m, y1, x1, y1, y1+t, m, y1+t, m, y0+t, x0, y0+t)
}

// place puts nodes below one another from a height on, each with room for its label.
func place(all []branch, x float64, before bool, y float64, height func(int) float64) (out []node) {
	for i, b := range all {
		n := node{branch: b, X: x, W: nodeWidth, H: max(leastNode, height(i)), Before: before, TX: x + nodeWidth + textAway}
		room := sankeyWidth - n.TX
		if before {
			n.TX = x - textAway
			room = n.TX - 4
			if x == columnJobs {
				room = n.TX - columnIn - nodeWidth - 8
			}
		}
		texts := n.write(room)
		slot := max(n.H, texts)
		n.Y = y + (slot-n.H)/2
		n.set(y + (slot-texts)/2)
		out = append(out, n)
		y += slot + apart
	}
	return out
}

// write puts the label into lines that fit into a room, and gives how high they are together.
func (n *node) write(room float64) (high float64) {
	add := func(text string, most int) {
		for _, t := range wrap(text, room, small, most) {
			n.Lines = append(n.Lines, line{Text: t})
			high += smallLine
		}
	}
	add(n.Name, 2)
	add(n.Under, 1)
	n.Lines = append(n.Lines, line{Text: n.Figure, Bold: true})
	return high + bigLine
}

// set puts the lines below one another from a height on, each on its base line.
func (n *node) set(y float64) {
	for i := range n.Lines {
		if n.Lines[i].Bold {
			n.Lines[i].Y = y + bigLine*.8
			y += bigLine
		} else {
			n.Lines[i].Y = y + smallLine*.8
			y += smallLine
		}
	}
}

// shift moves nodes down.
func shift(nodes []node, by float64) {
	for i := range nodes {
		nodes[i].Y += by
		for j := range nodes[i].Lines {
			nodes[i].Lines[j].Y += by
		}
	}
}

// stack puts the nodes of what came in onto one another; the labels keep their distance.
func stack(nodes []node) {
	y := 0.0
	for i := range nodes {
		if i == 0 {
			y = nodes[i].Y
		}
		nodes[i].Y = y
		y += nodes[i].H
	}
}

// bottom is how far down nodes and their labels reach.
func bottom(nodes []node) (y float64) {
	for _, n := range nodes {
		y = max(y, n.Y+n.H, n.Lines[len(n.Lines)-1].Y+bigLine*.25)
	}
	return y
}

// level moves the lower of two columns down to the middle of the higher.
func level(a, b []node) {
	if len(a) == 0 || len(b) == 0 {
		return
	}
	if over := bottom(a) - bottom(b); over > 0 {
		shift(b, over/2)
	} else {
		shift(a, -over/2)
	}
}

// untangle puts jobs and states in an order in which few strands cross: each by the mean place of what it is
// tied to, and then neighbours changed for as long as that helps.
func untangle(jobs, now []branch, strands []strand) ([]branch, []branch, []strand) {
	mean := func(i int, end func(strand) (mine, other int)) float64 {
		sum, weight := 0.0, 0.0
		for _, f := range strands {
			if mine, other := end(f); mine == i {
				sum, weight = sum+float64(other)*f.Weight, weight+f.Weight
			}
		}
		return sum / max(weight, 1e-9)
	}
	job, state := upTo(len(jobs)), upTo(len(now))
	slices.SortStableFunc(job, func(a, b int) int {
		ends := func(f strand) (int, int) { return f.Job, f.State }
		return cmp.Compare(mean(a, ends), mean(b, ends))
	})
	for better := true; better; {
		better = false
		for _, order := range [][]int{job, state} {
			for i := range max(0, len(order)-1) {
				before := crossings(job, state, strands)
				order[i], order[i+1] = order[i+1], order[i]
				if crossings(job, state, strands) < before {
					better = true
				} else {
					order[i], order[i+1] = order[i+1], order[i]
				}
			}
		}
	}
	var outJobs, outNow []branch
	for _, i := range job {
		outJobs = append(outJobs, jobs[i])
	}
	for _, i := range state {
		outNow = append(outNow, now[i])
	}
	var out []strand
	for _, f := range strands {
		out = append(out, strand{slices.Index(job, f.Job), slices.Index(state, f.State), f.Weight})
	}
	return outJobs, outNow, out
}

func upTo(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

// crossings counts the strands that cross, with the jobs and states in an order.
func crossings(job, state []int, strands []strand) (n int) {
	for i, f := range strands {
		for _, g := range strands[:i] {
			jobs := slices.Index(job, f.Job) - slices.Index(job, g.Job)
			states := slices.Index(state, f.State) - slices.Index(state, g.State)
			if jobs*states < 0 {
				n++
			}
		}
	}
	return n
}

// wrap parts a text into lines that fit into a room; of what does not fit into the last one the end is cut.
func wrap(text string, room, size float64, most int) (out []string) {
	words := strings.Fields(text)
	for len(words) > 0 {
		n := 1
		for n < len(words) && wide(strings.Join(words[:n+1], " "), size) <= room {
			n++
		}
		if len(out) == most-1 {
			n = len(words)
		}
		out = append(out, shorten(strings.Join(words[:n], " "), room, size))
		words = words[n:]
	}
	return out
}

// shorten cuts the end of a text that does not fit into a room.
func shorten(text string, room, size float64) string {
	if wide(text, size) <= room {
		return text
	}
	r := []rune(text)
	for len(r) > 0 && wide(string(r)+"…", size) > room {
		r = r[:len(r)-1]
	}
	return strings.TrimSpace(string(r)) + "…"
}

// wide is about how wide a text is, rather too wide: the letters of common sans faces, and some more.
func wide(text string, size float64) (w float64) {
	for _, r := range text {
		switch {
		case strings.ContainsRune("il.,:;'|! ()[]/\\ftjr-", r):
			w += .36
		case strings.ContainsRune("mwMW@%", r):
			w += .95
		case r >= 'A' && r <= 'Z' || r > 0x2000:
			w += .76
		default:
			w += .6
		}
	}
	return w * size * 1.06
}
