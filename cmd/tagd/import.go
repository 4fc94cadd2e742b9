package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"tagd/api"
	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/plant"
)

type importCmd struct {
	dataFlag
	File     string `arg:""`
	Job      string
	List     string
	Revision string
	Spec     string
	Grade    string
	Coating  string
	Unit     string
	FromList string   `name:"from-list"`
	Decide   []string `sep:"none"`
	Reason   string
	DryRun   bool
	JSON     bool `name:"json"`
}

func (importCmd) Help() string {
	var columns columnHelp
	for _, c := range barlist.Columns {
		columns.add(c.Name, c.About, c.Must)
	}
	return `Usage: tagd import FILE [--job JOB] [--list LIST] [--revision REV]
                   [--spec SPEC] [--grade GRADE] [--coating COATING]
                   [--unit UNIT] [--from-list LIST] [--decide WHAT]
                   [--reason TEXT] [--dry-run] [--json] [--data DIR]

Takes a bar list: CSV, XLSX or BVBS (BF2D), told apart by what is in the file.
Each line becomes bundles within the plant's limits, and each bundle a number.

A file is taken whole or not at all. All its faults are shown at once, each with
row, field, what is wrong and what would be right. The same file again changes
nothing, so a doubtful import can simply be repeated.

--job, --list, --revision, --spec, --grade and --coating say what the file does
not say itself. --unit (mm, cm, m, in or ft) is the unit of lengths that are
written as a bare number; without one, here or in the settings, they are faults.

Another file under a list that was taken is its next revision, and names it, in
the file or with --revision. Marks are added, changed and withdrawn. What is
made is never touched: of each bundle that is begun and that the revision
changes, say what becomes of it, with --decide once for each of them:

    --decide 1-001-00000042-05=deliver     it goes out as it is, and counts
    --decide 1-001-00000042-05=scrap
    --decide "1-001-00000042-05=to stock"  it is kept for another job
    --decide all=deliver                   all that no other --decide names

--reason says why. --from-list takes over lines of another list of the job: what
the file has of the same mark, steel, length and shape is not made twice.

With --dry-run the file is only looked at: its lines are shown as they would be
taken, and where the data folder has a store, what a revision would change and
what it asks. That needs no store; the settings of the data folder are used if
there is one, else those that a plant begins with.

With --json the answer is one object: "lines" with mark, size, grade, length_mm,
pieces, shape, weight_kg and more; "faults" and "warnings" with row, field and
says; "changes" of a revision with what, fields and asked. Row 0 is the file as
a whole. Weights are nominal and of all pieces.

The columns of CSV and XLSX, in any order, in English or Spanish:

` + columns.String() + `
Examples:

    tagd import alder-creek.csv --dry-run
    tagd import alder-creek.xlsx --job 26-014 --list A1
    tagd import hillside.abs --dry-run --json
    tagd import alder-creek-rev-a.csv --revision A --dry-run
    tagd import alder-creek-rev-a.csv --revision A --decide all=deliver

Exit codes: 0 without faults, 1 with faults or when it was refused.
`
}

// Run looks at the file first, here. One with faults gets no further, so that they are shown alike with
// and without --dry-run; the server judges again what it is given.
func (c *importCmd) Run(ctx context.Context, s streams) error {
	set, err := c.Data.settingsOrDefault()
	if err != nil {
		return err
	}
	data, tooLarge, err := readBounded(c.File)
	if err != nil {
		return err
	}
	name := filepath.Base(c.File)
	file, faults, warnings := barlist.File{Name: name}, []barlist.Fault{{File: name, Says: tooLarge}}, []barlist.Fault(nil)
	if tooLarge == "" {
		file, faults, warnings = barlist.Read(name, data, c.defaults(set))
	}
	if !c.DryRun && len(faults) == 0 {
		return c.take(ctx, s, name, data, warnings)
	}
	l := lookAt(file, faults, warnings, set.Routes)
	if len(faults) == 0 {
		if err := c.preview(ctx, s, name, data, &l); err != nil {
			return err
		}
	}
	if c.JSON {
		err = writeJSON(s.out, l)
	} else {
		err = l.write(s, set.Units, file.Lines)
	}
	if err == nil && len(faults) > 0 {
		err = errSaid
	}
	return err
}

