package rest

import (
	"bytes"
	"encoding/csv"
	"reflect"
	"strings"

	"tagd/api"
	"tagd/internal/export"
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

func typeOf[T any]() reflect.Type { return reflect.TypeFor[T]() }
