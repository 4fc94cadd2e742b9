package event

// Refusal is a command that is not taken: which field, what is wrong, and what would be right. It
// is what a room gives instead of events.
type Refusal struct {
	Field string
	Says  string
}

func (r *Refusal) Error() string {
	if r.Field == "" {
		return r.Says
	}
	return r.Field + ": " + r.Says
}
