package api

// Problem is an error as the server tells it: problem details after RFC 9457. As an error of Go its
// text is the sentence for people.
type Problem struct {
	Type     string  `json:"type" doc:"Always about:blank: the code tells problems apart."`
	Title    string  `json:"title" doc:"The name of the HTTP status."`
	Status   int     `json:"status" doc:"The HTTP status."`
	Detail   string  `json:"detail,omitempty" doc:"What is wrong, in a sentence for a person."`
	Instance string  `json:"instance,omitempty" doc:"The request, as the server's log knows it."`
	Code     string  `json:"code" doc:"What is wrong, for a program: not-found, invalid, key-reused, busy ..."`
	Next     string  `json:"next,omitempty" doc:"What to do next, in a sentence for a person."`
	Errors   []Field `json:"errors,omitempty" doc:"The fields at fault, all of them."`
}

// Field is one field at fault.
type Field struct {
	Location string `json:"location,omitempty" doc:"Where: a path into the request (body.bars), or row and column of a file (row 5, length)."`
	Message  string `json:"message" doc:"What is wrong with it and what would be right."`
}

// Error is the sentence for people: what is wrong, and what to do next.
func (p *Problem) Error() string {
	says := p.Detail
	if says == "" {
		says = p.Title
	}
	if p.Next != "" {
		says += " " + p.Next
	}
	return says
}
