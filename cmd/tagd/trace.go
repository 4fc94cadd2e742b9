package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/tags"
)

type traceCmd struct {
	dataFlag
	Query []string `arg:""`
	AsOf  string   `name:"as-of" placeholder:"MOMENT"`
	JSON  bool     `name:"json" xor:"form"`
	CSV   bool     `name:"csv" xor:"form"`
}

func (traceCmd) Help() string {
	return `Usage: tagd trace QUERY [--as-of MOMENT] [--json | --csv] [--data DIR]

Says where steel went and where it came from. The question is anything that has
a name: the number on a tag, as shown or scanned; a heat, with or without its
mill; a mark; a job, or job/list; a mill's bundle number; the text of a cert.
What is several things is traced as all of them.

From a heat it goes forward, over lots and runs, to every bundle and load, and
to the remnants and what was made of those. From a bundle it goes back, to the
lots, heats and certs that it may be of.

The certainty of each line is never better than what was recorded: certain, when
one heat only could have been drawn; one of, when several lay on the feed.

Of one bundle its whole history follows: who, when, where, and what.
` + asOfHelp + `
With --json the answer is one object, with --csv a table for a spreadsheet.

Examples:

    tagd trace 7041893
    tagd trace "Mesa Steel 7041893" --csv > recall.csv
    tagd trace 1-001-00000042-05

Exit codes: 0 found, 1 nothing goes by that name.
`
}

func (c *traceCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "to ask")
	if err != nil {
		return err
	}
	defer w.close()
	q := strings.Join(c.Query, " ")
	t, err := w.TraceAsOf(ctx, q, c.AsOf)
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		err = writeJSON(s.out, t)
	case c.CSV:
		var table []byte
		if table, err = w.TraceCSV(ctx, q, c.AsOf); err == nil {
			_, err = s.out.Write(table)
		}
	case len(t.Found) > 0:
		if err = writeTrace(s.out, t); err == nil {
			err = c.history(ctx, s, w, q)
		}
	}
	if err == nil && len(t.Found) == 0 {
		err = no("A number, heat, mark, job, load or cert can be asked for.", "nothing here goes by the name %s", q)
	}
	return err
}

// history shows all that happened to the one bundle, lot, load or place that was asked for.
func (c *traceCmd) history(ctx context.Context, s streams, w *door, q string) error {
	n, err := tags.ParseNumber(q)
	if err != nil || n.Kind() == tags.Person {
		return nil
	}
	t := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "\nRECORD\tWHEN\tWHERE\tDEVICE\tWHO\tWHAT\n")
	for after := ""; ; {
		page, err := w.History(ctx, n.String(), c.AsOf, after, 1000)
		if err != nil {
			return err
		}
		for _, e := range page.Events {
			what := e.Tells.English
			if e.Answer != nil {
				what += " (" + e.Answer.Verdict + ")"
			}
			fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%s\t%s\n", e.Seq, e.Recorded.Format("2006-01-02 15:04:05 MST"), e.Station, e.Device, strings.Join(e.People, ", "), what)
		}
		if after = page.Next; after == "" {
			return t.Flush()
		}
	}
}

// writeTrace shows a trace as tables for a person.
func writeTrace(out io.Writer, t api.Trace) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	section := func(head string) { fmt.Fprintf(w, "\n%s\n", head) }
	for _, f := range t.Found {
		fmt.Fprintln(w, f)
	}
	if len(t.Bundles) > 0 {
		section("BUNDLE\tJOB\tLIST\tMARK\tK OF N\tPIECES\tSTEEL\tHEATS\tCERTAINTY\tWHERE")
		for _, b := range t.Bundles {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s of %d\t%d\t%s\t%s\t%s\t%s\n", b.Number, b.Job, b.List, b.Mark, b.K, b.N, b.Pieces, b.Steel.Steel,
				heatList(b.Draw), b.Certainty, heldWord(b.Held)+b.Where)
		}
	}
	if len(t.Lots) > 0 {
		section("LOT\tKIND\tHEATS\tSTEEL\tLENGTH\tRECEIVED\tON HAND\tWHERE")
		for _, l := range t.Lots {
			received, where := strconv.Itoa(l.Received), lotWhere(l)
			if l.Coil {
				received = fmt.Sprintf("%.1f kg", l.ReceivedKG)
			}
			if l.Paper != nil && l.Paper.Open {
				where = strings.TrimSpace(where + " " + paperSays(l.Paper))
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Number, lotKind(l), heatList(l.Draw), l.Steel.Steel, lotLength(l), received, onHand(l),
				heldWord(l.Held)+where)
		}
	}
	if len(t.Certs) > 0 {
		section("CERT\tMILL\tHEAT\tSIZES\tTYPE\tSTATE")
		for _, c := range t.Certs {
			state := "on file"
			if c.Reviewed {
				state = "reviewed"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\n", c.Text, c.Mill, c.Heat.Heat, strings.Join(c.Sizes, " "), c.Type, state)
		}
	}
	if len(t.Holds) > 0 {
		section("HOLD\tREASON\tSINCE")
		for _, h := range t.Holds {
			fmt.Fprintf(w, "%s\t%s\t%s\n", h.What, h.Reason, h.At.Format(minutely))
		}
	}
	section("TOTAL\tBUNDLES\tPIECES\tWEIGHT")
	for _, x := range []struct {
		word string
		a    api.Amount
	}{{"all", t.Totals.All}, {"shipped", t.Totals.Shipped}, {"inside", t.Totals.Inside}, {"heat not certain", t.Totals.OneOf}} {
		fmt.Fprintf(w, "%s\t%d\t%d\t%s\n", x.word, x.a.Bundles, x.a.Pieces, x.a.Weight)
	}
	fmt.Fprintf(w, "on hand\t\t%d bars\t%s\n", t.Totals.OnHand, t.Totals.Stock)
	if len(t.Loads) > 0 {
		section("Loads: " + strings.Join(t.Loads, ", "))
	}
	if len(t.Jobs) > 0 {
		section("Jobs: " + strings.Join(t.Jobs, ", "))
	}
	if t.Totals.Checks > 0 {
		section(fmt.Sprintf("%d answers about these bundles wanted a person; %d are open (tagd open).", t.Totals.Checks, t.Totals.Open))
	}
	if t.Totals.Disputes > 0 {
		fmt.Fprintf(w, "%d of them are kept scans that do not fit the record, and do not count yet.\n", t.Totals.Disputes)
	}
	return w.Flush()
}

// heatList names heats with their mills.
func heatList(d api.Draw) string {
	var out []string
	for _, h := range d.Heats {
		out = append(out, h.Mill+" "+h.Heat)
	}
	return strings.Join(out, ", ")
}

func heldWord(held bool) string {
	if held {
		return "HELD, "
	}
	return ""
}
