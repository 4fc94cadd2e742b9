package barlist

import (
	"strings"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// Form is what a bar is for a shop that asks on which machine it is made.
type Form string

// The forms.
const (
	Straight Form = "straight"
	Bent     Form = "bent"
	Stirrup  Form = "stirrup" // stirrups, closed ties and links, rings
	Spiral   Form = "spiral"
)

// bs8666Forms are the shape codes of BS 8666:2005 Table 3 that are links (47, 51, 63), a ring with a
// lap (75) and a helix (77). Which ones are links is from memory.
var bs8666Forms = map[string]Form{"47": Stirrup, "51": Stirrup, "63": Stirrup, "75": Stirrup, "77": Spiral}

// FormOf is the form of a shape: by its code where the edition says which code it is, else by its
// bends.
//
// ACI 315 Fig. 10 has S1, S2 ... for stirrups, T1, T2 ... for ties, and SP for a spiral; ISO 3766 has
// the codes of BS 8666. A shape whose arcs turn by more than one full circle together is a spiral. One
// with three bends at least, that all turn one way and by 270 degrees together or more, is a stirrup:
// it goes round something, with its hooks or without. That is a rule of thumb without source; a plain
// bar with two hooks has two bends.
func FormOf(s bar.Shape) Form {
	code, edition := sheet.Fold(s.Code), sheet.Fold(s.Edition)
	switch {
	case strings.Contains(edition, "8666"), strings.Contains(edition, "3766"):
		if f, ok := bs8666Forms[code]; ok {
			return f
		}
	case strings.Contains(edition, "aci"):
		if code == "sp" {
			return Spiral
		}
		if (strings.HasPrefix(code, "s") || strings.HasPrefix(code, "t")) && number(code[1:]) {
			return Stirrup
		}
	}
	if len(s.Legs) == 0 {
		if straightShapes[code] {
			return Straight
		}
		return Bent
	}
	var arcs, left, right int32
	for _, l := range s.Legs {
		turn := max(l.Turn, -l.Turn)
		if l.Radius != 0 {
			arcs += turn
		}
		if l.Turn > 0 {
			left += turn
		} else {
			right += turn
		}
	}
	switch {
	case s.Straight():
		return Straight
	case arcs > 3600:
		return Spiral
	case (s.Bends() >= 3 || arcs > 0) && (left == 0 || right == 0) && left+right >= 2700:
		return Stirrup
	}
	return Bent
}

func number(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }

// Routes are the steps of a line whose list does not say them, by the form of its bars. A form that is
// not there is cut, and bent if it is not straight.
type Routes map[Form][]string

// Of is the steps of a line: those that the list names, else those of its form.
func (r Routes) Of(l Line) []string {
	if l.Route != nil {
		return l.Route
	}
	form := FormOf(l.Shape)
	if route, ok := r[form]; ok {
		return route
	}
	if form == Straight {
		return []string{"cut"}
	}
	return []string{"cut", "bend"}
}
