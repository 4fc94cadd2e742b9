package api

import "time"

// By says who asks and from where. It is part of every request that changes something.
type By struct {
	Device string    `json:"device,omitempty" maxLength:"100" doc:"What the request was made with: the id of a tablet, scanner or program. A key belongs to its device."`
	People []string  `json:"people,omitempty" maxItems:"20" maxLength:"20" doc:"Numbers of the badges of those who did it." example:"[\"6-001-00000001-66\"]"`
	At     time.Time `json:"at,omitzero" doc:"When it happened, by the device's clock. Left out: now."`
	Key    string    `json:"key,omitempty" maxLength:"100" doc:"The client's own id of this request, best a UUID of version 7. May be given as the header Idempotency-Key instead."`
}

// Recorded is the receipt of a request that recorded something.
type Recorded struct {
	Seq   uint64 `json:"seq" doc:"Sequence in the journal of the first event that was recorded. 0: nothing was."`
	Again bool   `json:"again" doc:"The key was seen before; this is the first receipt once more."`
}
