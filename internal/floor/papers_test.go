package floor_test

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"io"
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/require"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/store"
	"tagd/internal/store/mem"
)

func openWithPapers(t *testing.T, folder string) *floor.Floor {
	db := mem.Open(floor.Tables()...)
	f, err := floor.Open(func() (store.DB, error) { return db, nil }, floor.Config{Plant: 1, Rules: rules(), Certs: folder})
	require.NoError(t, err)
	t.Cleanup(func() { f.Close() })
	return f
}

func TestPaper(t *testing.T) {
	folder := t.TempDir() + "/certs"
	f := openWithPapers(t, folder)
	for _, tt := range []struct{ kind, data string }{
		{"application/pdf", "%PDF-1.7\n" + strings.Repeat("x", 100_000)},
		{"image/jpeg", "\xff\xd8\xff\xe0JFIF"},
		{"image/png", "\x89PNG\r\n\x1a\n"},
	} {
		t.Run(tt.kind, func(t *testing.T) {
			p, err := f.TakePaper(iotest.OneByteReader(strings.NewReader(tt.data)))
			require.NoError(t, err)
			sum := sha256.Sum256([]byte(tt.data))
			require.Equal(t, sum, p.SHA256)
			require.Equal(t, tt.kind, p.Type)
			require.EqualValues(t, len(tt.data), p.Size)
			_, _, err = f.OpenPaper(sum[:])
			require.ErrorIs(t, err, fs.ErrNotExist, "not kept yet")
			require.NoError(t, p.Keep())
			p.Drop() // of a kept paper: nothing
			file, kind, err := f.OpenPaper(sum[:])
			require.NoError(t, err)
			defer file.Close()
			require.Equal(t, tt.kind, kind)
			b, err := io.ReadAll(file)
			require.NoError(t, err)
			require.Equal(t, tt.data, string(b))
		})
	}
	names, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, names, 3, "no passing names are left")
}

func TestPaperTwice(t *testing.T) {
	folder := t.TempDir()
	f := openWithPapers(t, folder)
	for range 2 {
		p, err := f.TakePaper(strings.NewReader("%PDF-1.7 the same"))
		require.NoError(t, err)
		require.NoError(t, p.Keep())
	}
	names, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Len(t, names, 1)
}

func TestPaperNotTaken(t *testing.T) {
	folder := t.TempDir()
	f := openWithPapers(t, folder)
	for name, r := range map[string]io.Reader{
		"empty":      strings.NewReader(""),
		"text":       strings.NewReader("heat 0123"),
		"page":       strings.NewReader("<html><script>"),
		"too large":  io.MultiReader(strings.NewReader("%PDF-"), io.LimitReader(zeros{}, floor.MaxPaper)),
		"cut before": iotest.ErrReader(errors.New("gone")),
		"cut in it":  io.MultiReader(strings.NewReader("%PDF-1.7 0123456789"), iotest.ErrReader(errors.New("gone"))),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := f.TakePaper(r)
			require.Error(t, err)
			var no *event.Refusal
			require.Equal(t, !strings.HasPrefix(name, "cut"), errors.As(err, &no), "%v", err)
		})
	}
	p, err := f.TakePaper(strings.NewReader("%PDF-1.7"))
	require.NoError(t, err)
	p.Drop()
	names, err := os.ReadDir(folder)
	require.NoError(t, err)
	require.Empty(t, names)

	_, err = openWithPapers(t, "").TakePaper(bytes.NewReader([]byte("%PDF-1.7")))
	require.ErrorContains(t, err, "no folder")
}

// zeros is a file without end.
type zeros struct{}

func (zeros) Read(b []byte) (int, error) { clear(b); return len(b), nil }
