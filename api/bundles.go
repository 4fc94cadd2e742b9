package api

import "time"

// Bundle is bars of one mark tied together.
type Bundle struct {
	Number string `json:"number" example:"1-001-00000042-05"`
	Job    string `json:"job"`
	List   string `json:"list"`
	Mark   string `json:"mark"`
	K      string `json:"k" example:"2b" doc:"Which of the line's bundles; 2b is the remainder of 2."`
	N      int    `json:"n" doc:"Of how many."`
	Steel
	Pieces   int      `json:"pieces"`
	Made     int      `json:"made,omitempty" doc:"Pieces of its next step that are made, while the step is part done."`
	LengthMM float64  `json:"length_mm" doc:"Cut length of a piece."`
	Length   string   `json:"length"`
	WeightKG float64  `json:"weight_kg" doc:"Of the whole bundle."`
	Weight   string   `json:"weight"`
	Shape    string   `json:"shape,omitempty"`
	Edition  string   `json:"edition,omitempty"`
	Bends    string   `json:"bends,omitempty" doc:"Legs and angles along the bar. Left out: straight."`
	Route    []string `json:"route" doc:"Its steps, in order."`
	Done     int      `json:"done" doc:"How many of them are done."`
	Next     string   `json:"next,omitempty" doc:"The step that comes next, or is begun. Left out: all are done."`
	State    string   `json:"state" enum:"planned,started,ready,staged,loaded,shipped,delivered,away,voided" doc:"planned: not begun. started: some of its steps are begun or done. ready: all are done. staged: it lies ready for its load. away: at who works on it. delivered: the signed sheet of its stop came back."`
	Where    string   `json:"where" doc:"Where it is, in words." example:"cut done, S1 pocket 2"`
	Place    string   `json:"place,omitempty" doc:"Name of the place where it was put down."`
	Station  string   `json:"station,omitempty" doc:"Where it was worked on last."`
	Pocket   string   `json:"pocket,omitempty"`
	Load     string   `json:"load,omitempty" doc:"The load that it is on."`
	Planned  string   `json:"planned_load,omitempty" doc:"The load that it is planned on."`
	Draw
	Held        bool      `json:"held"`
	Lost        int       `json:"lost,omitempty" doc:"Pieces that it had and lost, samples among them."`
	Sampled     int       `json:"sampled,omitempty" doc:"Of those, pieces taken for a test."`
	Replacement bool      `json:"replacement,omitempty" doc:"It is made for pieces that another bundle lost, and says so on its tag."`
	Parents     []string  `json:"parents,omitempty" doc:"Bundles of which it has pieces: it was split off, or they were merged into it."`
	Into        string    `json:"into,omitempty" doc:"The bundle that it was merged into; it is no more then."`
	Copy        int       `json:"copy,omitempty" doc:"Newest copy of its tag. Left out: none was recorded."`
	Updated     time.Time `json:"updated" doc:"When its newest event was recorded."`
}

// Bundles is a page of bundles, by number.
type Bundles struct {
	Bundles []Bundle `json:"bundles"`
	Next    string   `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// BundleDetail is a bundle with where its steel came from and what happened to it.
type BundleDetail struct {
	Bundle
	Note    string   `json:"note,omitempty" doc:"Of its line."`
	Hold    *Hold    `json:"hold,omitempty" doc:"A hold that stops it."`
	Lots    []string `json:"lots" doc:"Lots that it may have been cut from."`
	Runs    []uint64 `json:"runs" doc:"Sequences of the runs that cut it."`
	Certs   []Cert   `json:"certs" doc:"On file for its heats and size."`
	History []Event  `json:"history" doc:"Its newest events, oldest first."`
}

// Because takes something back, with the reason.
type Because struct {
	Reason string `json:"reason" maxLength:"300" doc:"What was wrong."`
	By
}

// SetRoute gives a bundle a route of its own.
type SetRoute struct {
	Steps  []string `json:"steps" maxItems:"20" maxLength:"40" doc:"All steps, in order: cut, bend, cut and bend, saw, thread, head, coat, tie. What is done or begun stays in front. None at all: full stock lengths, or bought ready made."`
	Reason string   `json:"reason" maxLength:"300" doc:"Why the route is another."`
	By
}

// LosePieces says that a bundle has so many pieces no more.
type LosePieces struct {
	Pieces  int    `json:"pieces" minimum:"1"`
	Why     string `json:"why" maxLength:"40" doc:"miscut, misbent, sample (for a test), damaged, site (lost or spoilt there) or revised."`
	Note    string `json:"note,omitempty" maxLength:"500"`
	Settled bool   `json:"settled,omitempty" doc:"Nothing is owed for them. Left out: the line owes a replacement bundle, except where a revision took the pieces away."`
	By
}

// SplitBundle ties pieces of a bundle as bundles of their own.
type SplitBundle struct {
	Pieces []int  `json:"pieces" minItems:"1" maxItems:"50" doc:"Of each new bundle. At least one piece stays under the old number."`
	Reason string `json:"reason,omitempty" maxLength:"500"`
	By
}

// MergeBundles ties bundles of one line into one of them.
type MergeBundles struct {
	From    []string `json:"from" minItems:"1" maxItems:"50" maxLength:"20" doc:"Numbers of those that are no more then."`
	Already bool     `json:"already,omitempty" doc:"They are tied: what a rule would refuse is recorded with a Check."`
	Reason  string   `json:"reason,omitempty" maxLength:"500"`
	By
}

// Assign says which bars a bundle is that no station cuts: full stock lengths, or bars that are only
// bent or coated.
type Assign struct {
	Bars []Drawn  `json:"bars,omitempty" maxItems:"50" doc:"How many bars of each lot."`
	Lots []string `json:"lots,omitempty" maxItems:"50" maxLength:"20" doc:"Instead of bars: lots in order, of which it takes as many bars as it has pieces."`
	By
}

// Declare says what a supplier's paper has on the heats of a bundle that was bought ready made.
type Declare struct {
	Mill   string   `json:"mill" maxLength:"60"`
	Heats  []string `json:"heats" maxItems:"50" maxLength:"32"`
	Paper  string   `json:"paper" maxLength:"100" doc:"Which paper says so." example:"delivery note 4711"`
	Melted string   `json:"melted,omitempty" maxLength:"2" doc:"Country of melt, ISO 3166 alpha-2."`
	Rolled string   `json:"rolled,omitempty" maxLength:"2" doc:"Country of rolling, ISO 3166 alpha-2."`
	By
}

// Reassign gives a bundle that is made to another line of the same bars.
type Reassign struct {
	Job     string `json:"job" maxLength:"60"`
	List    string `json:"list" maxLength:"24"`
	Mark    string `json:"mark" maxLength:"24"`
	Instead string `json:"instead,omitempty" maxLength:"20" doc:"The bundle of that line whose place it takes, not begun. Left out: the first that fits."`
	Reason  string `json:"reason" maxLength:"300"`
	By
}

// Changed is the receipt of a change of a bundle.
type Changed struct {
	Recorded
	Bundle Bundle   `json:"bundle"`
	Others []Bundle `json:"others,omitempty" doc:"Other bundles that it made, changed or ended."`
	Notes  []Note   `json:"notes" doc:"What else became of it, in sentences."`
}
