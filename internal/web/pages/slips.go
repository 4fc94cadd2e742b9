package pages

import (
	"cmp"
	"encoding/csv"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/export"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// slipsPage is what did not go as it should in the last days, for quality: names of people stand here only.
type slipsPage struct {
	Slips    []slipRow
	Next     string // query of the page of older ones; "" at the end
	CSV      string // query of the table
	Kinds    []kindSum
	Stations []slipSum
	People   []slipSum
	All      []scan.Station
	// What is asked for.
	Kind, Station, Person string
	Days                  int
	Wrong                 string
}

// slipRow is a slip with what it is about.
type slipRow struct {
	view.Slip
	About string
	Tells told
	Who   []personName
}

// personName is a badge with whose it is.
type personName struct {
	Number tags.Number
	Name   string
}

// kindSum is how many slips of a kind the page shows.
type kindSum struct {
	Kind  string
	Count int
}

// slipSum is how many slips a station or person had, on the page, in the order of view.SlipKinds.
type slipSum struct {
	Name   string // of the station, or whose badge it is
	Key    string // to ask for
	Counts [4]int
}

// Bounds of a page, and of what is read at once for a table, which has all rows.
const (
	mostSlips    = 200
	mostLookedAt = 20_000
	usualDays    = 7
)

func (p *pages) slips(c echo.Context) error {
	ask := func(name string) string { return strings.TrimSpace(c.QueryParam(name)) }
	d := slipsPage{Kind: ask("kind"), Station: ask("station"), Person: ask("person"), Days: usualDays, All: p.floor.Rules().Stations}
	if n, err := strconv.Atoi(ask("days")); err == nil && n > 0 && n <= 3660 {
		d.Days = n
	}
	q := view.SlipsAsked{Station: d.Station, Kind: d.Kind, Most: mostSlips, Look: mostLookedAt, Since: time.Now().AddDate(0, 0, -d.Days).UnixMilli()}
	q.Before, _ = strconv.ParseUint(ask("before"), 10, 63)
	if d.Person != "" {
		n, err := tags.ParseNumber(d.Person)
		if err != nil || n.Kind() != tags.Person {
			d.Wrong = d.Person + ": " + p.word(language(c), "not a badge")
			return p.render(c, "slips.html", p.word(language(c), "quality"), d)
		}
		q.Person = n
	}
	names, err := p.floor.Names()
	if err != nil {
		return err
	}
	if ask("format") == "csv" {
		return p.slipsTable(c, q, names)
	}
	var next uint64
	if d.Slips, next, err = p.slipRows(q, names, language(c)); err != nil {
		return err
	}
	d.sum(p.floor.Rules())
	same := url.Values{"kind": {d.Kind}, "station": {d.Station}, "person": {d.Person}, "days": {strconv.Itoa(d.Days)}}
	d.CSV = same.Encode() + "&format=csv"
	if next != 0 {
		same.Set("before", strconv.FormatUint(next, 10))
		d.Next = same.Encode()
	}
	return p.render(c, "slips.html", p.word(language(c), "quality"), d)
}

// slipRows are slips as rows, newest first, and the record to go on before, 0 at the end.
func (p *pages) slipRows(q view.SlipsAsked, names map[tags.Number]string, lang scan.Lang) (rows []slipRow, next uint64, err error) {
	err = p.floor.View(func(past *view.Past) error {
		var found []view.Slip
		found, next = past.Slips(q)
		for _, s := range found {
			row := slipRow{Slip: s, About: p.about(lang, past, s.Number, s.Event), Tells: tellOf(past, s.Seq, p.floor.Rules().Units)}
			if r, ok := s.Event.Body.(event.ScanRefused); ok && s.Number == 0 {
				row.About = r.Text
			}
			for _, n := range s.People {
				row.Who = append(row.Who, personName{n, names[n]})
			}
			rows = append(rows, row)
		}
		return nil
	})
	return rows, next, err
}

// sum counts the slips by kind, station and person.
func (d *slipsPage) sum(rules scan.Rules) {
	kinds := make([]int, len(view.SlipKinds))
	stations, people := map[string]*slipSum{}, map[string]*slipSum{}
	add := func(to map[string]*slipSum, key, name string, kind, times int) {
		if to[key] == nil {
			to[key] = &slipSum{Name: name, Key: key}
		}
		to[key].Counts[kind] += times
	}
	for _, s := range d.Slips {
		k := slices.Index(view.SlipKinds, s.Kind)
		kinds[k] += s.Times
		name := s.Station
		if st, ok := rules.Station(s.Station); ok {
			name = st.Title
		}
		add(stations, s.Station, name, k, s.Times)
		for _, w := range s.Who {
			add(people, w.Number.String(), w.Name, k, s.Times)
		}
	}
	for i, k := range view.SlipKinds {
		d.Kinds = append(d.Kinds, kindSum{k, kinds[i]})
	}
	d.Stations, d.People = ordered(stations), ordered(people)
}

// ordered are sums, those with the most first.
func ordered(of map[string]*slipSum) (out []slipSum) {
	for _, s := range of {
		out = append(out, *s)
	}
	all := func(s slipSum) (n int) {
		for _, c := range s.Counts {
			n += c
		}
		return n
	}
	slices.SortFunc(out, func(a, b slipSum) int { return cmp.Or(cmp.Compare(all(b), all(a)), cmp.Compare(a.Key, b.Key)) })
	return out
}

// slipsTable gives all slips that are asked for as a CSV table, a part after the other: it is as long as it is.
// A refusal that was repeated across two parts has a row in each.
func (p *pages) slipsTable(c echo.Context, q view.SlipsAsked, names map[tags.Number]string) error {
	lang := language(c)
	slips, next, err := p.slipRows(q, names, lang)
	if err != nil {
		return err
	}
	c.Response().Header().Set("Content-Disposition", web.Attachment("quality.csv"))
	c.Response().Header().Set("Content-Type", "text/csv; charset=utf-8")
	c.Response().WriteHeader(http.StatusOK)
	w := csv.NewWriter(c.Response())
	w.UseCRLF = true
	_ = w.Write([]string{"record", "kind", "first", "last", "times", "pieces", "station", "device", "badges", "names", "number", "about", "says", "open"}) // Flush tells its error
	for {
		for _, s := range slips {
			_ = w.Write(p.slipCells(s, lang))
		}
		w.Flush()
		if w.Error() != nil || next == 0 {
			return nil // whoever left needs no answer
		}
		q.Before = next
		if slips, next, err = p.slipRows(q, names, lang); err != nil {
			panic(http.ErrAbortHandler) // cut the answer off: half a table is none
		}
	}
}

// slipCells is a row of the table.
func (p *pages) slipCells(s slipRow, lang scan.Lang) []string {
	var badges, names, says []string
	for _, who := range s.Who {
		badges, names = append(badges, who.Number.String()), append(names, who.Name)
	}
	for _, n := range s.Notes() {
		says = append(says, p.say(n, lang).Says)
	}
	if len(says) == 0 {
		says = append(says, s.Tells.Tell(lang))
	}
	number := ""
	if s.Number != 0 {
		number = s.Number.String()
	}
	cells := []string{
		strconv.FormatUint(s.Seq, 10), s.Kind, p.floor.Rules().When(s.First), p.floor.Rules().When(s.At), strconv.Itoa(s.Times), strconv.Itoa(s.Pieces), s.Station, s.Device,
		strings.Join(badges, " "), strings.Join(names, ", "), number, s.About, strings.Join(says, " "), strconv.FormatBool(s.Open),
	}
	for i := range cells {
		cells[i] = export.Cell(cells[i])
	}
	return cells
}
