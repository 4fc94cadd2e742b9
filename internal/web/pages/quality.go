package pages

import (
	"html/template"
	"strings"

	"tagd/internal/event"
	"tagd/internal/heat"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
	"tagd/internal/web"
)

// mountQuality puts the pages by which quality looks for things on the server.
func (p *pages) mountQuality(s *web.Server) {
	s.Pages.GET("/search", p.search)
	s.Pages.GET("/heat", p.heat)
	s.Pages.GET("/heat/:mill/:heat", p.heat)
	s.Pages.GET("/quality", p.slips)
	s.WriteProblems(p.problem)
}

// qualityFuncs are what the templates of quality call beside what all do.
func (p *pages) qualityFuncs() template.FuncMap {
	return template.FuncMap{
		"heatat":       func(k heat.Key) template.URL { return template.URL(heatAt(k)) },
		"figure":       figure,
		"state":        func(lang scan.Lang, what string) string { return stateWord(p.speak(lang), what) },
		"upper":        upper,
		"linked":       linked,
		"wants":        wants,
		"sum":          func(a, b int) int { return a + b },
		"foundas":      p.foundAs,
		"sum64":        func(a uint64, b uint64) uint64 { return a + b },
		"kindsofslips": func() []string { return view.SlipKinds },
		"page":         func(n tags.Number) string { return addressOf(n) },
		"pairof":       func(lang scan.Lang, s view.Say) string { return pair(lang, s.English, s.Spanish) },
	}
}

// foundAs is a thing that was found for a question: its kind is a word of the pages, its name stays.
func (p *pages) foundAs(lang scan.Lang, found string) string {
	for _, kind := range []string{"alias of", "bundle", "cert", "heat", "job", "list", "load", "lot", "mark", "mill", "stock"} {
		if name, ok := strings.CutPrefix(found, kind+" "); ok {
			return p.word(lang, "found "+kind) + " " + name
		}
	}
	return found
}

// about names what an event is about.
func (p *pages) about(lang scan.Lang, past *view.Past, n tags.Number, e event.Event) string {
	return p.foundAs(lang, scan.Title(past, n, e))
}
