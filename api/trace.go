package api

import "time"

// Trace says where steel went and where it came from. Whatever was asked for, it holds every bundle,
// lot and load that belongs to the answer, each once.
type Trace struct {
	Asked   string        `json:"asked"`
	Found   []string      `json:"found" doc:"What the question was understood as. Empty: nothing here goes by that name." example:"[\"heat Example Mill 0123E5\"]"`
	Bundles []TraceBundle `json:"bundles"`
	Lots    []Lot         `json:"lots"`
	Loads   []string      `json:"loads"`
	Jobs    []string      `json:"jobs"`
	Certs   []Cert        `json:"certs"`
	Holds   []Hold        `json:"holds"`
	Totals  TraceTotals   `json:"totals"`
}

// TraceBundle is a bundle of a trace, with the lots that it may have been cut from.
type TraceBundle struct {
	Bundle
	Lots []string `json:"lots"`
}

// TraceTotals sums a trace up.
type TraceTotals struct {
	All     Amount  `json:"all" doc:"All bundles of the answer."`
	Shipped Amount  `json:"shipped" doc:"Those that have left."`
	Inside  Amount  `json:"inside" doc:"Those that are begun and have not left."`
	OneOf   Amount  `json:"one_of" doc:"Those of which it is not certain that they are of one heat."`
	OnHand  int     `json:"on_hand" doc:"Bars on hand in the lots of the answer."`
	StockKG float64 `json:"stock_kg" doc:"Weight of those."`
	Stock   string  `json:"stock"`
	Checks  int     `json:"checks" doc:"Answers about these bundles that wanted a person, settled ones too."`
	Open    int     `json:"open" doc:"Those of them that nobody has settled."`
	// Disputes counts what may have been done and does not count yet.
	Disputes int `json:"disputes" doc:"Those of the open ones that are kept scans which do not fit the record, of these bundles, lots and loads, or from these lots: they may have been done, and count for nothing yet."`
}

// Event is one record of the journal.
type Event struct {
	Seq        uint64         `json:"seq"`
	Kind       string         `json:"kind" example:"cut done" doc:"What happened."`
	Recorded   time.Time      `json:"recorded"`
	Happened   *time.Time     `json:"happened,omitempty" doc:"By the device's clock; shown, never an order."`
	Device     string         `json:"device,omitempty"`
	Station    string         `json:"station,omitempty"`
	People     []string       `json:"people,omitempty"`
	Identified string         `json:"identified" enum:"none,badge,pin,password,token" doc:"How the people were told apart."`
	Key        string         `json:"key,omitempty"`
	Answer     *EventAnswer   `json:"answer,omitempty" doc:"What the person at the machine was told."`
	Tells      Said           `json:"tells" doc:"What happened, in a sentence."`
	Body       map[string]any `json:"body" doc:"What the kind of event tells. Numbers, lengths in mm and weights in kg as elsewhere."`
}

// History is a page of what happened to a thing, oldest first.
type History struct {
	Number string  `json:"number"`
	Events []Event `json:"events" doc:"Of a bundle with what happened to its runs, and to its pieces under other numbers before."`
	Next   string  `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// EventAnswer is what the person at the machine was told.
type EventAnswer struct {
	Verdict string   `json:"verdict"`
	Says    []string `json:"says" doc:"The sentences, in English."`
	Codes   []string `json:"codes" doc:"Which sentences."`
}

// Journal is a page of the journal.
type Journal struct {
	Events []Event `json:"events"`
	Head   uint64  `json:"head" doc:"Sequence of the newest record."`
}

// LoseTag says that the tag of a bundle, lot or load is not where it should be.
type LoseTag struct {
	Number string `json:"number" maxLength:"20"`
	Copy   int    `json:"copy,omitempty" minimum:"0" doc:"Copies up to this one are lost. Left out: all."`
	Reason string `json:"reason,omitempty" maxLength:"500"`
	By
}

// TagLost is the receipt of a lost tag.
type TagLost struct {
	Recorded
	Number string `json:"number"`
	Copy   int    `json:"copy" doc:"Copies up to this one are lost: a scan of one is a Check from now on."`
	Notes  []Note `json:"notes" doc:"What to do next, in sentences."`
}

// PrintTags asks for tags on paper. The tags are those named, or all that the selection finds.
type PrintTags struct {
	Numbers []string `json:"numbers,omitempty" maxItems:"1000" maxLength:"20"`
	Job     string   `json:"job,omitempty" maxLength:"60" doc:"All bundles of a job, or with list and mark of those."`
	List    string   `json:"list,omitempty" maxLength:"40"`
	Mark    string   `json:"mark,omitempty" maxLength:"40"`
	Load    string   `json:"load,omitempty" maxLength:"20" doc:"All bundles planned or loaded on a load."`
	DPI     int      `json:"dpi,omitempty" enum:"203,300,600" doc:"Of the printer. Left out: 203."`
	Layout  string   `json:"layout,omitempty" enum:"4x6,100x150" doc:"Left out: 4x6."`
	By
}
