package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

type recallCmd struct {
	dataFlag
	Query []string `arg:""`
	AsOf  string   `name:"as-of" placeholder:"MOMENT"`
	JSON  bool     `name:"json" xor:"form"`
	CSV   bool     `name:"csv" xor:"form"`
	PDF   string   `name:"pdf" xor:"form" placeholder:"FILE"`
}

// asOfHelp explains a moment.
const asOfHelp = `
--as-of MOMENT asks what was so then: the number of a record, a time with its
offset (2026-11-25T14:00:00-06:00), or a time or day by the plant's clock
(2026-11-25 14:00; of a day, its end).
`

func (recallCmd) Help() string {
	return `Usage: tagd recall QUERY [--as-of MOMENT] [--json | --csv | --pdf FILE]
                  [--data DIR]

Says where everything is that may be of a heat, with or without its mill; of a
lot or remnant, by its number or the mill's; of the heats and sizes on a cert,
by its text; or of all heats of a mill, by its name. What is most urgent comes
first:

    on a truck that is here    it can still be stopped
    left the plant             the newest first, with whom to call
    ready                      all steps are done; it may be loaded next
    at work                    a step is started
    lying                      between steps, or stock on a feed
    stock                      lots and remnants on hand

What is certain stands apart from what may be of other heats too. Under it
stands what no record can tell: whether a site heard, and of which heat a single
piece is.
` + asOfHelp + `
With --json the answer is one object, with --csv a table for a spreadsheet, with
--pdf a paper to tick off.

Examples:

    tagd recall 7041893
    tagd recall "Mesa Steel 7041893" --csv > recall.csv
    tagd recall 7041893 --as-of "2026-11-25 14:00"

Exit codes: 0 found, 1 nothing goes by that name.
`
}

func (c *recallCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "to ask")
	if err != nil {
		return err
	}
	defer w.close()
	q := strings.Join(c.Query, " ")
	r, err := w.Recall(ctx, q, c.AsOf)
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		err = writeJSON(s.out, r)
	case c.CSV:
		var table []byte
		if table, err = w.RecallFile(ctx, q, c.AsOf, "csv"); err == nil {
			_, err = s.out.Write(table)
		}
	case len(r.Found) == 0:
	case c.PDF != "":
		var paper []byte
		if paper, err = w.RecallFile(ctx, q, c.AsOf, "pdf"); err == nil {
			err = os.WriteFile(c.PDF, paper, 0o644)
		}
	default:
		err = writeRecall(s.out, r)
	}
	if err == nil && len(r.Found) == 0 {
		err = no("A heat, lot, cert or mill can be recalled.", "nothing here goes by the name %s", q)
	}
	return err
}

// writeRecall shows a recall to a person.
func writeRecall(out io.Writer, r api.Recall) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, f := range r.Found {
		fmt.Fprintln(w, f)
	}
	for _, h := range r.Holds {
		fmt.Fprintf(w, "HELD: %s (%s)\n", h.What, h.Reason)
	}
	if len(r.Holds) == 0 {
		fmt.Fprintln(w, "Nothing is held: what is here can be cut and loaded.")
	}
	fmt.Fprintf(w, "\nWHERE NOW\tSURE\tBUNDLES\tPIECES\tWEIGHT\tLOTS\tBARS\tWEIGHT\n")
	for _, g := range r.Groups {
		fmt.Fprintf(w, "%s\t%s\t%d\t%d\t%s\t%d\t%d\t%s\n", g.Title.English, g.Sure.Sure, g.Bundles, g.Pieces, g.Weight, g.Lots, g.Bars, g.Stock)
	}
	if len(r.Calls) > 0 {
		fmt.Fprintf(w, "\nLOAD\tLEFT\tTRUCK\tJOB\tSHIP TO\tCONTACT\tBUNDLES\tPIECES\tWEIGHT\n")
		for _, c := range r.Calls {
			left := "is here"
			if c.Left != nil {
				left = c.Left.Format(minutely)
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%d\t%d\t%s\n", c.Load, left, c.Truck, strings.TrimSpace(c.Job+" "+c.JobName), strings.Join(c.ShipTo, ", "), c.Contact, c.Bundles, c.Pieces, c.Weight)
		}
	}
	if len(r.Bundles) > 0 {
		fmt.Fprintf(w, "\nBUNDLE\tJOB\tLIST\tMARK\tK OF N\tPIECES\tSTEEL\tHEATS\tSURE\tWHERE\n")
		for _, b := range r.Bundles {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s of %d\t%d\t%s\t%s\t%s\t%s\n", b.Number, b.Job, b.List, b.Mark, b.K, b.N, b.Pieces, b.Steel.Steel,
				heatList(b.Draw), b.Sure.Sure, heldWord(b.Held)+b.Where)
		}
	}
	if len(r.Lots) > 0 {
		fmt.Fprintf(w, "\nLOT\tKIND\tHEATS\tSTEEL\tLENGTH\tON HAND\tSURE\tWHERE\n")
		for _, l := range r.Lots {
			fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%s\t%s\t%s\n", l.Number, lotKind(l.Lot), heatList(l.Draw), l.Steel.Steel, lotLength(l.Lot), onHand(l.Lot),
				l.Sure.Sure, heldWord(l.Held)+lotWhere(l.Lot))
		}
	}
	fmt.Fprintln(w)
	if r.Open > 0 {
		fmt.Fprintf(w, "On the list to resolve about it (tagd open): %d. Kept scans among them that do not fit\nthe record and do not count here: %d.\n", r.Open, r.Disputes)
	}
	for _, u := range r.Unsaid {
		fmt.Fprintln(w, u.English)
	}
	fmt.Fprintf(w, "From records 0 to %d, the last of %s.\n", r.Through, r.At.Format(minutely))
	return w.Flush()
}
