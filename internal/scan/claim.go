package scan

import (
	"slices"

	"tagd/internal/event"
	"tagd/internal/tags"
)

// Wrongs are all that a site can claim, and Amends all answers.
var (
	Wrongs = []event.Wrong{event.Short, event.DamagedThere, event.WrongGoods}
	Amends = []event.Amends{event.Replace, event.Credit, event.NotOurs, event.FoundOut}
)

// Complaint is what a site says of a load that left: of a bundle, or of a line of which one went.
type Complaint struct {
	Load   tags.Number
	Bundle tags.Number
	Line   uint64
	Pieces int
	What   event.Wrong
	Who    string
	Note   string
}

// Complain records a claim. What a site says is kept as it says it, also where it cannot be.
func Complain(past Past, c Complaint) (Outcome, error) {
	who, err := event.CleanText("who", c.Who, event.MostWords)
	if err != nil {
		return Outcome{}, err
	}
	text, err := event.CleanText("note", c.Note, event.MostReason)
	if err != nil {
		return Outcome{}, err
	}
	ld, err := loadOf(past, c.Load)
	switch {
	case err != nil:
		return Outcome{}, err
	case ld.Shipped == 0:
		return Outcome{}, refusal("load", "%v has not left; what is wrong with it is put right here", c.Load)
	case !slices.Contains(Wrongs, c.What):
		return Outcome{}, refusal("what", "%q is nothing to claim; say short, damaged or wrong", c.What)
	case c.Pieces < 1 || c.Pieces > mostCounted:
		return Outcome{}, refusal("pieces", "are %d; say how many pieces it is about", c.Pieces)
	case c.Bundle == 0 && c.Line == 0:
		return Outcome{}, refusal("bundle", "is missing; name the bundle, or job, list and mark")
	}
	e := event.Claimed{Load: c.Load, Bundle: c.Bundle, Line: c.Line, Pieces: c.Pieces, What: c.What, Who: who, Note: text}
	if e.Bundle == 0 {
		if e.Bundle = ofLine(past, c.Load, c.Line); e.Bundle == 0 {
			return Outcome{}, refusal("mark", "%s: none of it went with load %v", past.Line(c.Line).Mark, c.Load)
		}
	}
	b, l, err := bundleOf(past, "bundle", e.Bundle)
	switch {
	case err != nil:
		return Outcome{}, err
	case b.Load != c.Load && len(cameFrom(past, b, c.Load, 0)) == 0:
		return Outcome{}, refusal("bundle", "%v did not go with load %v", c.Bundle, c.Load)
	}
	out := Outcome{Show: b.Number, Events: []event.Body{e}, Answer: answer(event.Accepted, "claimed", c.Load, c.Pieces, title(b, l), string(c.What))}
	if b.Load == c.Load && c.Line == 0 && c.Pieces > b.Left() {
		look(&out.Answer, "claims more than went", title(b, l), b.Left(), c.Pieces)
	}
	return out, nil
}

// ofLine is a bundle of a line that went with a load: the one with the most pieces there.
func ofLine(past Past, ld tags.Number, line uint64) (n tags.Number) {
	newest, _ := past.Newest(line)
	most := -1
	past.Loaded(ld, func(m tags.Number) bool {
		b, _ := past.Bundle(m)
		if now, _ := past.Newest(b.Line); now == newest && b.Pieces > most {
			n, most = m, b.Pieces
		}
		return true
	})
	return n
}

// cameFrom are what came back of a bundle from a load, recorded after a sequence. It reads the record: few
// bundles come back.
func cameFrom(past Past, b Bundle, ld tags.Number, since uint64) (out []event.BundleReturned) {
	for _, seq := range b.Events {
		if seq <= since {
			continue
		}
		switch e := past.Body(seq).(type) {
		case event.BundleReturned:
			if e.Load == ld && e.Bundle == b.Number {
				out = append(out, e)
			}
		case event.BundlesBack:
			if e.Load == ld && slices.Contains(e.From, b.Number) {
				out = append(out, event.BundleReturned{Load: ld, Bundle: b.Number})
			}
		}
	}
	return out
}

