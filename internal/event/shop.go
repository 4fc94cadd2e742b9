package event

import (
	"tagd/internal/bar"
	"tagd/internal/tags"
)

// LineChanged is a line of a bar list that takes the place of an earlier one: in a later revision, or
// taken over into another list. Taken has bundles for what the line still owes, named on from those of
// the earlier line. Of the earlier line, and those whose place that took, bundles that are begun stay as
// they are. Of the earlier line's own that are not begun, the first stay, and are of the new line now, as
// long as they have Stay pieces at most together; all others that are not begun fall away.
type LineChanged struct {
	Line  uint64    `cbor:"1,keyasint"` // the earlier line
	Taken LineTaken `cbor:"2,keyasint"`
	Stay  int       `cbor:"3,keyasint,omitempty"`
}

// LineWithdrawn takes a line out: its bundles that are not begun fall away.
type LineWithdrawn struct {
	Line     uint64 `cbor:"1,keyasint"`
	Revision string `cbor:"2,keyasint,omitempty"`
	Reason   string `cbor:"3,keyasint,omitempty"`
}

// Fate is what becomes of a begun bundle whose line was changed or withdrawn.
type Fate string

// The fates.
const (
	Deliver Fate = "deliver" // it goes out as it is, and counts for the line
	Scrap   Fate = "scrap"
	ToStock Fate = "to stock" // it becomes the shop's own
)

// LineDecided is what a person decided about a begun bundle of a line that was changed or withdrawn.
type LineDecided struct {
	Line   uint64      `cbor:"1,keyasint"` // the earlier line, whose bundle it is
	Bundle tags.Number `cbor:"2,keyasint"`
	Fate   Fate        `cbor:"3,keyasint"`
	Reason string      `cbor:"4,keyasint,omitempty"`
}

// MillCoil is a coil as the mill tagged it.
type MillCoil struct {
	Number string   `cbor:"1,keyasint"`
	Mass   bar.Mass `cbor:"2,keyasint,omitempty"`
}

// CoilReceived is a lot of coil from a mill: it is drawn by mass.
type CoilReceived struct {
	Lot    tags.Number `cbor:"1,keyasint"`
	Mill   string      `cbor:"2,keyasint,omitempty"`
	Heats  []string    `cbor:"3,keyasint,omitempty"` // none: unknown
	Steel  bar.Steel   `cbor:"4,keyasint"`
	Mass   bar.Mass    `cbor:"5,keyasint"`
	Coils  []MillCoil  `cbor:"6,keyasint,omitempty"`
	Place  tags.Number `cbor:"7,keyasint,omitempty"`
	Melted string      `cbor:"8,keyasint,omitempty"`
	Rolled string      `cbor:"9,keyasint,omitempty"`
	PO     string      `cbor:"10,keyasint,omitempty"`
}

// LotExpected is a lot that a mill's paper says is coming: bars of a length, or with Length 0 coil. It
// is nothing on hand yet.
type LotExpected struct {
	Lot     tags.Number  `cbor:"1,keyasint"`
	Mill    string       `cbor:"2,keyasint"`
	Heats   []string     `cbor:"3,keyasint,omitempty"`
	Steel   bar.Steel    `cbor:"4,keyasint"`
	Length  bar.Length   `cbor:"5,keyasint,omitempty"`
	Bars    int          `cbor:"6,keyasint,omitempty"`
	Bundles []MillBundle `cbor:"7,keyasint,omitempty"`
	Mass    bar.Mass     `cbor:"8,keyasint,omitempty"`
	Melted  string       `cbor:"9,keyasint,omitempty"`
	Rolled  string       `cbor:"10,keyasint,omitempty"`
	PO      string       `cbor:"11,keyasint,omitempty"`
	Date    string       `cbor:"12,keyasint,omitempty"` // yyyy-mm-dd on which it should come
	Coils   []MillCoil   `cbor:"13,keyasint,omitempty"`
}

