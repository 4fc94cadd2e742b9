package rest_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/store/mem"
	"tagd/internal/web"
	"tagd/internal/web/rest"
)

// shop is a server over a floor in memory, asked from outside.
type shop struct {
	*testing.T
	*api.Client
	floor *floor.Floor
	now   time.Time
	ctx   context.Context
}

// rules are those of an invented plant.
func rules() scan.Rules {
	return scan.Rules{
		Plant: 1, Name: "Example Rebar Co.", Zone: time.UTC, Units: bar.Imperial, Pause: 3 * time.Second, Repeat: time.Minute,
		Keep: map[bar.Size]bar.Length{"": 4 * bar.Foot}, Stock: []bar.Length{60 * bar.Foot},
		Stations: []scan.Station{
			{Name: "S1", Title: "Shear 1", Does: []scan.Work{"cut"}, Feeds: []string{"A", "B"}, Pockets: []string{"1", "2"},
				Stops: []bar.Length{8 * bar.Foot, 10 * bar.Foot}, Travel: 2 * bar.Foot},
			{Name: "B1", Title: "Bender 1", Does: []scan.Work{"bend"}},
			{Name: "Y1", Title: "Yard", Does: []scan.Work{scan.Yard, scan.Receiving}},
			{Name: "L1", Title: "Loadout", Does: []scan.Work{scan.Loadout}},
		},
	}
}

func openShop(t *testing.T) *shop { return openShopIn(t, load.Calendar{}) }

// openShopIn opens a shop that works by a calendar.
func openShopIn(t *testing.T, c load.Calendar) *shop {
	r := rules()
	r.Calendar, r.Days = c, 14
	s := &shop{T: t, now: time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC), ctx: context.Background()}
	db := mem.Open(floor.Tables()...)
	limits := barlist.Limits{Mass: 3000 * bar.Pound}
	var err error
	s.floor, err = floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{
		Plant: 1, Rules: r, Limits: limits, Settings: []byte("plant = 1\n"), Certs: t.TempDir(),
		Now: func() time.Time { return s.now },
	})
	require.NoError(t, err)
	t.Cleanup(func() { s.floor.Close() })
	server := web.New(web.Options{Heartbeat: 50 * time.Millisecond})
	require.NoError(t, rest.Mount(server, s.floor, rest.Options{
		Defaults: barlist.Defaults{Spec: "A615", Grade: "60"}, Limits: limits, Host: "TAGS.EXAMPLE",
		Now: func() time.Time { return s.now },
	}))
	h := httptest.NewServer(server)
	t.Cleanup(h.Close)
	s.Client = &api.Client{Base: h.URL}
	return s
}

// ask sends a raw request and gives the status, the media type and the body.
func (s *shop) ask(method, path, contentType, body string, change ...func(*http.Request)) (int, string, string) {
	s.Helper()
	r, err := http.NewRequest(method, s.Base+path, strings.NewReader(body))
	require.NoError(s, err)
	if contentType != "" {
		r.Header.Set("Content-Type", contentType)
	}
	for _, c := range change {
		c(r)
	}
	a, err := http.DefaultClient.Do(r)
	require.NoError(s, err)
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	require.NoError(s, err)
	return a.StatusCode, a.Header.Get("Content-Type"), string(b)
}

// at scans at a station, ten seconds after the scan before, with a device of that station.
func (s *shop) at(station, code string, more ...func(*api.Scan)) api.ScanAnswer {
	s.Helper()
	s.now = s.now.Add(10 * time.Second)
	x := api.Scan{Code: code, Station: station, By: api.By{Device: "tablet-" + station}}
	for _, m := range more {
		m(&x)
	}
	a, err := s.Scan(s.ctx, x)
	require.NoError(s, err)
	return a
}

// verdict is the verdict and the code of the first sentence.
func verdict(a api.ScanAnswer) string { return a.Verdict + ": " + a.Notes[0].Code }

const list = "mark,size,length,pieces,bends\n" +
	"4F207,#5,11'-6\",40,2'-0\" [90] 9'-6\"\n" +
	"4F208,#5,14'-0\",20,\n"
