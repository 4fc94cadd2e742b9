package event

import (
	"reflect"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// bodies names the type of every kind that is built.
var bodies = func() map[Kind]reflect.Type {
	m := map[Kind]reflect.Type{}
	for _, b := range []Body{
		StoreOpened{}, SettingsChanged{}, StoreRestored{},
		JobSet{}, LineTaken{}, ListTaken{},
		LotReceived{}, LotHeatSet{}, CertFiled{}, CertReviewed{}, AliasSet{},
		FeedCharged{}, FeedEmptied{},
		RunOpened{}, RunJoined{}, CardShown{}, CutDone{}, StepStarted{}, StepDone{},
		BundleVoided{}, TagPrinted{}, Undone{},
		PlaceMade{}, PersonMade{}, PlaceOpened{}, Placed{},
		LoadPlanned{}, LoadOpened{}, Loaded{}, Unloaded{}, Shipped{},
		HoldPut{}, HoldLifted{}, ScanRefused{},
		LineChanged{}, LineWithdrawn{}, LineDecided{},
		CoilReceived{}, CoilCut{}, LotExpected{}, LotConfirmed{}, YardCounted{}, ChargeMended{},
		PartDone{}, PiecesLost{}, BundleSplit{}, BundlesMerged{}, BundleAssigned{}, BundleReassigned{},
		RouteSet{}, TagLost{}, HeatsDeclared{}, CrewJoined{}, CrewLeft{}, ScanDisputed{}, Resolved{}, ScanNoted{},
		LoadSet{}, Staged{}, LoadWeighed{}, LoadDelivered{}, BundleReturned{}, Claimed{}, ClaimAnswered{}, BundlesBack{},
	} {
		if _, twice := m[b.Kind()]; twice {
			panic("event: one number for two kinds")
		}
		m[b.Kind()] = reflect.TypeOf(b)
	}
	return m
}()

// StoreOpened is record 0 of every journal.
type StoreOpened struct {
	Format int    `cbor:"1,keyasint"` // of the journal, 1
	Plant  int    `cbor:"2,keyasint"`
	UUID   string `cbor:"3,keyasint"` // of this store; a restore gets a new one
}

// SettingsChanged keeps the settings that decisions used from here on.
type SettingsChanged struct {
	SHA256 []byte `cbor:"1,keyasint"`
	Text   string `cbor:"2,keyasint"`
}

// StoreRestored says that the store came back from a backup: serials jump so that no number that
// the lost part may have printed is given out again.
type StoreRestored struct {
	UUID string `cbor:"1,keyasint"`
	Jump int    `cbor:"2,keyasint"` // how far every serial jumped
}

// HeatRule says what a job asks about the heats of its bundles.
type HeatRule string

// The heat rules of a job.
const (
	HeatsNone   HeatRule = ""       // never asked for
	HeatsLoad   HeatRule = "load"   // every heat listed on the load's papers
	HeatsBundle HeatRule = "bundle" // every heat listed for each bundle
	HeatsSingle HeatRule = "single" // one heat in a bundle
)

// CertRule says in which state a mill cert must be before a bundle may be loaded.
type CertRule string

// The cert rules of a job.
const (
	CertsNone     CertRule = ""
	CertsOnFile   CertRule = "on file"
	CertsReviewed CertRule = "reviewed"
)

// JobSet makes a job or states it anew, whole.
type JobSet struct {
	Job      string   `cbor:"1,keyasint"` // the shop's number of the job: text
	Name     string   `cbor:"2,keyasint,omitempty"`
	Customer string   `cbor:"3,keyasint,omitempty"`
	PO       string   `cbor:"4,keyasint,omitempty"`
	Agency   string   `cbor:"5,keyasint,omitempty"` // project number of a public agency
	ShipTo   []string `cbor:"6,keyasint,omitempty"` // lines of the address
	Heats    HeatRule `cbor:"7,keyasint,omitempty"`
	Certs    CertRule `cbor:"8,keyasint,omitempty"`
	Spec     string   `cbor:"9,keyasint,omitempty"`
	Edition  string   `cbor:"10,keyasint,omitempty"`
	Coating  string   `cbor:"11,keyasint,omitempty"`
	Country  string   `cbor:"12,keyasint,omitempty"` // ISO 3166 alpha-2 of melt and manufacture, "" any
	Stock    bool     `cbor:"13,keyasint,omitempty"` // the shop's own stock
}

// LineTaken is one line of a bar list, with the bundles that it is made in: their numbers follow
// one another from First, one for each entry of Bundles (pieces).
type LineTaken struct {
	Job     string      `cbor:"1,keyasint"`
	List    string      `cbor:"2,keyasint"`
	Mark    string      `cbor:"3,keyasint"`
	Steel   bar.Steel   `cbor:"4,keyasint"`
	Length  bar.Length  `cbor:"5,keyasint"`
	Pieces  int         `cbor:"6,keyasint"`
	Shape   bar.Shape   `cbor:"7,keyasint"`
	Route   []string    `cbor:"8,keyasint,omitempty"`
	Note    string      `cbor:"9,keyasint,omitempty"`
	Row     int         `cbor:"10,keyasint,omitempty"`
	First   tags.Number `cbor:"11,keyasint"`
	Bundles []int       `cbor:"12,keyasint"`
}

// Numbers are those of its bundles, in order.
func (l LineTaken) Numbers() []tags.Number {
	var out []tags.Number
	for i := range l.Bundles {
		if n, err := tags.New(tags.Bundle, l.First.Plant(), l.First.Serial()+i); err == nil {
			out = append(out, n)
		}
	}
	return out
}

// ListTaken closes a bar list that was taken whole.
type ListTaken struct {
	Job      string `cbor:"1,keyasint"`
	List     string `cbor:"2,keyasint"`
	Revision string `cbor:"3,keyasint,omitempty"`
	File     string `cbor:"4,keyasint,omitempty"`
	SHA256   []byte `cbor:"5,keyasint"`
	Lines    int    `cbor:"6,keyasint"` // of the list
}

// MillBundle is a bundle as the mill tied it.
type MillBundle struct {
	Number string `cbor:"1,keyasint"`
	Bars   int    `cbor:"2,keyasint,omitempty"`
}

// LotReceived is steel from a mill, taken in together.
type LotReceived struct {
	Lot     tags.Number  `cbor:"1,keyasint"`
	Mill    string       `cbor:"2,keyasint"`
	Heats   []string     `cbor:"3,keyasint,omitempty"` // none: unknown
	Steel   bar.Steel    `cbor:"4,keyasint"`
	Length  bar.Length   `cbor:"5,keyasint"` // of a bar
	Bars    int          `cbor:"6,keyasint"`
	Bundles []MillBundle `cbor:"7,keyasint,omitempty"`
	Place   tags.Number  `cbor:"8,keyasint,omitempty"`
	Melted  string       `cbor:"9,keyasint,omitempty"`  // ISO 3166 alpha-2
	Rolled  string       `cbor:"10,keyasint,omitempty"` // ISO 3166 alpha-2
	PO      string       `cbor:"11,keyasint,omitempty"`
}

// LotHeatSet corrects or adds the heats of a lot. The lot's runs, bundles and remnants follow.
type LotHeatSet struct {
	Lot    tags.Number `cbor:"1,keyasint"`
	Mill   string      `cbor:"2,keyasint"`
	Heats  []string    `cbor:"3,keyasint,omitempty"`
	Reason string      `cbor:"4,keyasint"`
}

// CertFiled is a mill cert put on file, or one stated anew under the same SHA-256.
type CertFiled struct {
	Mill   string     `cbor:"1,keyasint"`
	Heat   string     `cbor:"2,keyasint"`
	Sizes  []bar.Size `cbor:"3,keyasint"`
	Spec   string     `cbor:"4,keyasint,omitempty"`
	Type   string     `cbor:"5,keyasint,omitempty"` // as written on it: MTR, 2.1, 2.2, 3.1, 3.2
	Text   string     `cbor:"6,keyasint,omitempty"` // number or other text of the cert to find it by
	SHA256 []byte     `cbor:"7,keyasint,omitempty"` // of the file; none: a record without paper
	Melted string     `cbor:"8,keyasint,omitempty"`
	Rolled string     `cbor:"9,keyasint,omitempty"`
}

// CertReviewed says that a person has read the cert filed at sequence Cert.
type CertReviewed struct {
	Cert uint64 `cbor:"1,keyasint"`
	Note string `cbor:"2,keyasint,omitempty"`
}

// AliasSet makes another's code stand for one of our numbers.
type AliasSet struct {
	Text   string      `cbor:"1,keyasint"`
	Number tags.Number `cbor:"2,keyasint"`
}

// FeedCharged puts a lot onto a feed of a station. Run is the run then open there, when the lot's
// steel matches it: the lot becomes one of its candidates.
type FeedCharged struct {
	Station string      `cbor:"1,keyasint"`
	Feed    string      `cbor:"2,keyasint"`
	Lot     tags.Number `cbor:"3,keyasint"`
	Run     uint64      `cbor:"4,keyasint,omitempty"`
}

// FeedEmptied takes one lot, or with Lot 0 all, off a feed. Place is where they went.
type FeedEmptied struct {
	Station string      `cbor:"1,keyasint"`
	Feed    string      `cbor:"2,keyasint"`
	Lot     tags.Number `cbor:"3,keyasint,omitempty"`
	Place   tags.Number `cbor:"4,keyasint,omitempty"`
}

// RunOpened starts a run at a cut station with its first bundle. Its sequence is the run's name.
type RunOpened struct {
	Station string        `cbor:"1,keyasint"`
	Bundle  tags.Number   `cbor:"2,keyasint"`
	Lots    []tags.Number `cbor:"3,keyasint,omitempty"` // candidates: matching lots on the feeds, or as said
	Said    bool          `cbor:"4,keyasint,omitempty"` // a person said which lots
	Pocket  string        `cbor:"5,keyasint,omitempty"`
	// Aside says that the bundle was cut while another run lay on the table, which stays there.
	Aside bool `cbor:"6,keyasint,omitempty"`
}

// RunJoined adds a bundle to an open run.
type RunJoined struct {
	Run    uint64      `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint"`
	Pocket string      `cbor:"3,keyasint,omitempty"`
	// Lots are further candidates of the run, that a person said with this scan.
	Lots []tags.Number `cbor:"4,keyasint,omitempty"`
}

// CardShown brings another bundle of the open run onto the station's screen, or the one that is begun
// where there is one at a time.
type CardShown struct {
	Station string      `cbor:"1,keyasint"`
	Bundle  tags.Number `cbor:"2,keyasint"`
}

// Draw is bars taken from one lot. Over is how many of them the lot did not have by the record.
type Draw struct {
	Lot  tags.Number `cbor:"1,keyasint"`
	Bars int         `cbor:"2,keyasint"`
	Over int         `cbor:"3,keyasint,omitempty"`
}

// Remnant is left-over bars of one length that are kept.
type Remnant struct {
	Lot    tags.Number `cbor:"1,keyasint"`
	Length bar.Length  `cbor:"2,keyasint"`
	Bars   int         `cbor:"3,keyasint"`
	Place  tags.Number `cbor:"4,keyasint,omitempty"`
}

// RunClosed is how the last bundle's CutDone closes its run:
// length of draws + Missing = length of all pieces + remnants + Scrap.
type RunClosed struct {
	Draws    []Draw        `cbor:"1,keyasint,omitempty"`
	Remnants []Remnant     `cbor:"2,keyasint,omitempty"`
	Scrap    bar.Length    `cbor:"3,keyasint,omitempty"`
	Missing  bar.Length    `cbor:"4,keyasint,omitempty"` // metal in the pieces that no recorded bar accounts for
	Lots     []tags.Number `cbor:"5,keyasint,omitempty"` // candidates, when a person said them now
	Steel    bar.Steel     `cbor:"6,keyasint"`           // of the run, and so of its remnants
	Assumed  bool          `cbor:"7,keyasint,omitempty"` // draws were shared out by us, not said
}

// CutDone is a bundle cut: Pieces are those of this run, beside what PartDone had before. When fewer pieces were cut than asked for, Rest is the new bundle for
// the others.
type CutDone struct {
	Run    uint64      `cbor:"1,keyasint"` // 0: the one that the event before opened
	Bundle tags.Number `cbor:"2,keyasint"`
	Pieces int         `cbor:"3,keyasint"`
	Rest   tags.Number `cbor:"4,keyasint,omitempty"`
	Owed   int         `cbor:"5,keyasint,omitempty"` // pieces of Rest
	Closed *RunClosed  `cbor:"6,keyasint,omitempty"`
	Asked  int         `cbor:"7,keyasint"` // pieces that the tag asked for
	// Lots are further candidates of a run that stays open, that a person said with this scan.
	Lots []tags.Number `cbor:"8,keyasint,omitempty"`
}

// StepStarted is a bundle begun at a step that draws no stock (bend and the like).
type StepStarted struct {
	Station string      `cbor:"1,keyasint"`
	Bundle  tags.Number `cbor:"2,keyasint"`
	Step    string      `cbor:"3,keyasint"`
}

// StepDone is such a step finished. Pieces are those made since the step was part done, if it was.
type StepDone struct {
	Station string      `cbor:"1,keyasint"`
	Bundle  tags.Number `cbor:"2,keyasint"`
	Step    string      `cbor:"3,keyasint"`
	Pieces  int         `cbor:"4,keyasint"`
}

// BundleVoided takes a bundle out of the work.
type BundleVoided struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Reason string      `cbor:"2,keyasint"`
}

