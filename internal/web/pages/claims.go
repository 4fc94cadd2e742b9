package pages

import (
	"strconv"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/view"
	"tagd/internal/web"
)

// claimRow is a claim with what answered it.
type claimRow struct {
	event.Claimed
	Seq    uint64
	At     int64
	Bundle scan.Bundle
	Line   *scan.Line
	Answer *event.ClaimAnswered
	Amends []event.Amends
}

func (p *pages) claimRow(past *view.Past, seq uint64) claimRow {
	c, answered, _ := past.Claim(seq)
	out := claimRow{Claimed: c, Seq: seq, At: past.When(seq), Amends: scan.Amends}
	out.Bundle, _ = past.Bundle(c.Bundle)
	out.Line = past.Line(out.Bundle.Line)
	if answered != 0 {
		a, _ := past.Body(answered).(event.ClaimAnswered)
		out.Answer = &a
	}
	return out
}

// claimsPage is the claims that are open.
type claimsPage struct {
	Claims  []claimRow
	Answer  *event.Answer
	Refused string
}

func (p *pages) claims(c echo.Context) error { return p.showClaims(c, nil, "") }

func (p *pages) showClaims(c echo.Context, a *event.Answer, refused string) error {
	d := claimsPage{Answer: a, Refused: refused}
	if err := p.floor.View(func(past *view.Past) error {
		for _, seq := range past.ClaimsAfter(0, 0, true) {
			d.Claims = append(d.Claims, p.claimRow(past, seq))
		}
		return nil
	}); err != nil {
		return err
	}
	return p.render(c, "claims.html", p.word(language(c), "claims"), d)
}

// answerClaim takes the answer to a claim.
func (p *pages) answerClaim(c echo.Context) error {
	seq, err := strconv.ParseUint(c.Param("claim"), 10, 64)
	if err != nil {
		return web.Refuse("not-found", "There is no claim "+c.Param("claim")+".", "The open claims are on the page of claims.")
	}
	o, err := origin(c, "answer claim "+c.Param("claim"))
	if err != nil {
		return err
	}
	a := scan.Amending{Claim: seq, Answer: event.Amends(c.FormValue("answer")), Reason: c.FormValue("reason")}
	r, err := p.floor.Amend(c.Request().Context(), o, a)
	says, err := refusal(err)
	if err != nil {
		return err
	}
	return p.showClaims(c, r.Answer, says)
}
