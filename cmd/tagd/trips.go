package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

// writeLoadChanged shows what came of what was said of a load.
func writeLoadChanged(out io.Writer, got api.LoadChanged) error {
	return writeTold(out, got.Notes, got.Bundles)
}

// photoOf reads a photo; no path is none.
func photoOf(path string) (name string, data []byte, err error) {
	if path == "" {
		return "", nil, nil
	}
	data, err = inputOf(path)
	return filepath.Base(path), data, err
}

type loadsWeighCmd struct {
	Load   string `arg:""`
	Gross  string `placeholder:"WEIGHT"`
	Tare   string `placeholder:"WEIGHT"`
	Ticket string `placeholder:"TEXT"`
	Photo  string `placeholder:"FILE"`
	sayFlags
}

func (loadsWeighCmd) Help() string {
	return `Usage: tagd loads weigh LOAD --gross WEIGHT --tare WEIGHT [--ticket TEXT]
                        [--photo FILE] [--person NUMBER]... [--key TEXT]
                        [--json] [--data DIR]

Records a scale ticket of a load, with its unit: the net of it stands beside the
nominal weight, which it never replaces. The newest ticket stands, and the
others stay in the history. Over the limit it is a Check.

    --gross WEIGHT  what the scale showed: "61,480 lb"
    --tare WEIGHT   of the empty truck
    --ticket TEXT   the ticket's number
    --photo FILE    its photo: PDF, JPEG or PNG

` + sayFlagsHelp + `
Example:

    tagd loads weigh 4-001-00000001-83 --gross "61,480 lb" --tare "29,100 lb"
`
}

func (c *loadsWeighCmd) Run(ctx context.Context, s streams) error {
	name, photo, err := photoOf(c.Photo)
	if err != nil {
		return err
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.LoadChanged, error) {
		return w.Weigh(ctx, c.Load, api.Weigh{Ticket: c.Ticket, Gross: c.Gross, Tare: c.Tare, By: c.by()}, name, photo)
	}, writeLoadChanged)
}

type loadsDeliverCmd struct {
	Load   string `arg:""`
	Stop   int    `placeholder:"N"`
	Date   string `placeholder:"DAY"`
	Signed string `placeholder:"NAME"`
	Photo  string `placeholder:"FILE"`
	sayFlags
}

func (loadsDeliverCmd) Help() string {
	return `Usage: tagd loads deliver LOAD [--stop N] [--date DAY] [--signed NAME]
                          [--photo FILE] [--person NUMBER]... [--key TEXT]
                          [--json] [--data DIR]

Says that a load, or one stop of it, was handed over: the signed sheet came
back. Its photo is kept like a mill cert's paper. What was delivered is not
undone: what came back is returned.

    --stop N        the stop, from 1; all, if left out
    --date DAY      as it stands on the sheet (2026-11-25); today, if left out
    --signed NAME   who signed
    --photo FILE    of the signed sheet: PDF, JPEG or PNG

` + sayFlagsHelp + `
Example:

    tagd loads deliver 4-001-00000001-83 --stop 1 --photo signed.jpg
`
}

func (c *loadsDeliverCmd) Run(ctx context.Context, s streams) error {
	name, photo, err := photoOf(c.Photo)
	if err != nil {
		return err
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.LoadChanged, error) {
		return w.Deliver(ctx, c.Load, api.Deliver{Stop: c.Stop, Date: c.Date, Signed: c.Signed, By: c.by()}, name, photo)
	}, writeLoadChanged)
}

type loadsReturnCmd struct {
	Bundle string `arg:""`
	Pieces int    `placeholder:"N"`
	Place  string `placeholder:"NAME"`
	Reason string `placeholder:"TEXT"`
	Scrap  bool
	sayFlags
}

func (loadsReturnCmd) Help() string {
	return `Usage: tagd loads return BUNDLE --reason TEXT [--pieces N] [--place NAME]
                         [--scrap] [--person NUMBER]... [--key TEXT] [--json]
                         [--data DIR]

Says that a bundle came back from a load that left, as it went: it is here
again, and can be loaded again. With --pieces some of it came back, which are a
bundle of their own then; the others stayed there. At a station, tagd scan does
the same: see there for the command return.

    --pieces N      how many came back; all, if left out
    --place NAME    where they lie now
    --reason TEXT   why they came back
    --scrap         they are of no more use; if the site needs others, answer
                    its claim with replace

` + sayFlagsHelp + `
Example:

    tagd loads return 1-001-00000042-05 --reason "too many" --place A-14
`
}

func (c *loadsReturnCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.Changed, error) {
		return w.Return(ctx, c.Bundle, api.ReturnBundle{Pieces: c.Pieces, Place: c.Place, Reason: c.Reason, Scrap: c.Scrap, By: c.by()})
	}, writeChanged)
}

type loadsBackCmd struct {
	Load  string   `arg:""`
	From  []string `arg:""`
	Into  []string `placeholder:"N[=TAG]" sep:"none"`
	Step  string   `placeholder:"WORD"`
	Place string   `placeholder:"NAME"`
	sayFlags
}

