package bar

import (
	"fmt"
	"strconv"
	"strings"
)

// The size systems.
const (
	ASTM = "ASTM" // A615/A615M and A706/A706M: #3 to #20, numbers of eighths of an inch
	EN   = "EN"   // EN 10080 and BS 4449: 6mm to 50mm, nominal diameters
	CSA  = "CSA"  // G30.18: 10M to 55M
)

// Row is what its standard says about one size. Masses, areas and diameters are the nominal ones
// as printed, in whole numbers of their last digit.
type Row struct {
	Size   Size
	System string // ASTM, EN or CSA

	// SoftMetric is the ASTM designation in brackets, [16] for #5; 0 in the other systems.
	SoftMetric int
	// MilliPoundsPerFoot is the nominal weight in 0.001 lb/ft. It rules for ASTM sizes and is 0 for
	// the others, whose standards give none.
	MilliPoundsPerFoot int64
	// GramsPerMetre is the nominal mass in 0.001 kg/m. It rules for EN and CSA sizes; for ASTM it is
	// the standard's own conversion and good for showing only.
	GramsPerMetre int64
	// Diameter is the nominal diameter; for ASTM the one in inches.
	Diameter Length
	// AreaTenthsMM2 is the nominal cross section in 0.1 mm2.
	AreaTenthsMM2 int64
	// AreaHundredthsIn2 is the nominal cross section in 0.01 in2, for ASTM only.
	AreaHundredthsIn2 int64
	// UnderPermille is how far a bar may weigh less than the nominal, in thousandths; 0 where no
	// standard was read.
	UnderPermille int64

	Edition string // edition of the standard that was read
	Source  string // table or clause
}

const (
	astmSource  = "ASTM A615/A615M and A706/A706M Table 1"
	enSource    = "EN 10080 nominal sizes; mass = 0.00785 kg/(mm2 m) x nominal area"
	csaSource   = "CSA G30.18 nominal sizes; mass = 0.00785 kg/(mm2 m) x nominal area"
	milliInch   = Inch / 1000
	tenthOfMM   = Millimetre / 10
	astmEdition = "A706/A706M-16"
)

