package bench

import (
	"github.com/google/uuid"

	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// newKey is a request key as devices make it: time-ordered.
func newKey() string { return uuid.Must(uuid.NewV7()).String() }

// card makes the card that goes out with a receipt.
func card(f *floor.Floor, station string, n tags.Number) error {
	if n.Kind() != tags.Bundle {
		return nil
	}
	return f.View(func(p *view.Past) error {
		scan.CardOf(p, f.Rules(), station, n)
		return nil
	})
}
