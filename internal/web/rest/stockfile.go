package rest

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/view"
)

type importIn struct {
	Name   string `query:"name" maxLength:"200" doc:"Name of the file, for those who read its faults."`
	As     string `query:"as" enum:"receive,expect,go-live" default:"receive" doc:"receive: it has come. expect: a mill's paper says that it is coming. go-live: it is the yard as it lies there when tagd begins; places that are not there yet are made."`
	DryRun bool   `query:"dry_run" doc:"Only look at the file; nothing is recorded."`
	Sender
	Keyed
	Upload
}

func (a *ops) importStock(ctx context.Context, in *importIn) (*answer[api.Received], error) {
	name, data, err := in.file(in.Name, "stock")
	if err != nil {
		return nil, err
	}
	by := in.by()
	request := []any{"stock", by, string(data)}
	if in.As != string(heat.AsReceived) {
		request = append(request, in.As)
	}
	o, err := a.origin("", by, in.Key, request)
	if err != nil {
		return nil, err
	}
	rows, faults, warnings := heat.ReadStock(name, data, a.stockDefaults())
	bad, out := rowFaults(faults), api.Received{DryRun: in.DryRun}
	use := heat.Use(in.As)
	var lots []floor.Delivery
	err = a.f.View(func(p *view.Past) error {
		var no []*floor.RowError
		var places []string
		if lots, no, places = floor.Judge(p, rows, use); !in.DryRun {
			return nil
		}
		out.Lots, out.Places, out.Warnings = []api.Lot{}, places, rowFaults(warnings)
		out.Faults = withRefused(bad, rows, no)
		for i, row := range rows {
			l := a.lot(p, lots[i].Lot())
			if l.Number = ""; row.Place != "" {
				l.Place = &api.PlaceRef{Name: row.Place}
			}
			out.Lots = append(out.Lots, l)
		}
		return nil
	})
	switch {
	case err != nil:
		return nil, err
	case in.DryRun:
		return &answer[api.Received]{out}, nil
	case len(bad) > 0:
		return nil, a.refusedFile(name, rows, use, bad)
	}
	r, err := a.f.TakeIn(ctx, o, lots)
	var row *floor.RowError
	if errors.As(err, &row) {
		return nil, a.refusedFile(name, rows, use, nil)
	}
	if err != nil {
		return nil, err
	}
	got, err := a.received(r)
	if err == nil && len(warnings) > 0 {
		got.Body.Warnings = rowFaults(warnings)
	}
	return got, err
}

// withRefused adds what the floor refuses of each row to what is wrong with it already.
func withRefused(bad []api.RowFault, rows []heat.Incoming, refused []*floor.RowError) []api.RowFault {
	all := slices.Clone(bad)
	for _, no := range refused {
		for _, f := range refusedRow(rows[no.Row].Row, no.Err) {
			if !said(all, f.Row, f.Field) {
				all = append(all, f)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b api.RowFault) int { return a.Row - b.Row })
	return all
}

// refusedFile is the problem of a file of stock that cannot be taken.
func (a *ops) refusedFile(name string, rows []heat.Incoming, use heat.Use, bad []api.RowFault) error {
	err := a.f.View(func(p *view.Past) error {
		_, no, _ := floor.Judge(p, rows, use)
		bad = withRefused(bad, rows, no)
		return nil
	})
	if err != nil {
		return err
	}
	return fileProblem(name, bad)
}

// said tells whether something is said already of a cell.
func said(bad []api.RowFault, row int, field string) bool {
	for _, f := range bad {
		if f.Row == row && f.Field == field {
			return true
		}
	}
	return false
}

func refusedRow(row int, err error) []api.RowFault {
	var no *event.Refusal
	if !errors.As(err, &no) {
		return []api.RowFault{{Row: row, Says: err.Error()}}
	}
	return []api.RowFault{{Row: row, Field: no.Field, Says: no.Says}}
}

type countsIn struct {
	Name string `query:"name" maxLength:"200" doc:"Name of the file, for those who read its faults."`
	Sender
	Keyed
	Upload
}

func (a *ops) countYard(ctx context.Context, in *countsIn) (*answer[api.Counted], error) {
	name, data, err := in.file(in.Name, "counts")
	if err != nil {
		return nil, err
	}
	by := in.by()
	o, err := a.origin("", by, in.Key, []any{"count", by, string(data)})
	if err != nil {
		return nil, err
	}
	rows, faults, warnings := heat.ReadCount(name, data)
	bad := rowFaults(faults)
	var counts []floor.Stocktaking
	err = a.f.View(func(p *view.Past) error {
		for _, row := range rows {
			c := floor.Stocktaking{Lot: row.Number, Amount: row.Amount}
			lot, ok := p.Lot(row.Number)
			if row.Number != 0 && !ok {
				bad = append(bad, api.RowFault{Row: row.Row, Field: "number", Says: fmt.Sprintf("%v was never given out here", row.Number)})
			}
			if ok && lot.Coil() != (row.Mass != 0) && !said(bad, row.Row, "bars") {
				bad = append(bad, api.RowFault{Row: row.Row, Field: "bars", Says: "bars are counted and coil is weighed, and the lot is the other one"})
			}
			if row.Place != "" {
				if c.Place, ok = p.PlaceNamed(row.Place); !ok {
					bad = append(bad, api.RowFault{Row: row.Row, Field: "place", Says: "there is no place " + row.Place + "; make it first, or leave it out"})
				}
			}
			counts = append(counts, c)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if len(bad) > 0 {
		return nil, fileProblem(name, bad)
	}
	r, err := a.f.CountYard(ctx, o, counts)
	var row *floor.RowError
	if errors.As(err, &row) {
		return nil, fileProblem(name, refusedRow(rows[row.Row].Row, row.Err))
	}
	if err != nil {
		return nil, err
	}
	return look(a, func(p *view.Past) (api.Counted, error) {
		out := api.Counted{Recorded: recorded(r), Lots: []api.Lot{}}
		for _, e := range bodies[event.YardCounted](r) {
			out.Counted++
			if e.Bars != e.Record || e.Mass != e.RecordMass {
				l, _ := p.Lot(e.Lot)
				out.Lots = append(out.Lots, a.lot(p, l))
			}
		}
		if out.Differing = len(out.Lots); len(warnings) > 0 {
			out.Warnings = rowFaults(warnings)
		}
		return out, nil
	})
}