// LotConfirmed is some or all of an expected lot that has come: so many bars, or so much coil.
type LotConfirmed struct {
	Lot     tags.Number  `cbor:"1,keyasint"`
	Bars    int          `cbor:"2,keyasint,omitempty"`
	Mass    bar.Mass     `cbor:"3,keyasint,omitempty"`
	Bundles []MillBundle `cbor:"4,keyasint,omitempty"` // that came
	Place   tags.Number  `cbor:"5,keyasint,omitempty"`
	Note    string       `cbor:"6,keyasint,omitempty"`
	Coils   []MillCoil   `cbor:"7,keyasint,omitempty"`
	Last    bool         `cbor:"8,keyasint,omitempty"` // no more of it is expected
}

// YardCounted states how many bars of a lot lie there, or how much coil, where the record had others.
type YardCounted struct {
	Lot        tags.Number `cbor:"1,keyasint"`
	Bars       int         `cbor:"2,keyasint,omitempty"`
	Record     int         `cbor:"3,keyasint,omitempty"` // bars that the record had on hand
	Mass       bar.Mass    `cbor:"4,keyasint,omitempty"`
	RecordMass bar.Mass    `cbor:"5,keyasint,omitempty"`
	Place      tags.Number `cbor:"6,keyasint,omitempty"`
}

// MassDraw is coil taken from one lot. Over is how much of it the lot did not have by the record.
type MassDraw struct {
	Lot  tags.Number `cbor:"1,keyasint"`
	Mass bar.Mass    `cbor:"2,keyasint"`
	Over bar.Mass    `cbor:"3,keyasint,omitempty"`
}

// CoilClosed is how a run from coil closes:
// mass of draws + Missing = mass of all pieces, rounded once, + Scrap.
type CoilClosed struct {
	Draws   []MassDraw    `cbor:"1,keyasint,omitempty"`
	Scrap   bar.Mass      `cbor:"2,keyasint,omitempty"`
	Missing bar.Mass      `cbor:"3,keyasint,omitempty"`
	Lots    []tags.Number `cbor:"4,keyasint,omitempty"` // candidates, when a person said them now
	Assumed bool          `cbor:"5,keyasint,omitempty"` // draws were shared out by us, not said
}

// CoilCut is a bundle cut, or cut and bent, from coil. A run from coil makes one bundle, so it closes
// with it.
type CoilCut struct {
	Run    uint64      `cbor:"1,keyasint"` // 0: the one that the event before opened
	Bundle tags.Number `cbor:"2,keyasint"`
	Pieces int         `cbor:"3,keyasint"`
	Rest   tags.Number `cbor:"4,keyasint,omitempty"`
	Owed   int         `cbor:"5,keyasint,omitempty"` // pieces of Rest
	Closed CoilClosed  `cbor:"6,keyasint"`
	Asked  int         `cbor:"7,keyasint"` // pieces that the tag asked for
}

// RunMended restates what a run may have drawn. Closed is nil for an open run, else how it closed by
// what is known now; its remnants are those that it left.
type RunMended struct {
	Run    uint64        `cbor:"1,keyasint"`
	Lots   []tags.Number `cbor:"2,keyasint,omitempty"`
	Closed *RunClosed    `cbor:"3,keyasint,omitempty"`
	Coil   *CoilClosed   `cbor:"4,keyasint,omitempty"`
}

// ChargeMended mends a charge that was not scanned, or one that was never emptied: it restates the
// runs that it names.
type ChargeMended struct {
	Station string      `cbor:"1,keyasint"`
	Feed    string      `cbor:"2,keyasint,omitempty"`
	Lot     tags.Number `cbor:"3,keyasint,omitempty"` // that lay there, or did not
	Runs    []RunMended `cbor:"4,keyasint"`
	Reason  string      `cbor:"5,keyasint"`
}

