// Package plant knows the settings of a plant: one commented TOML file, its defaults and its faults.
//
// Default gives the file that a plant begins with; its comments say what each key means, its unit,
// its default and why. Parse reads a file. A key that is left out has its default; a key that is
// not known is a fault. Faults come all at once, each with line, key and what would be right.
package plant

import (
	_ "embed"
	"fmt"
	"strings"
	"time"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
)

// Settings are what a plant has set.
type Settings struct {
	Number int // 1 to 999
	Name   string
	Zone   *time.Location
	Units  bar.Units

	// Address is the host, or host:port, that the QR codes of tags lead to, in capitals.
	Address string
	// Hosts are further names under which browsers open the server, as written.
	Hosts []string

	MaxPieces int      // of a bundle; 0 is no limit
	MaxWeight bar.Mass // of a bundle, nominal
	LoadLimit bar.Mass // of a truck load that does not say its own

	Stock    []bar.Length            // lengths that the plant buys, the usual one first
	Keep     map[bar.Size]bar.Length // least useful remnant; the size "" is for all others
	Pause    time.Duration           // see scan.Rules
	Repeat   time.Duration           // see scan.Rules
	Least    time.Duration           // see scan.Rules
	Wedge    tags.Wedge              // what the plant's scanners type for control characters
	Patterns []tags.Pattern          // of mills whose barcodes follow no standard, in the order of the file
	List     List
	Routes   barlist.Routes // of bars whose list does not say what is done to them
	Calendar load.Calendar  // when the plant works
	Days     int            // how many of the last days make the pace of a station
	Stations []scan.Station // in the order of the file
	Field    Field

	Text   []byte   // the file as it was read
	SHA256 [32]byte // of Text
}

// Field is what a phone shows after a tag's QR code, beside what stands on the tag. Whoever holds the tag sees it.
type Field struct {
	Certs   bool // which certs are on file for its heats
	History bool // how far the bundle is, by day
}

// List is what a bar list means where it does not say it itself. Empty is: it has to.
type List struct {
	LengthUnit   string // mm, cm, m, in or ft, of a length without a unit
	Spec         string // "A615"
	Grade        string // "60"
	ShapeEdition string // of shape codes: "ACI 315-99"
}

// Limits are the settings that taking a bar list uses.
func (s Settings) Limits() barlist.Limits {
	return barlist.Limits{Pieces: s.MaxPieces, Mass: s.MaxWeight, Routes: s.Routes}
}

// Rules are the settings that decisions about scans use.
func (s Settings) Rules() scan.Rules {
	return scan.Rules{
		Plant: s.Number, Name: s.Name, Zone: s.Zone, Units: s.Units, Stations: s.Stations,
		Pause: s.Pause, Repeat: s.Repeat, Least: s.Least, Ends: s.ends(), Keep: s.Keep, Stock: s.Stock, Calendar: s.Calendar, Days: s.Days,
	}
}

//go:embed default.toml
var standard string

const standardName = `"Example Rebar Shop (invented)"`

// Default is the file that a plant of this name begins with; "" keeps the invented name.
func Default(name string) []byte {
	if name == "" {
		return []byte(standard)
	}
	return []byte(strings.Replace(standard, standardName, quoted(name), 1))
}

// quoted is s as a basic string of TOML.
func quoted(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// Fault is one thing wrong with a settings file.
type Fault struct {
	Line, Column int    // from 1; 0 where something is missing from the file as a whole
	Key          string // "plant.zone", "station 2.feeds"; "" is the whole line or file
	Says         string // what is wrong and what would be right
}

// Error is one line: where, and what.
func (f Fault) Error() string {
	var b strings.Builder
	if f.Line > 0 {
		fmt.Fprintf(&b, "line %d", f.Line)
		if f.Key != "" {
			b.WriteString(", ")
		}
	}
	b.WriteString(f.Key)
	if b.Len() > 0 {
		b.WriteString(": ")
	}
	b.WriteString(f.Says)
	return b.String()
}

// Faults are all faults of a file, in its order.
type Faults []Fault

// Error is one line a fault.
func (f Faults) Error() string {
	lines := make([]string, len(f))
	for i := range f {
		lines[i] = f[i].Error()
	}
	return strings.Join(lines, "\n")
}
