package load

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/sheet"
	"tagd/internal/tags"
)

// PlanColumns are the columns of a file of planned loads: CSV or XLSX with the column names in the first
// row. Rows with one load belong together, and of these, rows with one stop; what is said of a load or a
// stop in one row need not be said again. Names are compared without case, accents, blanks and
// punctuation; the order of the columns is free.
var PlanColumns = []sheet.Column{
	{Name: "load", Also: []string{"carga"}, Must: true, About: "which rows are one load: any word; the number of a load that is here plans that one anew"},
	{Name: "date", Also: []string{"fecha"}, About: "the day on which it leaves: 2026-11-30"},
	{Name: "leaves", Also: []string{"sale"}, About: "the time of day, 06:30; empty is the end of the last shift"},
	{Name: "truck", Also: []string{"camión"}, About: "the truck"},
	{Name: "trailer", Also: []string{"remolque"}, About: "the trailer"},
	{Name: "limit", Also: []string{"límite"}, About: "weight limit with its unit: 44,000 lb; empty is the plant's usual one"},
	{Name: "stop", Also: []string{"parada"}, About: "1 for the first one that is driven to, 2 for the next; empty is the stop of the row above"},
	{Name: "job", Also: []string{"obra"}, About: "the job of the stop"},
	{Name: "ship_to", Also: []string{"entrega"}, About: "its address, with | between lines; empty is the job's"},
	{Name: "contact", Also: []string{"contacto"}, About: "who takes it there"},
	{Name: "from", Also: []string{"desde"}, About: "from when the site takes it: 07:00"},
	{Name: "until", Also: []string{"hasta"}, About: "until when: 11:00"},
	{Name: "processor", Also: []string{"procesador"}, About: "who works on it there and gives it back; empty is a site"},
	{Name: "step", Also: []string{"paso"}, About: "what the processor does; empty is what no station here does"},
	{Name: "list", Also: []string{"lista"}, About: "a bar list: with a mark one line of it, without one the rest of it"},
	{Name: "mark", Also: []string{"marca"}, About: "a line of the list"},
	{Name: "bundle", Also: []string{"atado"}, About: "the number of one bundle"},
}

// planForm is a file of planned loads as a sheet.
var planForm = sheet.New(sheet.Form{
	What: "load plan", Formats: "CSV or XLSX", Split: "split it by day", Sheet: "loads", Columns: PlanColumns,
})

// PlanFile is what a file of planned loads says. Rows are numbers of rows of the file, from 1.
type PlanFile struct {
	Plans []Plan
	name  string
	rows  []planRows
}

// planRows says in which rows a plan stands.
type planRows struct {
	key     string
	load    int
	stops   []int
	number  []int // of each stop, as the file counts
	last    int   // the stop of the row before
	lines   map[string]int
	bundles map[tags.Number]int
}

// ReadPlans reads a file of planned loads; name is only for the people who read the faults, limit the
// plant's usual one. It looks at everything before it answers, so that all faults come at once.
func ReadPlans(name string, data []byte, limit bar.Mass) (PlanFile, []sheet.Fault) {
	f := PlanFile{name: name}
	r := sheet.NewReport(name)
	if t, ok := planForm.Read(data, r); ok {
		planForm.Rows(t, r, func(row *sheet.Row) { f.row(row) })
		if len(f.Plans) == 0 && r.Clean() {
			r.Fault(0, "", "the file has no rows of loads")
		}
	}
	for i := range f.Plans {
		if f.Plans[i].Limit == 0 {
			f.Plans[i].Limit = limit
		}
		f.Plans[i].Stops, f.rows[i] = inOrder(f.Plans[i].Stops, f.rows[i])
	}
	return f, r.Faults()
}

// inOrder puts the stops of a plan into the order in which they are driven to.
func inOrder(stops []StopPlan, rows planRows) ([]StopPlan, planRows) {
	at := make([]int, len(stops))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int { return rows.number[a] - rows.number[b] })
	var out []StopPlan
	first := slices.Clone(rows.stops)
	for i, from := range at {
		out = append(out, stops[from])
		rows.stops[i] = first[from]
	}
	return out, rows
}