// defaults are what is meant where the file does not say it: what was typed, else what the plant has
// set.
func (c *importCmd) defaults(set plant.Settings) barlist.Defaults {
	d := defaults(set)
	d.Job, d.List, d.Revision, d.Coating = c.Job, c.List, c.Revision, c.Coating
	d.Spec, d.Grade, d.LengthUnit = cmp.Or(c.Spec, d.Spec), cmp.Or(c.Grade, d.Grade), cmp.Or(c.Unit, d.LengthUnit)
	return d
}

// take sends the file to the plant.
func (c *importCmd) take(ctx context.Context, s streams, name string, data []byte, warnings []barlist.Fault) error {
	if err := c.Data.begin(s); err != nil {
		return err
	}
	w, err := c.Data.ask(ctx, s)
	if err != nil {
		return err
	}
	defer w.close()
	taken, err := w.TakeList(ctx, name, data, c.options())
	if err != nil {
		return err
	}
	if c.JSON {
		return writeJSON(s.out, taken)
	}
	for _, f := range warnings {
		s.say("warning: %v", f)
	}
	for _, job := range taken.NewJobs {
		s.say("job %s is new here: it has no rules yet", job)
	}
	if taken.Existing {
		s.say("%s was taken before; nothing changed", name)
	}
	for _, says := range taken.Says {
		s.say("%s", says)
	}
	if err := writeChanges(s, taken.Changes); err != nil {
		return err
	}
	t := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "JOB\tLIST\tMARK\tSTEEL\tLENGTH\tPIECES\tBUNDLES\tFIRST NUMBER")
	for _, l := range taken.Lines {
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\t%s\t%d\t%d\t%s\n", l.Job, l.List, l.Mark, l.Steel.Steel, l.Length, l.Pieces, len(l.Bundles),
			strings.Join(l.Bundles[:min(1, len(l.Bundles))], ""))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s, %s\n", counted(len(taken.Lines), "line"), counted(taken.Bundles, "bundle"))
	return nil
}

// settingsOrDefault are the settings of the folder, or those that a plant begins with.
func (d folder) settingsOrDefault() (plant.Settings, error) {
	if _, err := os.Stat(d.path(settingsName)); errors.Is(err, fs.ErrNotExist) {
		return plant.Parse(plant.Default(""))
	}
	return d.settings()
}

// readBounded reads a file of at most barlist.MaxBytes, or says that it is larger, and reads no more
// of it.
func readBounded(name string) (data []byte, tooLarge string, err error) {
	f, err := openInput(name)
	if err != nil {
		return nil, "", err
	}
	defer f.Close()
	data, err = io.ReadAll(io.LimitReader(f, barlist.MaxBytes+1))
	if len(data) > barlist.MaxBytes {
		size := int64(len(data))
		if info, err := f.Stat(); err == nil {
			size = max(size, info.Size())
		}
		tooLarge = fmt.Sprintf("the file is %d MB large; a bar list of at most %d MB is taken: split it by release",
			(size+1<<20-1)>>20, barlist.MaxBytes>>20)
	}
	return data, tooLarge, err
}

// openInput opens a file that was named on the command line.
func openInput(name string) (*os.File, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, misuse("", "%v", err)
	}
	if info, err := f.Stat(); err == nil && info.IsDir() {
		f.Close()
		return nil, misuse("", "%s is a folder, not a file", name)
	}
	return f, nil
}

// looked is what a dry run found.
type looked struct {
	File     string       `json:"file"`
	Format   string       `json:"format"` // csv, xlsx or bvbs; "" is none of them
	Job      string       `json:"job"`    // what all lines agree on
	List     string       `json:"list"`
	Revision string       `json:"revision"`
	Lines    []lookedLine `json:"lines"`
	Faults   []lookedFor  `json:"faults"`
	Warnings []lookedFor  `json:"warnings"`

	Changes []api.ListChange `json:"changes"` // what a revision would change
	Says    []string         `json:"says"`
}

