package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

type needsCmd struct {
	dataFlag
	Station string `arg:"" optional:""`
	JSON    bool   `name:"json"`
}

func (needsCmd) Help() string {
	return `Usage: tagd needs [STATION] [--json] [--data DIR]

What the planned trucks need, in the order in which it is wanted: by the moment
at which the truck leaves, then the last stop first, since that is loaded first.
With STATION only what waits there.

Then what cannot be made from the stock on hand, by steel and length, and what
to buy for it; and who misses the truck, by how fast the stations were in the
last days. A forecast is made with the median of what they took for a piece, and
once more with the upper quartile; with fewer than five records of a station,
step and class of sizes there is none, and it says so.

With --json the answer is one object.

Examples:

    tagd needs
    tagd needs S1
`
}

func (c *needsCmd) Run(ctx context.Context, s streams) error {
	if c.Station != "" {
		return asked(ctx, s, c.Data, "to look into", c.JSON, func(w *door) (api.StationNeeds, error) {
			return w.StationNeeds(ctx, c.Station)
		}, writeStationNeeds)
	}
	return asked(ctx, s, c.Data, "to look into", c.JSON, func(w *door) (api.Needs, error) { return w.Needs(ctx) }, writeOutlook)
}

// writeStationNeeds shows what waits at a station, and what comes to it after another step.
func writeStationNeeds(out io.Writer, got api.StationNeeds) error {
	fmt.Fprintf(out, "%s %s\n", got.Station, got.Title)
	if err := writeNeeds(out, got.Now); err != nil || len(got.Later) == 0 {
		return err
	}
	fmt.Fprintln(out, "\nAnother step before:")
	return writeNeeds(out, got.Later)
}

// writeNeeds shows what waits, in order.
func writeNeeds(out io.Writer, needs []api.Need) error {
	if len(needs) == 0 {
		_, err := fmt.Fprintln(out, "nothing waits")
		return err
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "BUNDLE\tJOB / LIST\tMARK\tSTEEL\tPIECES\tLENGTH\tSTEPS\tLOAD\tLEAVES\tFORECAST")
	for _, n := range needs {
		steps := strings.Join(n.Steps, ", ")
		if n.Begun {
			steps += " (begun)"
		}
		if n.Held {
			steps += " HELD"
		}
		fmt.Fprintf(t, "%s\t%s / %s\t%s %s/%d\t%s\t%d\t%s\t%s\t%s stop %d\t%s\t%s\n",
			n.Bundle, n.Job, n.List, n.Mark, n.K, n.N, n.Steel, n.Pieces, n.Length, steps, n.Load, n.Stop, n.Leaves, chance(n.Forecast))
	}
	return t.Flush()
}

func chance(f api.Forecast) string { return f.Chance + ": " + f.Says }

// writeOutlook shows what the trucks need, what is short, and how fast the stations were.
func writeOutlook(out io.Writer, n api.Needs) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "LOAD\tLEAVES\tTRUCK\tJOBS\tREADY\tWAITING\tMISS IT\tMAY MISS\tNO FORECAST")
	for _, x := range n.Trucks {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%d\t%d\t%d\t%d\t%d\n", x.Load, x.LeavesAt, x.Truck, strings.Join(x.Jobs, ", "), x.Ready, x.Waiting, x.Miss, x.MayMiss, x.Unknown)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(out)
	if err := writeNeeds(out, n.Needs); err != nil {
		return err
	}
	if len(n.Short) > 0 {
		fmt.Fprintln(out, "\nCannot be made from the stock on hand:")
		for _, x := range n.Short {
			from := ""
			if x.Coil {
				from = " from coil"
			}
			fmt.Fprintf(t, "%s\t%s of %s%s\t%s\t%s\tfirst for %s\n", x.Steel, several(x.Pieces, "piece"), x.Length, from, x.Weight, several(len(x.Bundles), "bundle"), x.Load)
		}
		for _, x := range n.Buy {
			switch {
			case x.Coil:
				fmt.Fprintf(t, "%s\tbuy coil\t%s\t\t\n", x.Steel, x.Weight)
			case x.TooLong > 0:
				fmt.Fprintf(t, "%s\tlonger than all that is bought: %s of %s\t\t\t\n", x.Steel, several(x.TooLong, "piece"), x.Length)
			default:
				fmt.Fprintf(t, "%s\tbuy %s of %s\t%s\t\t\n", x.Steel, several(x.Bars, "bar"), x.Length, x.Weight)
			}
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	if len(n.Paces) > 0 {
		fmt.Fprintf(out, "\nSeconds a piece, since %s:\n", n.Since.Format("2006-01-02"))
		for _, p := range n.Paces {
			pace := fmt.Sprintf("%.1f (%.1f to %.1f)", p.Median, p.Low, p.High)
			if !p.Enough {
				pace = "too few records"
			}
			fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%d records\n", p.Station, p.Step, p.Class, pace, p.Records)
		}
	}
	return t.Flush()
}
