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
	Route   routeCmd   `cmd:"" help:"give it a route of its own"`
	Lost    lostCmd    `cmd:"" help:"pieces of it are lost"`
	Split   splitCmd   `cmd:"" help:"tie pieces of it as bundles of their own"`
	Merge   mergeCmd   `cmd:"" help:"tie bundles of its line into it"`
	TagLost tagLostCmd `cmd:"" help:"its tag is lost"`
	Undo    undoCmd    `cmd:"" help:"take its newest progress back"`
	Void    voidCmd    `cmd:"" help:"take it out of the work, before it is begun"`
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

tagd bundle DEED --help explains one of them.

Example:

    tagd bundle route 1-001-00000042-05 cut --reason "bent by the other shop"
`
}

// bundleFlags are the flags of every deed.
type bundleFlags struct {
	dataFlag
	Reason string   `placeholder:"TEXT"`
	Person []string `placeholder:"NUMBER" sep:"none"`
	Key    string   `placeholder:"TEXT"`
	JSON   bool     `name:"json"`
}

func (b *bundleFlags) by() api.By { return api.By{Device: device, People: b.Person, Key: b.Key} }

// bundleFlagsHelp explains them.
const bundleFlagsHelp = `
    --reason TEXT   why; who reads the bundle's history will want to know
    --person NUMBER a badge of who does it
    --key TEXT      the request's own id: sent again with the same one it counts
                    once

With --json the answer is one object.
`

// change asks the plant for a change of a bundle, and shows what became of it.
func (b *bundleFlags) change(ctx context.Context, s streams, ask func(*door) (api.Changed, error)) error {
	if !b.Data.exists() {
		return misuse("--data names another folder.", "%s has no store to change", b.Data)
	}
	w, err := b.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	got, err := ask(w)
	if err != nil {
		return err
	}
	if b.JSON {
		return writeJSON(s.out, got)
	}
	return writeChanged(s.out, got)
}

// writeChanged shows a changed bundle to a person.
func writeChanged(out io.Writer, c api.Changed) error {
	for _, n := range c.Notes {
		fmt.Fprintln(out, strings.TrimSpace(n.Says+" "+n.Next))
	}
	for _, b := range append([]api.Bundle{c.Bundle}, c.Others...) {
		more := ""
		if b.Replacement {
			more = "  REPLACEMENT"
		}
		if _, err := fmt.Fprintf(out, "%s  %s / %s  %s %s/%d  %d of %s  %s%s\n", b.Number, b.Job, b.List, b.Mark, b.K, b.N, b.Pieces, b.Length, b.Where, more); err != nil {
			return err
		}
	}
	return nil
}

type routeCmd struct {
	Number string `arg:""`
	Steps  string `arg:""`
	bundleFlags
}

func (routeCmd) Help() string {
	return `Usage: tagd bundle route NUMBER STEPS --reason TEXT [--person NUMBER]...
                         [--key TEXT] [--json] [--data DIR]

Gives a bundle a route of its own. STEPS are all of its steps in order, with
commas between them: cut, bend, "cut and bend", saw, thread, head, coat, tie;
or the word none, for full stock lengths and what is bought ready made. What is
done or begun stays in front, and only what follows may change; also after the
fact, for a bundle that was bent elsewhere.
` + bundleFlagsHelp + `
Examples:

    tagd bundle route 1-001-00000042-05 cut,bend --reason "machine is down"
    tagd bundle route 1-001-00000042-05 none --reason "bought ready made"
`
}

func (c *routeCmd) Run(ctx context.Context, s streams) error {
	return c.change(ctx, s, func(w *door) (api.Changed, error) {
		return w.SetRoute(ctx, c.Number, api.SetRoute{Steps: strings.Split(c.Steps, ","), Reason: c.Reason, By: c.by()})
	})
}
