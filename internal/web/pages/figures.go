package pages

import (
	"html/template"
	"strconv"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/scan"
)

// Figures lead and units follow: the digits are large, the unit small beside them, and a fraction is stacked so
// that each of its figures is large enough to be read. What a screen reader says is written out beside it.

// spoken are the units as words, English and Spanish.
var spoken = map[string][2]string{
	"'": {"feet", "pies"}, `"`: {"inches", "pulgadas"}, "mm": {"millimetres", "milímetros"}, "lb": {"pounds", "libras"}, "kg": {"kilograms", "kilogramos"},
}

func unit(lang scan.Lang, u string) string {
	w, ok := spoken[u]
	switch {
	case !ok:
		return u
	case lang == scan.Spanish:
		return w[1]
	}
	return w[0]
}

// bigLength is a length for reading from far: 12′-7½″ with the fraction stacked, or 3850 mm.
func bigLength(lang scan.Lang, l bar.Length, units bar.Units) template.HTML {
	text := l.Text(units)
	if figure, u, ok := strings.Cut(text, " "); ok && units == bar.Metric {
		return template.HTML(`<span class="nowrap">` + figure + ` <span class="u">` + u + `</span></span>`)
	}
	say := strings.NewReplacer("'-", " "+unit(lang, "'")+" ", `"`, " "+unit(lang, `"`)).Replace(text)
	var show strings.Builder
	feet, rest, ok := strings.Cut(text, "'-")
	if ok {
		show.WriteString(feet + "′-")
	} else {
		rest = text
	}
	rest = strings.TrimSuffix(rest, `"`)
	whole, fraction, _ := strings.Cut(rest, " ")
	if strings.Contains(whole, "/") {
		whole, fraction = "", whole
	}
	show.WriteString(whole)
	if num, den, ok := strings.Cut(fraction, "/"); ok {
		show.WriteString(`<span class="fr"><i>` + num + `</i><i>` + den + `</i></span>`)
	}
	show.WriteString("″")
	return template.HTML(`<span class="vh">` + say + `</span><span class="nowrap" aria-hidden="true">` + show.String() + `</span>`)
}

// nearLength is a length within a text: 12′-7 1/2″, or 3850 mm.
func nearLength(l bar.Length, units bar.Units) string {
	return strings.NewReplacer("'", "′", `"`, "″").Replace(l.Text(units))
}

// bigMass is a weight with its unit small.
func bigMass(m bar.Mass, units bar.Units) template.HTML { return figure(m.Text(units)) }

// figure is a figure that has its unit behind it, with that small.
func figure(text string) template.HTML {
	n, u, _ := strings.Cut(text, " ")
	return template.HTML(template.HTMLEscapeString(n) + ` <span class="u">` + template.HTMLEscapeString(u) + `</span>`)
}

// bigSteel is a steel whose size leads: #5 A706 60.
func bigSteel(s bar.Steel) template.HTML {
	size := template.HTMLEscapeString(string(s.Size))
	rest := template.HTMLEscapeString(strings.TrimSpace(strings.TrimPrefix(s.String(), string(s.Size))))
	return template.HTML(size + ` <span class="stack"><i>` + strings.Replace(rest, " ", "</i><i>", 1) + `</i></span>`)
}

// counted is a count of things in the form that its number asks for, "1 bundle" or "12 bundles": what the table of
// words has with "many" before it.
func (in speech) counted(n int, of string) string { return in.filled("many "+of, strconv.Itoa(n)) }

// filled is a text of the table whose gaps are filled.
func (in speech) filled(what string, with ...string) string {
	says, _ := scan.Sentence{EN: in(what)}.Say(with, scan.English)
	return says
}