// TagPrinted is another copy of a number's tag.
type TagPrinted struct {
	Number tags.Number `cbor:"1,keyasint"`
	Copy   int         `cbor:"2,keyasint"`
}

// Undone takes back the newest progress of a bundle: the event at sequence Seq.
type Undone struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Seq    uint64      `cbor:"2,keyasint"`
	Reason string      `cbor:"3,keyasint"`
	Closed *RunClosed  `cbor:"4,keyasint,omitempty"` // how the run closes, when only done bundles are left in it
	// Lots are further candidates of a run that this reopens: what lies on its feeds by now.
	Lots []tags.Number `cbor:"5,keyasint,omitempty"`
}

// PlaceMade is a place of the yard.
type PlaceMade struct {
	Place tags.Number `cbor:"1,keyasint"`
	Name  string      `cbor:"2,keyasint"`
}

// PersonMade is a badge. The name lives outside the journal.
type PersonMade struct {
	Person tags.Number `cbor:"1,keyasint"`
}

// PlaceOpened makes a place the one that the device puts things down at.
type PlaceOpened struct {
	Place tags.Number `cbor:"1,keyasint"`
}

// Placed puts a bundle or lot down at a place.
type Placed struct {
	Number tags.Number `cbor:"1,keyasint"`
	Place  tags.Number `cbor:"2,keyasint"`
}

