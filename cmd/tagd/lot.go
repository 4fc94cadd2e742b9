package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"tagd/api"
	"tagd/internal/heat"
)

// lotCmd is what an office says of stock lots, one subcommand for each deed.
type lotCmd struct {
	List    lotListCmd    `cmd:"" help:"the lots, by what is asked"`
	Confirm lotConfirmCmd `cmd:"" help:"some of an expected lot has come"`
	Count   lotCountCmd   `cmd:"" help:"so much of it lies there"`
	Counts  lotCountsCmd  `cmd:"" help:"take a count of the yard from a file"`
	Heat    lotHeatCmd    `cmd:"" help:"add or correct its heats"`
}

func (lotCmd) Help() string {
	return `Usage: tagd lot DEED ...

Says of a stock lot what no scan at a station says, and shows what lies in the
yard. The deeds:

    list       the lots: expected, short of their paper, not counted lately
    confirm    some of an expected lot has come
    count      so much of it lies there
    counts     take a count of the yard from a file, whole or not at all
    heat       add its heats, or correct them

tagd lot DEED --help explains one of them. tagd stock takes lots in.

Examples:

    tagd lot list --state expected
    tagd lot confirm 2-001-00000001-16
    tagd lot heat 2-001-00000001-16 --heats 0123 --reason "read from the tag"
`
}

// writeLot shows the answer to what was said of a lot.
func writeLot(out io.Writer, a api.LotAnswer) error {
	if err := writeAnswer(out, api.ScanAnswer{Verdict: a.Verdict, Notes: a.Notes}); err != nil {
		return err
	}
	return writeLots(out, []api.Lot{a.Lot})
}

type lotListCmd struct {
	dataFlag
	State           string `placeholder:"WORD"`
	Size            string `placeholder:"SIZE"`
	Mill            string `placeholder:"NAME"`
	Heat            string `placeholder:"HEAT"`
	OnHand          bool
	NotCountedSince string `placeholder:"DAY"`
	JSON            bool   `name:"json"`
}

func (lotListCmd) Help() string {
	return `Usage: tagd lot list [--state WORD] [--size SIZE] [--mill NAME] [--heat HEAT]
                     [--on-hand] [--not-counted-since DAY] [--json] [--data DIR]

Lists stock lots and remnants by their numbers.

    --state WORD    of what a mill's paper said was coming: expected (more is to
                    come, late or not), short (less came than the paper says,
                    and its day is past or no more comes) or here
    --size SIZE, --mill NAME, --heat HEAT
                    of these only
    --on-hand       with bars or coil on hand only
    --not-counted-since DAY
                    on hand, and not counted on that day or later: 2026-11-30

With --json the answer is one object, with the lots in "stock".

Example:

    tagd lot list --not-counted-since 2026-11-01
`
}

func (c *lotListCmd) Run(ctx context.Context, s streams) error {
	f := api.StockFilter{Size: c.Size, Mill: c.Mill, Heat: c.Heat, OnHand: c.OnHand, State: c.State, NotCountedSince: c.NotCountedSince}
	return asked(ctx, s, c.Data, "", c.JSON, func(w *door) (api.Stock, error) {
		lots, err := all(func(after string, limit int) ([]api.Lot, string, error) {
			page, err := w.Stock(ctx, f, after, limit)
			return page.Stock, page.Next, err
		})
		return api.Stock{Stock: lots}, err
	}, func(out io.Writer, got api.Stock) error { return writeLots(out, got.Stock) })
}

type lotConfirmCmd struct {
	Number string `arg:""`
	sayFlags
	Bundle string `placeholder:"TEXT"`
	Bars   *int   `placeholder:"N"`
	Weight string `placeholder:"WEIGHT"`
	Last   bool
	Place  string `placeholder:"NAME"`
	Note   string `placeholder:"TEXT"`
}

func (lotConfirmCmd) Help() string {
	return `Usage: tagd lot confirm NUMBER [--bundle TEXT] [--bars N | --weight WEIGHT]
                        [--last] [--place NAME] [--note TEXT]
                        [--person NUMBER]... [--key TEXT] [--json] [--data DIR]

Takes in what came of an expected lot: all that is still to come, if nothing
else is said. What differs from the mill's paper is recorded all the same, and
stands on the list of what a person should look at.

    --bundle TEXT   the mill's number of the bundle or coil that came
    --bars N        counted; as the paper says if left out
    --weight WEIGHT of coil, weighed: 2,150 lb
    --last          no more of it comes, whatever the paper says
    --place NAME    where it lies
    --note TEXT     anything to remember
` + sayFlagsHelp + `
Examples:

    tagd lot confirm 2-001-00000001-16
    tagd lot confirm 2-001-00000001-16 --bundle B4711 --bars 19
    tagd lot confirm 2-001-00000001-16 --bars 0 --last
`
}

func (c *lotConfirmCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "", c.JSON, func(w *door) (api.LotAnswer, error) {
		return w.Confirm(ctx, c.Number, api.Confirm{Number: c.Bundle, Bars: c.Bars, Weight: c.Weight, Last: c.Last, Place: c.Place, Note: c.Note, By: c.by()})
	}, writeLot)
}

type lotCountCmd struct {
	Number string `arg:""`
	Amount string `arg:""`
	sayFlags
	Place string `placeholder:"NAME"`
}

