package heat_test

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/sheet"
)

var usual = heat.StockDefaults{Spec: "A615", Grade: "60"}

func TestReadStock(t *testing.T) {
	want := []heat.Incoming{
		{Row: 2, Place: "A-14", Bars: &event.LotReceived{Mill: "Example Mill", Heats: []string{"0123", "01E5"}, Steel: bar.Steel{Size: "#5", Spec: "A706", Grade: "60"},
			Length: 59*bar.Foot + 6*bar.Inch, Bars: 40, Bundles: []event.MillBundle{{Number: "B1", Bars: 20}, {Number: "B2", Bars: 20}}, Melted: "US", Rolled: "US", PO: "7"}},
		{Row: 4, Bars: &event.LotReceived{Mill: "Other, Mill", Steel: bar.Steel{Size: "16mm", Spec: "BS4449", Grade: "B500B"}, Length: 12 * bar.Metre, Bars: 10,
			Bundles: []event.MillBundle{{Number: "Z9"}}}},
	}
	for name, file := range map[string]string{
		"commas": "mill,heats,size,spec,grade,coating,length,bars,mill_bundles,place,melted,rolled,po\n" +
			"Example Mill,0123 01E5,#5,A706,60,,59'-6\",40,B1=20|B2=20,A-14,US,US,7\n\n" +
			"\"Other, Mill\",,16mm,,B500B,,12 m,10,Z9,,,,\n",
		"semicolons, quotes, BOM, CR LF, other order": "\ufeffPO;Mill;HEAT;Size;Spec;Grade;Length;Bars;Mill-Bundles;Place;Melted;Rolled\r\n" +
			"7;Example Mill;0123|01E5;#5;A706;60;\"59'-6\"\"\";40;B1=20|B2=20;A-14;US;US\r\n\r\n" +
			";Other, Mill;;16mm;;B500B;12 m;10;Z9;;;\r\n",
		"tabs": "mill\theats\tsize\tspec\tgrade\tlength\tbars\tmill bundles\tplace\tmelted\trolled\tpo\n" +
			"Example Mill\t0123 01E5\t#5\tA706\t60\t59'-6\"\t40\tB1=20|B2=20\tA-14\tUS\tUS\t7\n\n" +
			"Other, Mill\t\t16mm\t\tB500B\t12 m\t10\tZ9\t\t\t\t\n",
	} {
		t.Run(name, func(t *testing.T) {
			got, faults, _ := heat.ReadStock("x.csv", []byte(file), usual)
			require.Empty(t, faults)
			for i := range got {
				if len(got[i].Bars.Heats) == 0 {
					got[i].Bars.Heats = nil
				}
			}
			require.Equal(t, want, got)
		})
	}
}

func TestReadStockFaults(t *testing.T) {
	many := "mill,size,length,bars\n" + strings.Repeat("M,#5,60',0.5\n", 1500)
	for name, tt := range map[string]struct {
		file string
		want []string // row, field, and a part of what is said
	}{
		"no file":         {"", []string{"0||the file is empty"}},
		"only names":      {"mill,size,length,bars\n", []string{"0||no rows"}},
		"no names":        {"Example Mill,#5,60',40\n", []string{"1||known are mill"}},
		"names twice":     {"mill,mill,size,length,bars\n", []string{"1|mill|are both the mill"}},
		"every cell":      {"mill,size,grade,length,bars,mill_bundles\nM,10,99,60,many,B1=x|B2\n", []string{"2|size|", "2|length|", "2|bars|", "2|mill_bundles|"}},
		"no cells":        {"mill,size,length,bars\n,,,\nM\n", []string{"3|size|", "3|length|", "3|bars|"}},
		"quote that runs": {"mill,size,length,bars\nM,#5,\"60',40\nM,#5,60',40\n", []string{"2||quotes do not match"}},
		"zero byte":       {"mill,size\x00", []string{"1||not a text file in UTF-8"}},
		"UTF-16":          {"\xff\xfem\x00", []string{"1||no column names"}},
		"too many faults": {many, append(repeated("2|bars|", 1), "0||first 1000")},
	} {
		t.Run(name, func(t *testing.T) {
			_, faults, _ := heat.ReadStock("x.csv", []byte(tt.file), usual)
			if name == "too many faults" {
				require.Len(t, faults, 1001)
				faults = []sheet.Fault{faults[0], faults[1000]}
			}
			require.Len(t, faults, len(tt.want), "%v", faults)
			for i, f := range faults {
				part := strings.SplitN(tt.want[i], "|", 3)
				require.Equal(t, part[:2], []string{fmt.Sprint(f.Row), f.Field})
				require.Contains(t, f.Says, part[2])
			}
		})
	}
	_, faults, _ := heat.ReadStock("x", make([]byte, 21<<20), usual)
	require.Contains(t, faults[0].Says, "of at most 20 MB")
	_, faults, _ = heat.ReadStock("x", []byte("mill,size,length,bars\n"+strings.Repeat("M,#5,60',4\n", 5001)), usual)
	require.Contains(t, faults[0].Says, "more than 5000 lines")
}

