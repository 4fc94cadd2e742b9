package main

import (
	"context"
	"errors"
	"io/fs"
	"os"

	"tagd/internal/web/pages"
)

type wordsCmd struct {
	dataFlag
}

func (wordsCmd) Help() string {
	return `Usage: tagd words [--data DIR]

Prints every text that the pages show and every sentence that they answer with,
in English and in Spanish, as a CSV file: what, English, Spanish.

A shop that says it otherwise puts the rows that it wants changed into words.csv
in its data folder, under the same first row; a row that is left out stays as it
is. {0}, {1} and so on in a sentence are filled with figures and names, and must
stay in it; {1|# piece|# pieces} says 1 piece, or 12 pieces. The server reads
the file when it starts, and names the row of what cannot be. The printed table
has the shop's own words in it already.

Programs that ask the API get the sentences as tagd says them.

Examples:

    tagd words > all.csv
    tagd words | grep '^pocket,'
`
}

func (c *wordsCmd) Run(_ context.Context, s streams) error {
	w, err := c.Data.words()
	if err != nil {
		return err
	}
	return w.WriteWords(s.out)
}

// words are the plant's own words for the pages; none where it has no file of them.
func (d folder) words() (pages.Words, error) {
	f, err := os.Open(d.path(wordsName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	w, err := pages.ReadWords(f)
	if err != nil {
		return nil, misuse("Mend the file and start again; nothing was changed.", "%s: %v", d.path(wordsName), err)
	}
	return w, nil
}