type lookedLine struct {
	Row      int      `json:"row"`
	Job      string   `json:"job"`
	List     string   `json:"list"`
	Mark     string   `json:"mark"`
	Size     string   `json:"size"`
	Spec     string   `json:"spec"`
	Grade    string   `json:"grade"`
	Coating  string   `json:"coating"`
	LengthMM float64  `json:"length_mm"`
	Pieces   int      `json:"pieces"`
	Shape    string   `json:"shape"` // code as on the list, else straight or bent
	Edition  string   `json:"edition"`
	Bends    string   `json:"bends"`
	PinMM    float64  `json:"pin_mm"`
	Route    []string `json:"route"`
	WeightKG float64  `json:"weight_kg"` // nominal, of all pieces
	Note     string   `json:"note"`
}

type lookedFor struct {
	Row   int    `json:"row"`
	Field string `json:"field"`
	Says  string `json:"says"`
}

func lookAt(f barlist.File, faults, warnings []barlist.Fault, routes barlist.Routes) looked {
	l := looked{
		File: f.Name, Format: f.Format, Job: f.Job, List: f.List, Revision: f.Revision,
		Lines: []lookedLine{}, Faults: lookedFors(faults), Warnings: lookedFors(warnings),
		Changes: []api.ListChange{}, Says: []string{},
	}
	for _, x := range f.Lines {
		l.Lines = append(l.Lines, lookedLine{
			Row: x.Row, Job: x.Job, List: x.List, Mark: x.Mark,
			Size: string(x.Steel.Size), Spec: x.Steel.Spec, Grade: x.Steel.Grade, Coating: x.Steel.Coating,
			LengthMM: x.Length.MM(), Pieces: x.Pieces,
			Shape: shapeWord(x.Shape), Edition: x.Shape.Edition, Bends: x.Shape.Text(bar.Metric), PinMM: x.Shape.Pin.MM(),
			Route: append([]string{}, routes.Of(x)...), WeightKG: hundredths(weight(x).Kilograms()), Note: x.Note,
		})
	}
	return l
}

func lookedFors(in []barlist.Fault) []lookedFor {
	out := []lookedFor{}
	for _, f := range in {
		out = append(out, lookedFor{f.Row, f.Field, f.Says})
	}
	return out
}

// weight is the nominal weight of all pieces of a line, 0 where the line is too faulty to have one.
func weight(l barlist.Line) bar.Mass {
	m, err := bar.Weigh(l.Steel.Size, l.Length*bar.Length(l.Pieces))
	if err != nil {
		return 0
	}
	return m
}

// counted is a number of things: 1 line, 2 lines.
func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func hundredths(x float64) float64 { return math.Round(x*100) / 100 }

// write shows a dry run as a table on stdout; faults and warnings go to stderr.
func (l looked) write(s streams, u bar.Units, lines []barlist.Line) error {
	w := tabwriter.NewWriter(s.out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "ROW\tJOB\tLIST\tMARK\tSTEEL\tLENGTH\tPIECES\tSHAPE\tWEIGHT")
	var all bar.Mass
	for _, x := range lines {
		all += weight(x)
		fmt.Fprintf(w, "%d\t%s\t%s\t%s\t%s\t%s\t%d\t%s\t%s\n", x.Row, x.Job, x.List, x.Mark, x.Steel,
			x.Length.Text(exact(x.Length, u)), x.Pieces, shapeWord(x.Shape), weight(x).Text(u))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "%s, %s\n", counted(len(lines), "line"), all.Text(u))
	if err := writeChanges(s, l.Changes); err != nil {
		return err
	}
	for _, says := range l.Says {
		s.say("%s", says)
	}
	for _, f := range l.Warnings {
		s.say("%s", f.text("warning: "+l.File))
	}
	for _, f := range l.Faults {
		s.say("%s", f.text(l.File))
	}
	if len(l.Faults) > 0 {
		s.say("%s: nothing would be taken", counted(len(l.Faults), "fault"))
	}
	return nil
}

// exact is the plant's units, or those in which a length of the other system can be written as it is.
func exact(l bar.Length, u bar.Units) bar.Units {
	if !l.Exact(u) && l.Exact(bar.Metric) {
		return bar.Metric
	}
	return u
}

func shapeWord(s bar.Shape) string {
	switch {
	case s.Code != "":
		return s.Code
	case s.Straight():
		return "straight"
	}
	return "bent"
}

func (f lookedFor) text(file string) string {
	return barlist.Fault{File: file, Row: f.Row, Field: f.Field, Says: f.Says}.Error()
}

// writeJSON writes v for programs, in lines that a person can read too.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(v)
}
