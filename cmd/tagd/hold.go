package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/tags"
)

type holdCmd struct {
	What   []string `arg:""`
	Reason string   `placeholder:"TEXT"`
	DryRun bool     `name:"dry-run"`
	Lang   string   `default:"en" placeholder:"en|es"`
	sayFlags
}

func (holdCmd) Help() string {
	return `Usage: tagd hold WHAT --reason TEXT [--dry-run] [--person NUMBER]...
                 [--key TEXT] [--lang en|es] [--json] [--data DIR]

Puts a hold on WHAT: a heat (its mill, then its number), or the number of a lot,
a bundle or a load. Every station meets it at its next scan: starts, next steps
and loadings of what may be of it are refused. It says what the hold stops, and
what none can: what has left, and whom to call; what is in work now, which is
finished, with Check.

With --dry-run it only says so, and nothing is recorded.

    --reason TEXT   who meets the hold must know why
    --person NUMBER a badge of who puts it
    --key TEXT      the request's own id: sent again it counts once

Examples:

    tagd hold "Mesa Steel 7041893" --reason "mill recalls the heat" --dry-run
    tagd hold 2-001-00000001-16 --reason "rib height"
`
}

// target reads what a hold is put on: a number, or a heat with its mill.
func (w *door) target(ctx context.Context, words []string) (api.Target, error) {
	text := strings.Join(words, " ")
	if n, err := tags.ParseNumber(text); err == nil {
		return api.Target{Number: n.String()}, nil
	}
	r, err := w.Recall(ctx, text, "")
	if err != nil {
		return api.Target{}, err
	}
	isHeat := slices.ContainsFunc(r.Found, func(f string) bool { return strings.HasPrefix(f, "heat ") })
	switch heats := r.Heats; {
	case len(heats) == 0 || !isHeat:
		return api.Target{}, no("A heat is its mill and its number: \"Mesa Steel 7041893\".", "no heat goes by the name %s", text)
	case len(heats) > 1:
		return api.Target{}, no("Name the mill too; each heat is held for itself.", "%s is %d heats: %s", text, len(heats), heatList(api.Draw{Heats: heats}))
	}
	return api.Target{Mill: r.Heats[0].Mill, Heat: r.Heats[0].Heat}, nil
}

func (c *holdCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to ask", c.JSON, func(w *door) (api.HoldPut, error) {
		t, err := w.target(ctx, c.What)
		if err != nil {
			return api.HoldPut{}, err
		}
		return w.Hold(ctx, api.PutHold{Target: t, Reason: c.Reason, DryRun: c.DryRun, By: c.by()})
	}, c.show)
}

// show says what a hold stops, and what none can.
func (c *holdCmd) show(out io.Writer, got api.HoldPut) error {
	spanish := strings.HasPrefix(c.Lang, "es")
	word := func(english, es string) string {
		if spanish {
			return es
		}
		return english
	}
	head := word("Held: ", "Retenido: ")
	if got.DryRun {
		head = word("A hold on it would stop, and nothing is recorded yet: ", "Una retención detendría, y aún no se registra nada: ")
	}
	fmt.Fprintln(out, head+got.What)
	say := func(sign string, all []api.Said) {
		for _, x := range all {
			fmt.Fprintln(out, sign+word(x.English, x.Spanish))
		}
	}
	say("  stops   ", got.Stops)
	if spanish {
		say("  no para ", got.Cannot)
	} else {
		say("  cannot  ", got.Cannot)
	}
	return nil
}

type liftCmd struct {
	What   []string `arg:""`
	Reason string   `placeholder:"TEXT"`
	sayFlags
}

func (liftCmd) Help() string {
	return `Usage: tagd lift WHAT --reason TEXT [--person NUMBER]... [--key TEXT]
                 [--json] [--data DIR]

Ends the hold on WHAT: a heat, or the number of a lot, bundle or load. Only the
hold on that very thing ends: a bundle of a held heat stays held with the heat.

Example:

    tagd lift "Mesa Steel 7041893" --reason "retested, letter on file"
`
}

func (c *liftCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to ask", c.JSON, func(w *door) (api.HoldLifted, error) {
		t, err := w.target(ctx, c.What)
		if err != nil {
			return api.HoldLifted{}, err
		}
		return w.Lift(ctx, api.LiftHold{Target: t, Reason: c.Reason, By: c.by()})
	}, func(out io.Writer, got api.HoldLifted) error {
		_, err := fmt.Fprintf(out, "Lifted: %s\n", got.What)
		return err
	})
}

type holdsCmd struct {
	dataFlag
	JSON bool `name:"json"`
}

func (holdsCmd) Help() string {
	return `Usage: tagd holds [--json] [--data DIR]

Lists the holds that are not lifted, oldest first: what is held, why, since
when, and the badges of who put it.
`
}

func (c *holdsCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to ask", c.JSON, func(w *door) (api.Holds, error) {
		holds, err := all(func(after string, limit int) ([]api.Hold, string, error) {
			page, err := w.Holds(ctx, after, limit)
			return page.Holds, page.Next, err
		})
		return api.Holds{Holds: holds}, err
	}, writeHolds)
}

// writeHolds shows holds to a person.
func writeHolds(out io.Writer, got api.Holds) error {
	if len(got.Holds) == 0 {
		_, err := fmt.Fprintln(out, "Nothing is held.")
		return err
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "HELD\tREASON\tSINCE\tBY")
	for _, h := range got.Holds {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", h.What, h.Reason, h.At.Format(minutely), strings.Join(h.People, ", "))
	}
	return t.Flush()
}
