package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"tagd/api"
)

// bundleCmd is what an office says of bundles, one subcommand for each deed.
type bundleCmd struct {
	Route    routeCmd    `cmd:"" help:"give it a route of its own"`
	Lost     lostCmd     `cmd:"" help:"pieces of it are lost"`
	Split    splitCmd    `cmd:"" help:"tie pieces of it as bundles of their own"`
	Merge    mergeCmd    `cmd:"" help:"tie bundles of its line into it"`
	TagLost  tagLostCmd  `cmd:"" help:"its tag is lost"`
	Undo     undoCmd     `cmd:"" help:"take its newest progress back"`
	Void     voidCmd     `cmd:"" help:"take it out of the work, before it is begun"`
	Assign   assignCmd   `cmd:"" help:"say which bars it is that no station cuts"`
	Declare  declareCmd  `cmd:"" help:"say what a supplier's paper has on its heats"`
	Reassign reassignCmd `cmd:"" help:"give it to another line of the same bars"`
}

func (bundleCmd) Help() string {
	return `Usage: tagd bundle DEED NUMBER ... --reason TEXT

Says of a bundle what no scan at a station says. Each deed is one event with
its reason; nothing is deleted or edited. The deeds:

    route      give it a route of its own
    lost       pieces of it are lost: the line owes others
    split      tie pieces of it as bundles of their own
    merge      tie bundles of its line into it
    tag-lost   its tag is lost
    undo       take its newest progress back
    void       take it out of the work, before it is begun
    assign     say which bars it is: full lengths, which no station cuts
    declare    say what a supplier's paper has on its heats: bought ready made
    reassign   give it to another line of the same bars

tagd bundle DEED --help explains one of them.

Example:

    tagd bundle route 1-001-00000042-05 cut --reason "bent by the other shop"
`
}

// because is the flag of those that ask for a reason.
type because struct {
	Reason string `placeholder:"TEXT"`
}

// becauseHelp explains the reason.
const becauseHelp = `
    --reason TEXT   why; who reads the bundle's history will want to know
`

// writeChanged shows a changed bundle to a person.
func writeChanged(out io.Writer, c api.Changed) error {
	return writeTold(out, c.Notes, append([]api.Bundle{c.Bundle}, c.Others...))
}

// writeTold shows what came of what was said: the sentences, and the bundles that changed.
func writeTold(out io.Writer, notes []api.Note, bundles []api.Bundle) error {
	if err := writeNotes(out, notes); err != nil {
		return err
	}
	for _, b := range bundles {
		if err := writeBundle(out, b); err != nil {
			return err
		}
	}
	return nil
}

// writeBundle shows a bundle in a line.
func writeBundle(out io.Writer, b api.Bundle) error {
	more := ""
	if b.Replacement {
		more = "  REPLACEMENT"
	}
	_, err := fmt.Fprintf(out, "%s  %s / %s  %s %s/%d  %d of %s  %s%s\n", b.Number, b.Job, b.List, b.Mark, b.K, b.N, b.Pieces, b.Length, b.Where, more)
	return err
}

type routeCmd struct {
	Number string `arg:""`
	Steps  string `arg:""`
	because
	sayFlags
}

func (routeCmd) Help() string {
	return `Usage: tagd bundle route NUMBER STEPS --reason TEXT [--person NUMBER]...
                         [--key TEXT] [--json] [--data DIR]

Gives a bundle a route of its own. STEPS are all of its steps in order, with
commas between them: cut, bend, "cut and bend", saw, thread, head, coat, tie;
or the word none, for full stock lengths and what is bought ready made. What is
done or begun stays in front, and only what follows may change; also after the
fact, for a bundle that was bent elsewhere.
` + becauseHelp + sayFlagsHelp + `
Examples:

    tagd bundle route 1-001-00000042-05 cut,bend --reason "machine is down"
    tagd bundle route 1-001-00000042-05 none --reason "bought ready made"
`
}

func (c *routeCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.SetRoute(ctx, c.Number, api.SetRoute{Steps: strings.Split(c.Steps, ","), Reason: c.Reason, By: c.by()})
	}, writeChanged)
}

