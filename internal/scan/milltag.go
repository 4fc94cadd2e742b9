package scan

import (
	"cmp"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// millTag finds the lot that a mill's tag is on: by its bundle number, else by its heat. Where a
// person should look whether it is that lot, found says so.
func (j *judge) millTag(m *tags.MillTag) (tags.Number, Outcome) {
	if n, ok := j.byBundle(m); ok {
		return n, Outcome{}
	}
	if m.Heat != "" {
		if n := j.byHeat(m); n != 0 {
			j.other = cut(m.Bundle, 40)
			return n, Outcome{}
		}
	}
	mill := cmp.Or(cut(m.Supplier, 60), "unknown")
	switch {
	case m.Heat != "":
		return 0, j.refuse(0, "not in stock", "heat", cut(m.Heat, 40), mill)
	case m.Bundle != "":
		return 0, j.refuse(0, "not in stock", "bundle", cut(m.Bundle, 40), mill)
	}
	return 0, j.refuse(0, "not a tag", cut(j.scan.Read.Text, 40))
}

// byBundle finds what an alias stands for: one of the mill, or a bare one. The name of a mill in a
// pattern is that of the lots, so there a bare alias counts only for a lot of this mill; a data
// identifier says whatever name the mill has for itself.
func (j *judge) byBundle(m *tags.MillTag) (tags.Number, bool) {
	for _, mill := range []string{m.Supplier, ""} {
		for _, text := range []string{m.Bundle, m.Heat} {
			if text == "" {
				continue
			}
			if n, ok := j.past.Alias(heat.MillAlias(mill, text)); ok {
				j.own = text
				return n, true
			}
			n, ok := j.past.Alias(text)
			if lot, _ := j.past.Lot(n); ok && (m.Pattern == "" || lot.Mill == m.Supplier) {
				j.own = text
				return n, true
			}
		}
	}
	return 0, false
}

// byHeat finds a lot of the tag's heat, and of its size where it says one. Of several, those with bars
// or coil on hand come first, and where stock is received those of which more is expected; then what lies on a feed of this station, then what came in first.
func (j *judge) byHeat(m *tags.MillTag) tags.Number {
	lots := j.past.HeatLots(m.Supplier, m.Heat)
	if len(lots) == 0 && m.Pattern == "" && m.Supplier != "" {
		lots = j.past.HeatLots("", m.Heat)
	}
	fit := func(keep func(heat.Lot) bool) []heat.Lot {
		return slices.DeleteFunc(slices.Clone(lots), func(l heat.Lot) bool { return !keep(l) })
	}
	lots = fit(func(l heat.Lot) bool { return !l.Gone && sizeFits(m.Size, l.Steel.Size) })
	if coming := fit(heat.Lot.Coming); len(coming) > 0 && j.at.Can(Receiving) {
		lots = coming
	} else if here := fit(heat.Lot.Any); len(here) > 0 {
		lots = here
	}
	if len(lots) == 0 {
		return 0
	}
	on := j.past.Floor(j.at.Name).Lots()
	away := func(l heat.Lot) int {
		if slices.Contains(on, l.Number) {
			return 0
		}
		return 1
	}
	slices.SortFunc(lots, func(a, b heat.Lot) int {
		return cmp.Or(away(a)-away(b), cmp.Compare(a.At, b.At), cmp.Compare(a.Number, b.Number))
	})
	first := lots[0]
	switch {
	case len(lots) > 1:
		look(&j.found, "several lots fit", len(lots), cut(m.Heat, 40), first.Number)
	case m.Supplier != "" && first.Mill != m.Supplier:
		look(&j.found, "another mill", cut(m.Supplier, 60), first.Number, first.Mill)
	}
	return first.Number
}

// sizeFits says whether a size as a mill wrote it can be that of a lot. One without its system, as 5
// or 05, fits any size of that number; a text without a number says nothing.
func sizeFits(text string, size bar.Size) bool {
	if s, err := bar.ParseSize(text); err == nil {
		return s == size
	}
	bare := func(s string) string {
		return strings.TrimLeft(strings.TrimFunc(s, func(r rune) bool { return r < '0' || r > '9' }), "0")
	}
	return bare(text) == "" || bare(text) == bare(string(size))
}
