package rest

import (
	"bytes"
	"encoding/csv"
	"net/http"
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/export"
	"tagd/internal/web"
)

// table is a CSV table for spreadsheets (RFC 4180), each cell made safe for them.
type table struct{ w *csv.Writer }

func newTable(b *bytes.Buffer, head ...string) table {
	w := csv.NewWriter(b)
	w.UseCRLF = true
	t := table{w}
	t.row(head...)
	return t
}

func (t table) row(cells ...string) {
	for i, c := range cells {
		cells[i] = export.Cell(c)
	}
	_ = t.w.Write(cells) // to memory: it cannot fail
}

func (t table) flush() { t.w.Flush() }

// tableHead begins an answer that is a table.
func tableHead(ctx huma.Context, name string) {
	ctx.SetHeader("Content-Type", "text/csv; charset=utf-8")
	ctx.SetHeader("Content-Disposition", web.Attachment(name))
	ctx.SetStatus(http.StatusOK)
}

// orTable says that an operation answers with a T, or with a table.
func orTable[T any](a *ops) func(*huma.Operation) {
	return func(op *huma.Operation) {
		op.Responses = map[string]*huma.Response{"200": {Description: "OK", Content: map[string]*huma.MediaType{
			"application/json": {Schema: a.schema(reflect.TypeFor[T]())},
			"text/csv":         {Schema: &huma.Schema{Type: "string"}},
		}}}
	}
}

// schema is that of a type of the contract.
func (a *ops) schema(t reflect.Type) *huma.Schema {
	return a.api.OpenAPI().Components.Schemas.Schema(t, true, "")
}

// tabled gives an answer as JSON, or with the format csv as a file of that name.
func tabled[T any](a *ops, format, name string, out T, write func(*bytes.Buffer, T)) *stream {
	return &stream{func(ctx huma.Context) {
		if format == "csv" {
			var b bytes.Buffer
			write(&b, out)
			tableHead(ctx, name)
			_, _ = ctx.BodyWriter().Write(b.Bytes()) // a client that left needs no answer
			return
		}
		ctx.SetHeader("Content-Type", "application/json")
		ctx.SetStatus(http.StatusOK)
		_ = a.api.Marshal(ctx.BodyWriter(), "application/json", out)
	}}
}

func yes(b bool) string {
	if b {
		return "yes"
	}
	return ""
}

func join(words []string) string { return strings.Join(words, " ") }

func heatsText(heats []api.Heat) string {
	var out []string
	for _, h := range heats {
		out = append(out, h.Mill+" "+h.Heat)
	}
	return strings.Join(out, "; ")
}
