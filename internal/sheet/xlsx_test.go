package sheet

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// book makes a workbook of rows.
func book(t testing.TB, rows [][]any, more ...func(*excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, row := range rows {
		require.NoError(t, f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row))
	}
	for _, change := range more {
		change(f)
	}
	b, err := f.WriteToBuffer()
	require.NoError(t, err)
	return b.Bytes()
}

// parts unpacks a workbook.
func parts(t testing.TB, data []byte) map[string]string {
	t.Helper()
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	m := map[string]string{}
	for _, f := range archive.File {
		from, err := f.Open()
		require.NoError(t, err)
		text, err := io.ReadAll(from)
		require.NoError(t, err)
		m[f.Name] = string(text)
	}
	return m
}

// packed packs parts into an archive.
func packed(t testing.TB, parts map[string]string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for name, text := range parts {
		to, err := w.Create(name)
		require.NoError(t, err)
		_, err = io.WriteString(to, text)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return b.Bytes()
}

// sheet makes a workbook with the XML of its sheet's rows, and of its table of texts, by hand.
func sheet(t testing.TB, data, texts string) []byte {
	t.Helper()
	m := parts(t, book(t, [][]any{{"mark"}}))
	m["xl/worksheets/sheet1.xml"] = spreadsheetML("worksheet", "<sheetData>"+data+"</sheetData>")
	if texts != "" {
		m["xl/sharedStrings.xml"] = spreadsheetML("sst", texts)
	}
	return packed(t, m)
}

// spreadsheetML is a part of a workbook.
func spreadsheetML(root, inside string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><` + root + ` xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">` + inside + `</` + root + `>`
}

// inline is the XML of a row of text cells.
func inline(row int, cells ...string) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<row r="%d">`, row)
	for i, c := range cells {
		fmt.Fprintf(&b, `<c r="%c%d" t="inlineStr"><is><t>%s</t></is></c>`, 'A'+i, row, c)
	}
	return b.String() + "</row>"
}

var headXML = inline(1, "mark", "size", "length", "pieces", "note")

// TestCellsOfAWorkbook: what spreadsheet programs store for what was typed.
func TestCellsOfAWorkbook(t *testing.T) {
	style := func(cell string, form excelize.Style) func(*excelize.File) {
		return func(f *excelize.File) {
			id, err := f.NewStyle(&form)
			require.NoError(t, err)
			require.NoError(t, f.SetCellStyle("Sheet1", cell, cell, id))
		}
	}
	code := func(s string) excelize.Style { return excelize.Style{CustomNumFmt: &s} }
	head := []any{"Mark", "Size", "Length (mm)", "Pieces", "Note"}
	for _, c := range []struct {
		name   string
		row    []any
		change func(*excelize.File)
		want   string // mark, length, pieces, note; or the fault
	}{
		{"text", []any{"1E5", "16mm", "4521", "48", "007"}, nil, "1E5 4521 48 007"},
		{"numbers", []any{5, "16mm", 4521.5, 48, 7}, nil, "5 4521.5 48 7"},
		{"binary fractions", []any{"B", "16mm", 3505.1999999999998, 48, 0.1 + 0.2}, nil, "B 3505.2 48 0.3"},
		{"whole number format", []any{5, "16mm", 4521, 48, ""}, style("A2", excelize.Style{NumFmt: 1}), "5 4521 48"},
		{"text format", []any{5, "16mm", 4521, 48, ""}, style("A2", excelize.Style{NumFmt: 49}), "5 4521 48"},
		{"decimals in a length", []any{"B", "16mm", 4521, 48, ""}, style("C2", excelize.Style{NumFmt: 2}), "B 4521 48"},
		{"1E5 typed", []any{100000, "16mm", 4521, 48, ""}, style("A2", excelize.Style{NumFmt: 11}),
			"2 mark: the cell is a number (100000) and may show other characters than were typed"},
		{"007 typed", []any{7, "16mm", 4521, 48, ""}, style("A2", code("000")), "2 mark: the cell is a number (7) and may show other"},
		{"a long number", []any{123456789012, "16mm", 4521, 48, ""}, nil, "2 mark: the cell is a number (123456789012) and may show"},
		{"date for a mark", []any{45000, "16mm", 4521, 48, ""}, style("A2", excelize.Style{NumFmt: 14}), "2 mark: the cell is a date, as spreadsheet programs make one of 11-06"},
		{"date for a length", []any{"B", "16mm", 45236, 48, ""}, style("C2", code("mmm\\-yy")), "2 length: the cell is a date"},
		{"elapsed time", []any{"B", "16mm", 0.5, 48, ""}, style("C2", code("[h]:mm")), "2 length: the cell is a date"},
		{"color is no date", []any{"B", "16mm", 4521, 48, ""}, style("C2", code(`#,##0.0_d;[Red]-#,##0.0`)), "B 4521 48"},
		{"unit in the format", []any{"B", "16mm", 3.5, 48, ""}, style("C2", code(`0.0" m"`)), "2 length: the format of the cell shows letters"},
		{"percentage", []any{"B", "16mm", 4521, 0.5, ""}, style("D2", excelize.Style{NumFmt: 9}), "2 pieces: the cell is a percentage"},
		{"true", []any{true, "16mm", 4521, 48, ""}, nil, "2 mark: the cell is TRUE or FALSE"},
	} {
		change := c.change
		if change == nil {
			change = func(*excelize.File) {}
		}
		f, faults, _ := read("x.xlsx", book(t, [][]any{head, c.row}, change))
		got := says(faults)
		if got == "" {
			l := f[0]
			got = strings.TrimSpace(fmt.Sprint(l.mark, " ", l.length, " ", l.pieces, " ", l.note))
		}
		require.True(t, strings.HasPrefix(got, c.want), "%s: %s", c.name, got)
	}
}

