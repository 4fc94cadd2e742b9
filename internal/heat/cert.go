package heat

import (
	"slices"
	"strings"
	"unicode"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/tags"
)

// Cert is a mill cert on file.
type Cert struct {
	Seq      uint64          `cbor:"1,keyasint"`
	Filed    event.CertFiled `cbor:"2,keyasint"`
	At       int64           `cbor:"3,keyasint"`
	Reviewed bool            `cbor:"4,keyasint,omitempty"`
}

// Covers says whether the cert lists the size. One heat is rolled to several sizes, and each is
// tested for itself (ASTM A706 and A615: a set of tension tests for each size of a heat).
func (c Cert) Covers(s bar.Size) bool { return slices.Contains(c.Filed.Sizes, s) }

// Specific says whether the cert's type ties its results to the delivered heat. EN 10204:2004: 2.1
// has no results, 2.2 those of other steel; only 3.1 and 3.2 (and an American mill test report, by
// common practice) give results of this heat. A cert without a type is not known to.
func (c Cert) Specific() bool {
	specific := false
	words := strings.FieldsFunc(strings.ToUpper(c.Filed.Type), func(r rune) bool {
		return r != '.' && !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	for i, w := range words {
		switch w {
		case "2.1", "2.2":
			return false
		// 3.1.A, 3.1.B and 3.1.C are of EN 10204:1991.
		case "3.1", "3.2", "3.1A", "3.1B", "3.1C", "3.1.A", "3.1.B", "3.1.C", "MTR", "CMTR":
			specific = true
		case "MILL":
			specific = specific || i+2 < len(words) && words[i+1] == "TEST" && words[i+2] == "REPORT"
		}
	}
	return specific
}

// MissingCert finds a heat of the draw that has no cert for the size in the state that the rule
// asks for. A heat that is not known counts as missing; its Key is empty.
func MissingCert(past Past, d Draw, size bar.Size, rule event.CertRule) (Key, bool) {
	if rule == event.CertsNone {
		return Key{}, false
	}
	for _, k := range d.Heats {
		if !slices.ContainsFunc(past.Certs(k), func(c Cert) bool {
			return c.Covers(size) && c.Specific() && (rule != event.CertsReviewed || c.Reviewed)
		}) {
			return k, true
		}
	}
	return Key{}, d.Certainty == Unknown
}

// Origin says why steel drawn from the lots does not fit a job that asks for a country of melt and
// manufacture: the first lot, and "melt" or "roll" for what was done elsewhere or is not known.
// 23 CFR 635.410: all manufacturing processes of the steel, each for itself.
func Origin(past Past, lots []tags.Number, country string) (lot Lot, why string) {
	if country == "" {
		return Lot{}, ""
	}
	for _, l := range Ancestors(past, lots) {
		switch {
		case l.Remnant() && len(l.Parents) > 0 && !l.Lacking:
		case l.Melted != country:
			return l, "melt"
		case l.Rolled != country:
			return l, "roll"
		}
	}
	return Lot{}, ""
}
