package main

import (
	"context"
	"fmt"
	"io"
	"strings"

	"tagd/api"
)

// sayFlags are the flags of what is said to the plant: who says it, and the request's own id.
type sayFlags struct {
	dataFlag
	Person []string `placeholder:"NUMBER" sep:"none"`
	Key    string   `placeholder:"TEXT"`
	JSON   bool     `name:"json"`
}

func (f *sayFlags) by() api.By { return api.By{Device: device, People: f.Person, Key: f.Key} }

// sayFlagsHelp explains them.
const sayFlagsHelp = `    --person NUMBER a badge of who does it
    --key TEXT      the request's own id: sent again with the same one it counts
                    once

With --json the answer is one object.
`

// makers is how a folder gets a store.
const makers = "tagd serve, import or stock makes one"

// asking opens the door of a store that is there. Where there is none, the refusal says what it is wanted
// for, and what makes one.
func (d folder) asking(ctx context.Context, s streams, wanted string, makes ...string) (*door, error) {
	if !d.exists() {
		hint := strings.Join(append(makes, "--data names another folder."), "; ")
		return nil, misuse(hint, "%s", strings.TrimSpace(fmt.Sprintf("%s has no store %s", d, wanted)))
	}
	return d.ask(ctx, s)
}

// asked asks the plant, and shows what it answers.
func asked[T any](ctx context.Context, s streams, d folder, wanted string, asJSON bool, ask func(*door) (T, error), show func(io.Writer, T) error) error {
	w, err := d.asking(ctx, s, wanted)
	if err != nil {
		return err
	}
	defer w.close()
	got, err := ask(w)
	switch {
	case err != nil:
		return err
	case asJSON:
		return writeJSON(s.out, got)
	}
	return show(s.out, got)
}

// told says something to the plant, and shows what it answers.
func told[T any](ctx context.Context, s streams, f *sayFlags, say func(*door) (T, error), show func(io.Writer, T) error) error {
	return asked(ctx, s, f.Data, "to change", f.JSON, say, show)
}

// all gathers the pages of a list.
func all[T any](page func(after string, limit int) (items []T, next string, err error)) ([]T, error) {
	out := []T{}
	for after := ""; ; {
		items, next, err := page(after, 1000)
		if err != nil {
			return nil, err
		}
		out = append(out, items...)
		if after = next; after == "" {
			return out, nil
		}
	}
}

// several is so many of a thing, in words.
func several(n int, one string) string {
	if n != 1 {
		one += "s"
	}
	return fmt.Sprintf("%d %s", n, one)
}

// minutely is how a moment is shown to a person.
const minutely = "2006-01-02 15:04 MST"

// sentence is a note with what to do next.
func sentence(n api.Note) string { return strings.TrimSpace(n.Says + " " + n.Next) }

// writeNotes shows the sentences of an answer that is not one to a scan.
func writeNotes(out io.Writer, notes []api.Note) error {
	for _, n := range notes {
		if _, err := fmt.Fprintln(out, sentence(n)); err != nil {
			return err
		}
	}
	return nil
}
