package sheet

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// bars is a form of the tests, as a bar list's.
var bars = New(Form{
	What: "bar list", Formats: "CSV, XLSX or BVBS", Split: "split it by release", Sheet: "bars",
	Columns: []Column{
		{Name: "job", Also: []string{"obra"}}, {Name: "mark", Also: []string{"marca"}, Must: true}, {Name: "size", Must: true},
		{Name: "length", Must: true, Unit: true, About: "cut length"}, {Name: "pieces", Must: true, About: "how many"},
		{Name: "note", Lines: true}, {Name: "shape"}, {Name: "pin", Unit: true},
	},
	Not: func(text string) string {
		if strings.HasPrefix(text, "no list") {
			return "this is no list at all"
		}
		return ""
	},
})

// line is a row of it, as text.
type line struct {
	row                                   int
	job, mark, size, length, pieces, note string
}

// read reads a file with the form.
func read(name string, data []byte) (lines []line, faults, warnings []Fault) {
	r := NewReport(name)
	if t, ok := bars.Read(data, r); ok {
		bars.Rows(t, r, func(p *Row) {
			l := line{row: p.Row, job: p.Text("job", "", 60), mark: p.Text("mark", "", 24), size: p.Text("size", "", 0), note: p.Text("note", "", 200)}
			l.length, _ = p.Raw("length")
			l.pieces, _ = p.Raw("pieces")
			lines = append(lines, l)
		})
	}
	return lines, r.Faults(), r.Warnings()
}

// says joins what was said, a line each, without the file name.
func says(faults []Fault) string {
	var b strings.Builder
	for _, f := range faults {
		fmt.Fprintf(&b, "%d %s: %s\n", f.Row, f.Field, f.Says)
	}
	return b.String()
}

// hasLines tells whether the lines of got begin as those of want, and are none where want is empty.
func hasLines(got, want string) bool {
	if want == "" {
		return got == ""
	}
	have := strings.Split(got, "\n")
	for i, line := range strings.Split(want, "\n") {
		if i >= len(have) || !strings.HasPrefix(have[i], line) {
			return false
		}
	}
	return true
}

// TestCSVAgainstEncodingCSV: whatever the CSV writer of the Go library writes is read back, with any
// separator; but for a note of several lines with quotes that may be two rows, which is refused.
func TestCSVAgainstEncodingCSV(t *testing.T) {
	oneLine := rapid.OneOf(
		rapid.StringOfN(rapid.RuneFrom([]rune(`ab "',;1-`+"\té")), 0, 8, -1),
		rapid.SampledFrom([]string{`11'-6"`, `"`, `""`, `6" lap, both ends`, ""}),
	)
	note := rapid.OneOf(oneLine, rapid.StringOfN(rapid.RuneFrom([]rune(`ab "',;`+"\n\té")), 0, 8, -1))
	rapid.Check(t, func(t *rapid.T) {
		sep := rapid.SampledFrom([]rune{',', ';', '\t'}).Draw(t, "separator")
		width := rapid.IntRange(4, 7).Draw(t, "width")
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) []string {
			row := rapid.SliceOfN(oneLine, width, width).Draw(t, "row")
			if width > 4 {
				row[4] = note.Draw(t, "note")
			}
			return row
		}), 1, 5).Draw(t, "rows")
		head := []string{"mark", "size", "length", "pieces", "note", "shape", "pin"}[:width]
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = sep
		if w.WriteAll(append([][]string{head}, rows...)) != nil {
			t.Fatal("cannot write")
		}
		r := NewReport("x")
		got := bars.readCSV(b.Bytes(), r)
		if got == nil {
			t.Fatal(says(r.faults))
		}
		if len(r.faults) > 0 {
			// Refused, since a note may be read in two ways: it must hold a quote and a line break.
			if all := fmt.Sprint(rows); !strings.Contains(all, "\n") || !strings.Contains(all, `"`) {
				t.Fatal(says(r.faults))
			}
			return
		}
		var want, have []string
		for _, row := range rows {
			if filled(row) {
				want = append(want, fmt.Sprintf("%q", row))
			}
		}
		for _, row := range got.rows {
			var cells []string
			for _, c := range row.cells {
				cells = append(cells, c.text)
			}
			have = append(have, fmt.Sprintf("%q", cells))
		}
		if !slices.Equal(want, have) {
			t.Fatalf("%s was read as %s from %q", want, have, b.String())
		}
	})
}

// checkRead holds what is true of every reading.
func checkRead(t *testing.T, lines []line, faults []Fault) {
	t.Helper()
	for _, x := range faults {
		if x.Says == "" || x.Row < 0 {
			t.Fatalf("a fault that says nothing: %+v", x)
		}
	}
	if len(faults) > 0 {
		return
	}
	if len(lines) > MaxRows {
		t.Fatalf("%d rows without a fault", len(lines))
	}
	row := 0
	for _, l := range lines {
		if l.mark == "" || l.size == "" || l.length == "" || l.pieces == "" || l.row <= row {
			t.Fatalf("a row that is not whole: %+v", l)
		}
		row = l.row
	}
}

// TestRefusals: what is no sheet of the form is refused with one sentence that says so.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"empty", " \r\n", "0 : the file is empty"},
		{"PDF", "%PDF-1.7", "0 : this is a PDF, a picture of a bar list: ask for the bar list as CSV, XLSX or BVBS"},
		{"JSON", "{}", "0 : this is a JSON document: save the bar list as CSV or XLSX"},
		{"zero byte", "m\x00", "1 : this is not a text file in UTF-8 (it holds a zero byte): save the bar list in UTF-8, as CSV, XLSX or BVBS"},
		{"not of the form", "no list,x", "0 : this is no list at all"},
		{"archive", "PK\x03\x04", "0 : the file begins as an XLSX workbook but is damaged"},
		{"column missing", "mark,size,length\n", "1 pieces: the column pieces is missing: how many"},
		{"large", strings.Repeat("x", MaxBytes+1), "0 : the file is 21 MB large; a bar list of at most 20 MB is taken: split it by release"},
	} {
		_, faults, _ := read(c.name, []byte(c.data))
		require.NotEmpty(t, faults, c.name)
		require.True(t, strings.HasPrefix(says(faults), c.want), "%s: %s", c.name, says(faults))
	}
}

// FuzzCSV: any bytes are read or refused, and what is read without fault is whole.
func FuzzCSV(f *testing.F) {
	data, err := os.ReadFile("../../testdata/barlists/alder-creek.csv")
	require.NoError(f, err)
	f.Add(data)
	f.Add([]byte("\xff\xfem\x00"))
	f.Add([]byte("sep=;\nmark;size;length;pieces\nB1;#5;\"11'-6\"\";3\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		lines, faults, _ := read("x", data)
		checkRead(t, lines, faults)
	})
}
