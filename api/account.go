package api

import "time"

// Account says where all metal of something is. Of bars pieces and nanometres are exact, and the weight is
// that of the table; of coil the weight is exact.
type Account struct {
	Asked string   `json:"asked"`
	Found []string `json:"found" doc:"What the question was understood as. Empty: nothing here goes by that name."`
	Bars  Balance  `json:"bars"`
	Coil  Balance  `json:"coil"`
	// Working and MayBe are in no sum.
	Working   []AccountRow `json:"working" doc:"What open runs have cut so far: their bars are drawn when they close, and still count as on hand. In no sum."`
	MayBe     []AccountRow `json:"may_be" doc:"What may be of it and may be of other heats: never more than that, and in no sum."`
	Tolerance Tolerance    `json:"tolerance"`
	Through   uint64       `json:"through" doc:"Sequence of the newest record that the answer knows."`
	At        time.Time    `json:"at" doc:"When that record was made."`
}

// Balance is what came in, and where it is.
type Balance struct {
	In     []AccountRow `json:"in"`
	Out    []AccountRow `json:"out"`
	SumIn  AccountRow   `json:"sum_in"`
	SumOut AccountRow   `json:"sum_out"`
	// Over is what came in less where it is.
	Over int64 `json:"over" doc:"In less out: nanometres of bar, micrograms of coil. 0, or the record is broken."`
}

// AccountRow is one line of an account.
type AccountRow struct {
	What     string  `json:"what" example:"on hand"`
	Count    int     `json:"count" doc:"Bars, or pieces. 0 of what is not counted."`
	LengthNM int64   `json:"length_nm" doc:"Nanometres, exact. Of coil 0."`
	Length   string  `json:"length,omitempty"`
	WeightUG int64   `json:"weight_ug" doc:"Micrograms: of bars by table, of coil exact."`
	WeightKG float64 `json:"weight_kg"`
	Weight   string  `json:"weight"`
}

// Tolerance is what the bars that came in may weigh by their standard.
type Tolerance struct {
	NominalKG float64 `json:"nominal_kg" doc:"By table, of the sizes of which a tolerance is known."`
	Nominal   string  `json:"nominal"`
	LeastKG   float64 `json:"least_kg"`
	Least     string  `json:"least"`
	Source    string  `json:"source"`
}
