// Package barlist reads bar lists: what to make for a job, line by line.
//
// Three formats are taken, told apart by what is in the file and not by its name:
//
//   - CSV, text with one line a row and the column names in the first row (columns.go lists them);
//     UTF-8 or UTF-16, separated by commas, semicolons or tabs;
//   - XLSX, the same columns on the sheet named "bars" or else on the first sheet;
//   - BVBS BF2D, the records of the exchange guideline for reinforcement data (bf2d.go).
//
// A file is taken whole or not at all. Read therefore looks at everything before it answers: all
// faults come at once, each with the file, the row, the field, what is wrong and what would be
// right. A File read with faults still carries the lines that could be read, to be looked at; only
// one read without faults may be taken.
//
// The package is pure: bytes come in and values go out.
package barlist

import (
	"crypto/sha256"

	"tagd/internal/bar"
)

// The bounds of a file. They are far above any real bar list; what is beyond them is refused with a
// sentence, before it costs memory.
const (
	MaxBytes  = 20 << 20 // of a file
	MaxLines  = 5_000    // of a file: they go into the record in one piece
	MaxPieces = 100_000  // of a line
	MaxFaults = 1_000    // shown of a file; one more says how many were left out
)

// The formats of a File.
const (
	CSV  = "csv"
	XLSX = "xlsx"
	BVBS = "bvbs"
)

// File is a bar list as it was read.
type File struct {
	Name   string   // as it was given to Read
	Format string   // CSV, XLSX or BVBS; "" when the file is none of them
	SHA256 [32]byte // of the bytes of the file: the same file again is known by it

	// Job, List and Revision are what all lines agree on, "" where they differ or nothing was said.
	Job, List, Revision string

	Lines []Line // in the order of the file
}

// Line is one line of a bar list: one mark.
type Line struct {
	Row    int    // the row of the file it stands on, from 1
	Mark   string // unique within job and list
	Steel  bar.Steel
	Length bar.Length // cut length of one piece
	Pieces int        // 1 to MaxPieces
	Shape  bar.Shape
	// Route is the steps of the line in order, in the words of Steps. It is nil where the list does
	// not say: a straight bar is then cut, a bent one cut and bent. It is empty but not nil for the
	// word none: full stock lengths, bought-in bundles.
	Route []string
	Note  string

	Job, List, Revision string // of the file or of Defaults, "" when neither says
}

// Defaults is what a plant means where a list does not say it.
type Defaults struct {
	Units      bar.Units // how lengths are written in what is said to people; Imperial when empty
	LengthUnit string    // unit of bare numbers in the columns length and pin: mm, m, in or ft; "" refuses them
	Spec       string    // "A615"
	Grade      string    // "60"
	Coating    string    // "" is plain
	Edition    string    // of shape codes, "ACI 315-99"
	Job        string
	List       string
	Revision   string
}

// Read reads the bar list in data; name is only for the people who read the faults. Faults say why
// the file cannot be taken, warnings what a person should know of a file that can. There is no
// other error: a file that is no bar list at all has one fault with Row 0.
func Read(name string, data []byte, d Defaults) (f File, faults, warnings []Fault) {
	f = File{Name: name, SHA256: sha256.Sum256(data)}
	r := &report{file: name}
	if len(data) > MaxBytes {
		r.fault(0, "", "the file is %d MB large; a bar list of at most %d MB is taken: split it by release",
			(len(data)+1<<20-1)>>20, MaxBytes>>20)
		return f, r.all(), nil
	}
	var lines []Line
	switch f.Format = sniff(data, r); f.Format {
	case CSV:
		if t, ok := readCSV(data, r); ok {
			lines = readTable(t, d, r)
		}
	case XLSX:
		if t, ok := readXLSX(data, r); ok {
			lines = readTable(t, d, r)
		}
	case BVBS:
		lines = readBF2D(data, d, r)
	default:
		return f, r.all(), nil
	}
	f.Lines = lines
	if len(lines) == 0 && len(r.faults) == 0 {
		r.fault(0, "", "the file has no lines")
	}
	f.agree()
	duplicates(lines, r)
	return f, r.all(), r.warned()
}

// agree sets what all lines say alike.
func (f *File) agree() {
	for i, l := range f.Lines {
		if i == 0 {
			f.Job, f.List, f.Revision = l.Job, l.List, l.Revision
			continue
		}
		if l.Job != f.Job {
			f.Job = ""
		}
		if l.List != f.List {
			f.List = ""
		}
		if l.Revision != f.Revision {
			f.Revision = ""
		}
	}
}

// duplicates reports marks that stand twice in one list, and lists of two revisions.
func duplicates(lines []Line, r *report) {
	type list struct{ job, list string }
	type mark struct {
		list
		mark string
	}
	marks := make(map[mark]int, len(lines))
	first := make(map[list]Line)
	for _, l := range lines {
		in := list{l.Job, l.List}
		if at, ok := first[in]; !ok {
			first[in] = l
		} else if at.Revision != l.Revision {
			r.fault(l.Row, "revision", "revision %s, but row %d of the same list has %s: one file brings one revision of a list",
				quote(l.Revision), at.Row, quote(at.Revision))
		}
		if l.Mark == "" {
			continue
		}
		if row, ok := marks[mark{in, l.Mark}]; ok {
			r.fault(l.Row, "mark", "mark %s stands on row %d already: a mark is there once in a list; add the pieces up, or give one of them another mark",
				quote(l.Mark), row)
		} else {
			marks[mark{in, l.Mark}] = l.Row
		}
	}
}
