package pages

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"
	"time"

	"tagd/internal/web"
)

// problemPage is an error as a person reads it.
type problemPage struct {
	*web.Problem
	Mine bool   // the fault is the server's, not of what was asked
	Back string // the page that it was asked from, "" where that is not known
	// Number is that of the request, by which the server's log knows it.
	Number string
}

// problem writes an error as a page in our look. What is wrong is said in English by whoever refused it; what it
// means, and what to do next, in both languages by its code.
func (p *pages) problem(w io.Writer, r *http.Request, problem *web.Problem) error {
	lang := languageOf(r)
	d := problemPage{Problem: problem, Mine: problem.Status >= 500, Number: strings.TrimPrefix(problem.Instance, "urn:uuid:")}
	if from, err := url.Parse(r.Referer()); err == nil && from.Host == r.Host && from.Path != r.URL.Path {
		d.Back = from.RequestURI()
	}
	q := url.Values{"lang": {string(otherThan(lang))}}
	now := time.Now().In(p.floor.Rules().Zone)
	title := p.word(lang, "problem "+problem.Code)
	if title == "problem "+problem.Code {
		title = p.word(lang, "problem invalid")
	}
	err := p.all.ExecuteTemplate(w, "problem.html", page{
		Title: title, Lang: lang, Face: inOffice, Sheet: string(inOffice) + ".css", Other: "/?" + q.Encode(), Open: p.opt.Open,
		Plant: p.floor.Rules().Name, Clock: now.Format("15:04"), Nav: nav(r.URL.Path), Data: d,
	})
	if err != nil {
		return fmt.Errorf("the page of a problem: %w", err)
	}
	return nil
}
