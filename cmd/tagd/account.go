package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"text/tabwriter"

	"tagd/api"
)

type accountCmd struct {
	dataFlag
	Query []string `arg:"" optional:""`
	AsOf  string   `name:"as-of" placeholder:"MOMENT"`
	JSON  bool     `name:"json" xor:"form"`
	CSV   bool     `name:"csv" xor:"form"`
}

func (accountCmd) Help() string {
	return `Usage: tagd account [QUERY] [--as-of MOMENT] [--json | --csv] [--data DIR]

Says where all metal of a heat, a lot, a cert or a mill is, or without a query
of the whole plant: received, drawn beyond the record, found by counting; on
feeds, on hand, in remnants, in bundles by how far they are, scrap, lost. Bars
are exact in pieces and nanometres, coil in micrograms, and in less out is
shown: it is 0, or the record is broken.

What was drawn together with other heats counts by the bars that the record
drew. The bundles that may be of it stand apart, in no sum. Weights of bars are
those of the table; beside them stands the least that their standard lets the
bars weigh that came in.
` + asOfHelp + `The account of the whole plant is of now only.

With --json the answer is one object, with --csv a table for a spreadsheet.

Examples:

    tagd account 7041893
    tagd account --csv > yard.csv

Exit codes: 0 found and balanced, 1 nothing goes by that name, or it does not
balance.
`
}

func (c *accountCmd) Run(ctx context.Context, s streams) error {
	w, err := c.Data.asking(ctx, s, "to ask")
	if err != nil {
		return err
	}
	defer w.close()
	q := strings.Join(c.Query, " ")
	a, err := w.Account(ctx, q, c.AsOf)
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		err = writeJSON(s.out, a)
	case c.CSV:
		var table []byte
		if table, err = w.AccountCSV(ctx, q, c.AsOf); err == nil {
			_, err = s.out.Write(table)
		}
	case len(a.Found) > 0:
		err = writeAccount(s.out, a)
	}
	switch {
	case err != nil:
	case len(a.Found) == 0:
		err = no("A heat, lot, cert or mill has an account.", "nothing here goes by the name %s", q)
	case a.Bars.Over != 0 || a.Coil.Over != 0:
		err = no("Run tagd check.", "the account does not balance: %d nm of bar and %d ug of coil are more in than out", a.Bars.Over, a.Coil.Over)
	}
	return err
}

// writeAccount shows an account to a person.
func writeAccount(out io.Writer, a api.Account) error {
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', tabwriter.AlignRight)
	rows := func(sign string, rows ...api.AccountRow) {
		for _, r := range rows {
			count, nm := "", ""
			if r.Count != 0 {
				count = fmt.Sprint(r.Count)
			}
			if r.LengthNM != 0 {
				nm = fmt.Sprint(r.LengthNM)
			}
			fmt.Fprintf(w, "%s %s\t%s\t%s\t%s\t%s\t\n", sign, r.What, count, nm, r.Length, r.Weight)
		}
	}
	for _, f := range a.Found {
		fmt.Fprintln(out, f)
	}
	for _, one := range []struct {
		name, unit string
		b          api.Balance
	}{{"BARS", "nm", a.Bars}, {"COIL", "ug", a.Coil}} {
		if len(one.b.In)+len(one.b.Out) == 0 {
			continue
		}
		fmt.Fprintf(w, "\n%s\tBARS, PIECES\tNANOMETRES\tLENGTH\tWEIGHT\t\n", one.name)
		rows("+", one.b.In...)
		rows("-", one.b.Out...)
		fmt.Fprintf(w, "= in less out: %d %s\t\t\t\t\t\n", one.b.Over, one.unit)
	}
	if len(a.Working) > 0 {
		fmt.Fprintf(w, "\nCUT IN OPEN RUNS, IN NO SUM\tPIECES\tNANOMETRES\tLENGTH\tWEIGHT\t\n")
		rows(" ", a.Working...)
	}
	if len(a.MayBe) > 0 {
		fmt.Fprintf(w, "\nMAY BE OF IT, IN NO SUM\tBARS, PIECES\tNANOMETRES\tLENGTH\tWEIGHT\t\n")
		rows("?", a.MayBe...)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if a.Tolerance.NominalKG > 0 {
		fmt.Fprintf(out, "\nBars received weigh %s by table, and %s at the least by their standard\n(%s).\n", a.Tolerance.Nominal, a.Tolerance.Least, a.Tolerance.Source)
	}
	_, err := fmt.Fprintf(out, "From records 0 to %d, the last of %s.\n", a.Through, a.At.Format(minutely))
	return err
}
