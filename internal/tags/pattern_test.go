package tags

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Patterns of invented mills.
const (
	dashed  = `(?P<heat>[0-9]{7})-(?P<size>[0-9]{2})-(?P<length>[0-9]{2})-(?P<bars>[0-9]{1,4})`
	slashed = `EX/(?P<bundle>[0-9]+)(?:/(?P<weight>[0-9]+ lb))?/(?P<grade>[0-9]+)`
)

func pattern(t testing.TB, mill, expr string) Pattern {
	p, err := CompilePattern(mill, expr)
	require.NoError(t, err)
	return p
}

func TestPattern(t *testing.T) {
	r := Reader{Wedge: Wedge{GS: "|"}, Patterns: []Pattern{
		pattern(t, " Example Mill ", dashed), pattern(t, "Sample Steel", slashed), pattern(t, "Third Mill", `K(?P<heat>[0-9]{5}-[0-9]{2})`),
		pattern(t, "Fourth Mill", `Z(?P<heat>[0-9]+)\x1d(?P<bundle>[0-9]+)`), pattern(t, "Fifth Mill", `\[\)>06(?P<heat>[0-9]{3})`),
		pattern(t, "Sixth Mill", `a(?P<heat>1)|b(?P<bundle>2)|c(?P<heat>3)|(?P<heat>d)(?P<heat>e)(?P<bundle>f)`), pattern(t, "Seventh Mill", `LOT(?P<heat>[0-9]{14})`),
		pattern(t, "Eighth Mill", `C(?P<heat>[0-9]*)(?P<bars>[A-Z]+)`),
	}}
	for _, c := range []struct {
		text string
		want MillTag
		meta []string // meaning and value of the fields
	}{
		{"0041893-05-60-40", MillTag{Supplier: "Example Mill", Heat: "0041893", Size: "05", Length: "60", Quantity: 40}, []string{"heat 0041893", "size 05", "length 60", "bars 40"}},
		{" ]C00041893-05-60-0040\r\n", MillTag{Supplier: "Example Mill", Heat: "0041893", Size: "05", Length: "60", Quantity: 40}, []string{"heat 0041893", "size 05", "length 60", "bars 0040"}},
		{"EX/17/4250 lb/60", MillTag{Supplier: "Sample Steel", Bundle: "17", Weight: "4250 lb", Grade: "60"}, []string{"bundle 17", "weight 4250 lb", "grade 60"}},
		{"EX/17/60", MillTag{Supplier: "Sample Steel", Bundle: "17", Grade: "60"}, []string{"bundle 17", "grade 60"}},
		// K is the data identifier of an order, and alone it finds no steel.
		{"K00418-93", MillTag{Supplier: "Third Mill", Heat: "00418-93"}, []string{"heat 00418-93"}},
		{"Z12|34", MillTag{Supplier: "Fourth Mill", Heat: "12", Bundle: "34"}, []string{"heat 12", "bundle 34"}},
		// An envelope whose separators are lost has an error of its own, unless a pattern is there for it.
		{"[)>06123", MillTag{Supplier: "Fifth Mill", Heat: "123"}, []string{"heat 123"}},
		{"c3", MillTag{Supplier: "Sixth Mill", Heat: "3"}, []string{"heat 3"}},
		{"b2", MillTag{Supplier: "Sixth Mill", Bundle: "2"}, []string{"bundle 2"}},
		// The digits happen to be a number of ours; the pattern fits the whole of the text.
		{"LOT10010000004205", MillTag{Supplier: "Seventh Mill", Heat: "10010000004205"}, []string{"heat 10010000004205"}},
	} {
		scan, err := r.Read(c.text)
		require.NoError(t, err, c.text)
		require.NotNil(t, scan.Mill, c.text)
		require.Zero(t, scan.Number)
		var meta []string
		for _, f := range scan.Mill.Fields {
			require.Empty(t, f.DI)
			meta = append(meta, f.Meaning+" "+f.Value)
		}
		require.Equal(t, c.meta, meta)
		require.NotEmpty(t, scan.Mill.Pattern)
		got := *scan.Mill
		got.Fields, got.Pattern = nil, ""
		require.Equal(t, c.want, got, c.text)
	}

	// What says no count is told of, and the rest is read.
	scan, err := r.Read("C7X")
	require.NoError(t, err)
	require.Equal(t, "7", scan.Mill.Heat)
	require.Len(t, scan.Mill.Faults, 1)

	// A name may stand in each branch; one that says two things at once says nothing.
	scan, err = r.Read("def")
	require.NoError(t, err)
	require.Equal(t, "f", scan.Mill.Bundle)
	require.Empty(t, scan.Mill.Heat)
	require.Equal(t, []string{`heat is both "d" and "e"`}, scan.Mill.Faults)

	// What comes first, and what fits none.
	wide := Reader{Patterns: []Pattern{pattern(t, "Example Mill", `(?s)(?P<heat>.*)`)}}
	for _, text := range []string{"10010000004205", "1-001-00000042-05", example, strings.ToLower(example)} {
		scan, err := wide.Read(text)
		require.NoError(t, err)
		require.Equal(t, "1-001-00000042-05", scan.Number.String())
	}
	// Envelope and bare field as in ANSI MH10.8.2: data identifiers stand before any pattern.
	for _, text := range []string{row60, "]C1" + row60, "]Q3" + row60, "1TH12345"} {
		scan, err := wide.Read(text)
		require.NoError(t, err)
		require.Equal(t, "H12345", scan.Mill.Heat)
		require.Empty(t, scan.Mill.Pattern)
	}
	for _, text := range []string{"0041893-05-60-40x", "x0041893-05-60-40", "0041893-05-60-40\n0041893-05-60-40", "EX/17", "CX"} {
		scan, err := r.Read(text)
		require.NoError(t, err)
		require.Nil(t, scan.Mill, text)
	}
	scan, err = wide.Read(strings.Repeat("x", maxPatternText+1))
	require.NoError(t, err)
	require.Nil(t, scan.Mill)
}

