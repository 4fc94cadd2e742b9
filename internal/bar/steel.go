package bar

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// Spec is a standard that bars are made to, with what it allows.
type Spec struct {
	Name   string // as Steel.Spec has it: "A615", "A615/A706", "BS4449", "G30.18"
	Title  string // as papers print it
	System string // the size system of its bars: ASTM, EN or CSA
	Grades []Grade
	// ByGrade says that a grade of this spec alone may stand for the spec, if no other has it too.
	// EN 10080 leaves grades to the standards that build on it, so B500B alone is BS 4449.
	ByGrade bool
	Edition string // edition that was read
	Source  string
}

// Grade is a strength grade of a spec and the sizes it is made in.
type Grade struct {
	Name       string // as Steel.Grade has it: "60", "B500B", "400W"
	SoftMetric string // the same grade in MPa ("420" is 60); "" if it has none
	From, To   Size   // thinnest and thickest bar
	Editions   string // editions that have the grade, if not all; "" is all
	Source     string // of the sizes and editions, where it is not the spec's
}

// Specs are the standards tagd knows. A bar rolled to meet two of them is a spec of its own.
// They are given in a fixed order; the slice is the caller's.
func Specs() []Spec { return slices.Clone(specs) }

var specs = []Spec{
	{
		Name: "A615", Title: "ASTM A615/A615M", System: ASTM, ByGrade: true,
		Edition: "2020", Source: "ASTM A615/A615M clause 1.2 and Table 2",
		Grades: []Grade{
			{Name: "40", SoftMetric: "280", From: "#3", To: "#6", Source: "ASTM A615/A615M Table 2"},
			{Name: "60", SoftMetric: "420", From: "#3", To: "#20"},
			{Name: "75", SoftMetric: "520", From: "#3", To: "#20", Editions: "up to 2018", Source: "in clause 1.2 of A615-16, not of A615-20"},
			{Name: "80", SoftMetric: "550", From: "#3", To: "#20"},
			{Name: "100", SoftMetric: "690", From: "#3", To: "#20"},
		},
	},
	{
		Name: "A706", Title: "ASTM A706/A706M", System: ASTM, ByGrade: true,
		Edition: "2016, with grade 100 of 2022", Source: "ASTM A706/A706M Table 2; #20 is in A615 only",
		Grades: []Grade{
			{Name: "60", SoftMetric: "420", From: "#3", To: "#18"},
			{Name: "80", SoftMetric: "550", From: "#3", To: "#18"},
			{Name: "100", SoftMetric: "690", From: "#3", To: "#18", Editions: "from 2022", Source: "edition from memory"},
		},
	},
	{
		Name: "A615/A706", Title: "ASTM A615/A615M and A706/A706M", System: ASTM,
		Edition: "as the two", Source: "common practice: a bar marked for both meets both",
		Grades: []Grade{
			{Name: "60", SoftMetric: "420", From: "#3", To: "#18"},
			{Name: "80", SoftMetric: "550", From: "#3", To: "#18"},
			{Name: "100", SoftMetric: "690", From: "#3", To: "#18", Editions: "from 2022", Source: "edition from memory"},
		},
	},
	{
		Name: "BS4449", Title: "BS 4449", System: EN, ByGrade: true,
		Edition: "2005+A3", Source: "BS 4449:2005+A3, grades as in its scope; sizes as EN 10080 has them",
		Grades: []Grade{
			{Name: "B500A", From: "6mm", To: "50mm"},
			{Name: "B500B", From: "6mm", To: "50mm"},
			{Name: "B500C", From: "6mm", To: "50mm"},
		},
	},
	{
		Name: "EN10080", Title: "EN 10080", System: EN,
		Edition: "2005", Source: "EN 10080:2005; classes A, B and C from EN 1992-1-1 Annex C",
		Grades: []Grade{
			{Name: "B500A", From: "6mm", To: "50mm"},
			{Name: "B500B", From: "6mm", To: "50mm"},
			{Name: "B500C", From: "6mm", To: "50mm"},
		},
	},
	{
		Name: "G30.18", Title: "CSA G30.18", System: CSA, ByGrade: true,
		Edition: "2009 and 2021", Source: "CSA G30.18 scope",
		Grades: []Grade{
			{Name: "400R", From: "10M", To: "55M"},
			{Name: "400W", From: "10M", To: "55M"},
			{Name: "500R", From: "10M", To: "55M", Editions: "2009"},
			{Name: "500W", From: "10M", To: "55M"},
			{Name: "600W", From: "10M", To: "55M", Editions: "from 2021"},
		},
	},
}

// Coating is what a bar is coated with, or plain.
type Coating struct {
	Name     string // as Steel.Coating has it; "" is plain
	Standard string // what the coating is done to; "" for plain
	spelled  []string
}

