package barlist

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// The worked examples 1 to 3 of the BVBS guideline, version 3.1 of May 2021.
const (
	guide1 = "BF2D@HjTestPDF@r417@ia@p1@l1000@n10@e0.888@d12@gB500A@s48@v@Gl400@w90@l600@w0@C72@"
	guide2 = "BF2D@HjTestPDF@r417@ia@p1@l800@n10@e0.710@d12@gB500A@s48@v@Gl100@w180@l600@w180@l100@w0@C71@"
	guide3 = "BF2D@HjTestPDF@r417@ia@p1@l1224@n10@e1.087@d12@gB500A@s48@v@Gl100@w90@l300@w45@l424@w-45@l300@w-90@l100@w0@C82@"
)

// TestChecksum: the guideline's examples, and its rule worked by hand on "abcde@C": 97 + 98 + 99 +
// 100 + 101 + 64 + 67 = 626, 626 mod 32 = 18, 96 - 18 = 78.
func TestChecksum(t *testing.T) {
	for record, want := range map[string]int{"abcde@C": 78, guide1: 72, guide2: 71, guide3: 82, "": 96} {
		if at := strings.Index(record, "@C"); at >= 0 {
			record = record[:at+2]
		}
		require.Equal(t, want, Checksum([]byte(record)), record)
	}
}

// TestGuidelineExamples: each example as the guideline shows it, then read, and written back byte
// for byte.
func TestGuidelineExamples(t *testing.T) {
	mm := bar.Millimetre
	for _, c := range []struct {
		record string
		length bar.Length
		legs   []bar.Leg
	}{
		{guide1, 1000 * mm, []bar.Leg{{Length: 400 * mm, Turn: 900}, {Length: 600 * mm}}},
		{guide2, 800 * mm, []bar.Leg{{Length: 100 * mm, Turn: 1800}, {Length: 600 * mm, Turn: 1800}, {Length: 100 * mm}}},
		{guide3, 1224 * mm, []bar.Leg{{Length: 100 * mm, Turn: 900}, {Length: 300 * mm, Turn: 450},
			{Length: 424 * mm, Turn: -450}, {Length: 300 * mm, Turn: -900}, {Length: 100 * mm}}},
	} {
		f, faults, warnings := Read("guide.abs", []byte(c.record+"\r\n"), Defaults{})
		require.Empty(t, faults)
		require.Empty(t, warnings)
		require.Equal(t, BVBS, f.Format)
		require.Equal(t, []Line{{
			Row: 1, Mark: "1", Steel: bar.Steel{Size: "12mm", Spec: "BS4449", Grade: "B500A"},
			Length: c.length, Pieces: 10, Shape: bar.Shape{Pin: 48 * mm, Legs: c.legs},
			Job: "TestPDF", List: "417", Revision: "a",
		}}, f.Lines)
		back, err := WriteBF2D(f.Lines)
		require.NoError(t, err)
		require.Equal(t, c.record+"\r\n", string(back))
	}
}

// sealed puts the checksum to a record.
func sealed(record string) string {
	return fmt.Sprintf("%sC%d@", record, Checksum([]byte(record+"C")))
}

// TestLineEnds: LF for CR LF, blank last lines and a byte order mark are read; CR LF is written.
func TestLineEnds(t *testing.T) {
	two := sealed("BF2D@HjJ@rR@i@p2@l500@n3@e0.444@d12@gB500B@s0@v@Gl500@w0@")
	var first []Line
	for _, text := range []string{
		guide1 + "\r\n" + two + "\r\n",
		guide1 + "\n" + two + "\n",
		guide1 + "\n" + two,
		"\xef\xbb\xbf" + guide1 + "\r\n" + two + "\r\n\r\n \r\n",
		guide1 + "\r\n" + two + "\n\n",
	} {
		f, faults, warnings := Read("x.abs", []byte(text), Defaults{})
		require.Empty(t, faults, "%q", text)
		require.Empty(t, warnings, "%q", text)
		if first == nil {
			first = f.Lines
			require.Len(t, first, 2)
		}
		require.Equal(t, first, f.Lines, "%q", text)
	}
	written, err := WriteBF2D(first)
	require.NoError(t, err)
	require.Equal(t, guide1+"\r\n"+two+"\r\n", string(written))
}

