package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/load"
)

// loadsCmd is what an office does with truck loads, one subcommand for each deed.
type loadsCmd struct {
	Plan loadsPlanCmd `cmd:"" help:"plan the loads of a file"`
	List loadsListCmd `cmd:"" help:"the loads of a day, or all"`
	Show loadsShowCmd `cmd:"" help:"a load, what is on it and where the rest lies"`

	Weigh   loadsWeighCmd   `cmd:"" help:"the scale ticket of a load"`
	Deliver loadsDeliverCmd `cmd:"" help:"the signed sheet came back"`
	Return  loadsReturnCmd  `cmd:"" help:"a bundle came back from a load"`
	Back    loadsBackCmd    `cmd:"" help:"what came back from a processor"`
	Claim   loadsClaimCmd   `cmd:"" help:"what a site says of a load"`
	Answer  loadsAnswerCmd  `cmd:"" help:"answer a claim"`
	Claims  loadsClaimsCmd  `cmd:"" help:"the open claims"`
}

func (loadsCmd) Help() string {
	return `Usage: tagd loads DEED ...

Truck loads: what is planned for which truck and stop, and what becomes of them.
The deeds:

    plan       plan the loads of a file, or plan them anew
    list       the loads of a day, or all, newest first
    show       a load: what is on it, and where the rest lies
    weigh      the scale ticket of a load
    deliver    the signed sheet of a load came back
    return     a bundle, or pieces of it, came back from a load
    back       what came back from a processor
    claim      what a site says of a load
    answer     answer a claim
    claims     the claims that are open

tagd loads DEED --help explains one of them. What the planned loads need, and
what will miss them, says tagd needs.

Example:

    tagd loads plan trucks.csv
`
}

type loadsPlanCmd struct {
	dataFlag
	File  string `arg:""`
	Move  bool
	Again bool
	JSON  bool `name:"json"`
}

func (loadsPlanCmd) Help() string {
	var columns columnHelp
	for _, c := range load.PlanColumns {
		columns.add(c.Name, c.About, c.Must)
	}
	return `Usage: tagd loads plan FILE [--move] [--again] [--json] [--data DIR]

Plans truck loads from a CSV or XLSX file. Rows with one load belong together,
and of these, rows with one stop; what one row says of a load or a stop, the
others need not say again. A row plans one bundle, one line of a bar list, or
with a list and no mark the rest of it: what is planned on no load yet. What is
not cut yet may be planned. The file is taken whole or not at all, and its
faults come all at once, each with row and field. The columns, in any order:

` + columns.String() + `
A load under its own number is planned anew, whole, and the answer says what
moved. A bundle is planned on one load at most: one that another load has is
refused, or with --move taken off that one. The very same file again changes
nothing; with --again it is planned once more.

With --json the answer is one object, with the loads in "loads".

Example:

    tagd loads plan trucks.csv
`
}

func (c *loadsPlanCmd) Run(ctx context.Context, s streams) error {
	data, err := inputOf(c.File)
	if err != nil {
		return err
	}
	w, err := c.Data.asking(ctx, s, "to plan loads in", "tagd import takes a bar list first")
	if err != nil {
		return err
	}
	defer w.close()
	by := api.By{Device: device}
	if !c.Again {
		by.Key = fmt.Sprintf("loads %x %t", sha256.Sum256(data), c.Move)
	}
	got, err := w.ImportLoads(ctx, filepath.Base(c.File), data, c.Move, by)
	if err != nil {
		return err
	}
	if got.Again {
		s.say("this very file was planned before; nothing changed (--again plans it once more)")
	}
	if c.JSON {
		return writeJSON(s.out, got)
	}
	return writePlanned(s.out, got)
}

// whatMoved says of each bundle what a plan did with it.
var whatMoved = map[string]string{"added": "added", "off": "taken off", "stop": "to another stop", "load": "from another load"}

// writePlanned shows a person what became of plans.
func writePlanned(out io.Writer, got api.LoadsPlanned) error {
	if err := writeNotes(out, got.Notes); err != nil {
		return err
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	for _, l := range got.Loads {
		for _, m := range l.Moved {
			from, to := "", ""
			if m.FromLoad != "" {
				from = fmt.Sprintf("from %s stop %d", m.FromLoad, m.FromStop)
			}
			if m.Stop > 0 {
				to = fmt.Sprintf("stop %d", m.Stop)
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%s\n", l.Load.Number, whatMoved[m.What], m.Bundle, m.Line, to, from)
		}
	}
	return t.Flush()
}

type loadsListCmd struct {
	dataFlag
	Date  string `placeholder:"DAY"`
	State string `placeholder:"WORD"`
	JSON  bool   `name:"json"`
}

func (loadsListCmd) Help() string {
	return `Usage: tagd loads list [--date DAY] [--state WORD] [--json] [--data DIR]

Lists truck loads, newest first: those of a day (--date 2026-11-30), and those
that are planned, open, shipped or delivered (--state WORD); all if you do not
say.

With --json the answer is one object, with the loads in "loads".

Example:

    tagd loads list --date 2026-11-30
`
}

func (c *loadsListCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to look into", c.JSON, func(w *door) (api.Loads, error) {
		loads, err := all(func(after string, limit int) ([]api.Load, string, error) {
			page, err := w.Loads(ctx, api.LoadFilter{State: c.State, Date: c.Date}, after, limit)
			return page.Loads, page.Next, err
		})
		return api.Loads{Loads: loads}, err
	}, writeLoads)
}

// writeLoads shows loads to a person.
func writeLoads(out io.Writer, got api.Loads) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "LOAD\tSTATE\tLEAVES\tTRUCK\tSTOPS\tPLANNED\tLOADED\tWEIGHT")
	for _, l := range got.Loads {
		var stops []string
		for _, s := range l.Stops {
			stops = append(stops, strings.TrimSpace(s.Job+" "+s.Processor))
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d\t%d\t%s\n", l.Number, l.State, strings.TrimSpace(l.Date+" "+l.Leaves), l.Truck, strings.Join(stops, ", "), l.Planned, l.Loaded, l.Weight)
	}
	return t.Flush()
}