// rows are all sizes, system by system, by diameter. The 94 % of ASTM is from memory; the 6 and
// 4.5 % of EN are those of BS 4449:2005 for B500B. Public copies of these tables carry misprints
// (#5 as 1.522 kg/m, 55M as 2000 mm2); the tests compute every column from another one.
var rows = []Row{
	{"#3", ASTM, 10, 376, 560, 375 * milliInch, 710, 11, 60, astmEdition, astmSource},
	{"#4", ASTM, 13, 668, 994, 500 * milliInch, 1290, 20, 60, astmEdition, astmSource},
	{"#5", ASTM, 16, 1043, 1552, 625 * milliInch, 1990, 31, 60, astmEdition, astmSource},
	{"#6", ASTM, 19, 1502, 2235, 750 * milliInch, 2840, 44, 60, astmEdition, astmSource},
	{"#7", ASTM, 22, 2044, 3042, 875 * milliInch, 3870, 60, 60, astmEdition, astmSource},
	{"#8", ASTM, 25, 2670, 3973, 1000 * milliInch, 5100, 79, 60, astmEdition, astmSource},
	{"#9", ASTM, 29, 3400, 5060, 1128 * milliInch, 6450, 100, 60, astmEdition, astmSource},
	{"#10", ASTM, 32, 4303, 6404, 1270 * milliInch, 8190, 127, 60, astmEdition, astmSource},
	{"#11", ASTM, 36, 5313, 7907, 1410 * milliInch, 10060, 156, 60, astmEdition, astmSource},
	{"#14", ASTM, 43, 7650, 11380, 1693 * milliInch, 14520, 225, 60, astmEdition, astmSource},
	{"#18", ASTM, 57, 13600, 20240, 2257 * milliInch, 25810, 400, 60, astmEdition, astmSource},
	{"#20", ASTM, 64, 16690, 24840, 2500 * milliInch, 31670, 491, 60, "A615/A615M-20", "ASTM A615/A615M Table 1, from memory"},

	{"6mm", EN, 0, 0, 222, 6 * Millimetre, 283, 0, 60, "2005", enSource},
	{"8mm", EN, 0, 0, 395, 8 * Millimetre, 503, 0, 60, "2005", enSource},
	{"10mm", EN, 0, 0, 617, 10 * Millimetre, 785, 0, 45, "2005", enSource},
	{"12mm", EN, 0, 0, 888, 12 * Millimetre, 1130, 0, 45, "2005", enSource},
	{"14mm", EN, 0, 0, 1210, 14 * Millimetre, 1540, 0, 45, "2005", enSource},
	{"16mm", EN, 0, 0, 1580, 16 * Millimetre, 2010, 0, 45, "2005", enSource},
	{"20mm", EN, 0, 0, 2470, 20 * Millimetre, 3140, 0, 45, "2005", enSource},
	{"25mm", EN, 0, 0, 3850, 25 * Millimetre, 4910, 0, 45, "2005", enSource},
	{"28mm", EN, 0, 0, 4830, 28 * Millimetre, 6160, 0, 45, "2005", enSource},
	{"32mm", EN, 0, 0, 6310, 32 * Millimetre, 8040, 0, 45, "2005", enSource},
	{"40mm", EN, 0, 0, 9860, 40 * Millimetre, 12570, 0, 45, "2005", enSource},
	{"50mm", EN, 0, 0, 15400, 50 * Millimetre, 19630, 0, 45, "2005", enSource},

	{"10M", CSA, 0, 0, 785, 113 * tenthOfMM, 1000, 0, 0, "", csaSource},
	{"15M", CSA, 0, 0, 1570, 160 * tenthOfMM, 2000, 0, 0, "", csaSource},
	{"20M", CSA, 0, 0, 2355, 195 * tenthOfMM, 3000, 0, 0, "", csaSource},
	{"25M", CSA, 0, 0, 3925, 252 * tenthOfMM, 5000, 0, 0, "", csaSource},
	{"30M", CSA, 0, 0, 5495, 299 * tenthOfMM, 7000, 0, 0, "", csaSource},
	{"35M", CSA, 0, 0, 7850, 357 * tenthOfMM, 10000, 0, 0, "", csaSource},
	{"45M", CSA, 0, 0, 11775, 437 * tenthOfMM, 15000, 0, 0, "", csaSource},
	{"55M", CSA, 0, 0, 19625, 564 * tenthOfMM, 25000, 0, 0, "", csaSource},
}

// rowOf finds a row by its size.
var rowOf = func() map[Size]Row {
	m := make(map[Size]Row, len(rows))
	for _, r := range rows {
		m[r.Size] = r
	}
	return m
}()

// Sizes lists the sizes of a system (ASTM, EN or CSA), thinnest first; of "" those of all systems,
// and of any other word none.
func Sizes(system string) []Size {
	var out []Size
	for _, r := range rows {
		if system == "" || r.System == system {
			out = append(out, r.Size)
		}
	}
	return out
}

// Row is what the standard says about s; false if s is no size that ParseSize makes.
func (s Size) Row() (Row, bool) {
	r, ok := rowOf[s]
	return r, ok
}

// System is the size system of s, "" if s is no size.
func (s Size) System() string { return rowOf[s].System }

// number is the number in a size's name: 5 of #5, 16 of 16mm.
func (r Row) number() int {
	n, _ := strconv.Atoi(strings.Trim(string(r.Size), "#mM"))
	return n
}

// says describes a row to someone who wrote an unclear size.
func (r Row) says() string {
	return fmt.Sprintf("%s (%s, %s)", r.Size, r.System, r.Diameter.Millimetres())
}

// softMetric is the system of the ASTM designations in brackets.
const softMetric = "soft metric"

