package pages

import (
	"html/template"

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
		"sum64":        func(a uint64, b uint64) uint64 { return a + b },
		"kindsofslips": func() []string { return view.SlipKinds },
		"page":         func(n tags.Number) string { return addressOf(n) },
		"pairof":       func(lang scan.Lang, s view.Say) string { return pair(lang, s.English, s.Spanish) },
	}
}
