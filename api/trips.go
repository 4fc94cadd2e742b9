package api

import "time"

// LoadList is the planned list of a load beside what lies on it.
type LoadList struct {
	Load    string     `json:"load"`
	State   string     `json:"state" enum:"planned,open,shipped,delivered"`
	Planned int        `json:"planned"`
	Loaded  int        `json:"loaded"`
	Missing int        `json:"missing" doc:"Bundles that are planned and not on it."`
	Weight  string     `json:"weight" doc:"Nominal, of what is on it."`
	Limit   string     `json:"limit,omitempty"`
	Stops   []ListStop `json:"stops" doc:"In the order in which they are driven to: what is for the last goes on first."`
}

// ListStop is how much of a stop's list is on.
type ListStop struct {
	Stop      int      `json:"stop" doc:"From 1."`
	Job       string   `json:"job,omitempty"`
	Processor string   `json:"processor,omitempty"`
	Planned   int      `json:"planned"`
	On        int      `json:"on" doc:"Bundles for it on the load, planned or not."`
	Missing   []Absent `json:"missing" doc:"What is planned for it and not on."`
}

// Absent is a planned bundle that is not on its load.
type Absent struct {
	Bundle string `json:"bundle"`
	Title  string `json:"title" doc:"Its mark, and which of how many."`
	Where  string `json:"where" doc:"Where it lies, or what it waits for."`
}

// Scale is the newest scale ticket of a load.
type Scale struct {
	Seq     uint64  `json:"seq"`
	Ticket  string  `json:"ticket,omitempty"`
	Gross   string  `json:"gross"`
	Tare    string  `json:"tare"`
	NetKG   float64 `json:"net_kg"`
	Net     string  `json:"net"`
	Differs string  `json:"differs,omitempty" doc:"By how much the net differs from the nominal weight." example:"+1.8 %"`
	Over    bool    `json:"over,omitempty" doc:"It is more than the limit."`
	Photo   bool    `json:"photo,omitempty" doc:"There is a photo of the ticket: /loads/{number}/papers/{seq}."`
}

// Sized is the longest piece of a load, or its widest bent shape.
type Sized struct {
	Bundle string  `json:"bundle"`
	Title  string  `json:"title"`
	MM     float64 `json:"mm"`
	Length string  `json:"length"`
}

// Handover is a stop that was handed over.
type Handover struct {
	Seq    uint64 `json:"seq"`
	Stop   int    `json:"stop" doc:"From 1."`
	Date   string `json:"date"`
	Signed string `json:"signed,omitempty"`
	Photo  bool   `json:"photo,omitempty" doc:"There is a photo of the signed sheet: /loads/{number}/papers/{seq}."`
}

// Went is what went with a load that left, and what came back of it.
type Went struct {
	Bundle string `json:"bundle"`
	Title  string `json:"title"`
	Pieces int    `json:"pieces" doc:"That went."`
	There  int    `json:"there" doc:"Of them, those that are there by the record."`
	Where  string `json:"where" doc:"Where the bundle is now."`
}

// Net is what is where a load went, by the record: what left, less what came back and what is lost.
type Net struct {
	Amount
	Went []Went `json:"went" doc:"All that left."`
}

// Weigh is a scale ticket.
type Weigh struct {
	Ticket string
	Gross  string // with its unit
	Tare   string
	By
}

// Deliver is what a signed sheet says.
type Deliver struct {
	Stop   int // from 1; 0 all
	Date   string
	Signed string
	By
}

// LoadChanged is the receipt of what was said of a load.
type LoadChanged struct {
	Recorded
	Verdict string   `json:"verdict" enum:"accepted,check"`
	Notes   []Note   `json:"notes"`
	Load    Load     `json:"load"`
	Bundles []Bundle `json:"bundles" doc:"Bundles that came back, changed or were made by it."`
}

