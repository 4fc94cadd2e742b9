package api

import "time"

// Open is a page of the list to resolve: answers that want a person, and scans that a device kept and
// that do not fit the record, newest first.
type Open struct {
	Open []OpenItem `json:"open"`
	Next string     `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// OpenItem is one thing on the list to resolve.
type OpenItem struct {
	Seq      uint64     `json:"seq" doc:"Sequence of the event that left it: its name on the list."`
	Kind     string     `json:"kind" example:"cut done" doc:"What happened."`
	Disputed bool       `json:"disputed" doc:"A kept scan that does not fit the record: it counts for nothing until it is settled."`
	Number   string     `json:"number,omitempty" doc:"What it is about."`
	About    string     `json:"about" doc:"The same in words." example:"4F207 1/2, 26-014/1"`
	Recorded time.Time  `json:"recorded"`
	Happened *time.Time `json:"happened,omitempty" doc:"By the device's clock."`
	Age      string     `json:"age" doc:"How long it has been on the list." example:"3 h"`
	Device   string     `json:"device,omitempty"`
	Station  string     `json:"station,omitempty"`
	People   []string   `json:"people,omitempty"`
	Notes    []Note     `json:"notes" doc:"The sentences that want a person."`
	Office   string     `json:"office" enum:"quality,shipping,floor lead,office" doc:"Who settles it."`
	How      []string   `json:"how" doc:"What to do to settle it, a sentence for each thing."`
}

// Resolve settles a thing on the list to resolve.
type Resolve struct {
	Reason string   `json:"reason" maxLength:"500" doc:"What was found, and what was done about it."`
	Person string   `json:"person,omitempty" maxLength:"20" doc:"Number of the badge of a person who holds the office. May be left out where nobody holds it."`
	Took   bool     `json:"took,omitempty" doc:"Of a kept scan that does not fit the record: it was done, and is recorded now as a deed. Left out: it was not done, or was recorded otherwise."`
	Pieces int      `json:"pieces,omitempty" minimum:"0" doc:"With took: how many pieces it was. Left out: as was scanned then, else as the tag asks for."`
	Lots   []string `json:"lots,omitempty" maxItems:"50" maxLength:"20" doc:"With took: the lots that the bars were from, where that is known."`
	Lang   string   `json:"lang,omitempty" enum:"en,es" doc:"Language of the sentences. Left out: English."`
	By
}

// Resolved is the receipt of a thing that was settled.
type Resolved struct {
	Recorded
	As      string `json:"as" doc:"In which office the person settled it."`
	Verdict string `json:"verdict" enum:"accepted,check" doc:"check: what was recorded as done leaves something to look at itself."`
	Notes   []Note `json:"notes" doc:"All sentences."`
	Number  string `json:"number,omitempty" doc:"What it was about."`
}

// KeptAnswers are the receipts of kept scans, one for each, in the order in which they were sent.
type KeptAnswers struct {
	Answers []ScanAnswer `json:"answers"`
}
