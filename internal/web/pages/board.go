package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/view"
)

// boardPage is what the big screen in the shop shows: today, the trucks, the dock, and what is held.
type boardPage struct {
	Day    string // yyyy-mm-dd, by the plant's time
	Works  []boardWork
	Trucks []boardTruck
	More   int // trucks that are left out
	Lacks  bar.Mass
	Dock   []boardLoad
	Docks  int
	Holds  int
	Held   heat.Hold // the newest
}

// boardWork is how much of a kind of work was done today, hour by hour.
type boardWork struct {
	Word     string // of the kind of work
	Figure   string
	Unit     string
	Stations []stationDone
	Hours    []hourDone
	Ticks    []hourTick
	Base     int // where the hours stand, in a box 560 wide

	mass   bar.Mass
	each   map[string]bar.Mass // by station
	hourly map[int]bar.Mass    // by hour of the day
}

// stationDone is how much a station did.
type stationDone struct{ Title, Figure string }

// hourDone is an hour as a bar to scale; the one that goes on is not at its end yet.
type hourDone struct {
	X, Y, W, H int
	Now        bool
}

// hourTick is an hour that is named under the bars.
type hourTick struct {
	X    int
	Hour string
}

// boardTruck is a load that has not left, and what it lacks.
type boardTruck struct {
	truckRow
	Leaves string // "06:30" today, with the day on another day
	Job    string
	Lacks  scan.Sum
	Amiss  bool // it may miss bundles, something of it is held or short, or it should have left
}

// boardLoad is a load on whose truck something lies, against its limit.
type boardLoad struct {
	load.Load
	Job     string
	Full    bar.Mass // the limit, or all that is planned where none is said
	On      int      // in a box 1000 wide
	Missing int      // that is planned and not on it
	Upright int
}

// What fits on the screen.
const (
	mostTrucks = 6
	mostDocked = 3
	mostBenchs = 4
)

// The box in which the hours are drawn.
const (
	hoursWide = 560
	hoursHigh = 150
)

// counted are the works that are counted, and the steps of each.
var counted = []struct {
	word  string
	steps []scan.Step
}{
	{"were cut", []scan.Step{scan.Cut, scan.Saw, scan.CutAndBend}},
	{"were bent", []scan.Step{scan.Bend, scan.CutAndBend}},
}

// board shows how today goes.
func (p *pages) board(c echo.Context) error {
	now := time.Now().In(p.floor.Rules().Zone)
	lang := language(c)
	d := boardPage{Day: now.Format(time.DateOnly)}
	_, err := p.floor.Outlook(now, func(past *view.Past, o *floor.Outlook) error {
		d.Works = p.worksToday(past, now)
		p.due(past, o, now, lang, &d)
		past.Holds(func(h heat.Hold) bool {
			d.Holds++
			if h.At >= d.Held.At {
				d.Held = h
			}
			return true
		})
		return nil
	})
	if err != nil {
		return err
	}
	for i := range d.Works {
		d.Works[i].draw(p.hours(d.Works, now), mostHourly(d.Works), now.Hour())
		d.Works[i].figures(p, lang)
	}
	return p.renderIn(c, onBoard, "board.html", p.word(lang, "board"), nil, d)
}

// worksToday adds up what was cut, bent and loaded on the plant's day.
func (p *pages) worksToday(past *view.Past, now time.Time) []boardWork {
	works := make([]boardWork, len(counted)+1)
	for i := range works {
		works[i].each, works[i].hourly = map[string]bar.Mass{}, map[int]bar.Mass{}
	}
	add := func(w *boardWork, station string, at int64, m bar.Mass) {
		w.mass += m
		w.each[station] += m
		w.hourly[time.UnixMilli(at).In(now.Location()).Hour()] += m
	}
	p.floor.Today(past, now, func(w view.Work) {
		for i, k := range counted {
			if slices.Contains(k.steps, scan.Step(w.Step)) {
				add(&works[i], w.Station, w.At, w.Mass)
			}
		}
	})
	for i, k := range counted {
		works[i].Word = k.word
	}
	loaded := &works[len(counted)]
	loaded.Word = "were loaded"
	p.floor.LoadedToday(past, now, func(station string, at int64, m bar.Mass) { add(loaded, station, at, m) })
	return works
}

// leastHours is how many hours the board shows at least.
const leastHours = 8

