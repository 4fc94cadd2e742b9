// Package sheet reads a sheet of rows, CSV or XLSX, into rows of cells of text, each with the number
// that its row has in the file.
//
// The two formats are told apart by what is in the file and not by its name:
//
//   - CSV, text with one row a line and the column names in the first row; UTF-8 or UTF-16, separated
//     by commas, semicolons or tabs;
//   - XLSX, the same columns on the sheet of the form's name, or else on the first sheet.
//
// What a sheet holds is for its reader: a Form says which columns it may have. Text stays text: 1E5 and
// 007 in a cell of text are that, and a cell that a spreadsheet program has made into a number, a date
// or a percentage is read as such or refused, never guessed. A workbook is unpacked, counted and checked
// before the library that reads workbooks sees it. Everything is looked at before there is an answer,
// so that all faults come at once.
//
// The package is pure: bytes come in and values go out.
package sheet

import (
	"bytes"
	"strings"
)

// The bounds of a file. They are far above any real sheet of a shop; what is beyond them is refused with
// a sentence, before it costs memory.
const (
	MaxBytes  = 20 << 20 // of a file
	MaxRows   = 5_000    // of a file, without the row of column names
	MaxFaults = 1_000    // shown of a file; one more says how many were left out
)

// The formats of a Table.
const (
	CSV  = "csv"
	XLSX = "xlsx"
)

// Form is a sort of sheet: what its columns are, and how a person who gave another file is answered.
type Form struct {
	What    string // what the file is: "bar list"
	Formats string // in which it may be asked for: "CSV, XLSX or BVBS"
	Split   string // how one that is too long is parted: "split it by release"
	Sheet   string // the sheet of a workbook that is read where there is one: "bars"
	Columns []Column
	// Not says why a text is no such sheet, "" when it may be one; nil when any may.
	Not func(text string) string

	heads map[string]head
}

// New makes a form ready to read with.
func New(f Form) *Form {
	f.heads = headsOf(f.Columns)
	return &f
}

// Table is what CSV and XLSX have in common: a row of column names and rows of cells.
type Table struct {
	Format  string // CSV or XLSX
	head    []string
	headRow int
	rows    []row

	at   map[string]int // where the columns are, by name
	unit map[string]string
}

type row struct {
	row   int // of the file, from 1
	cells []cell
}

// cell is one cell of a table. Only the cells of a workbook can be wrong.
type cell struct {
	text    string
	wrong   string // why it cannot be read, and what would be right
	notText string // the same where it can be read as a number but not as text
}

// Read reads a file. What is wrong with it goes into the report; false means that there is nothing to
// read rows from, and the table has at most its format.
func (f *Form) Read(data []byte, r *Report) (*Table, bool) {
	if len(data) > MaxBytes {
		r.Fault(0, "", "the file is %d MB large; a %s of at most %d MB is taken: %s", (len(data)+1<<20-1)>>20, f.What, MaxBytes>>20, f.Split)
		return &Table{}, false
	}
	var t *Table
	format := ""
	if bytes.HasPrefix(data, []byte("PK\x03\x04")) {
		format = XLSX
		t = f.readXLSX(data, r)
	} else if f.sniff(data, r) {
		format = CSV
		t = f.readCSV(data, r)
	}
	if t == nil {
		return &Table{Format: format}, false
	}
	f.layout(t, r)
	return t, len(t.at) > 0
}

// Rows calls do for each row, in order.
func (f *Form) Rows(t *Table, r *Report, do func(*Row)) {
	for _, one := range t.rows {
		p := Row{Row: one.row, Report: r, form: f, table: t, cells: one.cells}
		p.tooWide(len(t.head))
		do(&p)
	}
}

// tooWide reports cells beyond the last column name.
func (p *Row) tooWide(width int) {
	for _, c := range p.cells[min(width, len(p.cells)):] {
		if c.wrong != "" || strings.TrimSpace(c.text) != "" {
			p.Fault(p.Row, "", "the row has more cells than there are column names (%d): put a text that holds the separator in quotes", width)
			return
		}
	}
}
