package scan

import (
	"slices"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// Line is a line of a bar list as it was taken. Its sequence is its name.
type Line struct {
	Seq uint64
	event.LineTaken
	Was uint64 // the line whose place it took; 0: none
}

// Bundle is the state of a bundle.
type Bundle struct {
	_ struct{} `cbor:",toarray"`

	Number  tags.Number
	Line    uint64
	K       int
	Rest    int // how often a remainder was split off: 1 is "2b"
	N       int
	Pieces  int
	Done    int      // steps of the route that are done
	Started bool     // the next step is begun
	Runs    []uint64 // that cut it, in the order in which it was started; several may be open
	Place   tags.Number
	Station string      // where it was worked on last
	Pocket  string      // of the station, in which it lies; "" once it was moved
	Load    tags.Number // that it lies on
	Planned tags.Number // that it is planned on
	Shipped bool
	Voided  bool
	At      int64 // of the newest event, Unix ms
	Copy    int   // newest copy of its tag
	// Progress holds the sequences of what can be undone, oldest first.
	Progress []uint64
	// Events holds the sequences of all other events that changed it.
	Events []uint64
	// Looks holds those of all that a person should look at.
	Looks []uint64
	Route []string // its own; nil is that of its line
	Made  int      // pieces of its next step that are done, while the step is part done
	Kin   *Kin     // nil for most
	Trip  *Trip    // nil for most
}

// Trip is what is known of a bundle's way on trucks, beside the load that it lies on.
type Trip struct {
	_ struct{} `cbor:",toarray"`

	Staged tags.Number // the load for which it lies ready
	Back   int         // pieces that came back under another number, while others stayed there
	From   tags.Number // the load that it came back from last
}

// Staged is the load for which the bundle lies ready, or 0.
func (b Bundle) Staged() tags.Number {
	if b.Trip == nil {
		return 0
	}
	return b.Trip.Staged
}

// CameFrom is the load that the bundle came back from last, or 0.
func (b Bundle) CameFrom() tags.Number {
	if b.Trip == nil {
		return 0
	}
	return b.Trip.From
}

// Kin is what became of a bundle beside its route: what it was made of, what it was tied into, and what
// it lost.
type Kin struct {
	_ struct{} `cbor:",toarray"`

	Parents  []tags.Number // bundles of which it has pieces: split off, or merged into it
	Into     tags.Number   // the bundle that it was merged into; it is no more then
	Lost     int           // pieces, samples among them
	Sampled  int           // pieces lost as samples
	Replaces bool          // it is made for pieces that another bundle lost
	Had      int           // pieces that it had when it was merged into another
	Away     int           // pieces lost after it left, which its load's papers still have
	Mislaid  int           // copies of its tag up to this one are reported lost
	Given    int           // pieces of what it was to be that others brought, which were given to its line
}

// Begun says whether something of the bundle is made: it was started or cut, or parted from one that was.
func (b Bundle) Begun() bool { return b.Started || b.Done > 0 || b.Made > 0 || len(b.Runs) > 0 }

// touched says whether something was done with a bundle since it was made.
func (b Bundle) touched() bool {
	return len(b.Progress) > 0 || b.Into() != 0 || b.Kin != nil && b.Kin.Given > 0 || b.CameFrom() != 0
}

// Into is the bundle that this one was merged into, or 0.
func (b Bundle) Into() tags.Number {
	if b.Kin == nil {
		return 0
	}
	return b.Kin.Into
}

// Lost is how many pieces the bundle lost.
func (b Bundle) Lost() int {
	if b.Kin == nil {
		return 0
	}
	return b.Kin.Lost
}

// Left is how many pieces went with its load.
func (b Bundle) Left() int {
	went := b.Pieces
	if b.Kin != nil {
		went += b.Kin.Away
	}
	if b.Trip != nil {
		went += b.Trip.Back
	}
	return went
}

// Mislaid says up to which copy its tag is reported lost; 0 is none.
func (b Bundle) Mislaid() int {
	if b.Kin == nil {
		return 0
	}
	return b.Kin.Mislaid
}

// Replaces says whether the bundle is made for pieces that another one lost.
func (b Bundle) Replaces() bool { return b.Kin != nil && b.Kin.Replaces }

// Steps is the bundle's route: its own, else that of its line.
func (b Bundle) Steps(l *Line) []string {
	if b.Route != nil {
		return b.Route
	}
	return l.Route
}

// Name is "2" or, for what was parted from bundle 2 later, "2b", "2c", and after "2z" "2ba".
func (b Bundle) Name() string {
	if b.Rest == 0 {
		return itoa(b.K)
	}
	letters := ""
	for n := b.Rest; n > 0; n /= 26 {
		letters = string(rune('a'+n%26)) + letters
	}
	return itoa(b.K) + letters
}

// ToDo is how many pieces of its next step are still to be made.
func (b Bundle) ToDo() int { return max(0, b.Pieces-b.Made) }

// Next is the step that comes next, or "" when all are done.
func (b Bundle) Next(l *Line) string {
	if route := b.Steps(l); b.Done < len(route) {
		return route[b.Done]
	}
	return ""
}

// Member is a bundle of a run. Pieces are those that the run made of it, or while it is not done those
// that are still to be made. A bundle that was part done in a run and is started in it again is two.
type Member struct {
	_ struct{} `cbor:",toarray"`

	Bundle tags.Number
	Length bar.Length
	Pieces int // to cut or cut, with those that were lost in the run
	Done   bool
	Lost   int // of them, lost before the bundle was cut
}

// Run is one piece of work at a cut station.
type Run struct {
	_ struct{} `cbor:",toarray"`

	Seq     uint64
	Station string
	Steel   bar.Steel
	Members []Member
	Lots    []tags.Number // candidates
	Said    bool
	Missing bar.Length // metal in the pieces that no recorded bar accounts for
	At      int64
	By      uint64        // sequence of the event that closed it
	Before  []tags.Number // candidates before the closing said others
	Mended  uint64        // sequence of the newest event that restated it
	Lacking bar.Mass      // of a run from coil: mass of the pieces that no recorded coil accounts for
}

// Left counts the members that are not done.
func (r Run) Left() int {
	n := 0
	for _, m := range r.Members {
		if !m.Done {
			n++
		}
	}
	return n
}

// open is where a bundle that is not done stands among the members, -1 if it does not.
func (r Run) open(b tags.Number) int {
	return slices.IndexFunc(r.Members, func(m Member) bool { return m.Bundle == b && !m.Done })
}

// wants are the pieces of its members.
func (r Run) wants() []Want {
	var out []Want
	for _, m := range r.Members {
		out = append(out, Want{m.Bundle, m.Length, m.Pieces})
	}
	return out
}

// Cutting says whether the run is open and has the bundle still to make.
func (r Run) Cutting(b tags.Number) bool { return r.By == 0 && r.open(b) >= 0 }

// Feed is a place of a station from which bars are taken. Lots lie in the order in which they were
// charged: the last one is on top.
type Feed struct {
	_ struct{} `cbor:",toarray"`

	Name string
	Lots []tags.Number
}

// Floor is the state of a station: its open run, the bundle on its screen, what lies on its feeds and
// in its pockets.
type Floor struct {
	_ struct{} `cbor:",toarray"`

	Run     uint64
	Card    tags.Number
	Feeds   []Feed
	Pockets []Lying // in the order in which they were started
	Crew    []Aboard
	Fed     int64 // when its feeds were changed last, by the devices' clocks, Unix ms
	Closed  int64 // when a run closed here last, by the devices' clocks, Unix ms
}

// Aboard is a person of a station's crew.
type Aboard struct {
	_ struct{} `cbor:",toarray"`

	Person tags.Number
	At     int64 // joined, Unix ms
}

// Lots are all lots on the feeds, the newest charge of each feed first.
func (f Floor) Lots() []tags.Number {
	var out []tags.Number
	for _, feed := range f.Feeds {
		for i := len(feed.Lots) - 1; i >= 0; i-- {
			if !slices.Contains(out, feed.Lots[i]) {
				out = append(out, feed.Lots[i])
			}
		}
	}
	return out
}

// Device is what a scanning device has open, and its last scan.
type Device struct {
	_ struct{} `cbor:",toarray"`

	Load tags.Number
	Put  tags.Number // the place it puts down at
	// The last scan: what it named, when by the device's clock (Unix ms), its verdict and, of a refusal,
	// the sentences; its sequence.
	Last    tags.Number
	At      int64
	Station string
	Answer  *event.Answer
	Seq     uint64
}

// Past is what a scan is judged against.
type Past interface {
	heat.Past
	Device(string) Device
	Floor(station string) Floor
	Bundle(tags.Number) (Bundle, bool)
	Line(seq uint64) *Line
	// Newest is the line that stands in the place of a line now, which may be itself, and whether that
	// was withdrawn.
	Newest(line uint64) (newest uint64, withdrawn bool)
	// InPlace says whether a bundle fell away with a revision of its list, and which bundle that is not
	// begun stands in its place; 0 is none.
	InPlace(Bundle) (n tags.Number, fell bool)
	Job(string) (event.JobSet, bool)
	Run(seq uint64) (Run, bool)
	Load(tags.Number) (load.Load, bool)
	Place(tags.Number) (string, bool)
	// Person says whether the badge is known.
	Person(tags.Number) bool
	// Alias finds the number that a text stands for.
	Alias(string) (tags.Number, bool)
	// Spots are the bundles that are planned on a load, in the order of its plan.
	Spots(load tags.Number) []load.Spot
	// StopOf is the stop of a load, from 0, to which a bundle goes: where it is planned, else the first
	// one for its job; less than 0 when there is none.
	StopOf(load.Load, Bundle) int
	// Claim is what a site claimed at a sequence, and the sequence of the answer, 0 while it is open.
	Claim(seq uint64) (c event.Claimed, answer uint64, ok bool)
	// Loaded calls f for each bundle on the load until f returns false.
	Loaded(load tags.Number, f func(tags.Number) bool)
	// LotsOf calls f for lots with bars or coil on hand, on no feed, that match a steel, the oldest first,
	// until f returns false.
	LotsOf(bar.Steel, func(heat.Lot) bool)
	// HeatLots are the lots that came in as of a heat of a mill, or with "" of whatever mill.
	HeatLots(mill, heat string) []heat.Lot
	// Fresh gives the next number of a kind. It counts up within one decision.
	Fresh(tags.Kind) tags.Number
	// Closing is how a run closed; the zero value of one that is open, or that lost its last bundle.
	Closing(Run) event.RunClosed
	// Cut is the CutDone with this sequence, and Part the PartDone. Each names its run, if it has one.
	Cut(seq uint64) (event.CutDone, bool)
	// CoilClosing is how a run from coil closed; the zero value of any other.
	CoilClosing(Run) event.CoilClosed
	// Body is what happened at a sequence.
	Body(seq uint64) event.Body
	// Rests is how many numbers were parted from the bundle and from those parted from it: the next is
	// "2b" of "2" when there is none.
	Rests(Bundle) int
	// RunsOf are the runs that may have drawn from a lot.
	RunsOf(lot tags.Number) []uint64
	// Parts are the bundles that pieces of a bundle were tied into: split off, or merged.
	Parts(tags.Number) []tags.Number
	// Scanned is by which device the event with this sequence was scanned, and when by its clock.
	Scanned(seq uint64) (device string, at int64)
	// When is the time of the event with this sequence, Unix ms.
	When(seq uint64) int64
	// Event is the event with this sequence. Only what is rare asks for it: it is read from the record.
	Event(seq uint64) event.Event
}

// Do is what a scan with a typed command asks for.
type Do string

// The commands beside a plain scan. Each is also a key on the station's page.
const (
	Scanned Do = ""       // what the station makes of it
	Part    Do = "part"   // so many pieces of the step are done, and the bundle waits
	Take    Do = "take"   // over what was started at another station
	Join    Do = "join"   // cut here too what is cut at another station
	Empty   Do = "empty"  // take the lot (or, with no code, all) off the feed
	Unload  Do = "unload" // take the bundle off its load
	Move    Do = "move"   // the bundle from its load to the one that is open
	Return  Do = "return" // the bundle came back from a load that left, as it went
	Back    Do = "back"   // the bundle came back from who worked on it
	Ship    Do = "ship"   // the load leaves
	Lost    Do = "lost"   // so many pieces of the bundle are lost, and why
	Show    Do = "show"   // only show what it is; nothing is recorded
	Last    Do = "last"   // no more of the expected lot comes
	Count   Do = "count"  // so many bars of the lot lie there
	None    Do = "none"   // none of the lot lies there
)

// Scan is one scan at a station, with what was typed beside it.
type Scan struct {
	Read    tags.Scan
	Wrong   error // why the code is no code; Read has what could be made of it
	Station string
	Device  string
	At      int64 // by the device's clock, Unix ms
	Do      Do

	Pieces int    // typed count; 0: not typed
	Feed   string // "" is the station's first
	Pocket string
	// Lots says which lots the bars are from: the person has seen it.
	Lots []tags.Number
	// Bars says how many bars of each lot a run took, at its last bundle.
	Bars []event.Draw
	// Coils says how much of each coil a run took, and Scrap how much of it was scrap.
	Coils []event.MassDraw
	Scrap bar.Mass
	// Remnants says what a run left; nil is as planned.
	Remnants []event.Remnant
	Gone     bool   // the truck has left already
	Why      string // the reason, of a command that asks for one
	Late     bool   // the device kept it while it had no network
	Deed     bool   // a person says that it was done, whatever the rules say

	// Before is the device's read before this one, recorded or not.
	Before Reading
}

// Reading is one read of a tag by a device.
type Reading struct {
	Number  tags.Number
	Station string
	At      int64 // by the device's clock, Unix ms
}

// Outcome is what a scan came to. Without events nothing is recorded.
type Outcome struct {
	Answer event.Answer
	Events []event.Body
	Show   tags.Number // what the answer is about
	Run    uint64      // the run of the card, when there is one already
}
