package scan_test

import (
	"flag"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
)

var update = flag.Bool("update", false, "write the table of answers anew")

// TestAnswers keeps all answers in one table to read: what is said in both languages, what to do next,
// and who settles what a Check leaves, and how.
func TestAnswers(t *testing.T) {
	var b strings.Builder
	b.WriteString("# What a scan is answered\n\nWritten by `go test ./internal/scan -update` from the sentences that the program says. {0}, {1} ... are filled in.\n")
	cell := func(parts ...string) string {
		parts = slices.DeleteFunc(parts, func(s string) bool { return s == "" })
		text := gap.ReplaceAllStringFunc(strings.Join(parts, " "), func(g string) string { // as of several
			if m := gap.FindStringSubmatch(g); m[3] != "" {
				return strings.ReplaceAll(m[3], "#", "{"+m[1]+"}")
			}
			return g
		})
		return strings.ReplaceAll(text, "|", `\|`)
	}
	for _, v := range []struct {
		verdict event.Verdict
		title   string
	}{
		{event.Refused, "Refused: nothing is recorded but the refusal"},
		{event.Check, "Check: recorded, and a person should look"},
		{event.Accepted, "Accepted"},
	} {
		fmt.Fprintf(&b, "\n## %s\n\n", v.title)
		if v.verdict == event.Check {
			b.WriteString("| code | English | español | settled by | how |\n|---|---|---|---|---|\n")
		} else {
			b.WriteString("| code | English | español |\n|---|---|---|\n")
		}
		for _, code := range slices.Sorted(maps.Keys(scan.Sentences)) {
			s := scan.Sentences[code]
			if s.Verdict != v.verdict {
				continue
			}
			fmt.Fprintf(&b, "| %s | %s | %s |", code, cell(s.EN, s.NextEN), cell(s.ES, s.NextES))
			if v.verdict == event.Check {
				how := scan.Settles[code]
				fmt.Fprintf(&b, " %s | %s |", how.Office, cell(how.EN))
			}
			b.WriteString("\n")
		}
	}
	const golden = "testdata/answers.md"
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o755))
		require.NoError(t, os.WriteFile(golden, []byte(b.String()), 0o644))
	}
	want, err := os.ReadFile(golden)
	require.NoError(t, err)
	require.Equal(t, string(want), b.String(), "run go test ./internal/scan -update, and read the diff")
}
