package rest_test

import (
	"encoding/json"
	"net/http"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// A key counts once, after the draft of the header Idempotency-Key (IETF httpapi, from memory): the
// same request gets the same answer, another one under the key 422. The draft lets a request that is
// still running be refused (409); here it waits for its receipt, and gets the same one.
func TestKeys(t *testing.T) {
	s := openShop(t)
	_, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1"})
	require.NoError(t, err)
	bundles, err := s.Bundles(s.ctx, api.BundleFilter{}, "", 0)
	require.NoError(t, err)
	b1, b2 := bundles.Bundles[0].Number, bundles.Bundles[1].Number

	scan := api.Scan{Code: b1, Station: "S1", By: api.By{Device: "tablet", Key: "0190a6e0-0000-7000-8000-000000000001"}}
	first, err := s.Scan(s.ctx, scan)
	require.NoError(t, err)
	require.Equal(t, "check: cut started", verdict(first)) // no stock lies on the feeds
	require.False(t, first.Again)
	var wait sync.WaitGroup
	for range 8 {
		wait.Add(1)
		go func() {
			defer wait.Done()
			again, err := s.Scan(s.ctx, scan)
			if err != nil || !again.Again {
				t.Errorf("got %+v, %v", again, err)
			}
			again.Again = false
			if !equal(first, again) {
				t.Errorf("the receipt is another: %+v, %+v", first, again)
			}
		}()
	}
	wait.Wait()

	other := scan
	other.Code = b2
	_, err = s.Scan(s.ctx, other)
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, []any{422, "key-reused"}, []any{p.Status, p.Code})
	_, err = s.Place(s.ctx, api.MakePlace{Name: "A-14", By: scan.By})
	require.ErrorAs(t, err, &p)
	require.Equal(t, "key-reused", p.Code)
	other.Device = "another" // a key belongs to its device
	_, err = s.Scan(s.ctx, other)
	require.NoError(t, err)
	j, err := s.Journal(s.ctx, int64(first.Seq)-1, 1)
	require.NoError(t, err)
	require.Equal(t, scan.Key, j.Events[0].Key)

	// In the header, where the body is a file.
	key := func(k string) func(*http.Request) {
		return func(r *http.Request) { r.Header.Set("Idempotency-Key", k) }
	}
	stock := "mill,heats,size,length,bars\nExample Mill,1|2,#5,60',100\n"
	var got [2]api.Received
	for i := range got {
		status, _, body := s.ask("POST", "/api/v1/stock/import", "text/csv", stock, key("k1"))
		require.Equal(t, 200, status, body)
		require.NoError(t, json.Unmarshal([]byte(body), &got[i]))
	}
	require.Equal(t, got[0].Lots, got[1].Lots)
	require.True(t, got[1].Again)
	status, _, _ := s.ask("POST", "/api/v1/stock/import", "text/csv", stock+"\n", key("k1"))
	require.Equal(t, 422, status)
	status, _, body := s.ask("POST", "/api/v1/places", "application/json", `{"name":"A-14","key":"k2"}`, key("k3"))
	require.Equal(t, 422, status)
	require.Contains(t, body, "another key than the body")
}

// equal says whether two answers are the same on the wire.
func equal(a, b any) bool {
	x, _ := json.Marshal(a)
	y, _ := json.Marshal(b)
	return string(x) == string(y)
}

