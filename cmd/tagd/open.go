package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"tagd/api"
)

type openCmd struct {
	dataFlag
	Station  string `placeholder:"NAME"`
	Bundle   string `placeholder:"NUMBER"`
	Office   string `placeholder:"OFFICE"`
	Disputed bool
	Lang     string `default:"en" placeholder:"en|es"`
	CSV      bool   `name:"csv"`
	JSON     bool   `name:"json"`
}

func (openCmd) Help() string {
	return `Usage: tagd open [--station NAME] [--bundle NUMBER] [--office OFFICE]
                 [--disputed] [--lang en|es] [--csv] [--json] [--data DIR]

Shows the list to resolve, newest first: answers that want a person (Check), and
disputed scans, which a device kept without a network and which do not fit the
record by now. Each stands there with its number on the list, what it is about,
what is to be looked at, which office settles it, and how.

    --station NAME   what was scanned at this station only
    --bundle NUMBER  about this bundle only
    --office OFFICE  what this office settles: quality, shipping, "floor lead"
                     or office
    --disputed       disputed scans only

A disputed scan counts for nothing until it is settled. The trace of its bundle
says how many there are. tagd help resolve says how a thing is settled.

With --json the answer is one object, with the list in "open"; with --csv it is
a table for a spreadsheet.

Examples:

    tagd open
    tagd open --office quality --csv >quality.csv
`
}

func (c *openCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "", makers)
	if err != nil {
		return err
	}
	defer w.close()
	f := api.OpenFilter{Station: c.Station, Bundle: c.Bundle, Office: c.Office, Disputed: c.Disputed, Lang: c.Lang}
	const most = 1000 // the newest; who has more open settles some first
	if c.CSV {
		b, err := w.OpenCSV(ctx, f, "", most)
		if err == nil {
			_, err = s.out.Write(b)
		}
		return err
	}
	got, err := w.Open(ctx, f, "", most)
	switch {
	case err != nil:
		return err
	case c.JSON:
		return writeJSON(s.out, got)
	case len(got.Open) == 0:
		s.say("nothing is open")
	case got.Next != "":
		s.say("older things are open too; these are the newest")
	}
	for _, o := range got.Open {
		if err := writeOpen(s.out, o); err != nil {
			return err
		}
	}
	return nil
}

// writeOpen shows a thing on the list to resolve to a person.
func writeOpen(out io.Writer, o api.OpenItem) error {
	kind := o.Kind
	if o.Disputed {
		kind = "DISPUTED"
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%d  %s  %s  %s", o.Seq, kind, o.About, o.Age)
	for _, x := range []string{o.Station, o.Device} {
		if x != "" {
			b.WriteString("  " + x)
		}
	}
	b.WriteByte('\n')
	for _, n := range o.Notes {
		fmt.Fprintf(&b, "      %s\n", n.Says)
	}
	for i, how := range o.How {
		who := ""
		if i == 0 {
			who = o.Office + ": "
		}
		fmt.Fprintf(&b, "      -> %s%s\n", who, how)
	}
	_, err := io.WriteString(out, b.String())
	return err
}

type resolveCmd struct {
	dataFlag
	Seq    uint64   `arg:""`
	Reason string   `placeholder:"TEXT"`
	Person string   `placeholder:"NUMBER"`
	Took   bool     ``
	Pieces int      `placeholder:"N"`
	Lot    []string `placeholder:"NUMBER" sep:"none"`
	Key    string   `placeholder:"TEXT"`
	Lang   string   `default:"en" placeholder:"en|es"`
	JSON   bool     `name:"json"`
}

func (resolveCmd) Help() string {
	return `Usage: tagd resolve SEQ --reason TEXT [--person NUMBER] [--took]
                    [--pieces N] [--lot NUMBER]... [--key TEXT] [--lang en|es]
                    [--json] [--data DIR]

Settles a thing on the list to resolve; SEQ is its number there (tagd open). It
stays in the record for ever, with who settled it and why.

    --reason TEXT    what was found, and what was done about it
    --person NUMBER  the badge of a person who holds the office that settles it;
                     where nobody holds it, anybody may (tagd help person)
    --took           of a disputed scan: it was done. It is recorded now as a
                     deed: what the rules would have refused is a Check, and the
                     truck that left has it. Without, it was not done, or stands
                     in the record otherwise
    --pieces N       with --took: how many it was; else as was scanned then, or
                     as the tag asks for
    --lot NUMBER     with --took: a lot that the bars were from, where known

What makes no sense as a deed either is refused, and stays on the list; the
answer says what to do instead.

Examples:

    tagd resolve 214 --reason "it is 40" --person 6-001-00000001-53
    tagd resolve 388 --took --reason "cut at 14:05, Ana saw it"

Exit codes: 0 settled, 1 refused.
`
}

func (c *resolveCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "", makers)
	if err != nil {
		return err
	}
	defer w.close()
	got, err := w.Resolve(ctx, c.Seq, api.Resolve{
		Reason: c.Reason, Person: c.Person, Took: c.Took, Pieces: c.Pieces, Lots: c.Lot, Lang: c.Lang, By: api.By{Device: device, Key: c.Key},
	})
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(s.out, got)
	}
	return writeAnswer(s.out, api.ScanAnswer{Verdict: got.Verdict, Notes: got.Notes})
}