// Amending is what answers a claim.
type Amending struct {
	Claim  uint64
	Answer event.Amends
	Reason string
}

// Amend answers a claim. To replace is to lose the pieces there, and to owe others for them, as for any
// loss; what came back as scrap since is lost already, and what came back to the yard is there to go again.
func Amend(past Past, rules Rules, a Amending) (Outcome, error) {
	reason, err := event.CleanText("reason", a.Reason, event.MostReason)
	c, answered, ok := past.Claim(a.Claim)
	switch {
	case err != nil:
		return Outcome{}, err
	case !ok:
		return Outcome{}, refusal("claim", "record %d is no claim", a.Claim)
	case answered != 0:
		return Outcome{}, refusal("claim", "%d was answered by record %d; make another claim if there is more", a.Claim, answered)
	case !slices.Contains(Amends, a.Answer):
		return Outcome{}, refusal("answer", "%q is no answer; say replace, credit, not ours or found", a.Answer)
	case a.Answer != event.Replace && reason == "":
		return Outcome{}, refusal("reason", "is missing; say what was agreed, and with whom")
	}
	e := event.ClaimAnswered{Claim: a.Claim, Answer: a.Answer, Reason: reason}
	b, _ := past.Bundle(c.Bundle)
	l := past.Line(b.Line)
	out := Outcome{Show: c.Load, Answer: answer(event.Accepted, "claim answered", a.Claim, c.Pieces, title(b, l), string(a.Answer))}
	if a.Answer != event.Replace {
		out.Events = []event.Body{e}
		return out, nil
	}
	scrap, here := 0, 0
	for _, r := range cameFrom(past, b, c.Load, a.Claim) {
		if r.Scrap {
			scrap += r.Pieces
		} else {
			here += r.Pieces
		}
	}
	j := &judge{past: past, rules: rules}
	owed := c.Pieces - min(here, c.Pieces)
	lose := owed - min(scrap, owed)
	gone := b.Voided || b.Load != c.Load || !b.Shipped
	switch {
	case owed == 0:
		return Outcome{}, refusal("answer", "all %d came back to the yard since; load them again, or record them as lost, which makes the replacement", c.Pieces)
	case lose > 0 && (gone || lose > b.Pieces):
		return Outcome{}, refusal("answer", "%v has %d pieces there by the record, and %d are to be replaced; record what came back as returned, or credit it", b.Number, j.there(b, c.Load), lose)
	case lose > 0 && unfinished(b, l):
		return Outcome{}, refusal("answer", "%v is not made by the record (%s); say first how many pieces it had, or credit it", b.Number, b.Next(l))
	case !j.owesAnew(b):
		return Outcome{}, refusal("answer", "the list asks for no more of %s; credit it", l.Mark)
	}
	e.Rest, e.Owed = past.Fresh(tags.Bundle), owed
	if lose > 0 {
		why := event.Site
		if c.What == event.DamagedThere {
			why = event.Damaged
		}
		lost := event.PiecesLost{Bundle: b.Number, Pieces: lose, Why: why, Note: reason}
		if lose == owed {
			lost.Rest, lost.Owed = e.Rest, owed // so that they bring it down again when they are found
		}
		out.Events = append(out.Events, lost)
	}
	out.Events = append(out.Events, e)
	out.Answer.Notes = append(out.Answer.Notes, note("replacement", owed, j.restName(b), e.Rest))
	return out, nil
}

// there is how many pieces of a bundle are where a load went.
func (j *judge) there(b Bundle, ld tags.Number) int {
	if b.Load == ld && b.Shipped && !b.Voided {
		return b.Pieces
	}
	return 0
}

// owesAnew says whether the line of a bundle still wants pieces in the place of others.
func (j *judge) owesAnew(b Bundle) bool {
	_, withdrawn := j.past.Newest(b.Line)
	return !withdrawn
}
