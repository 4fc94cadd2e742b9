package label

import (
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// Paper is the size of a tag of the common layout, held upright.
type Paper struct{ W, H float64 }

// The papers that the layouts are made for. The zero Paper is FourBySix.
var (
	FourBySix = Paper{101.6, 152.4} // 4 x 6 in
	MetricA6  = Paper{100, 150}     // label stock of 100 x 150 mm
)

func (p Paper) size() (w, h float64) {
	if p == (Paper{}) {
		p = FourBySix
	}
	return p.W, p.H
}

// Bundle is the tag of a bundle: bars of one mark tied together.
type Bundle struct {
	Number tags.Number
	Copy   int    // 1 for the first print, which 0 means too; a reprint is the next
	End    string // "A" or "B" where both ends of one copy are printed, else ""
	Plant  string // as it stands in the corner: "Plant 1 · Example Rebar Co."
	Host   string // of the QR code's address: "TAGS.EXAMPLE"

	Job, List string // numbers of the job and the bar list: a mark is unique within both only
	JobName   string
	Mark      string
	K         string // "2", or "2b" for a remainder; "" prints no k/n
	N         int    // of how many
	Steel     bar.Steel
	Pieces    int
	Length    bar.Length // cut length of a piece
	Shape     bar.Shape
	Weight    bar.Mass // nominal, of the whole bundle; 0 is not printed

	// Heats are the heats that the bars are of, or may be of; none before the cut, which leaves a
	// box for a marker pen. Unknown says that some bars may be of a heat that nobody knows.
	Heats   []string
	Unknown bool

	// Replacement says that it is made for pieces that another bundle lost.
	Replacement bool

	ShipTo []string // lines of the address, up to three
	Units  bar.Units
	Paper  Paper
}

// Size is the size of the paper in millimetres.
func (b Bundle) Size() (w, h float64) { return b.Paper.size() }

// Codes are the number's digits and the QR text.
func (b Bundle) Codes() []string { return codes(b.Number, b.qrText) }

func (b Bundle) qrText() (string, error) {
	return qrText(b.Host, b.Unknown, tags.Tag{Number: b.Number, Copy: max(1, b.Copy), Job: b.Job, List: b.List,
		Mark: b.Mark, Size: string(b.Steel.Size), Count: b.Pieces, Heats: b.Heats})
}

// Places of the layout that more than one field refers to, in millimetres.
const (
	margin    = 4.0
	stubRule  = 15.5 // the rule below the hole
	column    = 14.0 // left edge of the large values, right of the ladder
	qrSide    = 46.6
	sketchTop = 85.6
	shapeBand = 9.0  // height of the band that says STRAIGHT
	footBars  = 21.8 // from the upright bars' top to the lower edge
	foot      = 7.0  // from the foot's text to the lower edge
)

// Draw draws the tag. The number stands at both ends, and the symbols so that a fold or a tear
// leaves one: a ladder beside the QR code, upright bars at the foot. What a bender reads runs
// downwards: mark, pieces, size, length, shape; mark and k/n are the largest for the loader.
func (b Bundle) Draw(d Device) error {
	text, err := b.qrText()
	if err != nil {
		return err
	}
	w, h := b.Size()
	p := page{d: d, w: w, h: h}
	p.stub(b.Number, b.Plant)
	if b.K != "" {
		p.put(field{name: "bundle k/n", x: w/2 + 9, y: 4.5, w: w/2 - 13, h: 8, max: 30, min: 14, lines: 1, face: Bold, side: right}, b.K+"/"+strconv.Itoa(b.N))
	}
	p.rule(stubRule)

	step := dotsUp(d, ladderX)
	p.check(ladder(d, b.Number, margin, dotsUp(d, stubRule+0.4+10*step), step, 7.5))
	p.check(qr(d, text, w-qrSide-1, 16.8, qrSide))

	columnW := min(38.5, w-qrSide-1.5-column)
	top := 20.2
	if b.Replacement {
		top = 23.4
		p.d.Rect(column, stubRule+0.6, columnW, 3.6, Black)
		p.put(field{name: "replacement", x: column + 0.5, y: stubRule + 0.8, w: columnW - 1, h: 3.2, max: 10, min: 5, lines: 1, face: Bold, side: middle, ink: White}, "REPLACEMENT · REPOSICIÓN")
	}
	p.caption(column, top, "Mark · Marca")
	p.put(field{name: "mark", x: column, y: top, w: columnW, h: 32.7 - top, max: 48, min: 9, lines: 2, face: Bold}, b.Mark)
	p.caption(column, 37.4, "Pieces · Piezas")
	p.put(field{name: "pieces", x: column, y: 37.4, w: columnW, h: 15.4, max: 60, min: 36, lines: 1, face: Bold}, strconv.Itoa(b.Pieces))
	size := p.put(field{name: "size", x: column, y: 55.3, w: 22, h: 9.8, max: 38, min: 18, lines: 1, face: Bold}, string(b.Steel.Size))
	grade := column + max(size.width()+2.5, 16)
	p.put(field{name: "grade", x: grade, y: 55.3, w: w - qrSide - 1.5 - grade, h: 7.6, max: 12, min: 6.5, lines: 3, face: Bold}, b.Steel.Spec, gradeText(b.Steel))
	p.put(field{name: "coating", x: grade, y: 63.7, w: w - margin - grade, h: 3, max: 11.5, min: 7, lines: 1, face: Bold}, strings.ToUpper(b.Steel.Coating))
	p.caption(column, 70.2, "Length · Largo")
	p.put(field{name: "length", x: column, y: 70.2, w: w - 44, h: 12.8, max: 50, min: 22, lines: 1, face: Bold}, b.Length.Text(b.Units))
	if b.Units == bar.Imperial {
		mm := (b.Length + bar.Millimetre/2) / bar.Millimetre * bar.Millimetre
		p.put(field{name: "length in mm", x: w - 29, y: 70.2, w: 25, h: 4, max: 13, min: 8, lines: 1, face: Bold, side: right}, mm.Text(bar.Metric))
	}
	if b.Weight > 0 {
		p.put(field{name: "weight", x: w - 29, y: 78.4, w: 25, h: 4.6, max: 17, min: 9, lines: 1, face: Bold, side: right}, b.Weight.Text(b.Units))
	}
	p.rule(sketchTop - 0.75)
	end := b.shape(&p)
	p.rule(end + 0.3)
	b.address(&p, end+1.5)
	p.footer(b.Number, b.Mark, b.Copy, b.End, footBars, 12.8)
	return p.err
}

// gradeText marks a grade that is a bare number, so that it reads as no count or length.
func gradeText(s bar.Steel) string {
	if _, err := strconv.Atoi(s.Grade); err == nil {
		return "Gr" + string(nbsp) + s.Grade
	}
	return s.Grade
}

// shape draws the sketch, or the band that says what needs none, and gives where it ends.
func (b Bundle) shape(p *page) float64 {
	if b.Shape.Straight() {
		band := field{name: "shape", x: 28, y: sketchTop + 2.4, w: p.w - 32, h: 5, max: 18, min: 9, lines: 1, face: Bold}
		// A shape that has only a name may be bent: the tag must not call it straight.
		if c := b.Shape.Code; c != "" && c != "00" && len(b.Shape.Legs) == 0 {
			band.x, band.w = margin, p.w-2*margin
			p.put(band, strings.TrimSpace("SHAPE · FORMA "+c+"  "+b.Shape.Edition))
			return sketchTop + shapeBand
		}
		y := sketchTop + shapeBand/2
		p.d.Line(1.2, []Point{{margin + 0.6, y}, {24, y}})
		p.put(band, "STRAIGHT · RECTA")
		return sketchTop + shapeBand
	}
	height := 23.5
	if p.h < FourBySix.H {
		height -= 2.4
	}
	if mixed(b.Heats, b.Unknown) {
		height -= 2.4 // for the heats
	}
	var diameter bar.Length
	if row, ok := b.Steel.Size.Row(); ok {
		diameter = row.Diameter
	}
	k, err := drawBend(b.Shape, diameter, b.Units, p.w-2*margin, height-0.6)
	p.check(err)
	k.draw(p.d, margin, sketchTop+0.3)
	return sketchTop + height
}

// address prints job, ship-to and heats between y and the bars at the foot. An address that needs it
// takes width from the heats.
func (b Bundle) address(p *page, y float64) {
	job := field{name: "job", x: margin, y: y, w: p.w - 2*margin, h: 5.7, max: 15, min: 6.5, lines: 3, face: Bold}
	ship := field{name: "ship-to", x: margin, max: 9, min: 6, lines: 6, face: Regular}
	if y < 100 {
		job.h, job.max, ship.max = 17, 18, 12
	}
	y = p.put(job, b.jobLine()).bottom() + 1.6
	end := p.h - footBars - 1.6
	ship.y, ship.h = y, end-y
	heats := 37.0
	ship.w = p.w - 2*margin - 2 - heats
	if _, err := ship.fit(b.ShipTo...); err != nil {
		heats -= 10
		ship.w += 10
	}
	p.put(ship, b.ShipTo...)
	p.heats(b.Heats, b.Unknown, rect{p.w - margin - heats, y, p.w - margin, end}, 26)
}

// jobLine is the number of the job and that of the bar list, and the job's name.
func (b Bundle) jobLine() string {
	line := b.Job
	if b.List != "" {
		line += string(nbsp) + "/" + string(nbsp) + b.List
	}
	if b.JobName != "" {
		line += "  " + b.JobName
	}
	return line
}
