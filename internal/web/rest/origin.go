package rest

import (
	"encoding/json"
	"fmt"
	"time"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/tags"
)

// Keyed is a request that may carry its key in a header.
type Keyed struct {
	Key string `header:"Idempotency-Key" maxLength:"100" doc:"The client's own id of this request, best a UUID of version 7; the same as key in the body."`
}

// maxKey is how long a key or a device may be in bytes, as the journal has it.
const maxKey = 200

// origin is who asks, and from where. Request is what the key stands for.
func (a *ops) origin(station string, by api.By, header string, request any) (floor.Origin, error) {
	o := floor.Origin{Device: by.Device, Station: station, Key: by.Key, Happened: by.At}
	switch {
	case header != "" && by.Key != "" && header != by.Key:
		return o, invalid("header.Idempotency-Key", "says another key than the body; give it once")
	case by.Key == "":
		o.Key = header
	}
	if len(o.Key) > maxKey {
		return o, invalid("body.key", fmt.Sprintf("has %d bytes; %d are the most", len(o.Key), maxKey))
	}
	if len(o.Device) > maxKey {
		return o, invalid("body.device", fmt.Sprintf("has %d bytes; %d are the most", len(o.Device), maxKey))
	}
	var err error
	if o.People, err = numbers("body.people", by.People, tags.Person); err != nil {
		return o, err
	}
	if len(o.People) > 0 {
		o.Identified = event.Badge
	}
	if y := by.At.Year(); !by.At.IsZero() && (y < 2000 || y > 2999) {
		return o, invalid("body.at", "is not a time of this plant; is the device's clock set?")
	}
	if o.Key == "" {
		return o, nil
	}
	// As it is on the wire, so that it is the same text whenever it is sent again.
	text, err := json.Marshal(request)
	if err != nil {
		return o, fmt.Errorf("rest: request of key %q: %w", o.Key, err)
	}
	o.Request = string(text)
	return o, nil
}

// happened is when a request says that it happened, or now.
func (a *ops) happened(by api.By) time.Time {
	if by.At.IsZero() {
		return a.o.Now()
	}
	return by.At
}

// recorded is a receipt on the wire.
func recorded(r floor.Receipt) api.Recorded { return api.Recorded{Seq: r.Seq, Again: r.Again} }