func repeated(s string, n int) (out []string) {
	for range n {
		out = append(out, s)
	}
	return out
}

func TestSteelOf(t *testing.T) {
	for _, tt := range []struct{ size, spec, grade, want string }{
		{"#5", "", "", "#5 A615 60"},
		{"#5", "A706", "", "#5 A706 60"},
		{"16mm", "", "B500B", "16mm BS4449 B500B"}, // the plant's A615 has no such grade, one spec alone has
		{"#5", "", "80", "#5 A615 80"},
	} {
		got, err := heat.SteelOf(tt.size, tt.spec, tt.grade, "", usual)
		require.NoError(t, err)
		require.Equal(t, tt.want, got.String())
	}
	_, err := heat.SteelOf("#5", "", "", "", heat.StockDefaults{})
	require.Error(t, err)
	_, err = heat.SteelOf("10", "", "", "", usual)
	require.ErrorContains(t, err, "size: ")
}

// A file is either at fault, or all of its rows can be received; whichever it is, it ends.
func FuzzReadStock(f *testing.F) {
	for _, s := range []string{
		"", "\ufeff", "mill,heats,size,length,bars\nM,1 2,#5,60',4\n", "mill;size;length;bars\nM;#5;\"59'-6\"\"\";4\r\n",
		"mill,size,length,bars,mill_bundles\nM,#5,60',4,B1=2|B2=2\n", "\"", "mill\tsize\tlength\tbars\n\"\t\"\"\t\n", "mill,size,length,bars\n\"M\n", "a\x00b", "\xff\xfe",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		lots, faults, _ := heat.ReadStock("x", data, usual)
		if len(faults) == 0 && len(lots) == 0 {
			t.Error("neither stock nor faults")
		}
		for _, x := range faults {
			if x.Says == "" || x.Row < 0 || !utf8.ValidString(x.Says) {
				t.Errorf("a fault that says nothing: %+v", x)
			}
		}
		if len(faults) > 0 {
			return
		}
		for _, l := range lots {
			if l.Row < 2 || l.Coil == nil && (l.Bars.Steel.Size == "" || l.Bars.Length <= 0) {
				t.Errorf("row %d is not whole: %+v", l.Row, l)
			}
		}
	})
}

// TestReadStockXLSX: a workbook is read with the same care as a bar list: what is text stays text, and a
// heat that the spreadsheet made a number of is refused rather than guessed.
func TestReadStockXLSX(t *testing.T) {
	book := func(heat any) []byte {
		f := excelize.NewFile()
		defer f.Close()
		for i, row := range [][]any{{"mill", "heats", "size", "length", "bars"}, {"M", heat, "#5", "60'", 40}} {
			require.NoError(t, f.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row))
		}
		exponent, err := f.NewStyle(&excelize.Style{NumFmt: 11})
		require.NoError(t, err)
		require.NoError(t, f.SetCellStyle("Sheet1", "B2", "B2", exponent))
		b, err := f.WriteToBuffer()
		require.NoError(t, err)
		return b.Bytes()
	}
	got, faults, _ := heat.ReadStock("x.xlsx", book("01E5"), usual)
	require.Empty(t, faults)
	require.Equal(t, []any{[]string{"01E5"}, 40}, []any{got[0].Bars.Heats, got[0].Bars.Bars})
	_, faults, _ = heat.ReadStock("x.xlsx", book(100000), usual)
	require.Len(t, faults, 1)
	require.Equal(t, []any{2, "heats"}, []any{faults[0].Row, faults[0].Field})
}
