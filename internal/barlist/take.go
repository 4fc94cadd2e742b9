package barlist

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
	"tagd/internal/tags"
)

// Limits say how large a bundle may be, and what is done to its bars where a list does not say it.
type Limits struct {
	Pieces int      // 0: no limit
	Mass   bar.Mass // nominal
	Routes Routes
}

// Past is what taking a bar list is judged against.
type Past interface {
	HasJob(job string) bool
	// List finds a list of a job.
	List(job, list string) (Standing, bool)
	// Standing are all lines that were taken under a list, the newest of each mark.
	Standing(job, list string) []Old
	// StockJob is the job of the shop's own stock.
	StockJob() (job string, ok bool)
	// Surplus is the line of a job, list and mark, if one was taken.
	Surplus(job, list, mark string) (line event.LineTaken, seq uint64, ok bool)
	// LoadPlan is the plan of a load that has not left.
	LoadPlan(tags.Number) (event.LoadSet, bool)
	// Head is the sequence of the newest event: those of this decision follow it.
	Head() uint64
	Fresh(tags.Kind) tags.Number
}

// Taken is what became of a file.
type Taken struct {
	Events   []event.Body // none: every list of the file was taken from this very file before
	Lines    int          // added, changed and taken over
	Bundles  int          // new ones
	NewJobs  []string     // made with no rules, since nobody had made them
	Existing bool
	// Changes say what becomes of the marks of lists that stood before, and of lines taken over.
	Changes []Change
	// Says is what a person should know of it.
	Says []string
}

// mostBundles is how many bundles one line may be made in: they stand in one record.
const mostBundles = 10_000

// Look is Take without its end: what would become of a file, and what is still to be decided. The
// events are none.
func Look(past Past, f File, lim Limits, said Said) (Taken, error) {
	t := &taking{past: past, file: f, lim: lim, said: said, look: true}
	err := t.all()
	return t.Taken, err
}

// Take turns a file without faults into events. Of a list that is new, these are a line each, with its
// bundles within it, and a closing event. A list that stands is revised: by mark, lines are added,
// changed and withdrawn. A file is taken whole or not at all, and the same file again changes nothing.
//
// A revision never touches what is made. Begun bundles that are made to what the line says now count for
// it; of all others a person has to say what becomes of them, else the refusal is an *Undecided. Bundles
// that are not begun stay where their tags are still right, as far as the line needs them, and fall away
// otherwise.
func Take(past Past, f File, lim Limits, said Said) (Taken, error) {
	t := &taking{past: past, file: f, lim: lim, said: said}
	if err := t.all(); err != nil {
		return Taken{}, err
	}
	return t.Taken, nil
}

// taking is one file under way.
type taking struct {
	Taken
	past Past
	file File
	lim  Limits
	said Said
	look bool

	surplus map[string]surplusLine // of the shop's own stock, by mark
}

func (t *taking) all() error {
	var err error
	if t.said.Reason, err = event.CleanText("reason", t.said.Reason, event.MostReason); err != nil {
		return err
	}
	t.file.Lines = slices.Clone(t.file.Lines)
	for i := range t.file.Lines {
		l := &t.file.Lines[i]
		l.Route = t.lim.Routes.Of(*l)
	}
	lists, err := lists(t.past, t.file)
	if err != nil {
		return err
	}
	was := len(lists)
	lists = slices.DeleteFunc(lists, func(l *list) bool { return l.again })
	if t.Existing = len(lists) == 0 && was > 0; t.Existing {
		return nil
	}
	var changes []Change
	end := make([]int, len(lists)) // of the changes of each list
	for i, l := range lists {
		if err := l.revision(); err != nil {
			return err
		}
		of, err := l.compare(t.past, t.said.From, t.file.Units)
		if err != nil {
			return err
		}
		changes = append(changes, of...)
		end[i] = len(changes)
	}
	if err := decide(changes, t.said); err != nil && (!t.look || !isUndecided(err)) {
		return err
	}
	for i := range changes {
		changes[i].tally()
	}
	begin := 0
	for i, l := range lists {
		if err := t.list(l, changes[begin:end[i]]); err != nil {
			return err
		}
		begin = end[i]
	}
	if t.look {
		t.Events = nil
	}
	return nil
}

