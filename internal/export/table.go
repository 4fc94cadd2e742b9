package export

import (
	"tagd/internal/tags/label"
)

// column is a column of a table.
type column struct {
	w                float64
	english, spanish string
	face             label.Face
	right            bool // of figures
}

// cell is what stands in a column of a row: paragraphs, and a note in small letters, after the text
// where there is room.
type cell struct {
	text []string
	note string
}

func words(s ...string) cell { return cell{text: s} }

const (
	rowTop     = 1.45 + bodySize*capital // from the rule above a row to its first base line
	rowBelow   = 1.75                    // from the base line of its last line to the rule below
	groupAbove = 2.6                     // above the capitals of a group's head
	gap        = 1.2                     // between texts of neighbouring columns, at least
	// afterFigures keeps figures, which end at their column's right edge, from the text after them.
	afterFigures = 2.5
	tickSide     = 3.4
)

// table makes the blocks of a table. Rows follow its heads; groups may part them.
type table struct {
	s       *sheet
	columns []column
	tick    bool // a box to tick off before the first column
	head    block
	again   []block // above a row that begins a page
	blocks  []block
	start   int // of blocks: the head above the newest rows
}

// tickWidth is the width that a tick box takes at the left.
const tickWidth = 6.0

func newTable(s *sheet, tick bool, columns ...column) *table {
	t := &table{s: s, tick: tick, columns: columns}
	var english, spanish []label.Writing
	for _, c := range columns {
		english = append(english, s.column(label.Column{Name: "head", W: c.w - gap, Max: 8, Min: 6, Face: label.Bold, Right: c.right}, c.english))
		spanish = append(spanish, s.column(label.Column{Name: "head", W: c.w - gap, Max: smallSize, Min: 5.5, Face: label.Regular, Right: c.right}, c.spanish))
	}
	t.head = block{h: beforeTable + 7, keep: true, draw: func(d label.Device, y float64) {
		y += beforeTable
		t.each(func(i int, x float64) {
			if c := columns[i]; c.right {
				x += gap
			}
			english[i].Draw(d, x, y+2.2)
			spanish[i].Draw(d, x, y+5.2)
		})
		d.Rect(margin, y+7-0.25, s.w-2*margin, 0.25, label.Black)
	}}
	t.again = []block{t.head}
	t.blocks = []block{t.head}
	return t
}

// each visits the columns with their left edges.
func (t *table) each(visit func(i int, x float64)) {
	x := margin
	if t.tick {
		x += tickWidth
	}
	for i, c := range t.columns {
		if i > 0 && t.columns[i-1].right && !c.right {
			x += afterFigures
		}
		visit(i, x)
		x += c.w
	}
}

// group begins a group of rows: a title, and lines in smaller letters below it.
func (t *table) group(title string, below ...string) {
	w := t.s.w - 2*margin
	head := func(title string, below ...string) block {
		big := t.s.set("group", 9.5, label.Bold, w, title)
		small := t.s.set("group", 8, label.Regular, w, below...)
		h := groupAbove + big.Rise() + big.Depth() + rowBelow
		if len(small.Lines()) > 0 {
			h += 1.3 + small.Rise() + small.Depth()
		}
		return block{h: h, keep: true, again: []block{t.head}, draw: func(d label.Device, y float64) {
			y += groupAbove + big.Rise()
			big.Draw(d, margin, y)
			if len(small.Lines()) > 0 {
				y += big.Depth() + 1.3 + small.Rise()
				small.Draw(d, margin, y)
				y += small.Depth()
			} else {
				y += big.Depth()
			}
			t.rule(d, y+rowBelow)
		}}
	}
	t.start = len(t.blocks)
	t.blocks = append(t.blocks, head(title, below...))
	t.again = []block{t.head, head(title + " (continued · sigue)")}
}

func (t *table) rule(d label.Device, y float64) {
	d.Rect(margin, y-hairline, t.s.w-2*margin, hairline, label.Black)
}

// row adds a row; a cell for each column. The name is that of what stands in it, for errors; below
// is text in small letters across the table that belongs to the row, or "".
func (t *table) row(name, below string, cells ...cell) {
	type part struct {
		text, note label.Writing
		x, noteX   float64
		noteY      float64
	}
	parts := make([]part, len(t.columns))
	deep := 0.0
	t.each(func(i int, x float64) {
		c := t.columns[i]
		p := &parts[i]
		p.x = x
		if c.right {
			p.x += gap
		}
		col := label.Column{Name: name + ", " + c.english, W: c.w - gap, Max: bodySize, Min: leastSize, Face: c.face, Right: c.right}
		p.text = t.s.column(col, cells[i].text...)
		bottom := p.text.Depth()
		if cells[i].note != "" {
			col.Max, col.Face = smallSize, label.Regular
			p.note = t.s.column(col, cells[i].note)
			p.noteX = p.x
			if room := c.w - gap - p.text.Width() - 1.5; len(p.text.Lines()) == 1 && len(p.note.Lines()) == 1 && p.note.Width() <= room {
				p.noteX += p.text.Width() + 1.5
			} else if len(p.text.Lines()) > 0 {
				p.noteY = bottom + leading
			}
			bottom = max(bottom, p.noteY+p.note.Depth())
		}
		deep = max(deep, bottom)
	})
	if t.start == len(t.blocks)-2 {
		t.blocks[t.start+1].keep = true // a head keeps two rows
	}
	wide := t.s.set(name, smallSize, label.Regular, t.s.w-2*margin-tickWidth, below)
	if below != "" {
		deep += 1.2 + wide.Rise() + wide.Depth()
	}
	t.blocks = append(t.blocks, block{h: rowTop + deep + rowBelow, again: t.again, draw: func(d label.Device, y float64) {
		if t.tick {
			outline(d, margin+0.5, y+(rowTop+rowBelow-tickSide)/2, tickSide)
		}
		base := y + rowTop
		for _, p := range parts {
			p.text.Draw(d, p.x, base)
			p.note.Draw(d, p.noteX, base+p.noteY)
		}
		wide.Draw(d, margin+tickWidth, base+deep-wide.Depth())
		t.rule(d, base+deep+rowBelow)
	}})
}

// outline draws a square to tick.
func outline(d label.Device, x, y, side float64) {
	d.Line(0.25, []label.Point{{X: x, Y: y}, {X: x + side, Y: y}, {X: x + side, Y: y + side}, {X: x, Y: y + side}, {X: x, Y: y}})
}

// total adds the sum of the rows above, and stays with the last of them: words from the left edge on
// up to a column, and figures in that and later ones.
func (t *table) total(from int, title string, figures ...string) {
	start := 0.0
	t.each(func(i int, x float64) {
		if i == from {
			start = x
		}
	})
	text := t.s.set("total", bodySize, label.Bold, start-margin-gap, title)
	cells := make([]label.Writing, len(figures))
	for i, f := range figures {
		c := t.columns[from+i]
		cells[i] = t.s.column(label.Column{Name: "total", W: c.w - gap, Max: bodySize, Min: leastSize, Face: label.Bold, Right: c.right}, f)
	}
	t.blocks[len(t.blocks)-1].keep = true
	t.blocks = append(t.blocks, block{h: rowTop + text.Depth() + rowBelow + 0.5, again: t.again, draw: func(d label.Device, y float64) {
		base := y + rowTop
		text.Draw(d, margin, base)
		t.each(func(i int, x float64) {
			if j := i - from; j >= 0 && j < len(cells) {
				if t.columns[i].right {
					x += gap
				}
				cells[j].Draw(d, x, base)
			}
		})
	}})
}
