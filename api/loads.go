package api

import "time"

// Stop is one address of a load.
type Stop struct {
	Job       string   `json:"job,omitempty" maxLength:"60" doc:"Left out: bundles of any job, at a processor."`
	ShipTo    []string `json:"ship_to,omitempty" maxItems:"6" maxLength:"100" doc:"Left out: the address of the job."`
	Contact   string   `json:"contact,omitempty" maxLength:"100" doc:"Who takes it there."`
	From      string   `json:"from,omitempty" maxLength:"5" example:"07:00" doc:"From when the site takes it, by the plant's clock."`
	Until     string   `json:"until,omitempty" maxLength:"5" example:"11:00"`
	Processor string   `json:"processor,omitempty" maxLength:"100" doc:"Who works on the bundles there and gives them back. Left out: a site."`
	Step      string   `json:"step,omitempty" maxLength:"40" example:"coat" doc:"What the processor does. Left out: what no station of this plant does."`
}

// PlanStop is a stop and what is planned for it.
type PlanStop struct {
	Stop
	Bundles []string   `json:"bundles,omitempty" maxItems:"2000" maxLength:"20" doc:"Numbers of bundles; what is not cut yet may be planned."`
	Lines   []PlanLine `json:"lines,omitempty" maxItems:"2000" doc:"Lines of bar lists, or the rest of a list: their bundles that are not voided, have not left and are planned on no other load."`
}

// PlanLine names a line of a bar list, or the rest of a list.
type PlanLine struct {
	Job  string `json:"job,omitempty" maxLength:"60" doc:"Left out: the job of the stop."`
	List string `json:"list" maxLength:"60"`
	Mark string `json:"mark,omitempty" maxLength:"60" doc:"Left out: the rest of the list, which is all of it that is planned on no load."`
}

// PlanLoad makes a truck load or states its plan anew, whole.
type PlanLoad struct {
	Date    string     `json:"date,omitempty" maxLength:"10" example:"2026-11-25"`
	Leaves  string     `json:"leaves,omitempty" maxLength:"5" example:"06:30" doc:"When it leaves, by the plant's clock. Left out: at the end of the day's last shift."`
	Truck   string     `json:"truck,omitempty" maxLength:"40"`
	Trailer string     `json:"trailer,omitempty" maxLength:"40"`
	Limit   string     `json:"limit,omitempty" maxLength:"40" example:"44,000 lb" doc:"Weight limit with its unit. Left out: the plant's usual one."`
	Stops   []PlanStop `json:"stops" maxItems:"50" doc:"In the order in which they are driven to."`
	Bundles []string   `json:"bundles,omitempty" maxItems:"2000" maxLength:"20" doc:"Bundles for the first stop of the job of each. With none here nor at a stop: any bundle of the stops' jobs."`
	Move    bool       `json:"move,omitempty" doc:"Take bundles and lines that are planned on another load off that one. Else they are refused, or stay there."`
	By
}

// Load is a truck load.
type Load struct {
	Number   string     `json:"number"`
	State    string     `json:"state" enum:"planned,open,shipped,delivered"`
	Date     string     `json:"date,omitempty"`
	Leaves   string     `json:"leaves,omitempty" doc:"By the plant's clock. Left out: at the end of the day's last shift."`
	Truck    string     `json:"truck,omitempty"`
	Trailer  string     `json:"trailer,omitempty"`
	Stops    []Stop     `json:"stops"`
	LimitKG  float64    `json:"limit_kg,omitempty"`
	Limit    string     `json:"limit,omitempty" doc:"Left out: not known."`
	Planned  int        `json:"planned" doc:"Bundles planned on it."`
	Loaded   int        `json:"loaded" doc:"Bundles on it."`
	WeightKG float64    `json:"weight_kg" doc:"Of what is on it."`
	Weight   string     `json:"weight"`
	Held     bool       `json:"held" doc:"The load itself is held."`
	Shipped  *time.Time `json:"shipped,omitempty"`
	Copy     int        `json:"copy,omitempty"`
	NetKG    float64    `json:"net_kg,omitempty" doc:"By the newest scale ticket."`
	Net      string     `json:"net,omitempty"`
}

