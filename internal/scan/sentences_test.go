package scan_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/scan"
)

var gap = regexp.MustCompile(`\{(\d+)(?:\|([^{}|]*)\|([^{}|]*))?\}`)

func gaps(texts ...string) (out []string) {
	for _, t := range texts {
		for _, m := range gap.FindAllStringSubmatch(t, -1) {
			out = append(out, m[1])
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// TestSentences: every answer is a sentence in both languages, with the same gaps, and a refusal says
// what to do next.
func TestSentences(t *testing.T) {
	nothingToDo := []string{"not on a load", "too many"}
	for code, s := range scan.Sentences {
		t.Run(code, func(t *testing.T) {
			for _, text := range []string{s.EN, s.ES, s.NextEN, s.NextES} {
				if text != "" {
					require.Regexp(t, `^[¿A-ZÁÉÍÓÚ{].*[.?:}]$`, text)
					require.Equal(t, strings.TrimSpace(text), text)
				}
			}
			require.NotEmpty(t, s.EN)
			require.NotEqual(t, s.EN == "{0}: {1}.", s.EN != s.ES, "not translated")
			require.Equal(t, s.NextEN == "", s.NextES == "")
			require.Equal(t, gaps(s.EN, s.NextEN), gaps(s.ES, s.NextES))
			require.NotEqual(t, event.Kept, s.Verdict)
			if s.Verdict == event.Refused && !slices.Contains(nothingToDo, code) {
				require.NotEmpty(t, s.NextEN)
			}
		})
	}
}

// TestEveryCodeIsASentence reads the codes out of the source: each is in the table with the verdict
// that it is used for, with as many things as its gaps need, and none stands there unused.
func TestEveryCodeIsASentence(t *testing.T) {
	fset := token.NewFileSet()
	pkgs, err := parser.ParseDir(fset, ".", func(f fs.FileInfo) bool { return !strings.HasSuffix(f.Name(), "_test.go") }, 0)
	require.NoError(t, err)
	verdicts := map[string]event.Verdict{"Accepted": event.Accepted, "Check": event.Check, "Refused": event.Refused}
	used := map[string]bool{}
	for _, f := range pkgs["scan"].Files {
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			name := ""
			switch fun := call.Fun.(type) {
			case *ast.Ident:
				name = fun.Name
			case *ast.SelectorExpr:
				name = fun.Sel.Name
			}
			// before is how many arguments stand before the code; free, how many gaps are filled by others.
			before, free := 1, 0
			want := []event.Verdict{event.Check}
			switch name {
			case "refuse":
				want = []event.Verdict{event.Refused}
			case "stop":
				if len(call.Args) > 0 { // of stops; ship has another stop
					if _, ok := call.Args[0].(*ast.BasicLit); !ok {
						return true
					}
				}
				before, want = 0, []event.Verdict{event.Refused}
			case "found":
				before, free, want = 0, 1, []event.Verdict{event.Accepted}
			case "note":
				before, want = 0, []event.Verdict{event.Accepted}
			case "answer":
				if v, ok := call.Args[0].(*ast.SelectorExpr); ok {
					want = []event.Verdict{verdicts[v.Sel.Name]}
				}
			case "look":
			default:
				return true
			}
			lit, ok := call.Args[before].(*ast.BasicLit)
			if !ok || call.Ellipsis.IsValid() {
				return true
			}
			code, err := strconv.Unquote(lit.Value)
			require.NoError(t, err)
			where := fset.Position(call.Pos()).String()
			s, ok := scan.Sentences[code]
			require.True(t, ok, "%s: %q is no sentence", where, code)
			require.Contains(t, want, s.Verdict, "%s: %q", where, code)
			used[code] = true
			filled := len(call.Args) - before - 1 + free
			for _, g := range gaps(s.EN, s.NextEN) {
				n, _ := strconv.Atoi(g)
				require.Less(t, n, filled, "%s: %q leaves {%s} unfilled", where, code, g)
			}
			return true
		})
	}
	for code := range scan.Sentences {
		require.True(t, used[code], "%q is used nowhere", code)
	}
	require.Greater(t, len(used), 80)
	for code := range scan.Sentences {
		require.Contains(t, event.Codes, code, "it has no number to be stored by")
	}
}

// TestAnswersLeaveNoGap: in both languages, no answer of any case has a gap left, nor a word of the
// shop untranslated.
func TestAnswersLeaveNoGap(t *testing.T) {
	english := regexp.MustCompile(`\b(unknown|nothing|none|bundle|stock|loadout|bend|single|pieces|copy|melt|roll|the|and|next|left on)\b`)
	for _, c := range table {
		p := shop()
		if c.past != nil {
			c.past(p)
		}
		for _, n := range scan.Decide(p, rules(), c.scan).Answer.Notes {
			for _, lang := range []scan.Lang{scan.English, scan.Spanish} {
				says, next := scan.Say(n, lang)
				require.NotContains(t, says+next, "{", c.name)
				require.NotContains(t, says+next, "%!", c.name)
				if lang == scan.Spanish {
					require.NotRegexp(t, english, says+" "+next, c.name)
				}
			}
		}
	}
}

// TestPlural: one thing is said as one, in both languages, and a gap is well formed: no brace is left when
// all are taken out, and the two forms of one differ.
func TestPlural(t *testing.T) {
	for code, s := range scan.Sentences {
		for _, text := range []string{s.EN, s.ES, s.NextEN, s.NextES} {
			require.NotRegexp(t, `[{}|#]`, gap.ReplaceAllString(text, ""), code)
			for _, m := range gap.FindAllStringSubmatch(text, -1) {
				require.True(t, strings.HasSuffix(m[0], m[1]+"}") || m[2] != m[3] && m[3] != "", "%s: %s", code, m[0])
			}
		}
	}
	for _, c := range []struct {
		says             event.Note
		english, spanish string
	}{
		{event.Note{Code: "returned", Args: []string{"B", "L", "1", "loadout"}}, "B is back from load L, with 1 piece.", "B regresó de la carga L, con 1 pieza."},
		{event.Note{Code: "returned", Args: []string{"B", "L", "12", "loadout"}}, "B is back from load L, with 12 pieces.", "B regresó de la carga L, con 12 piezas."},
		{event.Note{Code: "shipped", Args: []string{"L", "1", "2 lb"}}, "Load L left with 1 bundle, 2 lb.", "La carga L salió con 1 atado, 2 lb."},
		{event.Note{Code: "more back than went", Args: []string{"1", "11"}}, "11 pieces came back; 1 went.", "Regresaron 11 piezas; salió 1."},
	} {
		english, _ := scan.Say(c.says, scan.English)
		spanish, _ := scan.Say(c.says, scan.Spanish)
		require.Equal(t, []string{c.english, c.spanish}, []string{english, spanish})
	}
	one := regexp.MustCompile(`(^|[^/\d.])\b1 (pieces|bundles|bars|runs|piezas|atados|barras|corridas)\b`)
	for _, c := range table {
		p := shop()
		if c.past != nil {
			c.past(p)
		}
		for _, n := range scan.Decide(p, rules(), c.scan).Answer.Notes {
			for _, lang := range []scan.Lang{scan.English, scan.Spanish} {
				says, next := scan.Say(n, lang)
				require.NotRegexp(t, one, says+" "+next, c.name)
			}
		}
	}
}

// TestSay: what a note that no program knows any more says.
func TestSay(t *testing.T) {
	says, next := scan.Say(event.Note{Code: "gone by", Args: []string{"a", "b"}}, scan.Spanish)
	require.Equal(t, "gone by a, b", says)
	require.Empty(t, next)
	says, next = scan.Say(event.Note{Code: "not ready", Args: []string{"M1 1/2", "bend", "Bender 1"}}, scan.Spanish)
	require.Equal(t, "A M1 1/2 todavía le falta: doblar.", says)
	require.Equal(t, "Llévelo a: Bender 1.", next)
}
