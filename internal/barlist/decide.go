package barlist

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/sheet"
	"tagd/internal/tags"
)

// Said is what people decided before a list is taken.
type Said struct {
	// From is another list of the job whose lines are taken over, where the file has them alike; "" none.
	From string
	// Decisions say what becomes of begun bundles. The one of bundle 0 is about all that no other names.
	Decisions []Decision
	Reason    string // of all decisions that give none
}

// Decision is what becomes of one begun bundle whose line is changed or withdrawn.
type Decision struct {
	Bundle tags.Number // 0 is all
	Fate   event.Fate
	Reason string
}

// fateWords are the words that are read for a fate, English and Spanish.
var fateWords = map[string]event.Fate{
	"deliver": event.Deliver, "entregar": event.Deliver,
	"scrap": event.Scrap, "chatarra": event.Scrap,
	"tostock": event.ToStock, "stock": event.ToStock, "material": event.ToStock,
}

// ParseDecision reads a decision as it is typed: NUMBER=FATE or all=FATE, and behind a colon the reason.
// An error is an *event.Refusal.
func ParseDecision(text string) (Decision, error) {
	var d Decision
	no := func(format string, args ...any) (Decision, error) {
		return d, &event.Refusal{Field: "decide", Says: fmt.Sprintf(format, args...)}
	}
	what, reason, _ := strings.Cut(text, ":")
	who, fate, ok := strings.Cut(what, "=")
	if !ok {
		return no("%s is no decision; write a bundle's number and what becomes of it: 1-001-00000042-05=deliver", sheet.Quote(text))
	}
	if who = strings.TrimSpace(who); sheet.Fold(who) != "all" && sheet.Fold(who) != "todos" {
		n, err := tags.ParseNumber(who)
		if err != nil || n.Kind() != tags.Bundle {
			return no("%s is no number of a bundle; write it as it stands on the tag, or all", sheet.Quote(who))
		}
		d.Bundle = n
	}
	if d.Fate, ok = fateWords[sheet.Fold(fate)]; !ok {
		return no("%s is none of deliver, scrap and to stock", sheet.Quote(strings.TrimSpace(fate)))
	}
	var err error
	d.Reason, err = event.CleanText("reason", reason, event.MostReason)
	return d, err
}

// Ask is a begun bundle of which a person has to say what becomes of it.
type Ask struct {
	Tied
	Why     string       // it is asked about
	May     []event.Fate // what can be decided
	WhyOnly string       // why nothing else can be
	// Decided is what was said; "" nothing yet.
	Decided event.Fate
	Reason  string
	surplus bool
}

// Undecided is the refusal of a list about whose begun bundles not all is said, or what cannot be.
type Undecided struct {
	event.Refusal
	Changes []Change // those with open questions
}

// Unwrap makes it the refusal that it is.
func (u *Undecided) Unwrap() error { return &u.Refusal }

func isUndecided(err error) bool {
	var u *Undecided
	return errors.As(err, &u)
}

// mostNamed is how many bundles a refusal names.
const mostNamed = 20

// decide puts what was said to the questions of all changes, and refuses what is open or cannot be.
func decide(changes []Change, said Said) error {
	all, each := Decision{}, map[tags.Number]Decision{}
	for _, d := range said.Decisions {
		if !slices.Contains([]event.Fate{event.Deliver, event.Scrap, event.ToStock}, d.Fate) {
			return &event.Refusal{Field: "decide", Says: fmt.Sprintf("%s is none of deliver, scrap and to stock", sheet.Quote(string(d.Fate)))}
		}
		if before, twice := each[d.Bundle]; twice && before.Fate != d.Fate {
			return &event.Refusal{Field: "decide", Says: fmt.Sprintf("%v is decided twice: %s and %s", d.Bundle, before.Fate, d.Fate)}
		}
		if d.Bundle == 0 {
			all = d
		}
		each[d.Bundle] = d
	}
	u := &Undecided{Refusal: event.Refusal{Field: "decide"}}
	open := 0
	asked := map[tags.Number]bool{0: true}
	var names []string
	for i := range changes {
		c := &changes[i]
		wrong := false
		for k := range c.Asked {
			a := &c.Asked[k]
			asked[a.Number] = true
			d, ok := each[a.Number]
			if !ok {
				d = all
			}
			if slices.Contains(a.May, d.Fate) {
				a.Decided, a.Reason = d.Fate, d.Reason
				if a.Reason == "" {
					a.Reason = said.Reason
				}
				continue
			}
			wrong = true
			if open++; open <= mostNamed {
				names = append(names, c.at()+", "+a.choice())
			}
		}
		if wrong {
			u.Changes = append(u.Changes, *c)
		}
	}
	for _, d := range said.Decisions {
		if !asked[d.Bundle] {
			return &event.Refusal{Field: "decide", Says: fmt.Sprintf("%v is not asked about: it is not begun, or stays as it is", d.Bundle)}
		}
	}
	if open == 0 {
		return nil
	}
	if open > mostNamed {
		names = append(names, fmt.Sprintf("and %d more", open-mostNamed))
	}
	u.Says = "say what becomes of bundles that are begun: " + strings.Join(names, "; ")
	return u
}

// at names a change in a sentence.
func (c Change) at() string {
	if c.Row > 0 {
		return fmt.Sprintf("row %d, mark %s", c.Row, c.Mark)
	}
	return "mark " + c.Mark
}

// choice says what a bundle is, and what can be decided.
func (a Ask) choice() string {
	var may []string
	for _, f := range a.May {
		may = append(may, string(f))
	}
	says := fmt.Sprintf("%v (%s, %d pieces, %s): %s", a.Number, a.Name, a.Pieces, a.State, strings.Join(may, ", "))
	if a.WhyOnly != "" {
		says += " (" + a.WhyOnly + ")"
	}
	return says
}
