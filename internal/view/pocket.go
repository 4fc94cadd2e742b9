package view

import (
	"slices"

	"tagd/internal/scan"
	"tagd/internal/tags"
)

// moved makes a station the one at which a bundle was worked on last: it lies in the pocket that it has
// there. In those of others its pieces lie all the same, until it is moved away as a whole.
func (a *apply) moved(x *scan.Bundle, station string) {
	x.Station, x.Pocket = station, ""
	for _, l := range a.Floor(station).Pockets {
		if l.Bundle == x.Number {
			x.Pocket = l.Pocket
		}
	}
}

// pocket lets a bundle lie in the pocket that it has.
func (a *apply) pocket(x scan.Bundle) {
	lies := scan.Lying{Pocket: x.Pocket, Bundle: x.Number}
	if x.Pocket != "" && !slices.Contains(a.Floor(x.Station).Pockets, lies) {
		a.floor(x.Station, func(f *scan.Floor) { f.Pockets = append(without(f.Pockets, x.Number), lies) })
	}
}

// away takes a bundle out of all pockets in which pieces of it lie: it was moved as a whole.
func (a *apply) away(x *scan.Bundle) {
	if x.Pocket == "" && len(x.Runs) < 2 {
		return
	}
	a.emptyPocket(x.Number, x.Station)
	for _, seq := range x.Runs {
		if r, ok := a.Run(seq); ok {
			a.emptyPocket(x.Number, r.Station)
		}
	}
	x.Pocket = ""
}

// beside lets a bundle lie in all pockets in which another one lies.
func (a *apply) beside(x scan.Bundle, n tags.Number) {
	stations := []string{x.Station}
	for _, seq := range x.Runs {
		if r, _ := a.Run(seq); !slices.Contains(stations, r.Station) {
			stations = append(stations, r.Station)
		}
	}
	for _, station := range stations {
		for _, l := range a.Floor(station).Pockets {
			if l.Bundle == x.Number {
				a.floor(station, func(f *scan.Floor) {
					f.Pockets = append(slices.Clone(f.Pockets), scan.Lying{Pocket: l.Pocket, Bundle: n})
				})
			}
		}
	}
}

// emptyPocket takes a bundle out of the pocket that it has at a station.
func (a *apply) emptyPocket(n tags.Number, station string) {
	if slices.ContainsFunc(a.Floor(station).Pockets, func(l scan.Lying) bool { return l.Bundle == n }) {
		a.floor(station, func(f *scan.Floor) { f.Pockets = without(f.Pockets, n) })
	}
}

// without are the pockets without a bundle.
func without(all []scan.Lying, n tags.Number) []scan.Lying {
	return slices.DeleteFunc(slices.Clone(all), func(l scan.Lying) bool { return l.Bundle == n })
}