// TestFormulas: the value that was computed last counts.
func TestFormulas(t *testing.T) {
	cells := func(length, note string) []byte {
		return sheet(t, headXML+`<row r="2"><c r="A2" t="inlineStr"><is><t>B1</t></is></c><c r="B2" t="inlineStr"><is><t>#5</t></is></c>`+
			length+`<c r="D2"><f>6*4</f><v>24</v></c>`+note+`</row>`, "")
	}
	good := `<c r="C2" t="str"><f>"11'-"&amp;"6"</f><v>11'-6</v></c>`
	for _, c := range []struct{ name, length, note, want string }{
		{"computed", good, "", ""},
		{"empty text", good, `<c r="E2" t="str"><f>""</f><v></v></c>`, ""},
		{"never computed", `<c r="C2"><f>A1</f></c>`, "", "2 length: the formula in the cell has no value"},
		{"never computed, last column", good, `<c r="E2"><f>A1</f></c>`, "2 note: the formula in the cell has no value"},
		{"reference lost", `<c r="C2" t="e"><f>#REF!</f><v>#REF!</v></c>`, "", "2 length: the cell shows the error “#REF!”"},
		{"ISO date", `<c r="C2" t="d"><v>2026-11-06</v></c>`, "", "2 length: the cell is a date"},
		{"no such text", `<c r="C2" t="s"><v>99</v></c>`, "", "0 : the workbook cannot be read (cell C2"},
	} {
		f, faults, _ := read("x.xlsx", cells(c.length, c.note))
		require.True(t, hasLines(says(faults), c.want), "%s: %s", c.name, says(faults))
		if c.want == "" {
			require.Equal(t, "11'-6", f[0].length, c.name)
			require.Equal(t, "24", f[0].pieces, c.name)
		}
	}
}

