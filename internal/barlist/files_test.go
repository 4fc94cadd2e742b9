package barlist

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"tagd/internal/bar"
)

var update = flag.Bool("update", false, "write the golden files and the example workbook anew")

// examples is where the example bar lists of the project lie.
const examples = "../../testdata/barlists"

// us and eu are plants of the tests.
var (
	us = Defaults{Units: bar.Imperial, Spec: "A615", Grade: "60"}
	eu = Defaults{Units: bar.Metric, LengthUnit: "mm", Spec: "BS4449", Grade: "B500B"}
)

// dryLine and dryFault are a reading as a person sees it.
type dryLine struct {
	Row      int      `json:"row"`
	Job      string   `json:"job"`
	List     string   `json:"list"`
	Revision string   `json:"revision"`
	Mark     string   `json:"mark"`
	Steel    string   `json:"steel"`
	LengthMM float64  `json:"length_mm"`
	Pieces   int      `json:"pieces"`
	WeightKG float64  `json:"weight_kg"`
	Shape    string   `json:"shape,omitempty"`
	Edition  string   `json:"edition,omitempty"`
	Bends    string   `json:"bends,omitempty"`
	Pin      float64  `json:"pin_mm,omitempty"`
	Route    []string `json:"route"`
	Note     string   `json:"note,omitempty"`
}

type dryFault struct {
	Row   int    `json:"row"`
	Field string `json:"field"`
	Says  string `json:"says"`
}

// dry prints a reading for a golden file.
func dry(t *testing.T, f File, faults, warnings []Fault) []byte {
	t.Helper()
	var out struct {
		Format   string     `json:"format"`
		Job      string     `json:"job"`
		List     string     `json:"list"`
		Revision string     `json:"revision"`
		Lines    []dryLine  `json:"lines"`
		Faults   []dryFault `json:"faults"`
		Warnings []dryFault `json:"warnings"`
	}
	out.Format, out.Job, out.List, out.Revision = f.Format, f.Job, f.List, f.Revision
	for _, l := range f.Lines {
		weight, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(l.Pieces))
		out.Lines = append(out.Lines, dryLine{
			l.Row, l.Job, l.List, l.Revision, l.Mark, l.Steel.String(), l.Length.MM(), l.Pieces,
			math.Round(weight.Kilograms()*100) / 100,
			l.Shape.Code, l.Shape.Edition, l.Shape.Text(bar.Metric), l.Shape.Pin.MM(), l.Route, l.Note,
		})
	}
	for _, x := range faults {
		out.Faults = append(out.Faults, dryFault{x.Row, x.Field, x.Says})
	}
	for _, x := range warnings {
		out.Warnings = append(out.Warnings, dryFault{x.Row, x.Field, x.Says})
	}
	var b bytes.Buffer
	to := json.NewEncoder(&b)
	to.SetEscapeHTML(false)
	to.SetIndent("", "\t")
	require.NoError(t, to.Encode(out))
	return b.Bytes()
}

// golden compares with a golden file, or writes it.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, string(want), string(got))
}

// TestExamples reads the example files whole, and a file with every sort of fault.
func TestExamples(t *testing.T) {
	for _, c := range []struct {
		path   string
		d      Defaults
		faults int
	}{
		{examples + "/alder-creek.csv", us, 0},
		{examples + "/alder-creek.xlsx", us, 0},
		{examples + "/rio-seco.csv", eu, 0},
		{examples + "/hillside.abs", eu, 0},
		{"testdata/faulty.csv", us, 30},
		{"testdata/faulty.abs", eu, 16},
	} {
		t.Run(filepath.Base(c.path), func(t *testing.T) {
			if *update && filepath.Ext(c.path) == ".xlsx" {
				writeWorkbook(t, c.path)
			}
			data, err := os.ReadFile(c.path)
			require.NoError(t, err)
			f, faults, warnings := Read(filepath.Base(c.path), data, c.d)
			golden(t, filepath.Base(c.path)+".json", dry(t, f, faults, warnings))
			require.Len(t, faults, c.faults)
		})
	}
}

// writeWorkbook writes the imperial example as a workbook: the same lines, the numbers as numbers.
func writeWorkbook(t *testing.T, path string) {
	t.Helper()
	data, err := os.ReadFile(examples + "/alder-creek.csv")
	require.NoError(t, err)
	in := csv.NewReader(bytes.NewReader(data))
	in.LazyQuotes = true
	rows, err := in.ReadAll()
	require.NoError(t, err)
	book := excelize.NewFile()
	defer book.Close()
	require.NoError(t, book.SetSheetName("Sheet1", "bars"))
	require.NoError(t, book.SetSheetRow("bars", "A1", &rows[0]))
	for i, row := range rows[1:] {
		for j, text := range row {
			at, err := excelize.CoordinatesToCellName(j+1, i+2)
			require.NoError(t, err)
			if n, why := parsePieces(text); why == "" {
				require.NoError(t, book.SetCellInt("bars", at, int64(n)))
			} else if text != "" {
				require.NoError(t, book.SetCellStr("bars", at, text))
			}
		}
	}
	// The day in the properties of the document would change the file at every writing.
	require.NoError(t, book.SetDocProps(&excelize.DocProperties{Title: "Bar list (invented)", Created: "2026-01-05T08:00:00Z", Modified: "2026-01-05T08:00:00Z"}))
	require.NoError(t, book.SaveAs(path))
}

// TestSameInEveryFormat: the workbook and the CSV say the same.
func TestSameInEveryFormat(t *testing.T) {
	read := func(name string) File {
		data, err := os.ReadFile(examples + "/" + name)
		require.NoError(t, err)
		f, faults, warnings := Read(name, data, us)
		require.Empty(t, faults)
		require.Empty(t, warnings)
		return f
	}
	fromCSV, fromXLSX := read("alder-creek.csv"), read("alder-creek.xlsx")
	require.Equal(t, fromCSV.Lines, fromXLSX.Lines)
	require.NotEqual(t, fromCSV.SHA256, fromXLSX.SHA256)
}
