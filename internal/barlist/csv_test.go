package barlist

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
)

// says joins what was said, a line each, without the file name.
func says(faults []Fault) string {
	var b strings.Builder
	for _, f := range faults {
		fmt.Fprintf(&b, "%d %s: %s\n", f.Row, f.Field, f.Says)
	}
	return b.String()
}

const feetHead = "mark,size,length,pieces,note\n"

// TestInchMarks: the inch mark is the quote of CSV. Written by RFC 4180 or not, 11'-6" is
// 3505.2 mm, and the cells behind it stay where they are.
func TestInchMarks(t *testing.T) {
	for _, row := range []string{
		`B1,#5,"11'-6""",40,lap`,
		`B1,#5,11'-6",40,lap`,
		`B1,#5,"11'-6"",40,lap`,
		`B1,#5,"11'-6"",40,"lap"`,
		`B1,#5,"11'-6",40,lap`,
		`B1,#5, "11'-6""" ,40 , lap`,
		`"B1","#5","11'-6""","40","lap"`,
		`"B1","#5","11'-6"","40","lap"`,
		`B1,#5,11-06,40,lap`,
		`B1,#5,138 in,40,lap`,
		`B1,#5,138",40,lap`,
		`B1,#5,"138""",40,lap`,
		`B1,#5,"138"",40,lap`,
		`B1,#5,11′-6″,40,lap`,
		`B1,#5,3505.2 mm,40,lap`,
	} {
		for _, end := range []string{"", "\n", "\r\n", "\r"} {
			f, faults, _ := Read("x.csv", []byte(feetHead+row+end), us)
			require.Empty(t, faults, row)
			require.Len(t, f.Lines, 1, row)
			l := f.Lines[0]
			require.Equal(t, 35052*bar.Millimetre/10, l.Length, row)
			require.Equal(t, 40, l.Pieces, row)
			require.Equal(t, "lap", l.Note, row)
		}
	}
}

// TestQuotesAcrossRows: quotes that do not match must not swallow rows.
func TestQuotesAcrossRows(t *testing.T) {
	good := "B9,#5,11'-6\",7,last\n"
	for _, c := range []struct{ rows, marks, faults string }{
		{"B1,#5,\"11'-6\"\",40,a\nB2,#5,\"11'-6\"\",41,b\n", "B1 B2 B9", ""},
		{"B1,#5,\"11'-6\"\",40,a\nB2,#5,11'-6\",41,b\n", "B1 B2 B9", ""},
		{"B1,#5,11'-6\",40,\"two\nlines, \"\"quoted\"\"\"\nB2,#5,11'-6\",41,b\n", "B1 B2 B9", ""},
		{"B1,#5,11'-6\",40,\"6\"\"\nB2,#5,11'-6\",41,b\"\n", "B1 B2 B9", ""},
		// By RFC 4180 this is one row with a note of two lines, by eye it is two.
		{"B1,#5,11'-6\",40,\"6\"\"\nB2,#5,11'-6,41,b\"\n", "B2 B9",
			"2 : it cannot be told where the text in quotes ends"},
		{"B1,#5,\"11'-6\"x,40,a\n", "B9", "2 : the quotes do not match"},
	} {
		f, faults, _ := Read("x.csv", []byte(feetHead+c.rows+good), us)
		var marks []string
		for _, l := range f.Lines {
			marks = append(marks, l.Mark)
		}
		require.Equal(t, c.marks, strings.Join(marks, " "), c.rows)
		if c.faults == "" {
			require.Empty(t, faults, c.rows)
		} else {
			require.True(t, strings.HasPrefix(says(faults), c.faults), "%s: %s", c.rows, says(faults))
		}
	}
}

