package pages

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// stockPage is what lies here or is expected, what may be said of stock, and what became of what was said.
type stockPage struct {
	Refused  string // what was not taken, as it was said
	Wrong    string // what is wrong with a file, in the language of the page
	Answer   *event.Answer
	Took     []tags.Number // lots that were taken in, or written down as expected
	Places   []string      // that were made for them, or would be
	Back     string        // station to go back to
	Expected []comingLot
	Receive  receiveForm
	Since    string // a day
	Old      []oldLot
	More     bool // of Old
	yard

	Looked bool // a file was sent
	Faulty bool
	File   stockFile
	Rows   []stockRowSeen
	Whole  []string // what is said of the file as a whole

	lot *lotPage // of the lot that a form is about
}

// comingLot is a lot of which more is expected.
type comingLot struct {
	lotOn
	Came, Whole string
	Late        bool
	Missing     []string // the mill's numbers that have not come
}

type oldLot struct {
	lotOn
	Where string
}

// receiveForm is a lot as it is typed, column by column of a stock file.
type receiveForm struct {
	Mill, Heats, Size, Spec, Grade, Coating, Length, Bars, MillBundles, Weight, MillCoils, Place, Melted, Rolled, PO, Date string
}

// stockFile is a file that was sent, which the next form brings again.
type stockFile struct {
	Name, Data string
	As         heat.Use
}

type stockRowSeen struct {
	Row    int
	Lot    heat.Lot
	Heats  string
	Place  string
	Read   bool
	Faults []string
}

// mostOld is how many lots that were not counted lately a page shows.
const mostOld = 200

// stock shows what is expected, and the forms about stock. With a mill's code the form of receiving is
// filled from it.
func (p *pages) stock(c echo.Context) error {
	if lot := strings.TrimSpace(c.QueryParam("lot")); lot != "" {
		return c.Redirect(http.StatusSeeOther, "/stock/"+url.PathEscape(lot))
	}
	d := stockPage{Since: c.QueryParam("since"), yard: yardOf(c)}
	if code := c.QueryParam("code"); code != "" {
		if read, _ := p.opt.Reader.Read(code); read.Mill != nil {
			d.Receive = receiveOf(read.Mill)
		}
	}
	return p.showStock(c, d)
}

// receiveOf fills the form from a mill's tag, as far as that goes.
func receiveOf(m *tags.MillTag) receiveForm {
	f := receiveForm{Mill: m.Supplier, Heats: m.Heat, Size: m.Size, Grade: m.Grade, Length: m.Length, MillBundles: m.Bundle, PO: m.Order}
	if m.Quantity > 0 {
		f.Bars = fmt.Sprint(m.Quantity)
	}
	if f.Bars == "" && f.Length == "" && m.Weight != "" { // the weight of bars is that of their length
		f.Weight, f.MillCoils, f.MillBundles = m.Weight, m.Bundle, ""
	}
	return f
}

