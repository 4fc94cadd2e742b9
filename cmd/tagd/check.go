package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/view"
)

type checkCmd struct {
	dataFlag
	Rebuild bool
	Pages   string `hidden:"" placeholder:"FILE"`
}

func (checkCmd) Help() string {
	return `Usage: tagd check [--rebuild] [--data DIR]

Proves that the store is sound:

  - every page of the file is where it belongs (in a process of its own, since a
    page that is damaged badly enough ends the process that reads it);
  - the record has no gap, every event in it can be read, and every request that
    was answered is remembered;
  - the views, from which all answers come, equal what folding the whole record
    anew gives, row by row;
  - every mill cert on file is there, byte for byte.

A server may run meanwhile: then a copy of its store, as it is at this moment,
is checked. Either way the data folder needs room for a second store for a
while.

With --rebuild the views are thrown away and folded anew from the record first.
That wants a stopped server. The record itself is never changed.

Examples:

    tagd check
    tagd check --rebuild --data /srv/tagd

Exit codes: 0 sound, 1 something differs: it is listed.
`
}

func (c *checkCmd) Run(ctx context.Context, s streams) error {
	if c.Pages != "" {
		return checkPages(s, c.Pages)
	}
	if !c.Data.exists() {
		return misuse("--data names another folder.", "%s has no store to check", c.Data)
	}
	work, err := os.MkdirTemp(string(c.Data), "check-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	path := c.Data.path(storeName)
	if c.Rebuild {
		if err := c.rebuild(ctx, s, path); err != nil {
			return err
		}
	}
	db, server, err := orServer(ctx, c.Data, func() (*bolt.DB, error) { return openToCheck(path) })
	if server != nil {
		path = filepath.Join(work, storeName)
		if err := server.copyStore(ctx, path); err != nil {
			return err
		}
		db, err = openToCheck(path)
	}
	if err != nil {
		return notSound(s, err)
	}
	defer db.Close()
	if err := pagesInChild(ctx, s, path); err != nil {
		return err
	}
	a := &audit{s: s, certs: c.Data.path(certsName)}
	if err := a.record(ctx, db); err != nil {
		return err
	}
	if a.found == 0 {
		if err := a.views(ctx, db, filepath.Join(work, "folded.db")); err != nil {
			return err
		}
	}
	return a.result()
}

func openToCheck(path string) (*bolt.DB, error) {
	return bolt.Open(path, floor.Tables(), bolt.Options{ReadOnly: true})
}

// notSound shows a store that cannot be opened as what it is: a finding, or trouble.
func notSound(s streams, err error) error {
	if errors.Is(err, bolt.ErrDamaged) || errors.Is(err, store.ErrNoTable) {
		fmt.Fprintln(s.out, err)
		return errSaid
	}
	return err
}

// checkPages is the work of the child process.
func checkPages(s streams, path string) error {
	if err := bolt.CheckFile(path); err != nil {
		return notSound(s, err)
	}
	return nil
}

// pagesInChild checks the pages of a file that nobody writes.
func pagesInChild(ctx context.Context, s streams, path string) error {
	self, err := os.Executable()
	if err != nil {
		return err
	}
	child := exec.CommandContext(ctx, self, "check", "--pages", path)
	child.Stdout, child.Stderr = s.out, s.err
	err = child.Run()
	var exit *exec.ExitError
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case errors.As(err, &exit) && exit.ExitCode() == exitTrouble:
		return fmt.Errorf("the pages could not be checked: %w", err)
	case errors.As(err, &exit):
		fmt.Fprintf(s.out, "%s: pages are damaged (%v)\n", path, err)
		return errSaid
	}
	return err
}

// rebuild throws the views of a stopped store away and folds them anew, if its record is sound.
func (c *checkCmd) rebuild(ctx context.Context, s streams, path string) error {
	db, server, err := orServer(ctx, c.Data, func() (*bolt.DB, error) { return openToCheck(path) })
	if server != nil {
		return no("Stop it first.", "a server runs on the store; its views cannot be taken away from under it")
	}
	if err != nil {
		return notSound(s, err)
	}
	a := &audit{s: s, certs: c.Data.path(certsName)}
	err = pagesInChild(ctx, s, path)
	if err == nil {
		err = a.record(ctx, db)
	}
	if err := errors.Join(err, db.Close()); err != nil {
		return err
	}
	if a.found > 0 {
		return a.result()
	}
	db, err = bolt.Open(path, floor.Tables(), bolt.Options{FillPercent: floor.FillPercent})
	if err != nil {
		return err
	}
	opened, err := recordZero(db)
	if err == nil {
		err = view.Rebuild(db, db, view.New(opened.Plant), progress(s, "folding the record"))
	}
	return errors.Join(err, db.Close())
}

// errNoRecord is a store in which nothing was written yet.
var errNoRecord = errors.New("the record is empty")

// recordZero reads how the record begins.
func recordZero(db store.DB) (opened event.StoreOpened, err error) {
	err = db.View(func(tx store.Tx) error {
		raw := journal.Get(tx, 0)
		if raw == nil {
			return errNoRecord
		}
		e, err := event.Decode(raw)
		if err != nil {
			return err
		}
		var ok bool
		if opened, ok = e.Body.(event.StoreOpened); !ok {
			return fmt.Errorf("record 0 is of kind %v, and opens no store", e.Body.Kind())
		}
		return nil
	})
	return opened, err
}
