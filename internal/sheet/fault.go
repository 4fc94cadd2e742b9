package sheet

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

// Report gathers what is said about one file. It keeps MaxFaults of each sort and counts the rest.
type Report struct {
	file             string
	faults, warnings []Fault
	more, moreWarned int
}

// NewReport begins the report on the file of a name.
func NewReport(file string) *Report { return &Report{file: file} }

// Fault says what is wrong in a row of the file, 0 for the file as a whole, and in a column or field, ""
// for the whole row.
func (r *Report) Fault(row int, field, says string, args ...any) {
	if len(r.faults) >= MaxFaults {
		r.more++
		return
	}
	r.faults = append(r.faults, Fault{r.file, row, field, fmt.Sprintf(says, args...)})
}

// Warn says what a person should know of a file that can be taken.
func (r *Report) Warn(row int, field, says string, args ...any) {
	if len(r.warnings) >= MaxFaults {
		r.moreWarned++
		return
	}
	r.warnings = append(r.warnings, Fault{r.file, row, field, fmt.Sprintf(says, args...)})
}

// Clean tells whether nothing is wrong so far.
func (r *Report) Clean() bool { return len(r.faults) == 0 }

// Faults gives the faults by row, with a closing one that counts those left out.
func (r *Report) Faults() []Fault {
	return r.closed(r.faults, r.more, "faults")
}

// Warnings gives the warnings by row, with a closing one that counts those left out.
func (r *Report) Warnings() []Fault {
	return r.closed(r.warnings, r.moreWarned, "warnings")
}

func (r *Report) closed(list []Fault, more int, what string) []Fault {
	slices.SortStableFunc(list, func(a, b Fault) int { return cmp.Compare(a.Row, b.Row) })
	if more == 0 {
		return list
	}
	return append(list[:len(list):len(list)],
		Fault{r.file, 0, "", fmt.Sprintf("and %d more %s: these are the first %d", more, what, MaxFaults)})
}
