package pages

import (
	"strconv"
	"strings"

	"github.com/labstack/echo/v4"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/load"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// trip is what the page of a load shows beside its plan.
type trip struct {
	Longest, Widest scan.Sized
	Ticket          *event.LoadWeighed
	Differs         string
	Signed          []handover
	Went            []wentBundle // of a load that left
	Claims          []claimRow
	Today           string
	Wrongs          []event.Wrong
}

type handover struct {
	event.LoadDelivered
	Nth int
	Seq uint64
}

type wentBundle struct {
	view.Sent
	Line  *scan.Line
	Where view.Say
}

// trip tells of a load what is beside its plan.
func (p *pages) trip(past *view.Past, l load.Load) trip {
	t := trip{Today: p.today(), Wrongs: scan.Wrongs}
	on := past.Went(l.Number)
	if len(on) == 0 {
		on = past.PlannedOn(l.Number)
	}
	t.Longest, t.Widest = scan.Extent(past, on)
	if ticket, ok := past.Ticket(l); ok {
		t.Ticket, t.Differs = &ticket, scan.Beside(l.Net, l.Mass)
	}
	for i, s := range l.Stops {
		if d, ok := past.Handover(s); ok {
			t.Signed = append(t.Signed, handover{d, i + 1, s.Delivered})
		}
	}
	if l.Shipped != 0 {
		for _, s := range past.SentWith(l.Number) {
			line := past.Line(s.Bundle.Line)
			t.Went = append(t.Went, wentBundle{s, line, view.Lies(past, s.Bundle, line)})
		}
	}
	for _, seq := range past.ClaimsAfter(l.Number, 0, false) {
		t.Claims = append(t.Claims, p.claimRow(past, seq))
	}
	return t
}

// tellLoad takes a form of the page of a load: a scale ticket, a signed sheet, what came back, a claim.
func (p *pages) tellLoad(c echo.Context) error {
	n, err := loadNumber(c)
	if err != nil {
		return err
	}
	deeds := map[string]func(echo.Context, floor.Origin, tags.Number) (floor.Receipt, error){
		"weigh": p.weigh, "deliver": p.handOver, "return": p.takeBack, "claim": p.complain, "back": p.bringBack,
	}
	do, ok := deeds[c.Param("deed")]
	if !ok {
		return echo.ErrNotFound
	}
	o, err := origin(c, c.Param("deed")+" "+n.String())
	if err != nil {
		return err
	}
	r, err := do(c, o, n)
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showLoad(c, n, load.Planned{}, r.Answer, says)
}

// withPhoto lets a deed have the photo of a form, if there is one: it is kept before the event names it, and
// only where check finds nothing against the deed.
func (p *pages) withPhoto(c echo.Context, o *floor.Origin, check func() error) ([]byte, error) {
	h, err := c.FormFile("file")
	if err != nil || h.Size == 0 {
		return nil, check() // the form has none
	}
	f, err := h.Open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	paper, err := p.floor.TakePaper(f)
	if err != nil {
		return nil, err
	}
	defer paper.Drop()
	o.Request += " " + string(paper.Sum())
	if err := check(); err != nil {
		return nil, err
	}
	return paper.Sum(), paper.Keep()
}

func (p *pages) weigh(c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
	t := scan.Ticket{Load: n, Ticket: c.FormValue("ticket")}
	for _, m := range []struct {
		name string
		to   *bar.Mass
	}{{"gross", &t.Gross}, {"tare", &t.Tare}} {
		var err error
		if *m.to, err = bar.ParseMass(strings.TrimSpace(c.FormValue(m.name))); err != nil {
			return floor.Receipt{}, &event.Refusal{Field: m.name, Says: err.Error()}
		}
	}
	var err error
	if t.SHA256, err = p.withPhoto(c, &o, func() error {
		return p.floor.View(func(past *view.Past) error { _, err := scan.Weigh(past, p.floor.Rules(), t); return err })
	}); err != nil {
		return floor.Receipt{}, err
	}
	return p.floor.Weigh(c.Request().Context(), o, t)
}

func (p *pages) handOver(c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
	r := reader{c: c}
	d := scan.Delivery{Load: n, Stop: r.count("stop"), Date: c.FormValue("date"), Signed: c.FormValue("signed")}
	if r.err != nil {
		return floor.Receipt{}, r.err
	}
	var err error
	if d.SHA256, err = p.withPhoto(c, &o, func() error {
		return p.floor.View(func(past *view.Past) error { _, err := scan.Deliver(past, d); return err })
	}); err != nil {
		return floor.Receipt{}, err
	}
	return p.floor.Deliver(c.Request().Context(), o, d)
}

func (p *pages) takeBack(c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
	r := reader{c: c}
	b := scan.CameBack{Bundle: r.one("bundle"), Pieces: r.count("pieces"), Place: p.placeOf(&r), Reason: c.FormValue("reason"), Scrap: c.FormValue("scrap") != ""}
	if r.err != nil {
		return floor.Receipt{}, r.err
	}
	return p.floor.TakeBack(c.Request().Context(), o, b)
}

func (p *pages) complain(c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
	r := reader{c: c}
	x := scan.Complaint{Load: n, Bundle: r.one("bundle"), Pieces: r.count("pieces"), What: event.Wrong(c.FormValue("what")), Who: c.FormValue("who"), Note: c.FormValue("note")}
	if r.err != nil {
		return floor.Receipt{}, r.err
	}
	return p.floor.Complain(c.Request().Context(), o, x)
}

func (p *pages) bringBack(c echo.Context, o floor.Origin, n tags.Number) (floor.Receipt, error) {
	r := reader{c: c}
	x := scan.Backing{Load: n, From: r.numbers("from"), Step: c.FormValue("step"), Place: p.placeOf(&r)}
	for l := range strings.Lines(c.FormValue("into")) {
		count, tag, _ := strings.Cut(strings.TrimSpace(l), "=")
		if count == "" && tag == "" {
			continue
		}
		pieces, err := strconv.Atoi(strings.TrimSpace(count))
		if err != nil {
			r.wrong("into", "%q has no count; write 20=EC-881, one bundle a line", l)
		}
		x.Into = append(x.Into, scan.BackInto{Pieces: pieces, Alias: tag})
	}
	if r.err != nil {
		return floor.Receipt{}, r.err
	}
	return p.floor.BringBack(c.Request().Context(), o, x)
}

// one is the one number of a field.
func (r *reader) one(field string) tags.Number {
	all := r.numbers(field)
	if len(all) != 1 {
		r.wrong(field, "names %d; one number goes here", len(all))
		return 0
	}
	return all[0]
}