// TestSheets: which sheet is read, and what a person should know of it.
func TestSheets(t *testing.T) {
	rows := [][]any{{"job", "mark", "size", "length", "pieces"}, {"J", "B1", "#5", "10'", 1}, {"", "B2", "#5", "10'", 2}, {"", "B3", "#5", "10'", 3}}
	marks := func(f []line) (s string) {
		for _, l := range f {
			s += l.job + l.mark + " "
		}
		return s
	}
	must := func(err error) { require.NoError(t, err) }
	for _, c := range []struct {
		name                    string
		change                  func(f *excelize.File)
		marks, faults, warnings string
	}{
		{"one sheet", func(f *excelize.File) {}, "JB1 B2 B3 ", "", ""},
		{"several sheets", func(f *excelize.File) { _, err := f.NewSheet("prices"); must(err) }, "JB1 B2 B3 ", "",
			"0 : the first sheet, “Sheet1”, was read and the others were not"},
		{"the sheet bars", func(f *excelize.File) {
			_, err := f.NewSheet("Bars")
			must(err)
			must(f.SetSheetRow("Bars", "B3", &[]any{"mark", "size", "length", "pieces"}))
			must(f.SetSheetRow("Bars", "B4", &[]any{"X1", "#5", "10'", 1}))
		}, "X1 ", "", ""},
		{"hidden row", func(f *excelize.File) { must(f.SetRowVisible("Sheet1", 3, false)) }, "JB1 B2 B3 ", "", "3 : 1 hidden rows were read too"},
		{"hidden column", func(f *excelize.File) { must(f.SetColVisible("Sheet1", "A", false)) }, "JB1 B2 B3 ", "", "0 job: the column job is hidden"},
		{"merged job", func(f *excelize.File) { must(f.MergeCell("Sheet1", "A2", "A4")) }, "JB1 JB2 JB3 ", "",
			"0 : 1 ranges of cells are merged, the first at A2"},
		{"merged pieces", func(f *excelize.File) { must(f.MergeCell("Sheet1", "E2", "E3")) }, "JB1 B2 B3 ",
			"3 pieces: the cell is merged with E2: unmerge them", "0 : 1 ranges"},
		{"cell beyond the columns", func(f *excelize.File) { must(f.SetCellStr("Sheet1", "F3", "x")) }, "JB1 B2 B3 ",
			"3 : the row has more cells than there are column names (5)", ""},
		{"empty", func(f *excelize.File) { _, err := f.NewSheet("bars"); must(err) }, "", "0 : the workbook cannot be read (the sheet “bars” is empty)", ""},
	} {
		f, faults, warnings := read("x.xlsx", book(t, rows, c.change))
		require.Equal(t, c.marks, marks(f), c.name)
		require.True(t, hasLines(says(faults), c.faults), "%s: %s", c.name, says(faults))
		require.True(t, hasLines(says(warnings), c.warnings), "%s: %s", c.name, says(warnings))
	}
}

