package barlist

import (
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
	usual := bar.Steel{Spec: d.Spec, Grade: d.Grade, Coating: d.Coating}
	steel, err := bar.SteelOr(size, spec, grade, coating, usual)
	if err == nil {
		return steel
	}
	steelFault(err, row, r)
	if _, bad := bar.ParseSize(size); bad != nil {
		// All faults come at once: say also what is wrong whatever the size is.
		var before string
		for i, any := range []string{"#5", "16mm", "15M"} {
			_, err := bar.SteelOr(any, spec, grade, coating, usual)
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

// steelFault reports an error of bar.SteelOr.
func steelFault(err error, row int, r *sheet.Report) {
	field, says := bar.SteelField(err)
	r.Fault(row, field, "%s", says)
}