// PartDone is a step of which so many more pieces are done, and the bundle waits for the rest of it, or
// is being cut at another station. Of a step that draws stock, Run is the run that made them, and Closed
// how that closed, if this was its last bundle. Run is 0 of a step that draws none, and of a run that
// the event before opened.
type PartDone struct {
	Station string      `cbor:"1,keyasint"` // where they were made
	Bundle  tags.Number `cbor:"2,keyasint"`
	Step    string      `cbor:"3,keyasint"`
	Pieces  int         `cbor:"4,keyasint"` // this time; 0 when it was only taken over
	Run     uint64      `cbor:"5,keyasint,omitempty"`
	Closed  *RunClosed  `cbor:"6,keyasint,omitempty"`
	Over    bool        `cbor:"7,keyasint,omitempty"` // another station took it over
	// Lots are further candidates of a run that stays open, that a person said with this scan.
	Lots []tags.Number `cbor:"8,keyasint,omitempty"`
	Coil *CoilClosed   `cbor:"9,keyasint,omitempty"`
}

// Loss is why pieces of a bundle are lost.
type Loss string

// The losses.
const (
	Miscut  Loss = "miscut"
	Misbent Loss = "misbent"
	Sample  Loss = "sample" // cut or taken for an agency's test
	Damaged Loss = "damaged"
	Site    Loss = "site" // lost or spoilt at the site
	Revised Loss = "revised"
)

// PiecesLost is pieces that a bundle has no more. What the line owes for them is the bundle Rest, with
// Owed pieces; none is owed when Rest is 0.
type PiecesLost struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Pieces int         `cbor:"2,keyasint"`
	Rest   tags.Number `cbor:"3,keyasint,omitempty"`
	Owed   int         `cbor:"4,keyasint,omitempty"`
	Why    Loss        `cbor:"5,keyasint"`
	Note   string      `cbor:"6,keyasint,omitempty"`
}

// BundleAssigned says which bars a bundle is that no station cuts: so many of these lots, as they are.
// It is a run of its own, that closed at once.
type BundleAssigned struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Closed RunClosed   `cbor:"2,keyasint"`
	// Station where it was scanned, if it was.
	Station string `cbor:"3,keyasint,omitempty"`
	Said    bool   `cbor:"4,keyasint,omitempty"` // which bars are of which lot
}

// HeatsDeclared is what a supplier's paper says of the heats of a bundle that was bought ready made. The
// steel gets a lot of its own, all of which is this bundle.
type HeatsDeclared struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Mill   string      `cbor:"2,keyasint"`
	Heats  []string    `cbor:"3,keyasint"`
	Lot    tags.Number `cbor:"4,keyasint"`
	Melted string      `cbor:"5,keyasint,omitempty"`
	Rolled string      `cbor:"6,keyasint,omitempty"`
	Paper  string      `cbor:"7,keyasint"` // which paper says so
}

// BundleReassigned gives a bundle to another line, in the place of the bundle Instead of that line, which
// is not begun: that one then owes Left pieces, and falls away with 0. Route is the bundle's own, where
// what it has had done and what the line wants are not the line's route.
type BundleReassigned struct {
	Bundle  tags.Number `cbor:"1,keyasint"`
	Line    uint64      `cbor:"2,keyasint"`
	Reason  string      `cbor:"3,keyasint"`
	Instead tags.Number `cbor:"4,keyasint,omitempty"`
	Left    int         `cbor:"5,keyasint,omitempty"`
	Route   []string    `cbor:"6,keyasint,omitempty"`
}

// RouteSet gives a bundle a route of its own.
type RouteSet struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Route  []string    `cbor:"2,keyasint"`
	Reason string      `cbor:"3,keyasint,omitempty"`
}

// Part is so many pieces under a new number.
type Part struct {
	Number tags.Number `cbor:"1,keyasint"`
	Pieces int         `cbor:"2,keyasint"`
}

// BundleSplit ties some pieces of a bundle as bundles of their own. It keeps the others.
type BundleSplit struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Into   []Part      `cbor:"2,keyasint"`
	Reason string      `cbor:"3,keyasint,omitempty"`
}

// BundlesMerged ties bundles of one line into one of them. The others are no more.
type BundlesMerged struct {
	Into   tags.Number   `cbor:"1,keyasint"`
	From   []tags.Number `cbor:"2,keyasint"`
	Pieces int           `cbor:"3,keyasint"` // of Into now
	Reason string        `cbor:"4,keyasint,omitempty"`
}

