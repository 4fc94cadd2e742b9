package rest

import (
	"bytes"
	"context"
	"net/http"
	"strconv"

	"tagd/api"
	"tagd/internal/heat"
	"tagd/internal/view"
)

func (a *ops) account() {
	register(a, http.MethodGet, "/account", "account", "Where all metal of a heat, a lot or the whole plant is", a.getAccount, group("trace"),
		about("Received, on feeds, on hand, remnants, in bundles by how far they are, scrap, lost, count differences: exact in pieces and nanometres, of coil in micrograms, and shown to balance. What was drawn together with other heats counts by the bars that the record drew; the bundles that may be of it stand apart. csv is a table."),
		orTable[api.Account](a))
}

type accountIn struct {
	Q      string `query:"q" maxLength:"8192" doc:"A heat, with or without its mill; a lot; a cert; a mill. Left out: the whole plant, which takes as long as there is record."`
	Format string `query:"format" enum:"json,csv" default:"json"`
	AsOf
}

// tolerances says where the tolerance of an account is from.
const tolerances = "ASTM A615/A615M and A706/A706M: 94 % of the nominal weight at the least, none at the most (from memory); EN 10080: 95.5 %, 94 % for 6 and 8 mm"

func (a *ops) getAccount(_ context.Context, in *accountIn) (*stream, error) {
	if in.Q == "" && in.AsOf.AsOf != "" {
		return nil, invalid("query.q", "is missing, and the account of the whole plant is of now only: an earlier one would fold the whole record again; as of a past moment ask for a heat, a lot, a cert or a mill")
	}
	out, err := lookThen(a, in.AsOf, in.Q, func(p *view.Past) (api.Account, error) {
		account, found := p.Account(in.Q)
		out := a.accounted(account)
		out.Asked, out.Found, out.Through = in.Q, notNil(found), p.Head()
		out.At = at(p.When(out.Through))
		return out, nil
	})
	if err != nil {
		return nil, err
	}
	return tabled(a, in.Format, "account.csv", out.Body, accountTable), nil
}

func (a *ops) accounted(x heat.Account) api.Account {
	return api.Account{
		Bars: a.balance(x.Bars), Coil: a.balance(x.Coil), Working: a.accountRows(x.Working), MayBe: a.accountRows(x.MayBe),
		Tolerance: api.Tolerance{
			NominalKG: x.Nominal.Kilograms(), Nominal: x.Nominal.Text(a.units()), LeastKG: x.Least.Kilograms(), Least: x.Least.Text(a.units()), Source: tolerances,
		},
	}
}

func (a *ops) balance(b heat.Balance) api.Balance {
	sum := func(rows []heat.Row, what string) api.AccountRow {
		s := heat.Row{What: what}
		for _, r := range rows {
			s.Count, s.Length, s.Mass = s.Count+r.Count, s.Length+r.Length, s.Mass+r.Mass
		}
		s.Count = 0 // bars and pieces do not add up
		return a.accountRow(s)
	}
	return api.Balance{In: a.accountRows(b.In), Out: a.accountRows(b.Out), SumIn: sum(b.In, "in"), SumOut: sum(b.Out, "out"), Over: b.Over}
}

func (a *ops) accountRows(rows []heat.Row) []api.AccountRow {
	out := []api.AccountRow{}
	for _, r := range rows {
		out = append(out, a.accountRow(r))
	}
	return out
}

func (a *ops) accountRow(r heat.Row) api.AccountRow {
	out := api.AccountRow{What: r.What, Count: r.Count, LengthNM: int64(r.Length), WeightUG: int64(r.Mass), WeightKG: r.Mass.Kilograms(), Weight: r.Mass.Text(a.units())}
	if r.Length != 0 {
		out.Length = r.Length.Text(a.units())
	}
	return out
}

// accountTable writes an account as a table: what came in is above nothing, what is where below.
func accountTable(b *bytes.Buffer, x api.Account) {
	w := newTable(b, "of", "side", "what", "count", "length_nm", "length", "weight_ug", "weight_kg")
	rows := func(of, side string, rows ...api.AccountRow) {
		for _, r := range rows {
			w.row(of, side, r.What, strconv.Itoa(r.Count), strconv.FormatInt(r.LengthNM, 10), r.Length, strconv.FormatInt(r.WeightUG, 10), strconv.FormatFloat(r.WeightKG, 'f', 3, 64))
		}
	}
	for _, one := range []struct {
		of string
		b  api.Balance
	}{{"bars", x.Bars}, {"coil", x.Coil}} {
		rows(one.of, "in", one.b.In...)
		rows(one.of, "out", one.b.Out...)
		over := api.AccountRow{What: "over"}
		if one.of == "bars" {
			over.LengthNM = one.b.Over
		} else {
			over.WeightUG = one.b.Over
		}
		rows(one.of, "in less out", over)
	}
	rows("bars", "open runs", x.Working...)
	rows("any", "may be", x.MayBe...)
	w.flush()
}
