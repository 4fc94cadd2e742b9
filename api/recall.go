package api

import "time"

// Recall is everything downstream of a heat, lot, cert or mill, and where it is, in the order of haste.
type Recall struct {
	Asked   string         `json:"asked"`
	Found   []string       `json:"found" doc:"What the question was understood as. Empty: nothing here goes by that name." example:"[\"heat Example Mill 0123E5\"]"`
	Heats   []Heat         `json:"heats" doc:"In question."`
	Groups  []RecallGroup  `json:"groups" doc:"What is equally urgent and equally sure, the most urgent first."`
	Calls   []RecallCall   `json:"calls" doc:"Loads that are here or have left, by job and stop: whom to call. The newest that left first."`
	Bundles []RecallBundle `json:"bundles" doc:"In the order of haste."`
	Lots    []RecallLot    `json:"lots" doc:"Lots and remnants of which something is on hand."`
	Certs   []Cert         `json:"certs"`
	Holds   []Hold         `json:"holds"`
	Checks  int            `json:"checks" doc:"Answers about these bundles that wanted a person, settled ones too."`
	Open    int            `json:"open" doc:"Those of them that nobody has settled yet."`
	// Disputes counts what may have been done and does not count yet.
	Disputes int       `json:"disputes" doc:"Those of the open ones that are kept scans which do not fit the record, of these bundles, lots and loads, or from these lots: they may have been done, and count for nothing yet."`
	Unsaid   []Said    `json:"unsaid" doc:"What no record can tell."`
	Through  uint64    `json:"through" doc:"Sequence of the newest record that the answer knows."`
	At       time.Time `json:"at" doc:"When that record was made."`
}

// Said is a sentence in both languages.
type Said struct {
	English string `json:"english"`
	Spanish string `json:"spanish"`
}

// Sure is how sure something is of what was asked for.
type Sure struct {
	Haste string `json:"haste" enum:"here,left,ready,at work,lying,stock,none left" doc:"here: on a truck that is here. left: left the plant. ready: all steps are done. at work: a step is started. lying: between steps, or on a feed. stock: on hand. none left: voided, lost, or tied into others."`
	Sure  string `json:"sure" enum:"certain,one of,declared,unknown" doc:"How sure it is that this is of what was asked for."`
}

// RecallGroup sums up what is equally urgent and equally sure.
type RecallGroup struct {
	Sure
	Title   Said     `json:"title"`
	Amount           // of bundles
	Lots    int      `json:"lots"`
	Bars    int      `json:"bars" doc:"On hand of the lots; coil has none."`
	StockKG float64  `json:"stock_kg"`
	Stock   string   `json:"stock"`
	Loads   []string `json:"loads"`
	Jobs    []string `json:"jobs"`
}

// RecallCall is a stop that a load goes to with bundles of a job.
type RecallCall struct {
	Load    string     `json:"load"`
	Job     string     `json:"job"`
	JobName string     `json:"job_name,omitempty"`
	Stop    int        `json:"stop,omitempty" doc:"Of the load, from 1; left out: none of its stops is for the job."`
	ShipTo  []string   `json:"ship_to" doc:"Who has it there, where that is not the job's site, and the address."`
	Contact string     `json:"contact,omitempty"`
	Truck   string     `json:"truck,omitempty"`
	Left    *time.Time `json:"left,omitempty" doc:"Left out: it is here."`
	Amount
}

// RecallBundle is a bundle of a recall.
type RecallBundle struct {
	Sure
	Stop int `json:"stop,omitempty" doc:"Of the load that it is on or left on, from 1."`
	TraceBundle
}

// RecallLot is a lot of a recall.
type RecallLot struct {
	Sure
	Lot
}
