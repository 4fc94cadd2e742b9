package rest

import (
	"context"

	"tagd/api"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/scan"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// claim is a claim at a sequence, which is one.
func (a *ops) claim(p *view.Past, seq uint64) api.Claim {
	c, answered, _ := p.Claim(seq)
	b, _ := p.Bundle(c.Bundle)
	l := p.Line(b.Line)
	out := api.Claim{
		Claim: seq, Load: c.Load.String(), Bundle: c.Bundle.String(), Line: lined(b, l), Pieces: c.Pieces, What: string(c.What),
		Who: c.Who, Note: c.Note, At: at(p.When(seq)), Open: answered == 0,
	}
	if answered != 0 {
		e := p.Event(answered)
		x, _ := e.Body.(event.ClaimAnswered)
		out.Answered = &api.ClaimAnswers{Seq: answered, Answer: string(x.Answer), Reason: x.Reason, Replacement: x.Rest.String(), Pieces: x.Owed, At: at(e.Recorded)}
	}
	return out
}

func (a *ops) listClaims(_ context.Context, in *struct {
	Open  bool   `query:"open" doc:"Only those that are not answered."`
	Load  string `query:"load" maxLength:"20" doc:"Of this load only."`
	After uint64 `query:"after" doc:"The next of the page before; left out, the list begins."`
	Limit int    `query:"limit" minimum:"1" maximum:"1000" default:"100" doc:"The most things in the page."`
}) (*answer[api.Claims], error) {
	var of tags.Number
	if in.Load != "" {
		var err error
		if of, err = oneNumber("query.load", in.Load, tags.Load); err != nil {
			return nil, err
		}
	}
	return look(a, func(p *view.Past) (api.Claims, error) {
		out := api.Claims{Claims: []api.Claim{}}
		for i, seq := range p.ClaimsAfter(of, in.After, in.Open) {
			if i == in.Limit {
				out.Next = seqText(out.Claims[i-1].Claim)
				break
			}
			out.Claims = append(out.Claims, a.claim(p, seq))
		}
		return out, nil
	})
}

type claimIn struct {
	Claim uint64 `path:"claim" doc:"Its number: the sequence of the event."`
}

func (a *ops) getClaim(_ context.Context, in *claimIn) (*answer[api.Claim], error) {
	return look(a, func(p *view.Past) (api.Claim, error) {
		if _, _, ok := p.Claim(in.Claim); !ok {
			return api.Claim{}, missing("No claim was made as %d.", in.Claim)
		}
		return a.claim(p, in.Claim), nil
	})
}

func (a *ops) makeClaim(ctx context.Context, in *struct {
	Keyed
	Body api.MakeClaim
}) (*answer[api.ClaimRecorded], error) {
	b := in.Body
	c := scan.Complaint{Pieces: b.Pieces, What: event.Wrong(b.What), Who: b.Who, Note: b.Note}
	var err error
	if c.Load, err = oneNumber("body.load", b.Load, tags.Load); err != nil {
		return nil, err
	}
	if b.Bundle != "" {
		if c.Bundle, err = oneNumber("body.bundle", b.Bundle, tags.Bundle); err != nil {
			return nil, err
		}
	}
	if b.Mark != "" {
		if err := a.f.View(func(p *view.Past) error {
			l, ok := p.LineOf(b.Job, b.List, b.Mark)
			if !ok {
				return invalid("body.mark", b.Job+" / "+b.List+" / "+b.Mark+" is not known; give job, list and mark as they stand on the tag")
			}
			c.Line = l.Seq
			return nil
		}); err != nil {
			return nil, err
		}
	}
	o, err := a.origin("", b.By, in.Key, []any{"claim", b})
	if err != nil {
		return nil, err
	}
	r, err := a.f.Complain(ctx, o, c)
	return a.claimRecorded(r, err)
}

func (a *ops) answerClaim(ctx context.Context, in *struct {
	Claim uint64 `path:"claim" doc:"Its number: the sequence of the event."`
	Keyed
	Body api.AnswerClaim
}) (*answer[api.ClaimRecorded], error) {
	if _, err := a.getClaim(ctx, &claimIn{in.Claim}); err != nil {
		return nil, err
	}
	o, err := a.origin("", in.Body.By, in.Key, []any{"answer claim", in.Claim, in.Body})
	if err != nil {
		return nil, err
	}
	r, err := a.f.Amend(ctx, o, scan.Amending{Claim: in.Claim, Answer: event.Amends(in.Body.Answer), Reason: in.Body.Reason})
	return a.claimRecorded(r, err)
}

// claimRecorded is the receipt of a claim or of its answer.
func (a *ops) claimRecorded(r floor.Receipt, err error) (*answer[api.ClaimRecorded], error) {
	if err != nil {
		return nil, err
	}
	seq := uint64(0)
	for i, e := range r.Events {
		switch b := e.Body.(type) {
		case event.Claimed:
			seq = r.Seq + uint64(i)
		case event.ClaimAnswered:
			seq = b.Claim
		}
	}
	if seq == 0 || r.Answer == nil {
		return nil, floor.ErrOtherRequest
	}
	return look(a, func(p *view.Past) (api.ClaimRecorded, error) {
		return api.ClaimRecorded{Recorded: recorded(r), Verdict: r.Answer.Verdict.String(), Notes: notes(r.Answer.Notes, scan.English), Claim: a.claim(p, seq), Bundles: notNil(a.others(p, r))}, nil
	})
}