// Stop is one address of a load.
type Stop struct {
	Job    string   `cbor:"1,keyasint"`
	ShipTo []string `cbor:"2,keyasint,omitempty"`
}

// LoadPlanned makes a truck load or states its plan anew, whole.
type LoadPlanned struct {
	Load    tags.Number   `cbor:"1,keyasint"`
	Date    string        `cbor:"2,keyasint,omitempty"` // yyyy-mm-dd, plant days
	Truck   string        `cbor:"3,keyasint,omitempty"`
	Limit   bar.Mass      `cbor:"4,keyasint,omitempty"` // 0: none known
	Stops   []Stop        `cbor:"5,keyasint"`
	Bundles []tags.Number `cbor:"6,keyasint,omitempty"` // planned; none: any bundle of the stops' jobs
}

// LoadOpened makes a load the one that the device loads onto.
type LoadOpened struct {
	Load tags.Number `cbor:"1,keyasint"`
}

// Loaded is a bundle lifted onto a load. Mass is its nominal mass then. Gone: it left unscanned, and
// this was recorded when the truck had gone.
type Loaded struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint"`
	Mass   bar.Mass    `cbor:"3,keyasint"`
	Gone   bool        `cbor:"4,keyasint,omitempty"`
}

// Unloaded is a bundle taken off a load that has not left.
type Unloaded struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint"`
	Mass   bar.Mass    `cbor:"3,keyasint"`
}