// TestHostileWorkbooks: a few bytes that ask for gigabytes, and archives that lie. All are refused
// with one sentence, before they cost memory.
func TestHostileWorkbooks(t *testing.T) {
	whole := book(t, [][]any{{"mark", "size", "length", "pieces"}, {"B1", "#5", "10'", 1}})
	with := func(name, text string) []byte {
		m := parts(t, whole)
		m[name] = text
		return packed(t, m)
	}
	zeros := strings.Repeat(" ", maxXML+1)
	line := inline(2, "B1", "#5", "10'", "1")
	for _, c := range []struct {
		name string
		data []byte
		want string
	}{
		{"bomb", with("xl/worksheets/sheet1.xml", zeros), "unpacks to more than 32 MB"},
		{"bomb in many parts", func() []byte {
			m := parts(t, whole)
			for i := range 5 {
				m[fmt.Sprintf("xl/worksheets/sheet%d.xml", i+2)] = "<a>" + zeros[:maxXML/4] + "</a>"
			}
			return packed(t, m)
		}(), "unpacks to more than 32 MB"},
		{"forged size", forged(t, with("xl/worksheets/sheet1.xml", "<a>"+zeros[:1<<20]+"</a>"), 1<<20+7, 100), "is damaged or is not what the archive says"},
		{"forged size of a bomb", forged(t, with("xl/worksheets/sheet1.xml", zeros), maxXML+1, 100), "is damaged or is not what the archive says"},
		{"cut off", whole[:len(whole)/2], "damaged or cut off"},
		{"too many parts", func() []byte {
			m := parts(t, whole)
			for i := range maxParts {
				m[fmt.Sprint("xl/media/", i)] = ""
			}
			return packed(t, m)
		}(), "at most 1000 are taken"},
		{"part twice", func() []byte {
			m := parts(t, whole)
			m["xl/Worksheets/Sheet1.xml"] = m["xl/worksheets/sheet1.xml"]
			return packed(t, m)
		}(), "twice"},
		{"cell far to the right", sheet(t, headXML+`<row r="2"><c r="XFD2"><v>1</v></c></row>`, ""), "goes beyond column 256"},
		{"cell beyond any column", sheet(t, headXML+`<row r="2"><c r="ZZZZ2"><v>1</v></c></row>`, ""), "has cell “ZZZZ2” in row 2"},
		{"row far down", sheet(t, headXML+`<row r="1048576"/>`, ""), "goes down to row 1048576"},
		{"row number too long", sheet(t, headXML+`<row r="99999999999999999999"/>`, ""), "has row “99999999999999999999”"},
		{"rows backwards", sheet(t, headXML+line+`<row r="1"/>`, ""), "has row “1” after row 2"},
		{"row 0", sheet(t, `<row r="0"/>`, ""), "has row “0” after row 0"},
		{"cells backwards", sheet(t, headXML+`<row r="2"><c r="B2"/><c r="A2"/></row>`, ""), "has cell “A2” in row 2 after column 2"},
		{"cell of another row", sheet(t, headXML+`<row r="2"><c r="A900000"/></row>`, ""), "has cell “A900000” in row 2"},
		{"cell outside a row", sheet(t, `<c r="A900000"/>`, ""), "a cell outside the rows"},
		{"cell outside a row, without a reference", sheet(t, `<c/>`, ""), "a cell outside the rows"},
		{"wide rows", sheet(t, func() string {
			var b strings.Builder
			for i := range 2000 {
				fmt.Fprintf(&b, `<row r="%d"><c r="IV%d"/></row>`, i+1, i+1)
			}
			return b.String()
		}(), ""), "more than 250000 cells"},
		{"many things", sheet(t, headXML+"<row>"+strings.Repeat("<x/>", maxElements)+"</row>", ""), "more than 500000 things"},
		{"many attributes", sheet(t, headXML+"<x "+strings.Repeat(`a="" `, 20_000)+"/>", ""), "over 64 KB"},
		{"many merged ranges", sheet(t, headXML+line+"</sheetData><mergeCells>"+strings.Repeat(`<mergeCell ref="A1:B2"/>`, maxMerged+1)+"</mergeCells><sheetData>", ""), "more than 300 merged ranges"},
		{"many columns set", sheet(t, "</sheetData><cols>"+strings.Repeat(`<col min="1" max="2"/>`, maxSettings+1)+"</cols><sheetData>", ""), "more than 2000 settings"},
		{"a long text", sheet(t, headXML, "<si><t>"+strings.Repeat("x", maxCellText+1)+"</t></si>"), "more than 32,767 characters"},
		{"a long text in pieces", sheet(t, headXML, "<si>"+strings.Repeat("<r><t>"+strings.Repeat("x", 10_000)+"</t></r>", 14)+"</si>"), "more than 32,767 characters"},
		{"a text in many looks", sheet(t, headXML, "<si>"+strings.Repeat("<r/>", maxRuns+1)+"</si>"), "changes its look more than 1000 times"},
		{"one text in every cell", sheet(t, headXML+func() string {
			var b strings.Builder
			for i := range 3000 {
				fmt.Fprintf(&b, `<row r="%d"><c r="A%d" t="s"><v>0</v></c></row>`, i+2, i+2)
			}
			return b.String()
		}(), "<si><t>"+strings.Repeat("x", 30_000)+"</t></si>"), "hold more than 20 MB of text"},
		{"one name twice", with("xl/workbook.xml", strings.Replace(parts(t, book(t, nil, func(f *excelize.File) {
			_, err := f.NewSheet("Sheet2")
			require.NoError(t, err)
		}))["xl/workbook.xml"], `name="Sheet2"`, `name="sheet1"`, 1)), "two sheets are named “sheet1”"},
		{"too many sheets", book(t, [][]any{{"mark"}}, func(f *excelize.File) {
			for i := range maxSheets {
				_, err := f.NewSheet(fmt.Sprint("s", i))
				require.NoError(t, err)
			}
		}), "201 sheets, from 1 to 200 are taken"},
		{"too many lines", sheet(t, headXML+func() string {
			var b strings.Builder
			for i := range MaxRows + 1 {
				b.WriteString(inline(i+2, fmt.Sprint("B", i), "#5", "10'", "1"))
			}
			return b.String()
		}(), ""), "more than 5000 lines"},
		{"another encoding", with("xl/worksheets/sheet1.xml", `<?xml version="1.0" encoding="UTF-16"?><a/>`), "is no XML in UTF-8"},
		{"broken XML", with("xl/worksheets/sheet1.xml", `<worksheet><sheetData><row`), "is no XML in UTF-8"},
		{"another document", packed(t, map[string]string{"content.xml": "<a/>", "mimetype": "application/vnd.oasis.opendocument.spreadsheet"}), "is a ZIP archive but no XLSX workbook"},
		{"binary workbook", packed(t, map[string]string{"xl/workbook.bin": ""}), "is an XLSB workbook"},
	} {
		_, faults, _ := read(c.name, c.data)
		require.Len(t, faults, 1, "%s: %s", c.name, says(faults))
		require.Contains(t, faults[0].Says, c.want, c.name)
	}
}

