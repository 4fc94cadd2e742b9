package api

import "time"

// JobRules is what a job is and asks for.
type JobRules struct {
	Name     string   `json:"name,omitempty" maxLength:"100" example:"Alder Creek Bridge"`
	Customer string   `json:"customer,omitempty" maxLength:"100"`
	PO       string   `json:"po,omitempty" maxLength:"60" doc:"The customer's order number."`
	Agency   string   `json:"agency,omitempty" maxLength:"60" doc:"Project number of a public agency."`
	ShipTo   []string `json:"ship_to,omitempty" maxItems:"6" maxLength:"100" doc:"Lines of the address."`
	Heats    string   `json:"heats,omitempty" enum:"load,bundle,single" doc:"What is asked about heats. load: listed for each load. bundle: listed for each bundle. single: one heat in a bundle. Left out: nothing."`
	Certs    string   `json:"certs,omitempty" enum:"on file,reviewed" doc:"State that a mill cert must be in before a bundle may be loaded. Left out: none."`
	Spec     string   `json:"spec,omitempty" maxLength:"40"`
	Edition  string   `json:"edition,omitempty" maxLength:"40"`
	Coating  string   `json:"coating,omitempty" maxLength:"40"`
	Country  string   `json:"country,omitempty" maxLength:"2" doc:"ISO 3166 alpha-2 of melt and manufacture. Left out: any."`
	Stock    bool     `json:"stock,omitempty" doc:"The shop's own stock."`
}

// SetJob makes a job or states it anew, whole.
type SetJob struct {
	JobRules
	By
}

// Job is a job of the shop.
type Job struct {
	Job string `json:"job" example:"26-014" doc:"The shop's number of the job."`
	JobRules
}

// Jobs is a page of jobs, by their numbers.
type Jobs struct {
	Jobs []Job  `json:"jobs"`
	Next string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// JobProgress is a job with its bar lists and how far it is. A bundle that is loaded is also cut.
type JobProgress struct {
	Job
	Lists   []List `json:"lists"`
	Planned Amount `json:"planned" doc:"All bundles that are not voided."`
	Cut     Amount `json:"cut" doc:"Bundles whose first step is done."`
	ToBend  Amount `json:"to_bend" doc:"Bundles that have a bend, done or not."`
	Bent    Amount `json:"bent"`
	Loaded  Amount `json:"loaded" doc:"On a load, shipped ones included."`
	Shipped Amount `json:"shipped"`
}

// List is a bar list that was taken.
type List struct {
	Job      string    `json:"job"`
	List     string    `json:"list" doc:"The list number, the release."`
	Revision string    `json:"revision,omitempty"`
	File     string    `json:"file,omitempty" doc:"Name of the file that it came as."`
	SHA256   string    `json:"sha256" doc:"Of that file."`
	Lines    int       `json:"lines"`
	Seq      uint64    `json:"seq" doc:"Sequence of the event that closed it."`
	Taken    time.Time `json:"taken"`
}

// Lists is a page of bar lists, by job and list.
type Lists struct {
	Lists []List `json:"lists"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// ListDetail is a bar list with its lines.
type ListDetail struct {
	List
	Marks []Line `json:"marks" doc:"Its lines, by mark."`
}

// Line is a line of a bar list: one mark.
type Line struct {
	Row  int    `json:"row" doc:"Row of the file, from 1."`
	Job  string `json:"job,omitempty"`
	List string `json:"list,omitempty"`
	Mark string `json:"mark" example:"4F207"`
	Steel
	Pieces   int      `json:"pieces"`
	LengthMM float64  `json:"length_mm" doc:"Cut length of a piece."`
	Length   string   `json:"length"`
	Shape    string   `json:"shape,omitempty" doc:"Shape code as written on the list. Left out: none was written."`
	Edition  string   `json:"edition,omitempty" doc:"What the shape code belongs to."`
	Bends    string   `json:"bends,omitempty" doc:"Legs and angles along the bar. Left out: straight." example:"1'-6\" [90] 8'-6\""`
	Route    []string `json:"route" doc:"The steps that it needs, in order."`
	Note     string   `json:"note,omitempty"`
	WeightKG float64  `json:"weight_kg" doc:"Of all pieces."`
	Weight   string   `json:"weight"`
	Bundles  []string `json:"bundles,omitempty" doc:"Numbers of its bundles."`
	Count    int      `json:"count" doc:"How many bundles it makes."`
	// Of a list that was revised.
	Withdrawn bool   `json:"withdrawn,omitempty" doc:"A revision asks for it no more."`
	Into      string `json:"into,omitempty" doc:"The list that it was taken into."`
}

// RowFault is one thing wrong with a file, or one thing to know about it.
type RowFault struct {
	Row   int    `json:"row" doc:"Row of the file, from 1. 0: the file as a whole."`
	Field string `json:"field,omitempty" doc:"Column or field. Left out: the whole row."`
	Says  string `json:"says" doc:"What is wrong and what would be right."`
}

// ListTaken is what became of a bar list file.
type ListTaken struct {
	Recorded
	Job      string     `json:"job,omitempty" doc:"Left out where the lines are of several."`
	List     string     `json:"list,omitempty"`
	Revision string     `json:"revision,omitempty"`
	Format   string     `json:"format,omitempty" doc:"csv, xlsx or bvbs."`
	Lines    []Line     `json:"lines"`
	Faults   []RowFault `json:"faults" doc:"Why the file cannot be taken. Only with dry_run: else they are a problem."`
	Warnings []RowFault `json:"warnings" doc:"What a person should know of it."`
	Bundles  int        `json:"bundles" doc:"How many bundles were made, or would be."`
	NewJobs  []string   `json:"new_jobs" doc:"Jobs that nobody had made; they are made without rules."`
	// Changes are none for a list that is new and takes nothing over.
	Changes  []ListChange `json:"changes" doc:"What becomes of each mark of a list that stood, and of lines taken over."`
	Says     []string     `json:"says" doc:"What a person should know of it: every mark withdrawn, loads planned anew."`
	Existing bool         `json:"existing" doc:"This very file was taken before; nothing changed."`
	DryRun   bool         `json:"dry_run" doc:"Nothing was recorded."`
}
