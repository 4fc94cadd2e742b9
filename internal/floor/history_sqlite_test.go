package floor_test

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/export"
	"tagd/internal/heat"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// TestRecallInSQLite holds recalls against a program by others: sqlite3 searches the graph of the record,
// which is told from the events alone, with its recursive queries, and finds the same bundles, loads, lots
// and remnants. With TAGD_PEERS=1, as make test sets it, in 1,000 histories, and sqlite3 must be there; else
// in 60, and without sqlite3 it is left out, since go test ./... needs nothing but Go.
func TestRecallInSQLite(t *testing.T) {
	histories, missing := 60, t.Skip
	if os.Getenv("TAGD_PEERS") == "1" {
		histories, missing = 1000, t.Fatal
	}
	sqlite, err := exec.LookPath("sqlite3")
	if err != nil {
		missing("sqlite3 is not installed (in Debian: the package sqlite3)")
	}
	defer checksOf(t, histories)()
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		h := openHistory(t)
		defer h.Close()
		for range rapid.IntRange(20, 90).Draw(t, "steps") {
			h.step()
		}
		var keys []heat.Key
		for _, mill := range mills {
			for _, name := range heats {
				keys = append(keys, heat.Key{Mill: mill, Heat: name})
			}
		}
		table := filepath.Join(dir, "edges.csv")
		want := map[heat.Key][]string{}
		h.read(func(p *view.Past) {
			g := export.NewEdges()
			for seq := uint64(0); seq <= p.Head(); seq++ {
				g.Add(seq, p.Event(seq))
			}
			var b bytes.Buffer
			require.NoError(h, g.CSV(&b))
			require.NoError(h, os.WriteFile(table, b.Bytes(), 0o644))
			for _, k := range keys {
				want[k] = recalledNames(p.Recall(k.String()))
			}
		})
		got := searched(h, sqlite, table, keys)
		h.read(func(p *view.Past) {
			for _, k := range keys {
				// What is used up or was taken back has nothing to recall.
				found := slices.DeleteFunc(got[k], func(name string) bool {
					n, isLot := strings.CutPrefix(name, "lot ")
					if !isLot {
						return false
					}
					l, ok := p.Lot(parsed(h, n))
					return ok && (l.Gone || !l.Any())
				})
				require.Equal(h, append([]string{}, want[k]...), append([]string{}, found...), "%v", k)
			}
		})
	})
}

func parsed(t require.TestingT, text string) tags.Number {
	n, err := tags.ParseNumber(text)
	require.NoError(t, err)
	return n
}

// checksOf lets rapid make so many checks, unless somebody asked for another number, until undone.
func checksOf(t *testing.T, n int) (undo func()) {
	checks := flag.Lookup("rapid.checks").Value
	was := checks.String()
	if was == "100" || was == "150" { // as they are by themselves, and as TestHistories leaves them
		require.NoError(t, checks.Set(fmt.Sprint(n)))
	}
	return func() { require.NoError(t, checks.Set(was)) }
}

// recalledNames are the bundles, loads and lots of a recall.
func recalledNames(r view.Recall) (out []string) {
	for _, b := range r.Bundles {
		out = append(out, "bundle "+b.Number.String())
		if b.Load != 0 {
			out = append(out, "load "+b.Load.String())
		}
	}
	for _, l := range r.Lots {
		out = append(out, "lot "+l.Number.String())
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// searched asks sqlite3 for all that can be reached from each heat.
func searched(t require.TestingT, sqlite, table string, keys []heat.Key) map[heat.Key][]string {
	var script strings.Builder
	fmt.Fprintf(&script, ".mode csv\n.import %q edges\n.mode list\n.separator \"\\t\"\n", table)
	for i, k := range keys {
		fmt.Fprintf(&script, `WITH RECURSIVE down(kind, name) AS (VALUES('heat', '%s / %s')
  UNION SELECT to_kind, to_name FROM edges JOIN down ON from_kind = kind AND from_name = name)
SELECT %d, kind || ' ' || name FROM down WHERE kind IN ('bundle', 'load', 'lot') ORDER BY 2;`+"\n", k.Mill, k.Heat, i)
	}
	c := exec.Command(sqlite, "-batch", "-bail", ":memory:")
	c.Stdin = strings.NewReader(script.String())
	var wrong bytes.Buffer
	c.Stderr = &wrong
	b, err := c.Output()
	require.NoError(t, err, wrong.String())
	out := map[heat.Key][]string{}
	for line := range strings.Lines(string(b)) {
		i, name, ok := strings.Cut(strings.TrimSpace(line), "\t")
		require.True(t, ok, line)
		var at int
		_, err := fmt.Sscan(i, &at)
		require.NoError(t, err)
		out[keys[at]] = append(out[keys[at]], name)
	}
	return out
}
