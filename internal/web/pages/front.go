package pages

import (
	"net/http"
	"slices"

	"github.com/labstack/echo/v4"

	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/view"
)

// frontPage is where everybody begins: a device chooses its station once, and keeps its address.
type frontPage struct {
	Kinds []kindOfStation
	Was   string // the station of this device before
	Open  int    // things on the list to resolve, up to mostCounted
}

// kindOfStation is stations of a kind.
type kindOfStation struct {
	Word     string
	Stations []scan.Station
}

// mostCounted is how far the list to resolve is counted.
const mostCounted = 1000

// kinds are the kinds of station by what they do, the first that fits.
var kinds = []struct {
	word string
	does []scan.Work
}{
	{"stations cut", []scan.Work{"cut", "cut and bend", "saw"}},
	{"stations bend", []scan.Work{"bend", "thread", "head", "coat", "tie"}},
	{"stations stock", []scan.Work{scan.Receiving, scan.Yard}},
	{"stations load", []scan.Work{scan.Loadout, scan.Staging}},
}

// front lists the stations, and says how much there is to resolve.
func (p *pages) front(c echo.Context) error {
	var d frontPage
	left := slices.Clone(p.floor.Rules().Stations)
	for _, k := range kinds {
		one := kindOfStation{Word: k.word}
		left = slices.DeleteFunc(left, func(st scan.Station) bool {
			if !slices.ContainsFunc(k.does, st.Can) {
				return false
			}
			one.Stations = append(one.Stations, st)
			return true
		})
		if len(one.Stations) > 0 {
			d.Kinds = append(d.Kinds, one)
		}
	}
	if k, err := c.Cookie("station"); err == nil {
		d.Was = k.Value
	}
	if err := p.floor.View(func(past *view.Past) error {
		d.Open = past.OpenCount(mostCounted)
		return nil
	}); err != nil {
		return err
	}
	return p.renderIn(c, onFloor, "front.html", p.floor.Rules().Name, nil, d)
}

// badgeFor is for how long a device that has read a badge, or was told that there is none, does not ask for one.
const badgeFor = 12 * 60 * 60 // s

// badge is a badge that was read at this device: the page speaks its person's language from now on.
func (p *pages) badge(c echo.Context, who floor.Person) {
	if who.Lang != "" {
		keep(c, "lang", string(who.Lang))
		c.Set("lang", string(who.Lang))
	}
	asked(c)
}

// asked keeps that this device was asked for a badge.
func asked(c echo.Context) {
	c.SetCookie(&http.Cookie{Name: "badge", Value: "asked", Path: "/", MaxAge: badgeFor, HttpOnly: true, SameSite: http.SameSiteLaxMode})
}

// badged says whether this device need not be asked for a badge.
func badged(c echo.Context) bool {
	if c.QueryParam("badge") == "none" {
		asked(c)
		return true
	}
	_, err := c.Cookie("badge")
	return err == nil
}
