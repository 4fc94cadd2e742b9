package api

import "time"

// RunFilter says which runs are asked for. From and To are each a run's number, or a time of the plant as
// 2026-01-05 14:00, or RFC 3339; "" is no bound.
type RunFilter struct{ Station, From, To string }

// Runs is a page of runs, oldest first.
type Runs struct {
	Runs []RunRecord `json:"runs"`
	Next string      `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// RunRecord is a run as the record has it.
type RunRecord struct {
	Run
	Station string     `json:"station"`
	Opened  time.Time  `json:"opened"`
	Closed  *time.Time `json:"closed,omitempty" doc:"Left out: it is open."`
	Said    bool       `json:"said,omitempty" doc:"A person said which lots it was cut from."`
	Mended  uint64     `json:"mended,omitempty" doc:"Sequence of the event that restated it last."`
	RunDraw
	Draw
}

// RunDraw is what a run drew and left.
type RunDraw struct {
	Drawn    []Drew `json:"drawn" doc:"How many bars of each lot."`
	Assumed  bool   `json:"assumed,omitempty" doc:"The bars were shared out by the program, not said."`
	Remnants []Drew `json:"remnants" doc:"Remnants that it left, with their bars."`
	Scrap    string `json:"scrap,omitempty" doc:"What was left and is too short to keep."`
	Missing  string `json:"missing,omitempty" doc:"Metal in the pieces that no recorded bar accounts for."`
}

// Drew is bars of a lot.
type Drew struct {
	Lot  string `json:"lot"`
	Bars int    `json:"bars"`
	Over int    `json:"over,omitempty" doc:"Of them, how many the lot did not have by the record."`
}

// MendCharge says that a lot lay on a feed and was not scanned, or that it did not lie there.
type MendCharge struct {
	Station string   `json:"station" minLength:"1" maxLength:"40" example:"S1"`
	Feed    string   `json:"feed,omitempty" maxLength:"40" doc:"Left out: whichever."`
	Lot     string   `json:"lot" maxLength:"20"`
	Not     bool     `json:"not,omitempty" doc:"It did not lie there: it was long gone, and the feed was never emptied."`
	Runs    []uint64 `json:"runs,omitempty" maxItems:"200" doc:"Runs to restate. Left out: all of its steel from from to to, but those of which a person said the lots."`
	From    string   `json:"from,omitempty" maxLength:"40" doc:"A run, or when it was laid there: 2026-01-05 14:00 of the plant, or RFC 3339."`
	To      string   `json:"to,omitempty" maxLength:"40" doc:"A run, or when it was taken away."`
	Bars    []Drawn  `json:"bars,omitempty" maxItems:"50" doc:"How many bars of each lot the one run took, where a person knows. Left out: what others gave beyond their bars, and what no bar accounts for, was of this lot."`
	Reason  string   `json:"reason" maxLength:"500" doc:"How this was found out."`
	DryRun  bool     `json:"dry_run,omitempty" doc:"Only say what it would restate; nothing is recorded."`
	By
}

// ChargeMended is what a mending comes to.
type ChargeMended struct {
	Recorded
	DryRun  bool     `json:"dry_run"`
	Verdict string   `json:"verdict" enum:"accepted,check" doc:"check: a rule of a job, or a hold, is against something that was made of it."`
	Runs    []Mended `json:"runs"`
	Bundles []string `json:"bundles" doc:"What is made of those runs and of what they left, under whatever number now."`
	Left    []string `json:"left" doc:"Of them, those that have left."`
	Against []string `json:"against" doc:"Of them, those that a rule of their job is against by now. Of a receipt that is given again, none: its notes say it."`
	Loads   []string `json:"loads"`
	Jobs    []string `json:"jobs"`
	Notes   []Note   `json:"notes"`
}

// Mended is a run that is restated.
type Mended struct {
	Run    uint64   `json:"run"`
	Before []string `json:"before" doc:"Lots that it may have been cut from, by the record before."`
	After  []string `json:"after"`
	Was    *RunDraw `json:"was,omitempty" doc:"How it closed. Left out: it is open."`
	Is     *RunDraw `json:"is,omitempty"`
}
