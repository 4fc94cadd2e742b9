package view

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// feed applies what was put on and taken off a feed.
func (a *apply) feed() {
	switch b := a.e.Body.(type) {
	case event.FeedCharged:
		a.floor(b.Station, func(f *scan.Floor) {
			i := slices.IndexFunc(f.Feeds, func(x scan.Feed) bool { return x.Name == b.Feed })
			if i < 0 {
				f.Feeds = append(f.Feeds, scan.Feed{Name: b.Feed})
				i = len(f.Feeds) - 1
			}
			f.Feeds[i].Lots = append(f.Feeds[i].Lots, b.Lot)
			f.Fed = max(f.Fed, a.when())
		})
		a.lot(b.Lot, func(l *heat.Lot) { l.Feed = b.Station + "/" + b.Feed })
		a.history(b.Lot)
		if b.Run != 0 {
			a.run(b.Run, func(r *scan.Run) {
				if !r.Said {
					a.candidates(r, []tags.Number{b.Lot})
				}
			})
		}
	case event.FeedEmptied:
		var off []tags.Number
		a.floor(b.Station, func(f *scan.Floor) {
			f.Fed = max(f.Fed, a.when())
			for i := range f.Feeds {
				if f.Feeds[i].Name != b.Feed {
					continue
				}
				if b.Lot == 0 {
					off, f.Feeds[i].Lots = f.Feeds[i].Lots, nil
				} else {
					off = []tags.Number{b.Lot}
					f.Feeds[i].Lots = slices.DeleteFunc(slices.Clone(f.Feeds[i].Lots), func(n tags.Number) bool { return n == b.Lot })
				}
			}
		})
		for _, n := range off {
			a.lot(n, func(l *heat.Lot) {
				if l.Feed == b.Station+"/"+b.Feed {
					l.Feed = a.feedOf(n)
				}
				if b.Place != 0 {
					l.Place = b.Place
				}
			})
			a.history(n)
		}
	}
}

// feedOf finds a feed that a lot lies on: bars of one lot may lie on several.
func (a *apply) feedOf(n tags.Number) string {
	on := ""
	a.prefix(tFloor, []byte{'s'}, func(station, v []byte) bool {
		for _, f := range decode[scan.Floor](v).Feeds {
			if slices.Contains(f.Lots, n) {
				on = string(station[:len(station)-1]) + "/" + f.Name
			}
		}
		return on == ""
	})
	return on
}

// crew puts a person into the crew of a station, or takes them out.
func (a *apply) crew(station string, person tags.Number, in bool) {
	a.floor(station, func(f *scan.Floor) {
		f.Crew = slices.DeleteFunc(slices.Clone(f.Crew), func(x scan.Aboard) bool { return x.Person == person })
		if in {
			f.Crew = append(f.Crew, scan.Aboard{Person: person, At: a.when()})
		}
	})
}