// stockDeeds are the forms of the page, by the last part of their address.
var stockDeeds = map[string]func(*pages, echo.Context, floor.Origin, *stockPage) (floor.Receipt, error){
	"receive": func(p *pages, c echo.Context, o floor.Origin, d *stockPage) (floor.Receipt, error) {
		return p.takeForm(c, o, d, heat.AsReceived)
	},
	"expect": func(p *pages, c echo.Context, o floor.Origin, d *stockPage) (floor.Receipt, error) {
		return p.takeForm(c, o, d, heat.AsExpected)
	},
	"file": (*pages).takeStock,
	"confirm": func(p *pages, c echo.Context, o floor.Origin, _ *stockPage) (floor.Receipt, error) {
		r := reader{c: c}
		n := r.lot()
		a := heat.Arrival{Number: strings.TrimSpace(c.FormValue("mill_number")), Last: c.FormValue("last") != "", Place: p.placeOf(&r), Note: c.FormValue("note")}
		a.Amount, a.Counted = r.amount()
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.Confirm(c.Request().Context(), o, n, a)
	},
	"count": func(p *pages, c echo.Context, o floor.Origin, _ *stockPage) (floor.Receipt, error) {
		r := reader{c: c}
		count := floor.Stocktaking{Lot: r.lot(), Place: p.placeOf(&r)}
		said := false
		if count.Amount, said = r.amount(); !said {
			r.wrong("bars", "are missing; count them, and write 0 if there are none")
		}
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		return p.floor.CountYard(c.Request().Context(), o, []floor.Stocktaking{count})
	},
	"heat": func(p *pages, c echo.Context, o floor.Origin, d *stockPage) (floor.Receipt, error) {
		r := reader{c: c}
		e := event.LotHeatSet{Lot: r.lot(), Mill: c.FormValue("mill"), Heats: r.words("heats"), Reason: c.FormValue("reason")}
		if r.err != nil {
			return floor.Receipt{}, r.err
		}
		got, err := p.floor.SetHeats(c.Request().Context(), o, e)
		if err != nil {
			return got, err
		}
		return got, p.floor.View(func(past *view.Past) error {
			touch := &heatsTouch{Trace: past.Ask(e.Lot.Digits())}
			for _, b := range touch.Bundles {
				if notes := scan.Broken(past, p.floor.Rules(), b.Bundle); len(notes) > 0 {
					touch.Broken = append(touch.Broken, brokenRule{b, notes})
				}
			}
			d.lot = &lotPage{Touch: touch}
			return nil
		})
	},
}

// lot is the number of a lot.
func (r *reader) lot() tags.Number {
	n, err := tags.ParseNumber(strings.TrimSpace(r.c.FormValue("number")))
	if err != nil || n.Kind() != tags.Stock {
		r.wrong("number", "is no number of a lot; scan its tag, or write it as it stands there")
	}
	return n
}

// amount is bars, or a weight, and whether one was written.
func (r *reader) amount() (a heat.Amount, said bool) {
	if text := strings.TrimSpace(r.c.FormValue("weight")); text != "" {
		m, err := bar.ParseMass(text)
		if err != nil {
			r.wrong("weight", "%v", err)
		}
		return heat.Amount{Mass: m}, true
	}
	return heat.Amount{Bars: r.count("bars")}, strings.TrimSpace(r.c.FormValue("bars")) != ""
}

// placeOf is the place of a form, by its name or number; none is 0.
func (p *pages) placeOf(r *reader) (n tags.Number) {
	name := strings.Join(strings.Fields(r.c.FormValue("place")), " ")
	if name == "" {
		return 0
	}
	err := p.floor.View(func(past *view.Past) error {
		var ok bool
		if n, ok = past.PlaceNamed(name); !ok {
			if n, _ = tags.ParseNumber(name); n.Kind() != tags.Place || !past.Known(n) {
				r.wrong("place", "there is no place %s; make it first, or leave it out", name)
			}
		}
		return nil
	})
	if err != nil && r.err == nil {
		r.err = err
	}
	return n
}

// tellStock takes a form of the page.
func (p *pages) tellStock(c echo.Context) error {
	do, ok := stockDeeds[c.Param("deed")]
	if !ok {
		return echo.ErrNotFound
	}
	o, err := origin(c, "stock "+c.Param("deed"))
	if err != nil {
		return err
	}
	d := stockPage{Back: c.FormValue("at")}
	r, err := do(p, c, o, &d)
	if d.Refused, err = refusal(err); err != nil {
		return err
	}
	if d.Refused == "" {
		d.Answer = r.Answer
		d.took(r)
	}
	// What is said of a lot is answered on its page.
	switch c.Param("deed") {
	case "heat", "count", "confirm":
		if n, err := tags.ParseNumber(strings.TrimSpace(c.FormValue("number"))); err == nil && p.isLot(n) {
			page := lotPage{}
			if d.lot != nil {
				page = *d.lot
			}
			page.Refused, page.Answer, page.Did, page.deed, page.form = d.Refused, d.Answer, d.Refused == "" && d.Answer == nil, c.Param("deed"), c.Request().PostForm
			return p.showLot(c, n, page)
		}
	}
	return p.showStock(c, d)
}