// TestSeparatorsAndEncodings: the same list in every way it is saved.
func TestSeparatorsAndEncodings(t *testing.T) {
	comma := "Mark,Size,Length (mm),Pieces,Note\nÑ1,16mm,\"4521,5\",48,über\n"
	semi := "Mark;Size;Length (mm);Pieces;Note\nÑ1;16mm;4521,5;48;über\n"
	tab := strings.ReplaceAll(semi, ";", "\t")
	utf16of := func(s string, order func([]byte, uint16) []byte) string {
		b := order(nil, 0xfeff)
		for _, u := range utf16.Encode([]rune(s)) {
			b = order(b, u)
		}
		return string(b)
	}
	little := func(b []byte, u uint16) []byte { return append(b, byte(u), byte(u>>8)) }
	big := func(b []byte, u uint16) []byte { return append(b, byte(u>>8), byte(u)) }
	for name, text := range map[string]string{
		"comma": comma, "semicolon": semi, "tab": tab,
		"BOM":       "\xef\xbb\xbf" + semi,
		"CR LF":     strings.ReplaceAll(semi, "\n", "\r\n"),
		"CR":        strings.ReplaceAll(semi, "\n", "\r"),
		"no end":    strings.TrimSuffix(comma, "\n"),
		"sep=":      "sep=;\r\n" + semi,
		"blanks":    "\n  \n" + comma + "\n\n ,,,,\n",
		"UTF-16 LE": utf16of(semi, little),
		"UTF-16 BE": utf16of(tab, big),
		"composed":  strings.ReplaceAll(comma, "Ñ", "N\u0303"),
		"Spanish":   strings.Replace(semi, "Mark;Size;Length (mm);Pieces;Note", "MARCA;Calibre;largo_mm;Piezas;Nota", 1),
	} {
		f, faults, warnings := Read(name, []byte(text), Defaults{Grade: "B500B"})
		require.Empty(t, faults, name)
		require.Empty(t, warnings, name)
		require.Len(t, f.Lines, 1, name)
		l := f.Lines[0]
		require.Equal(t, "Ñ1 16mm BS4449 B500B 4521.5 mm 48 über",
			fmt.Sprint(l.Mark, " ", l.Steel, " ", l.Length.Text(bar.Metric), " ", l.Pieces, " ", l.Note), name)
	}
}

// TestRefusals: what is no bar list is refused with one sentence that says so.
func TestRefusals(t *testing.T) {
	for _, c := range []struct{ name, data, want string }{
		{"empty", "", "0 : the file is empty"},
		{"blank", "\xef\xbb\xbf \r\n\n", "0 : the file is empty"},
		{"head only", feetHead, "0 : the file has no lines"},
		{"Latin-1", feetHead + "B1,#5,138 in,1,\nB2,#5,138 in,1,peque\xf1o\n", "3 : byte 0xf1 is not UTF-8 (in a western Windows file it would be 'ñ'): save the file as UTF-8"},
		{"UTF-16 without BOM", "m\x00a\x00r\x00k\x00\n\x00", "1 : this is not a text file in UTF-8"},
		{"UTF-16 broken", "\xff\xfem\x00\n\x00\x00\xd8\x41\x00", "2 : the file begins as UTF-16 but is broken here"},
		{"PDF", "%PDF-1.7\n", "0 : this is a PDF"},
		{"old XLS", "\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1....", "0 : this is an old XLS workbook or one with a password"},
		{"page", "<html><table>", "0 : this is a page"},
		{"ZIP cut off", "PK\x03\x04....", "0 : the file begins as an XLSX workbook but is damaged"},
		{"BVBS in UTF-16", "\xff\xfeB\x00F\x002\x00D\x00@\x00", "0 : this is a BVBS file in UTF-16"},
		{"other columns", "a,b,c\n1,2,3\n", "1 : no column names in the first row"},
		{"no pieces", "mark,size,length\nB1,#5,138 in\n", "1 pieces: the column pieces is missing"},
		{"mark twice", "mark,marca,size,length,pieces\nB1,B1,#5,138 in,1\n", "1 mark: columns 1 and 2 are both the mark"},
		{"50 MB", strings.Repeat("x", 50<<20), "0 : the file is 50 MB large; a bar list of at most 20 MB is taken"},
	} {
		f, faults, _ := Read(c.name, []byte(c.data), us)
		require.NotEmpty(t, faults, c.name)
		require.True(t, strings.HasPrefix(says(faults), c.want), "%s: %s", c.name, says(faults))
		require.Equal(t, c.name, faults[0].File)
		require.NotZero(t, f.SHA256, c.name)
	}
}