func TestCompilePatternRefuses(t *testing.T) {
	for _, c := range []struct{ mill, expr, says string }{
		{" ", `(?P<heat>.+)`, "has no mill"},
		{"M", ``, "is empty; write a regular expression"},
		{"M", `(?P<heat>.+`, "missing closing ): `(?P<heat>.+`; write one as"},
		{"M", `(?P<heat>.+)\`, "trailing backslash"},
		{"M", `(?P<heat>a))|((?P<bundle>b)`, "unexpected )"},
		{"M", `(?P<heat>a)\Qb`, "is no regular expression"},
		{"M", `(?P<heat>a)(?=b)`, "invalid or unsupported Perl syntax"},
		{"M", `(?P<heat>a)(b)`, "has a group without a name"},
		{"M", `(?P<heat>a)(?P<colour>b)`, "has a group colour, which says nothing of steel; the names are heat, size, length, bars, weight, bundle, grade"},
		{"M", `(?P<size>a)`, "names neither heat nor bundle"},
		{"M", `abc`, "names neither heat nor bundle"},
		{"M", `(?P<heat>` + strings.Repeat("a", maxPattern) + `)`, "400 are the most"},
		{"M", `(?P<heat>.{1000}.{1000}.{1000}.{1000}.{1000})`, "asks for too much"},
	} {
		p, err := CompilePattern(c.mill, c.expr)
		require.ErrorContains(t, err, c.says, c.expr)
		require.Zero(t, p)
	}
}

func FuzzPattern(f *testing.F) {
	for _, s := range []struct{ expr, text string }{
		{dashed, "0041893-05-60-40"}, {slashed, "EX/17/4250 lb/60"}, {`(?P<heat>(?:a*)*)`, "aaaaaaaaaaaaaaaab"}, {`(?i)(?P<bundle>\pL{1,20})`, "ß"},
		{`(?P<heat>\Qa)`, "a"}, {`(?m)^(?P<heat>.)$`, "a\nb"}, {`(?P<heat>.{500})(?P<bars>.*)`, strings.Repeat("9", 499)}, {`(?P<heat>)`, ""},
	} {
		f.Add(s.expr, s.text)
	}
	f.Fuzz(func(t *testing.T, expr, text string) {
		p, err := CompilePattern("Example Mill", expr)
		if err != nil {
			require.Zero(t, p)
			return
		}
		scan, err := Reader{Patterns: []Pattern{p}}.Read(text)
		if err != nil || scan.Mill == nil || scan.Mill.Pattern == "" {
			return
		}
		m := scan.Mill
		require.Equal(t, expr, m.Pattern)
		require.Equal(t, "Example Mill", m.Supplier)
		require.NotEmpty(t, m.Heat+m.Bundle)
		require.LessOrEqual(t, len(scan.Text), maxPatternText)
		for _, f := range m.Fields {
			require.Contains(t, scan.Text, f.Value)
			require.Contains(t, PatternGroups, f.Meaning)
		}
	})
}
