package floor

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"tagd/internal/event"
)

// MaxPaper is the most bytes of a cert's paper.
const MaxPaper = 60 << 20

// Paper is the file of a cert that came in. It is on the disk under a passing name until Keep.
type Paper struct {
	SHA256 [32]byte
	Size   int64
	Type   string // application/pdf, image/jpeg or image/png, by what is in the file

	folder, temp string
}

// papers are the first bytes of the files that are taken (ISO 32000-1, ITU-T T.81, ISO/IEC 15948).
var papers = []struct{ begin, kind string }{
	{"%PDF-", "application/pdf"},
	{"\xff\xd8\xff", "image/jpeg"},
	{"\x89PNG\r\n\x1a\n", "image/png"},
}

func paperType(begin []byte) (string, bool) {
	for _, p := range papers {
		if bytes.HasPrefix(begin, []byte(p.begin)) {
			return p.kind, true
		}
	}
	return "", false
}

// TakePaper writes a file as it comes into the folder of certs, and syncs it. It is not kept yet:
// whoever has it calls Keep, and Drop in any case. A file of another kind, or one too large, is
// refused.
func (f *Floor) TakePaper(r io.Reader) (p *Paper, err error) {
	if f.cfg.Certs == "" {
		return nil, &event.Refusal{Field: "file", Says: "is not taken: this store has no folder for papers"}
	}
	if err := os.MkdirAll(f.cfg.Certs, 0o755); err != nil {
		return nil, fmt.Errorf("floor: folder of certs: %w", err)
	}
	begin := make([]byte, 16)
	n, err := io.ReadFull(r, begin)
	if err != nil && !errors.Is(err, io.ErrUnexpectedEOF) && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("floor: reading a paper: %w", err)
	}
	kind, ok := paperType(begin[:n])
	if !ok {
		return nil, &event.Refusal{Field: "file", Says: "is no PDF, JPEG or PNG; scan the cert or save it as one of these"}
	}
	temp, err := os.CreateTemp(f.cfg.Certs, "incoming-*")
	if err != nil {
		return nil, fmt.Errorf("floor: keeping a paper: %w", err)
	}
	p = &Paper{Type: kind, folder: f.cfg.Certs, temp: temp.Name()}
	defer func() {
		if err != nil {
			temp.Close()
			p.Drop()
			p = nil
		}
	}()
	hash := sha256.New()
	p.Size, err = io.Copy(io.MultiWriter(temp, hash), io.LimitReader(io.MultiReader(bytes.NewReader(begin[:n]), r), MaxPaper+1))
	if err != nil {
		return p, fmt.Errorf("floor: keeping a paper: %w", err)
	}
	if p.Size > MaxPaper {
		return p, &event.Refusal{Field: "file", Says: fmt.Sprintf("is larger than %d MB; scan it with fewer dots", MaxPaper>>20)}
	}
	hash.Sum(p.SHA256[:0])
	if err := errors.Join(temp.Chmod(0o644), temp.Sync(), temp.Close()); err != nil {
		return p, fmt.Errorf("floor: keeping a paper: %w", err)
	}
	return p, nil
}

// Sum is the SHA-256 by which an event names the paper, nil for none.
func (p *Paper) Sum() []byte {
	if p == nil {
		return nil
	}
	return p.SHA256[:]
}

// Keep puts the paper, if there is one, among the papers, under the name of its SHA-256, so that it is
// there after a crash too. Only then may an event name it.
func (p *Paper) Keep() error {
	if p == nil {
		return nil
	}
	if err := os.Rename(p.temp, filepath.Join(p.folder, hex.EncodeToString(p.SHA256[:]))); err != nil {
		return fmt.Errorf("floor: keeping a paper: %w", err)
	}
	p.temp = ""
	d, err := os.Open(p.folder)
	if err != nil {
		return fmt.Errorf("floor: keeping a paper: %w", err)
	}
	if err := errors.Join(d.Sync(), d.Close()); err != nil {
		return fmt.Errorf("floor: keeping a paper: %w", err)
	}
	return nil
}

// Drop takes a paper, if there is one and it was not kept, off the disk again.
func (p *Paper) Drop() {
	if p != nil && p.temp != "" {
		_ = os.Remove(p.temp) // what stays behind is named incoming-..., and no event names it
	}
}

// OpenPaper opens the paper of a cert, and says what it is. The error is fs.ErrNotExist where it is
// not there.
func (f *Floor) OpenPaper(sum []byte) (file *os.File, kind string, err error) {
	if f.cfg.Certs == "" || len(sum) != sha256.Size {
		return nil, "", fs.ErrNotExist
	}
	file, err = os.Open(filepath.Join(f.cfg.Certs, hex.EncodeToString(sum)))
	if err != nil {
		return nil, "", fmt.Errorf("floor: paper: %w", err)
	}
	begin := make([]byte, 16)
	n, err := file.ReadAt(begin, 0)
	if err != nil && !errors.Is(err, io.EOF) {
		file.Close()
		return nil, "", fmt.Errorf("floor: paper: %w", err)
	}
	kind, ok := paperType(begin[:n])
	if !ok {
		kind = "application/octet-stream"
	}
	return file, kind, nil
}