// forged writes another size of the unpacked part into an archive, wherever the true one stands.
func forged(t *testing.T, data []byte, size, lie uint32) []byte {
	t.Helper()
	was, is := binary.LittleEndian.AppendUint32(nil, size), binary.LittleEndian.AppendUint32(nil, lie)
	require.True(t, bytes.Contains(data, was))
	return bytes.ReplaceAll(data, was, is)
}

// FuzzXLSX: any bytes are read or refused.
func FuzzXLSX(f *testing.F) {
	data, err := os.ReadFile("../../testdata/barlists/alder-creek.xlsx")
	require.NoError(f, err)
	f.Add(data)
	f.Add(sheet(f, headXML+inline(2, "B1", "#5", "10'", "1"), ""))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, faults, _ := read("x", data)
		checkRead(t, file, faults)
	})
}

// FuzzSheet: any rows of a sheet, with any table of texts and any styles, are read or refused. The
// archive around them is whole, so that they reach the reader of cells.
func FuzzSheet(f *testing.F) {
	line := inline(2, "B1", "#5", "10'", "1")
	f.Add(headXML+line, "<si><t>x</t></si>", `<cellXfs><xf numFmtId="14"/></cellXfs>`)
	f.Add(headXML+`<row r="2"><c r="A2" t="s" s="1"><v>0</v></c><c r="C2" s="9"><f t="shared" si="0"/><v>1E5</v></c></row></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells><sheetData>`, "<si><r><t>x</t></r></si>", "")
	base := parts(f, book(f, [][]any{{"mark"}}))
	f.Fuzz(func(t *testing.T, data, texts, styles string) {
		m := map[string]string{}
		for name, text := range base {
			m[name] = text
		}
		m["xl/worksheets/sheet1.xml"] = spreadsheetML("worksheet", "<sheetData>"+data+"</sheetData>")
		m["xl/sharedStrings.xml"] = spreadsheetML("sst", texts)
		m["xl/styles.xml"] = spreadsheetML("styleSheet", styles)
		file, faults, _ := read("x", packed(t, m))
		checkRead(t, file, faults)
	})
}

func BenchmarkReadXLSX5000(b *testing.B) {
	rows := [][]any{{"mark", "size", "length", "pieces", "note"}}
	for i := range MaxRows {
		rows = append(rows, []any{fmt.Sprint("B", i), "#5", fmt.Sprintf("%d'-%d\"", 10+i%40, i%12), fmt.Sprint(1 + i%90), "made"})
	}
	data := book(b, rows)
	b.ReportAllocs()
	for b.Loop() {
		if _, faults, _ := read("x.xlsx", data); len(faults) > 0 {
			b.Fatal(faults[0])
		}
	}
}
