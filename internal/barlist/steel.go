package barlist

import (
	"strings"

	"tagd/internal/bar"
	"tagd/internal/sheet"
)

// units is how lengths are written to people.
func (d Defaults) units() bar.Units {
	if d.Units == "" {
		return bar.Imperial
	}
	return d.Units
}

// readSteel reads the four fields that name a steel; what is empty is taken from the defaults. A
// grade without a spec takes the plant's spec if that has such a grade, else the one spec that does.
func readSteel(size, spec, grade, coating string, d Defaults, row int, r *sheet.Report) bar.Steel {
	if size == "" {
		return bar.Steel{} // reported where it was read
	}
	if coating == "" {
		coating = d.Coating
	}
	ownSpec := spec != ""
	if !ownSpec {
		spec = d.Spec
	}
	ownGrade := grade != ""
	if !ownGrade {
		grade = d.Grade
	}
	steel, err := bar.ParseSteel(size, spec, grade, coating)
	if err == nil {
		return steel
	}
	if ownGrade && !ownSpec && spec != "" {
		if steel, err := bar.ParseSteel(size, "", grade, coating); err == nil {
			return steel
		}
	}
	steelFault(err, row, r)
	if _, bad := bar.ParseSize(size); bad != nil {
		// All faults come at once: say also what is wrong whatever the size is.
		var before string
		for i, any := range []string{"#5", "16mm", "15M"} {
			_, err := bar.ParseSteel(any, spec, grade, coating)
			if err == nil || i > 0 && err.Error() != before {
				return bar.Steel{}
			}
			before = err.Error()
			if i == 2 {
				steelFault(err, row, r)
			}
		}
	}
	return bar.Steel{}
}

// steelFault reports an error of bar.ParseSteel, which begins with the name of the field.
func steelFault(err error, row int, r *sheet.Report) {
	field, says, ok := strings.Cut(err.Error(), ": ")
	if !ok {
		field, says = "size", err.Error()
	}
	r.Fault(row, field, "%s", says)
}
