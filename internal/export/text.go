package export

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"tagd/internal/heat"
	"tagd/internal/tags/label"
)

// Text writes the recall in plain text with aligned columns, for a terminal. Nothing that a terminal
// would obey is left in it: control characters of the texts come out as blanks.
func (r Recall) Text(w io.Writer) error {
	a := r.account()
	var b strings.Builder
	title := "RECALL LIST"
	if r.Trace {
		title = "TRACE REPORT"
	}
	fmt.Fprintf(&b, "%s  %s\n", title, label.Clean(a.Asked))
	if about := a.about(); about != "" {
		fmt.Fprintln(&b, label.Clean(about))
	}
	for _, h := range a.Holds {
		fmt.Fprintln(&b, label.Clean(h.english()))
	}
	if !r.Trace && !a.held() {
		fmt.Fprintln(&b, "Nothing is held: what is still here can be cut and loaded.")
	}
	made := "Made " + a.Printed
	if a.Through > 0 {
		made += fmt.Sprintf(" from records 1 to %d", a.Through)
	}
	fmt.Fprintln(&b, label.Clean(made))
	b.WriteString("\n")
	a.whereText(&b)
	a.callsText(&b)
	a.certsText(&b)
	a.everythingText(&b)
	_, err := io.WriteString(w, b.String())
	return err
}

// english tells the hold in one line of a terminal.
func (h Hold) english() string {
	what := "heat " + heat.Key{Mill: h.Target.Mill, Heat: h.Target.Heat}.String()
	if n := h.Target.Number; n != 0 {
		what = n.Kind().String() + " " + n.String()
	}
	s := fmt.Sprintf("HELD: %s: %s%s", what, h.Reason, stamp(h.At, h.By))
	if r := h.Released; r != nil {
		s = fmt.Sprintf("Released: %s: %s%s; %s%s", what, h.Reason, stamp(h.At, h.By), r.Reason, stamp(r.At, r.By))
	}
	return s
}

func (a *account) whereText(b *strings.Builder) {
	g := grid{right: "0+++++"}
	g.row("Where now", "Bundles", "Certain", "One of", "Pieces", unitName(a.Units))
	row := func(name, things, pieces string, t tally) {
		g.row(name, things, count(t.certain, a.Units), count(t.oneOf, a.Units), pieces, figure(t.weight, a.Units))
	}
	for w, t := range a.places {
		things, pieces := count(t.bundles, a.Units), count(t.pieces, a.Units)
		if Where(w) == InStock {
			things, pieces = counted(t.bundles, "lot", a), counted(t.pieces, "bar", a)
		}
		row(fmt.Sprintf("%d %s", w+1, Where(w)), things, pieces, t)
	}
	bundles, lots := a.all()
	all := bundles
	all.weight += lots.weight
	all.certain += lots.certain
	all.oneOf += lots.oneOf
	row("All", count(bundles.bundles, a.Units)+" + "+counted(lots.bundles, "lot", a), count(bundles.pieces, a.Units)+" + "+counted(lots.pieces, "bar", a), all)
	g.write(b)
}

func (a *account) callsText(b *strings.Builder) {
	if len(a.calls) == 0 {
		return
	}
	title, _ := a.callsTitle()
	b.WriteString("\n" + title + "\n")
	g := grid{right: "000++0"}
	g.row("Load", "Job", "Ship to", "Bundles", unitName(a.Units), "Truck, left, contact")
	for _, c := range a.calls {
		g.row(c.Load.String(), strings.TrimSpace(c.Job+" "+c.JobName), strings.Join(c.ShipTo, ", "), count(c.bundles, a.Units), figure(c.weight, a.Units),
			joinSet(", ", c.Truck, c.Sent.Left, c.Contact))
	}
	g.write(b)
}

func (a *account) certsText(b *strings.Builder) {
	if !a.showCerts() {
		return
	}
	b.WriteString("\nCertificates\n")
	g := grid{right: "00000"}
	g.row("Heat", "Sizes", "Spec", "Type", "State")
	for _, c := range a.certRows() {
		g.row(c.key.String(), join(c.Filed.Sizes), c.Filed.Spec, c.Filed.Type, c.english)
	}
	g.write(b)
}

func (a *account) everythingText(b *strings.Builder) {
	g := grid{right: "0000++00"}
	where := InStock
	for _, x := range a.Bundles {
		if x.Where != where {
			g.write(b)
			fmt.Fprintf(b, "\n%d %s\n", x.Where+1, x.Where)
			where = x.Where
		}
		place := joinSet(", ", x.Place, x.Since)
		if x.Load != 0 {
			place = joinSet(", ", "load "+x.Load.String(), place)
		}
		g.row(x.Number.String(), joinSet("/", x.Job, x.List, x.Mark), x.kOfN(), string(x.Steel.Size), count(x.Pieces, a.Units)+" pcs", figure(x.Weight, a.Units)+" "+unitName(a.Units),
			a.sure(x.Draw), place)
	}
	g.write(b)
	for i, l := range a.Lots {
		if i == 0 {
			fmt.Fprintf(b, "\n%d %s\n", InStock+1, InStock)
		}
		g.row(l.Number.String(), l.what(), l.Length.Text(a.Units), string(l.Steel.Size), counted(l.Bars, "bar", a), figure(l.Weight, a.Units)+" "+unitName(a.Units),
			a.sure(l.Draw), joinSet(", ", l.Place, l.Since))
	}
	g.write(b)
}

// sure is the certainty of a draw and the heats that it may be of.
func (a *account) sure(d heat.Draw) string {
	var names []string
	for _, k := range d.Heats {
		names = append(names, a.name(k))
	}
	switch {
	case d.Certainty == "":
		return "none yet"
	case d.Certainty == heat.Unknown && len(names) > 0:
		return "unknown, or " + strings.Join(names, ", ")
	case d.Certainty == heat.OneOf:
		return "one of " + strings.Join(names, ", ")
	}
	return strings.TrimSpace(string(d.Certainty) + " " + strings.Join(names, ", "))
}

// joinSet joins the texts that are not empty.
func joinSet(by string, texts ...string) string {
	var out []string
	for _, t := range texts {
		if t != "" {
			out = append(out, t)
		}
	}
	return strings.Join(out, by)
}

// grid is rows of a table in plain text.
type grid struct {
	right string // a + for each column that is set to the right
	rows  [][]string
}

func (g *grid) row(cells ...string) {
	for i := range cells {
		cells[i] = strings.ReplaceAll(label.Clean(cells[i]), "\u00a0", " ")
	}
	g.rows = append(g.rows, cells)
}

// write prints the rows so far, and forgets them.
func (g *grid) write(b *strings.Builder) {
	var widths []int
	for _, row := range g.rows {
		for i, c := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	for _, row := range g.rows {
		var line strings.Builder
		for i, c := range row {
			pad := strings.Repeat(" ", widths[i]-utf8.RuneCountInString(c))
			if i > 0 {
				line.WriteString("  ")
			}
			if g.right[i] == '+' {
				line.WriteString(pad + c)
			} else {
				line.WriteString(c + pad)
			}
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	g.rows = nil
}
