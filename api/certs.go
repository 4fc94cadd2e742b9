package api

import "time"

// Cert is a mill cert on file.
type Cert struct {
	Seq uint64 `json:"seq" doc:"Sequence of the event that filed it: its name."`
	Heat
	Sizes    []string  `json:"sizes" doc:"Sizes that stand on it: it covers no other."`
	Spec     string    `json:"spec,omitempty"`
	Type     string    `json:"type,omitempty" doc:"As written on it: MTR, or 2.1, 2.2, 3.1, 3.2 of EN 10204."`
	Specific bool      `json:"specific" doc:"Its type ties its results to this heat (EN 10204: 3.1, 3.2; a mill test report)."`
	Text     string    `json:"text,omitempty" doc:"Number or other text of the cert to find it by."`
	SHA256   string    `json:"sha256,omitempty" doc:"Of its paper. Left out: a record without paper."`
	Melted   string    `json:"melted,omitempty"`
	Rolled   string    `json:"rolled,omitempty"`
	Reviewed bool      `json:"reviewed" doc:"A person has read it."`
	Filed    time.Time `json:"filed"`
}

// Certs is a page of certs, oldest first.
type Certs struct {
	Certs []Cert `json:"certs"`
	Next  string `json:"next,omitempty" doc:"Give it as after for the next page."`
}

// CertFiled is the receipt of a cert put on file.
type CertFiled struct {
	Recorded
	Cert Cert `json:"cert"`
}

// FileCert is a cert to put on file, with its paper.
type FileCert struct {
	Mill   string   `json:"mill"`
	Heat   string   `json:"heat"`
	Sizes  []string `json:"sizes"`
	Spec   string   `json:"spec,omitempty"`
	Type   string   `json:"type,omitempty"`
	Text   string   `json:"text,omitempty"`
	Melted string   `json:"melted,omitempty"`
	Rolled string   `json:"rolled,omitempty"`
	By
}

// Review says that a person has read a cert.
type Review struct {
	Note string `json:"note,omitempty" maxLength:"300"`
	By
}
