package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/internal/plant"
	"tagd/internal/tags"
)

type readCmd struct {
	dataFlag
	Text []string `arg:""`
	JSON bool     `name:"json"`
}

func (readCmd) Help() string {
	return `Usage: tagd read TEXT [--json] [--data DIR]

Shows what a scanned text reads as, to look into a tag and to try out patterns:
a tag of ours with what it says, or a mill's tag with each field and what told
it, a data identifier or a pattern, or why it is neither. Scan into the quotes.

Only the text is looked at, by the settings of the data folder, or those that a
plant begins with where there is none. Nothing is asked of the store: whether a
number was given out, or what goes by a name, tagd trace says.

A mill whose barcodes follow no standard gets a [[mill]] in settings.toml, which
says there how. A server that runs reads its settings at its next start; this
command reads them each time.

With --json the answer is one object: "reads_as" is bundle, stock, load and so
on, mill tag, or nothing, and then "why" tells.

Examples:

    tagd read 1-001-00000042-05
    tagd read "0041893-05-60-40"
    tagd read $'[)>\x1e06\x1d1TH12345\x1dQ40\x1e\x04'

Exit codes: 0 it reads as a tag, 1 it does not, 2 the settings have faults.
`
}

// reading is what a text reads as.
type reading struct {
	Text      string    `json:"text"`
	Symbology string    `json:"symbology,omitempty"`
	ReadsAs   string    `json:"reads_as"`
	Number    string    `json:"number,omitempty"`
	Says      []said    `json:"says"`
	Pattern   string    `json:"pattern,omitempty"` // that fits; empty: data identifiers
	Fields    []dataSay `json:"fields,omitempty"`
	Notes     []string  `json:"notes"`
	Why       string    `json:"why,omitempty"` // it reads as nothing
	next      string    // what to do then
}

// said is one thing that a tag says.
type said struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// dataSay is one field of a mill's tag. DI is empty where a pattern read it.
type dataSay struct {
	DI      string `json:"di,omitempty"`
	Value   string `json:"value"`
	Meaning string `json:"meaning"`
}

func (c *readCmd) Run(_ context.Context, s streams) error {
	set, err := c.Data.settingsOrDefault()
	if err != nil {
		return err
	}
	r := readText(set, strings.Join(c.Text, " "))
	switch {
	case c.JSON:
		err = writeJSON(s.out, r)
	case r.Why == "":
		err = r.write(s.out)
	}
	if err != nil || r.Why == "" {
		return err
	}
	if c.JSON {
		return errSaid
	}
	return no(r.next, "%s", r.Why)
}

func readText(set plant.Settings, text string) reading {
	got, err := set.Reader().Read(text)
	r := reading{Text: got.Text, Symbology: got.Symbology, ReadsAs: "nothing", Says: []said{}, Notes: []string{}}
	switch {
	case err != nil:
		r.Why = err.Error()
	case got.Number != 0:
		r.ours(set, got)
	case got.Mill != nil:
		r.mill(*got.Mill)
	default:
		r.Why = "it holds no tag number and no data identifiers, and " + unfit(set.Patterns)
		r.next = "tagd help read says how patterns are tried."
	}
	return r
}

// unfit says of which mills no pattern fits.
func unfit(patterns []tags.Pattern) string {
	if len(patterns) == 0 {
		return "the settings have no pattern of a mill"
	}
	mills := make([]string, len(patterns))
	for i, p := range patterns {
		mills[i] = p.Mill
	}
	return "no pattern fits the whole of it, of " + strings.Join(mills, ", ")
}

// add notes what a tag says, unless it does not.
func (r *reading) add(name, value string) {
	if value != "" && value != "0" {
		r.Says = append(r.Says, said{name, value})
	}
}

// ours shows a tag of ours.
func (r *reading) ours(set plant.Settings, got tags.Scan) {
	n := got.Number
	r.ReadsAs, r.Number = n.Kind().String(), n.String()
	if t := got.Tag; t != nil {
		r.add("copy", strconv.Itoa(t.Copy))
		r.add("job", t.Job)
		r.add("list", t.List)
		r.add("mark", t.Mark)
		r.add("size", t.Size)
		r.add("count", strconv.Itoa(t.Count))
		for _, h := range t.Heats {
			r.add("heat", h)
		}
	}
	if n.Plant() != set.Number {
		r.Notes = append(r.Notes, fmt.Sprintf("the number is of plant %d; this is plant %d", n.Plant(), set.Number))
	}
	if got.Garbled {
		r.Notes = append(r.Notes, "the text did not arrive as it was printed, and only the number in it counts: look at the scanner's keyboard layout")
	}
}

// mill shows a mill's tag.
func (r *reading) mill(m tags.MillTag) {
	r.ReadsAs, r.Pattern = "mill tag", m.Pattern
	r.add("mill", m.Supplier)
	r.add("heat", m.Heat)
	r.add("bundle", m.Bundle)
	r.add("size", m.Size)
	r.add("grade", m.Grade)
	r.add("length", m.Length)
	r.add("bars", strconv.Itoa(m.Quantity))
	r.add("weight", m.Weight)
	r.add("item", m.Item)
	r.add("order", m.Order)
	r.add("country", m.Country)
	r.add("rolled", m.Rolled)
	for _, f := range m.Fields {
		r.Fields = append(r.Fields, dataSay(f))
	}
	r.Notes = append(r.Notes, m.Faults...)
	if m.Heat == "" && m.Bundle == "" {
		r.Notes = append(r.Notes, "it says neither heat nor bundle, so no lot can be found by it")
	}
}

// write shows a reading line by line.
func (r reading) write(out io.Writer) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	row := func(name, value string) { fmt.Fprintf(t, "%s\t%s\n", name, printable(value)) }
	as := r.ReadsAs
	if r.Number != "" {
		as += " " + r.Number
	}
	row("reads as", as)
	if r.Symbology != "" {
		row("symbology", r.Symbology)
	}
	switch {
	case r.Pattern != "":
		row("by pattern", r.Pattern)
	case len(r.Fields) > 0:
		row("by", "data identifiers of ANSI MH10.8.2")
	}
	for _, s := range r.Says {
		row(s.Name, s.Value)
	}
	if r.Pattern == "" {
		for _, f := range r.Fields {
			row("field "+f.DI, strings.TrimSpace(f.Value+"  "+f.Meaning))
		}
	}
	for _, n := range r.Notes {
		row("note", n)
	}
	return t.Flush()
}

// printable shows characters that a terminal would act on as Go writes them.
func printable(s string) string {
	q := strconv.Quote(s)
	return strings.NewReplacer(`\"`, `"`, `\\`, `\`).Replace(q[1 : len(q)-1])
}
