package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"tagd/internal/bench"
)

type benchCmd struct {
	What    string        `arg:"" enum:"scans,trace,web,needs" placeholder:"scans|trace|web|needs"`
	Bundles int           `default:"400000" placeholder:"N"`
	Events  int           `default:"1000000" placeholder:"N"`
	Each    time.Duration `default:"3s" placeholder:"TIME"`
	Dir     string        `placeholder:"DIR"`
}

func (benchCmd) Help() string {
	return `Usage: tagd bench scans|trace|web|needs [--bundles N] [--events N]
                  [--each TIME] [--dir DIR]

Measures this program on this machine, in stores that it makes for the purpose
and throws away. Rates stand beside those of a peer taken in the same run: quote
the ratios, for the figures themselves do not carry over to another machine.

    scans   scans through the whole of the floor, durable, on a store of
            --bundles bundles (400,000), one client and 64; beside them the same
            bytes appended to a plain file with one sync each, and the same puts
            made in bare bbolt. Each is measured three times for --each (3s);
            the median is shown.
    trace   a made history of --events events (1,000,000): trace, recall and
            account of a heat, now and as of a past moment; the bytes on disk
            for an event, the first answer after a restart, folding the journal
            anew, the heap. What is wanted at ten million events stands beside
            it; those take some ten minutes and 4 GB.
    web     receipts over HTTP: one client in turn, then 200 scans a second that
            arrive whether the last one was answered or not.
    needs   what the trucks need, what the stock is short of and who misses the
            truck, all in one, for 40 loads with 4,000 bundles that wait to be
            cut and bent, over 500 lots.

--dir names the folder for the stores, which must be on the disk that is to be
measured; the system's folder for temporary files, if you do not say.

Examples:

    tagd bench scans --dir .
    tagd bench trace --events 200000
`
}

func (c *benchCmd) Run(ctx context.Context, s streams) error {
	dir, err := os.MkdirTemp(c.Dir, "tagd-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	begun := time.Now()
	say := func(format string, args ...any) {
		fmt.Fprintf(s.out, "%7.1fs  %s\n", time.Since(begun).Seconds(), fmt.Sprintf(format, args...))
	}
	switch c.What {
	case "scans":
		return bench.Scans(bench.ScanOptions{Dir: dir, Bundles: c.Bundles, Each: c.Each, Say: say})
	case "web":
		return bench.Web(ctx, bench.ScanOptions{Dir: dir, Bundles: c.Bundles, Each: c.Each, Say: say})
	case "needs":
		return bench.Needs(bench.NeedsOptions{Dir: dir, Loads: 40, Each: 100, Lots: 500, Rounds: 101, Say: say})
	}
	return bench.Trace(ctx, bench.TraceOptions{Dir: dir, Events: c.Events, Say: say})
}
