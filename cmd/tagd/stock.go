package main

import (
	"context"
	"crypto/sha256"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/heat"
	"tagd/internal/sheet"
)

type stockCmd struct {
	dataFlag
	File  string `arg:""`
	Again bool
	JSON  bool `name:"json"`
}

func (stockCmd) Help() string {
	var columns columnHelp
	for _, c := range heat.StockColumns {
		columns.add(c.Name, c.About, c.Must)
	}
	return `Usage: tagd stock FILE [--again] [--json] [--data DIR]

Receives stock from a CSV or XLSX file, one lot a row, and prints the number of
each lot. A file is taken whole or not at all, and its faults come all at once,
each with row and field. The columns, in any order:

` + columns.String() + `
The very same file again changes nothing. With --again it is another delivery
that happens to read alike.

With --json the answer is one object, with the lots in "lots".

Example:

    tagd stock delivery.csv
`
}

func (c *stockCmd) Run(ctx context.Context, s streams) error {
	f, err := openInput(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	const most = 32 << 20 // the server takes less and says so
	data, err := io.ReadAll(io.LimitReader(f, most))
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
	by := api.By{Device: device}
	if !c.Again {
		by.Key = fmt.Sprintf("stock %x", sha256.Sum256(data))
	}
	got, err := w.ImportStock(ctx, filepath.Base(c.File), data, by)
	if err != nil {
		return err
	}
	for _, w := range got.Warnings {
		s.say("%v", sheet.Fault{File: filepath.Base(c.File), Row: w.Row, Field: w.Field, Says: w.Says})
	}
	if got.Again {
		s.say("this very file was taken before; nothing changed (--again takes it once more)")
	}
	if c.JSON {
		return writeJSON(s.out, got)
	}
	t := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "LOT\tMILL\tHEAT\tSTEEL\tLENGTH\tBARS\tPLACE")
	for _, l := range got.Lots {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d\t%s\n", l.Number, l.Mill, heatNumbers(l.Heats), l.Steel.Steel, l.Length, l.Received, placeName(l.Place))
	}
	return t.Flush()
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
