package api

import "time"

// MillBundle is a bundle as the mill tied it.
type MillBundle struct {
	Number string `json:"number" maxLength:"40"`
	Bars   int    `json:"bars,omitempty" minimum:"0" doc:"Left out: not counted."`
}

// MillCoil is a coil as the mill tagged it.
type MillCoil struct {
	Number string `json:"number" maxLength:"40"`
	Weight string `json:"weight,omitempty" maxLength:"40" example:"3,000 lb" doc:"With its unit. Left out: not weighed."`
}

// Receive takes a stock lot in: bars of a length, or coil, which has a weight instead of length and bars.
type Receive struct {
	Mill        string       `json:"mill,omitempty" maxLength:"60" doc:"Left out: not known, and then neither is the heat."`
	Heats       []string     `json:"heats,omitempty" maxItems:"50" maxLength:"32" doc:"One, several, or none where it is not known. Text for ever: 0123 and 123 are different heats."`
	Size        string       `json:"size" maxLength:"20" example:"#5"`
	Spec        string       `json:"spec,omitempty" maxLength:"40" doc:"Left out: the plant's usual one."`
	Grade       string       `json:"grade,omitempty" maxLength:"20" doc:"Left out: the plant's usual one."`
	Coating     string       `json:"coating,omitempty" maxLength:"40" doc:"Left out: plain."`
	Length      string       `json:"length,omitempty" maxLength:"40" example:"60'" doc:"Of one bar, with its unit. Left out: coil."`
	Bars        int          `json:"bars,omitempty" minimum:"0" doc:"Left out: coil."`
	MillBundles []MillBundle `json:"mill_bundles,omitempty" maxItems:"300" doc:"Of bars."`
	Weight      string       `json:"weight,omitempty" maxLength:"40" example:"12,000 lb" doc:"Of coil, with its unit. It stands instead of length and bars."`
	MillCoils   []MillCoil   `json:"mill_coils,omitempty" maxItems:"300" doc:"Of coil."`
	Place       string       `json:"place,omitempty" maxLength:"20" doc:"Name or number of the place where it lies."`
	Melted      string       `json:"melted,omitempty" maxLength:"2" doc:"Country of melt, ISO 3166 alpha-2."`
	Rolled      string       `json:"rolled,omitempty" maxLength:"2" doc:"Country of rolling, ISO 3166 alpha-2."`
	PO          string       `json:"po,omitempty" maxLength:"60" doc:"Our order number."`
	By
}

// Expect writes down a lot that a mill's paper says is coming.
type Expect struct {
	Receive
	Date string `json:"date,omitempty" maxLength:"10" example:"2026-11-30" doc:"On which it should come."`
}

// Received is the receipt of stock taken in, or written down as expected.
type Received struct {
	Recorded
	Lots     []Lot      `json:"lots" doc:"Of a dry run without numbers."`
	Places   []string   `json:"places,omitempty" doc:"Names of places that were made for it."`
	DryRun   bool       `json:"dry_run,omitempty" doc:"Nothing was recorded."`
	Faults   []RowFault `json:"faults,omitempty" doc:"Of a dry run: all that is wrong with the file."`
	Warnings []RowFault `json:"warnings,omitempty" doc:"What a person should know of a file that was taken."`
}

// Paper is what a mill's paper said was coming.
type Paper struct {
	State       string       `json:"state" enum:"expected,short,here" doc:"expected: more of it is to come. short: less came than the paper says, and its day is past or no more comes. here: all of it has come."`
	Bars        int          `json:"bars,omitempty"`
	WeightKG    float64      `json:"weight_kg,omitempty" doc:"Of coil."`
	Weight      string       `json:"weight,omitempty" doc:"Of coil."`
	MillBundles []MillBundle `json:"mill_bundles,omitempty"`
	MillCoils   []MillCoil   `json:"mill_coils,omitempty"`
	Date        string       `json:"date,omitempty" doc:"On which it should come."`
	Open        bool         `json:"open" doc:"More is still expected."`
}

// Confirm says what came of an expected lot.
type Confirm struct {
	Number string `json:"number,omitempty" maxLength:"40" doc:"The mill's number of the bundle or coil that came. Left out: all that is still to come."`
	Bars   *int   `json:"bars,omitempty" minimum:"0" doc:"Counted. Left out: as the paper says."`
	Weight string `json:"weight,omitempty" maxLength:"40" doc:"Of coil, weighed. Left out: as the paper says."`
	Last   bool   `json:"last,omitempty" doc:"No more of it comes, whatever the paper says."`
	Place  string `json:"place,omitempty" maxLength:"20" doc:"Name or number of the place where it lies."`
	Note   string `json:"note,omitempty" maxLength:"500"`
	By
}

// CountLot says how much of a lot lies there.
type CountLot struct {
	Bars   int    `json:"bars,omitempty" minimum:"0" doc:"Left out, and no weight: none."`
	Weight string `json:"weight,omitempty" maxLength:"40" doc:"Of coil, with its unit."`
	Place  string `json:"place,omitempty" maxLength:"20" doc:"Name or number of the place where it lies. Left out: as recorded."`
	By
}

// LotAnswer is the answer to what was said of a lot.
type LotAnswer struct {
	Recorded
	Verdict string `json:"verdict" enum:"accepted,check" doc:"check: recorded, and a person should look."`
	Notes   []Note `json:"notes"`
	Lot     Lot    `json:"lot"`
}

