package pages

import (
	"html/template"
	"net/url"
	"strings"

	"tagd/internal/bar"
	"tagd/internal/event"
	"tagd/internal/web"
)

// ways are the way round the office pages: what drives the shop, what it makes, what it makes it of, what is
// looked for, and what waits for somebody.
var ways = []goTo{
	{Path: "/loads", Word: "trucks"}, {Path: "/jobs", Word: "jobs"}, {Path: "/lists", Word: "lists"}, {Path: "/tags", Word: "tags"},
	{Path: "/stock", Word: "stock"}, {Path: "/find", Word: "find"}, {Path: "/recall", Word: "recall"}, {Path: "/holds", Word: "holds"},
	{Path: "/open", Word: "to resolve"}, {Path: "/quality", Word: "quality"}, {Path: "/claims", Word: "claims"}, {Path: "/board", Word: "board"},
}

// office puts the pages about jobs, lists, tags and stock on the server.
func (p *pages) office(s *web.Server) {
	s.Pages.GET("/jobs", p.jobs)
	s.Pages.POST("/jobs", p.setJob)
	s.Pages.GET("/jobs/:job", p.job)
	s.Pages.POST("/jobs/:job", p.setJob)
	s.Pages.GET("/lists", p.lists)
	s.Pages.POST("/lists", p.takeList)
	s.Pages.POST("/lists/faults", p.listFaults)
	s.Pages.GET("/stock", p.stock)
	s.Pages.GET("/stock/:deed", p.lot)
	s.Pages.POST("/stock/:deed", p.tellStock)
	s.Pages.GET("/places", p.places)
	s.Pages.POST("/places", p.makePlace)
	s.Pages.GET("/tags", p.tagsToPrint)
	s.Pages.POST("/tags", p.print)
	s.Pages.GET("/tags/sheet", p.sheet)
	s.LargeBodies("/lists", "/lists/faults", "/stock/:deed")
}

// officeFuncs are what the templates of jobs, lists, tags and stock ask for. A weight stands without its unit
// where the head of its column names that.
func (p *pages) officeFuncs() template.FuncMap {
	units := p.floor.Rules().Units
	parted := func(m bar.Mass) (figure, unit string) {
		figure, unit, _ = strings.Cut(m.Text(units), " ")
		return figure, unit
	}
	return template.FuncMap{
		"weighs":   func(m bar.Mass) string { figure, _ := parted(m); return figure },
		"unit":     func() string { _, unit := parted(0); return unit },
		"less":     func(a, b int) int { return a - b },
		"primes":   strings.NewReplacer("'", "′", `"`, "″").Replace,
		"whyonly":  whyOnly,
		"pathpart": url.PathEscape,
		"listbar":  listBar,
		"heatrules": func() []event.HeatRule {
			return []event.HeatRule{event.HeatsNone, event.HeatsLoad, event.HeatsBundle, event.HeatsSingle}
		},
		"certrules": func() []event.CertRule {
			return []event.CertRule{event.CertsNone, event.CertsOnFile, event.CertsReviewed}
		},
	}
}
