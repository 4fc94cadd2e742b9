package barlist

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
)

// What says what a list that is taken does with a mark.
type What string

// What can become of a mark.
const (
	Added     What = "added"
	Changed   What = "changed"
	TakenOver What = "taken over" // from another list of the job
	Withdrawn What = "withdrawn"
	Unchanged What = "unchanged"
	Elsewhere What = "elsewhere" // it was taken into another list, and stays there
)

// Change is what becomes of one mark when a file is taken as a later revision of a list, or takes over
// lines of another one.
type Change struct {
	Job, List, Mark string
	Row             int // of the file; 0 of a mark that it has no more
	What            What
	Fields          []Field // in which the line differs from the one that stood
	From            string  // the list that a line is taken over from, or stays in
	Pieces          int     // that the line asks for now
	Bundles         []Tied  // that the line had
	Asked           []Ask   // those of which a person has to say what becomes of them

	// What comes of it, by what is decided. A question that is open is taken as deliver.
	Counted int // pieces of begun bundles that count for the line
	Stays   int // pieces of bundles that are not begun and stay as they are
	Owed    int // pieces for which new bundles are made
	Surplus int // pieces of begun bundles that go out beyond what the line asks for

	line *Line
	old  *Old
}

// Field is one thing in which a line differs.
type Field struct{ Name, Was, Is string }

// Count is how many bundles are in a state.
type Count struct{ Bundles, Pieces int }

// In counts the bundles that the line had in a state.
func (c Change) In(s State) (n Count) {
	for _, t := range c.Bundles {
		if t.State == s {
			n.Bundles++
			n.Pieces += t.Pieces
		}
	}
	return n
}

// Was is the line that stood under the mark; false of one that is new.
func (c Change) Was() (l event.LineTaken, ok bool) {
	if c.old == nil {
		return l, false
	}
	return c.old.LineTaken, true
}

// is is the line as the file has it, of a mark that it has no more an empty one.
func (c *Change) is() event.LineTaken {
	if c.line == nil {
		return event.LineTaken{}
	}
	return c.line.taken(c.Job, c.List)
}

// touches says whether anything is recorded for the mark.
func (c Change) touches() bool { return c.What != Unchanged && c.What != Elsewhere }

// list is one list of a file.
type list struct {
	job, list string
	lines     []Line
	was       Standing
	taken     bool // it stands
	again     bool // from this very file
}

// lists parts the lines of a file by list, in their order.
func lists(past Past, f File) ([]*list, error) {
	var out []*list
	for _, l := range f.Lines {
		job, name := strings.TrimSpace(l.Job), strings.TrimSpace(l.List)
		if job == "" {
			return nil, &event.Refusal{Field: "job", Says: fmt.Sprintf("row %d names no job; add a column job, or name the job with the file", l.Row)}
		}
		if name == "" {
			return nil, &event.Refusal{Field: "list", Says: fmt.Sprintf("row %d names no list; add a column list, or name the list with the file", l.Row)}
		}
		i := slices.IndexFunc(out, func(o *list) bool { return o.job == job && o.list == name })
		if i < 0 {
			i = len(out)
			one := &list{job: job, list: name}
			if one.was, one.taken = past.List(job, name); one.taken {
				one.again = bytes.Equal(one.was.SHA256, f.SHA256[:])
			}
			out = append(out, one)
		}
		out[i].lines = append(out[i].lines, l)
	}
	return out, nil
}

// revision checks the name of a later revision.
func (l *list) revision() error {
	if !l.taken {
		return nil
	}
	rev := l.lines[0].Revision
	switch {
	case rev == "":
		return &event.Refusal{Field: "revision", Says: fmt.Sprintf("list %s of job %s was taken from another file, as revision %s; name the revision of this one, or give it a list number of its own", l.list, l.job, sheet.Quote(l.was.Revision))}
	case slices.Contains(l.was.Revisions, rev):
		return &event.Refusal{Field: "revision", Says: fmt.Sprintf("revision %s of list %s of job %s was taken from another file; name this one otherwise", sheet.Quote(rev), l.list, l.job)}
	}
	return nil
}

