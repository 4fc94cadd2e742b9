package pages

import (
	"context"
	"encoding/json"
	"net/http"
	"reflect"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// news is what a page is told of a new record: enough to know whether it shows something that is different now,
// and nothing that a page may not show. The page then asks for itself again.
type news struct {
	Seq     uint64      `json:"seq"`
	Kind    string      `json:"kind"`
	Station string      `json:"station,omitempty"`
	Load    tags.Number `json:"load,omitzero"`
}

// live streams the news. A page says the last record that it shows, in Last-Event-ID or after; without it the
// stream begins with what comes from now on.
func (p *pages) live(c echo.Context) error {
	last, said, err := web.LastEventID(c.Request())
	if err != nil {
		return err
	}
	// A page of another state of the store, before it was restored, may have seen more than there is.
	if head := p.newest(); !said || last > head {
		last = head
	}
	ctx, quiet := context.WithCancel(c.Request().Context())
	defer quiet()
	return p.server.Stream(c, last, p.newsAfter, web.BellOf(ctx, p.floor.News))
}

// newsAfter is the news of the records after one.
func (p *pages) newsAfter(after uint64, limit int) (out []web.Message, err error) {
	err = p.floor.View(func(past *view.Past) error {
		for seq := after + 1; seq <= past.Head() && len(out) < limit; seq++ {
			e := past.Event(seq)
			data, err := json.Marshal(news{Seq: seq, Kind: e.Body.Kind().String(), Station: e.Station, Load: loadOf(e.Body)})
			if err != nil {
				return err
			}
			out = append(out, web.Message{ID: seq, Data: data})
		}
		return nil
	})
	return out, err
}

// loadOf is the load that an event names; 0 where it names none.
func loadOf(b event.Body) tags.Number {
	v := reflect.Indirect(reflect.ValueOf(b))
	if v.Kind() != reflect.Struct {
		return 0
	}
	if f := v.FieldByName("Load"); f.IsValid() {
		n, _ := f.Interface().(tags.Number)
		return n
	}
	return 0
}

// shown is the key under which a request keeps the last record that was there before it was begun.
const shown = "head"

// mark remembers up to which record a page shows everything, before it is put together: what is recorded
// while it is being written is news to it.
func (p *pages) mark(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if path := c.Request().URL.Path; !strings.HasPrefix(path, "/api/") && !strings.HasPrefix(path, "/static/") && c.Request().Method == http.MethodGet {
			c.Set(shown, p.newest())
		}
		return next(c)
	}
}

// newest is the number of the last record; 0 where it cannot be read, which what is asked for next will say.
func (p *pages) newest() (seq uint64) {
	_ = p.floor.View(func(past *view.Past) error { seq = past.Head(); return nil })
	return seq
}