// Shipped is a load that left. Gone: it had left already when this was recorded.
type Shipped struct {
	Load    tags.Number `cbor:"1,keyasint"`
	Bundles int         `cbor:"2,keyasint"`
	Gone    bool        `cbor:"3,keyasint,omitempty"`
}

// Target is what a hold is put on: a heat (mill and heat) or a number.
type Target struct {
	Number tags.Number `cbor:"1,keyasint,omitempty"`
	Mill   string      `cbor:"2,keyasint,omitempty"`
	Heat   string      `cbor:"3,keyasint,omitempty"`
}

// HoldPut stops what it is put on, and all that is of it, at the next start and load.
type HoldPut struct {
	Target Target `cbor:"1,keyasint"`
	Reason string `cbor:"2,keyasint"`
}

// HoldLifted ends the hold on a target.
type HoldLifted struct {
	Target Target `cbor:"1,keyasint"`
	Reason string `cbor:"2,keyasint"`
}

// ScanRefused keeps a scan that was not taken; why stands in the head's answer.
type ScanRefused struct {
	Number tags.Number `cbor:"1,keyasint,omitempty"`
	Text   string      `cbor:"2,keyasint,omitempty"` // what was scanned, when it is no number of ours
}

func (StoreOpened) Kind() Kind     { return 1 }
func (SettingsChanged) Kind() Kind { return 2 }
func (StoreRestored) Kind() Kind   { return 3 }
func (JobSet) Kind() Kind          { return 10 }
func (LineTaken) Kind() Kind       { return 11 }
func (ListTaken) Kind() Kind       { return 12 }
func (LotReceived) Kind() Kind     { return 20 }
func (LotHeatSet) Kind() Kind      { return 21 }
func (CertFiled) Kind() Kind       { return 22 }
func (CertReviewed) Kind() Kind    { return 23 }
func (AliasSet) Kind() Kind        { return 24 }
func (FeedCharged) Kind() Kind     { return 30 }
func (FeedEmptied) Kind() Kind     { return 31 }
func (RunOpened) Kind() Kind       { return 40 }
func (RunJoined) Kind() Kind       { return 41 }
func (CardShown) Kind() Kind       { return 42 }
func (CutDone) Kind() Kind         { return 43 }
func (StepStarted) Kind() Kind     { return 44 }
func (StepDone) Kind() Kind        { return 45 }
func (BundleVoided) Kind() Kind    { return 50 }
func (TagPrinted) Kind() Kind      { return 51 }
func (Undone) Kind() Kind          { return 52 }
func (PlaceMade) Kind() Kind       { return 60 }
func (PersonMade) Kind() Kind      { return 61 }
func (PlaceOpened) Kind() Kind     { return 62 }
func (Placed) Kind() Kind          { return 63 }
func (LoadPlanned) Kind() Kind     { return 70 }
func (LoadOpened) Kind() Kind      { return 71 }
func (Loaded) Kind() Kind          { return 72 }
func (Unloaded) Kind() Kind        { return 73 }
func (Shipped) Kind() Kind         { return 74 }
func (HoldPut) Kind() Kind         { return 80 }
func (HoldLifted) Kind() Kind      { return 81 }
func (ScanRefused) Kind() Kind     { return 90 }