func (loadsBackCmd) Help() string {
	return `Usage: tagd loads back LOAD FROM... [--into N[=TAG]]... [--step WORD]
                       [--place NAME] [--person NUMBER]... [--key TEXT]
                       [--json] [--data DIR]

Says what came back from a processor: a coater, a cage shop, another plant. LOAD
is the one on which the bundles FROM went. As they went, or with --into tied
anew, as bundles of N pieces under the processor's own tags; then those that
went are of one mark. What was tied anew may be of all heats of all that went.
Pieces that do not come back stay away. A scan of the processor's TAG finds the
bundle.

    --into N=TAG    a bundle as it was tied, with its tag if it has one
    --step WORD     the last step that was done there; the next one of the first
                    bundle if left out, and none where nothing was done
    --place NAME    where they lie now

` + sayFlagsHelp + `
Examples:

    tagd loads back 4-001-00000001-83 1-001-00000042-05
    tagd loads back 4-001-00000001-83 1-001-00000042-05 1-001-00000043-02 \
        --into 20=EC-881 --into 20=EC-882
`
}

func (c *loadsBackCmd) Run(ctx context.Context, s streams) error {
	b := api.BringBack{From: c.From, Step: c.Step, Place: c.Place, By: c.by()}
	for _, into := range c.Into {
		count, tag, _ := strings.Cut(into, "=")
		n, err := strconv.Atoi(strings.TrimSpace(count))
		if err != nil {
			return misuse("Write pieces, and behind = what the tag says: --into 20=EC-881", "--into %q has no count", into)
		}
		b.Into = append(b.Into, api.BackInto{Pieces: n, Tag: tag})
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.LoadChanged, error) {
		return w.BringBack(ctx, c.Load, b)
	}, writeLoadChanged)
}

type loadsClaimCmd struct {
	Load   string `arg:""`
	What   string `arg:""`
	Pieces int    `placeholder:"N"`
	Bundle string `placeholder:"NUMBER"`
	Line   string `placeholder:"JOB/LIST/MARK"`
	Who    string `placeholder:"NAME"`
	Note   string `placeholder:"TEXT"`
	sayFlags
}

func (loadsClaimCmd) Help() string {
	return `Usage: tagd loads claim LOAD WHAT --pieces N
                        (--bundle NUMBER | --line JOB/LIST/MARK) [--who NAME]
                        [--note TEXT] [--person NUMBER]... [--key TEXT]
                        [--json] [--data DIR]

Records what a site says of a load that left: so many pieces are short, damaged
or wrong, which is WHAT. It stays open until it is answered (tagd loads answer).

    --pieces N      how many pieces it is about
    --bundle NUMBER the bundle
    --line J/L/M    or the line, by job, list and mark
    --who NAME      who at the site says so
    --note TEXT     what they say

` + sayFlagsHelp + `
Example:

    tagd loads claim 4-001-00000001-83 short --pieces 3 --line 26-014/L/5A02
`
}

func (c *loadsClaimCmd) Run(ctx context.Context, s streams) error {
	m := api.MakeClaim{Load: c.Load, Bundle: c.Bundle, Pieces: c.Pieces, What: c.What, Who: c.Who, Note: c.Note, By: c.by()}
	if c.Line != "" {
		parts := strings.Split(c.Line, "/")
		if len(parts) != 3 {
			return misuse("Write job, list and mark: --line 26-014/L/5A02", "--line %q is no line", c.Line)
		}
		m.Job, m.List, m.Mark = parts[0], parts[1], parts[2]
	}
	return told(ctx, s, &c.sayFlags, func(w *door) (api.ClaimRecorded, error) {
		return w.MakeClaim(ctx, m)
	}, func(out io.Writer, got api.ClaimRecorded) error {
		fmt.Fprintf(out, "claim %d\n", got.Claim.Claim)
		return writeClaimed(out, got)
	})
}

// writeClaimed shows what came of a claim, or of its answer.
func writeClaimed(out io.Writer, got api.ClaimRecorded) error {
	return writeTold(out, got.Notes, got.Bundles)
}

type loadsAnswerCmd struct {
	Claim  uint64 `arg:""`
	Answer string `arg:""`
	Reason string `placeholder:"TEXT"`
	sayFlags
}

func (loadsAnswerCmd) Help() string {
	return `Usage: tagd loads answer CLAIM ANSWER [--reason TEXT]
                         [--person NUMBER]... [--key TEXT] [--json]
                         [--data DIR]

Answers a claim: ANSWER is replace, credit, "not ours" or found. With replace
its pieces count as lost, and the line owes a bundle for them, as for any loss;
it is planned on no load yet. The others change no pieces: what came back is
returned.

    --reason TEXT   what was agreed, and with whom; only with replace it may be
                    left out

` + sayFlagsHelp + `
Example:

    tagd loads answer 1204 replace --reason "by phone with A. Sample"
`
}

func (c *loadsAnswerCmd) Run(ctx context.Context, s streams) error {
	return told(ctx, s, &c.sayFlags, func(w *door) (api.ClaimRecorded, error) {
		return w.AnswerClaim(ctx, c.Claim, api.AnswerClaim{Answer: c.Answer, Reason: c.Reason, By: c.by()})
	}, writeClaimed)
}