// ReturnBundle is a bundle, or some pieces of it, that came back from a load that left.
type ReturnBundle struct {
	Pieces int    `json:"pieces,omitempty" minimum:"0" doc:"Left out: all that it has."`
	Place  string `json:"place,omitempty" maxLength:"40" doc:"Name or number of the place where it lies now."`
	Reason string `json:"reason" maxLength:"500" doc:"Why it came back."`
	Scrap  bool   `json:"scrap,omitempty" doc:"It is of no more use. Nothing is owed for it until a claim is answered with replace."`
	By
}

// BringBack is what came back from a processor.
type BringBack struct {
	From  []string   `json:"from" minItems:"1" maxItems:"50" maxLength:"20" doc:"Numbers of the bundles that went."`
	Into  []BackInto `json:"into,omitempty" maxItems:"50" doc:"As the processor tied them, where that is not as they went: then all are of one mark. What of the pieces is not in these stays away."`
	Step  string     `json:"step,omitempty" maxLength:"40" doc:"The last step that was done there. Left out: the next one of the first bundle. none: nothing was done."`
	Place string     `json:"place,omitempty" maxLength:"40" doc:"Name or number of the place where they lie now."`
	By
}

// BackInto is a bundle as a processor tied it.
type BackInto struct {
	Pieces int    `json:"pieces,omitempty" minimum:"0" doc:"Left out, of a single one: all."`
	Tag    string `json:"tag,omitempty" maxLength:"60" doc:"What the processor's own tag says. A scan of it finds the bundle."`
}

// MakeClaim is what a site says of a load that left.
type MakeClaim struct {
	Load   string `json:"load" maxLength:"20"`
	Bundle string `json:"bundle,omitempty" maxLength:"20" doc:"Left out: job, list and mark say which line it is about."`
	Job    string `json:"job,omitempty" maxLength:"60"`
	List   string `json:"list,omitempty" maxLength:"60"`
	Mark   string `json:"mark,omitempty" maxLength:"60"`
	Pieces int    `json:"pieces" minimum:"1"`
	What   string `json:"what" enum:"short,damaged,wrong"`
	Who    string `json:"who,omitempty" maxLength:"200" doc:"At the site."`
	Note   string `json:"note,omitempty" maxLength:"500"`
	By
}

// AnswerClaim answers a claim.
type AnswerClaim struct {
	Answer string `json:"answer" enum:"replace,credit,not ours,found" doc:"replace: the pieces count as lost, and the line owes a bundle for them. credit and not ours change no pieces. found: they were there, or came to light here; what is here is returned."`
	Reason string `json:"reason,omitempty" maxLength:"500" doc:"What was agreed, and with whom. Only with replace it may be left out."`
	By
}

// Claim is what a site said of a load, and what answered it.
type Claim struct {
	Claim    uint64        `json:"claim" doc:"Its number: the sequence of the event."`
	Load     string        `json:"load"`
	Bundle   string        `json:"bundle"`
	Line     string        `json:"line" doc:"Job, list, mark, and which of how many."`
	Pieces   int           `json:"pieces"`
	What     string        `json:"what" enum:"short,damaged,wrong"`
	Who      string        `json:"who,omitempty"`
	Note     string        `json:"note,omitempty"`
	At       time.Time     `json:"at"`
	Open     bool          `json:"open"`
	Answered *ClaimAnswers `json:"answered,omitempty"`
}

// ClaimAnswers is what answered a claim.
type ClaimAnswers struct {
	Seq         uint64    `json:"seq"`
	Answer      string    `json:"answer" enum:"replace,credit,not ours,found"`
	Reason      string    `json:"reason,omitempty"`
	Replacement string    `json:"replacement,omitempty" doc:"The bundle that is owed for it."`
	Pieces      int       `json:"pieces,omitempty" doc:"Of the replacement."`
	At          time.Time `json:"at"`
}

// Claims are claims, oldest first.
type Claims struct {
	Claims []Claim `json:"claims"`
	Next   string  `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// ClaimRecorded is the receipt of a claim, or of its answer.
type ClaimRecorded struct {
	Recorded
	Verdict string   `json:"verdict" enum:"accepted,check"`
	Notes   []Note   `json:"notes"`
	Claim   Claim    `json:"claim"`
	Bundles []Bundle `json:"bundles" doc:"Bundles that changed or were made by it."`
}
