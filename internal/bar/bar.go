// Package bar knows reinforcing bars: lengths, sizes, grades, weights and bent shapes.
//
// Tables are data with their source beside them. The package imports nothing of ours, has no
// clock and no state, and every figure that is conserved on the floor (pieces, nanometres) is an
// integer.
package bar

// Length is a length in nanometres, exact for 1/64 in (396 875 nm) and for 0.1 mm.
type Length int64

// Units of Length.
const (
	Nanometre  Length = 1
	Millimetre Length = 1_000_000
	Metre      Length = 1_000_000_000
	Inch       Length = 25_400_000
	Foot       Length = 12 * Inch
)

// Units says how a plant reads and prints lengths and weights.
type Units string

// The two ways a plant measures.
const (
	Imperial Units = "ft-in" // feet, inches and fractions; pounds
	Metric   Units = "mm"    // millimetres; kilograms
)

// Mass is a mass in micrograms: 1 lb is 453 592 370 of them, and int64 holds nine million tonnes.
type Mass int64

// Size is a bar designation with its system, in its one written form: "#5" (ASTM), "16mm" (EN),
// "15M" (CSA). The zero value is no size. ParseSize makes it from what people write.
type Size string

// Steel is what must match between a line and the stock it is cut from.
type Steel struct {
	Size    Size   `cbor:"1,keyasint,omitempty"`
	Spec    string `cbor:"2,keyasint,omitempty"` // "A615", "A706", "B500B" has spec "BS4449"
	Grade   string `cbor:"3,keyasint,omitempty"` // "60", "B500B", "400W"
	Coating string `cbor:"4,keyasint,omitempty"` // "" is plain; "epoxy", "galvanized", "dual"
}

// Leg is one straight or curved part of a bent bar, as it is met walking along the bar.
type Leg struct {
	Length Length `cbor:"1,keyasint,omitempty"` // outer dimension of a straight leg; 0 for an arc
	Radius Length `cbor:"2,keyasint,omitempty"` // inner radius of an arc; 0 for a straight leg
	// Turn is the angle in tenths of a degree: after a straight leg the bend to the next one, of an
	// arc its sweep. Positive turns left. The last straight leg has 0.
	Turn int32 `cbor:"3,keyasint,omitempty"`
}

// Shape is the bent form of a bar. A shape without legs is a straight bar (Code may still name it).
// Codes are opaque text and mean something only together with their edition.
type Shape struct {
	Code    string `cbor:"1,keyasint,omitempty"` // "17", "S1", "21"; as written on the bar list
	Edition string `cbor:"2,keyasint,omitempty"` // "ACI 315-99", "BS 8666:2005"
	Pin     Length `cbor:"3,keyasint,omitempty"` // bending pin (mandrel) diameter, 0 = by the plant's rule
	Legs    []Leg  `cbor:"4,keyasint,omitempty"`
}
