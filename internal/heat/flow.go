package heat

import (
	"cmp"
	"slices"
	"strings"

	"tagd/internal/bar"
)

// Flow is metal of an account that was cut for a job, and where it is.
type Flow struct {
	Job string
	Row
}

// flow counts pieces from bars and from coil for a job where they are. A job's number has no zero byte.
func (r *Reckoning) flow(job, what string, size bar.Size, mine, coil amount) {
	key := job + "\x00" + what
	r.flows.add(key, size, mine.pieces, mine.length, 0)
	r.flows.add(key, "", coil.pieces, 0, coil.mass)
}

// byJob are the flows, by job and where they are.
func (r *Reckoning) byJob() (out []Flow) {
	for _, row := range r.flows.all() {
		f := Flow{Row: row}
		f.Job, f.What, _ = strings.Cut(row.What, "\x00")
		out = append(out, f)
	}
	slices.SortStableFunc(out, func(a, b Flow) int { return cmp.Or(cmp.Compare(a.Job, b.Job), cmp.Compare(a.What, b.What)) })
	return out
}

// Spread is an account by weight, bars and coil together: what came in, and where it is. What counts of the
// yard took from the record stands among Rest, so that no row is negative. In the record's unit In is as much
// as Flows and Rest: the micrograms by which weighing row by row may miss it are on the largest row.
type Spread struct {
	In    []Row
	Flows []Flow
	Rest  []Row // of no job: on feeds, on hand, remnants, scrap, drawn together with others, counted away
}

// Total is what came in.
func (s Spread) Total() (m bar.Mass) {
	for _, r := range s.In {
		m += r.Mass
	}
	return m
}

// unjobbed are the rows of an account that are of no job, in their order.
var unjobbed = []string{OnFeeds, OnHand, Remnants, Scrapped, Shared}

// Spread is the account by weight. Of one that does not balance the difference is in no row.
func (a Account) Spread() (s Spread) {
	add := func(to *[]Row, r Row) {
		i := slices.IndexFunc(*to, func(o Row) bool { return o.What == r.What })
		if i < 0 {
			i = len(*to)
			*to = append(*to, Row{What: r.What})
		}
		(*to)[i].Count += r.Count
		(*to)[i].Length += r.Length
		(*to)[i].Mass += r.Mass
	}
	var in []Row
	for _, r := range slices.Concat(a.Bars.In, a.Coil.In) {
		add(&in, r)
	}
	for _, what := range unjobbed {
		for _, r := range slices.Concat(a.Bars.Out, a.Coil.Out) {
			if r.What == what {
				add(&s.Rest, r)
			}
		}
	}
	for _, r := range in {
		if r.Mass < 0 {
			s.Rest = append(s.Rest, Row{What: r.What, Count: -r.Count, Length: -r.Length, Mass: -r.Mass})
			continue
		}
		s.In = append(s.In, r)
	}
	s.Flows = slices.Clone(a.Flows)
	if a.Bars.Over == 0 && a.Coil.Over == 0 {
		s.even()
	}
	return s
}

// even puts onto the largest row what weighing row by row misses of what came in.
func (s *Spread) even() {
	miss := s.Total()
	var largest *bar.Mass
	take := func(m *bar.Mass) {
		miss -= *m
		if largest == nil || *m > *largest {
			largest = m
		}
	}
	for i := range s.Flows {
		take(&s.Flows[i].Mass)
	}
	for i := range s.Rest {
		take(&s.Rest[i].Mass)
	}
	if largest != nil {
		*largest += miss
	}
}
