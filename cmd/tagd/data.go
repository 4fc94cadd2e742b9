package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"time"

	"tagd/internal/barlist"
	"tagd/internal/floor"
	"tagd/internal/plant"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/web/pages"
)

// folder is a plant's data folder:
//
//	settings.toml  the plant's settings
//	words.csv      the plant's own words for the pages, if it has any
//	plant.db       the store; whoever has it open holds its lock
//	certs/         mill certs, each named by its SHA-256
//	serve.url      address of the server that runs, while it runs
type folder string

const (
	settingsName = "settings.toml"
	wordsName    = "words.csv"
	storeName    = "plant.db"
	certsName    = "certs"
	urlName      = "serve.url"
)

// dataFlag is the flag of all commands that need a data folder.
type dataFlag struct {
	Data folder `name:"data" env:"TAGD_DATA" default:"tagd-data" placeholder:"DIR"`
}

func (d folder) path(name string) string { return filepath.Join(string(d), name) }

// begin makes the folder, and the settings that a plant begins with, where there are none.
func (d folder) begin(s streams) error {
	made, err := d.beginWith(plant.Default(""))
	if made {
		s.say("made %s: look at it before the first tag is printed", d.path(settingsName))
	}
	return err
}

// beginWith makes the folder, and these settings where there are none, and says whether it made them.
func (d folder) beginWith(settings []byte) (made bool, err error) {
	if err := os.MkdirAll(d.path(certsName), 0o700); err != nil {
		return false, err
	}
	f, err := os.OpenFile(d.path(settingsName), os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	_, err = f.Write(settings)
	err = errors.Join(err, f.Sync(), f.Close())
	return err == nil, err
}

// settings reads the plant's settings.
func (d folder) settings() (plant.Settings, error) {
	name := d.path(settingsName)
	text, err := os.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return plant.Settings{}, misuse("--data names another folder; tagd serve begins a new one.",
			"%s is no data folder: it has no %s", d, settingsName)
	}
	if err != nil {
		return plant.Settings{}, err
	}
	set, err := plant.Parse(text)
	var faults plant.Faults
	if errors.As(err, &faults) {
		lines := make([]string, len(faults))
		for i, f := range faults {
			lines[i] = name + ": " + f.Error()
		}
		return set, misuse("Mend the file and start again; nothing was changed.", "%s", strings.Join(lines, "\n"))
	}
	return set, err
}

// defaults are what the plant means where a bar list does not say it.
func defaults(set plant.Settings) barlist.Defaults {
	return barlist.Defaults{
		Units: set.Units, LengthUnit: set.List.LengthUnit, Spec: set.List.Spec, Grade: set.List.Grade,
		Edition: set.List.ShapeEdition,
	}
}

// shop is a plant that this process has open: nobody else can write it.
type shop struct {
	*floor.Floor
	set   plant.Settings
	words pages.Words
	db    atomic.Pointer[bolt.DB] // as the floor has it open: it opens it again after a failed commit
}

// open opens the plant. An error that is bolt.ErrLocked says that another process has it open.
func (d folder) open(s streams, log *slog.Logger) (*shop, error) {
	set, err := d.settings()
	if err != nil {
		return nil, err
	}
	words, err := d.words()
	if err != nil {
		return nil, err
	}
	sh := &shop{set: set, words: words}
	open := func() (store.DB, error) {
		db, err := bolt.Open(d.path(storeName), floor.Tables(), bolt.Options{FillPercent: floor.FillPercent})
		if err != nil {
			return nil, err
		}
		if err := d.ownPlant(db, set); err != nil {
			return nil, errors.Join(err, db.Close())
		}
		sh.db.Store(db)
		return db, nil
	}
	sh.Floor, err = floor.Open(open, floor.Config{
		Plant: set.Number, Rules: set.Rules(), Limits: set.Limits(),
		Settings: set.Text, Log: log, Progress: progress(s, "folding the record"), Certs: d.path(certsName),
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", d, err)
	}
	return sh, nil
}

// ownPlant refuses settings of another plant than the store's.
func (d folder) ownPlant(db store.DB, set plant.Settings) error {
	opened, err := recordZero(db)
	if errors.Is(err, errNoRecord) || err == nil && opened.Plant == set.Number {
		return nil
	}
	if err != nil {
		return err
	}
	return misuse("Every printed tag carries the plant's number: set it back, or begin an empty folder.",
		"the store of %s is of plant %d, its settings say plant %d", d, opened.Plant, set.Number)
}

// progress tells how far a fold of the record is, once a second.
func progress(s streams, what string) func(done, all uint64) {
	next := time.Now().Add(time.Second)
	return func(done, all uint64) {
		if now := time.Now(); now.After(next) {
			next = now.Add(time.Second)
			s.say("%s: %d of %d", what, done, all)
		}
	}
}

// running gives the address of the server that runs on the folder, "" if none has said one.
func (d folder) running() string {
	b, err := os.ReadFile(d.path(urlName))
	if err != nil {
		return ""
	}
	return strings.TrimSpace(string(b))
}

// publish writes the address of the server for other commands, until withdraw.
func (d folder) publish(url string) error {
	part := d.path(urlName + ".new")
	if err := os.WriteFile(part, []byte(url+"\n"), 0o644); err != nil {
		return err
	}
	return os.Rename(part, d.path(urlName))
}

// withdraw removes the address. Only who has the store open may: the file of a server that was
// killed would lead commands to whoever has its port now.
func (d folder) withdraw() error {
	err := os.Remove(d.path(urlName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}

// exists says whether the folder has a store.
func (d folder) exists() bool {
	_, err := os.Stat(d.path(storeName))
	return err == nil
}

// sleep waits, or returns the context's error before.
func sleep(ctx context.Context, d time.Duration) error {
	select {
	case <-time.After(d):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}
