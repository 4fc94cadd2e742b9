package api

import "time"

// Stop is one address of a load.
type Stop struct {
	Job    string   `json:"job" maxLength:"60"`
	ShipTo []string `json:"ship_to,omitempty" maxItems:"6" maxLength:"100" doc:"Left out: the address of the job."`
}

// PlanLoad makes a truck load or states its plan anew, whole.
type PlanLoad struct {
	Date    string   `json:"date,omitempty" maxLength:"10" example:"2026-11-25"`
	Truck   string   `json:"truck,omitempty" maxLength:"40"`
	Limit   string   `json:"limit,omitempty" maxLength:"40" example:"44,000 lb" doc:"Weight limit with its unit. Left out: the plant's usual one."`
	Stops   []Stop   `json:"stops" maxItems:"50" doc:"In the order in which they are driven to."`
	Bundles []string `json:"bundles,omitempty" maxItems:"2000" maxLength:"20" doc:"Planned bundles. Left out: any bundle of the stops' jobs."`
	By
}

// Load is a truck load.
type Load struct {
	Number   string     `json:"number"`
	State    string     `json:"state" enum:"planned,open,shipped"`
	Date     string     `json:"date,omitempty"`
	Truck    string     `json:"truck,omitempty"`
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
}

// Loads is a page of loads, newest first.
type Loads struct {
	Loads []Load `json:"loads"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// LoadDetail is a load with its bundles.
type LoadDetail struct {
	Load
	Bundles []LoadBundle `json:"bundles" doc:"What is planned on it, loaded on it, or both, by number."`
	Missing int          `json:"missing" doc:"Bundles that are planned and not on it."`
	History []Event      `json:"history" doc:"Its newest events, oldest first."`
}

// LoadBundle is a bundle of a load. Where it is stands in its where.
type LoadBundle struct {
	Bundle
	OnPlan bool `json:"on_plan"`
	OnLoad bool `json:"on_load"`
}

// LoadPlanned is the receipt of a plan.
type LoadPlanned struct {
	Recorded
	Load Load `json:"load"`
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
