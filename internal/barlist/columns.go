package barlist

import (
	"strings"

	"tagd/internal/sheet"
)

// Columns are the columns of a bar list. Names are compared without case, accents, blanks and
// punctuation; the order of the columns is free.
var Columns = []sheet.Column{
	{Name: "job", Also: []string{"obra"}, About: "number of the job"},
	{Name: "list", Also: []string{"lista", "bar list", "release"}, About: "list number, the release"},
	{Name: "revision", Also: []string{"revisión", "rev"}, About: "revision of the list"},
	{Name: "mark", Also: []string{"marca", "bar mark"}, Must: true, About: "mark on the placing drawing, once in a list"},
	{Name: "size", Also: []string{"calibre"}, Must: true, About: "#5, 16mm or 15M; a bare number is refused"},
	{Name: "spec", Also: []string{"norma", "especificación", "specification"}, About: "A615, A706, BS4449"},
	{Name: "grade", Also: []string{"grado"}, About: "60, B500B, 400W"},
	{Name: "coating", Also: []string{"recubrimiento"}, About: "epoxy, galvanized, dual; empty is plain"},
	{Name: "length", Also: []string{"largo", "longitud", "cut length"}, Must: true, Unit: true, About: "cut length of a piece: 11'-6\", 138 in, 3505 mm, 3.505 m"},
	{Name: "pieces", Also: []string{"piezas", "cantidad", "pcs", "qty", "quantity"}, Must: true, About: "how many, a whole number"},
	{Name: "shape", Also: []string{"forma", "figura", "bend type"}, About: "shape code as on the list, or straight"},
	{Name: "edition", Also: []string{"edición"}, About: "what the shape code belongs to: ACI 315-99, BS 8666:2005"},
	{Name: "bends", Also: []string{"dobleces"}, About: "legs and angles along the bar"},
	{Name: "pin", Also: []string{"mandril", "mandrel"}, Unit: true, About: "diameter of the bending pin"},
	{Name: "route", Also: []string{"ruta"}, About: "steps in order: cut, bend, saw, thread, head, coat, tie; none"},
	{Name: "note", Also: []string{"nota", "notas", "notes", "remarks"}, Lines: true, About: "anything a person should read"},
}

// form is a bar list as a sheet.
var form = sheet.New(sheet.Form{
	What: "bar list", Formats: "CSV, XLSX or BVBS", Split: "split it by release", Sheet: "bars", Columns: Columns,
	Not: func(text string) string {
		if isRecord([]byte(strings.TrimSpace(text[:min(len(text), 100)]))) {
			return "this is a BVBS file in UTF-16, whose checksums are of other bytes: save it as UTF-8"
		}
		return ""
	},
})