type assignCmd struct {
	Number string   `arg:""`
	Bars   []string `placeholder:"LOT=N" sep:"none"`
	Lot    []string `placeholder:"NUMBER" sep:"none"`
	sayFlags
}

func (assignCmd) Help() string {
	return `Usage: tagd bundle assign NUMBER [--bars LOT=N]... [--lot NUMBER]...
                          [--person NUMBER]... [--key TEXT] [--json]
                          [--data DIR]

Says which bars a bundle is that no station cuts: full stock lengths, or bars
that are only bent or coated. Its heats, its trace and holds follow. The bars
are tied already, so nothing is refused for a hold or a rule of its job: that
is recorded, and a person should look.

    --bars LOT=N    so many bars of a lot
    --lot NUMBER    instead, as many bars as the bundle has pieces, of this lot,
                    or of several in order
` + sayFlagsHelp + `
Example:

    tagd bundle assign 1-001-00000042-05 --bars 2-001-00000001-16=40
`
}

func (c *assignCmd) Run(ctx context.Context, s streams) error {
	bars, err := lotBars(c.Bars)
	if err != nil {
		return err
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Assign(ctx, c.Number, api.Assign{Bars: bars, Lots: c.Lot, By: c.by()})
	}, writeChanged)
}

type declareCmd struct {
	Number string   `arg:""`
	Mill   string   `required:"" placeholder:"NAME"`
	Heat   []string `required:"" placeholder:"HEAT" sep:"none"`
	Paper  string   `required:"" placeholder:"TEXT"`
	Melted string   `placeholder:"COUNTRY"`
	Rolled string   `placeholder:"COUNTRY"`
	sayFlags
}

func (declareCmd) Help() string {
	return `Usage: tagd bundle declare NUMBER --mill NAME --heat HEAT... --paper TEXT
                           [--melted COUNTRY] [--rolled COUNTRY]
                           [--person NUMBER]... [--key TEXT] [--json]
                           [--data DIR]

Says what a supplier's paper has on the heats of a bundle that was bought ready
made. From then on it is found by its heats like any other; how sure they are is
never better than declared, for nobody here saw the steel cut.

    --mill NAME     the mill that the paper names
    --heat HEAT     a heat that it names; once for each
    --paper TEXT    which paper says so
    --melted COUNTRY, --rolled COUNTRY
                    where, by two letters of ISO 3166
` + sayFlagsHelp + `
Example:

    tagd bundle declare 1-001-00000042-05 --mill "Mesa Steel (invented)"
        --heat 7041893 --paper "delivery note 4711"
`
}

func (c *declareCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Declare(ctx, c.Number, api.Declare{Mill: c.Mill, Heats: c.Heat, Paper: c.Paper, Melted: c.Melted, Rolled: c.Rolled, By: c.by()})
	}, writeChanged)
}

type reassignCmd struct {
	Number  string `arg:""`
	Job     string `required:"" placeholder:"JOB"`
	List    string `required:"" placeholder:"LIST"`
	Mark    string `required:"" placeholder:"MARK"`
	Instead string `placeholder:"NUMBER"`
	because
	sayFlags
}

func (reassignCmd) Help() string {
	return `Usage: tagd bundle reassign NUMBER --job JOB --list LIST --mark MARK
                            --reason TEXT [--instead NUMBER]
                            [--person NUMBER]... [--key TEXT] [--json]
                            [--data DIR]

Gives a bundle that is made to another line of the same steel, length and shape:
what was made for the shop's own stock to a customer. It keeps its number and
its history, and takes the place of a bundle of that line that is not begun.
That one then owes the pieces that are left, or falls away. Print the new tag:
the old one names the old job, and every scan of it says so.

    --job JOB       job, list and mark of the line that it goes to
    --list LIST
    --mark MARK
    --instead NUMBER
                    the bundle whose place it takes; the first that fits if left
                    out
` + strings.TrimPrefix(becauseHelp, "\n") + sayFlagsHelp + `
Example:

    tagd bundle reassign 1-001-00000042-05 --job 26-014 --list A1 --mark 5A03
        --reason "from stock"
`
}

func (c *reassignCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Reassign(ctx, c.Number, api.Reassign{Job: c.Job, List: c.List, Mark: c.Mark, Instead: c.Instead, Reason: c.Reason, By: c.by()})
	}, writeChanged)
}
