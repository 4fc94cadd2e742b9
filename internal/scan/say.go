package scan

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"tagd/internal/event"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Lang is a language of the floor.
type Lang string

// The languages of the floor.
const (
	English Lang = "en"
	Spanish Lang = "es"
)

// Sentence is one answer in the words of the shop. {0}, {1} ... are filled from a note's Args.
type Sentence struct {
	Verdict event.Verdict
	EN, ES  string
	// What to do next; may be empty when there is nothing.
	NextEN, NextES string
}

// Say is the sentence of a note, and what to do next.
func Say(n event.Note, lang Lang) (says, next string) {
	s, ok := Sentences[n.Code]
	if !ok {
		return n.Code + " " + strings.Join(n.Args, ", "), ""
	}
	return s.Say(n.Args, lang)
}

// Say fills the gaps of a sentence in a language, and of what it says to do next.
func (s Sentence) Say(args []string, lang Lang) (says, next string) {
	says, next = s.EN, s.NextEN
	if lang == Spanish {
		says, next = s.ES, s.NextES
	}
	return fill(says, args, lang), fill(next, args, lang)
}

// gap is {0}, or {0|# piece|# pieces}: the number of an argument, and its forms for one and for several.
var gap = regexp.MustCompile(`\{(\d+)(?:\|([^{}|]*)\|([^{}|]*))?\}`)

func fill(s string, args []string, lang Lang) string {
	if !strings.Contains(s, "{") {
		return s
	}
	return gap.ReplaceAllStringFunc(s, func(text string) string {
		m := gap.FindStringSubmatch(text)
		i, _ := strconv.Atoi(m[1])
		if i >= len(args) {
			return text
		}
		a := args[i]
		if lang == Spanish {
			a = inSpanish(a)
		}
		return plural(text, a, m[2], m[3])
	})
}

// plural is what a gap says of how many there are: "#" stands for that in either form.
func plural(gap, n, one, several string) string {
	switch {
	case !strings.Contains(gap, "|"):
		return n
	case n == "1":
		several = one
	}
	return strings.ReplaceAll(several, "#", n)
}

// inSpanish is a word that fills a gap, or several with commas between them, in Spanish where it has one.
func inSpanish(a string) string {
	if w, ok := words[a]; ok {
		return w
	}
	all := strings.Split(a, ", ")
	for i, one := range all {
		w, ok := words[one]
		if !ok {
			return a
		}
		all[i] = w
	}
	return strings.Join(all, ", ")
}

// words are the Spanish of what fills a gap.
var words = map[string]string{
	"cut": "cortar", "bend": "doblar", "cut and bend": "cortar y doblar", "saw": "aserrar", "thread": "roscar",
	"head": "cabecear", "coat": "recubrir", "tie": "amarrar", "bundle": "atado", "stock": "material",
	"load": "carga", "place": "lugar", "person": "persona", "loadout": "carga", "melt": "fundido", "roll": "laminado",
	"short": "faltan", "wrong": "equivocadas", "replace": "reponer", "credit": "abonar", "not ours": "no es nuestro", "all": "todas", "delivered": "entregada",
	"move": "mover", "return": "devolución", "back": "regreso", "assembly": "ensamble", "heat": "colada", "unknown": "desconocida", "nothing": "nada", "none": "ninguno", "yard": "patio",
	"receiving": "recepción", "staging": "preparación", "planned": "planeada", "open": "abierta", "shipped": "salió",
	"part": "hecho en parte", "take": "tomar", "join": "unirse", "empty": "vaciar", "unload": "descargar", "ship": "salida", "pieces": "piezas", "copy": "copia", "job": "obra",
	"quality": "calidad", "shipping": "embarques", "floor lead": "jefe de piso", "office": "oficina",
	"list": "lista", "mark": "marca", "size": "calibre", "single": "una por atado",
	"miscut": "mal cortado", "misbent": "mal doblado", "sample": "muestra", "damaged": "dañado", "site": "en obra", "revised": "por revisión",
	"last": "último", "count": "contar", "unknown day": "día desconocido",
	"no station does it": "ninguna estación lo hace", "on file": "en archivo", "reviewed": "revisados",
}

// Spanish is the step in Spanish.
func (s Step) Spanish() string { return inSpanish(string(s)) }

// answer begins an answer.
func answer(v event.Verdict, code string, args ...any) event.Answer {
	return event.Answer{Verdict: v, Notes: []event.Note{note(code, args...)}}
}

func note(code string, args ...any) event.Note {
	n := event.Note{Code: code}
	for _, a := range args {
		n.Args = append(n.Args, fmt.Sprint(a))
	}
	return n
}

// look makes the answer a Check with one more sentence.
func look(a *event.Answer, code string, args ...any) {
	a.Verdict = event.Check
	a.Notes = append(a.Notes, note(code, args...))
}

// heed makes the answer a Check with what a refusal says, of what is done all the same.
func heed(a *event.Answer, no Outcome) {
	a.Verdict = event.Check
	a.Notes = append(a.Notes, no.Answer.Notes...)
}