// isLot says whether a lot has this number.
func (p *pages) isLot(n tags.Number) (ok bool) {
	err := p.floor.View(func(past *view.Past) error {
		_, ok = past.Lot(n)
		return nil
	})
	return ok && err == nil
}

// took names what a receipt gave numbers to.
func (d *stockPage) took(r floor.Receipt) {
	for _, e := range r.Events {
		switch b := e.Body.(type) {
		case event.LotReceived:
			d.Took = append(d.Took, b.Lot)
		case event.CoilReceived:
			d.Took = append(d.Took, b.Lot)
		case event.LotExpected:
			d.Took = append(d.Took, b.Lot)
		case event.PlaceMade:
			d.Places = append(d.Places, b.Name)
		}
	}
}

func (p *pages) stockDefaults() heat.StockDefaults {
	d := p.opt.Defaults
	return heat.StockDefaults{LengthUnit: d.LengthUnit, Spec: d.Spec, Grade: d.Grade, Coating: d.Coating}
}

// takeForm takes a lot that was typed: it is a stock file of one row.
func (p *pages) takeForm(c echo.Context, o floor.Origin, d *stockPage, use heat.Use) (floor.Receipt, error) {
	head, row := p.readForm(c, d)
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	if err := w.WriteAll([][]string{head, row}); err != nil {
		return floor.Receipt{}, err
	}
	rows, faults, _ := heat.ReadStock("", b.Bytes(), p.stockDefaults())
	if len(faults) > 0 {
		return floor.Receipt{}, &event.Refusal{Field: faults[0].Field, Says: faults[0].Says}
	}
	r, err := p.takeIn(c, o, rows, use)
	if err == nil {
		d.Receive = receiveForm{}
	}
	return r, err
}

// readForm reads what was typed of a lot, as the head and the row of a stock file.
func (p *pages) readForm(c echo.Context, d *stockPage) (head, row []string) {
	f := &d.Receive
	for _, one := range []struct {
		name string
		into *string
	}{{"mill", &f.Mill}, {"heats", &f.Heats}, {"size", &f.Size}, {"spec", &f.Spec}, {"grade", &f.Grade}, {"coating", &f.Coating},
		{"length", &f.Length}, {"bars", &f.Bars}, {"mill_bundles", &f.MillBundles}, {"weight", &f.Weight}, {"mill_coils", &f.MillCoils},
		{"place", &f.Place}, {"melted", &f.Melted}, {"rolled", &f.Rolled}, {"po", &f.PO}, {"date", &f.Date}} {
		*one.into = strings.TrimSpace(c.FormValue(one.name))
		head, row = append(head, one.name), append(row, *one.into)
	}
	return head, row
}

func (p *pages) takeIn(c echo.Context, o floor.Origin, rows []heat.Incoming, use heat.Use) (floor.Receipt, error) {
	var lots []floor.Delivery
	err := p.floor.View(func(past *view.Past) error {
		lots, _, _ = floor.Judge(past, rows, use)
		return nil
	})
	if err != nil {
		return floor.Receipt{}, err
	}
	return p.floor.TakeIn(c.Request().Context(), o, lots)
}