// hours are the hours of the day that the board shows, from and to: those of the shifts, and any in which
// something was done.
func (p *pages) hours(works []boardWork, now time.Time) (span [2]int) {
	from, to := now.Hour(), now.Hour()+1
	if a, z, ok := p.floor.Rules().Calendar.Hours(now); ok {
		from = min(from, a.Hour())
		if last := z.Add(-time.Minute); last.Day() == now.Day() {
			to = max(to, last.Hour()+1)
		} else {
			to = 24 // the rest of the shift is tomorrow's
		}
	}
	for _, w := range works {
		for h := range w.hourly {
			from, to = min(from, h), max(to, h+1)
		}
	}
	from = max(0, min(from, to-leastHours))
	return [2]int{from, min(24, max(to, from+leastHours))}
}

// mostHourly is the most that was done in any hour: all works are drawn to one scale.
func mostHourly(works []boardWork) bar.Mass {
	most := bar.Mass(1)
	for _, w := range works {
		for _, m := range w.hourly {
			most = max(most, m)
		}
	}
	return most
}

// draw lays the hours beside one another.
func (w *boardWork) draw(span [2]int, most bar.Mass, now int) {
	wide := float64(hoursWide) / float64(span[1]-span[0])
	w.Base = hoursHigh
	for h := span[0]; h < span[1]; h++ {
		x := int(float64(h-span[0]) * wide)
		if m := w.hourly[h]; m > 0 {
			high := max(2, int(float64(m)/float64(most)*(hoursHigh-4)))
			w.Hours = append(w.Hours, hourDone{x + 2, hoursHigh - high, max(4, int(wide)-6), high, h == now})
		}
		if h%3 == 0 {
			w.Ticks = append(w.Ticks, hourTick{x + int(wide/2), fmt.Sprint(h)})
		}
	}
}

// figures are what the work comes to, in all and at each station, the one with the most first.
func (w *boardWork) figures(p *pages, lang scan.Lang) {
	w.Figure, w.Unit = p.tons(w.mass), p.word(lang, "short tons")
	if p.floor.Rules().Units == bar.Metric {
		w.Unit = p.word(lang, "tonnes")
	}
	for name, m := range w.each {
		title := name
		for _, st := range p.floor.Rules().Stations {
			if st.Name == name {
				title = st.Title
			}
		}
		w.Stations = append(w.Stations, stationDone{title, p.tons(m)})
	}
	slices.SortFunc(w.Stations, func(a, b stationDone) int { return cmp.Compare(a.Title, b.Title) })
	w.Stations = w.Stations[:min(len(w.Stations), mostBenchs)]
}

// tons is a weight for reading from far: in tons of 2,000 lb or 1,000 kg, with as many decimals as say something.
func (p *pages) tons(m bar.Mass) string {
	of := 2000 * bar.Pound
	if p.floor.Rules().Units == bar.Metric {
		of = 1000 * bar.Kilogram
	}
	t := float64(m) / float64(of)
	switch {
	case m == 0:
		return "0"
	case t < 9.95:
		return fmt.Sprintf("%.2f", t)
	}
	return fmt.Sprintf("%.1f", t)
}

// due are the next trucks with what they lack, and those that are being loaded.
func (p *pages) due(past *view.Past, o *floor.Outlook, now time.Time, lang scan.Lang, d *boardPage) {
	for _, r := range p.truckRows(past, o, now) {
		missing := r.Sums.Missing()
		d.Lacks += missing.Mass
		if r.Count > 0 {
			d.Docks++
			if len(d.Dock) < mostDocked {
				d.Dock = append(d.Dock, dockLoad(r, jobsOf(past, r.Load)))
			}
		}
		if len(d.Trucks) == mostTrucks {
			d.More++
			continue
		}
		leaves := r.At
		if day, err := time.Parse(time.DateOnly, r.Date); err == nil && r.Date != d.Day {
			leaves = p.word(lang, "on "+strings.ToLower(day.Weekday().String())) + " " + leaves
		}
		d.Trucks = append(d.Trucks, boardTruck{r, leaves, jobsOf(past, r.Load), missing, r.Gone || r.Will > 0 || r.May > 0 || r.Held > 0 || r.Hold != nil || len(r.Short) > 0})
	}
}

// jobsOf are the names of a load's jobs, or their numbers where they have none.
func jobsOf(past *view.Past, l load.Load) string {
	var names []string
	for _, job := range l.Jobs() {
		j, _ := past.Job(job)
		names = append(names, cmp.Or(j.Name, job))
	}
	return strings.Join(names, ", ")
}

// dockLoad draws what lies on a load against its limit.
func dockLoad(r truckRow, job string) boardLoad {
	all := r.Mass + r.Sums.Missing().Mass
	l := boardLoad{Load: r.Load, Job: job, Full: cmp.Or(r.Limit, all, 1)}
	scale := func(m bar.Mass) int { return int(float64(m) / float64(max(l.Full, all)) * 996) }
	l.On, l.Upright = scale(r.Mass), scale(l.Full)
	l.Missing = scale(all) - l.On
	return l
}
