package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

// options are what was typed beside the file.
func (c *importCmd) options() api.ListOptions {
	return api.ListOptions{
		Job: c.Job, List: c.List, Revision: c.Revision, Spec: c.Spec, Grade: c.Grade, Coating: c.Coating, Unit: c.Unit,
		FromList: c.FromList, Decide: c.Decide, Reason: c.Reason, DryRun: c.DryRun, By: api.By{Device: device},
	}
}

// preview asks the plant what taking the file would change. Where no plant is, nothing stands that it
// could change.
func (c *importCmd) preview(ctx context.Context, s streams, name string, data []byte, l *looked) error {
	if !c.Data.exists() {
		return nil
	}
	for _, x := range l.Lines {
		if x.Job == "" || x.List == "" {
			return nil // a look at the file alone; taking it asks for them
		}
	}
	w, err := c.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	would, err := w.TakeList(ctx, name, data, c.options())
	if err != nil {
		return err
	}
	l.Changes, l.Says = would.Changes, would.Says
	return nil
}

// writeChanges shows what a revision changes, as a table, and below it what it asks.
func writeChanges(s streams, changes []api.ListChange) error {
	if len(changes) == 0 {
		return nil
	}
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "LIST\tMARK\tWHAT\tCHANGES\tHAD\tCOUNTS\tSTAYS\tNEW\tSURPLUS")
	alike, asked := 0, 0
	for _, c := range changes {
		if c.What == "unchanged" {
			alike++
			continue
		}
		var fields, had []string
		for _, f := range c.Fields {
			fields = append(fields, fmt.Sprintf("%s %s -> %s", f.Field, f.Was, f.Is))
		}
		for _, n := range c.Had {
			had = append(had, fmt.Sprintf("%d %s (%d pcs)", n.Bundles, n.State, n.Pieces))
		}
		what := c.What
		if c.From != "" {
			what += ", list " + c.From
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\t%s\t%d\t%d\t%d\t%s\n", c.List, c.Mark, what, strings.Join(fields, "; "), strings.Join(had, ", "),
			c.Counted, c.Stays, c.Owed, none(c.Surplus))
		asked += len(c.Asked)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if alike > 0 {
		fmt.Fprintf(s.out, "%s unchanged\n", counted(alike, "mark"))
	}
	if asked == 0 {
		return nil
	}
	fmt.Fprintf(s.out, "\n%s begun, to be decided about:\n", counted(asked, "bundle"))
	w = tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "BUNDLE\tMARK\tK/N\tPIECES\tSTATE\tDECIDED\tWHY, AND WHAT CAN BE")
	for _, c := range changes {
		for _, a := range c.Asked {
			says := a.Why + ": " + strings.Join(a.May, ", ")
			if a.WhyOnly != "" {
				says += " (" + a.WhyOnly + ")"
			}
			decided := a.Decided
			if decided == "" {
				decided = "open"
			}
			fmt.Fprintf(w, "%s\t%s\t%s\t%d\t%s\t%s\t%s\n", a.Bundle, c.Mark, a.Name, a.Pieces, a.State, decided, says)
		}
	}
	return w.Flush()
}

// none is a number that is left out where it is 0.
func none(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}
