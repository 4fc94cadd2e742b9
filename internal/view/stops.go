package view

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/tags"
)

// Say is a sentence in English and Spanish.
type Say struct{ English, Spanish string }

// Stops says what a hold on what was recalled stops, and what no hold can: what has left, and what is in the
// machines now. Nothing stops steel that is not of it; what comes of it later is stopped too.
func (r Recall) Stops(u bar.Units) (stops, cannot []Say) {
	sum := func(of ...Haste) (g Group) {
		for _, x := range r.Groups {
			if slices.Contains(of, x.Haste) {
				g.Bundles, g.Pieces, g.Mass, g.Lots, g.Bars, g.Stock = g.Bundles+x.Bundles, g.Pieces+x.Pieces, g.Mass+x.Mass, g.Lots+x.Lots, g.Bars+x.Bars, g.Stock+x.Stock
				g.Loads = append(g.Loads, x.Loads...)
			}
		}
		slices.Sort(g.Loads)
		g.Loads = slices.Compact(g.Loads)
		return g
	}
	say := func(to *[]Say, english, spanish string) { *to = append(*to, Say{english, spanish}) }
	if g := sum(Lying, InStock); g.Lots > 0 {
		bars, barras := many(g.Bars, "bar")+", ", many(g.Bars, "barra")+", "
		if g.Bars == 0 { // coil
			bars, barras = "", ""
		}
		say(&stops, fmt.Sprintf("Nothing is started from %s: %s%s.", many(g.Lots, "lot"), bars, g.Stock.Text(u)),
			fmt.Sprintf("No se empieza nada de %s: %s%s.", many(g.Lots, "lote"), barras, g.Stock.Text(u)))
	}
	if g := sum(Lying); g.Bundles > 0 {
		say(&stops, fmt.Sprintf("The next step of %s (%s) is refused.", many(g.Bundles, "bundle"), many(g.Pieces, "piece")),
			fmt.Sprintf("Se rechaza el paso siguiente de %s (%s).", many(g.Bundles, "atado"), many(g.Pieces, "pieza")))
	}
	if g := sum(Standing); g.Bundles > 0 {
		say(&stops, fmt.Sprintf("The loading of %s (%s, %s) is refused.", many(g.Bundles, "bundle"), many(g.Pieces, "piece"), g.Mass.Text(u)),
			fmt.Sprintf("Se rechaza cargar %s (%s, %s).", many(g.Bundles, "atado"), many(g.Pieces, "pieza"), g.Mass.Text(u)))
	}
	if g := sum(Here); g.Bundles > 0 {
		say(&stops, fmt.Sprintf("%s here, %s, may not leave: %s of it lie there. Take them off.", many(len(g.Loads), "load"), loadNames(g.Loads), many(g.Bundles, "bundle")),
			fmt.Sprintf("%s aquí, %s, no debe salir: lleva %s. Descárguelos.", many(len(g.Loads), "carga"), loadNames(g.Loads), many(g.Bundles, "atado")))
	}
	if len(stops) == 0 {
		say(&stops, "Nothing of it is here now; what comes of it later is stopped.", "Nada de ello está aquí ahora; lo que venga después se detiene.")
	}
	if g := sum(AtWork); g.Bundles > 0 {
		say(&cannot, fmt.Sprintf("%s (%s) are in work now at %s: they are finished, with Check, and stop there.", many(g.Bundles, "bundle"), many(g.Pieces, "piece"), r.stations()),
			fmt.Sprintf("%s (%s) están en trabajo ahora en %s: se terminan, con Atención, y ahí se detienen.", many(g.Bundles, "atado"), many(g.Pieces, "pieza"), r.stations()))
	}
	for _, c := range r.Calls {
		if c.Left == 0 {
			continue
		}
		site := c.Job.Job
		for _, line := range slices.Concat([]string{c.Job.Name}, c.ShipTo) {
			if line != "" {
				site += ", " + line
			}
		}
		if c.Contact != "" {
			site += " (" + c.Contact + ")"
		}
		say(&cannot, fmt.Sprintf("%s (%s, %s) left on load %v for %s: call there.", many(c.Bundles, "bundle"), many(c.Pieces, "piece"), c.Mass.Text(u), c.Load, site),
			fmt.Sprintf("%s (%s, %s) salieron en la carga %v para %s: llame allá.", many(c.Bundles, "atado"), many(c.Pieces, "pieza"), c.Mass.Text(u), c.Load, site))
	}
	return stops, cannot
}

// stations are those where something of the recall is at work.
func (r Recall) stations() string {
	var out []string
	for _, b := range r.Bundles {
		if b.Haste == AtWork && !slices.Contains(out, b.Station) {
			out = append(out, b.Station)
		}
	}
	slices.Sort(out)
	return strings.Join(out, ", ")
}

func many(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// mostNamed is how many loads a sentence names.
const mostNamed = 4

func loadNames(all []tags.Number) string {
	var out []string
	for _, n := range all[:min(len(all), mostNamed)] {
		out = append(out, n.String())
	}
	if len(all) > mostNamed {
		out = append(out, fmt.Sprintf("+ %d", len(all)-mostNamed))
	}
	return strings.Join(out, ", ")
}
