package api

// Steel is what must match between a line of a bar list and the stock that it is cut from.
type Steel struct {
	Size    string `json:"size" example:"#5" doc:"Bar size with its system: #5, 16mm or 15M."`
	Spec    string `json:"spec,omitempty" example:"A615" doc:"Standard of the steel."`
	Grade   string `json:"grade,omitempty" example:"60"`
	Coating string `json:"coating,omitempty" doc:"Left out: plain."`
	Steel   string `json:"steel" example:"#5 A615 60" doc:"All of it as one text."`
}

// Heat names a heat: a heat number is unique within its mill only, and text.
type Heat struct {
	Mill string `json:"mill" example:"Example Mill"`
	Heat string `json:"heat" example:"0123E5"`
}

// Draw is what is known of the heats of something: all that it may be of, and how sure that is.
type Draw struct {
	Certainty string `json:"certainty" enum:"certain,one of,declared,unknown,not drawn" doc:"certain: one heat only could have been drawn, or a person said which. one of: several could; it traces to all. declared: a supplier's paper says so. unknown: steel of no known heat could have been drawn. not drawn: nothing is cut yet."`
	Heats     []Heat `json:"heats" doc:"All heats that it may be of."`
}

// Amount is an amount of work, counted three ways.
type Amount struct {
	Bundles  int     `json:"bundles"`
	Pieces   int     `json:"pieces"`
	WeightKG float64 `json:"weight_kg"`
	Weight   string  `json:"weight" example:"480 lb"`
}

// PlaceRef is where something lies.
type PlaceRef struct {
	Number string `json:"number"`
	Name   string `json:"name" example:"A-14"`
}