// TagLost says that copies of a tag up to Copy are not where they should be.
type TagLost struct {
	Number tags.Number `cbor:"1,keyasint"`
	Copy   int         `cbor:"2,keyasint"`
	Reason string      `cbor:"3,keyasint,omitempty"`
}

// CrewJoined puts a person into the crew of a station.
type CrewJoined struct {
	Station string      `cbor:"1,keyasint"`
	Person  tags.Number `cbor:"2,keyasint"`
}

// CrewLeft takes a person out of it.
type CrewLeft struct {
	Station string      `cbor:"1,keyasint"`
	Person  tags.Number `cbor:"2,keyasint"`
}

// ScanDisputed is a scan that a device kept while it had no network, and that the rules would not have
// allowed: it is recorded whole, and changes nothing until a person has resolved it. The head's answer
// says what is against it.
type ScanDisputed struct {
	Number   tags.Number   `cbor:"1,keyasint,omitempty"`
	Text     string        `cbor:"2,keyasint,omitempty"`
	Do       string        `cbor:"3,keyasint,omitempty"`
	Pieces   int           `cbor:"4,keyasint,omitempty"`
	Feed     string        `cbor:"5,keyasint,omitempty"`
	Pocket   string        `cbor:"6,keyasint,omitempty"`
	Lots     []tags.Number `cbor:"7,keyasint,omitempty"`
	Bars     []Draw        `cbor:"8,keyasint,omitempty"`
	Remnants []Remnant     `cbor:"9,keyasint"` // nil: not said; empty: nothing was kept
	Gone     bool          `cbor:"10,keyasint,omitempty"`
	Why      string        `cbor:"11,keyasint,omitempty"`
	Coils    []MassDraw    `cbor:"12,keyasint,omitempty"`
	Load     tags.Number   `cbor:"13,keyasint,omitempty"` // that was open at the device
	Put      tags.Number   `cbor:"14,keyasint,omitempty"` // the place that was open there
	Scrap    bar.Mass      `cbor:"15,keyasint,omitempty"` // of coil
}

// ScanNoted is a scan that a device kept while it had no network, and that changed nothing: a second read
// of one pull of the trigger, or a thing looked at. It is recorded so that it has its receipt when it is
// sent again.
type ScanNoted struct {
	Number tags.Number `cbor:"1,keyasint,omitempty"`
}

// Resolved says that a person has settled what another event left to look at. Took: the disputed scan
// was taken as done, and the events after this one are what it did.
type Resolved struct {
	Seq    uint64 `cbor:"1,keyasint"`
	Reason string `cbor:"2,keyasint"`
	Took   bool   `cbor:"3,keyasint,omitempty"`
	As     string `cbor:"4,keyasint,omitempty"` // in which office the person did it
}

func (LineChanged) Kind() Kind      { return 13 }
func (LineWithdrawn) Kind() Kind    { return 14 }
func (LineDecided) Kind() Kind      { return 15 }
func (CoilReceived) Kind() Kind     { return 25 }
func (LotExpected) Kind() Kind      { return 26 }
func (LotConfirmed) Kind() Kind     { return 27 }
func (YardCounted) Kind() Kind      { return 28 }
func (ChargeMended) Kind() Kind     { return 32 }
func (CoilCut) Kind() Kind          { return 46 }
func (PartDone) Kind() Kind         { return 48 }
func (PiecesLost) Kind() Kind       { return 49 }
func (BundleSplit) Kind() Kind      { return 53 }
func (BundlesMerged) Kind() Kind    { return 54 }
func (BundleAssigned) Kind() Kind   { return 55 }
func (BundleReassigned) Kind() Kind { return 56 }
func (RouteSet) Kind() Kind         { return 57 }
func (TagLost) Kind() Kind          { return 58 }
func (HeatsDeclared) Kind() Kind    { return 59 }
func (CrewJoined) Kind() Kind       { return 64 }
func (CrewLeft) Kind() Kind         { return 65 }
func (ScanDisputed) Kind() Kind     { return 91 }
func (Resolved) Kind() Kind         { return 92 }
func (ScanNoted) Kind() Kind        { return 93 }
