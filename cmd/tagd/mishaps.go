package main

import (
	"context"
	"io"

	"tagd/api"
)

type lostCmd struct {
	Number  string `arg:""`
	Pieces  int    `placeholder:"N"`
	Why     string `placeholder:"WORD"`
	Settled bool   ``
	because
	sayFlags
}

func (lostCmd) Help() string {
	return `Usage: tagd bundle lost NUMBER --pieces N --why WORD [--settled]
                        [--reason TEXT] [--person NUMBER]... [--key TEXT]
                        [--json] [--data DIR]

Says that a bundle has so many pieces no more. The line owes a bundle in their
place: it gets a number, begins its route anew, goes with the same truck if that
has not left, and is marked REPLACEMENT on its tag. Pieces lost at the site are
recorded after the truck has left; of a bundle on a truck that is here, nothing
is lost before it is unloaded. At a station, tagd scan does the same: see there
for the command lost.

    --pieces N      how many
    --why WORD      miscut, misbent, sample (taken for a test), damaged, site or
                    revised (for which nothing is owed)
    --settled       nothing is owed for them
` + becauseHelp + sayFlagsHelp + `
Examples:

    tagd bundle lost 1-001-00000042-05 --pieces 2 --why miscut
    tagd bundle lost 1-001-00000042-05 --pieces 1 --why sample --settled
`
}

func (c *lostCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Lose(ctx, c.Number, api.LosePieces{Pieces: c.Pieces, Why: c.Why, Note: c.Reason, Settled: c.Settled, By: c.by()})
	}, writeChanged)
}

type splitCmd struct {
	Number string `arg:""`
	Pieces []int  `placeholder:"N"`
	because
	sayFlags
}

func (splitCmd) Help() string {
	return `Usage: tagd bundle split NUMBER --pieces N[,N]... [--reason TEXT]
                         [--person NUMBER]... [--key TEXT] [--json]
                         [--data DIR]

Ties pieces of a bundle as bundles of their own, one for each count, as for two
trucks. The bundle keeps its number and the other pieces, one at least. The
parts are as far as it is, of the same heats, lie where it lies and are planned
for the same truck; a hold on its number goes with them. Print their tags, and a
new copy of the bundle's own.

    --pieces N,N    how many go into each new bundle
` + becauseHelp + sayFlagsHelp + `
Example:

    tagd bundle split 1-001-00000042-05 --pieces 12 --reason "two trucks"
`
}

func (c *splitCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Split(ctx, c.Number, api.SplitBundle{Pieces: c.Pieces, Reason: c.Reason, By: c.by()})
	}, writeChanged)
}

type mergeCmd struct {
	Number  string   `arg:""`
	From    []string `arg:""`
	Already bool     ``
	because
	sayFlags
}

func (mergeCmd) Help() string {
	return `Usage: tagd bundle merge NUMBER FROM... [--already] [--reason TEXT]
                         [--person NUMBER]... [--key TEXT] [--json]
                         [--data DIR]

Ties bundles of one line into one of them. NUMBER stays, and may be of all heats
that they may be of; those named FROM are no more. They have to be equally far,
not held, and on no truck. Where the job wants one heat in a bundle and together
they may be of several, it is refused.

    --already       they are tied: what would be refused is a Check for quality
` + becauseHelp + sayFlagsHelp + `
Example:

    tagd bundle merge 1-001-00000042-05 1-001-00000043-02
`
}

func (c *mergeCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Merge(ctx, c.Number, api.MergeBundles{From: c.From, Already: c.Already, Reason: c.Reason, By: c.by()})
	}, writeChanged)
}

type tagLostCmd struct {
	Number string `arg:""`
	Copy   int    `placeholder:"N"`
	because
	sayFlags
}

func (tagLostCmd) Help() string {
	return `Usage: tagd bundle tag-lost NUMBER [--copy N] [--reason TEXT]
                            [--person NUMBER]... [--key TEXT] [--json]
                            [--data DIR]

Says that the tag of a bundle is lost; NUMBER may be that of a lot or load too.
Print the next copy and tie it on. When a lost copy turns up, its QR code says
which copy it is, and the scan is a Check; the bars below do not tell copies
apart. What has lost its tag is found on the page /find, by its job, list, mark,
size, length and place.

    --copy N        copies up to this one are lost; all, if left out
` + becauseHelp + sayFlagsHelp + `
Example:

    tagd bundle tag-lost 1-001-00000042-05 --reason "torn off by the crane"
`
}

func (c *tagLostCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.TagLost, error) {
		return w.LoseTag(ctx, api.LoseTag{Number: c.Number, Copy: c.Copy, Reason: c.Reason, By: c.by()})
	}, func(out io.Writer, got api.TagLost) error { return writeNotes(out, got.Notes) })
}

type undoCmd struct {
	Number string `arg:""`
	because
	sayFlags
}

func (undoCmd) Help() string {
	return `Usage: tagd bundle undo NUMBER --reason TEXT [--person NUMBER]...
                        [--key TEXT] [--json] [--data DIR]

Takes back the newest thing that was done with a bundle: a start, a step done, a
loading, a loss, a split, a merge. Nothing is deleted: an event says what is
taken back, and why. What others have built on it is undone first, and the
refusal says what that is.
` + becauseHelp + sayFlagsHelp + `
Example:

    tagd bundle undo 1-001-00000042-05 --reason "scanned the wrong tag"
`
}

func (c *undoCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Undo(ctx, c.Number, api.Because{Reason: c.Reason, By: c.by()})
	}, writeChanged)
}

type voidCmd struct {
	Number string `arg:""`
	because
	sayFlags
}

func (voidCmd) Help() string {
	return `Usage: tagd bundle void NUMBER --reason TEXT [--person NUMBER]...
                        [--key TEXT] [--json] [--data DIR]

Takes a bundle that is not begun out of the work. What is begun is not voided:
its pieces are recorded as lost, or its progress is undone.
` + becauseHelp + sayFlagsHelp + `
Example:

    tagd bundle void 1-001-00000042-05 --reason "not wanted any more"
`
}

func (c *voidCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Void(ctx, c.Number, api.Because{Reason: c.Reason, By: c.by()})
	}, writeChanged)
}