func (lotCountCmd) Help() string {
	return `Usage: tagd lot count NUMBER AMOUNT [--place NAME] [--person NUMBER]...
                      [--key TEXT] [--json] [--data DIR]

Says how much of a lot lies there. AMOUNT is bars, or a weight of coil with its
unit. The record is that from then on; the difference stays in the lot's
account, and on the list of what a person should look at.

    --place NAME    where it lies; as recorded if left out
` + sayFlagsHelp + `
Examples:

    tagd lot count 2-001-00000001-16 38 --place "Row 3"
    tagd lot count 2-001-00000007-95 "2,150 lb"
`
}

func (c *lotCountCmd) Run(ctx context.Context, s streams) error {
	say := api.CountLot{Place: c.Place, By: c.by()}
	if n, err := strconv.Atoi(c.Amount); err == nil {
		say.Bars = n
	} else {
		say.Weight = c.Amount
	}
	return asked(ctx, s, c.Data, "", c.JSON, func(w *door) (api.LotAnswer, error) { return w.CountLot(ctx, c.Number, say) }, writeLot)
}

type lotCountsCmd struct {
	dataFlag
	File  string `arg:""`
	Again bool
	JSON  bool `name:"json"`
}

func (lotCountsCmd) Help() string {
	var columns columnHelp
	for _, c := range heat.CountColumns {
		columns.add(c.Name, c.About, c.Must)
	}
	return `Usage: tagd lot counts FILE [--again] [--json] [--data DIR]

Takes a count of the yard from a CSV or XLSX file, one lot a row, whole or not
at all. It shows the lots that were counted otherwise than recorded. The
columns, in any order:

` + columns.String() + `
The very same file again changes nothing. With --again it is another count that
happens to read alike.

Example:

    tagd lot counts yard.csv
`
}

func (c *lotCountsCmd) Run(ctx context.Context, s streams) error {
	data, err := inputOf(c.File)
	if err != nil {
		return err
	}
	by, name := api.By{Device: device}, filepath.Base(c.File)
	if !c.Again {
		by.Key = fmt.Sprintf("count %x", sha256.Sum256(data))
	}
	return asked(ctx, s, c.Data, "", c.JSON, func(w *door) (api.Counted, error) {
		got, err := w.CountYard(ctx, name, data, by)
		sayRows(s, name, got.Warnings)
		if got.Again {
			s.say("this very file was taken before; nothing changed (--again takes it once more)")
		}
		return got, err
	}, func(out io.Writer, got api.Counted) error {
		if _, err := fmt.Fprintf(out, "%d lots counted, %d otherwise than recorded\n", got.Counted, got.Differing); err != nil || got.Differing == 0 {
			return err
		}
		return writeLots(out, got.Lots)
	})
}

type lotHeatCmd struct {
	Number string `arg:""`
	sayFlags
	Mill   string `placeholder:"NAME"`
	Heats  string `placeholder:"HEATS"`
	Reason string `placeholder:"TEXT"`
}

func (lotHeatCmd) Help() string {
	return `Usage: tagd lot heat NUMBER [--mill NAME] --heats HEATS --reason TEXT
                     [--person NUMBER]... [--key TEXT] [--json] [--data DIR]

Adds the heats of a lot, or corrects them, also weeks later: a heat lives on the
lot only, so every bundle, remnant and load that is of it follows at once. What
the lot touches is shown, and which bundles break a rule of their job by now.

    --mill NAME     the mill; as before if left out
    --heats HEATS   all of them, with commas between; none if it is not known
    --reason TEXT   why; who reads the lot's history will want to know
` + sayFlagsHelp + `
Examples:

    tagd lot heat 2-001-00000001-16 --mill "Example Mill" --heats 7041893 \
        --reason "read from the mill's tag"
    tagd lot heat 2-001-00000001-16 --heats none --reason "the tag was mixed up"
`
}

func (c *lotHeatCmd) Run(ctx context.Context, s streams) error {
	say := api.SetHeats{Mill: c.Mill, Heats: []string{}, Reason: c.Reason, By: c.by()}
	switch {
	case c.Heats == "":
		return misuse("--heats none says that it is not known.", "--heats is missing")
	case c.Heats != "none":
		say.Heats = strings.FieldsFunc(c.Heats, func(r rune) bool { return r == ',' || r == ' ' })
	}
	return asked(ctx, s, c.Data, "", c.JSON, func(w *door) (api.HeatsSet, error) { return w.SetHeats(ctx, c.Number, say) }, writeHeats)
}

// writeHeats shows a person what a lot's heats touch.
func writeHeats(out io.Writer, h api.HeatsSet) error {
	if err := writeLots(out, []api.Lot{h.Lot}); err != nil {
		return err
	}
	for _, of := range []struct {
		what string
		all  []string
	}{{"remnant", h.Lots}, {"bundle", h.Bundles}, {"load", h.Loads}, {"job", h.Jobs}} {
		if len(of.all) > 0 {
			follow := "follow"
			if len(of.all) == 1 {
				follow = "follows"
			}
			fmt.Fprintf(out, "%s %s: %s\n", several(len(of.all), of.what), follow, strings.Join(of.all, ", "))
		}
	}
	for _, b := range h.Broken {
		on := ""
		if b.Load != "" {
			on = ", on load " + b.Load
		}
		if _, err := fmt.Fprintf(out, "CHECK     %s %s%s: %s\n", b.Bundle, b.Mark, on, strings.TrimSpace(b.Says+" "+b.Next)); err != nil {
			return err
		}
	}
	return nil
}
