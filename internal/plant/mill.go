package plant

import (
	"strings"

	"tagd/internal/tags"
)

// maxMills is more than any plant buys from; each scan that follows no standard is held against all.
const maxMills = 100

// Reader understands what the plant's scanners type.
func (s Settings) Reader() tags.Reader { return tags.Reader{Wedge: s.Wedge, Patterns: s.Patterns} }

// readMills reads the patterns of mills whose barcodes follow no standard, and tries their examples.
func (s *Settings) readMills(root table) {
	if !root.has("mill") {
		return
	}
	path := map[string]string{} // of a pattern
	root.each("mill", maxMills, func(t table) {
		t.only([]string{"name", "pattern", "example"})
		p, ok := readPattern(t)
		if !ok {
			return
		}
		if other, twice := path[p.Expr]; twice {
			t.fault("pattern", "is that of %s, which is tried before; write what tells the two mills apart", other)
			return
		}
		path[p.Expr] = t.path
		s.Patterns = append(s.Patterns, p)
		if t.has("example") {
			s.tryExample(t, p, path)
		}
	})
}

// readPattern reads the name and the pattern of one table.
func readPattern(t table) (p tags.Pattern, ok bool) {
	mill, named := t.filled("name", 60, "the mill as the stock lots name it")
	expr, written := t.filled("pattern", 400, "a regular expression that fits its barcodes, in 'single quotes'")
	if !named || !written {
		return p, false
	}
	p, err := tags.CompilePattern(mill, expr)
	if err != nil {
		t.fault("pattern", "%v", err)
	}
	return p, err == nil
}

// filled gives a text that has to be there; right says what to write.
func (t table) filled(key string, most int, right string) (string, bool) {
	if !t.has(key) {
		t.fault(key, "is missing; write %s", right)
		return "", false
	}
	text, ok := t.text(key, most)
	if ok && text == "" {
		t.fault(key, "is empty")
	}
	return text, ok && text != ""
}

// tryExample reads the example as a scan. It has to be read by its own pattern.
func (s *Settings) tryExample(t table, p tags.Pattern, path map[string]string) {
	text, ok := t.values["example"].(string)
	if !ok {
		t.fault("example", "is text: write it in \"quotes\"")
		return
	}
	got, err := s.Reader().Read(text)
	switch m := got.Mill; {
	case m != nil && m.Pattern == p.Expr:
	case m != nil && m.Pattern != "":
		t.fault("example", "%q is read by the pattern of %s, which is tried before", text, path[m.Pattern])
	case m != nil:
		var by []string
		for _, f := range m.Fields {
			by = append(by, f.DI)
		}
		t.fault("example", "%q is read by data identifiers (%s), which come before patterns: this mill needs none", text, strings.Join(by, ", "))
	case got.Number != 0:
		t.fault("example", "%q is read as tag number %s of a plant; write a text from the mill's tag", text, got.Number)
	case err != nil:
		t.fault("example", "%q cannot be read: %v", text, err)
	default:
		t.fault("example", "%q does not fit the pattern, which has to fit the whole of it", text)
	}
}
