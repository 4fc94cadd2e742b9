package main

import (
	"archive/tar"
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"tagd/internal/store/bolt"
)

// A backup is a tar file: plant.db, settings.toml, words.csv where there is one, the files of certs/, and last sums.txt with the
// SHA-256 of each in the form of sha256sum.
const sumsName = "sums.txt"

type backupCmd struct {
	dataFlag
	Out string `arg:"" placeholder:"OUT.tar"`
}

func (backupCmd) Help() string {
	return `Usage: tagd backup OUT.tar [--data DIR]

Copies the store, the settings, the words and the mill certs into one tar file,
with a list of checksums. A server may run meanwhile: the copy is of one moment,
and is made slowly enough that scans hardly wait. OUT.tar appears when it is
whole; a file that is there already is left alone.

Keep backups on another machine. tagd restore makes a data folder from one. Try
that now and then: a backup that was never restored is a hope.

Example:

    tagd backup /mnt/backup/tagd-$(date +%F).tar
`
}

func (c *backupCmd) Run(ctx context.Context, s streams) error {
	if !c.Data.exists() {
		return misuse("--data names another folder.", "%s has no store to copy", c.Data)
	}
	if _, err := os.Lstat(c.Out); err == nil {
		return misuse("Name another file, or take it away first.", "%s is there already", c.Out)
	}
	work, err := os.MkdirTemp(filepath.Dir(c.Out), ".tagd-backup-")
	if err != nil {
		return misuse("", "%v", err)
	}
	defer os.RemoveAll(work)
	// The store comes first: a cert is filed in it only when its paper is in the folder.
	snapshot := filepath.Join(work, storeName)
	if err := c.Data.copyStore(ctx, snapshot); err != nil {
		return err
	}
	part := filepath.Join(work, "backup.tar")
	n, err := c.Data.pack(ctx, part, snapshot)
	if err != nil {
		return err
	}
	if err := os.Rename(part, c.Out); err != nil {
		return err
	}
	if err := syncFolder(filepath.Dir(c.Out)); err != nil {
		return err
	}
	s.say("%s: %d files, %.1f MB", c.Out, n.files, float64(n.bytes)/1e6)
	return nil
}

// copyStore writes a copy of the store to a new file, whether a server runs or not.
func (d folder) copyStore(ctx context.Context, path string) error {
	db, server, err := orServer(ctx, d, func() (*bolt.DB, error) { return openToCheck(d.path(storeName)) })
	if err != nil {
		return err
	}
	if server != nil {
		return server.copyStore(ctx, path)
	}
	defer db.Close()
	const unhurried = 1 << 40 // bytes a second: nobody writes meanwhile
	return writeFile(path, func(w io.Writer) error {
		_, err := db.Backup(ctx, w, unhurried)
		return err
	})
}

// copyStore asks the server that runs for a copy of its store.
func (w *door) copyStore(ctx context.Context, path string) error {
	return writeFile(path, func(f io.Writer) error { return w.fetch(ctx, backupRoute, f) })
}

// packed counts what went into a backup.
type packed struct {
	files int
	bytes int64
}

// pack writes the tar file.
func (d folder) pack(ctx context.Context, path, snapshot string) (packed, error) {
	certs, err := os.ReadDir(d.path(certsName))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return packed{}, err
	}
	var n packed
	err = writeFile(path, func(w io.Writer) error {
		t := tar.NewWriter(w)
		var sums bytes.Buffer
		add := func(name, from string) error {
			if err := ctx.Err(); err != nil {
				return err
			}
			size, sum, err := addFile(t, name, from)
			if err != nil {
				return err
			}
			n.files, n.bytes = n.files+1, n.bytes+size
			fmt.Fprintf(&sums, "%x  %s\n", sum, name)
			return nil
		}
		if err := add(storeName, snapshot); err != nil {
			return err
		}
		if err := add(settingsName, d.path(settingsName)); err != nil {
			return err
		}
		if _, err := os.Stat(d.path(wordsName)); err == nil {
			if err := add(wordsName, d.path(wordsName)); err != nil {
				return err
			}
		}
		for _, e := range certs {
			if isSum(e.Name()) && e.Type().IsRegular() {
				if err := add(certsName+"/"+e.Name(), filepath.Join(d.path(certsName), e.Name())); err != nil {
					return err
				}
			}
		}
		if err := t.WriteHeader(header(sumsName, int64(sums.Len()), time.Now())); err != nil {
			return err
		}
		if _, err := t.Write(sums.Bytes()); err != nil {
			return err
		}
		return t.Close()
	})
	return n, err
}

func addFile(t *tar.Writer, name, from string) (size int64, sum []byte, err error) {
	f, err := os.Open(from)
	if err != nil {
		return 0, nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return 0, nil, err
	}
	if err := t.WriteHeader(header(name, info.Size(), info.ModTime())); err != nil {
		return 0, nil, err
	}
	h := sha256.New()
	size, err = io.Copy(io.MultiWriter(t, h), io.LimitReader(f, info.Size()))
	return size, h.Sum(nil), err
}

func header(name string, size int64, at time.Time) *tar.Header {
	return &tar.Header{Name: name, Size: size, Mode: 0o600, ModTime: at.Truncate(time.Second), Format: tar.FormatPAX}
}

// isSum says whether a file is named as certs are: a SHA-256 in lower case.
func isSum(name string) bool {
	b, err := hex.DecodeString(name)
	return err == nil && len(b) == sha256.Size && hex.EncodeToString(b) == name
}

// writeFile makes a new file and syncs it. After an error there is none.
func writeFile(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<16)
	err = write(w)
	if err == nil {
		err = errors.Join(w.Flush(), f.Sync())
	}
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
	}
	return err
}

// syncFolder makes the names in a folder durable.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
