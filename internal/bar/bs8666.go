package bar

import (
	"fmt"
	"slices"
	"strings"
)

type bs8666Row struct {
	codes string // that share the formula
	terms []bs8666Term
	r, d  Length // hundredths of r and of d
}

type bs8666Term struct {
	dim        byte
	hundredths Length
}

// bs8666 gives for a shape code the total length of the bar, in hundredths: so many A, B ... R, less
// so many bending radii r and diameters d. BS 8666:2005 Table 3. The 2020 edition is a revision of
// which no table was read. The rows 14, 15, 25 to 29, 34 to 36 and 46 are approximate for bends over
// 45 degrees (from memory); the 2A of 47 is a reading of a garbled print.
var bs8666 = []bs8666Row{
	{"00 01", []bs8666Term{{'A', 100}}, 0, 0},
	{"11", []bs8666Term{{'A', 100}, {'B', 100}}, -50, -100},
	{"12", []bs8666Term{{'A', 100}, {'B', 100}, {'R', -43}}, 0, -120},
	{"13", []bs8666Term{{'A', 100}, {'B', 57}, {'C', 100}}, 0, -160},
	{"14", []bs8666Term{{'A', 100}, {'C', 100}}, 0, -400},
	{"15", []bs8666Term{{'A', 100}, {'C', 100}}, 0, 0},
	{"21 23 29", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}}, -100, -200},
	{"22 31 32", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'D', 100}}, -150, -300},
	{"24 26", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}}, 0, 0},
	{"25", []bs8666Term{{'A', 100}, {'B', 100}, {'E', 100}}, 0, 0},
	{"27 28", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}}, -50, -100},
	{"33", []bs8666Term{{'A', 200}, {'B', 170}, {'C', 200}}, 0, -400},
	{"34 35", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'E', 100}}, -50, -100},
	{"36", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'D', 100}}, -100, -200},
	{"41 44", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'D', 100}, {'E', 100}}, -200, -400},
	{"46", []bs8666Term{{'A', 100}, {'B', 200}, {'C', 100}, {'E', 100}}, 0, 0},
	{"47", []bs8666Term{{'A', 200}, {'B', 100}, {'C', 200}}, 150, -300},
	{"51", []bs8666Term{{'A', 200}, {'B', 200}, {'C', 200}}, -250, -500},
	{"56", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'D', 100}, {'E', 200}}, -250, -500},
	{"63", []bs8666Term{{'A', 200}, {'B', 300}, {'C', 200}}, -300, -600},
	{"64", []bs8666Term{{'A', 100}, {'B', 100}, {'C', 100}, {'D', 200}, {'E', 100}, {'F', 100}}, -300, -600},
	{"67", []bs8666Term{{'A', 100}}, 0, 0},
	{"98", []bs8666Term{{'A', 100}, {'B', 200}, {'C', 100}, {'D', 100}}, -200, -400},
}

// bs8666Radii are the scheduling radii by diameter in millimetres, and the diameters of the formers.
// BS 8666:2005 Table 2: the former is 4d up to 16 mm and 7d above, the radius its half in whole
// millimetres, rounded down.
var bs8666Radii = map[Length][2]Length{
	6: {12, 24}, 8: {16, 32}, 10: {20, 40}, 12: {24, 48}, 16: {32, 64},
	20: {70, 140}, 25: {87, 175}, 32: {112, 224}, 40: {140, 280}, 50: {175, 350},
}

// BS8666Radius is the least scheduling radius r for a bar of diameter d, and the diameter of its
// former, by BS 8666:2005 Table 2; false for a diameter that the table does not have.
func BS8666Radius(d Length) (r, former Length, ok bool) {
	row, ok := bs8666Radii[d/Millimetre]
	if !ok || d%Millimetre != 0 {
		return 0, 0, false
	}
	return row[0] * Millimetre, row[1] * Millimetre, true
}

// BS8666Length is the total length of a bar of diameter d bent to a shape code of BS 8666:2005 with
// bending radius r (0 is the least of Table 2), from its outer dimensions A to F and the radius R of
// shape 12. Of shape 77 (a helix) C is the number of turns: Length(12) is twelve. The result is not
// rounded up to the next 25 mm as schedules are. It fails on a code without a formula (99 is a
// sketch), on a dimension that is missing or that the shape does not have, and on dimensions that
// leave nothing.
func BS8666Length(code string, d, r Length, dims map[byte]Length) (Length, error) {
	if d <= 0 || d > Metre || r < 0 || r > MaxLength {
		return 0, fmt.Errorf("shape %s: no bar of diameter %s is bent with radius %s", quote(code), d.Millimetres(), r.Millimetres())
	}
	var total Length
	if code == "75" || code == "77" {
		l, err := ringLength(code, d, dims)
		if err != nil {
			return 0, err
		}
		total = l
	} else {
		i := slices.IndexFunc(bs8666, func(f bs8666Row) bool { return slices.Contains(strings.Fields(f.codes), code) })
		if i < 0 {
			return 0, fmt.Errorf("shape %s has no formula in BS 8666:2005", quote(code))
		}
		f := bs8666[i]
		if r == 0 && f.r != 0 {
			if r, _, _ = BS8666Radius(d); r == 0 {
				return 0, fmt.Errorf("shape %s: BS 8666:2005 has no bending radius for a bar of %s: give one", code, d.Millimetres())
			}
		}
		var letters string
		for _, term := range f.terms {
			letters += string(term.dim)
		}
		if err := checkDims(code, letters, dims); err != nil {
			return 0, err
		}
		total = f.r*r + f.d*d
		for _, term := range f.terms {
			total += term.hundredths * dims[term.dim]
		}
		total = (total + 50) / 100
	}
	if total <= 0 {
		return 0, fmt.Errorf("shape %s: its dimensions leave no length for a bar of %s", code, d.Millimetres())
	}
	return total, nil
}

// ringLength is pi (A-d) + B for shape 75, a ring with lap B, and C turns of pi (A-d) for the helix 77.
func ringLength(code string, d Length, dims map[byte]Length) (Length, error) {
	letters, turns := "AB", Length(1)
	if code == "77" {
		letters, turns = "AC", dims['C']
	}
	if err := checkDims(code, letters, dims); err != nil {
		return 0, err
	}
	if turns > 1000 {
		return 0, fmt.Errorf("shape 77: C is the number of turns, at most 1000")
	}
	if dims['A'] <= d {
		return 0, fmt.Errorf("shape %s: A is the outer diameter, and %s is no ring of a bar of %s", code, dims['A'].Millimetres(), d.Millimetres())
	}
	return timesPi(uint64((dims['A']-d)*turns), 1) + dims['B'], nil
}

// checkDims says whether dims are exactly the letters that a shape has.
func checkDims(code, letters string, dims map[byte]Length) error {
	list := strings.Join(strings.Split(letters, ""), ", ")
	for i := range len(letters) {
		switch l := dims[letters[i]]; {
		case l <= 0:
			return fmt.Errorf("shape %s: dimension %c is missing: it needs %s", code, letters[i], list)
		case l > MaxLength:
			return fmt.Errorf("shape %s: dimension %c is over 1000 m", code, letters[i])
		}
	}
	if len(dims) > len(letters) {
		return fmt.Errorf("shape %s has the dimensions %s and no others: is the code right?", code, list)
	}
	return nil
}
