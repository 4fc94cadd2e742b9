package rest

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"tagd/internal/event"
	"tagd/internal/export"
	"tagd/internal/view"
)

func (a *ops) exports() {
	table := func(op *huma.Operation) {
		op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{
			"text/csv": {Schema: &huma.Schema{Type: "string"}},
		}}}
	}
	register(a, http.MethodGet, "/export/journal.csv", "export-journal", "The whole record as a table", a.exportJournal, group("journal"), table,
		about("One row an event: sequence, kind, times, device, station, people, what happened in a sentence, and the body as JSON."))
	register(a, http.MethodGet, "/export/edges.csv", "export-edges", "The record as a graph", a.exportEdges, group("journal"), table,
		about("from_kind, from_name, to_kind, to_name: heats to their lots, lots to runs and remnants, runs to bundles, bundles to loads. Everything downstream of a thing is what can be reached from it, for instance by a recursive query of SQLite. It is told from the events alone, and shares nothing with the tables that /recall asks."))
}

// mostFolded is how many records are read at a time: a read that stays open long keeps the store from
// reusing its pages.
const mostFolded = 10_000

// record calls f for each event of the record, as far as it goes now.
func (a *ops) record(f func(seq uint64, e event.Event) error) error {
	var head uint64
	if err := a.f.View(func(p *view.Past) error { head = p.Head(); return nil }); err != nil {
		return err
	}
	for seq := uint64(0); seq <= head; {
		if err := a.f.View(func(p *view.Past) error {
			for end := min(head, seq+mostFolded-1); seq <= end; seq++ {
				if err := f(seq, p.Event(seq)); err != nil {
					return err
				}
			}
			return nil
		}); err != nil {
			return err
		}
	}
	return nil
}

func (a *ops) exportEdges(context.Context, *struct{}) (*stream, error) {
	g := export.NewEdges()
	if err := a.record(func(seq uint64, e event.Event) error { g.Add(seq, e); return nil }); err != nil {
		return nil, err
	}
	return &stream{func(ctx huma.Context) {
		tableHead(ctx, "edges.csv")
		_ = g.CSV(ctx.BodyWriter()) // a client that left needs no answer
	}}, nil
}

func (a *ops) exportJournal(context.Context, *struct{}) (*stream, error) {
	return &stream{func(ctx huma.Context) {
		tableHead(ctx, "journal.csv")
		w := csv.NewWriter(ctx.BodyWriter())
		w.UseCRLF = true
		_ = w.Write([]string{"seq", "kind", "recorded", "happened", "device", "station", "people", "says", "body"})
		err := a.record(func(seq uint64, e event.Event) error {
			one := a.eventOf(seq, e)
			happened := ""
			if one.Happened != nil {
				happened = one.Happened.Format("2006-01-02T15:04:05.000Z07:00")
			}
			body, err := json.Marshal(one.Body)
			if err != nil {
				return err
			}
			return w.Write([]string{strconv.FormatUint(seq, 10), one.Kind, one.Recorded.Format("2006-01-02T15:04:05.000Z07:00"), happened,
				export.Cell(one.Device), export.Cell(one.Station), strings.Join(one.People, " "), export.Cell(one.Tells.English), string(body)})
		})
		if err != nil {
			panic(http.ErrAbortHandler) // cut the answer off: half a record is none
		}
		w.Flush()
	}}, nil
}