// takeStock looks at a file of stock, or with the button take takes it.
func (p *pages) takeStock(c echo.Context, o floor.Origin, d *stockPage) (r floor.Receipt, err error) {
	d.File.As = heat.Use(c.FormValue("as"))
	if !slices.Contains([]heat.Use{heat.AsReceived, heat.AsExpected, heat.AsGoLive}, d.File.As) {
		d.File.As = heat.AsReceived
	}
	var data []byte
	if d.File.Name, d.File.Data, data, err = sent(c, "choose the file of stock", "tagd stock"); err != nil {
		return r, err
	}
	rows, faults, warnings := heat.ReadStock(d.File.Name, data, p.stockDefaults())
	if c.FormValue("do") == "take" && len(faults) == 0 {
		if r, err = p.takeIn(c, o, rows, d.File.As); err == nil {
			return r, nil
		}
	}
	d.Looked = true
	at := map[int]int{}
	say := func(row int, field, says string) {
		if row == 0 {
			d.Whole = append(d.Whole, says)
			return
		}
		i, ok := at[row]
		if !ok {
			i, at[row] = len(d.Rows), len(d.Rows)
			d.Rows = append(d.Rows, stockRowSeen{Row: row})
		}
		d.Rows[i].Faults = append(d.Rows[i].Faults, strings.TrimPrefix(field+": "+says, ": "))
	}
	bad := len(faults)
	read := map[string]bool{} // what is said already of a cell
	for _, f := range faults {
		read[fmt.Sprint(f.Row, f.Field)] = true
	}
	look := p.floor.View(func(past *view.Past) error {
		lots, refused, places := floor.Judge(past, rows, d.File.As)
		d.Places = places
		for i, row := range rows {
			lot := lots[i].Lot()
			at[row.Row] = len(d.Rows)
			d.Rows = append(d.Rows, stockRowSeen{Row: row.Row, Lot: lot, Heats: strings.Join(lot.Heats, ", "), Place: row.Place, Read: true})
		}
		for _, f := range faults {
			say(f.Row, f.Field, f.Says)
		}
		for _, no := range refused {
			var why *event.Refusal
			if errors.As(no, &why) && !read[fmt.Sprint(rows[no.Row].Row, why.Field)] {
				bad++
				say(rows[no.Row].Row, why.Field, why.Says)
			}
		}
		for _, f := range warnings {
			say(f.Row, f.Field, f.Says)
		}
		return nil
	})
	if d.Faulty = bad > 0; d.Faulty {
		d.Wrong = p.speak(language(c)).counted(bad, "faults")
	}
	return r, errors.Join(look, err)
}

// showStock writes the page.
func (p *pages) showStock(c echo.Context, d stockPage) error {
	err := p.floor.View(func(past *view.Past) error {
		d.Expected = p.coming(past)
		d.yard.read(p, past, &d.Refused)
		if d.Since == "" {
			return nil
		}
		day, err := time.ParseInLocation(time.DateOnly, d.Since, p.floor.Rules().Zone)
		if err != nil {
			d.Refused = "since: is no day; write it as 2026-11-30"
			return nil
		}
		past.OnHand(p.stations(), func(l heat.Lot) bool {
			if l.CountedAt >= day.UnixMilli() || l.At >= day.UnixMilli() {
				return true
			}
			if d.More = len(d.Old) == mostOld; d.More {
				return false
			}
			d.Old = append(d.Old, oldLot{onHand(past, l), lies(past, l)})
			return true
		})
		return nil
	})
	if err != nil {
		return err
	}
	return p.render(c, "stock.html", p.word(language(c), "stock"), d)
}

// today is the day at the plant, yyyy-mm-dd.
func (p *pages) today() string { return time.Now().In(p.floor.Rules().Zone).Format(time.DateOnly) }

// coming are the lots of which more is expected, by the day on which they should come.
func (p *pages) coming(past *view.Past) (out []comingLot) {
	units, today := p.floor.Rules().Units, p.today()
	past.Coming(func(l heat.Lot) bool {
		one := comingLot{lotOn: onHand(past, l), Came: l.Came().Text(units), Late: l.Overdue(today)}
		one.Whole = l.Paper.Whole().Text(units)
		one.Missing = notCome(l)
		out = append(out, one)
		return true
	})
	slices.SortStableFunc(out, func(a, b comingLot) int { return strings.Compare(a.Paper.Date, b.Paper.Date) })
	return out
}
