package scan

import (
	"fmt"

	"tagd/internal/event"
	"tagd/internal/load"
	"tagd/internal/tags"
)

// What is said at a desk and not scanned is refused with an error, which names the field that is wrong.

func refusal(field, format string, args ...any) error {
	return &event.Refusal{Field: field, Says: fmt.Sprintf(format, args...)}
}

// spoken makes the refusal of a scan the error of a command.
func spoken(out Outcome, field string) (Outcome, error) {
	if out.Answer.Verdict != event.Refused {
		return out, nil
	}
	says, next := Say(out.Answer.Notes[0], English)
	return Outcome{}, refusal(field, "%s %s", says, next)
}

// bundleOf finds the bundle that a field names, and its line.
func bundleOf(past Past, field string, n tags.Number) (Bundle, *Line, error) {
	b, ok := past.Bundle(n)
	if !ok {
		return b, nil, refusal(field, "%v was never given out here", n)
	}
	return b, past.Line(b.Line), nil
}

// loadOf finds the load that a command names.
func loadOf(past Past, n tags.Number) (load.Load, error) {
	ld, ok := past.Load(n)
	if !ok {
		return ld, refusal("load", "%v was never given out here", n)
	}
	return ld, nil
}
