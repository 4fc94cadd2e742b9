package tags

import (
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The example of the package comment.
const example = "HTTPS://TAGS.EXAMPLE/T/10010000004205/C2/J24-118/L3/MB1204/S%235/N40/HH12345/H01E5"

var exampleTag = Tag{Number: 10010000004205, Copy: 2, Job: "24-118", List: "3", Mark: "B1204", Size: "#5", Count: 40, Heats: []string{"H12345", "01E5"}}

func TestFormat(t *testing.T) {
	for _, c := range []struct {
		host string
		tag  Tag
		want string
	}{
		{"tags.example", exampleTag, example},
		{"TAGS.EXAMPLE:8080", Tag{Number: 10010000004205}, "HTTPS://TAGS.EXAMPLE:8080/T/10010000004205"},
		{"192.0.2.7", Tag{Number: 10010000004205, Job: "a/ñ %", Mark: ".."}, "HTTPS://192.0.2.7/T/10010000004205/J%61%2F%C3%B1%20%25/M.."},
	} {
		s, err := Format(c.host, c.tag)
		require.NoError(t, err)
		require.Equal(t, c.want, s)
		host, back, err := Parse(s)
		require.NoError(t, err)
		require.Equal(t, strings.ToUpper(c.host), host)
		require.Equal(t, c.tag, back)
	}
}

func TestFormatRefuses(t *testing.T) {
	load, err := New(Load, 1, 1)
	require.NoError(t, err)
	stock, err := New(Stock, 1, 1)
	require.NoError(t, err)
	bundle := exampleTag.Number
	for _, c := range []struct {
		host string
		tag  Tag
		says string
	}{
		{"", exampleTag, "1 to 63 characters"},
		{"a..b", exampleTag, "1 to 63 characters"},
		{"[::1]", exampleTag, "port"},
		{"fe80--1_2", exampleTag, "letters and digits"},
		{"-a.example", exampleTag, "hyphens between"},
		{"büro.example", exampleTag, "letters and digits"},
		{"tags.example:0", exampleTag, "port"},
		{"tags.example:080", exampleTag, "port"},
		{"tags.example:65536", exampleTag, "port"},
		{strings.Repeat("a.", 200) + "a", exampleTag, "too long"},
		{"a", Tag{}, "valid number"},
		{"a", Tag{Number: 10010000004206}, "valid number"},
		{"a", Tag{Number: bundle, Copy: MaxCopy + 1}, "copy 10000"},
		{"a", Tag{Number: bundle, Copy: -1}, "copy -1"},
		{"a", Tag{Number: bundle, Count: MaxCount + 1}, "count"},
		{"a", Tag{Number: bundle, Job: strings.Repeat("x", MaxValue+1)}, "job"},
		{"a", Tag{Number: bundle, Mark: "a\nb"}, "mark"},
		{"a", Tag{Number: bundle, List: "\xff"}, "bar list"},
		{"a", Tag{Number: bundle, Heats: []string{"A", ""}}, "heat"},
		{"a", Tag{Number: bundle, Heats: make([]string, MaxHeats+1)}, "40 heats"},
		{"a", Tag{Number: bundle, Heats: []string{strings.Repeat("é", 32), strings.Repeat("é", 32), strings.Repeat("é", 32), strings.Repeat("é", 32), strings.Repeat("é", 32), strings.Repeat("é", 32)}}, "fewer heats"},
		{"a", Tag{Number: load, Job: "1"}, "a load tag has no job"},
		{"a", Tag{Number: stock, Mark: "1"}, "a stock tag has no mark"},
	} {
		s, err := Format(c.host, c.tag)
		require.ErrorContains(t, err, c.says, "%+v", c)
		require.Empty(t, s)
	}
}

func TestParseRefuses(t *testing.T) {
	const head = "HTTPS://TAGS.EXAMPLE/T/10010000004205"
	for _, s := range []string{
		"", "HTTPS://", "HTTPS:///T/10010000004205", "HTTP://TAGS.EXAMPLE/T/10010000004205",
		"https://tags.example/t/10010000004205", "HTTPS://tags.EXAMPLE/T/10010000004205",
		"HTTPS://TAGS.EXAMPLE/X/T/10010000004205",
		"HTTPS://TAGS.EXAMPLE/T/1-001-00000042-05", "HTTPS://TAGS.EXAMPLE/T/10010000004206",
		head + "/", head + "//", head + "/C", head + "/C0", head + "/C01", head + "/C+1", head + "/C1/C2", head + "/C9999999999999999999",
		head + "/N5/C1", head + "/MA/JB", head + "/M", head + "/Mb", head + "/M B", head + "/MA%", head + "/MA%2", head + "/MA%2f", head + "/M%41",
		head + "/M%FF", head + "/M%0A", head + "/HA/N1", head + "/X1", head + "/MA#", head + "/MA\n", head + "?C1",
		head + "/M" + strings.Repeat("A", MaxText),
	} {
		host, tag, err := Parse(s)
		require.Error(t, err, "%q", s)
		require.Empty(t, host)
		require.Equal(t, Tag{}, tag)
	}
}

func anyTag(t *rapid.T) Tag {
	value := func(name string) string {
		return rapid.OneOf(rapid.Just(""), rapid.StringMatching(`[ -~ñÁ°½]{1,12}`)).Draw(t, name)
	}
	tag := Tag{Number: anyNumber(t), Copy: rapid.IntRange(0, 3).Draw(t, "copy")}
	switch tag.Number.Kind() {
	case Bundle, Assembly:
		tag.Job, tag.List, tag.Mark = value("job"), value("list"), value("mark")
		fallthrough
	case Stock:
		tag.Size, tag.Count = value("size"), rapid.IntRange(0, MaxCount).Draw(t, "count")
		for range rapid.IntRange(0, 4).Draw(t, "heats") {
			tag.Heats = append(tag.Heats, "H"+value("heat"))
		}
	}
	return tag
}

// What is formatted parses to the same tag, holds only QR's 45 characters, and is a URL of which
// net/url, written by others, decodes every segment to the value.
func TestTextRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tag := anyTag(t)
		s, err := Format("Tags.Example:443", tag)
		require.NoError(t, err)
		host, back, err := Parse(s)
		require.NoError(t, err)
		require.Equal(t, "TAGS.EXAMPLE:443", host)
		require.Equal(t, tag, back)
		require.Empty(t, strings.Trim(s, "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$%*+-./:"))

		u, err := url.Parse(s)
		require.NoError(t, err)
		require.Equal(t, "TAGS.EXAMPLE:443", u.Host)
		want := []string{"T", tag.Number.Digits()}
		for _, f := range []struct{ letter, value string }{{"J", tag.Job}, {"L", tag.List}, {"M", tag.Mark}, {"S", tag.Size}} {
			if f.value != "" {
				want = append(want, f.letter+f.value)
			}
		}
		for _, heat := range tag.Heats {
			want = append(want, "H"+heat)
		}
		var got []string
		for _, segment := range strings.Split(u.EscapedPath(), "/")[1:] {
			if value, err := url.PathUnescape(segment); err != nil {
				t.Fatal(err)
			} else if value[0] != 'C' && value[0] != 'N' {
				got = append(got, value)
			}
		}
		require.Equal(t, want, got)
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{example, "HTTPS://A/T/10010000004205", "HTTPS://192.0.2.7:81/T/10010000004205/J%61%2F%C3%B1%20%25/M..", "HTTPS://A/T/10010000004205/C01", "HTTPS://A/T/10010000004205/N4/M1"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		host, tag, err := Parse(s)
		if err != nil {
			require.Equal(t, Tag{}, tag)
			return
		}
		again, err := Format(host, tag)
		require.NoError(t, err)
		require.Equal(t, s, again)
	})
}
