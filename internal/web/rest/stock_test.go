package rest_test

import (
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

func itoa(n uint64) string { return strconv.FormatUint(n, 10) }

// A stock file is taken whole or not at all, and says everything that is wrong with it at once.
func TestStockFile(t *testing.T) {
	s := openShop(t)
	_, err := s.Place(s.ctx, api.MakePlace{Name: "A-14"})
	require.NoError(t, err)
	got, err := s.ImportStock(s.ctx, "s.csv", []byte("\ufeffMill;Heats;Size;Spec;Grade;Length;Bars;Mill bundles;Place;Melted;PO\r\n"+
		"Example Mill;0123 01E5;#5;;;60'-0\";40;B1=20|B2=20;A-14;us;PO 7\r\n"+
		"Other Mill;;16mm;BS4449;B500B;12 m;10;;;;\r\n"), api.StockOptions{By: api.By{Device: "office"}})
	require.NoError(t, err)
	require.Len(t, got.Lots, 2)
	require.Empty(t, got.Warnings)
	one, two := got.Lots[0], got.Lots[1]
	require.Equal(t, []any{"one of", []api.Heat{{Mill: "Example Mill", Heat: "0123"}, {Mill: "Example Mill", Heat: "01E5"}}, "#5 A615 60", 18288.0, "A-14", "US", "PO 7"},
		[]any{one.Certainty, one.Heats, one.Steel.Steel, one.LengthMM, one.Place.Name, one.Melted, one.PO})
	require.Equal(t, []any{"unknown", "16mm BS4449 B500B", 12000.0, 10}, []any{two.Certainty, two.Steel.Steel, two.LengthMM, two.OnHand})
	// EN 10080: 16 mm bars of 12 m weigh 1.58 kg/m nominal; ten of them 189.6 kg.
	require.InDelta(t, 189.6, two.WeightKG, 0.4)

	for name, tt := range map[string]struct {
		file string
		want []string
	}{
		"cells": {"mill,size,length,bars,melted\n,10,12,x,USA\nM,#5,60',4,\n", []string{"row 2, size", "row 2, length", "row 2, bars", "row 2, melted"}},
		"rooms": {"mill,size,length,bars,place\nM,#5,60',4,B-1\nM,#5,60',0,\n", []string{"row 2, place", "row 3, bars"}},
		"mill bundles here": {"mill,size,length,bars,mill_bundles\nExample Mill,#5,60',4,B1=4\nM,#5,60',5,B9=4\n",
			[]string{"row 2, mill_bundles", "row 3, bars"}},
		"mill bundles twice": {"mill,size,length,bars,mill_bundles\nM,#5,60',4,B5=4\nM,#5,60',4,B5=4\n", []string{"row 3, mill_bundles"}},
		"columns":            {"mill,size,length,bar\n", []string{"row 1, bars"}},
		"nothing":            {"mill,size,length,bars\n\n", []string{""}},
		"cells too many":     {"mill,size,length,bars\nM,#5,60',4,5\n", []string{"row 2"}},
		"another encoding":   {"mill,size,length,bars\nAcer\xeda,#5,60',4\n", []string{"row 2"}},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := s.ImportStock(s.ctx, "s.csv", []byte(tt.file), api.StockOptions{})
			var p *api.Problem
			require.ErrorAs(t, err, &p)
			var at []string
			for _, f := range p.Errors {
				at = append(at, f.Location)
			}
			require.ElementsMatch(t, tt.want, at, "%v", p.Errors)
		})
	}
	all, err := s.Stock(s.ctx, api.StockFilter{}, "", 0)
	require.NoError(t, err)
	require.Len(t, all.Stock, 2)
}

