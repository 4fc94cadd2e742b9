package rest

import (
	"context"
	"encoding/hex"
	"net/http"
	"strconv"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/view"
	"tagd/internal/web"
)

func (a *ops) lists() {
	register(a, http.MethodPost, "/lists", "take-list", "Take a bar list, whole or not at all", a.takeList, group("bar lists"),
		about("CSV, XLSX or BVBS BF2D, told apart by what is in the file. All faults come at once, each with its row and field; with dry_run the file is only looked at, and its faults are part of the answer. The same file again changes nothing. Another file under a list that was taken is its next revision, and names it: of begun bundles that it changes, decide has to say what becomes of each, else the answer is a problem that names them."))
	a.uploads("/lists", "file", map[string]*huma.Schema{"decide": {Type: "string", Description: "As the parameter decide, one decision a line."}}, "text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "application/octet-stream")
	register(a, http.MethodGet, "/lists", "list-lists", "Bar lists, by job and list number", a.listLists, group("bar lists"))
	register(a, http.MethodGet, "/lists/{job}/{list}", "get-list", "A bar list with its lines", a.getList, group("bar lists"))
}

func barList(l view.List) api.List {
	return api.List{Job: l.Job, List: l.List, Revision: l.Revision, File: l.File, SHA256: hexOf(l.SHA256), Lines: l.Lines, Seq: l.Seq, Taken: at(l.At)}
}

func (a *ops) line(l event.LineTaken) api.Line {
	m, _ := bar.Weigh(l.Steel.Size, l.Length*bar.Length(l.Pieces))
	out := api.Line{
		Row: l.Row, Job: l.Job, List: l.List, Mark: l.Mark, Steel: steel(l.Steel), Pieces: l.Pieces,
		LengthMM: l.Length.MM(), Length: l.Length.Text(a.units()), Shape: l.Shape.Code, Edition: l.Shape.Edition,
		Bends: l.Shape.Text(a.units()), Route: notNil(l.Route), Note: l.Note,
		WeightKG: m.Kilograms(), Weight: m.Text(a.units()), Count: len(l.Bundles),
	}
	for _, n := range l.Numbers() {
		out.Bundles = append(out.Bundles, n.String())
	}
	return out
}

type takeListIn struct {
	Name     string   `query:"name" maxLength:"200" doc:"Name of the file, for those who read its faults."`
	Job      string   `query:"job" maxLength:"60" doc:"The job, where the file does not say it."`
	List     string   `query:"list" maxLength:"24" doc:"The list number, where the file does not say it."`
	Revision string   `query:"revision" maxLength:"12"`
	Spec     string   `query:"spec" maxLength:"40" doc:"Where the file does not say it; left out, the plant's usual one. Likewise grade and coating."`
	Grade    string   `query:"grade" maxLength:"20"`
	Coating  string   `query:"coating" maxLength:"40"`
	Unit     string   `query:"unit" enum:"mm,cm,m,in,ft" doc:"Unit of bare numbers in the columns length and pin. Left out, the plant's, or none: such numbers are faults."`
	DryRun   bool     `query:"dry_run" doc:"Only look at the file; nothing is recorded."`
	From     string   `query:"from_list" maxLength:"24" doc:"Another list of the job: marks that the file has of the same steel, length and shape are taken over from it."`
	Decide   []string `query:"decide,explode" maxItems:"500" maxLength:"600" doc:"What becomes of begun bundles that a revision changes: NUMBER=deliver, NUMBER=scrap or NUMBER=to stock; all=... for those that no other names; behind a colon the reason."`
	Reason   string   `query:"reason" maxLength:"500" doc:"Of all decisions that give none."`
	Sender
	Keyed
	Upload
}

func (a *ops) defaults(in *takeListIn) barlist.Defaults {
	d := a.o.Defaults
	d.Units = a.units()
	for _, one := range []struct {
		said string
		into *string
	}{{in.Job, &d.Job}, {in.List, &d.List}, {in.Revision, &d.Revision}, {in.Spec, &d.Spec}, {in.Grade, &d.Grade}, {in.Coating, &d.Coating}, {in.Unit, &d.LengthUnit}} {
		if one.said != "" {
			*one.into = one.said
		}
	}
	return d
}

func rowFaults(faults []barlist.Fault) []api.RowFault {
	out := []api.RowFault{}
	for _, f := range faults {
		out = append(out, api.RowFault{Row: f.Row, Field: f.Field, Says: f.Says})
	}
	return out
}

func (a *ops) takeList(ctx context.Context, in *takeListIn) (*answer[api.ListTaken], error) {
	name, data, err := in.file(in.Name, "list", "decide")
	if err != nil {
		return nil, err
	}
	said, err := in.said()
	if err != nil {
		return nil, err
	}
	file, faults, warnings := barlist.Read(name, data, a.defaults(in))
	out := api.ListTaken{
		Job: file.Job, List: file.List, Revision: file.Revision, Format: file.Format, Lines: []api.Line{},
		Faults: rowFaults(faults), Warnings: rowFaults(warnings), NewJobs: []string{}, DryRun: in.DryRun, Changes: []api.ListChange{}, Says: []string{},
	}
	if len(faults) > 0 {
		if !in.DryRun {
			return nil, fileProblem(name, out.Faults)
		}
		a.readLines(&out, file)
		return &answer[api.ListTaken]{out}, nil
	}
	if in.DryRun {
		err := a.f.View(func(p *view.Past) error {
			t, err := barlist.Look(p, file, a.o.Limits, said)
			if err != nil {
				return err
			}
			out.Bundles, out.NewJobs, out.Existing = t.Bundles, notNil(t.NewJobs), t.Existing
			out.Changes, out.Says = listChanges(t.Changes), notNil(t.Says)
			return nil
		})
		a.readLines(&out, file)
		return &answer[api.ListTaken]{out}, err
	}
	by := in.by()
	o, err := a.origin("", by, in.Key, []any{"list", in.Job, in.List, in.Revision, by, file.SHA256, said})
	if err != nil {
		return nil, err
	}
	t, r, err := a.f.Revise(ctx, o, file, said)
	if err != nil {
		return nil, err
	}
	out.Recorded, out.Existing = recorded(r), t.Existing
	for _, j := range bodies[event.JobSet](r) {
		out.NewJobs = append(out.NewJobs, j.Job)
	}
	out.Changes, out.Says = listChanges(t.Changes), notNil(t.Says)
	for _, e := range r.Events {
		l, ok := e.Body.(event.LineTaken)
		if changed, is := e.Body.(event.LineChanged); is {
			l, ok = changed.Taken, true
		}
		if ok && l.Row > 0 { // not one of the shop's own stock, for what a revision left over
			out.Lines = append(out.Lines, a.line(l))
			out.Bundles += len(l.Bundles)
		}
	}
	if t.Existing {
		err = a.f.View(func(p *view.Past) error {
			for _, l := range file.Lines {
				if was, ok := p.LineOf(l.Job, l.List, l.Mark); ok {
					out.Lines = append(out.Lines, a.line(was.LineTaken))
					out.Bundles += len(was.Bundles)
				}
			}
			return nil
		})
	}
	return &answer[api.ListTaken]{out}, err
}

// readLines adds the lines of a file that is only looked at, with the bundles that they would make.
func (a *ops) readLines(out *api.ListTaken, file barlist.File) {
	for _, l := range file.Lines {
		e := event.LineTaken{
			Job: l.Job, List: l.List, Mark: l.Mark, Steel: l.Steel, Length: l.Length, Pieces: l.Pieces, Shape: l.Shape,
			Route: a.o.Limits.Routes.Of(l), Note: l.Note, Row: l.Row,
		}
		one := a.line(e)
		if each, err := bar.Weigh(l.Steel.Size, l.Length); err == nil {
			one.Count = len(barlist.Bundles(l.Pieces, each, a.o.Limits.Pieces, a.o.Limits.Mass))
		}
		out.Lines = append(out.Lines, one)
	}
}

// fileProblem is the problem of a file that cannot be taken: every fault with its row and field.
func fileProblem(name string, faults []api.RowFault) error {
	var fields []web.Field
	for _, f := range faults {
		fields = append(fields, web.Field{Location: location(f.Row, f.Field), Message: f.Says})
	}
	says := name + " was not taken: " + fields[0].Error() + "."
	if len(fields) > 1 {
		says = name + " was not taken: " + itoa(len(fields)) + " faults; the first: " + fields[0].Error() + "."
	}
	return web.Refuse("invalid", says, "Mend the file and send it again.", fields...)
}

// location is a row and column of a file.
func location(row int, field string) string {
	switch {
	case row == 0:
		return field
	case field == "":
		return "row " + itoa(row)
	}
	return "row " + itoa(row) + ", " + field
}

func (a *ops) listLists(_ context.Context, in *struct {
	Job string `query:"job" maxLength:"60" doc:"Of this job only."`
	Paged
}) (*answer[api.Lists], error) {
	return look(a, func(p *view.Past) (api.Lists, error) {
		out := api.Lists{Lists: []api.List{}}
		afterJob, afterList, _ := strings.Cut(in.After, "\n")
		p.Lists(func(l view.List) bool {
			switch {
			case in.Job != "" && l.Job != in.Job, l.Job < afterJob, l.Job == afterJob && l.List <= afterList:
				return true
			case len(out.Lists) == in.Limit:
				out.Next = out.Lists[in.Limit-1].Job + "\n" + out.Lists[in.Limit-1].List
				return false
			}
			out.Lists = append(out.Lists, barList(l))
			return true
		})
		return out, nil
	})
}

func (a *ops) getList(_ context.Context, in *struct {
	Job  string `path:"job" maxLength:"60"`
	List string `path:"list" maxLength:"40"`
}) (*answer[api.ListDetail], error) {
	return look(a, func(p *view.Past) (api.ListDetail, error) {
		l, ok := p.ListOf(in.Job, in.List)
		if !ok {
			return api.ListDetail{}, missing("Job %q has no bar list %q here.", in.Job, in.List)
		}
		out := api.ListDetail{List: barList(l), Marks: []api.Line{}}
		for _, one := range p.LinesOf(in.Job, in.List) {
			line := a.line(one.LineTaken)
			newest, withdrawn := p.Newest(one.Seq)
			if line.Withdrawn = withdrawn && newest == one.Seq; newest != one.Seq {
				line.Into = p.Line(newest).List
			}
			if one.Was != 0 {
				line.Bundles = nil
				for _, b := range p.BundlesOf(one) {
					if !b.Voided {
						line.Bundles = append(line.Bundles, b.Number.String())
					}
				}
				line.Count = len(line.Bundles)
			}
			out.Marks = append(out.Marks, line)
		}
		return out, nil
	})
}

func itoa(n int) string { return strconv.Itoa(n) }

func seqText(seq uint64) string { return strconv.FormatUint(seq, 10) }

func hexOf(b []byte) string { return hex.EncodeToString(b) }
