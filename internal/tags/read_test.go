package tags

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestReadOurs(t *testing.T) {
	for _, c := range []struct {
		name, typed, symbology string
		tag, garbled           bool
	}{
		{"digits", "10010000004205", "", false, false},
		{"digits and Enter", "10010000004205\r\n", "", false, false},
		{"digits and Tab", "10010000004205\t", "", false, false},
		{"shown form", " 1-001-00000042-05 ", "", false, false},
		{"Code 128 with its identifier", "]C010010000004205\r", "]C0", false, false},
		{"QR text", example, "", true, false},
		{"QR text with its identifier", "]Q1" + example + "\n", "]Q1", true, false},
		{"Caps Lock", strings.ToLower(example), "", true, true},
		{"a browser's address", "https://tags.example/T/10010000004205/C2/J24-118/L3/MB1204/S%235/N40/HH12345/H01E5", "", true, true},
		// A scanner that types for a US keyboard into a German host layout: / is -, : is Ö, - is ß.
		{"German layout", "HTTPSÖ--TAGS.EXAMPLE-T-10010000004205-C2-J24ß118-L3-MB1204", "", false, true},
		{"German layout, shown form", "1ß001ß00000042ß05", "", false, true},
		{"German layout, identifier", "+C010010000004205", "", false, true},
		// The same into a Spanish one: / is -, : is Ñ, - is '.
		{"Spanish layout", "HTTPSÑ--TAGS.EXAMPLE-T-10010000004205-C2-J24'118-L3-MB1204", "", false, true},
		{"identifier without its ]", "Q1HTTPSÑ--TAGS.EXAMPLE-T-10010000004205", "", false, true},
		{"number twice", "10010000004205 10010000004205", "", false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			scan, err := Read(c.typed)
			require.NoError(t, err)
			require.Equal(t, exampleTag.Number, scan.Number)
			require.Equal(t, c.symbology, scan.Symbology)
			require.Equal(t, c.garbled, scan.Garbled)
			require.Nil(t, scan.Mill)
			if c.tag {
				require.Equal(t, exampleTag, *scan.Tag)
			} else {
				require.Nil(t, scan.Tag)
			}
		})
	}
}

func TestReadPlainText(t *testing.T) {
	for _, c := range []struct{ typed, symbology, text string }{
		{"H12345", "", "H12345"},
		{"01E5\r\n", "", "01E5"},
		{"]C0H12345", "]C0", "H12345"},
		{"A]C1B", "", "A]C1B"},
		{"]Q3A]d2", "]Q3", "A]d2"},
		{"]", "", "]"},
		{"]?1A", "", "]?1A"},
		{"SALT 12", "", "SALT 12"},
		{"123456789012345678901234567890", "", "123456789012345678901234567890"},
		{"colada nº 7", "", "colada nº 7"},
	} {
		scan, err := Read(c.typed)
		require.NoError(t, err, c.typed)
		require.Equal(t, Scan{Symbology: c.symbology, Text: c.text}, scan)
	}
}

func TestReadRefuses(t *testing.T) {
	scan, err := Read("]C010010000004206\r")
	require.ErrorIs(t, err, ErrMistyped)
	require.Equal(t, Scan{Symbology: "]C0", Text: "10010000004206"}, scan, "kept for a look among the aliases")

	_, err = Read("10010000004205 1-001-00000001-31")
	require.ErrorIs(t, err, ErrTwoNumbers)
	_, err = Read("70010000004205")
	require.ErrorIs(t, err, ErrKind)
	for _, s := range []string{"", "\r\n", "]C0", "]C0\r", "\xff10010000004205", strings.Repeat("1", MaxScan+1)} {
		scan, err := Read(s)
		require.Error(t, err, "%q", s)
		require.Zero(t, scan.Number)
	}
}

func TestFindNumber(t *testing.T) {
	n, err := FindNumber("x10010000004205y1-001-00000042-05z1")
	require.NoError(t, err)
	require.Equal(t, exampleTag.Number, n)
	for s, want := range map[string]error{
		"":                                 ErrNotNumber,
		"910010000004205":                  ErrNotNumber,
		"100100000042059":                  ErrNotNumber,
		"XYC010010000004205":               ErrNotNumber,
		"1--001-00000042-05":               ErrNotNumber,
		"1-001-00000042-06":                ErrNotNumber,
		"1-001-00000042":                   ErrNotNumber,
		"10010000004205/10010000000131":    ErrTwoNumbers,
		"10010000000131 1 001 00000042 05": ErrTwoNumbers,
	} {
		n, err := FindNumber(s)
		require.ErrorIs(t, err, want, "%q", s)
		require.Zero(t, n)
	}
}

func FuzzRead(f *testing.F) {
	for _, s := range []string{example, strings.ToLower(example), "]C010010000004205\r\n", "1ß001ß00000042ß05", "+C010010000004205", row60, "16D20261125", "H12345", "[)>06"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		scan, err := Wedge{GS: "|", RS: "^", EOT: "~"}.Read(s)
		if err != nil {
			require.Zero(t, scan.Number)
			require.Nil(t, scan.Mill)
			return
		}
		require.NotEmpty(t, scan.Text)
		require.True(t, scan.Number == 0 || scan.Number.Valid())
		require.False(t, scan.Number != 0 && scan.Mill != nil)
		if scan.Tag != nil {
			require.Equal(t, scan.Number, scan.Tag.Number)
			again, err := Format("A", *scan.Tag)
			require.NoError(t, err)
			_, back, err := Parse(again)
			require.NoError(t, err)
			require.Equal(t, *scan.Tag, back)
		}
	})
}