// Coil comes in by weight, and lies on a feed by weight.
func TestReceiveCoil(t *testing.T) {
	s := openShop(t)
	got, err := s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{"C77"}, Size: "#4", Weight: "12,000 lb",
		MillCoils: []api.MillCoil{{Number: "K1", Weight: "5,000 lb"}, {Number: "K2", Weight: "7,000 lb"}}})
	require.NoError(t, err)
	lot := got.Lots[0]
	require.Equal(t, []any{true, 0.0, "", 0, "12,000 lb", "5,000 lb"}, []any{lot.Coil, lot.LengthMM, lot.Length, lot.OnHand, lot.Weight, lot.MillCoils[0].Weight})
	require.InDelta(t, 5443.1, lot.ReceivedKG, 0.05) // 12,000 lb at 0.45359237 kg
	a, err := s.Scan(s.ctx, api.Scan{Code: "K2", Station: "S1", By: api.By{Device: "gun"}})
	require.NoError(t, err)
	require.Equal(t, "charged", a.Notes[0].Code)
	st, err := s.Station(s.ctx, "S1")
	require.NoError(t, err)
	require.Equal(t, []any{lot.Number, "", "12,000 lb"}, []any{st.Feeds[0].Lots[0].Lot, st.Feeds[0].Lots[0].Length, st.Feeds[0].Lots[0].Weight})
	here, err := s.Stock(s.ctx, api.StockFilter{OnHand: true}, "", 0)
	require.NoError(t, err)
	require.Len(t, here.Stock, 1)
	tr, err := s.Trace(s.ctx, "C77")
	require.NoError(t, err)
	require.Equal(t, "12,000 lb", tr.Totals.Stock)
	_, err = s.Tag(s.ctx, lot.Number, "png", 203, "")
	require.NoError(t, err)
	for field, r := range map[string]api.Receive{
		"body.length":               {Length: "60'", Weight: "1 t"},
		"body.bars":                 {Bars: 3, Weight: "1 t"},
		"body.mill_bundles":         {MillBundles: []api.MillBundle{{Number: "B"}}, Weight: "1 t"},
		"body.weight":               {Weight: "12000"},
		"body.mill_coils[0].weight": {Weight: "1 t", MillCoils: []api.MillCoil{{Number: "K", Weight: "x"}}},
	} {
		r.Mill, r.Size = "Example Mill", "#4"
		_, err := s.Receive(s.ctx, r)
		var p *api.Problem
		require.ErrorAs(t, err, &p)
		require.Equal(t, field, p.Errors[0].Location)
	}
	r := api.Receive{Mill: "Example Mill", Size: "#4", Length: "60'", Bars: 4, MillCoils: []api.MillCoil{{Number: "K"}}}
	_, err = s.Receive(s.ctx, r)
	require.ErrorContains(t, err, "coils weigh together")
}