// Coatings are the coatings tagd knows, plain first; the slice is the caller's.
func Coatings() []Coating { return slices.Clone(coatings) }

// coatings have their common spellings, folded by fold.
var coatings = []Coating{
	{"", "", []string{"", "plain", "black", "none", "uncoated", "bare", "no", "-"}},
	{"epoxy", "ASTM A775/A775M", []string{"epoxy", "epoxycoated", "ec", "ecr", "a775"}},
	{"epoxy-prefabricated", "ASTM A934/A934M", []string{"epoxyprefabricated", "prefabricatedepoxy", "epoxya934", "a934"}},
	{"galvanized", "ASTM A767/A767M", []string{"galvanized", "galvanised", "galv", "galv.", "hotdipgalvanized", "hotdipgalvanised", "hdg", "a767"}},
	{"dual", "ASTM A1055/A1055M", []string{"dual", "dualcoated", "zincandepoxy", "zincepoxy", "a1055"}},
}

// String names the steel whole, as tags and pages do: "#5 A706 60", "16mm BS4449 B500B",
// "#5 A615 60 epoxy".
func (s Steel) String() string {
	parts := make([]string, 0, 4)
	for _, p := range []string{string(s.Size), s.Spec, s.Grade, s.Coating} {
		if p != "" {
			parts = append(parts, p)
		}
	}
	return strings.Join(parts, " ")
}

// Matches says whether stock may be cut for a line that asks for s: it is the same steel, or it is
// marked for two specs (A615/A706) of which s is one. That another spec would do as well is for an
// engineer to say, not for tagd.
func (s Steel) Matches(stock Steel) bool {
	if s == stock {
		return true
	}
	one, two, dual := strings.Cut(stock.Spec, "/")
	if !dual || s.Spec != one && s.Spec != two {
		return false
	}
	stock.Spec = s.Spec
	return s == stock
}

// SteelOr is ParseSteel for who has a usual steel: what is empty is taken from that. A grade without a
// spec takes the usual spec if that has such a grade, else the one spec that does.
func SteelOr(size, spec, grade, coating string, usual Steel) (Steel, error) {
	coating = cmp.Or(coating, usual.Coating)
	s, err := ParseSteel(size, cmp.Or(spec, usual.Spec), cmp.Or(grade, usual.Grade), coating)
	if err != nil && grade != "" && spec == "" && usual.Spec != "" {
		if other, err := ParseSteel(size, "", grade, coating); err == nil {
			return other, nil
		}
	}
	return s, err
}

// SteelField parts an error of ParseSteel into the name of the field and what is wrong with it.
func SteelField(err error) (field, says string) {
	field, says, ok := strings.Cut(err.Error(), ": ")
	if !ok {
		return "size", err.Error()
	}
	return field, says
}

// ParseSteel reads the four fields that name a steel, in the spellings of bar lists and mill tags:
// sizes as ParseSize does; specs with or without ASTM, BS or CSA, the metric twin (A615/A615M) and an
// edition (A615-20; the edition is no part of what must match); grades as 60, Gr 60, Grade 60 or
// 420; coatings as Coatings names them or as EC, GALV, black. An empty spec is taken from the grade
// where one spec alone has it (B500B); 60 alone is refused. Errors begin with the field's name.
func ParseSteel(size, spec, grade, coating string) (Steel, error) {
	var s Steel
	var err error
	if s.Size, err = ParseSize(size); err != nil {
		return Steel{}, fmt.Errorf("size: %w", err)
	}
	if s.Coating, err = parseCoating(coating); err != nil {
		return Steel{}, fmt.Errorf("coating: %w", err)
	}
	name := foldGrade(grade)
	if name == "" {
		return Steel{}, fmt.Errorf("grade: is empty: write it like 60, B500B or 400W")
	}
	var sp Spec
	if strings.TrimSpace(spec) == "" {
		sp, err = specOf(s.Size, grade, name)
	} else {
		sp, err = findSpec(spec)
	}
	if err != nil {
		return Steel{}, fmt.Errorf("spec: %w", err)
	}
	g, ok := sp.grade(name)
	if !ok {
		return Steel{}, fmt.Errorf("grade: %s has no grade %s: it has %s", sp.Name, quote(grade), sp.gradeNames())
	}
	if s.Size.System() != sp.System {
		return Steel{}, fmt.Errorf("size: %s is a size of %s, but %s has %s sizes, %s to %s",
			s.Size, s.Size.System(), sp.Name, sp.System, g.From, g.To)
	}
	if !g.made(s.Size) {
		return Steel{}, fmt.Errorf("size: %s grade %s is made from %s to %s, not in %s", sp.Name, g.Name, g.From, g.To, s.Size)
	}
	s.Spec, s.Grade = sp.Name, g.Name
	return s, nil
}

