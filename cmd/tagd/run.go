package main

// Manners of all commands.
//
// Stdout takes the answer that was asked for and nothing else, so that it can be piped. Stderr takes
// what a person should know about how it went: progress, warnings, the log of serve, and errors.
// Errors begin with "tagd: "; where something can be done about one, the next line says what.
//
// No command asks a question. What a command writes is there whole or not at all. SIGINT and SIGTERM
// end a command in good order; a second one ends it at once.
//
// The exit code is one of the four below.

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/signal"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"tagd/api"
)

// Exit codes.
const (
	exitOK      = 0
	exitNo      = 1 // faults in a file, a refusal, or a check that found something
	exitUsage   = 2 // the command line or the settings
	exitTrouble = 3 // the disk, the network, the server, or the program
)

// commands is the whole command line.
type commands struct {
	Help helpFlag `short:"h" help:"Explain."`

	Demo    demoCmd    `cmd:"" help:"run two days of an invented shop"`
	Serve   serveCmd   `cmd:"" help:"run the shop's server"`
	Import  importCmd  `cmd:"" help:"take a bar list, or look at one"`
	Stock   stockCmd   `cmd:"" help:"receive or expect stock lots from a file"`
	Lot     lotCmd     `cmd:"" help:"what lies in the yard, and what an office says of it"`
	Tags    tagsCmd    `cmd:"" help:"write tags as PDF, PNG or SVG"`
	Scan    scanCmd    `cmd:"" help:"scan a tag at a station"`
	Bundle  bundleCmd  `cmd:"" help:"correct what a bundle is"`
	Runs    runsCmd    `cmd:"" help:"list runs: what was cut from what"`
	Mend    mendCmd    `cmd:"" help:"mend a charge that was forgotten"`
	Loads   loadsCmd   `cmd:"" help:"plan truck loads, and list them"`
	Needs   needsCmd   `cmd:"" help:"what the trucks need, and who misses them"`
	Read    readCmd    `cmd:"" help:"what a scanned text reads as"`
	Words   wordsCmd   `cmd:"" help:"every text of the pages, to say it otherwise"`
	Open    openCmd    `cmd:"" help:"the list to resolve"`
	Resolve resolveCmd `cmd:"" help:"settle a thing on the list to resolve"`
	Person  personCmd  `cmd:"" help:"make a badge, or say which offices it holds"`
	Trace   traceCmd   `cmd:"" help:"where did it go, where did it come from"`
	Recall  recallCmd  `cmd:"" help:"where is everything of a heat, lot, cert or mill"`
	Account accountCmd `cmd:"" help:"where is all metal of a heat, a lot, the plant"`
	Hold    holdCmd    `cmd:"" help:"stop a heat, lot, bundle or load"`
	Lift    liftCmd    `cmd:"" help:"end a hold"`
	Holds   holdsCmd   `cmd:"" help:"what is held"`
	Export  exportCmd  `cmd:"" help:"the record as tables, for other programs"`
	Check   checkCmd   `cmd:"" help:"prove that the store is sound"`
	Backup  backupCmd  `cmd:"" help:"copy everything into one file"`
	Restore restoreCmd `cmd:"" help:"make a data folder from a backup"`
	Bench   benchCmd   `cmd:"" help:"measure this program on this machine"`
	Version versionCmd `cmd:"" help:"say which program this is"`
	Explain explainCmd `cmd:"" name:"help" help:"explain a command"`
}

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// say writes a line for the person who waits.
func (s streams) say(format string, args ...any) { fmt.Fprintf(s.err, "tagd: "+format+"\n", args...) }

// failure is an error with its exit code. Without text, the command has said it already.
type failure struct {
	code int
	err  error
	hint string // what to do about it
}

func (f *failure) Error() string {
	if f.err == nil {
		return ""
	}
	return f.err.Error()
}
func (f *failure) Unwrap() error { return f.err }

// errSaid ends a command that has shown why the answer is no.
var errSaid = &failure{code: exitNo}

func no(hint, format string, args ...any) error {
	return &failure{exitNo, fmt.Errorf(format, args...), hint}
}

func misuse(hint, format string, args ...any) error {
	return &failure{exitUsage, fmt.Errorf(format, args...), hint}
}

// run runs one command line and gives its exit code.
func run(ctx context.Context, args []string, in io.Reader, out, err io.Writer) int {
	ctx, stop := signal.NotifyContext(ctx, syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	context.AfterFunc(ctx, stop) // the second signal is no longer ours
	// What lives on the heap is a few megabytes, for the store is mapped: collecting each time it has
	// doubled would take a fifth of the processor from the scans.
	debug.SetGCPercent(400)
	s := streams{in, out, err}
	return s.report(command(ctx, args, s))
}

// command parses and runs a command line.
func command(ctx context.Context, args []string, s streams) error {
	parser, err := newParser()
	if err != nil {
		return err
	}
	if len(args) == 0 {
		explain(s.err, nil)
		return &failure{code: exitUsage}
	}
	k, err := parser.Parse(args)
	if errors.Is(err, errHelp) {
		var p *kong.ParseError
		errors.As(err, &p)
		return explain(s.out, p.Context.Selected())
	}
	if err != nil {
		hint := "tagd help explains the commands."
		var p *kong.ParseError
		if errors.As(err, &p) && p.Context != nil && p.Context.Selected() != nil {
			hint = fmt.Sprintf("tagd help %s explains it.", p.Context.Selected().Name)
		}
		return misuse(hint, "%v", err)
	}
	k.BindTo(ctx, (*context.Context)(nil))
	return k.Run(s)
}

func newParser() (*kong.Kong, error) {
	return kong.New(&commands{}, kong.Name("tagd"), kong.NoDefaultHelp(), kong.Writers(io.Discard, io.Discard))
}

// report says what went wrong, if anything did, and gives the exit code.
func (s streams) report(err error) int {
	if err == nil {
		return exitOK
	}
	f := &failure{code: exitTrouble, err: err}
	var p *api.Problem
	switch {
	case errors.As(err, &f):
	case errors.As(err, &p):
		f = ofProblem(p)
	case errors.Is(err, context.Canceled):
		f = &failure{exitTrouble, errors.New("stopped before the end"), ""}
	}
	if f.err != nil {
		for line := range strings.Lines(f.err.Error()) {
			s.say("%s", strings.TrimSuffix(line, "\n"))
		}
		if f.hint != "" {
			fmt.Fprintf(s.err, "      %s\n", f.hint)
		}
	}
	return f.code
}

// ofProblem is what the plant said, with each field at fault on a line of its own.
func ofProblem(p *api.Problem) *failure {
	says := []string{p.Detail}
	if len(p.Errors) > 1 {
		for _, e := range p.Errors {
			says = append(says, strings.TrimPrefix(e.Location+": "+e.Message, ": "))
		}
	}
	f := &failure{exitNo, errors.New(strings.Join(says, "\n")), p.Next}
	if p.Status >= 500 {
		f.code = exitTrouble
	}
	return f
}