func TestPages(t *testing.T) {
	s := openShop(t)
	for i := range 7 {
		_, err := s.SetJob(s.ctx, fmt.Sprintf("26/01%d ñ", i), api.SetJob{})
		require.NoError(t, err)
		_, err = s.TakeList(s.ctx, "x.csv", []byte(list), api.ListOptions{Job: fmt.Sprintf("26/01%d ñ", i), List: "1"})
		require.NoError(t, err)
		_, err = s.Receive(s.ctx, api.Receive{Mill: "Example Mill", Heats: []string{itoa(uint64(i))}, Size: "#5", Length: "60'", Bars: 9})
		require.NoError(t, err)
		_, err = s.Place(s.ctx, api.MakePlace{Name: fmt.Sprintf("A-%d", i)})
		require.NoError(t, err)
		_, err = s.Person(s.ctx, api.MakePerson{Name: fmt.Sprintf("Person %d", i)})
		require.NoError(t, err)
		_, err = s.PlanLoad(s.ctx, api.PlanLoad{Stops: []api.PlanStop{{Stop: api.Stop{Job: fmt.Sprintf("26/01%d ñ", i)}}}})
		require.NoError(t, err)
		_, err = s.Hold(s.ctx, api.PutHold{Target: api.Target{Mill: "Example Mill", Heat: itoa(uint64(i))}, Reason: "r"})
		require.NoError(t, err)
		_, err = s.FileCert(s.ctx, api.FileCert{Mill: "Example Mill", Heat: "0", Sizes: []string{"#5"}}, "", nil)
		require.NoError(t, err)
	}
	for name, page := range map[string]func(after string) ([]string, string, error){
		"jobs": func(after string) (out []string, next string, err error) {
			p, err := s.Jobs(s.ctx, after, 3)
			for _, x := range p.Jobs {
				out = append(out, x.Job)
			}
			return out, p.Next, err
		},
		"lists": func(after string) (out []string, next string, err error) {
			p, err := s.Lists(s.ctx, "", after, 3)
			for _, x := range p.Lists {
				out = append(out, x.Job)
			}
			return out, p.Next, err
		},
		"stock": func(after string) (out []string, next string, err error) {
			p, err := s.Stock(s.ctx, api.StockFilter{}, after, 3)
			for _, x := range p.Stock {
				out = append(out, x.Number)
			}
			return out, p.Next, err
		},
		"bundles": func(after string) (out []string, next string, err error) {
			p, err := s.Bundles(s.ctx, api.BundleFilter{Mark: "4F207", State: "planned"}, after, 3)
			for _, x := range p.Bundles {
				out = append(out, x.Number)
			}
			return out, p.Next, err
		},
		"loads": func(after string) (out []string, next string, err error) {
			p, err := s.Loads(s.ctx, api.LoadFilter{State: "planned"}, after, 3)
			for _, x := range p.Loads {
				out = append(out, x.Number)
			}
			return out, p.Next, err
		},
		"places": func(after string) (out []string, next string, err error) {
			p, err := s.Places(s.ctx, after, 3)
			for _, x := range p.Places {
				out = append(out, x.Name)
			}
			return out, p.Next, err
		},
		"persons": func(after string) (out []string, next string, err error) {
			p, err := s.Persons(s.ctx, after, 3)
			for _, x := range p.Persons {
				out = append(out, x.Name)
			}
			return out, p.Next, err
		},
		"holds": func(after string) (out []string, next string, err error) {
			p, err := s.Holds(s.ctx, after, 3)
			for _, x := range p.Holds {
				out = append(out, itoa(x.Seq))
			}
			return out, p.Next, err
		},
		"certs": func(after string) (out []string, next string, err error) {
			p, err := s.Certs(s.ctx, api.CertFilter{Heat: "0"}, after, 3)
			for _, x := range p.Certs {
				out = append(out, itoa(x.Seq))
			}
			return out, p.Next, err
		},
	} {
		t.Run(name, func(t *testing.T) {
			seen := map[string]bool{}
			after, pages := "", []int{}
			for {
				got, next, err := page(after)
				require.NoError(t, err)
				pages = append(pages, len(got))
				for _, x := range got {
					require.False(t, seen[x], x)
					seen[x] = true
				}
				if after = next; after == "" {
					break
				}
			}
			require.Equal(t, []int{3, 3, 1}, pages)
		})
	}
	job, err := s.Job(s.ctx, "26/013 ñ")
	require.NoError(t, err)
	require.Equal(t, 2, job.Planned.Bundles)
	l, err := s.List(s.ctx, "26/013 ñ", "1")
	require.NoError(t, err)
	require.Len(t, l.Marks, 2)
}

// A table for a spreadsheet has no cell that it would take for a formula (OWASP: cells that begin with
// = + - @, a tab or a carriage return).
func TestTraceTable(t *testing.T) {
	s := openShop(t)
	_, err := s.TakeList(s.ctx, "x.csv", []byte("mark,size,length,pieces\n=1+1,#5,12',4\n-A,#5,12',4\n@B,#5,12',4\n"), api.ListOptions{Job: "+26", List: "1"})
	require.NoError(t, err)
	b, err := s.TraceCSV(s.ctx, "+26", "")
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 4)
	require.Equal(t, []string{"what", "number", "job", "list", "mark"}, rows[0][:5])
	require.Equal(t, []string{"'+26", "1", "'=1+1"}, rows[1][2:5])
	require.Equal(t, "'-A", rows[2][4])
	require.Equal(t, "'@B", rows[3][4])
	none, err := s.Trace(s.ctx, "nobody knows this")
	require.NoError(t, err)
	require.Empty(t, none.Found)
	require.Empty(t, none.Bundles)
}

// A file of 50 MB is refused with a sentence; one beyond the bound of the server before it is read.
func TestLargeFiles(t *testing.T) {
	s := openShop(t)
	_, err := s.TakeList(s.ctx, "large.csv", make([]byte, 50<<20), api.ListOptions{Job: "26-014", List: "1"})
	var p *api.Problem
	require.ErrorAs(t, err, &p)
	require.Equal(t, 422, p.Status)
	require.Contains(t, p.Detail, "50 MB large")
	status, kind, body := s.ask("POST", "/api/v1/lists", "text/csv", strings.Repeat("x", 61<<20))
	require.Equal(t, []any{413, "application/problem+json"}, []any{status, kind}, body)
	status, _, body = s.ask("POST", "/api/v1/scans", "application/json", `{"code":"`+strings.Repeat("1", 2<<20)+`","station":"S1"}`)
	require.Equal(t, 413, status, body)
}
