package barlist

import (
	"cmp"
	"fmt"
	"slices"
)

// Fault is one thing wrong with a file, or one thing to know about it.
type Fault struct {
	File  string // name of the file
	Row   int    // row of the file, from 1; 0 is the file as a whole
	Field string // column or field, "" is the whole row
	Says  string // what is wrong and what would be right
}

// Error gives the fault as one sentence: where, and what.
func (f Fault) Error() string {
	at := f.File
	if f.Row > 0 {
		at += fmt.Sprintf(", row %d", f.Row)
	}
	if f.Field != "" {
		at += ", " + f.Field
	}
	return at + ": " + f.Says
}

// report gathers what is said about one file. It keeps MaxFaults of each sort and counts the rest.
type report struct {
	file             string
	faults, warnings []Fault
	more, moreWarned int
}

func (r *report) fault(row int, field, says string, args ...any) {
	if len(r.faults) >= MaxFaults {
		r.more++
		return
	}
	r.faults = append(r.faults, Fault{r.file, row, field, fmt.Sprintf(says, args...)})
}

func (r *report) warn(row int, field, says string, args ...any) {
	if len(r.warnings) >= MaxFaults {
		r.moreWarned++
		return
	}
	r.warnings = append(r.warnings, Fault{r.file, row, field, fmt.Sprintf(says, args...)})
}

// all gives the faults by row, with a closing one that counts those left out.
func (r *report) all() []Fault {
	return r.closed(r.faults, r.more, "faults")
}

// warned gives the warnings by row, with a closing one that counts those left out.
func (r *report) warned() []Fault {
	return r.closed(r.warnings, r.moreWarned, "warnings")
}

func (r *report) closed(list []Fault, more int, what string) []Fault {
	slices.SortStableFunc(list, func(a, b Fault) int { return cmp.Compare(a.Row, b.Row) })
	if more == 0 {
		return list
	}
	return append(list[:len(list):len(list)],
		Fault{r.file, 0, "", fmt.Sprintf("and %d more %s: these are the first %d", more, what, MaxFaults)})
}
