package tags

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

const row60 = "[)>\x1e06\x1d1TH12345\x1dQ40\x1dKJ100\x1e\x04"

// An ISO/IEC 15434 message of format 06, byte by byte as the standard lays it out.
func TestReadEnvelope(t *testing.T) {
	b, err := hex.DecodeString("5b293e1e30361d31544831323334351d5134301d4b4a3130301e04")
	require.NoError(t, err)
	require.Equal(t, row60, string(b))
	want := &MillTag{Heat: "H12345", Quantity: 40, Order: "J100", Fields: []Field{
		{"1T", "H12345", "lot or heat, assigned by the supplier"},
		{"Q", "40", "quantity"},
		{"K", "J100", "order of the customer"},
	}}
	visible := strings.NewReplacer("\x1d", "|", "\x1e", "^", "\x04", "~")
	for _, c := range []struct {
		name, typed string
		wedge       Wedge
	}{
		{"control characters", row60, Wedge{}},
		{"with identifier and Enter", "]d1" + row60 + "\r\n", Wedge{}},
		{"EOT lost", strings.TrimSuffix(row60, "\x04"), Wedge{}},
		{"RS and EOT lost", strings.NewReplacer("\x1e", "", "\x04", "").Replace(row60), Wedge{}},
		{"visible substitutes", visible.Replace(row60), Wedge{GS: "|", RS: "^", EOT: "~"}},
		{"long substitutes", strings.NewReplacer("\x1d", "<GS>", "\x1e", "<RS>", "\x04", "<EOT>").Replace(row60), Wedge{GS: "<GS>", RS: "<RS>", EOT: "<EOT>"}},
		{"no envelope", "1TH12345|Q40|KJ100", Wedge{GS: "|"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			scan, err := c.wedge.Read(c.typed)
			require.NoError(t, err)
			require.Equal(t, want, scan.Mill)
			require.Zero(t, scan.Number)
		})
	}
}

func TestEnvelopeRefuses(t *testing.T) {
	_, err := Read("[)>061TH12345Q40KJ100")
	require.ErrorContains(t, err, "separators are missing")
	_, err = Read("[)>\x1e05\x1d10H12345\x1e\x04")
	require.ErrorContains(t, err, "format 05 (GS1 application identifiers)")
	_, err = Read("[)>\x1e77\x1dX\x1e\x04")
	require.ErrorContains(t, err, `format "77"`)
}

// A second format in the same envelope is named, not dropped in silence.
func TestEnvelopeOfTwoFormats(t *testing.T) {
	scan, err := Read("[)>\x1e05\x1d10H12345\x1e06\x1d1TH12345\x1e\x04")
	require.NoError(t, err)
	require.Equal(t, "H12345", scan.Mill.Heat)
	require.Equal(t, []string{"format 05 (GS1 application identifiers) on the same tag was not read"}, scan.Mill.Faults)
}

func TestMillFields(t *testing.T) {
	read := func(fields ...string) *MillTag {
		scan, err := Read("[)>\x1e06\x1d" + strings.Join(fields, "\x1d") + "\x1e\x04")
		require.NoError(t, err)
		var got []string
		for _, f := range scan.Mill.Fields {
			got = append(got, f.DI+f.Value)
		}
		require.Equal(t, fields, got, "every field is kept")
		return scan.Mill
	}
	m := read("1T01E5", "S0000417", "Q112", "7Q60FT", "2Q7010", "VMILL7", "1VX", "1P10-60", "PSHOP5", "K4711", "4LUS", "16D20261125")
	m.Fields = nil
	require.Equal(t, &MillTag{Heat: "01E5", Bundle: "0000417", Quantity: 112, Length: "60 ft", Weight: "7010", Supplier: "MILL7", Item: "10-60", Order: "4711", Country: "US", Rolled: "2026-11-25"}, m)

	require.Equal(t, "2026-11-25", read("17D25112026").Rolled, "the same date as 16D20261125")
	require.Equal(t, "18.3 m", read("7Q18.3MR").Length)
	require.Equal(t, "3180 kg", read("2Q3190", "7Q3180KG").Weight, "the one with a unit")
	require.Equal(t, 40, read("7Q40PC").Quantity)
	require.Equal(t, "UN123456789A2B4C6D8E", read("2JUN123456789A2B4C6D8E").Bundle)
	require.Equal(t, "AA", read("4LAA").Country)
	require.Equal(t, []Field{{"T", "L7", "lot or heat, assigned by the customer"}}, read("TL7").Fields)
	require.Empty(t, read("TL7").Heat, "the heat is 1T only")

	for _, c := range []struct {
		fields []string
		says   string
	}{
		{[]string{"16D20261301"}, "no date"},
		{[]string{"16D261125"}, "no date"},
		{[]string{"17D20261125"}, "no date"},
		{[]string{"Q0"}, "count of pieces"},
		{[]string{"Q+5"}, "count of pieces"},
		{[]string{"QMANY"}, "count of pieces"},
		{[]string{"Q5", "Q6"}, "both 5 and 6"},
		{[]string{"7Q5"}, "no unit"},
		{[]string{"7Q5ZZ"}, "not in our table"},
		{[]string{"7Q.FT"}, "not a number and a unit"},
		{[]string{"4LUSA"}, "two capital letters"},
		{[]string{"4Lus"}, "two capital letters"},
		{[]string{"1T"}, "has no value"},
		{[]string{"99Zx"}, "not in our table"},
		{[]string{"lower"}, "no data identifier"},
		{[]string{"1234A"}, "no data identifier"},
		{[]string{"1TA", "1TB"}, `says both "A" and "B"`},
	} {
		m := read(c.fields...)
		require.Len(t, m.Faults, 1, "%v", c.fields)
		require.Contains(t, m.Faults[0], c.says)
		m.Fields, m.Faults = nil, nil
		require.Equal(t, &MillTag{}, m, "%v: nothing is guessed", c.fields)
	}
	require.Empty(t, read("1TA", "1TB", "1TA").Heat, "two heats stay two")
}

func TestBareDataIdentifier(t *testing.T) {
	for typed, want := range map[string]MillTag{
		"1TH12345":    {Heat: "H12345"},
		"S0012":       {Bundle: "0012"},
		"16D20261125": {Rolled: "2026-11-25"},
		"Q40":         {Quantity: 40},
		"]C04LMX":     {Country: "MX"},
	} {
		scan, err := Read(typed)
		require.NoError(t, err)
		require.NotNil(t, scan.Mill, typed)
		require.Len(t, scan.Mill.Fields, 1)
		scan.Mill.Fields = nil
		require.Equal(t, want, *scan.Mill)
		require.True(t, strings.HasSuffix(typed, scan.Text), "the text stays for a look among heats and aliases")
	}
	for _, typed := range []string{"SALT", "QUANTITY", "1T", "4L123", "16DX", "Z100", "1Tlower", "S 12"} {
		scan, err := Read(typed)
		require.NoError(t, err)
		require.Nil(t, scan.Mill, typed)
	}
}
