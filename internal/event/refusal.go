package event

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Refusal is a command that is not taken: which field, what is wrong, and what would be right. It
// is what a room gives instead of events.
type Refusal struct {
	Field string
	Says  string
}

func (r *Refusal) Error() string {
	if r.Field == "" {
		return r.Says
	}
	return r.Field + ": " + r.Says
}

// CleanText gives a text that a person wrote as it is kept: without blanks around it, one blank where
// there were several or a line break, of most characters at most, all of which can be printed. It
// may be empty. Whatever else is a *Refusal of the field.
func CleanText(field, s string, most int) (string, error) {
	if !utf8.ValidString(s) {
		return "", &Refusal{field, "is no UTF-8 text; type it again"}
	}
	s = strings.Join(strings.Fields(s), " ")
	if n := utf8.RuneCountInString(s); n > most {
		return "", &Refusal{field, fmt.Sprintf("has %d characters; %d are the most", n, most)}
	}
	if i := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsPrint(r) }); i >= 0 {
		return "", &Refusal{field, fmt.Sprintf("has a character that cannot be printed: %+q", s)}
	}
	return s, nil
}

// CleanLines does the same for the lines of an address, 6 at most.
func CleanLines(field string, lines []string) ([]string, error) {
	if len(lines) > 6 {
		return nil, &Refusal{field, fmt.Sprintf("has %d lines of an address; 6 are the most", len(lines))}
	}
	var out []string
	for _, l := range lines {
		l, err := CleanText(field, l, MostWords)
		if err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// CleanCountry gives a country by ISO 3166-1 alpha-2 in capitals, or nothing.
func CleanCountry(field, s string) (string, error) {
	s = strings.ToUpper(strings.TrimSpace(s))
	if s != "" && (len(s) != 2 || s[0] < 'A' || s[0] > 'Z' || s[1] < 'A' || s[1] > 'Z') {
		return "", &Refusal{field, fmt.Sprintf("%q is no country code; ISO 3166 has two letters, as US or ES", s)}
	}
	return s, nil
}

// The most characters of what people write.
const (
	MostWords  = 100 // a name, a number, a line of an address
	MostReason = 500 // why something was done, a note
)
