package pages

import (
	"bytes"
	_ "embed" // the table of words
	"encoding/csv"

	"tagd/internal/scan"
)

// The texts of the pages stand in one table, words.csv: what, English, Spanish, sorted by the first.
//
//go:embed words.csv
var wordsFile []byte

// words are the texts of the pages, English first, then Spanish. A table that cannot be read stops the program
// at once.
var words = func() map[string][2]string {
	rows, err := csv.NewReader(bytes.NewReader(wordsFile)).ReadAll()
	if err != nil {
		panic("words.csv: " + err.Error())
	}
	w := make(map[string][2]string, len(rows))
	for _, r := range rows[1:] {
		w[r[0]] = [2]string{r[1], r[2]}
	}
	return w
}()

// word is a text of the pages in a language; one that is not in the table stays as it is.
func word(lang scan.Lang, key string) string {
	w, ok := words[key]
	switch {
	case !ok:
		return key
	case lang == scan.Spanish:
		return w[1]
	}
	return w[0]
}
