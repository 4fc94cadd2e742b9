package pages

import (
	"bytes"
	_ "embed" // the table of words
	"encoding/csv"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strings"

	"tagd/internal/event"
	"tagd/internal/scan"
)

// The texts of the pages stand in one table, words.csv: what, English, Spanish, sorted by the first.
//
//go:embed words.csv
var wordsFile []byte

// text is a text in English and in Spanish.
type text = [2]string

// Words are texts of the pages in the words of one plant, by what they say; what is not among them is said as
// tagd says it. A sentence of an answer goes by its code, with "says " before it, and what it says to do next
// with "next ".
type Words map[string]text

// ours are the texts as tagd says them. A table that cannot be read stops the program at once.
var ours = func() Words {
	rows, err := csv.NewReader(bytes.NewReader(wordsFile)).ReadAll()
	if err != nil {
		panic("words.csv: " + err.Error())
	}
	w := make(Words, len(rows)+2*len(scan.Sentences))
	for _, r := range rows[1:] {
		w[r[0]] = text{r[1], r[2]}
	}
	for code, s := range scan.Sentences {
		w["says "+code] = text{s.EN, s.ES}
		if s.NextEN != "" {
			w["next "+code] = text{s.NextEN, s.NextES}
		}
	}
	return w
}()

// wordsHead are the names of the columns.
var wordsHead = []string{"what", "English", "Spanish"}

// gap is a place in a sentence that is filled with a figure or a name, {0}, or that says how many there are
// in one of two forms, {0|# piece|# pieces}.
var gap = regexp.MustCompile(`\{(\d+)(?:\|[^{}|]*\|[^{}|]*)?\}`)

// ReadWords reads a plant's own words: a CSV file as WriteWords writes it, with only the rows that are to be
// said otherwise, or with all. An error names the row: a text must be one that the pages have, in both
// languages, and a sentence must keep its gaps, {0} and so on.
func ReadWords(r io.Reader) (Words, error) {
	in := csv.NewReader(r)
	head, err := in.Read()
	if err != nil || len(head) > 0 && !slices.Equal(append([]string{strings.TrimPrefix(head[0], "\ufeff")}, head[1:]...), wordsHead) {
		return nil, fmt.Errorf("the first row must be %s", strings.Join(wordsHead, ","))
	}
	w := Words{}
	for {
		row, err := in.Read()
		if err == io.EOF {
			return w, nil
		}
		if err != nil {
			return nil, err
		}
		line, _ := in.FieldPos(0)
		was, ok := ours[row[0]]
		if !ok {
			return nil, fmt.Errorf("row %d: no page says %q; tagd words prints all that they say", line, row[0])
		}
		for i, says := range row[1:] {
			if strings.TrimSpace(says) == "" {
				return nil, fmt.Errorf("row %d: %q has no text in %s", line, row[0], wordsHead[i+1])
			}
			if want := gaps(was[i]); !slices.Equal(gaps(says), want) {
				return nil, fmt.Errorf("row %d: %s of %q must have the gaps %s, as %q has", line, wordsHead[i+1], row[0], strings.Join(want, " "), was[i])
			}
		}
		w[row[0]] = text{row[1], row[2]}
	}
}

// gaps are the gaps of a sentence, each once, in order of their numbers.
func gaps(says string) []string {
	var out []string
	for _, m := range gap.FindAllStringSubmatch(says, -1) {
		out = append(out, "{"+m[1]+"}")
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// WriteWords writes all texts of the pages as a CSV file, sorted by what they say: what, English, Spanish.
func (w Words) WriteWords(to io.Writer) error {
	out := csv.NewWriter(to)
	_ = out.Write(wordsHead) // Flush tells its error
	for _, what := range slices.Sorted(maps.Keys(ours)) {
		t := w.of(what)
		_ = out.Write([]string{what, t[0], t[1]})
	}
	out.Flush()
	return out.Error()
}

// of is a text as the plant says it, or as tagd does; one that nobody has stays as it is.
func (w Words) of(what string) text {
	if t, ok := w[what]; ok {
		return t
	}
	if t, ok := ours[what]; ok {
		return t
	}
	return text{what, what}
}

// word is a text of the pages in a language.
func (p *pages) word(lang scan.Lang, what string) string {
	t := p.opt.Words.of(what)
	if lang == scan.Spanish {
		return t[1]
	}
	return t[0]
}

// sentence is a note in a language.
type sentence struct{ Says, Next string }

func (p *pages) say(n event.Note, lang scan.Lang) sentence {
	if _, ok := scan.Sentences[n.Code]; !ok {
		says, next := scan.Say(n, lang)
		return sentence{says, next}
	}
	says, next := p.opt.Words.of("says "+n.Code), text{}
	if ours["next "+n.Code] != next {
		next = p.opt.Words.of("next " + n.Code)
	}
	s := scan.Sentence{EN: says[0], ES: says[1], NextEN: next[0], NextES: next[1]}
	var out sentence
	out.Says, out.Next = s.Say(n.Args, lang)
	return out
}