// Counted is the receipt of a count of the yard.
type Counted struct {
	Recorded
	Lots      []Lot      `json:"lots" doc:"Those counted otherwise than recorded."`
	Counted   int        `json:"counted" doc:"How many lots were counted."`
	Differing int        `json:"differing" doc:"How many of them otherwise than recorded."`
	Warnings  []RowFault `json:"warnings,omitempty"`
}

// HeatsSet is the receipt of heats corrected or added, with all that the lot touches.
type HeatsSet struct {
	Recorded
	Lot     Lot      `json:"lot"`
	Lots    []string `json:"lots" doc:"Remnants that may be left of it."`
	Bundles []string `json:"bundles" doc:"Bundles that may be of it."`
	Loads   []string `json:"loads" doc:"Loads that these lie on, or left on."`
	Jobs    []string `json:"jobs"`
	Broken  []Broken `json:"broken" doc:"Bundles that break a rule of their job by now."`
}

// Broken is a bundle that breaks a rule of its job, as the record has it now.
type Broken struct {
	Bundle string `json:"bundle"`
	Job    string `json:"job"`
	Mark   string `json:"mark"`
	Load   string `json:"load,omitempty" doc:"That it lies on, or left on."`
	Says   string `json:"says" doc:"Which rule, in words."`
	Next   string `json:"next,omitempty"`
}

// Lot is a stock lot or a remnant.
type Lot struct {
	Number  string `json:"number"`
	Remnant bool   `json:"remnant"`
	Mill    string `json:"mill,omitempty" doc:"Of a lot. The mills of a remnant stand with its heats."`
	Draw
	Steel
	Coil        bool         `json:"coil" doc:"It is coil: it has no length, and is counted by weight."`
	LengthMM    float64      `json:"length_mm" doc:"Of one bar. 0: coil."`
	Length      string       `json:"length,omitempty" doc:"Left out: coil."`
	Received    int          `json:"received" doc:"Bars that came in, or were left over."`
	Taken       int          `json:"taken" doc:"Bars drawn from it."`
	Over        int          `json:"over" doc:"Bars drawn beyond what came in: a count difference."`
	Counted     int          `json:"counted,omitempty" doc:"Bars that counts of the yard added to the record, or, below 0, took from it."`
	CountedKG   float64      `json:"counted_kg,omitempty" doc:"The same of coil."`
	CountedAt   *time.Time   `json:"counted_at,omitempty" doc:"When it was counted last. Left out: never."`
	Paper       *Paper       `json:"paper,omitempty" doc:"What a mill's paper said was coming. Left out: it came unannounced."`
	OnHand      int          `json:"on_hand" doc:"Bars left by the record: received + over + counted - taken."`
	ReceivedKG  float64      `json:"received_kg,omitempty" doc:"Coil that came in."`
	TakenKG     float64      `json:"taken_kg,omitempty" doc:"Coil drawn from it."`
	OverKG      float64      `json:"over_kg,omitempty" doc:"Coil drawn beyond what came in."`
	WeightKG    float64      `json:"weight_kg" doc:"Of what is on hand."`
	Weight      string       `json:"weight"`
	MillBundles []MillBundle `json:"mill_bundles,omitempty"`
	MillCoils   []MillCoil   `json:"mill_coils,omitempty"`
	Place       *PlaceRef    `json:"place,omitempty" doc:"Where it was put down last."`
	Feed        string       `json:"feed,omitempty" doc:"Station and feed that it lies on." example:"S1/A"`
	Melted      string       `json:"melted,omitempty"`
	Rolled      string       `json:"rolled,omitempty"`
	PO          string       `json:"po,omitempty"`
	Parents     []string     `json:"parents,omitempty" doc:"Lots that a remnant may be left of."`
	Run         uint64       `json:"run,omitempty" doc:"Sequence of the run that left a remnant."`
	Held        bool         `json:"held"`
	Gone        bool         `json:"gone,omitempty" doc:"A remnant that is none: the run that left it was undone."`
	Copy        int          `json:"copy,omitempty" doc:"Newest copy of its tag."`
	At          time.Time    `json:"at" doc:"When it was received or left over."`
}

// Stock is a page of lots, by number.
type Stock struct {
	Stock []Lot  `json:"stock"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// LotDetail is a lot with what was made of it.
type LotDetail struct {
	Lot
	Hold     *Hold    `json:"hold,omitempty" doc:"A hold that stops it."`
	Runs     []uint64 `json:"runs" doc:"Sequences of the runs that may have drawn from it."`
	Children []string `json:"children" doc:"Remnants that may be left of it."`
	Certs    []Cert   `json:"certs" doc:"On file for its heats and size."`
	History  []Event  `json:"history" doc:"Its newest events, oldest first."`
}

// SetHeats corrects or adds the heats of a lot. Its runs, bundles and remnants follow.
type SetHeats struct {
	Mill   string   `json:"mill,omitempty" maxLength:"60" doc:"Left out: as before."`
	Heats  []string `json:"heats" maxItems:"50" maxLength:"32" doc:"All of them; none is: not known."`
	Reason string   `json:"reason" maxLength:"300" doc:"Why the heat is another."`
	By
}
