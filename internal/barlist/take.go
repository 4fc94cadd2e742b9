package barlist

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"

	"tagd/internal/bar"
	"tagd/internal/event"
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
			Job: k.job, List: k.list, Revision: groups[k][0].Revision, File: f.Name, SHA256: f.SHA256[:], Lines: len(groups[k]),
		})
	}
	return t, nil
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
	j.Job = strings.TrimSpace(j.Job)
	switch {
	case j.Job == "":
		return no("job", "is empty; write the shop's number of the job")
	case len([]rune(j.Job)) > 30:
		return no("job", "has more than 30 characters")
	case strings.ContainsFunc(j.Job, func(r rune) bool { return !unicode.IsPrint(r) }):
		return no("job", "has a character that cannot be printed")
	case len([]rune(j.Name)) > 100:
		return no("name", "has more than 100 characters")
	case len(j.ShipTo) > 6:
		return no("ship_to", "has more than 6 lines")
	case !slices.Contains([]event.HeatRule{event.HeatsNone, event.HeatsLoad, event.HeatsBundle, event.HeatsSingle}, j.Heats):
		return no("heats", "%q is no heat rule; write load, bundle, single, or leave it out", j.Heats)
	case !slices.Contains([]event.CertRule{event.CertsNone, event.CertsOnFile, event.CertsReviewed}, j.Certs):
		return no("certs", "%q is no cert rule; write on file, reviewed, or leave it out", j.Certs)
	case j.Country != "" && len(j.Country) != 2:
		return no("country", "%q is no country code; ISO 3166 has two letters, as US", j.Country)
	}
	j.Country = strings.ToUpper(j.Country)
	return j, nil
}
