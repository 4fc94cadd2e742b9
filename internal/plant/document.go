package plant

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"
)

const (
	maxBytes  = 60 << 10 // the text is recorded as one event, which has 64 kB at most
	maxFaults = 50
	maxDepth  = 4 // of keys whose place is noted; a setting has three parts at most
)

// document is a TOML file as a tree, with the place of every key and the faults found so far.
type document struct {
	tree   map[string]any
	at     map[string]place // by path
	faults Faults
}

// readDocument reads a file. Its own faults, if any, are those that leave no tree to look at.
func readDocument(data []byte) (*document, Faults) {
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // as some editors write it
	d := &document{tree: map[string]any{}, at: map[string]place{}}
	switch {
	case len(data) > maxBytes:
		return nil, Faults{{Says: fmt.Sprintf("the file is larger than %d kB, and no settings are", maxBytes>>10)}}
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		return nil, Faults{{Says: "the file is UTF-16; save it as UTF-8"}}
	case !utf8.Valid(data):
		return nil, Faults{{Line: 1 + bytes.Count(data[:badByte(data)], []byte("\n")), Says: "a character that is not UTF-8; save the file as UTF-8"}}
	}
	if err := toml.Unmarshal(data, &d.tree); err != nil {
		f := Fault{Says: strings.TrimPrefix(err.Error(), "toml: ") + "; a line is a [table], or key = value with text in \"quotes\""}
		var de *toml.DecodeError
		if errors.As(err, &de) {
			f.Line, f.Column = de.Position()
			f.Key = strings.Join(de.Key(), ".")
		}
		return nil, Faults{f}
	}
	d.locate(data)
	return d, nil
}

func badByte(b []byte) int {
	i := 0
	for i < len(b) {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			break
		}
		i += n
	}
	return i
}

// place is where a key begins.
type place struct{ line, column int }

// locate notes where each key stands. Decoding has taken the file already, so it parses. The tables
// of an array are numbered from 1, as a person counts them: "station 2".
func (d *document) locate(data []byte) {
	starts := []int{0} // of lines
	for i, c := range data {
		if c == '\n' {
			starts = append(starts, i+1)
		}
	}
	of := func(n *unstable.Node) place {
		offset := int(n.Raw.Offset)
		line, found := slices.BinarySearch(starts, offset)
		if !found {
			line--
		}
		return place{line + 1, offset - starts[line] + 1}
	}

	counts := map[string]int{} // of tables in an array
	note := func(under string, keys unstable.Iterator) (path string, last place) {
		for range maxDepth {
			if !keys.Next() {
				break
			}
			if n := counts[under]; n > 0 {
				under = numbered(under, n)
			}
			last = of(keys.Node())
			under = join(under, string(keys.Node().Data))
			if _, ok := d.at[under]; !ok {
				d.at[under] = last
			}
		}
		return under, last
	}
	var inside func(under string, n *unstable.Node, depth int)
	inside = func(under string, n *unstable.Node, depth int) {
		if depth > maxDepth {
			return
		}
		i := 0
		for c := n.Children(); c.Next(); {
			switch n.Kind {
			case unstable.KeyValue: // the value, then the parts of the key
				path, _ := note(under, n.Key())
				inside(path, n.Value(), depth+1)
				return
			case unstable.InlineTable:
				inside(under, c.Node(), depth+1)
			case unstable.Array:
				i++
				d.at[numbered(under, i)] = d.at[under]
				inside(numbered(under, i), c.Node(), depth+1)
			}
		}
	}

	var p unstable.Parser
	p.Reset(data)
	table := ""
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table:
			table, _ = note("", e.Key())
		case unstable.ArrayTable:
			path, last := note("", e.Key())
			counts[path]++
			table = numbered(path, counts[path])
			d.at[table] = last
		default:
			inside(table, e, 1)
		}
	}
}

func numbered(path string, n int) string { return path + " " + strconv.Itoa(n) }

