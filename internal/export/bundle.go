package export

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/heat"
	"tagd/internal/tags"
)

// Bundle is a bundle as papers and tables show it.
type Bundle struct {
	Number tags.Number
	List   string // number of the bar list: a mark is unique within job and list only
	Mark   string
	K      string // "2", or "2b" for a remainder
	N      int    // of how many
	Steel  bar.Steel
	Pieces int
	Length bar.Length // cut length of a piece
	Weight bar.Mass   // nominal, of the whole bundle, not rounded
	Draw   heat.Draw  // the heats that it is or may be of; zero: none is recorded
	// Returned says of a bundle that went with a load that it came back whole.
	Returned bool
}

// compare orders bundles by mark, list and k of n.
func (b Bundle) compare(o Bundle) int {
	for _, c := range [...]int{Natural(b.Mark, o.Mark), Natural(b.List, o.List), Natural(b.K, o.K)} {
		if c != 0 {
			return c
		}
	}
	return sign(int(int64(b.Number) - int64(o.Number)))
}

// name is what errors call the bundle.
func (b Bundle) name() string { return "bundle " + b.Number.String() }

// kOfN is "2/3".
func (b Bundle) kOfN() string {
	if b.K == "" {
		return ""
	}
	return b.K + "/" + strconv.Itoa(b.N)
}

// serial is the part of a number that differs between things of one kind at one plant: serial and
// check digits.
func serial(n tags.Number) string {
	if s := n.String(); len(s) > 6 {
		return s[6:]
	}
	return n.String()
}

// gradeOf says what the steel is beyond its size: "A615 Gr 60", and the coating.
func gradeOf(s bar.Steel) cell {
	grade := s.Grade
	if _, err := strconv.Atoi(grade); err == nil {
		grade = "Gr\u00a0" + grade // a bare number would read as a count
	}
	c := words(strings.TrimSpace(s.Spec + " " + grade))
	if s.Coating != "" {
		c.text = append(c.text, strings.ToUpper(s.Coating))
	}
	return c
}

// heatNames gives the name of a heat on a paper: its number, and the mill too where two mills have
// used that number for different heats.
func heatNames(all ...heat.Key) func(heat.Key) string {
	mills := map[string]string{}
	twice := map[string]bool{}
	for _, k := range all {
		if m, ok := mills[k.Heat]; ok && m != k.Mill {
			twice[k.Heat] = true
		}
		mills[k.Heat] = k.Mill
	}
	return func(k heat.Key) string {
		if twice[k.Heat] {
			return k.Heat + " (" + k.Mill + ")"
		}
		return k.Heat
	}
}

// mostHeats is how many heats a row names one a line; more stand below the row.
const mostHeats = 12

// heatsOf says which heats a draw is of and how sure that is, in a cell, and below the row when they
// are too many for it.
func heatsOf(d heat.Draw, name func(heat.Key) string) (c cell, below string) {
	var names []string
	for _, k := range d.Heats {
		names = append(names, name(k))
	}
	switch d.Certainty {
	case heat.Certain:
	case heat.Declared:
		c.note = "declared · declarado"
	case heat.OneOf:
		c.text = []string{"one of/una de:"}
	case "":
		return words("none yet/sin colada"), ""
	default:
		if len(names) == 0 {
			return words("unknown/desconocida"), ""
		}
		c.text = []string{"unknown, or/", "desconocida, o:"}
	}
	if len(names) > mostHeats {
		c.note = strings.TrimPrefix(c.note+", ", ", ") + fmt.Sprintf("%d heats below · %d coladas abajo", len(names), len(names))
		return c, strings.Join(names, ", ")
	}
	c.text = append(c.text, names...)
	return c, ""
}

// unit is the least weight that a paper in these units shows.
func unit(u bar.Units) bar.Mass {
	if u == bar.Imperial {
		return bar.Pound
	}
	return bar.Kilogram / 10
}

// shown rounds weights to what a paper prints, so that its rows add up to its total.
func shown(parts []bar.Mass, u bar.Units) []bar.Mass {
	out := make([]bar.Mass, len(parts))
	for i, n := range bar.Round(parts, unit(u)) {
		out[i] = bar.Mass(n) * unit(u)
	}
	return out
}

// unitName is the name of the unit of weights in a table's head.
func unitName(u bar.Units) string {
	if u == bar.Imperial {
		return "lb"
	}
	return "kg"
}

// figure is a weight without its unit.
func figure(m bar.Mass, u bar.Units) string {
	return strings.TrimSuffix(m.Text(u), " "+unitName(u))
}

// count prints a number as weights in these units are printed: grouped with pounds only.
func count(n int, u bar.Units) string {
	s := strconv.Itoa(n)
	if u == bar.Imperial {
		for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
			s = s[:i] + "," + s[i:]
		}
	}
	return s
}

// sum is bundles added up.
type sum struct {
	bundles, pieces int
	weight          bar.Mass
}

func (s *sum) add(pieces int, weight bar.Mass) {
	s.bundles++
	s.pieces += pieces
	s.weight += weight
}

// bySize adds bundles up by size, in the order of sizes.
func bySize(bundles []Bundle) (sizes []bar.Size, sums map[bar.Size]*sum) {
	sums = map[bar.Size]*sum{}
	for _, b := range bundles {
		s := sums[b.Steel.Size]
		if s == nil {
			s = &sum{}
			sums[b.Steel.Size] = s
			sizes = append(sizes, b.Steel.Size)
		}
		s.add(b.Pieces, b.Weight)
	}
	sortSizes(sizes)
	return sizes, sums
}

func sortSizes(sizes []bar.Size) {
	slices.SortFunc(sizes, func(a, b bar.Size) int { return Natural(string(a), string(b)) })
}
