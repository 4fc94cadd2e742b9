package barlist

import (
	"cmp"

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

// readSteel reads the four fields that name a steel, as bar.SteelOr does with the defaults.
func readSteel(size, spec, grade, coating string, d Defaults, row int, r *sheet.Report) bar.Steel {
	if size == "" {
		return bar.Steel{} // reported where it was read
	}
	steel, err := bar.SteelOr(size, spec, grade, coating, bar.Steel{Spec: d.Spec, Grade: d.Grade, Coating: d.Coating})
	if err == nil {
		return steel
	}
	steelFault(err, row, r)
	if _, bad := bar.ParseSize(size); bad != nil {
		// All faults come at once: say also what is wrong whatever the size is.
		spec, grade, coating = cmp.Or(spec, d.Spec), cmp.Or(grade, d.Grade), cmp.Or(coating, d.Coating)
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

// steelFault reports an error of bar.ParseSteel.
func steelFault(err error, row int, r *sheet.Report) {
	field, says := bar.SteelField(err)
	r.Fault(row, field, "%s", says)
}
