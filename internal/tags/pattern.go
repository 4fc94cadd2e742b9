package tags

import (
	"errors"
	"fmt"
	"regexp"
	"regexp/syntax"
	"slices"
	"strings"
)

// Bounds of a pattern. Matching takes time in proportion to the text and to the program that the
// expression becomes, whatever they say, so these two bound a scan.
const (
	maxPattern     = 400  // bytes of an expression
	maxProgram     = 1000 // instructions it becomes: at most some 2 ms a text
	maxPatternText = 500  // bytes of a text that patterns are tried on
)

// PatternGroups are the names that the groups of a pattern may have: what a text can say of mill
// steel, as fields of MillTag. Bars are its Quantity.
var PatternGroups = []string{"heat", "size", "length", "bars", "weight", "bundle", "grade"}

// patternExample is shown where a pattern is wrong.
const patternExample = `as "H(?P<heat>[0-9]{7})-(?P<bundle>[0-9]{4})"`

// Pattern reads the barcodes of a mill that follow no standard.
type Pattern struct {
	Mill string // as the stock lots name it
	Expr string // as it was written
	re   *regexp.Regexp
}

// CompilePattern makes a pattern of the mill's name and a regular expression in Go's syntax (RE2),
// which has to fit the whole text of a barcode. Each part worth knowing is a group with a name of
// PatternGroups, heat or bundle at least. An error says what is wrong and what would be right.
func CompilePattern(mill, expr string) (Pattern, error) {
	none := Pattern{}
	switch {
	case strings.TrimSpace(mill) == "":
		return none, errors.New("the pattern has no mill; name it as the stock lots do")
	case expr == "":
		return none, errors.New("is empty; write a regular expression, " + patternExample)
	case len(expr) > maxPattern:
		return none, fmt.Errorf("has %d characters; %d are the most", len(expr), maxPattern)
	}
	tree, err := syntax.Parse(expr, syntax.Perl)
	if err != nil {
		return none, fmt.Errorf("is no regular expression: %s; write one %s", reason(err), patternExample)
	}
	prog, err := syntax.Compile(tree.Simplify())
	if err != nil || len(prog.Inst) > maxProgram {
		return none, errors.New("asks for too much; write smaller counts, as {1,20}")
	}
	re, err := regexp.Compile(`\A(?:` + expr + `)\z`)
	if err != nil { // a \Q that is not ended takes in what stands behind it
		return none, fmt.Errorf("is no regular expression: %s; write one %s", reason(err), patternExample)
	}
	named := false
	for i, name := range re.SubexpNames() {
		switch {
		case i == 0:
		case name == "":
			return none, fmt.Errorf("has a group without a name; write (?P<heat>...) where it is to be read, (?:...) where not")
		case !slices.Contains(PatternGroups, name):
			return none, fmt.Errorf("has a group %s, which says nothing of steel; the names are %s", name, strings.Join(PatternGroups, ", "))
		}
		named = named || name == "heat" || name == "bundle"
	}
	if !named {
		return none, errors.New("names neither heat nor bundle, by which the steel is found; write a group for one, " + patternExample)
	}
	return Pattern{Mill: strings.TrimSpace(mill), Expr: expr, re: re}, nil
}

// reason is what a parser of expressions says, without its name.
func reason(err error) string { return strings.TrimPrefix(err.Error(), "error parsing regexp: ") }

// Read gives what the text says, nil when the pattern does not fit the whole of it, or when the text
// has neither heat nor bundle. Of its Fields, Meaning is the group.
func (p Pattern) Read(text string) *MillTag {
	if p.re == nil || len(text) > maxPatternText {
		return nil
	}
	groups := p.re.FindStringSubmatch(text)
	if groups == nil {
		return nil
	}
	m := &MillTag{Supplier: p.Mill, Pattern: p.Expr}
	at := map[string]*string{
		"heat": &m.Heat, "bundle": &m.Bundle, "size": &m.Size, "grade": &m.Grade, "length": &m.Length, "weight": &m.Weight,
	}
	said := map[string]string{} // first value by group, for a name may stand in each branch
	for i, name := range p.re.SubexpNames() {
		value := strings.TrimSpace(groups[i])
		if i == 0 || value == "" {
			continue
		}
		m.Fields = append(m.Fields, Field{Value: value, Meaning: name})
		before, again := said[name]
		switch {
		case name == "bars":
			m.pieces(value)
		case again && before != value:
			m.fault("%s is both %q and %q", name, shorten(before), shorten(value))
			*at[name] = ""
		case !again:
			*at[name], said[name] = value, value
		}
	}
	if m.Heat == "" && m.Bundle == "" {
		return nil
	}
	return m
}

// Reader understands what the scanners of a plant type: what they type for control characters, and
// the patterns of its mills. The zero value reads what follows a standard.
type Reader struct {
	Wedge    Wedge
	Patterns []Pattern
}

// byPattern is what the first pattern that fits says, nil when none does.
func (r Reader) byPattern(text string) *MillTag {
	for _, p := range r.Patterns {
		if m := p.Read(text); m != nil {
			return m
		}
	}
	return nil
}