// TestDamagedRecord: one digit changed in the guideline's first example.
func TestDamagedRecord(t *testing.T) {
	_, faults, _ := Read("x.abs", []byte(strings.Replace(guide1, "l600", "l601", 1)+"\r\n"), Defaults{})
	require.Len(t, faults, 1)
	require.Equal(t, `1 checksum: the checksum is "72", expected 71: the record was changed or damaged, ask for the file again`+"\n", says(faults))
	// The sum without the C, a mistake seen in the field, comes out 3 higher.
	_, faults, _ = Read("x.abs", []byte(strings.Replace(guide1, "C72", "C75", 1)), Defaults{})
	require.Contains(t, says(faults), `the checksum is "75", expected 72`)
}

// TestRecordsInTheField: what programs write that the guideline does not show.
func TestRecordsInTheField(t *testing.T) {
	const h, g = "BF2D@HjJ@rR@i@p1@l1000@n10@e0.888@d12@gB500A@s48@v@", "Gl400@w90@l600@w0@"
	for _, c := range []struct{ name, record, faults, warnings string }{
		{"no v", sealed("BF2D@HjJ@rR@i@p1@l1000@n10@e0.888@d12@gB500A@s48@" + g), "", ""},
		{"a0@t0 for v", sealed("BF2D@HjJ@rR@i@p1@l1000@n10@e0.888@d12@gB500A@s48@a0@t0@" + g), "", ""},
		{"decimal comma", sealed("BF2D@HjJ@rR@i@p1@l1000,5@n10@e0,888@d12,0@gB500A@s48@v@Gl400,5@w90,0@l600@w0@"), "", ""},
		{"empty grade", sealed("BF2D@HjJ@rR@i@p1@l1000@n10@e0.888@d12@g@s48@v@" + g), "1 grade: is empty", ""},
		{"weight of the guideline's example 9a, for another length", sealed("BF2D@HjJ@rR@i@p1@l700@n10@e0.522@d12@gB500A@s48@v@Gl100@w90@l600@w0@"),
			"", "1 weight: the head says 0.522 kg a piece, by the table of the standard it is 0.622 kg"},
		{"head length", sealed(strings.Replace(h, "l1000", "l985", 1) + g), "", "1 length: the head says 985 mm, the geometry 1000 mm"},
		{"no head length", sealed(strings.Replace(h, "l1000@", "", 1) + g), "", "1 length: the length in the head cannot be read"},
		{"capital I", sealed(strings.Replace(h, "l1000", "I1000", 1) + g), "1 H: “I1000” begins with a capital I", ""},
		{"no checksum", h + g, "", "1 checksum: the record has no checksum"},
		{"tail", sealed(h+g) + "x tail", "", "1 : the record does not end in @\n1 checksum: “x tail” behind the checksum was not read"},
		{"cut off", h + "Gl400@w90@l6", "1 : the record is cut off: it must end in @\n1 geometry: l6 has no angle (w) behind it", ""},
		{"cut off at the end", strings.TrimSuffix(h+g, "@"), "1 : the record is cut off", ""},
		{"layer, steps, group", sealed(h + "a2@t50@c3@" + g), "", "1 a: a2 was not taken\n1 c: c3 was not taken\n1 t: t50 was not taken"},
		{"coupler", sealed(h + g + "Ma1@b2@"), "", "1 block M: block M, a coupler, was not taken"},
		{"private", sealed(h + g + "PHeat 01E5@Cool@"), "", "1 block P: block P, private data, was not taken: “Heat 01E5”"},
		{"unknown block", sealed(h + g + "Qz@"), "", "1 block Q: block Q is not known"},
		{"unknown field", sealed(h + "z1@" + g), "", "1 z: the head field z is not known"},
		{"no geometry", sealed(h), "1 geometry: the record has no geometry", ""},
		{"no head", sealed("BF2D@" + g), "1 mark: the position (p) is missing", ""},
		{"two heads", sealed(h + h[len("BF2D@"):] + g), "1 H: the record has block H twice", ""},
		{"field twice", sealed(h + "d14@" + g), "1 d: the head has d twice", ""},
		{"empty field", sealed(h + "@" + g), "1 : an empty field (@@)", ""},
		{"no leg", sealed(h + "Gw90@l600@w0@"), "1 geometry: w90 stands where a leg", ""},
		{"negative leg", sealed(h + "Gl-400@w90@l600@w0@"), "1 geometry: “-400” is no number of millimetres", ""},
		{"leg of nothing", sealed(h + "Gl0@w90@l600@w0@"), "1 geometry: leg 1: a straight leg of 0 mm", ""},
		{"leg of 2 km", sealed(h + "Gl2000000@w0@"), "1 geometry: “2000000” is over 1000000 mm", ""},
		{"angle", sealed(h + "Gl400@w1e2@l600@w0@"), "1 geometry: “1e2” is no angle", ""},
		{"bend of 270", sealed(h + "Gl400@w270@l600@w0@"), "1 geometry: leg 1: a bend turns by at most 180 degrees", ""},
		{"last bend", sealed(h + "Gl400@w90@l600@w90@"), "1 geometry: leg 2 is the last and has a bend after it", ""},
		{"not an EN diameter", sealed(strings.Replace(h, "d12", "d12.7", 1) + g), "1 size: a bar of 12.7 mm: a diameter of EN 10080 is whole millimetres", ""},
		{"pieces", sealed(strings.Replace(h, "n10", "n", 1) + g), "1 pieces: the number of pieces (n) is missing", ""},
		{"Windows text", sealed(strings.Replace(h, "HjJ", "Hjs\xfcd", 1) + g), "", "1 : the record is not UTF-8 and was read as Windows-1252"},
		{"UTF-8 text", sealed(strings.Replace(h, "HjJ", "Hjsüd", 1) + g), "", ""},
		// The sum was made of 0xfc for ü, and the file then saved in UTF-8 (0xc3 0xbc).
		{"sum before UTF-8", strings.ReplaceAll(sealed(strings.Replace(h, "HjJ", "Hjs\xfcd", 1)+g), "\xfc", "ü"),
			"1 checksum: the checksum is \"90\", expected 87: the record was changed or damaged, ask for the file again (it fits the same text in ISO 8859-1: save the file in that encoding)", ""},
		{"bent in space", "BF3D@HjJ@", "1 BF3D: this record is a bar bent in space: it can be read but not taken", ""},
		{"helix", "BFWE@HjJ@", "1 BFWE: this record is a helix: it can be read but not taken", ""},
		{"mesh", "BFMA@HjJ@", "1 BFMA: this record is a mesh: it can be read but not taken", ""},
		{"girder", "BFGT@HjJ@", "1 BFGT: this record is a lattice girder: it can be read but not taken", ""},
		{"spacer", "BFAU@HjJ@", "1 BFAU: this record is a spacer: it can be read but not taken", ""},
		{"another record", "BFXX@HjJ@", "1 : “BFXX” is no record of a BVBS file", ""},
	} {
		_, faults, warnings := Read("x.abs", []byte(c.record+"\r\n"), Defaults{})
		require.True(t, hasLines(says(faults), c.faults), "%s: %s", c.name, says(faults))
		if c.faults == "" { // what is said besides a fault does not matter
			require.True(t, hasLines(says(warnings), c.warnings), "%s: %s", c.name, says(warnings))
		}
	}
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

// TestArc: legs are outer dimensions, an arc counts along its inner radius; 90 degrees of 2 m are
// pi m.
func TestArc(t *testing.T) {
	f, faults, _ := Read("x.abs", []byte(sealed("BF2D@HjJ@rR@i@p1@l6142@n1@e9.7@d16@gB500B@s64@v@Gl1500@w0@r2000@w-90@l1500@w0@")), Defaults{})
	require.Empty(t, faults)
	require.Equal(t, bar.Length(3_000_000_000+3_141_592_654), f.Lines[0].Length)
	require.Equal(t, bar.Leg{Radius: 2 * bar.Metre, Turn: -900}, f.Lines[0].Shape.Legs[1])
}

// TestWriteBF2DRefuses: what a record cannot hold is not written.
func TestWriteBF2DRefuses(t *testing.T) {
	good := Line{Mark: "1", Steel: bar.Steel{Size: "12mm", Grade: "B500B"}, Length: bar.Metre, Pieces: 1}
	_, err := WriteBF2D([]Line{good})
	require.NoError(t, err)
	for want, spoil := range map[string]func(l *Line){
		"holds an @":                      func(l *Line) { l.Job = "a@b" },
		"or a line break":                 func(l *Line) { l.Mark = "a\nb" },
		"size #5 has no diameter in whol": func(l *Line) { l.Steel.Size = "#5" },
	} {
		l := good
		spoil(&l)
		_, err := WriteBF2D([]Line{l})
		require.ErrorContains(t, err, want)
	}
}

// TestBF2DRoundTrip: lines written are read as they were.
func TestBF2DRoundTrip(t *testing.T) {
	name := rapid.StringOfN(rapid.RuneFrom([]rune("aZ09-_#/.éC")), 1, 12, -1)
	length := rapid.Custom(func(t *rapid.T) bar.Length {
		return bar.Length(rapid.Int64Range(int64(bar.Millimetre), int64(30*bar.Metre)).Draw(t, "length"))
	})
	angle := func(limit int32) *rapid.Generator[int32] { return rapid.Int32Range(-limit, limit) }
	line := rapid.Custom(func(t *rapid.T) Line {
		l := Line{
			Job: name.Draw(t, "job"), List: name.Draw(t, "list"),
			Steel: bar.Steel{
				Size:  rapid.SampledFrom(bar.Sizes(bar.EN)).Draw(t, "size"),
				Spec:  "BS4449",
				Grade: rapid.SampledFrom([]string{"B500A", "B500B", "B500C"}).Draw(t, "grade"),
			},
			Length: length.Draw(t, "length"),
			Pieces: rapid.IntRange(1, MaxPieces).Draw(t, "pieces"),
		}
		l.Shape.Pin = bar.Length(rapid.Int64Range(0, int64(bar.Metre)).Draw(t, "pin"))
		for range rapid.IntRange(0, 8).Draw(t, "legs") {
			l.Shape.Legs = append(l.Shape.Legs, bar.Leg{Length: length.Draw(t, "leg"), Turn: angle(1800).Draw(t, "turn")})
			if rapid.Bool().Draw(t, "arc") {
				if turn := angle(3600).Draw(t, "sweep"); turn != 0 {
					l.Shape.Legs = append(l.Shape.Legs, bar.Leg{Radius: length.Draw(t, "radius"), Turn: turn})
				}
			}
		}
		if n := len(l.Shape.Legs); n > 0 && l.Shape.Legs[n-1].Radius == 0 {
			l.Shape.Legs[n-1].Turn = 0
		}
		if l.Shape.Straight() {
			l.Shape.Legs = nil
		} else {
			l.Length = l.Shape.Outer()
		}
		return l
	})
	rapid.Check(t, func(t *rapid.T) {
		lines := rapid.SliceOfN(line, 1, 4).Draw(t, "lines")
		for i := range lines {
			lines[i].Row, lines[i].Mark, lines[i].Revision = i+1, fmt.Sprint(i), "a"
		}
		data, err := WriteBF2D(lines)
		if err != nil {
			t.Fatal(err)
		}
		f, faults, _ := Read("x.abs", data, Defaults{})
		if len(faults) > 0 {
			t.Fatalf("%s in %s", says(faults), data)
		}
		if got, want := fmt.Sprintf("%+v", f.Lines), fmt.Sprintf("%+v", lines); got != want {
			t.Fatalf("\n%s\nwas read as\n%s\nfrom %s", want, got, data)
		}
	})
}

// FuzzBF2D: what is read without fault is written by WriteBF2D and read again as the same lines.
func FuzzBF2D(f *testing.F) {
	for _, name := range []string{examples + "/hillside.abs", "testdata/faulty.abs"} {
		data, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(data)
		for record := range bytes.SplitSeq(data, []byte("\n")) {
			f.Add(record)
		}
	}
	for _, record := range []string{guide1, guide2, guide3} {
		f.Add([]byte(record))
		f.Add([]byte(record[:strings.Index(record, "C")])) // without a sum that no change survives
	}
	f.Add([]byte("BF2D"))
	f.Fuzz(func(t *testing.T, data []byte) {
		r := &sheet.Report{}
		lines := readBF2D(data, eu, r)
		duplicates(lines, r)
		if len(r.Faults()) > 0 || len(lines) == 0 {
			return
		}
		checkRead(t, File{Lines: lines}, nil)
		written, err := WriteBF2D(lines)
		if err != nil {
			t.Fatalf("%v of %+v", err, lines)
		}
		again, faults, _ := Read("x", written, eu)
		if len(faults) > 0 {
			t.Fatalf("%s in %s", says(faults), written)
		}
		for i := range lines {
			lines[i].Row = i + 1 // blank lines are not written
		}
		if got, want := fmt.Sprintf("%+v", again.Lines), fmt.Sprintf("%+v", lines); got != want {
			t.Fatalf("%s was read again as %s", want, got)
		}
	})
}