// join puts a key under a path.
func join(path, key string) string {
	bare := key != ""
	for i := range len(key) {
		c := key[i]
		bare = bare && (c == '_' || c == '-' || '0' <= c && c <= '9' || 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z')
	}
	if !bare {
		key = strconv.Quote(key)
	}
	if path == "" {
		return key
	}
	return path + "." + key
}

// fault notes what is wrong at a path, at its own place or else at that of the table it is in.
func (d *document) fault(path, format string, args ...any) {
	at, ok := d.at[path]
	for up := path; !ok && up != ""; {
		up = up[:max(strings.LastIndexByte(up, '.'), 0)]
		at, ok = d.at[up]
	}
	d.faults = append(d.faults, Fault{at.line, at.column, path, fmt.Sprintf(format, args...)})
}

// all gives the faults in the order of the file, the first ones and how many more.
func (d *document) all() Faults {
	slices.SortStableFunc(d.faults, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	if n := len(d.faults); n > maxFaults {
		return append(d.faults[:maxFaults:maxFaults], Fault{Says: fmt.Sprintf("and %d more faults", n-maxFaults)})
	}
	return d.faults
}

// table is one table of a document, and of the default file, which has the values left out.
type table struct {
	doc      *document
	path     string // "" is the file itself
	values   map[string]any
	defaults map[string]any
}

// in gives the table of that key, empty where the file has none, and refuses keys that are not
// known. With no known keys, any is.
func (t table) in(key string, known ...string) table {
	sub := table{doc: t.doc, path: join(t.path, key)}
	sub.defaults, _ = t.defaults[key].(map[string]any)
	v, ok := t.values[key]
	if !ok {
		return sub
	}
	if sub.values, ok = v.(map[string]any); !ok {
		t.doc.fault(sub.path, "is a table: write [%s] on a line of its own and its keys below", key)
		return sub
	}
	sub.only(known)
	return sub
}

// only refuses the keys that are not known.
func (t table) only(known []string) {
	if len(known) == 0 {
		return
	}
	for _, k := range t.keys() {
		if !slices.Contains(known, k) {
			what := "[" + t.path + "] has "
			if t.path == "" {
				what = "the file has the tables "
			}
			t.doc.fault(join(t.path, k), "is no setting; %s%s", what, strings.Join(known, ", "))
		}
	}
}

// keys gives the keys of the file itself in its order.
func (t table) keys() []string {
	keys := slices.Collect(maps.Keys(t.values))
	slices.SortFunc(keys, func(a, b string) int {
		x, y := t.doc.at[join(t.path, a)], t.doc.at[join(t.path, b)]
		return cmp.Or(cmp.Compare(x.line, y.line), cmp.Compare(x.column, y.column))
	})
	return keys
}

// has says whether the file itself has the key.
func (t table) has(key string) bool { _, ok := t.values[key]; return ok }

func (t table) value(key string) any {
	if v, ok := t.values[key]; ok {
		return v
	}
	return t.defaults[key]
}

// fault notes what is wrong with a key.
func (t table) fault(key, format string, args ...any) {
	t.doc.fault(join(t.path, key), format, args...)
}

// text gives a text without blanks around it, of at most most characters, all printable.
func (t table) text(key string, most int) (string, bool) {
	s, ok := t.value(key).(string)
	if !ok {
		t.fault(key, "is text: write it in \"quotes\"")
		return "", false
	}
	return t.clean(key, s, most)
}

func (t table) clean(key, s string, most int) (string, bool) {
	s = strings.TrimSpace(s)
	switch {
	case utf8.RuneCountInString(s) > most:
		t.fault(key, "has %d characters; %d are the most", utf8.RuneCountInString(s), most)
	case strings.ContainsFunc(s, func(r rune) bool { return !strconv.IsPrint(r) }):
		t.fault(key, "has a character that cannot be printed: %q", s)
	default:
		return s, true
	}
	return "", false
}

// texts gives a list of texts; whole numbers are taken for text, as people number pockets.
func (t table) texts(key string, most, each int) ([]string, bool) {
	v := t.value(key)
	if v == nil {
		return nil, true
	}
	list, ok := v.([]any)
	if !ok {
		t.fault(key, "is a list: write it as [\"one\", \"two\"]")
		return nil, false
	}
	if len(list) > most {
		t.fault(key, "has %d entries; %d are the most", len(list), most)
		return nil, false
	}
	var out []string
	good := true
	for _, v := range list {
		s, ok := v.(string)
		if n, isInt := v.(int64); isInt {
			s, ok = strconv.FormatInt(n, 10), true
		}
		if !ok {
			t.fault(key, "is a list of texts: write each in \"quotes\"")
			return nil, false
		}
		if s, ok = t.clean(key, s, each); !ok {
			good = false
		} else if slices.Contains(out, s) {
			t.fault(key, "has %q twice", s)
			good = false
		}
		out = append(out, s)
	}
	return out, good
}

// whole gives a whole number from least to most.
func (t table) whole(key string, least, most int64) int {
	n, ok := t.value(key).(int64)
	if !ok || n < least || n > most {
		t.fault(key, "is a whole number from %d to %d, without quotes", least, most)
		return 0
	}
	return int(n)
}

// yes gives true or false.
func (t table) yes(key string) bool {
	yes, ok := t.value(key).(bool)
	if !ok {
		t.fault(key, "is true or false, without quotes")
	}
	return yes
}

// parsed gives what parse makes of a text.
func parsed[T any](t table, key string, parse func(string) (T, error)) (T, bool) {
	var none T
	s, ok := t.text(key, 80)
	if !ok {
		return none, false
	}
	v, err := parse(s)
	if err != nil {
		t.fault(key, "%v", err)
		return none, false
	}
	return v, true
}

// duration gives a time from least to most.
func (t table) duration(key string, least, most time.Duration) time.Duration {
	d, _ := parsed(t, key, func(s string) (time.Duration, error) {
		d, err := time.ParseDuration(strings.ReplaceAll(s, " ", ""))
		if err != nil || d < least || d > most {
			return 0, fmt.Errorf("%q is no time from %v to %v; write figure and unit, as \"500ms\", \"3s\" or \"1m\"", s, least, most)
		}
		return d, nil
	})
	return d
}

// oneOf gives one of some words.
func (t table) oneOf(key string, words ...string) (string, bool) {
	return parsed(t, key, func(s string) (string, error) {
		if !slices.Contains(words, s) {
			return "", fmt.Errorf("is %q; write one of %s", s, listed(words))
		}
		return s, nil
	})
}

// listed puts words in quotes, with commas between them.
func listed[S ~string](words []S) string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = strconv.Quote(string(w))
	}
	return strings.Join(q, ", ")
}
