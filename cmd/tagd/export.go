package main

import (
	"bytes"
	"context"
	"os"
)

type exportCmd struct {
	dataFlag
	What string `arg:"" enum:"journal,edges" placeholder:"journal|edges"`
	Out  string `placeholder:"FILE"`
}

func (exportCmd) Help() string {
	return `Usage: tagd export journal|edges [--out FILE] [--data DIR]

Writes the record as a table (CSV), for other programs and for ever:

    journal   one row an event: sequence, kind, times, device, station, people,
              what happened in a sentence, and the body as JSON
    edges     the record as a graph, with the columns from_kind, from_name,
              to_kind, to_name: heats to their lots, lots to runs and remnants,
              runs to bundles, bundles to loads

The graph is told from the events alone and shares nothing with the tables that
tagd recall asks, so that one can be held against the other. Everything
downstream of a heat is what can be reached from it. In sqlite3:

    .mode csv
    .import edges.csv edges
    WITH RECURSIVE down(kind, name) AS (
      VALUES('heat', 'Mesa Steel / 7041893')
      UNION SELECT to_kind, to_name FROM edges
      JOIN down ON from_kind = kind AND from_name = name)
    SELECT * FROM down;

Without --out it goes to where the command prints. The graph needs memory for
the whole record while it is made.

Examples:

    tagd export edges --out edges.csv
    tagd export journal > journal.csv
`
}

func (c *exportCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "to ask")
	if err != nil {
		return err
	}
	defer w.close()
	path := "/api/v1/export/" + c.What + ".csv"
	if c.Out == "" {
		return w.fetch(ctx, path, s.out)
	}
	var b bytes.Buffer
	if err := w.fetch(ctx, path, &b); err != nil {
		return err
	}
	return os.WriteFile(c.Out, b.Bytes(), 0o644)
}
