package pages

import (
	"cmp"
	"net/url"
	"slices"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// heatPage is a heat: its sums, where its weight is, and what is of it.
type heatPage struct {
	heat.Key
	AsOf    string
	Refused string // why the moment is none
	Steels  []bar.Steel
	In      string // received, and what counts added
	Gone    string // of that, what left the plant
	Here    string
	Lost    string // "" where nothing is
	Over    string // what is unaccounted for
	Balance bool
	Picture sankey
	Rows    []heatRow
	Total   heatRow
	MayBe   []heatRow
	Working []heatRow
	Certs   []heat.Cert
	Sizes   []sizeCert
	Lots    []heatLot
	Bundles []view.RecalledBundle
	More    int // bundles that the page does not show
	Calls   []view.Call
	Holds   []heat.Hold
	Own     *heat.Hold // the one on the heat itself
	At      int64
	Through uint64
}

// heatRow is a row of the account as it is printed.
type heatRow struct {
	What    string
	Job     string
	Name    string // of the job
	Marks   []string
	More    int // marks that are left out
	Bundles int
	Count   int
	Weight  string
	Sure    []sureCount
}

// sureCount is how many bundles are how sure.
type sureCount struct {
	Sure  heat.Certainty
	Count int
}

// sizeCert is what is on file for a size of the heat: "reviewed", "on file" or "no cert".
type sizeCert struct {
	Size  bar.Size
	State string
	Flag  string // the sign beside it
}

// heatLot is a lot that came in as of the heat, or a remnant of it.
type heatLot struct {
	heat.Lot
	Where string
	Mass  bar.Mass
	Held  bool
}

const (
	mostHeatBundles = 200
	mostMarks       = 5
)

// heatAt is the address of a heat's page.
func heatAt(k heat.Key) string {
	return "/heat?" + url.Values{"mill": {k.Mill}, "heat": {k.Heat}}.Encode()
}

func (p *pages) heat(c echo.Context) error {
	// A heat's number may have any sign in it, and so may a mill's name: the address with a query takes them
	// all, the short one most.
	k := heat.Key{Mill: c.QueryParam("mill"), Heat: c.QueryParam("heat")}
	if c.Param("mill") != "" {
		var err error
		if k.Mill, err = ofPath(c, "mill"); err != nil {
			return err
		}
		if k.Heat, err = ofPath(c, "heat"); err != nil {
			return err
		}
	}
	k.Mill, k.Heat = strings.TrimSpace(k.Mill), strings.TrimSpace(k.Heat)
	d := heatPage{Key: k, AsOf: strings.TrimSpace(c.QueryParam("as_of"))}
	known := false
	err := p.floor.View(func(past *view.Past) error {
		if known = past.KnownTarget(event.Target{Mill: k.Mill, Heat: k.Heat}); !known {
			return nil
		}
		then, err := p.floor.AsOf(past, d.AsOf, k.String())
		if err != nil {
			return err
		}
		d.read(then, p.floor.Rules().Units, p.speak(language(c)))
		return nil
	})
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	if !known {
		return web.Refuse("not-found", "There is no heat "+k.String()+".", "Search for its number, or for a lot or bundle that is of it.")
	}
	return p.render(c, "heat.html", k.Heat, d)
}

// read reads the heat.
func (d *heatPage) read(past *view.Past, u bar.Units, in speech) {
	account, r := past.HeatAccount(d.Key)
	d.Certs, d.Holds, d.Calls, d.Through, d.At = r.Certs, r.Holds, r.Calls, r.Through, past.When(r.Through)
	if h, ok := past.Hold(event.Target{Mill: d.Mill, Heat: d.Heat}); ok {
		d.Own = &h
	}
	d.Bundles = r.Bundles
	if len(d.Bundles) > mostHeatBundles {
		d.Bundles, d.More = d.Bundles[:mostHeatBundles], len(d.Bundles)-mostHeatBundles
	}
	d.lots(past, r)
	d.certs(past)
	d.weigh(past, account, r, u, in)
}

// lots are those that came in as of the heat, and the remnants on hand.
func (d *heatPage) lots(past *view.Past, r view.Recall) {
	add := func(l heat.Lot) {
		if slices.ContainsFunc(d.Lots, func(o heatLot) bool { return o.Number == l.Number }) {
			return
		}
		one := heatLot{Lot: l, Where: l.Feed, Mass: l.Weighs()}
		if one.Where == "" {
			one.Where, _ = past.Place(l.Place)
		}
		_, one.Held = heat.HoldOn(past, []tags.Number{l.Number})
		d.Lots = append(d.Lots, one)
		if !slices.Contains(d.Steels, l.Steel) {
			d.Steels = append(d.Steels, l.Steel)
		}
	}
	for _, n := range past.LotsOfHeat(d.Key) {
		if l, ok := past.Lot(n); ok {
			add(l)
		}
	}
	for _, l := range r.Lots {
		add(l.Lot)
	}
}

// certs says for each size of the heat what is on file.
func (d *heatPage) certs(past *view.Past) {
	for _, s := range d.Steels {
		if !slices.ContainsFunc(d.Sizes, func(o sizeCert) bool { return o.Size == s.Size }) {
			d.Sizes = append(d.Sizes, certOf(past, d.Key, s.Size))
		}
	}
}

// certOf says what is on file for a size of a heat.
func certOf(past *view.Past, k heat.Key, size bar.Size) sizeCert {
	of := heat.Draw{Certainty: heat.Certain, Heats: []heat.Key{k}}
	if _, missing := heat.MissingCert(past, of, size, event.CertsOnFile); missing {
		return sizeCert{size, "no cert", "check"}
	}
	if _, missing := heat.MissingCert(past, of, size, event.CertsReviewed); missing {
		return sizeCert{size, "on file", "accepted"}
	}
	return sizeCert{size, "reviewed", "accepted"}
}

// rounded are masses as they are printed, so that they add up to their sum as it is printed.
func rounded(masses []bar.Mass, u bar.Units) []bar.Mass {
	unit := bar.Kilogram / 10
	if u == bar.Imperial {
		unit = bar.Pound
	}
	out := make([]bar.Mass, len(masses))
	for i, n := range bar.Round(masses, unit) {
		out[i] = bar.Mass(n) * unit
	}
	return out
}

func massesOf(rows []heat.Row) []bar.Mass {
	out := make([]bar.Mass, len(rows))
	for i, r := range rows {
		out[i] = r.Mass
	}
	return out
}

// weigh makes the sums, the table and the picture of the account.
func (d *heatPage) weigh(past *view.Past, a heat.Account, r view.Recall, u bar.Units, in speech) {
	spread := a.Spread()
	d.Balance = a.Bars.Over == 0 && a.Coil.Over == 0
	added := rounded(massesOf(spread.In), u)
	var rows []heat.Row
	for _, f := range spread.Flows {
		rows = append(rows, f.Row)
	}
	out := rounded(massesOf(append(rows, spread.Rest...)), u)
	var total, found, gone, lost bar.Mass
	for _, m := range added {
		total += m
	}
	for i, f := range spread.Flows {
		found += out[i]
		switch f.What {
		case "left", "away", "delivered":
			gone += out[i]
		case heat.LostCount:
			lost += out[i]
		}
	}
	of := len(spread.Flows)
	here := found - gone - lost
	for i, row := range spread.Rest {
		found += out[of+i]
		if row.What == heat.OnFeeds || row.What == heat.OnHand || row.What == heat.Remnants {
			here += out[of+i]
		}
	}
	d.In, d.Gone, d.Here, d.Over = total.Text(u), gone.Text(u), here.Text(u), (total - found).Text(u)
	if lost > 0 {
		d.Lost = lost.Text(u)
	}

	as := func(row heat.Row, m bar.Mass) branch {
		return branch{Name: stateWord(in, row.What), Figure: m.Text(u), Weight: row.Mass.Kilograms()}
	}
	var came, jobs, rest, now []branch
	var strands []strand
	for i, row := range spread.In {
		if row.Mass > 0 {
			came = append(came, as(row, added[i]))
		}
	}
	tie := d.ties(past, r)
	jobMass := map[string]bar.Mass{}
	for i, f := range spread.Flows {
		jobMass[f.Job] += out[i]
		row := tie(f.Job, f.What)
		row.Count, row.Weight = f.Count, out[i].Text(u)
		d.Rows = append(d.Rows, row)
	}
	named := jobsShown(spread.Flows)
	jobAt, nowAt := map[string]int{}, map[string]int{}
	nowMass := []bar.Mass{}
	for i, f := range spread.Flows {
		job := f.Job
		if !slices.Contains(named, job) {
			job = ""
		}
		j, ok := jobAt[job]
		if !ok {
			j = len(jobs)
			jobAt[job] = j
			set, _ := past.Job(job)
			jobs = append(jobs, branch{Name: job, Under: set.Name})
		}
		s, ok := nowAt[f.What]
		if !ok {
			s = len(now)
			nowAt[f.What] = s
			now, nowMass = append(now, branch{Name: stateWord(in, f.What)}), append(nowMass, 0)
		}
		jobs[j].Weight += f.Mass.Kilograms()
		now[s].Weight += f.Mass.Kilograms()
		nowMass[s] += out[i]
		if at := slices.IndexFunc(strands, func(o strand) bool { return o.Job == j && o.State == s }); at >= 0 {
			strands[at].Weight += f.Mass.Kilograms()
		} else {
			strands = append(strands, strand{j, s, f.Mass.Kilograms()})
		}
	}
	var others bar.Mass
	for job, m := range jobMass {
		if at, ok := jobAt[job]; ok {
			jobs[at].Figure = m.Text(u)
		} else {
			others += m
		}
	}
	if at, ok := jobAt[""]; ok && others > 0 {
		jobs[at].Name, jobs[at].Figure = in.counted(len(jobMass)-len(named), "other jobs"), others.Text(u)
	}
	for i := range now {
		now[i].Figure = nowMass[i].Text(u)
	}
	for i, row := range spread.Rest {
		b := as(row, out[of+i])
		switch row.What {
		case heat.OnFeeds, heat.OnHand:
			b.Quiet = true
		case heat.Remnants:
			b.Hatch = "left"
		case heat.Scrapped:
			b.Hatch = "scrap"
		}
		if row.Count > 0 && row.What != heat.Scrapped {
			b.Under = in.counted(row.Count, "bars")
		}
		rest = append(rest, b)
		d.Rows = append(d.Rows, heatRow{What: row.What, Count: row.Count, Weight: out[of+i].Text(u)})
	}
	d.Total.Weight = d.In
	d.Picture = laySankey(came, jobs, rest, now, strands)
	for _, row := range a.MayBe {
		one := tie("", row.What)
		one.What, one.Count, one.Weight = row.What, row.Count, row.Mass.Text(u)
		d.MayBe = append(d.MayBe, one)
	}
	for _, row := range a.Working {
		d.Working = append(d.Working, heatRow{What: row.What, Count: row.Count, Weight: row.Mass.Text(u)})
	}
}

// jobsShown are the jobs that have a node of their own in the picture: all, or of many the heaviest.
func jobsShown(flows []heat.Flow) []string {
	mass := map[string]bar.Mass{}
	var jobs []string
	for _, f := range flows {
		if _, ok := mass[f.Job]; !ok {
			jobs = append(jobs, f.Job)
		}
		mass[f.Job] += f.Mass
	}
	if len(jobs) <= mostJobs {
		return jobs
	}
	slices.SortStableFunc(jobs, func(a, b string) int { return cmp.Compare(mass[b], mass[a]) })
	return jobs[:mostJobs-1]
}

// ties gives the bundles of a row: those of a job that are certain to be of the heat or declared to be, and with
// no job those that may be of others too.
func (d *heatPage) ties(past *view.Past, r view.Recall) func(job, what string) heatRow {
	type at struct{ job, what string }
	rows := map[at]*heatRow{}
	for _, b := range r.Bundles {
		k := at{b.Line.Job, past.State(b.Bundle, b.Line)}
		if b.Sure != heat.Certain && b.Sure != heat.Declared {
			k.job = ""
		}
		row := rows[k]
		if row == nil {
			row = &heatRow{What: k.what, Job: k.job}
			rows[k] = row
		}
		row.Bundles++
		switch has := slices.Contains(row.Marks, b.Line.Mark); {
		case has:
		case len(row.Marks) < mostMarks:
			row.Marks = append(row.Marks, b.Line.Mark)
		default:
			row.More++
		}
		i := slices.IndexFunc(row.Sure, func(s sureCount) bool { return s.Sure == b.Sure })
		if i < 0 {
			i = len(row.Sure)
			row.Sure = append(row.Sure, sureCount{Sure: b.Sure})
		}
		row.Sure[i].Count++
	}
	return func(job, what string) heatRow {
		out := heatRow{What: what, Job: job}
		if row := rows[at{job, what}]; row != nil {
			out = *row
		}
		set, _ := past.Job(job)
		out.Name = set.Name
		return out
	}
}

// speech says the texts of the pages in a language.
type speech func(what string) string

func (p *pages) speak(lang scan.Lang) speech {
	return func(what string) string { return p.word(lang, what) }
}

// stateWord is where metal of an account is: the rows of an account, and "at bend" or "waits for bend" with any
// step.
func stateWord(in speech, what string) string {
	if step, ok := strings.CutPrefix(what, "waits for "); ok {
		return strings.ReplaceAll(in("waits for"), "{0}", in(step))
	}
	if step, ok := strings.CutPrefix(what, "at "); ok && slices.Contains(scan.Steps, scan.Step(step)) {
		return strings.ReplaceAll(in("at step"), "{0}", in(step))
	}
	return upper(in(what))
}

// upper begins a text with a capital letter.
func upper(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}
