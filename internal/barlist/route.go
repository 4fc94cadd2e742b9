package barlist

import (
	"fmt"
	"slices"
	"strings"

	"tagd/internal/sheet"
)

// Steps are the words of a Route: what can be done to the bars of a line.
var Steps = []string{"cut", "bend", "cut and bend", "saw", "thread", "head", "coat", "tie"}

// stepWords are the folded words that are read for a step, English and Spanish.
var stepWords = map[string]string{
	"cut": "cut", "corte": "cut", "cortar": "cut",
	"bend": "bend", "doblez": "bend", "doblar": "bend", "doblado": "bend",
	"cutandbend": "cut and bend", "corteydoblez": "cut and bend", "cortarydoblar": "cut and bend",
	"saw": "saw", "sierra": "saw", "aserrar": "saw",
	"thread": "thread", "rosca": "thread", "roscar": "thread", "roscado": "thread",
	"head": "head", "cabeza": "head", "cabecear": "head",
	"coat": "coat", "recubrir": "coat", "recubrimiento": "coat",
	"tie": "tie", "amarre": "tie", "amarrar": "tie",
}

// ParseRoute reads the steps of a line, parted by + , ; > or /. Nothing is nil, the word none is no
// step.
func ParseRoute(s string) ([]string, error) {
	switch sheet.Fold(s) {
	case "":
		return nil, nil
	case "none", "ninguna", "ninguno":
		return []string{}, nil
	}
	var route []string
	for _, word := range strings.FieldsFunc(s, func(c rune) bool { return strings.ContainsRune("+,;>/", c) }) {
		step, ok := stepWords[sheet.Fold(word)]
		if !ok {
			return nil, fmt.Errorf("%s is no step: write %s, with + between them, or none", sheet.Quote(strings.TrimSpace(word)), strings.Join(Steps, ", "))
		}
		if slices.Contains(route, step) {
			return nil, fmt.Errorf("%s stands there twice: a step is done once", step)
		}
		route = append(route, step)
	}
	return route, nil
}