// Loads is a page of loads, newest first.
type Loads struct {
	Loads []Load `json:"loads"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// LoadDetail is a load with its bundles.
type LoadDetail struct {
	Load
	Bundles []LoadBundle `json:"bundles" doc:"What is planned on it, stop by stop as it was planned, then what is loaded on it and not planned."`
	Missing int          `json:"missing" doc:"Bundles that are planned and not on it."`
	List    LoadList     `json:"list" doc:"The planned list beside what is on it."`
	Longest *Sized       `json:"longest,omitempty" doc:"The longest piece of what is on it, or before the first bundle of what is planned, as it lies flat. Securement, flags and permits are the driver's and carrier's."`
	Widest  *Sized       `json:"widest,omitempty" doc:"The widest bent shape, as it lies flat the least wide way. Left out: all are straight."`
	Scale   *Scale       `json:"scale,omitempty" doc:"The scale ticket, beside the nominal weight."`
	Signed  []Handover   `json:"signed" doc:"Stops that were handed over."`
	There   *Net         `json:"delivered,omitempty" doc:"Of a load that left: what is there now."`
	Claims  []Claim      `json:"claims" doc:"What was claimed of it, oldest first."`
	History []Event      `json:"history" doc:"Its newest events, oldest first."`
}

// LoadBundle is a bundle of a load. Where it is stands in its where.
type LoadBundle struct {
	Bundle
	OnPlan bool `json:"on_plan"`
	OnLoad bool `json:"on_load"`
	Stop   int  `json:"stop,omitempty" doc:"The stop to which it goes, from 1. Left out: no stop is for its job."`
}

// LoadPlanned is the receipt of a plan.
type LoadPlanned struct {
	Recorded
	Verdict string    `json:"verdict" enum:"accepted,check" doc:"check: recorded, and a person should look."`
	Notes   []Note    `json:"notes" doc:"What the plan came to: how much is planned, what moved, what stays off it and why."`
	Load    Load      `json:"load"`
	Moved   []Moved   `json:"moved" doc:"Every bundle that this plan moved."`
	LeftOut []LeftOut `json:"left_out" doc:"What of the lines and lists stays off the plan. A request that is sent again has it in the notes only."`
}

// LoadsPlanned is the receipt of several plans.
type LoadsPlanned struct {
	Recorded
	Verdict string        `json:"verdict" enum:"accepted,check"`
	Notes   []Note        `json:"notes"`
	Loads   []LoadPlanned `json:"loads"`
}

// Moved is a bundle that a plan moved.
type Moved struct {
	Bundle   string `json:"bundle"`
	Line     string `json:"line" doc:"Job, list, mark, and which of how many."`
	What     string `json:"what" enum:"added,off,stop,load" doc:"added: it was planned nowhere. off: taken off this load. stop: to another stop. load: it was planned on another load."`
	FromLoad string `json:"from_load,omitempty"`
	FromStop int    `json:"from_stop,omitempty" doc:"From 1."`
	Stop     int    `json:"stop,omitempty" doc:"Where it is planned now, from 1."`
}

// LeftOut is bundles of a line or list that stay off a plan.
type LeftOut struct {
	Line    string   `json:"line" doc:"As the plan names it."`
	Why     string   `json:"why" enum:"planned,loaded,gone" doc:"planned: on another load. loaded: it lies on another load. gone: voided, or it left."`
	Load    string   `json:"load,omitempty"`
	Bundles []string `json:"bundles"`
}

// Ship lets a load leave.
type Ship struct {
	Gone    bool   `json:"gone,omitempty" doc:"The truck has left already: recorded, whatever the rules say."`
	Station string `json:"station,omitempty" maxLength:"40" doc:"Left out: the first station that does loadout."`
	Lang    string `json:"lang,omitempty" enum:"en,es"`
	By
}

// Unload takes a bundle off a load that has not left.
type Unload struct {
	Bundle  string `json:"bundle" maxLength:"20"`
	Station string `json:"station,omitempty" maxLength:"40" doc:"Left out: the first station that does loadout."`
	Lang    string `json:"lang,omitempty" enum:"en,es"`
	By
}
