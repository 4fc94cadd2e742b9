package pages

import (
	"slices"
	"strings"
	"time"

	"tagd/internal/event"
	"tagd/internal/scan"
)

// reply is an answer as a station shows it.
type reply struct {
	Verdict event.Verdict
	Says    []sentence
	At      string // as "10:42:07"
	Long    bool   // there is much to say
	Stop    *stop  // a refusal that stops the machine: it takes the whole screen
}

// stop is a refusal that stops the machine.
type stop struct {
	What  string // the fault, in one sentence
	More  []string
	Got   *side // what differs, set side by side; nil where nothing can be compared
	Need  *side
	Steps []string // what to do
}

// side is one of two things that are compared: the figure that differs, what it is of, and the whole of it.
type side struct{ Word, Figure, Of, Whole string }

// stops are the refusals at a machine that mean: do not cut or bend this.
var stops = []string{
	"wrong steel", "lot not right", "held", "origin", "heat not known", "one heat only", "list revised", "line withdrawn", "voided",
}

// onCard are the answers of which the card itself tells all but what to do; the words beside them stand in their
// place, by the step.
var onCard = map[string]string{"cut started": "this next", "cut joined": "this too", "card shown": "this next", "step started": "this next"}

// reply makes an answer ready for the page of a station.
func (p *pages) reply(lang scan.Lang, d *stationPage, a event.Answer, now time.Time) *reply {
	out := &reply{Verdict: a.Verdict, At: now.In(p.floor.Rules().Zone).Format("15:04:05")}
	if a.Verdict == event.Refused && d.Steps && slices.Contains(stops, a.Notes[0].Code) {
		out.Stop = p.stop(lang, a)
		return out
	}
	length := 0
	for _, n := range a.Notes {
		s := p.say(n, lang)
		if d.Work {
			if word, ok := onCard[n.Code]; ok {
				s.Says = p.word(lang, d.Card.Step+" "+word)
			} else if n.Code == "into pocket" {
				continue
			}
		}
		out.Says = append(out.Says, s)
		length += len(s.Says) + len(s.Next)
	}
	out.Long = length > 90
	return out
}

// stop sets out a refusal that stops the machine.
func (p *pages) stop(lang scan.Lang, a event.Answer) *stop {
	s := &stop{}
	for i, n := range a.Notes {
		says := p.say(n, lang)
		if i == 0 {
			s.What = says.Says
		} else {
			s.More = append(s.More, says.Says)
		}
		s.Steps = append(s.Steps, sentences(says.Next)...)
	}
	first := a.Notes[0]
	arg := func(i int) string {
		if i < len(first.Args) {
			return first.Args[i]
		}
		return ""
	}
	switch first.Code {
	case "wrong steel":
		s.Got, s.Need = &side{Word: "on the feeds", Whole: arg(0)}, &side{Word: "the card needs", Of: arg(1), Whole: arg(2)}
	case "lot not right":
		s.Got, s.Need = &side{Word: "you said", Of: arg(0), Whole: arg(1)}, &side{Word: "the card needs", Of: arg(2), Whole: arg(3)}
	case "origin":
		s.Got, s.Need = &side{Word: "the lot", Of: arg(2), Whole: arg(4)}, &side{Word: "the job needs", Of: arg(0), Whole: arg(1)}
	default:
		return s
	}
	s.Got.Figure, s.Need.Figure = differs(s.Got.Whole, s.Need.Whole)
	return s
}

// differs gives of two texts what differs: of steel the size, or all that follows one size; else all of it.
func differs(a, b string) (string, string) {
	one, two := strings.Fields(a), strings.Fields(b)
	if len(one) > 1 && len(two) > 1 && strings.ContainsAny(one[0], "0123456789") {
		if one[0] != two[0] {
			return one[0], two[0]
		}
		for len(one) > 1 && len(two) > 1 && one[0] == two[0] {
			one, two = one[1:], two[1:]
		}
		return strings.Join(one, " "), strings.Join(two, " ")
	}
	return a, b
}

// sentences parts what to do into its steps.
func sentences(text string) (out []string) {
	for text != "" {
		one, rest, more := strings.Cut(text, ". ")
		if more {
			one += "."
		}
		out = append(out, one)
		text = rest
	}
	return out
}