// made says whether a bar of this size, in the grade's system, is made in the grade.
func (g Grade) made(s Size) bool {
	d := rowOf[s].Diameter
	return rowOf[g.From].Diameter <= d && d <= rowOf[g.To].Diameter
}

// grade finds a grade by its folded name, in ksi or in MPa.
func (sp Spec) grade(name string) (Grade, bool) {
	for _, g := range sp.Grades {
		if name == g.Name || g.SoftMetric != "" && (name == g.SoftMetric ||
			name == g.Name+"/"+g.SoftMetric || name == g.SoftMetric+"/"+g.Name ||
			name == g.Name+"["+g.SoftMetric+"]" || name == g.SoftMetric+"["+g.Name+"]") {
			return g, true
		}
	}
	return Grade{}, false
}

func (sp Spec) gradeNames() string {
	var names []string
	for _, g := range sp.Grades {
		names = append(names, g.Name)
	}
	return strings.Join(names, ", ")
}

// specOf finds the one spec that a grade of this size can stand for.
func specOf(size Size, written, grade string) (Spec, error) {
	var found []Spec
	var all []string
	for _, sp := range specs {
		g, ok := sp.grade(grade)
		if !ok || sp.System != size.System() || !g.made(size) {
			continue
		}
		all = append(all, sp.Name)
		if sp.ByGrade {
			found = append(found, sp)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return Spec{}, fmt.Errorf("is empty, and no spec of %s has grade %s: write one of %s", size, quote(written), specNames())
	}
	return Spec{}, fmt.Errorf("is empty, and grade %s of %s may be %s: write which", quote(written), size, strings.Join(all, ", "))
}

func specNames() string {
	var names []string
	for _, sp := range specs {
		names = append(names, sp.Name)
	}
	return strings.Join(names, ", ")
}

// findSpec finds a spec by what people write for it.
func findSpec(s string) (Spec, error) {
	t := fold(s)
	for _, issuer := range []string{"astm", "can/", "csa", "-", "bsen", "nf", "din", "uneen"} {
		t = strings.TrimPrefix(t, issuer)
	}
	var names []string
	for part := range strings.SplitSeq(strings.NewReplacer("&", "/", "and", "/").Replace(t), "/") {
		part = strings.TrimPrefix(part, "astm")
		if i := strings.IndexAny(part, "-:"); i > 0 && edition(part[i+1:]) {
			part = part[:i]
		}
		if strings.HasPrefix(part, "a") {
			part = strings.TrimSuffix(part, "m")
		}
		names = append(names, part)
	}
	// A615/A615M is one spec, A706/A615 the same two as A615/A706.
	slices.Sort(names)
	t = strings.Join(slices.Compact(names), "/")
	for _, sp := range specs {
		if t == strings.ToLower(sp.Name) || t == strings.TrimPrefix(strings.ToLower(sp.Name), "en") {
			return sp, nil
		}
	}
	return Spec{}, fmt.Errorf("%s is not known: write one of %s", quote(s), specNames())
}

// edition says whether s is the year of a standard: 20, 16b, 2005, 05a1, 2005+a3.
func edition(s string) bool {
	if len(s) < 2 || !isDigit(s[0]) || !isDigit(s[1]) {
		return false
	}
	for i := range len(s) {
		if c := s[i]; !isDigit(c) && c != '+' && c != ':' && (c < 'a' || c > 'e') {
			return false
		}
	}
	return true
}

// foldGrade drops the word before a grade and writes it as the tables do.
func foldGrade(s string) string {
	t := fold(s)
	for _, word := range []string{"grade", "grado", "gr.", "gr", "g"} {
		if rest, ok := strings.CutPrefix(t, word); ok {
			t = rest
			break
		}
	}
	return strings.ToUpper(t)
}

// parseCoating finds a coating by what people write for it.
func parseCoating(s string) (string, error) {
	t := fold(s)
	if t != "-" {
		t = strings.ReplaceAll(t, "-", "")
	}
	t = strings.TrimPrefix(t, "astm")
	if name, twin, ok := strings.Cut(t, "/"); ok && twin == name+"m" { // A775/A775M
		t = name
	}
	for _, c := range coatings {
		if slices.Contains(c.spelled, t) {
			return c.Name, nil
		}
	}
	var known []string
	for _, c := range coatings[1:] {
		known = append(known, fmt.Sprintf("%s (%s)", c.Name, c.Standard))
	}
	return "", fmt.Errorf("%s is not known: write plain, %s", quote(s), strings.Join(known, ", "))
}

// fold takes out what spellings differ in: case and blanks.
func fold(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), "")) }
