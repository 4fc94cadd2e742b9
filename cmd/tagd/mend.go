package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

type runsCmd struct {
	dataFlag
	Station string `placeholder:"NAME"`
	From    string `placeholder:"RUN|TIME"`
	To      string `placeholder:"RUN|TIME"`
	JSON    bool   `name:"json"`
}

func (runsCmd) Help() string {
	return `Usage: tagd runs [--station NAME] [--from RUN|TIME] [--to RUN|TIME] [--json]
                 [--data DIR]

Lists runs, oldest first: when and where, of which lots they may be and how many
bars they drew, and what they made. A run has a number, by which tagd mend takes
it.

    --station NAME  of this station only
    --from, --to    a run's number, or a time of the plant, as "2026-01-05" or
                    "2026-01-05 14:00": the runs that were open in between

With --json the answer is one object for each page of 1,000.

Example:

    tagd runs --station S1 --from "2026-01-05 06:00"
`
}

func (c *runsCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "to ask")
	if err != nil {
		return err
	}
	defer w.close()
	for after, more := "", true; more; {
		got, err := w.Runs(ctx, api.RunFilter{Station: c.Station, From: c.From, To: c.To}, after, 1000)
		if err == nil && c.JSON {
			err = writeJSON(s.out, got)
		} else if err == nil {
			err = writeRuns(s.out, got.Runs, after == "")
		}
		if err != nil {
			return err
		}
		after, more = got.Next, got.Next != ""
	}
	return nil
}

func writeRuns(out io.Writer, runs []api.RunRecord, head bool) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	if head {
		fmt.Fprintln(w, "RUN\tSTATION\tOPENED\tSTEEL\tLOTS\tDRAWN\tMISSING\tMADE")
	}
	for _, r := range runs {
		var made []string
		for _, m := range r.Members {
			made = append(made, fmt.Sprintf("%d x %s %s/%d %s", m.Pieces, m.Mark, m.K, m.N, m.Bundle))
		}
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", r.Seq, r.Station, r.Opened.Format(minutely), r.Steel,
			strings.Join(r.Lots, ", "), drewText(r.RunDraw), r.Missing, strings.Join(made, ", "))
	}
	return w.Flush()
}

// drewText is bars by lot, with what a lot did not have by the record.
func drewText(d api.RunDraw) string {
	var out []string
	for _, x := range d.Drawn {
		one := fmt.Sprintf("%s=%d", x.Lot, x.Bars)
		if x.Over > 0 {
			one += fmt.Sprintf(" (%d over)", x.Over)
		}
		out = append(out, one)
	}
	return strings.Join(out, ", ")
}

type mendCmd struct {
	Station string   `arg:""`
	Lot     string   `placeholder:"NUMBER"`
	Not     bool     ``
	Feed    string   `placeholder:"NAME"`
	Which   []uint64 `name:"run" placeholder:"RUN" sep:"none"`
	From    string   `placeholder:"RUN|TIME"`
	To      string   `placeholder:"RUN|TIME"`
	Bars    []string `placeholder:"LOT=N" sep:"none"`
	Reason  string   `placeholder:"TEXT"`
	DryRun  bool     `name:"dry-run"`
	sayFlags
}

func (mendCmd) Help() string {
	return `Usage: tagd mend STATION --lot NUMBER [--not] [--feed NAME] [--run RUN]...
                 [--from RUN|TIME] [--to RUN|TIME] [--bars LOT=N]...
                 --reason TEXT [--dry-run] [--person NUMBER]... [--key TEXT]
                 [--json] [--data DIR]

Mends a charge that was forgotten: a lot lay on a feed of the station and was
not scanned. With --not it is the other way: the lot was long gone, and the feed
was never emptied. One event restates the runs: of which lots they may be, and
what they drew. What other lots gave beyond their bars, and metal that no
recorded bar accounts for, was of the forgotten lot. Pieces and remnants stay as
they are, and everything made of those runs follows: the answer says what that
is, what has left, and where a rule of a job is against it now. It is taken back
by its opposite.

    --lot NUMBER    the lot
    --not           it did not lie there
    --feed NAME     on which feed, if that is known
    --run RUN       a run to restate; tagd runs lists them. Without: all of the
                    lot's steel between --from and --to, but those of which a
                    person said the lots
    --from, --to    a run's number, or when it was laid there and taken away:
                    "2026-01-05 14:00" of the plant
    --bars LOT=N    how many bars of each lot the one run took, where a person
                    knows
    --reason TEXT   how this was found out
    --dry-run       only say what it would restate
` + sayFlagsHelp + `
Examples:

    tagd mend S1 --lot 2-001-00000009-89 --from "2026-01-05 06:00" \
        --to "2026-01-05 14:00" --reason "its tag hung on the feed" --dry-run
    tagd mend S1 --lot 2-001-00000009-89 --run 1042 --not --reason "used up"
`
}

func (c *mendCmd) Run(ctx context.Context, s streams) error {
	bars, err := lotBars(c.Bars)
	if err != nil {
		return err
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.ChargeMended, error) {
		return w.MendCharge(ctx, api.MendCharge{
			Station: c.Station, Feed: c.Feed, Lot: c.Lot, Not: c.Not, Runs: c.Which, From: c.From, To: c.To, Bars: bars,
			Reason: c.Reason, DryRun: c.DryRun, By: c.by(),
		})
	}, writeMended)
}

func writeMended(out io.Writer, m api.ChargeMended) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	if m.DryRun {
		fmt.Fprintln(w, "Nothing is recorded: this is what it would restate.")
	}
	writeNotes(w, m.Notes)
	fmt.Fprintln(w, "\nRUN\tMAY BE OF\tDREW\tMISSING")
	row := func(run string, lots []string, d *api.RunDraw) {
		if d == nil {
			d = &api.RunDraw{}
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", run, strings.Join(lots, ", "), drewText(*d), d.Missing)
	}
	for _, r := range m.Runs {
		row(strconv.FormatUint(r.Run, 10)+" was", r.Before, r.Was)
		row("  is", r.After, r.Is)
	}
	for _, l := range []struct {
		head string
		what []string
	}{{"Bundles", m.Bundles}, {"Left", m.Left}, {"A rule is against", m.Against}, {"Loads", m.Loads}, {"Jobs", m.Jobs}} {
		if len(l.what) > 0 {
			fmt.Fprintf(w, "\n%s: %s\n", l.head, strings.Join(l.what, ", "))
		}
	}
	return w.Flush()
}
