package barlist

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
	"tagd/internal/tags"
)

// Limits say how large a bundle may be.
type Limits struct {
	Pieces int      // 0: no limit
	Mass   bar.Mass // nominal
}

// Past is what taking a bar list is judged against.
type Past interface {
	HasJob(job string) bool
	// List finds the SHA-256 of the file from which a list of a job was taken.
	List(job, list string) (sha []byte, ok bool)
	Fresh(tags.Kind) tags.Number
}

// Taken is what became of a file.
type Taken struct {
	Events   []event.Body // none: every list of the file was taken from this very file before
	Lines    int
	Bundles  int
	NewJobs  []string // made with no rules, since nobody had made them
	Existing bool
}

// mostBundles is how many bundles one line may be made in: they stand in one record.
const mostBundles = 10_000

// Take turns a file without faults into events: a line each, its bundles within it, and a closing
// event for each list. A file is taken whole or not at all, and the same file again changes nothing.
// Another file under a list that was taken is refused.
func Take(past Past, f File, lim Limits) (Taken, error) {
	var t Taken
	type key struct{ job, list string }
	var order []key
	groups := map[key][]Line{}
	for _, l := range f.Lines {
		k := key{strings.TrimSpace(l.Job), strings.TrimSpace(l.List)}
		if k.job == "" {
			return t, &event.Refusal{Field: "job", Says: fmt.Sprintf("row %d names no job; add a column job, or name the job with the file", l.Row)}
		}
		if k.list == "" {
			return t, &event.Refusal{Field: "list", Says: fmt.Sprintf("row %d names no list; add a column list, or name the list with the file", l.Row)}
		}
		if _, ok := groups[k]; !ok {
			order = append(order, k)
		}
		groups[k] = append(groups[k], l)
	}
	same := 0
	for _, k := range order {
		if sha, ok := past.List(k.job, k.list); ok {
			if !bytes.Equal(sha, f.SHA256[:]) {
				return t, &event.Refusal{Field: "list", Says: fmt.Sprintf("list %s of job %s was taken from another file; give this one its own list number", k.list, k.job)}
			}
			same++
		}
	}
	if same == len(order) && same > 0 {
		t.Existing = true
		return t, nil
	}
	for _, k := range order {
		if _, ok := past.List(k.job, k.list); ok {
			continue
		}
		if !past.HasJob(k.job) && !slices.Contains(t.NewJobs, k.job) {
			t.NewJobs = append(t.NewJobs, k.job)
			t.Events = append(t.Events, event.JobSet{Job: k.job})
		}
		for _, l := range groups[k] {
			each, err := bar.Weigh(l.Steel.Size, l.Length)
			if err != nil {
				return Taken{}, &event.Refusal{Field: "size", Says: fmt.Sprintf("row %d: %v", l.Row, err)}
			}
			e := event.LineTaken{
				Job: k.job, List: k.list, Mark: l.Mark, Steel: l.Steel, Length: l.Length, Pieces: l.Pieces,
				Shape: l.Shape, Route: Route(l), Note: l.Note, Row: l.Row,
				Bundles: Bundles(l.Pieces, each, lim.Pieces, lim.Mass),
			}
			if len(e.Bundles) > mostBundles {
				return Taken{}, &event.Refusal{Field: "pieces", Says: fmt.Sprintf("row %d would be %d bundles, and %d are the most of one line; part the line, or raise the plant's limits of a bundle", l.Row, len(e.Bundles), mostBundles)}
			}
			for i := range e.Bundles {
				if n := past.Fresh(tags.Bundle); i == 0 {
					e.First = n
				}
			}
			t.Lines++
			t.Bundles += len(e.Bundles)
			t.Events = append(t.Events, e)
		}
		t.Events = append(t.Events, event.ListTaken{
			Job: k.job, List: k.list, Revision: groups[k][0].Revision, File: fileName(f.Name), SHA256: f.SHA256[:], Lines: len(groups[k]),
		})
	}
	return t, nil
}

// fileName is the name of a file as far as it can be written down.
func fileName(s string) string {
	r := []rune(strings.ToValidUTF8(s, "?"))
	return string(r[:min(len(r), 200)])
}

// Route is the steps of a line: those that the list names, else cut, and bend for a bent bar.
func Route(l Line) []string {
	if l.Route != nil {
		return l.Route
	}
	if l.Shape.Straight() {
		return []string{"cut"}
	}
	return []string{"cut", "bend"}
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
