package rest

import (
	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

func steel(s bar.Steel) api.Steel {
	return api.Steel{Size: string(s.Size), Spec: s.Spec, Grade: s.Grade, Coating: s.Coating, Steel: s.String()}
}

func heats(keys []heat.Key) []api.Heat {
	out := make([]api.Heat, 0, len(keys))
	for _, k := range keys {
		out = append(out, api.Heat{Mill: k.Mill, Heat: k.Heat})
	}
	return out
}

// draw is what is known of heats. What is not drawn yet has none.
func draw(d heat.Draw, drawn bool) api.Draw {
	if !drawn {
		return api.Draw{Certainty: "not drawn", Heats: []api.Heat{}}
	}
	return api.Draw{Certainty: string(d.Certainty), Heats: heats(d.Heats)}
}

// shown are numbers as people see them.
func shown(numbers []tags.Number) []string {
	out := make([]string, 0, len(numbers))
	for _, n := range numbers {
		out = append(out, n.String())
	}
	return out
}

// notNil gives an empty list for none, which JSON writes as [].
func notNil[T any](s []T) []T {
	if s == nil {
		return []T{}
	}
	return s
}

// sum is an amount of work being added up.
type sum struct {
	bundles, pieces int
	mass            bar.Mass
}

func (s *sum) add(b scan.Bundle, m bar.Mass) {
	s.bundles++
	s.pieces += b.Pieces
	s.mass += m
}

func (a *ops) amount(s sum) api.Amount {
	return api.Amount{Bundles: s.bundles, Pieces: s.pieces, WeightKG: s.mass.Kilograms(), Weight: s.mass.Text(a.units())}
}

// mass is the nominal mass of a bundle.
func mass(b scan.Bundle, l *scan.Line) bar.Mass {
	// A line's size was weighed when it was taken, and a bundle's pieces are bounded.
	m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(b.Pieces))
	return m
}

// certs are the certs on file for heats and a size.
func certs(p *view.Past, keys []heat.Key, size bar.Size) []api.Cert {
	out := []api.Cert{}
	for _, k := range keys {
		for _, c := range p.Certs(k) {
			if c.Covers(size) {
				out = append(out, cert(c))
			}
		}
	}
	return out
}

func cert(c heat.Cert) api.Cert {
	out := api.Cert{
		Seq: c.Seq, Heat: api.Heat{Mill: c.Filed.Mill, Heat: c.Filed.Heat}, Sizes: []string{}, Spec: c.Filed.Spec,
		Type: c.Filed.Type, Specific: c.Specific(), Text: c.Filed.Text, SHA256: hexOf(c.Filed.SHA256),
		Melted: c.Filed.Melted, Rolled: c.Filed.Rolled, Reviewed: c.Reviewed, Filed: at(c.At),
	}
	for _, s := range c.Filed.Sizes {
		out.Sizes = append(out.Sizes, string(s))
	}
	return out
}
