package pages

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/tags/label"
	"tagd/internal/view"
)

// workCard is a card as a station shows it.
type workCard struct {
	scan.Card
	JobName string
	Truck   *scan.Truck // that it is planned on
	Stop    int         // of the truck, from 1; 0: not known

	Moved       bool         // the record has another card on the table, which is done: a scan without a count would only show this one
	First, Rest []scan.Bring // what to bring: as much as there is room for, and the rest
	BringBars   int
	BringMass   bar.Mass
	Bars        *barsDrawing
	AllBars     *barsDrawing // with all ways of cutting, and in words, where the card has no room for all
	Gauge       *scan.Gauge  // of its own length
	Bend        *label.Bend  // nil: straight, or nobody said how it is bent
	BendText    string       // the bends in words
}

// mostBring is how many lots to bring, and mostPatterns how many ways of cutting, a card has room for.
const (
	mostBring    = 2
	mostPatterns = 2
)

// Pieces is what is to be made of it now.
func (c *workCard) Pieces() int {
	if c.Step == "" {
		return c.Bundle.Pieces
	}
	return c.Bundle.ToDo()
}

// Tight says that the large figures need to be somewhat smaller to stand beside each other.
func (c *workCard) Tight() bool {
	long := utf8.RuneCountInString(c.Line.Length.Text(bar.Imperial))
	mixed := c.Bars != nil && len(c.Bars.Rows) > 1 && c.Bars.Rows[0].Of != ""
	return mixed || long > 11 || long > 9 && c.Pieces() > 999
}

// MarkSize is how large its mark can be written.
func (c *workCard) MarkSize() string {
	switch n := utf8.RuneCountInString(c.Line.Mark); {
	case n <= 9:
		return "far"
	case n <= 13:
		return "mid"
	}
	return "near"
}

// work finds the card that a station shows: of the bundle that was scanned when it is to be worked on here, else
// of the one that lies on the table. A refusal changes nothing on the table.
func (p *pages) work(past *view.Past, d *stationPage, at scan.Floor, scans []view.Scanned, a *event.Answer, n tags.Number) {
	onTable := onTableOf(past, at)
	if onTable == 0 && d.Steps && len(d.Station.Feeds) == 0 {
		onTable = begunHere(past, d.Station, scans)
	}
	scanned := n.Kind() == tags.Bundle && a != nil
	if scanned && a.Verdict != event.Refused {
		d.Card = p.card(past, d.Station, n)
		d.Work = d.Card != nil && d.Card.toDoAt(d.Station)
		if d.Work || onTable == 0 {
			return
		}
	}
	if onTable != 0 {
		if c := p.card(past, d.Station, onTable); c != nil {
			c.Moved = at.Card != 0 && at.Card != onTable
			d.Card, d.Work = c, true
			return
		}
	}
	if scanned && d.Card == nil && !d.Steps {
		d.Card = p.card(past, d.Station, n)
	}
}

// onTableOf is the bundle whose card lies at a station, or where that one is done another one of the open run.
func onTableOf(past *view.Past, at scan.Floor) tags.Number {
	run, open := past.Run(at.Run)
	if at.Run == 0 || !open || run.Cutting(at.Card) {
		return at.Card
	}
	for _, m := range run.Members {
		if !m.Done {
			return m.Bundle
		}
	}
	return 0
}

// toDoAt says whether the card's next step is one of the station's, and no other station has begun it.
func (c *workCard) toDoAt(st scan.Station) bool {
	return c.Step != "" && st.Can(scan.Work(c.Step)) && !c.Bundle.Voided && (!c.Bundle.Started || c.Run != 0 || c.Bundle.Station == st.Name)
}

// begunHere is the bundle that was begun last at a station and is still at work there.
func begunHere(past *view.Past, st scan.Station, scans []view.Scanned) tags.Number {
	for _, s := range scans {
		if s.Number.Kind() != tags.Bundle {
			continue
		}
		if b, ok := past.Bundle(s.Number); ok && b.Started && b.Station == st.Name && !b.Voided {
			return b.Number
		}
	}
	return 0
}

// card is the card of a bundle, with what stands beside it on the page.
func (p *pages) card(past *view.Past, st scan.Station, n tags.Number) *workCard {
	rules := p.floor.Rules()
	card, ok := scan.CardOf(past, rules, st.Name, n)
	if !ok {
		return nil
	}
	c := &workCard{Card: card}
	job, _ := past.Job(c.Line.Job)
	c.JobName = job.Name
	if on := c.Bundle.Planned; on != 0 {
		if l, ok := past.Load(on); ok {
			t := scan.Truck{Load: l}
			t.Leaves, t.Said = l.Leaving(rules.Calendar)
			c.Truck = &t
			if len(l.Stops) > 1 {
				c.Stop = past.StopOf(l, c.Bundle) + 1
			}
		}
	}
	c.First = c.Bring
	if len(c.First) > mostBring {
		c.First, c.Rest = c.Bring[:mostBring], c.Bring[mostBring:]
	}
	for _, b := range c.Bring {
		c.BringBars += b.Bars
		m, _ := bar.Weigh(b.Lot.Steel.Size, b.Lot.Length*bar.Length(b.Bars)) // sizes of lots were checked
		c.BringMass += m + b.Mass
	}
	for i, g := range c.Gauges {
		if g.Length == c.Line.Length {
			c.Gauge = &c.Gauges[i]
			break
		}
	}
	if len(c.Plan) > 0 {
		c.Bars = drawBars(past, c, rules.Units, mostPatterns)
		if c.Bars.Others > 0 || c.Bars.Bare {
			c.AllBars = drawBars(past, c, rules.Units, len(c.Plan))
			c.AllBars.Whole = true
		}
	}
	if !c.Line.Shape.Straight() {
		c.BendText = c.Line.Shape.Text(rules.Units)
		c.Bend = p.bendOf(c.Line, rules.Units)
	}
	return c
}

// The box of the sketch of a bend on the floor, in millimetres of the sketch: as wide as the work of a tablet
// when a millimetre of it is 9 pixels.
const (
	bendWide = 106
	bendHigh = 33
)

// mostBends is how many sketches are kept, since the next scan most often asks for the same one.
const mostBends = 1000

// bendOf is the sketch of a line's shape; nil where none can be drawn.
func (p *pages) bendOf(l *scan.Line, units bar.Units) *label.Bend {
	key := fmt.Sprint(l.Steel.Size, l.Shape.Pin, l.Shape.Legs)
	p.bendsMu.Lock()
	defer p.bendsMu.Unlock()
	if b, ok := p.bends[key]; ok {
		return b
	}
	var b *label.Bend
	row, _ := l.Steel.Size.Row() // sizes of lines were checked
	if drawn, err := label.BendOf(l.Shape, row.Diameter, units, bendWide, bendHigh); err == nil {
		for i := range drawn.Texts {
			drawn.Texts[i].Says = strings.NewReplacer("'", "′", `"`, "″").Replace(drawn.Texts[i].Says)
		}
		b = &drawn
	}
	if p.bends == nil || len(p.bends) >= mostBends {
		p.bends = map[string]*label.Bend{}
	}
	p.bends[key] = b
	return b
}

// path is a line through points, as SVG writes it.
func path(points []label.Point) string {
	var b strings.Builder
	for i, at := range points {
		letter := 'L'
		if i == 0 {
			letter = 'M'
		}
		fmt.Fprintf(&b, "%c%.2f %.2f", letter, at.X, at.Y)
	}
	return b.String()
}