type personCmd struct {
	dataFlag
	Name   string   `arg:""`
	Office []string `placeholder:"OFFICE" sep:"none"`
	None   bool     `name:"no-office"`
	Lang   string   `placeholder:"en|es"`
	JSON   bool     `name:"json"`
}

func (personCmd) Help() string {
	return `Usage: tagd person NAME [--office OFFICE]... [--no-office] [--lang en|es]
                   [--json] [--data DIR]

Makes a badge for a person, or finds the one of that name or number, and prints
its number. Names, offices and languages are kept beside the record, not in it,
so that they can be taken out.

    --office OFFICE  what the person may settle of the list to resolve: quality,
                     shipping, "floor lead" or office. Said again, it states all
                     offices of the person anew
    --no-office      the person holds none any more
    --lang en|es     what a station's page speaks once the badge is scanned

Examples:

    tagd person "Ana Example" --office quality --office "floor lead"
    tagd person 6-001-00000001-53 --no-office
    tagd person "Luis Example" --lang es
`
}

func (c *personCmd) Run(ctx context.Context, s streams) error {
	if c.None && len(c.Office) > 0 {
		return misuse("", "--no-office goes without --office")
	}
	if err := c.Data.begin(s); err != nil {
		return err
	}
	w, err := c.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	p, err := c.find(ctx, w)
	switch {
	case err != nil:
		return err
	case p.Number == "":
		made, err := w.Client.Person(ctx, api.MakePerson{Name: c.Name, Offices: c.Office, Lang: c.Lang, By: api.By{Device: device}})
		if err != nil {
			return err
		}
		p = made.Person
	case c.None || len(c.Office) > 0 || c.Lang != "":
		offices := append([]string{}, c.Office...)
		if !c.None && len(offices) == 0 {
			offices = p.Offices
		}
		if p, err = w.SetPerson(ctx, p.Number, api.SetPerson{Offices: offices, Lang: c.Lang}); err != nil {
			return err
		}
	}
	if c.JSON {
		return writeJSON(s.out, p)
	}
	_, err = fmt.Fprintln(s.out, strings.TrimSpace(p.Number+"  "+p.Name+"  "+strings.Join(p.Offices, ", ")))
	return err
}

// find finds a badge by its number or its name; none is no error.
func (c *personCmd) find(ctx context.Context, w *door) (found api.Person, err error) {
	persons, err := all(func(after string, limit int) ([]api.Person, string, error) {
		page, err := w.Persons(ctx, after, limit)
		return page.Persons, page.Next, err
	})
	for _, p := range persons {
		if p.Number != c.Name && p.Name != c.Name {
			continue
		}
		if found.Number != "" {
			return found, no("Name the badge by its number.", "%s is the name of %s and of %s", c.Name, found.Number, p.Number)
		}
		found = p
	}
	return found, err
}