type loadsClaimsCmd struct {
	dataFlag
	Load string `placeholder:"NUMBER"`
	All  bool
	JSON bool `name:"json"`
}

func (loadsClaimsCmd) Help() string {
	return `Usage: tagd loads claims [--load NUMBER] [--all] [--json] [--data DIR]

Lists the claims that are open, oldest first; with --all also those that were
answered, and with --load those of one load.

With --json the answer is one object, with the claims in "claims".

Example:

    tagd loads claims
`
}

func (c *loadsClaimsCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to look into", c.JSON, func(w *door) (api.Claims, error) {
		claims, err := all(func(after string, limit int) ([]api.Claim, string, error) {
			page, err := w.Claims(ctx, c.Load, !c.All, after, limit)
			return page.Claims, page.Next, err
		})
		return api.Claims{Claims: claims}, err
	}, writeClaims)
}

// writeClaims shows claims to a person.
func writeClaims(out io.Writer, got api.Claims) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "CLAIM\tLOAD\tBUNDLE\tLINE\tPIECES\tWHAT\tWHO\tANSWER")
	for _, x := range got.Claims {
		answer := "open"
		if x.Answered != nil {
			answer = strings.TrimSpace(x.Answered.Answer + " " + x.Answered.Replacement)
		}
		fmt.Fprintf(t, "%d\t%s\t%s\t%s\t%d\t%s\t%s\t%s\n", x.Claim, x.Load, x.Bundle, x.Line, x.Pieces, x.What, x.Who, answer)
	}
	return t.Flush()
}

type loadsShowCmd struct {
	dataFlag
	Load string `arg:""`
	JSON bool   `name:"json"`
}

func (loadsShowCmd) Help() string {
	return `Usage: tagd loads show LOAD [--json] [--data DIR]

Shows a load: its list beside what is on it and where the rest lies, the longest
piece and the widest bent shape, the scale ticket beside the nominal weight, who
signed, what came back, and its claims. Securement, flags and permits are the
driver's and carrier's.

With --json the answer is one object.

Example:

    tagd loads show 4-001-00000001-83
`
}

func (c *loadsShowCmd) Run(ctx context.Context, s streams) error {
	return asked(ctx, s, c.Data, "to look into", c.JSON, func(w *door) (api.LoadDetail, error) {
		return w.Load(ctx, c.Load)
	}, writeLoad)
}

// writeLoad shows a load to a person.
func writeLoad(out io.Writer, l api.LoadDetail) error {
	fmt.Fprintf(out, "%s  %s  %s\n", l.Number, l.State, strings.TrimSpace(strings.Join([]string{l.Date, l.Leaves, l.Truck, l.Trailer}, " ")))
	writeList(out, l.List)
	if l.Longest != nil {
		fmt.Fprintf(out, "longest piece: %s (%s)\n", l.Longest.Length, l.Longest.Title)
	}
	if l.Widest != nil {
		fmt.Fprintf(out, "widest bent shape: %s (%s)\n", l.Widest.Length, l.Widest.Title)
	}
	if x := l.Scale; x != nil {
		fmt.Fprintf(out, "scale: %s less %s = %s, nominal %s %s\n", x.Gross, x.Tare, x.Net, l.Weight, x.Differs)
	}
	for _, x := range l.Signed {
		fmt.Fprintf(out, "stop %d: handed over %s, signed %s\n", x.Stop, x.Date, x.Signed)
	}
	if x := l.There; x != nil {
		fmt.Fprintf(out, "there now: %s, %s, %s\n", several(x.Bundles, "bundle"), several(x.Pieces, "piece"), x.Weight)
		for _, w := range x.Went {
			if w.There != w.Pieces {
				fmt.Fprintf(out, "  %s  %s: %d went, %d are there; %s\n", w.Bundle, w.Title, w.Pieces, w.There, w.Where)
			}
		}
	}
	for _, x := range l.Claims {
		answer := "open"
		if x.Answered != nil {
			answer = x.Answered.Answer
		}
		fmt.Fprintf(out, "claim %d: %s of %s %s, %s\n", x.Claim, several(x.Pieces, "piece"), x.Line, x.What, answer)
	}
	_, err := fmt.Fprintln(out, "Securement, flags and permits are the driver's and carrier's.")
	return err
}

// writeList shows what of a load's list is on, and where the rest lies.
func writeList(out io.Writer, l api.LoadList) {
	limit := ""
	if l.Limit != "" {
		limit = " of " + l.Limit
	}
	fmt.Fprintf(out, "%s: %s on, %d planned, %d missing, %s%s\n", l.Load, several(l.Loaded, "bundle"), l.Planned, l.Missing, l.Weight, limit)
	for _, s := range l.Stops {
		fmt.Fprintf(out, "  stop %d, %s: %d of %d on\n", s.Stop, strings.TrimSpace(s.Job+" "+s.Processor), s.On, s.Planned)
		for _, m := range s.Missing {
			fmt.Fprintf(out, "    missing %s  %s: %s\n", m.Bundle, m.Title, m.Where)
		}
	}
}