// list makes the events of one list.
func (t *taking) list(l *list, changes []Change) error {
	if !t.past.HasJob(l.job) && !slices.Contains(t.NewJobs, l.job) {
		t.NewJobs = append(t.NewJobs, l.job)
		t.Events = append(t.Events, event.JobSet{Job: l.job})
	}
	revision := l.lines[0].Revision
	trucks := trucks{}
	var decided []*Change
	falls, stood := 0, 0
	for i := range changes {
		c := &changes[i]
		if c.What != Added && c.What != TakenOver && c.What != Elsewhere {
			stood++
		}
		switch {
		case !c.touches():
			continue
		case c.What == Withdrawn:
			falls++
			t.Events = append(t.Events, event.LineWithdrawn{Line: c.old.Seq, Revision: revision, Reason: t.said.Reason})
			trucks.leave(c)
		default:
			made, err := t.line(c)
			if err != nil {
				return err
			}
			t.Lines++
			t.Bundles += len(made.Bundles)
			if c.old == nil {
				t.Events = append(t.Events, made)
				continue
			}
			t.Events = append(t.Events, event.LineChanged{Line: c.old.Seq, Taken: made, Stay: c.Stays})
			trucks.leave(c)
			trucks.enter(c, made)
		}
		decided = append(decided, c)
	}
	for _, c := range decided {
		for _, a := range c.Asked {
			t.decided(c, a, revision)
		}
	}
	t.plan(trucks)
	t.Events = append(t.Events, event.ListTaken{
		Job: l.job, List: l.list, Revision: revision, File: fileName(t.file.Name), SHA256: t.file.SHA256[:], Lines: len(l.lines),
	})
	if falls > 0 && falls == stood {
		t.Says = append(t.Says, fmt.Sprintf("EVERY mark that list %s of job %s had is withdrawn: is this the right file, and the right list?", l.list, l.job))
	}
	if l.taken || t.said.From != "" {
		t.Changes = append(t.Changes, changes...)
	}
	return nil
}

// taken is a line as it is recorded, without its bundles.
func (l *Line) taken(job, list string) event.LineTaken {
	return event.LineTaken{
		Job: job, List: list, Mark: l.Mark, Steel: l.Steel, Length: l.Length, Pieces: l.Pieces,
		Shape: l.Shape, Route: l.Route, Note: l.Note, Row: l.Row,
	}
}

// line is a line with bundles for what it owes.
func (t *taking) line(c *Change) (event.LineTaken, error) {
	e := c.is()
	each, err := bar.Weigh(e.Steel.Size, e.Length)
	if err != nil {
		return e, &event.Refusal{Field: "size", Says: fmt.Sprintf("row %d: %v", e.Row, err)}
	}
	e.Bundles = Bundles(c.Owed, each, t.lim.Pieces, t.lim.Mass)
	if len(e.Bundles) > mostBundles {
		return e, &event.Refusal{Field: "pieces", Says: fmt.Sprintf("row %d would be %d bundles, and %d are the most of one line; part the line, or raise the plant's limits of a bundle", e.Row, len(e.Bundles), mostBundles)}
	}
	for i := range e.Bundles {
		if n := t.past.Fresh(tags.Bundle); i == 0 {
			e.First = n
		}
	}
	return e, nil
}

// fileName is the name of a file as far as it can be written down.
func fileName(s string) string {
	r := []rune(strings.ToValidUTF8(s, "?"))
	return string(r[:min(len(r), 200)])
}

// SetJob checks a job that is made or stated anew.
func SetJob(j event.JobSet) (event.JobSet, error) {
	no := func(field, format string, args ...any) (event.JobSet, error) {
		return j, &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
	}
	// As a bar list writes it, so that both mean the same job.
	var why string
	if j.Job, why = sheet.Tidy(j.Job, longest["job"]); why != "" {
		return no("job", "%s", why)
	}
	var err error
	for _, f := range []struct {
		name string
		text *string
	}{
		{"name", &j.Name}, {"customer", &j.Customer}, {"po", &j.PO}, {"agency", &j.Agency},
		{"spec", &j.Spec}, {"edition", &j.Edition}, {"coating", &j.Coating},
	} {
		if *f.text, err = event.CleanText(f.name, *f.text, event.MostWords); err != nil {
			return j, err
		}
	}
	if j.ShipTo, err = event.CleanLines("ship_to", j.ShipTo); err != nil {
		return j, err
	}
	if j.Country, err = event.CleanCountry("country", j.Country); err != nil {
		return j, err
	}
	switch {
	case j.Job == "":
		return no("job", "is empty; write the shop's number of the job")
	case !slices.Contains([]event.HeatRule{event.HeatsNone, event.HeatsLoad, event.HeatsBundle, event.HeatsSingle}, j.Heats):
		return no("heats", "%q is no heat rule; write load, bundle, single, or leave it out", j.Heats)
	case !slices.Contains([]event.CertRule{event.CertsNone, event.CertsOnFile, event.CertsReviewed}, j.Certs):
		return no("certs", "%q is no cert rule; write on file, reviewed, or leave it out", j.Certs)
	}
	return j, nil
}
