package api

import "time"

// Target is what a hold is put on: a heat with its mill, or the number of a lot, bundle or load.
type Target struct {
	Mill   string `json:"mill,omitempty" maxLength:"60"`
	Heat   string `json:"heat,omitempty" maxLength:"32"`
	Number string `json:"number,omitempty" maxLength:"20"`
}

// PutHold stops what it is put on, and all that is of it, at the next start and load.
type PutHold struct {
	Target
	Reason string `json:"reason" maxLength:"300" doc:"Who meets the hold must know why."`
	DryRun bool   `json:"dry_run,omitempty" doc:"Only count what it would stop; nothing is recorded."`
	By
}

// LiftHold ends a hold.
type LiftHold struct {
	Target
	Reason string `json:"reason" maxLength:"300"`
	By
}

// Hold is a stop that has not been lifted.
type Hold struct {
	Target
	What   string    `json:"what" doc:"What is held, in words." example:"heat Example Mill 0123E5"`
	Reason string    `json:"reason"`
	At     time.Time `json:"at"`
	People []string  `json:"people,omitempty"`
	Seq    uint64    `json:"seq"`
}

// Holds is a page of holds, oldest first.
type Holds struct {
	Holds []Hold `json:"holds"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// HoldPut is the receipt of a hold: what it stops, and what it cannot stop.
type HoldPut struct {
	Recorded
	What    string `json:"what"`
	DryRun  bool   `json:"dry_run"`
	Lots    int    `json:"lots" doc:"Lots and remnants with bars on hand."`
	Bars    int    `json:"bars" doc:"Bars on hand of those."`
	Inside  Amount `json:"inside" doc:"Bundles that are cut, or begun, and have not left."`
	Shipped Amount `json:"shipped" doc:"Bundles that have left: no hold reaches them."`
	Stops   []Said `json:"stops" doc:"What it stops, in sentences."`
	Cannot  []Said `json:"cannot" doc:"What no hold can stop: what has left, and what is in work now."`
}

// HoldLifted is the receipt of a hold that ended.
type HoldLifted struct {
	Recorded
	What string `json:"what"`
}
