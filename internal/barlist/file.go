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
	"bytes"
	"crypto/sha256"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// The bounds of a file. They are far above any real bar list; what is beyond them is refused with a
// sentence, before it costs memory.
const (
	MaxBytes  = sheet.MaxBytes  // of a file
	MaxLines  = sheet.MaxRows   // of a file: they go into the record in one piece
	MaxPieces = 100_000         // of a line
	MaxFaults = sheet.MaxFaults // shown of a file; one more says how many were left out
)

// The formats of a File.
const (
	CSV  = sheet.CSV
	XLSX = sheet.XLSX
	BVBS = "bvbs"
)

// File is a bar list as it was read.
type File struct {
	Name   string   // as it was given to Read
	Format string   // CSV, XLSX or BVBS; "" when the file is none of them
	SHA256 [32]byte // of the bytes of the file: the same file again is known by it

	// Job, List and Revision are what all lines agree on, "" where they differ or nothing was said.
	Job, List, Revision string

	Units bar.Units // how lengths are written in what is said to people; Imperial when empty
	Lines []Line    // in the order of the file
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

// Fault is one thing wrong with a bar list, or one thing to know about it.
type Fault = sheet.Fault

const utf8BOM = "\xef\xbb\xbf"

// Read reads the bar list in data; name is only for the people who read the faults. Faults say why
// the file cannot be taken, warnings what a person should know of a file that can. There is no
// other error: a file that is no bar list at all has one fault with Row 0.
func Read(name string, data []byte, d Defaults) (f File, faults, warnings []Fault) {
	f = File{Name: name, SHA256: sha256.Sum256(data), Units: d.units()}
	r := sheet.NewReport(name)
	var lines []Line
	if text := bytes.TrimLeft(bytes.TrimPrefix(data, []byte(utf8BOM)), " \t\r\n"); isRecord(text) && len(data) <= MaxBytes {
		f.Format = BVBS
		lines = readBF2D(data, d, r)
	} else {
		t, ok := form.Read(data, r)
		if f.Format = t.Format; ok {
			lines = readTable(t, d, r)
		}
	}
	f.Lines = lines
	if len(lines) == 0 && r.Clean() {
		r.Fault(0, "", "the file has no lines")
	}
	f.agree()
	duplicates(lines, r)
	return f, r.Faults(), r.Warnings()
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
func duplicates(lines []Line, r *sheet.Report) {
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
			r.Fault(l.Row, "revision", "revision %s, but row %d of the same list has %s: one file brings one revision of a list",
				sheet.Quote(l.Revision), at.Row, sheet.Quote(at.Revision))
		}
		if l.Mark == "" {
			continue
		}
		if row, ok := marks[mark{in, l.Mark}]; ok {
			r.Fault(l.Row, "mark", "mark %s stands on row %d already: a mark is there once in a list; add the pieces up, or give one of them another mark",
				sheet.Quote(l.Mark), row)
		} else {
			marks[mark{in, l.Mark}] = l.Row
		}
	}
}
