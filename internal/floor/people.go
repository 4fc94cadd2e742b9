package floor

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/scan"
	"tagd/internal/store"
	"tagd/internal/tags"
	"tagd/internal/view"
)

// people holds the names of badges, the offices that they hold and the languages that their people read:
// outside the journal, so that a name can be taken out for good. The value is the name, and behind a zero
// byte each office, and the language as "lang=es".
const people store.Table = "people"

// Person is whose a badge is.
type Person struct {
	Name    string
	Offices []scan.Office // what the person may settle, the strictest first
	Lang    scan.Lang     // what pages speak once the badge is scanned; "": nobody said
}

// langIs stands before the language in what is kept of a person; no office begins so.
const langIs = "lang="

func readPerson(v []byte) Person {
	name, rest, _ := strings.Cut(string(v), "\x00")
	p := Person{Name: name}
	for o := range strings.SplitSeq(rest, "\x00") {
		if lang, ok := strings.CutPrefix(o, langIs); ok {
			p.Lang = scan.Lang(lang)
		} else if o != "" {
			p.Offices = append(p.Offices, scan.Office(o))
		}
	}
	return p
}

func (p Person) bytes() []byte {
	b := []byte(p.Name)
	for _, o := range p.Offices {
		b = append(append(b, 0), o...)
	}
	if p.Lang != "" {
		b = append(append(b, 0), langIs+string(p.Lang)...)
	}
	return b
}

// of keeps the person as the one whose badge a number is.
func (p Person) of(n tags.Number) func(store.Tx) error {
	return func(tx store.Tx) error { return tx.Put(people, []byte(n.Digits()), p.bytes()) }
}

// checked is the person as it is kept.
func (p Person) checked() (Person, error) {
	var err error
	if p.Name, err = word("name", p.Name, 60); err != nil {
		return p, err
	}
	var offices []scan.Office
	for _, o := range scan.Offices {
		if slices.Contains(p.Offices, o) {
			offices = append(offices, o)
		}
	}
	for _, o := range p.Offices {
		if !slices.Contains(scan.Offices, o) {
			all := make([]string, len(scan.Offices))
			for i, o := range scan.Offices {
				all[i] = string(o)
			}
			return p, &event.Refusal{Field: "offices", Says: fmt.Sprintf("%q is no office; the offices are %s", string(o), strings.Join(all, ", "))}
		}
	}
	p.Offices = offices
	switch p.Lang {
	case "", scan.English, scan.Spanish:
		return p, nil
	}
	return p, &event.Refusal{Field: "lang", Says: fmt.Sprintf("%q is no language of the pages; say %s or %s", string(p.Lang), scan.English, scan.Spanish)}
}

// MakePerson makes a badge. Whose it is is kept outside the journal.
func (f *Floor) MakePerson(ctx context.Context, o Origin, who Person) (Receipt, error) {
	return f.Do(ctx, o, func(p *view.Past) (Decision, error) {
		who, err := who.checked()
		if err != nil {
			return Decision{}, err
		}
		n := p.Fresh(tags.Person)
		return Decision{Events: []event.Body{event.PersonMade{Person: n}}, Write: who.of(n)}, nil
	})
}

// SetPerson states anew whose a badge is: the name, the offices and the language. The journal knows nothing of it.
func (f *Floor) SetPerson(ctx context.Context, n tags.Number, who Person) error {
	_, err := f.Do(ctx, Origin{}, func(p *view.Past) (Decision, error) {
		who, err := who.checked()
		if err != nil {
			return Decision{}, err
		}
		if !p.Person(n) {
			return Decision{}, &event.Refusal{Field: "person", Says: fmt.Sprintf("%v is no badge of this plant", n)}
		}
		return Decision{Write: who.of(n)}, nil
	})
	return err
}

// Person is whose a badge is; the zero value where nobody said.
func (f *Floor) Person(n tags.Number) (p Person, err error) {
	err = f.tx(func(tx store.Tx) error {
		if v := tx.Get(people, []byte(n.Digits())); v != nil {
			p = readPerson(v)
		}
		return nil
	})
	return p, err
}

// People are whose the badges are, by number.
func (f *Floor) People() (out map[tags.Number]Person, err error) {
	err = f.tx(func(tx store.Tx) error {
		out = peopleIn(tx)
		return nil
	})
	return out, err
}

// Names are the names of badges, by number.
func (f *Floor) Names() (map[tags.Number]string, error) {
	all, err := f.People()
	out := map[tags.Number]string{}
	for n, p := range all {
		out[n] = p.Name
	}
	return out, err
}

func peopleIn(tx store.Tx) map[tags.Number]Person {
	out := map[tags.Number]Person{}
	tx.Ascend(people, nil, nil, func(k, v []byte) bool {
		if n, err := tags.ParseNumber(string(k)); err == nil {
			out[n] = readPerson(v)
		}
		return true
	})
	return out
}