// Every command gives the first receipt again under its key, and records nothing more.
func TestEveryCommandAgain(t *testing.T) {
	s := openShop(t)
	by := func(k string) api.By { return api.By{Device: "office", Key: k} }
	var bundle, lot, load, expected string
	var cert uint64
	for _, tt := range []struct {
		name string
		do   func() (api.Recorded, error)
	}{
		{"job", func() (api.Recorded, error) {
			_, err := s.SetJob(s.ctx, "26-014", api.SetJob{By: by("job")})
			return api.Recorded{}, err
		}},
		{"list", func() (api.Recorded, error) {
			r, err := s.TakeList(s.ctx, "alder.csv", []byte(list), api.ListOptions{Job: "26-014", List: "1", By: by("list")})
			require.Equal(t, 2, r.Bundles)
			bundle = r.Lines[0].Bundles[0]
			return r.Recorded, err
		}},
		{"stock", func() (api.Recorded, error) {
			r, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"1"}, Size: "#5", Length: "60'", Bars: 9,
				MillBundles: []api.MillBundle{{Number: "B1", Bars: 9}}, By: by("stock")})
			lot = r.Lots[0].Number
			return r.Recorded, err
		}},
		{"stock file", func() (api.Recorded, error) {
			r, err := s.ImportStock(s.ctx, "s.csv", []byte("mill;size;length;bars;mill bundles\nExample Mill;#5;60';9;B2=9\n"), api.StockOptions{By: by("stock file")})
			return r.Recorded, err
		}},
		{"whole yard", func() (api.Recorded, error) {
			r, err := s.ImportStock(s.ctx, "s.csv", []byte("size;length;bars;place\n#5;60';9;Row 1\n"), api.StockOptions{As: "go-live", By: by("whole yard")})
			return r.Recorded, err
		}},
		{"expect", func() (api.Recorded, error) {
			r, err := s.Expect(s.ctx, api.Expect{Receive: api.Receive{Mill: "Example Mill", Size: "#5", Length: "60'", Bars: 9, By: by("expect")}})
			expected = r.Lots[0].Number
			return r.Recorded, err
		}},
		{"confirm", func() (api.Recorded, error) {
			r, err := s.Confirm(s.ctx, expected, api.Confirm{By: by("confirm")})
			return r.Recorded, err
		}},
		{"count", func() (api.Recorded, error) {
			r, err := s.CountLot(s.ctx, expected, api.CountLot{Bars: 8, By: by("count")})
			return r.Recorded, err
		}},
		{"counts", func() (api.Recorded, error) {
			r, err := s.CountYard(s.ctx, "c.csv", []byte("number,bars\n"+expected+",9\n"), by("counts"))
			return r.Recorded, err
		}},
		{"heats", func() (api.Recorded, error) {
			r, err := s.SetHeats(s.ctx, lot, api.SetHeats{Heats: []string{"2"}, Reason: "read again", By: by("heats")})
			return r.Recorded, err
		}},
		{"cert", func() (api.Recorded, error) {
			r, err := s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "2", Sizes: []string{"#5"}, By: by("cert")}, "c.pdf", []byte("%PDF-1.7"))
			cert = r.Cert.Seq
			return r.Recorded, err
		}},
		{"review", func() (api.Recorded, error) {
			r, err := s.ReviewCert(s.ctx, cert, api.Review{By: by("review")})
			return r.Recorded, err
		}},
		{"place", func() (api.Recorded, error) {
			r, err := s.Place(s.ctx, api.MakePlace{Name: "A-14", By: by("place")})
			return r.Recorded, err
		}},
		{"person", func() (api.Recorded, error) {
			r, err := s.Person(s.ctx, api.MakePerson{Name: "Ana Example", By: by("person")})
			require.Equal(t, "Ana Example", r.Person.Name)
			return r.Recorded, err
		}},
		{"alias", func() (api.Recorded, error) {
			return s.Alias(s.ctx, api.SetAlias{Text: "X-1", Number: lot, By: by("alias")})
		}},
		{"load", func() (api.Recorded, error) {
			r, err := s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, Bundles: []string{bundle}, By: by("load")})
			load = r.Load.Number
			return r.Recorded, err
		}},
		{"plan anew", func() (api.Recorded, error) {
			r, err := s.ReplanLoad(s.ctx, load, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: "26-014"}}}, By: by("plan anew")})
			return r.Recorded, err
		}},
		{"hold", func() (api.Recorded, error) {
			r, err := s.Hold(s.ctx, api.PutHold{Target: api.Target{Number: lot}, Reason: "r", By: by("hold")})
			return r.Recorded, err
		}},
		{"lift", func() (api.Recorded, error) {
			r, err := s.Lift(s.ctx, api.LiftHold{Target: api.Target{Number: lot}, Reason: "r", By: by("lift")})
			return r.Recorded, err
		}},
		{"scan", func() (api.Recorded, error) {
			r, err := s.Scan(s.ctx, api.Scan{Code: bundle, Station: "S1", By: by("scan")})
			return r.Recorded, err
		}},
		{"undo", func() (api.Recorded, error) {
			r, err := s.Undo(s.ctx, bundle, api.Because{Reason: "wrong bundle", By: by("undo")})
			return r.Recorded, err
		}},
		{"void", func() (api.Recorded, error) {
			r, err := s.Void(s.ctx, bundle, api.Because{Reason: "not made", By: by("void")})
			return r.Recorded, err
		}},
		{"tags", func() (api.Recorded, error) {
			b, err := s.PrintTags(s.ctx, api.PrintTags{Numbers: []string{lot}, By: by("tags")})
			require.Equal(t, "%PDF-", string(b[:5]))
			return api.Recorded{}, err
		}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			first, err := tt.do()
			require.NoError(t, err)
			require.False(t, first.Again)
			head, err := s.Journal(s.ctx, -1, 1)
			require.NoError(t, err)
			again, err := tt.do()
			require.NoError(t, err)
			require.Equal(t, first.Seq, again.Seq)
			require.Equal(t, first.Seq != 0, again.Again)
			now, err := s.Journal(s.ctx, -1, 1)
			require.NoError(t, err)
			require.Equal(t, head.Head, now.Head)
		})
	}
}
