package event

import (
	"tagd/internal/bar"
	"tagd/internal/tags"
)

// LoadStop is one stop of a load, with the bundles that are planned for it.
type LoadStop struct {
	Job     string        `cbor:"1,keyasint,omitempty"` // "" of a stop at a processor
	ShipTo  []string      `cbor:"2,keyasint,omitempty"`
	Contact string        `cbor:"3,keyasint,omitempty"`
	From    string        `cbor:"4,keyasint,omitempty"` // hh:mm, when the site takes it
	Until   string        `cbor:"5,keyasint,omitempty"`
	Bundles []tags.Number `cbor:"6,keyasint,omitempty"`
	// Processor is who works on the bundles and gives them back: a coater, a cage shop, another plant.
	Processor string `cbor:"7,keyasint,omitempty"`
	// Step is what the processor does; "" is what no station of this plant does.
	Step string `cbor:"8,keyasint,omitempty"`
}

// LoadSet makes a truck load or states its plan anew, whole, stop by stop. A load without planned
// bundles takes any of the stops' jobs.
type LoadSet struct {
	Load    tags.Number `cbor:"1,keyasint"`
	Date    string      `cbor:"2,keyasint,omitempty"` // yyyy-mm-dd, plant days
	Leaves  string      `cbor:"3,keyasint,omitempty"` // hh:mm by the plant's clock
	Truck   string      `cbor:"4,keyasint,omitempty"`
	Trailer string      `cbor:"5,keyasint,omitempty"`
	Limit   bar.Mass    `cbor:"6,keyasint,omitempty"` // 0: none known
	Stops   []LoadStop  `cbor:"7,keyasint"`
	// Was says of each bundle that this plan moves where it was planned before.
	Was []WasPlanned `cbor:"8,keyasint,omitempty"`
}

// WasPlanned is where a bundle was planned before it was planned anew, or taken off.
type WasPlanned struct {
	Bundle tags.Number `cbor:"1,keyasint"`
	Load   tags.Number `cbor:"2,keyasint,omitempty"` // 0: on none
	Stop   int         `cbor:"3,keyasint,omitempty"` // of that load, from 1
}

// Staged is a bundle that lies ready for a load, in a lane.
type Staged struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint"`
	Place  tags.Number `cbor:"3,keyasint,omitempty"`
}

// LoadWeighed is a scale ticket: a fact of its own, beside the nominal mass of the bundles.
type LoadWeighed struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Ticket string      `cbor:"2,keyasint,omitempty"`
	Gross  bar.Mass    `cbor:"3,keyasint"`
	Tare   bar.Mass    `cbor:"4,keyasint"`
	SHA256 []byte      `cbor:"5,keyasint,omitempty"` // of its photo or paper
}

// LoadDelivered is a load, or one stop of it, that was handed over: the signed sheet came back.
type LoadDelivered struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Stop   int         `cbor:"2,keyasint,omitempty"` // from 1; 0 all
	Date   string      `cbor:"3,keyasint"`           // yyyy-mm-dd, as it stands on the sheet
	Signed string      `cbor:"4,keyasint,omitempty"` // who signed, as it stands there
	SHA256 []byte      `cbor:"5,keyasint,omitempty"` // of the sheet's photo
}

// BundleReturned is a bundle, or some pieces of it, that came back from a load that had left. Pieces of
// a bundle of which others stayed there come back as the bundle Part.
type BundleReturned struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint"`
	Pieces int         `cbor:"3,keyasint"`
	Place  tags.Number `cbor:"4,keyasint,omitempty"`
	Reason string      `cbor:"5,keyasint"`
	Part   tags.Number `cbor:"6,keyasint,omitempty"`
	Scrap  bool        `cbor:"7,keyasint,omitempty"` // it is of no more use
}

// Wrong is what a site says is wrong.
type Wrong string

// What can be claimed.
const (
	Short        Wrong = "short"
	DamagedThere Wrong = "damaged"
	WrongGoods   Wrong = "wrong"
)

// Claimed is what a site says of a load: pieces of a bundle, or of a line, are short, damaged or wrong.
type Claimed struct {
	Load   tags.Number `cbor:"1,keyasint"`
	Bundle tags.Number `cbor:"2,keyasint,omitempty"`
	Line   uint64      `cbor:"3,keyasint,omitempty"`
	Pieces int         `cbor:"4,keyasint"`
	What   Wrong       `cbor:"5,keyasint"`
	Who    string      `cbor:"6,keyasint,omitempty"` // at the site
	Note   string      `cbor:"7,keyasint,omitempty"`
}

// Amends is how a claim is answered.
type Amends string

// The answers to a claim.
const (
	Replace  Amends = "replace" // the line owes a replacement bundle
	Credit   Amends = "credit"
	NotOurs  Amends = "not ours"
	FoundOut Amends = "found" // it was there, or came to light here
)

// ClaimAnswered is what answers a claim. Rest is the replacement bundle, with Owed pieces.
type ClaimAnswered struct {
	Claim  uint64      `cbor:"1,keyasint"`
	Answer Amends      `cbor:"2,keyasint"`
	Reason string      `cbor:"3,keyasint,omitempty"`
	Rest   tags.Number `cbor:"4,keyasint,omitempty"`
	Owed   int         `cbor:"5,keyasint,omitempty"`
}

// BackPart is a bundle as a processor tied it, under the processor's own tag.
type BackPart struct {
	Number tags.Number `cbor:"1,keyasint"`
	Pieces int         `cbor:"2,keyasint"`
	Alias  string      `cbor:"3,keyasint,omitempty"`
}

// BundlesBack is what comes back from a processor, its step done: bundles as they went, or tied anew
// into others.
type BundlesBack struct {
	Load  tags.Number   `cbor:"1,keyasint"` // on which they went
	From  []tags.Number `cbor:"2,keyasint"`
	Into  []BackPart    `cbor:"3,keyasint,omitempty"` // none: as they went
	Step  string        `cbor:"4,keyasint,omitempty"` // that the processor did
	Place tags.Number   `cbor:"5,keyasint,omitempty"`
}

func (Staged) Kind() Kind         { return 75 }
func (LoadSet) Kind() Kind        { return 76 }
func (LoadWeighed) Kind() Kind    { return 77 }
func (LoadDelivered) Kind() Kind  { return 78 }
func (BundleReturned) Kind() Kind { return 79 }
func (Claimed) Kind() Kind        { return 82 }
func (ClaimAnswered) Kind() Kind  { return 83 }
func (BundlesBack) Kind() Kind    { return 84 }
