package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/heat"
	"tagd/internal/sheet"
)

type stockCmd struct {
	dataFlag
	File   string `arg:""`
	Expect bool
	GoLive bool
	DryRun bool
	Again  bool
	JSON   bool `name:"json"`
}

func (stockCmd) Help() string {
	var columns columnHelp
	for _, c := range heat.StockColumns {
		columns.add(c.Name, c.About, c.Must)
	}
	return `Usage: tagd stock FILE [--expect | --go-live] [--dry-run] [--again] [--json]
                  [--data DIR]

Receives stock from a CSV or XLSX file, one lot a row, and prints the number of
each lot. A file is taken whole or not at all, and its faults come all at once,
each with row and field.

    --expect     the file is a mill's paper: the lots are coming. They have
                 numbers from now on, for tags that hang ready, and are nothing
                 on hand before a scan where stock is received, or tagd lot
                 confirm, says that they have come
    --go-live    the file is the yard as it lies there when tagd begins: places
                 that are not there yet are made. What is known of mill and heat
                 can be added later, by tagd lot heat
    --dry-run    only look at the file; nothing is recorded

The columns, in any order:

` + columns.String() + `
The very same file again changes nothing. With --again it is another delivery
that happens to read alike.

With --json the answer is one object, with the lots in "lots".

Examples:

    tagd stock delivery.csv
    tagd stock paper.xlsx --expect
    tagd stock yard.csv --go-live --dry-run
`
}

// as is what the file is taken as.
func (c *stockCmd) as() string {
	switch {
	case c.Expect:
		return "expect"
	case c.GoLive:
		return "go-live"
	}
	return "receive"
}

func (c *stockCmd) Run(ctx context.Context, s streams) error {
	if c.Expect && c.GoLive {
		return misuse("Choose one of them.", "--expect and --go-live do not go together")
	}
	data, err := inputOf(c.File)
	if err != nil {
		return err
	}
	if err := c.Data.begin(s); err != nil {
		return err
	}
	w, err := c.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	o := api.StockOptions{As: c.as(), DryRun: c.DryRun, By: api.By{Device: device}}
	if !c.Again && !c.DryRun {
		o.Key = fmt.Sprintf("stock %x", sha256.Sum256(data))
		if o.As != "receive" {
			o.Key = o.As + " " + o.Key
		}
	}
	name := filepath.Base(c.File)
	got, err := w.ImportStock(ctx, name, data, o)
	if err != nil {
		return err
	}
	sayRows(s, name, got.Warnings)
	sayRows(s, name, got.Faults)
	if got.Again {
		s.say("this very file was taken before; nothing changed (--again takes it once more)")
	}
	if c.JSON {
		err = writeJSON(s.out, got)
	} else {
		err = writeTaken(s.out, got)
	}
	if err == nil && len(got.Faults) > 0 {
		err = errSaid
	}
	return err
}

// inputOf reads a file that was named on the command line: rows, or a photo. The server takes less than is
// read here, and says so.
func inputOf(path string) ([]byte, error) {
	f, err := openInput(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	const most = 32 << 20
	return io.ReadAll(io.LimitReader(f, most))
}

// sayRows says what is to be known of rows of a file.
func sayRows(s streams, file string, rows []api.RowFault) {
	for _, f := range rows {
		s.say("%v", sheet.Fault{File: file, Row: f.Row, Field: f.Field, Says: f.Says})
	}
}

// writeTaken shows a person the lots of a file.
func writeTaken(out io.Writer, got api.Received) error {
	if len(got.Places) > 0 {
		if _, err := fmt.Fprintf(out, "new places: %s\n", strings.Join(got.Places, ", ")); err != nil {
			return err
		}
	}
	return writeLots(out, got.Lots)
}

// writeLots shows lots to a person.
func writeLots(out io.Writer, lots []api.Lot) error {
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "LOT\tMILL\tHEAT\tSTEEL\tLENGTH\tON HAND\tPLACE\tPAPER")
	for _, l := range lots {
		cells := []string{
			cmp.Or(l.Number, "(new)"), l.Mill, heatNumbers(l.Heats), l.Steel.Steel, lotLength(l), onHand(l), placeName(l.Place), paperSays(l.Paper),
		}
		fmt.Fprintln(t, strings.TrimRight(strings.Join(cells, "\t"), "\t"))
	}
	return t.Flush()
}

// lotKind is what a lot is.
func lotKind(l api.Lot) string {
	switch {
	case l.Coil:
		return "coil"
	case l.Remnant:
		return "remnant"
	}
	return "lot"
}

// lotLength is the length of a lot's bars.
func lotLength(l api.Lot) string {
	if l.Coil {
		return "coil"
	}
	return l.Length
}

// onHand is how much of a lot is there: bars, or a weight of coil.
func onHand(l api.Lot) string {
	if l.Coil {
		return l.Weight
	}
	return strconv.Itoa(l.OnHand)
}

// lotWhere is the feed on which a lot lies, else its place.
func lotWhere(l api.Lot) string { return cmp.Or(l.Feed, placeName(l.Place)) }

// paperSays is what a mill's paper says of a lot, in short.
func paperSays(p *api.Paper) string {
	if p == nil {
		return ""
	}
	says := fmt.Sprintf("%s: %d", p.State, p.Bars)
	if p.Weight != "" {
		says = p.State + ": " + p.Weight
	}
	if p.Date != "" {
		says += ", " + p.Date
	}
	return says
}

// heatNumbers names heats without their mills.
func heatNumbers(heats []api.Heat) string {
	if len(heats) == 0 {
		return "unknown"
	}
	var names []string
	for _, h := range heats {
		names = append(names, h.Heat)
	}
	return strings.Join(names, ", ")
}

func placeName(p *api.PlaceRef) string {
	if p == nil {
		return ""
	}
	return p.Name
}
