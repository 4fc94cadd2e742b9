package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Lying is a bundle in a pocket.
type Lying struct {
	_ struct{} `cbor:",toarray"`

	Pocket string
	Bundle tags.Number
}

// In are the bundles that lie in a pocket, the one that came first first.
func (f Floor) In(pocket string) []tags.Number {
	var out []tags.Number
	for _, l := range f.Pockets {
		if l.Pocket == pocket {
			out = append(out, l.Bundle)
		}
	}
	return out
}

// pocket is where the pieces of a bundle go: into the pocket that is typed, else where pieces of it lie
// already, else into the first in which nothing lies. It is "" where all are taken, or there are none:
// then people see for themselves.
func (j *judge) pocket(floor Floor, n tags.Number) string {
	if j.scan.Pocket != "" {
		return j.scan.Pocket
	}
	for _, l := range floor.Pockets {
		if l.Bundle == n {
			return l.Pocket
		}
	}
	i := slices.IndexFunc(j.at.Pockets, func(p string) bool { return len(floor.In(p)) == 0 })
	if i < 0 {
		return ""
	}
	return j.at.Pockets[i]
}

// into says in an answer where the pieces go, and what lies there already.
func (j *judge) into(a *event.Answer, floor Floor, pocket string, own tags.Number) {
	if pocket == "" {
		return
	}
	a.Notes = slices.Insert(a.Notes, 1, note("into pocket", pocket))
	var there []string
	for _, n := range floor.In(pocket) {
		if n == own {
			continue
		}
		b, _ := j.past.Bundle(n)
		there = append(there, title(b, j.past.Line(b.Line)))
	}
	if len(there) > 0 {
		look(a, "pocket taken", pocket, join(there))
	}
}
