package main

import (
	"archive/tar"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path"
	"path/filepath"
	"slices"

	"github.com/google/uuid"

	"tagd/internal/view"
)

type restoreCmd struct {
	dataFlag
	In string `arg:"" placeholder:"IN.tar"`
}

func (restoreCmd) Help() string {
	return `Usage: tagd restore IN.tar --data DIR

Makes a data folder from a backup: a new folder, or one that is empty. Checksums
are compared first; a backup that is not whole leaves the folder empty.

Tags that were printed after the backup was made hang on bundles that the
restored store does not know. So that none of their numbers is given out twice,
all new numbers begin 100,000 later, and the store gets a new UUID.

Examples:

    tagd restore /mnt/backup/tagd-2026-11-25.tar --data /srv/tagd
    tagd check --data /srv/tagd
`
}

func (c *restoreCmd) Run(ctx context.Context, s streams) error {
	f, err := openInput(c.In)
	if err != nil {
		return err
	}
	defer f.Close()
	list, err := os.ReadDir(string(c.Data))
	if err == nil && len(list) > 0 {
		return no("Name a folder that is new or empty.", "%s is not empty; nothing was changed", c.Data)
	}
	if err := os.MkdirAll(c.Data.path(certsName), 0o700); err != nil {
		return misuse("", "%v", err)
	}
	err = c.Data.unpack(ctx, f)
	var head uint64
	if err == nil {
		head, err = c.Data.renew(ctx, s)
	}
	if err != nil {
		return errors.Join(err, c.Data.clear())
	}
	s.say("%s: %d records; new numbers begin 100,000 later", c.Data, head+1)
	return nil
}

// clear takes away what a restore that failed has left.
func (d folder) clear() error {
	list, err := os.ReadDir(string(d))
	for _, e := range list {
		err = errors.Join(err, os.RemoveAll(d.path(e.Name())))
	}
	return err
}

// unpack writes the files of a backup and compares their checksums.
func (d folder) unpack(ctx context.Context, r io.Reader) error {
	notOurs := func(format string, args ...any) error {
		return no("It is no backup of tagd, or a damaged one: take another.", format, args...)
	}
	sums := map[string][]byte{}
	t := tar.NewReader(r)
	for {
		if err := ctx.Err(); err != nil {
			return err
		}
		h, err := t.Next()
		if err == io.EOF {
			return notOurs("the backup ends before its checksums")
		}
		if err != nil {
			return notOurs("the backup cannot be read: %v", err)
		}
		if h.Typeflag != tar.TypeReg || h.Name != sumsName && !belongs(h.Name) {
			return notOurs("the backup has a file %q, which no backup has", h.Name)
		}
		if h.Name == sumsName {
			break
		}
		sum := sha256.New()
		if err := writeFile(d.path(filepath.FromSlash(h.Name)), func(w io.Writer) error {
			_, err := io.Copy(io.MultiWriter(w, sum), t)
			return err
		}); errors.Is(err, io.ErrUnexpectedEOF) {
			return notOurs("the backup ends in the middle of %s", h.Name)
		} else if err != nil {
			return fmt.Errorf("%s of the backup: %w", h.Name, err)
		}
		sums[h.Name] = sum.Sum(nil)
	}
	text, err := io.ReadAll(io.LimitReader(t, 100<<20))
	if err != nil {
		return notOurs("the backup cannot be read: %v", err)
	}
	listed := 0
	for line := range bytes.Lines(text) {
		var sum []byte
		var name string
		if n, err := fmt.Sscanf(string(line), "%x  %s\n", &sum, &name); n != 2 || err != nil {
			return notOurs("the list of checksums has the line %q", line)
		}
		if !bytes.Equal(sums[name], sum) {
			return notOurs("%s is not as it was when the backup was made", name)
		}
		listed++
	}
	if listed != len(sums) || sums[storeName] == nil || sums[settingsName] == nil {
		return notOurs("the backup is not whole: %d files, %d checksums", len(sums), listed)
	}
	return errors.Join(syncFolder(d.path(certsName)), syncFolder(string(d)))
}

// belongs says whether a backup has files of this name.
func belongs(name string) bool {
	if slices.Contains([]string{storeName, settingsName, wordsName}, name) {
		return true
	}
	dir, file := path.Split(name)
	return dir == certsName+"/" && isSum(file)
}

// renew makes the store of a backup one of its own.
func (d folder) renew(ctx context.Context, s streams) (head uint64, err error) {
	sh, err := d.open(s, slog.New(slog.NewTextHandler(s.err, nil)))
	if err != nil {
		return 0, err
	}
	err = sh.Restored(ctx, uuid.NewString())
	if err == nil {
		err = sh.View(func(p *view.Past) error { head = p.Head(); return nil })
	}
	return head, errors.Join(err, sh.Close())
}
