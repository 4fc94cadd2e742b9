package event_test

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
)

func TestCleanText(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "  ": "", " a  b\tc\nd ": "a b c d", "01E5": "01E5", "Acería Ñ #5": "Acería Ñ #5", "a\u00a0b": "a b", strings.Repeat("ñ", 20): strings.Repeat("ñ", 20),
	} {
		got, err := event.CleanText("note", in, 20)
		require.NoError(t, err, "%q", in)
		require.Equal(t, want, got)
	}
	for in, says := range map[string]string{
		"a\x00b": "cannot be printed", "a\u200bb": "cannot be printed", "\ufeffa": "cannot be printed", "a\xffb": "no UTF-8 text",
		strings.Repeat("ñ", 21): "21 characters; 20 are the most", "a\x1fb": "cannot be printed",
	} {
		got, err := event.CleanText("note", in, 20)
		var r *event.Refusal
		require.ErrorAs(t, err, &r, "%q", in)
		require.Equal(t, "note", r.Field)
		require.Contains(t, r.Says, says)
		require.Empty(t, got)
	}
}

func TestCleanLines(t *testing.T) {
	got, err := event.CleanLines("ship_to", []string{" 1 Example Rd ", "", "Sampletown"})
	require.NoError(t, err)
	require.Equal(t, []string{"1 Example Rd", "", "Sampletown"}, got)
	_, err = event.CleanLines("ship_to", make([]string, 7))
	require.EqualError(t, err, "ship_to: has 7 lines of an address; 6 are the most")
	_, err = event.CleanLines("ship_to", []string{"ok", strings.Repeat("x", 101)})
	require.ErrorContains(t, err, "ship_to: has 101 characters")
	got, err = event.CleanLines("ship_to", nil)
	require.NoError(t, err)
	require.Nil(t, got)
}

func TestCleanCountry(t *testing.T) {
	for in, want := range map[string]string{"": "", " us ": "US", "ES": "ES"} {
		got, err := event.CleanCountry("melted", in)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	for _, in := range []string{"U", "USA", "U1", "Ñ", "ß"} {
		_, err := event.CleanCountry("melted", in)
		require.ErrorContains(t, err, "ISO 3166 has two letters", in)
	}
}

// FuzzCleanText: what is clean stays as it is, is short enough, and can be written and read back.
func FuzzCleanText(f *testing.F) {
	for _, s := range []string{"", " a  b ", "a\x00", "\xff", "ñandú", "\u202eabc", strings.Repeat("x", 51)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		got, err := event.CleanText("note", s, 50)
		if err != nil {
			require.Empty(t, got)
			return
		}
		again, err := event.CleanText("note", got, 50)
		require.NoError(t, err)
		require.Equal(t, got, again)
		require.LessOrEqual(t, utf8.RuneCountInString(got), 50)
		require.False(t, strings.ContainsFunc(got, unicode.IsControl))
		_, err = event.Decode(encoded(t, event.Event{Body: event.PlaceMade{Name: got}}))
		require.NoError(t, err)
	})
}