// TestTooManyLines: 5,000 lines are taken, 5,001 are not.
func TestTooManyLines(t *testing.T) {
	list := madeCSV(MaxLines)
	f, faults, _ := Read("x.csv", list, us)
	require.Empty(t, faults)
	require.Len(t, f.Lines, MaxLines)
	_, faults, _ = Read("x.csv", append(list, "one,#5,138 in,1\n"...), us)
	require.Len(t, faults, 1)
	require.Contains(t, faults[0].Says, "more than 5000 lines")
}

// TestFaultsAreCapped: of many faults the first thousand are shown, and the rest counted.
func TestFaultsAreCapped(t *testing.T) {
	var b strings.Builder
	b.WriteString("mark,size,length,pieces\n")
	for i := range 1500 {
		fmt.Fprintf(&b, "B%d,#5,138 in,none\n", i)
	}
	_, faults, _ := Read("x.csv", []byte(b.String()), us)
	require.Len(t, faults, MaxFaults+1)
	require.Equal(t, "and 500 more faults: these are the first 1000", faults[MaxFaults].Says)
}

// TestDefaults: what the list says wins over what the plant means.
func TestDefaults(t *testing.T) {
	d := Defaults{Spec: "A615", Grade: "60", Coating: "epoxy", LengthUnit: "in", Edition: "ACI 315-99", Job: "J", List: "L", Revision: "R"}
	f, faults, _ := Read("x.csv", []byte("job,list,revision,mark,size,spec,grade,coating,length,pieces,shape,bends\n"+
		",,,B1,#5,,,,138,1,,\n"+
		"K,M,S,B2,#5,A706,80,plain,3 m,1,17,1' [90] 9'\n"+
		"K,M,S,B3,16mm,,B500B,plain,1 m,1,,\n"), d)
	require.Empty(t, faults)
	one, two, three := f.Lines[0], f.Lines[1], f.Lines[2]
	require.Equal(t, Line{Row: 2, Mark: "B1", Steel: bar.Steel{Size: "#5", Spec: "A615", Grade: "60", Coating: "epoxy"},
		Length: 138 * bar.Inch, Pieces: 1, Job: "J", List: "L", Revision: "R"}, one)
	require.Equal(t, bar.Steel{Size: "#5", Spec: "A706", Grade: "80"}, two.Steel)
	require.Equal(t, "ACI 315-99", two.Shape.Edition)
	require.Equal(t, "K M S", two.Job+" "+two.List+" "+two.Revision)
	// The plant's A615 has no B500B: the spec that has is meant.
	require.Equal(t, "16mm BS4449 B500B", three.Steel.String())
	require.Empty(t, f.Job)
}

// TestBadSizeAlone: of a row with a size that nobody can read, what else is wrong is said too, and nothing that
// may be right: the plant's A615 has no B500B, but the spec that has would be meant.
func TestBadSizeAlone(t *testing.T) {
	d := Defaults{Spec: "A615", Grade: "60", LengthUnit: "in"}
	for row, fields := range map[string][]string{
		"B1,10,,B500B":     {"size"},
		"B1,10,,":          {"size"},
		"B1,10,A615,B500B": {"size", "grade"},
		"B1,10,,no grade":  {"size", "grade"},
	} {
		_, faults, _ := Read("x.csv", []byte("mark,size,spec,grade,length,pieces\n"+row+",138,1\n"), d)
		var got []string
		for _, f := range faults {
			got = append(got, f.Field)
		}
		require.Equal(t, fields, got, "%s: %v", row, faults)
	}
}