// compare holds the lines of a list against what stands: what stood under each mark, and of another list
// the lines that are taken over. The marks come in the order of the file, then those that it has no
// more. Nothing is decided yet.
func (l *list) compare(past Past, from string, u bar.Units) ([]Change, error) {
	_, stock := past.StockJob()
	olds := past.Standing(l.job, l.list)
	there := byMark(olds)
	var other map[string]*Old
	if from = strings.TrimSpace(from); from != "" {
		if _, ok := past.List(l.job, from); !ok {
			return nil, &event.Refusal{Field: "from_list", Says: fmt.Sprintf("job %s has no list %s from which lines could be taken over", l.job, sheet.Quote(from))}
		}
		if from == l.list {
			return nil, &event.Refusal{Field: "from_list", Says: fmt.Sprintf("list %s cannot take over its own lines; leave it out", from)}
		}
		other = byMark(past.Standing(l.job, from))
	}
	var out []Change
	in := make(map[string]bool, len(l.lines))
	for i := range l.lines {
		line := &l.lines[i]
		in[line.Mark] = true
		c := Change{Job: l.job, List: l.list, Mark: line.Mark, Row: line.Row, What: Added, Pieces: line.Pieces, line: line}
		is := c.is()
		old := there[line.Mark]
		switch o := other[line.Mark]; {
		case old.stands():
			c.old, c.Fields = old, differs(old.LineTaken, is, u)
			if c.What = Changed; len(c.Fields) == 0 {
				c.What = Unchanged
			}
		case o.stands() && same(o.LineTaken, is):
			c.old, c.What, c.From, c.Fields = o, TakenOver, from, differs(o.LineTaken, is, u)
		case old != nil && old.Into != "":
			c.What, c.From = Elsewhere, old.Into
		case old != nil:
			c.old = old // withdrawn once: what is left of it counts again
		}
		c.settle(stock)
		out = append(out, c)
	}
	for i := range olds {
		if old := &olds[i]; old.stands() && !in[old.Mark] {
			c := Change{Job: l.job, List: l.list, Mark: old.Mark, What: Withdrawn, old: old}
			c.settle(stock)
			out = append(out, c)
		}
	}
	return out, nil
}

func byMark(lines []Old) map[string]*Old {
	m := make(map[string]*Old, len(lines))
	for i := range lines {
		m[lines[i].Mark] = &lines[i]
	}
	return m
}

// settle says which begun bundles count for the line as it is now, and which are asked about. What was
// made alike counts with no question, the farthest first, until the line has its pieces.
func (c *Change) settle(stock bool) {
	if c.old == nil {
		return
	}
	c.Bundles = c.old.Bundles
	if !c.touches() {
		return
	}
	is, begun := c.is(), slices.Clone(c.Bundles)
	slices.SortStableFunc(begun, func(a, b Tied) int {
		return cmp.Compare(slices.Index(States, b.State), slices.Index(States, a.State))
	})
	alikes := 0
	for _, t := range begun {
		if t.State == NotBegun {
			continue
		}
		a := Ask{Tied: t}
		switch {
		case c.What == Withdrawn:
			a.Why, a.surplus = "the list has the mark no more", true
		case !alike(t.Made, is):
			a.Why = "it is made to what the list said before"
		case alikes >= c.Pieces:
			a.Why, a.surplus = "the list asks for fewer", true
		default:
			alikes += t.Pieces
			continue
		}
		a.May, a.WhyOnly = t.fates(stock)
		c.Asked = append(c.Asked, a)
	}
	c.Counted = alikes
}

// tally works out what comes of a change by what is decided.
func (c *Change) tally() {
	if !c.touches() {
		return
	}
	beyond := 0
	for _, a := range c.Asked {
		switch {
		case a.Decided != event.Deliver && a.Decided != "":
		case a.surplus:
			beyond += a.Pieces
		default:
			c.Counted += a.Pieces
		}
	}
	need := max(0, c.Pieces-c.Counted)
	c.Surplus = beyond + max(0, c.Counted-c.Pieces)
	// A tag that says what the list says now stays good; under another list number it does not.
	if c.What == Changed && alike(c.old.LineTaken, c.is()) {
		for _, t := range c.stay(need) {
			c.Stays += t.Pieces
		}
	}
	c.Owed = need - c.Stays
}

// stay are the bundles of the earlier line that are not begun and stay: the first of them that have so
// many pieces at most together.
func (c *Change) stay(most int) (out []Tied) {
	for _, t := range c.Bundles {
		if t.State == NotBegun && t.Line == c.old.Seq && t.Pieces <= most {
			most -= t.Pieces
			out = append(out, t)
		}
	}
	return out
}

// differs names the fields in which two lines differ, as people write them.
func differs(was, is event.LineTaken, u bar.Units) (out []Field) {
	add := func(name, was, is string) { out = append(out, Field{name, was, is}) }
	if was.Steel != is.Steel {
		add("steel", was.Steel.String(), is.Steel.String())
	}
	if was.Length != is.Length {
		exact := u
		if !was.Length.Exact(u) || !is.Length.Exact(u) {
			exact = bar.Metric
		}
		add("length", was.Length.Text(exact), is.Length.Text(exact))
	}
	if was.Pieces != is.Pieces {
		add("pieces", strconv.Itoa(was.Pieces), strconv.Itoa(is.Pieces))
	}
	if !sameShape(was.Shape, is.Shape) {
		add("shape", shapeText(was.Shape, u), shapeText(is.Shape, u))
	}
	if !slices.Equal(was.Route, is.Route) {
		add("route", routeText(was.Route), routeText(is.Route))
	}
	if was.Note != is.Note {
		add("note", was.Note, is.Note)
	}
	return out
}

func routeText(r []string) string {
	if len(r) == 0 {
		return "none"
	}
	return strings.Join(r, ", ")
}

func shapeText(s bar.Shape, u bar.Units) string {
	var parts []string
	for _, p := range []string{s.Code, s.Edition, s.Text(u)} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	if s.Pin != 0 {
		parts = append(parts, "pin "+s.Pin.Text(u))
	}
	if len(parts) == 0 {
		return "straight"
	}
	return strings.Join(parts, ", ")
}
