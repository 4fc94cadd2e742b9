package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/alecthomas/kong"
)

const overview = `Usage: tagd COMMAND [ARGUMENT...]

tagd keeps the tags of a rebar shop. A bar list comes in, bundles get tags with
numbers, each scan at shear, bender and truck is written down, and afterwards it
can be said which heats are in a bundle and where a heat went.

The commands:

    demo       run two days of an invented shop
    serve      run the shop's server
    import     take a bar list, or look at one with --dry-run
    stock      receive stock lots from a file, or expect them
    lot        what lies in the yard, counted and confirmed
    tags       write tags as PDF, PNG or SVG
    scan       scan a tag at a station
    bundle     say what a bundle is: its route, its bars, its heats, its job
    runs       list runs: what was cut from what
    mend       mend a charge that was forgotten
    loads      plan truck loads from a file, and list them
    needs      what the trucks need, what is short, and who misses the truck
    read       what a scanned text reads as
    words      every text of the pages, to say it otherwise
    open       the list to resolve: what wants a person
    resolve    settle a thing on the list to resolve
    person     make a badge, say which offices it holds and what it speaks
    trace      where did it go, where did it come from
    recall     where is everything of a heat, lot, cert or mill, and how urgent
    account    where is all metal of a heat, a lot, or the plant, exactly
    hold       stop a heat, lot, bundle or load, or see what that would stop
    lift       end a hold
    holds      what is held
    export     the record as tables, for other programs
    check      prove that the store is sound
    backup     copy everything into one file
    restore    make a data folder from a backup
    bench      measure the program on this machine
    version    say which program this is
    help       explain a command: tagd help import

Everything of a plant is in one data folder: the settings, the store and the
mill certs. --data DIR names it; without, it is the folder in TAGD_DATA, or else
tagd-data where you are. tagd serve makes it, with settings that explain
themselves. Look at them before the first tag is printed.

While a server runs, the other commands ask it; while none runs, they do the
same work themselves on the stopped store.

A first look:

    tagd serve
    tagd import list.csv --dry-run
    tagd import list.csv --job 26-014 --list A1
    tagd tags --job 26-014 --out tags.pdf
    tagd trace 7041893

Exit codes: 0 done, 1 the answer is no (faults in a file, a refusal, a check
that found something), 2 wrong usage or settings, 3 trouble with disk, network
or program.
`

// errHelp ends parsing when help is asked for.
var errHelp = errors.New("help asked for")

type helpFlag bool

// BeforeReset makes help win over whatever else is wrong with the command line.
func (helpFlag) BeforeReset() error { return errHelp }

// explain writes the explanation of a command, or of all with nil.
func explain(w io.Writer, n *kong.Node) error {
	text := overview
	if n != nil {
		text = n.Detail
	}
	_, err := io.WriteString(w, text)
	return err
}

// columnHelp lists the columns of a file, wrapped for a terminal.
type columnHelp struct{ strings.Builder }

func (h *columnHelp) add(name, about string, must bool) {
	const from, to = 18, 80
	if must {
		about += " (needed)"
	}
	at := from
	fmt.Fprintf(h, "%-*s", from, "    "+name)
	for i, word := range strings.Fields(about) {
		if i > 0 && at+1+len(word) > to {
			fmt.Fprintf(h, "\n%*s", from, "")
			at, i = from, 0
		}
		if i > 0 {
			h.WriteByte(' ')
			at++
		}
		h.WriteString(word)
		at += len(word)
	}
	h.WriteByte('\n')
}

type explainCmd struct {
	Command []string `arg:"" optional:""`
}

func (explainCmd) Help() string {
	return `Usage: tagd help [COMMAND...]

Explains a command, or names them all. tagd COMMAND --help, or -h, is the same.

Examples:

    tagd help
    tagd help import
    tagd help bundle route
`
}

func (c *explainCmd) Run(_ context.Context, s streams) error {
	if len(c.Command) == 0 {
		return explain(s.out, nil)
	}
	parser, err := newParser()
	if err != nil {
		return err
	}
	n := parser.Model.Node
	for _, name := range c.Command {
		i := slices.IndexFunc(n.Children, func(o *kong.Node) bool { return o.Name == name })
		if i < 0 {
			return misuse("tagd help names the commands.", "there is no command %s", strings.Join(c.Command, " "))
		}
		n = n.Children[i]
	}
	return explain(s.out, n)
}

type versionCmd struct{}

func (versionCmd) Help() string {
	return `Usage: tagd version

Says which program this is: the revision it was built from, the Go it was built
with, and the forms of settings, record and views that it keeps.
`
}

func (versionCmd) Run(_ context.Context, s streams) error {
	_, err := fmt.Fprintln(s.out, version())
	return err
}
