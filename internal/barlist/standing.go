package barlist

import (
	"fmt"
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Standing is a bar list that was taken.
type Standing struct {
	SHA256    []byte   // of the file from which its newest revision was taken
	Revision  string   // the newest
	Revisions []string // all that were taken, oldest first
}

// Old is a line that was taken, as it stands now, with its bundles.
type Old struct {
	Seq uint64
	event.LineTaken
	Into      string // the list that it was taken into; "": it stands here
	Withdrawn bool
	// Bundles are those of it and of the lines whose place it took, by number, without voided ones.
	Bundles []Tied
}

// stands says whether the list still asks for the line.
func (o *Old) stands() bool { return o != nil && o.Into == "" && !o.Withdrawn }

// Tied is a bundle of a line.
type Tied struct {
	Number  tags.Number
	Name    string // "2/3"
	Pieces  int
	State   State
	Line    uint64          // whose bundle it is: Old.Seq, or a line before that
	Made    event.LineTaken // what it is made to: that line
	Load    tags.Number     // on which it lies or left
	Planned tags.Number     // load on which it is planned
	Stop    int             // of that load, from 0
}

// State says how far a bundle is, as far as a revision asks.
type State string

// The states, from the first to the last.
const (
	NotBegun State = "not begun"
	AtWork   State = "begun" // a step is started or part done
	Made     State = "cut"   // its newest step is done, and it lies there
	OnTruck  State = "loaded"
	Left     State = "shipped"
)

// States are all of them in order.
var States = []State{NotBegun, AtWork, Made, OnTruck, Left}

// fates are what may become of a begun bundle, and why nothing else.
func (t Tied) fates(stock bool) (may []event.Fate, why string) {
	may = []event.Fate{event.Deliver}
	switch t.State {
	case Left:
		return may, fmt.Sprintf("it left on load %v", t.Load)
	case OnTruck:
		return may, fmt.Sprintf("it lies on load %v; take it off first to do otherwise", t.Load)
	case AtWork:
		return may, "it is at work; undo its start first to do otherwise"
	}
	may = append(may, event.Scrap)
	if !stock {
		return may, "to keep it, make a job that is the shop's own stock first"
	}
	return append(may, event.ToStock), ""
}

// alike says whether the pieces of two lines are the same things, made in the same way.
func alike(a, b event.LineTaken) bool {
	return same(a, b) && slices.Equal(a.Route, b.Route)
}

// same says whether the pieces of two lines are the same things.
func same(a, b event.LineTaken) bool {
	return a.Steel == b.Steel && a.Length == b.Length && sameShape(a.Shape, b.Shape)
}

func sameShape(a, b bar.Shape) bool {
	return a.Code == b.Code && a.Edition == b.Edition && a.Pin == b.Pin && slices.Equal(a.Legs, b.Legs)
}