// notations are the ways to write a size: a number between a prefix and a suffix, blanks apart.
// Capitals matter: D16 is a wire of ASTM A1064, or a bar of a system that is not here, and 20m is a
// slip for 20M or for 20mm.
var notations = []struct{ prefix, suffix, system string }{
	{"#", "", ASTM}, {"№", "", ASTM}, {"Nº", "", ASTM}, {"N°", "", ASTM},
	{"No.", "", ASTM}, {"NO.", "", ASTM}, {"no.", "", ASTM},
	{"No", "", ASTM}, {"NO", "", ASTM}, {"no", "", ASTM},
	{"[", "]", softMetric},
	{"", "mm", EN}, {"", "MM", EN},
	{"Ø", "mm", EN}, {"ø", "mm", EN}, {"⌀", "mm", EN}, {"Φ", "mm", EN}, {"φ", "mm", EN}, {"d", "mm", EN},
	{"Ø", "", EN}, {"ø", "", EN}, {"⌀", "", EN}, {"Φ", "", EN}, {"φ", "", EN}, {"d", "", EN},
	{"", "M", CSA},
}

// ParseSize reads a bar size: #5, # 5, No. 5 and the soft metric [16] for ASTM; 16mm, 16 mm, Ø16
// and d16 for EN; 15M for CSA. A number alone is refused, for 10 is a bar of 9.5 mm in one
// system, of 10 mm in another and of 11.3 mm in a third; the error lists what it may mean and how to
// write each.
func ParseSize(s string) (Size, error) {
	t := strings.Join(strings.Fields(s), "")
	if t == "" {
		return "", fmt.Errorf("size is empty: write it like #5, 16mm or 15M")
	}
	if i := strings.IndexByte(t, '['); i > 0 {
		return bothSizes(s, t[:i], t[i:])
	}
	for _, n := range notations {
		rest, ok1 := strings.CutPrefix(t, n.prefix)
		rest, ok2 := strings.CutSuffix(rest, n.suffix)
		if number, ok := sizeNumber(rest); ok1 && ok2 && ok {
			return findSize(s, n.system, number)
		}
	}
	if number, ok := sizeNumber(t); ok {
		return "", bareSize(s, number)
	}
	return "", fmt.Errorf("size %s is not readable: write it like #5, 16mm or 15M", quote(s))
}

// bothSizes reads both designations of one ASTM bar: #5 [16].
func bothSizes(s, inch, soft string) (Size, error) {
	a, err := ParseSize(inch)
	if err != nil {
		return "", err
	}
	b, err := ParseSize(soft)
	if err != nil {
		return "", err
	}
	if a != b {
		return "", fmt.Errorf("size %s contradicts itself: %s is %s", quote(s), soft, b)
	}
	return a, nil
}

// sizeNumber reads the number of a size: one or two digits, not beginning with 0.
func sizeNumber(s string) (int, bool) {
	if len(s) > 2 || strings.HasPrefix(s, "0") || strings.Trim(s, "0123456789") != "" {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

// findSize is the size of that number in a system; s is what was written.
func findSize(s, system string, number int) (Size, error) {
	for _, r := range rows {
		if system == softMetric && r.SoftMetric == number || system == r.System && r.number() == number {
			return r.Size, nil
		}
	}
	for _, r := range rows {
		if system == ASTM && r.SoftMetric == number {
			return "", fmt.Errorf("there is no size %s; the soft metric [%d] is %s: write one of these", quote(s), number, r.Size)
		}
	}
	if system == softMetric {
		system = ASTM
	}
	var names []string
	for _, size := range Sizes(system) {
		names = append(names, string(size))
	}
	return "", fmt.Errorf("there is no size %s: %s has %s", quote(s), system, strings.Join(names, ", "))
}

// bareSize is the refusal of a number alone, with all it may mean.
func bareSize(s string, n int) error {
	var means []string
	for _, r := range rows {
		if r.SoftMetric == n {
			means = append(means, fmt.Sprintf("[%d] = %s", n, r.says()))
		}
		if r.number() == n {
			means = append(means, r.says())
		}
	}
	switch len(means) {
	case 0:
		return fmt.Errorf("size %s is in no system: write it like #5, 16mm or 15M", quote(s))
	case 1:
		return fmt.Errorf("size %s does not say its system: write %s", quote(s), means[0])
	}
	return fmt.Errorf("size %s may mean %s or %s: write which", quote(s), strings.Join(means[:len(means)-1], ", "), means[len(means)-1])
}