// TestRoutes: the words of steps in both languages, and what a list that says nothing means.
func TestRoutes(t *testing.T) {
	for _, c := range []struct {
		in, want string
	}{
		{"", "nil"}, {"none", "[]"}, {" Ninguna ", "[]"},
		{"cut", "[cut]"}, {"Cut + Bend", "[cut bend]"}, {"cut, thread; coat", "[cut thread coat]"},
		{"saw>head/tie", "[saw head tie]"}, {"cut and bend", "[cut and bend]"},
		{"corte + doblez", "[cut bend]"}, {"Sierra, rosca, recubrir, amarrar", "[saw thread coat tie]"},
		{"weld", "“weld” is no step"}, {"cut+cut", "cut stands there twice"}, {"none + cut", "“none” is no step"},
	} {
		route, err := ParseRoute(c.in)
		got := fmt.Sprint(route)
		if route == nil {
			got = "nil"
		}
		if err != nil {
			got = err.Error()
		}
		require.True(t, strings.HasPrefix(got, c.want), "%q: %s", c.in, got)
	}
	f, _, warnings := Read("x.csv", []byte("mark,size,length,pieces,shape,bends,route\n"+
		"B1,#5,10',1,,,\nB2,#5,10',1,straight,,\nB3,#5,9'-11\",1,17,1' [90] 9',\nB4,#5,10',1,17,,\nB5,#5,10',1,17,,cut\n"), us)
	require.Equal(t, [][]string{nil, nil, nil, nil, {"cut"}},
		[][]string{f.Lines[0].Route, f.Lines[1].Route, f.Lines[2].Route, f.Lines[3].Route, f.Lines[4].Route})
	require.Contains(t, says(warnings), "5 bends: shape 17 has no bends on this row")
}

// TestRevisions: one file brings one revision of a list, but may bring several lists.
func TestRevisions(t *testing.T) {
	f, faults, _ := Read("x.csv", []byte("job,list,rev,mark,size,length,pieces\nJ,A,1,B1,#5,10',1\nJ,B,2,B1,#5,10',1\n"), us)
	require.Empty(t, faults)
	require.Equal(t, "J", f.Job)
	require.Empty(t, f.List)
	require.Empty(t, f.Revision)
	_, faults, _ = Read("x.csv", []byte("job,list,rev,mark,size,length,pieces\nJ,A,1,B1,#5,10',1\nJ,A,2,B2,#5,10',1\n"), us)
	require.Contains(t, says(faults), "3 revision: revision “2”, but row 2 of the same list has “1”")
}

// FuzzCSV: any bytes are read or refused, and what is read without fault is whole.
func FuzzCSV(f *testing.F) {
	for _, name := range []string{examples + "/alder-creek.csv", examples + "/rio-seco.csv", "testdata/faulty.csv"} {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
	}
	f.Add([]byte("\xff\xfem\x00"))
	f.Add([]byte("sep=;\nmark;size;length;pieces\nB1;#5;\"11'-6\"\";3\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, faults, _ := Read("x", data, us)
		checkRead(t, file, faults)
	})
}

// checkRead holds what is true of every reading.
func checkRead(t *testing.T, f File, faults []Fault) {
	t.Helper()
	for _, x := range faults {
		if x.Says == "" || x.File != f.Name {
			t.Fatalf("a fault that says nothing: %+v", x)
		}
	}
	if len(faults) > 0 {
		return
	}
	if len(f.Lines) == 0 || len(f.Lines) > MaxLines {
		t.Fatalf("%d lines without a fault", len(f.Lines))
	}
	row := 0
	for _, l := range f.Lines {
		if l.Mark == "" || l.Length <= 0 || l.Pieces < 1 || l.Pieces > MaxPieces || l.Steel.Grade == "" || l.Row <= row {
			t.Fatalf("a line that is not whole: %+v", l)
		}
		if err := l.Shape.Check(); err != nil {
			t.Fatalf("%+v: %v", l, err)
		}
		row = l.Row
	}
}

// madeCSV makes a list of n lines, half of them bent.
func madeCSV(n int) []byte {
	var b bytes.Buffer
	b.WriteString("mark,size,length,pieces,spec,grade,shape,bends,note\n")
	for i := range n {
		if i%2 == 0 {
			fmt.Fprintf(&b, "B%d,#%d,%d'-%d\",%d,A615,60,,,\n", i, 3+i%6, 10+i%40, i%12, 1+i%90)
		} else {
			fmt.Fprintf(&b, "B%d,#5,\"%d'-%d 1/2\"\"\",%d,A615,60,17,\"1'-6\"\" [90] %d'-0\"\" [90] 1'-6\"\"\",made\n", i, 10+i%20, i%12, 1+i%90, 9+i%20)
		}
	}
	return b.Bytes()
}

func BenchmarkReadCSV5000(b *testing.B) {
	data := madeCSV(MaxLines)
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, faults, _ := Read("x.csv", data, us); len(faults) > 0 {
			b.Fatal(faults[0])
		}
	}
}