// row takes in a row.
func (f *PlanFile) row(r *sheet.Row) {
	text := func(column string) string { return r.Text(column, "", event.MostWords) }
	key := text("load")
	if key == "" {
		return // reported where it was read
	}
	i := slices.IndexFunc(f.rows, func(o planRows) bool { return o.key == key })
	if i < 0 {
		i = len(f.Plans)
		p := Plan{}
		if n, err := tags.ParseNumber(key); err == nil {
			if p.Load = n; n.Kind() != tags.Load {
				r.Fault(r.Row, "load", "%s is the number of a %v, not of a load", key, n.Kind())
			}
		}
		f.Plans = append(f.Plans, p)
		f.rows = append(f.rows, planRows{key: key, load: r.Row, lines: map[string]int{}, bundles: map[tags.Number]int{}})
	}
	p, rows := &f.Plans[i], &f.rows[i]
	same := func(to *string, column string) { // what is said again is said alike
		switch t := text(column); {
		case t == "":
		case *to == "":
			*to = t
		case *to != t:
			r.Fault(r.Row, column, "is %s here and %s in a row above, of the same load or stop", sheet.Quote(t), sheet.Quote(*to))
		}
	}
	same(&p.Date, "date")
	same(&p.Leaves, "leaves")
	same(&p.Truck, "truck")
	same(&p.Trailer, "trailer")
	if t := text("limit"); t != "" {
		m, err := bar.ParseMass(t)
		switch {
		case err != nil:
			r.Fault(r.Row, "limit", "%v", err)
		case p.Limit != 0 && p.Limit != m:
			r.Fault(r.Row, "limit", "is another one in a row above, of the same load")
		default:
			p.Limit = m
		}
	}
	at := rows.stop(r, p)
	s := &p.Stops[at]
	same(&s.Job, "job")
	same(&s.Contact, "contact")
	same(&s.From, "from")
	same(&s.Until, "until")
	same(&s.Processor, "processor")
	same(&s.Step, "step")
	if t := r.Text("ship_to", "", 0); t != "" {
		var lines []string
		for l := range strings.SplitSeq(t, "|") {
			lines = append(lines, strings.TrimSpace(l))
		}
		if len(s.ShipTo) > 0 && !slices.Equal(s.ShipTo, lines) {
			r.Fault(r.Row, "ship_to", "is another one in a row above, of the same stop")
		}
		s.ShipTo = lines
	}
	rows.goods(r, s, text("list"), text("mark"), text("bundle"))
}

// stop finds or makes the stop of a row.
func (rows *planRows) stop(r *sheet.Row, p *Plan) int {
	number := 1
	if text, some := r.Raw("stop"); some {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > mostStops {
			r.Fault(r.Row, "stop", "is %s; write a whole number from 1 to %d", sheet.Quote(text), mostStops)
		} else {
			number = n
		}
	} else if len(rows.number) > 0 {
		number = rows.number[rows.last]
	}
	rows.last = slices.Index(rows.number, number)
	if rows.last < 0 {
		rows.last = len(p.Stops)
		p.Stops = append(p.Stops, StopPlan{})
		rows.stops, rows.number = append(rows.stops, r.Row), append(rows.number, number)
	}
	return rows.last
}

// goods takes in what a row plans for its stop.
func (rows *planRows) goods(r *sheet.Row, s *StopPlan, list, mark, bundle string) {
	switch {
	case bundle != "" && list+mark != "":
		r.Fault(r.Row, "bundle", "stands beside a list or mark; write one of them in a row")
	case bundle != "":
		n, err := tags.ParseNumber(bundle)
		switch {
		case err != nil:
			r.Fault(r.Row, "bundle", "%s is no number of a bundle: %v", sheet.Quote(bundle), err)
		case n.Kind() != tags.Bundle:
			r.Fault(r.Row, "bundle", "%s is the number of a %v", bundle, n.Kind())
		default:
			s.Bundles = append(s.Bundles, n)
			rows.bundles[n] = r.Row
		}
	case mark != "" && list == "":
		r.Fault(r.Row, "list", "the cell is empty; a mark is one of a list")
	case list != "":
		l := Line{List: list, Mark: mark}
		s.Lines = append(s.Lines, l)
		l.Job = s.Job
		rows.lines[l.String()] = r.Row
	}
}

// Refused are the faults of plans that cannot be planned as they stand, each with its row: all that are
// found when what a plan takes is not there for the next.
func (f PlanFile) Refused(past Past) (out []sheet.Fault) {
	then := after{past, map[tags.Number]Bundle{}}
	for i, p := range f.Plans {
		if _, ok := past.Load(p.Load); p.Load != 0 && !ok {
			out = append(out, f.fault(i, refusal("load", "%v is not known here", p.Load)))
			continue
		}
		if p.Load == 0 {
			p.Load = standIn(i)
		}
		if _, err := then.set(p); err != nil {
			out = append(out, f.fault(i, err))
		}
	}
	return out
}

// standIn stands for the number of a new load, which is not given out before its plan is sound.
func standIn(i int) tags.Number { return tags.Number(i + 1) }

// fault puts a refusal of a plan into its row.
func (f PlanFile) fault(i int, err error) sheet.Fault {
	rows := f.rows[i]
	out := sheet.Fault{File: f.name, Row: rows.load, Says: err.Error()}
	r, ok := err.(*event.Refusal)
	if !ok {
		return out
	}
	out.Field, out.Says = r.Field, r.Says
	for k := range f.Plans {
		out.Says = strings.Replace(out.Says, "load "+standIn(k).String()+";", "load "+sheet.Quote(f.rows[k].key)+" of this file;", 1)
	}
	stop := 0
	if _, err := fmt.Sscanf(r.Field, "stops[%d]", &stop); err == nil && stop < len(rows.stops) {
		out.Row = rows.stops[stop]
		_, out.Field, _ = strings.Cut(r.Field, ".")
	}
	switch out.Field {
	case "bundles":
		out.Field = "bundle"
		for n, row := range rows.bundles {
			if strings.HasPrefix(r.Says, n.String()) {
				out.Row = row
			}
		}
	case "lines":
		out.Field = "list"
		for l, row := range rows.lines {
			if strings.HasPrefix(r.Says, l+" ") {
				out.Row = row
			}
		}
	}
	return out
}
