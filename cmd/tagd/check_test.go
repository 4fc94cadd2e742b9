package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"log/slog"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/journal"
	"tagd/internal/store"
	"tagd/internal/store/bolt"
	"tagd/internal/tags"
)

// smallShop makes a data folder with a list, a lot and a cert in it.
func smallShop(t *testing.T) (d folder, paper string) {
	t.Helper()
	d = folder(filepath.Join(t.TempDir(), "shop"))
	s := streams{nil, t.Output(), t.Output()}
	require.NoError(t, d.begin(s))
	sh, err := d.open(s, slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	ctx := t.Context()
	steel := bar.Steel{Size: "#5", Spec: "A615", Grade: "60"}
	o := floor.Origin{Device: "desk", Key: "a key of text", Request: "list"}
	_, _, err = sh.TakeList(ctx, o, barlist.File{Name: "x.csv", Lines: []barlist.Line{
		{Row: 2, Job: "26-014", List: "A1", Mark: "5A01", Steel: steel, Length: 11 * bar.Foot, Pieces: 900},
	}})
	require.NoError(t, err)
	o.Key, o.Request = "0190c0de-0000-7000-8000-000000000001", "lot"
	_, err = sh.Receive(ctx, o, event.LotReceived{Mill: "Mesa Steel (invented)", Heats: []string{"7041893"}, Steel: steel, Length: 60 * bar.Foot, Bars: 100})
	require.NoError(t, err)
	text := []byte("%PDF-1.7 (invented)")
	sum := sha256.Sum256(text)
	paper = filepath.Join(d.path(certsName), hex.EncodeToString(sum[:]))
	require.NoError(t, os.WriteFile(paper, text, 0o600))
	_, err = sh.FileCert(ctx, floor.Origin{}, event.CertFiled{Mill: "Mesa Steel (invented)", Heat: "7041893", Sizes: []bar.Size{"#5"}, SHA256: sum[:]})
	require.NoError(t, err)
	require.NoError(t, sh.Close())
	return d, paper
}

// checked runs tagd check on a folder, as an operator does.
func checked(t *testing.T, d folder, args ...string) (code int, out string) {
	t.Helper()
	program, err := build()
	require.NoError(t, err)
	var b bytes.Buffer
	cmd := exec.Command(program, append([]string{"check", "--data", string(d)}, args...)...)
	cmd.Stdout, cmd.Stderr = &b, t.Output()
	if err := cmd.Run(); err != nil {
		require.IsType(t, &exec.ExitError{}, err)
	}
	return cmd.ProcessState.ExitCode(), b.String()
}

// Whatever is spoiled behind the program's back is found, and named.
func TestCheckFinds(t *testing.T) {
	lot, err := tags.New(tags.Stock, 1, 1)
	require.NoError(t, err)
	change := func(what func(store.Tx) error) func(*testing.T, folder, string) {
		return func(t *testing.T, d folder, _ string) {
			db, err := bolt.Open(d.path(storeName), floor.Tables(), bolt.Options{})
			require.NoError(t, err)
			require.NoError(t, db.Update(what))
			require.NoError(t, db.Close())
		}
	}
	numKey := []byte{0, 0, 0, 0, 0, 0, 0, 0}
	for i, n := 7, uint64(lot); i >= 0; i, n = i-1, n>>8 {
		numKey[i] = byte(n)
	}
	for _, c := range []struct {
		name  string
		spoil func(*testing.T, folder, string)
		says  string // "" is sound
		mends bool   // --rebuild does
	}{
		{"nothing", func(*testing.T, folder, string) {}, "", true},
		{"row changed", change(func(tx store.Tx) error { return tx.Put("lot", numKey, []byte{0xa0}) }), "view lot: row " + hex.EncodeToString(numKey) + " is a0", true},
		{"row gone", change(func(tx store.Tx) error { return tx.Delete("lot", numKey) }), "view lot: row " + hex.EncodeToString(numKey) + " is missing", true},
		{"row too many", change(func(tx store.Tx) error { return tx.Put("look", numKey, nil) }), "view look: row " + hex.EncodeToString(numKey) + " should not be there", true},
		{"views of another version", change(func(tx store.Tx) error { return tx.Put("meta", []byte("version"), []byte{0, 0}) }), "another version", true},
		{"request forgotten", change(func(tx store.Tx) error {
			var key []byte
			tx.Ascend(journal.Keys, nil, nil, func(k, _ []byte) bool { key = bytes.Clone(k); return false })
			return tx.Delete(journal.Keys, key)
		}), "is not remembered", false},
		{"request made up", change(func(tx store.Tx) error { return journal.Remember(tx, "desk", "x", journal.Op{First: 1, Count: 1}) }), "3 requests are remembered, the record has 2", false},
		{"record gone", change(func(tx store.Tx) error { return tx.Delete(journal.Records, []byte{0, 0, 0, 0, 0, 0, 0, 2}) }), "record 2 is missing", false},
		{"record unreadable", change(func(tx store.Tx) error { return tx.Put(journal.Records, []byte{0, 0, 0, 0, 0, 0, 0, 2}, []byte{9}) }), "record 2 cannot be read", false},
		{"paper gone", func(t *testing.T, _ folder, paper string) { require.NoError(t, os.Remove(paper)) }, "is missing", false},
		{"paper altered", func(t *testing.T, _ folder, paper string) {
			require.NoError(t, os.WriteFile(paper, []byte("%PDF-1.8 (invented)"), 0o600))
		}, "was altered", false},
		{"file cut off", func(t *testing.T, d folder, _ string) { require.NoError(t, os.Truncate(d.path(storeName), 20_000)) }, "cut off", false},
		{"file of zeros", func(t *testing.T, d folder, _ string) {
			require.NoError(t, os.WriteFile(d.path(storeName), make([]byte, 1<<16), 0o600))
		}, "damaged or is no store", false},
		{"pages of zeros", func(t *testing.T, d folder, _ string) {
			f, err := os.OpenFile(d.path(storeName), os.O_WRONLY, 0)
			require.NoError(t, err)
			info, err := f.Stat()
			require.NoError(t, err)
			_, err = f.WriteAt(make([]byte, info.Size()-16384), 16384) // behind the two meta pages
			require.NoError(t, err)
			require.NoError(t, f.Close())
		}, "damaged", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, paper := smallShop(t)
			c.spoil(t, d, paper)
			code, out := checked(t, d)
			if c.says == "" {
				require.Contains(t, out, "sound: 7 records")
				require.Equal(t, 0, code)
			} else {
				require.Contains(t, out, c.says)
				require.Equal(t, 1, code, out)
			}
			left, err := filepath.Glob(d.path("check-*"))
			require.NoError(t, err)
			require.Empty(t, left)
			code, out = checked(t, d, "--rebuild")
			if c.mends {
				require.Equal(t, 0, code, out)
			} else {
				require.Equal(t, 1, code, out)
			}
		})
	}
}
