package label

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/tags"
)

// peer finds a program that is not ours. Where it is missing, the test is left out, since go test ./...
// needs nothing but Go; it fails if TAGD_PEERS=1 says that all of them must be there, as make test does.
func peer(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("TAGD_PEERS") == "1" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// zbar reads all symbols of a picture, as "CODE-128:..." and "QR-Code:...", each once.
func zbar(t *testing.T, file string) []string {
	out, err := exec.Command(peer(t, "zbarimg"), "-q", file).Output()
	require.NoError(t, err, file)
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	slices.Sort(lines)
	return slices.Compact(lines)
}

// zxing reads one kind of symbol. It is asked for one at a time, and for Code 128 along the rows
// only: version 1.4 aborts when it finds one bar code twice, as it would with the ladder.
func zxing(t *testing.T, file string, args ...string) []string {
	out, err := exec.Command(peer(t, "ZXingReader"), append(args, file)...).Output()
	require.NoError(t, err, "%s %v: %s", file, args, out)
	var texts []string
	for line := range strings.SplitSeq(string(out), "\n") {
		if s, ok := strings.CutPrefix(line, "Text:"); ok {
			texts = append(texts, strings.Trim(strings.TrimSpace(s), `"`))
		}
	}
	slices.Sort(texts)
	return slices.Compact(texts)
}

// readers checks that both programs read exactly the two texts of a tag out of a picture.
func readers(t *testing.T, file string, l Label) {
	codes := l.Codes()
	require.Len(t, codes, 2)
	require.Equal(t, []string{"CODE-128:" + codes[0], "QR-Code:" + codes[1]}, zbar(t, file))
	require.Equal(t, []string{codes[1]}, zxing(t, file, "-format", "QRCode"))
	require.Equal(t, []string{codes[0]}, zxing(t, file, "-format", "Code128", "-noscale", "-norotate"))
	_, tag, err := tags.Parse(codes[1])
	require.NoError(t, err)
	require.Equal(t, codes[0], tag.Number.Digits())
}

// zbarimg 0.23 and ZXingReader 1.4 read our pictures.
func TestReadersReadPNG(t *testing.T) {
	peer(t, "zbarimg")
	peer(t, "ZXingReader")
	for name, l := range samples(t) {
		for _, dpi := range [...]int{203, 300} {
			if dpi == 300 && !slices.Contains([]string{"bent", "longest", "mixed"}, name) {
				continue // what they have in common with these is read once
			}
			t.Run(fmt.Sprintf("%s %d dpi", name, dpi), func(t *testing.T) {
				var buf bytes.Buffer
				require.NoError(t, PNG(&buf, l, dpi))
				file := filepath.Join(t.TempDir(), "tag.png")
				require.NoError(t, os.WriteFile(file, buf.Bytes(), 0o644))
				readers(t, file, l)
			})
		}
	}
}

// The ladder is read alone too, on the strip of the tag left of the large values.
func TestReadersReadLadder(t *testing.T) {
	peer(t, "zbarimg")
	for _, dpi := range [...]int{203, 300} {
		b := bundleOf(43)
		img, err := Bitmap(b, dpi)
		require.NoError(t, err)
		dot := 25.4 / float64(dpi)
		strip := img.SubImage(image.Rect(0, int(14/dot), int(13/dot), int(85/dot)))
		file := filepath.Join(t.TempDir(), "ladder.png")
		f, err := os.Create(file)
		require.NoError(t, err)
		require.NoError(t, png.Encode(f, strip))
		require.NoError(t, f.Close())
		require.Equal(t, []string{"CODE-128:" + b.Number.Digits()}, zbar(t, file))
	}
}

// A PDF rendered by poppler reads as the PNG does, and looks like it.
func TestReadersReadPDF(t *testing.T) {
	peer(t, "zbarimg")
	peer(t, "ZXingReader")
	pdftoppm := peer(t, "pdftoppm")
	names := []string{"bent", "longest", "mixed", "remnant", "load"}
	all := samples(t)
	var labels []Label
	for _, n := range names {
		labels = append(labels, all[n])
	}
	var buf bytes.Buffer
	require.NoError(t, PDF(&buf, 300, labels...))
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "tags.pdf"), buf.Bytes(), 0o644))
	out, err := exec.Command(pdftoppm, "-r", "300", "-gray", "-png", filepath.Join(dir, "tags.pdf"), filepath.Join(dir, "p")).CombinedOutput()
	require.NoError(t, err, string(out))
	require.Empty(t, string(out), "poppler has nothing to say about the file")
	for i, name := range names {
		file := filepath.Join(dir, fmt.Sprintf("p-%d.png", i+1))
		readers(t, file, labels[i])
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		page, err := png.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		want, err := Bitmap(labels[i], 300)
		require.NoError(t, err)
		require.LessOrEqual(t, max(page.Bounds().Dx()-want.Rect.Dx(), want.Rect.Dx()-page.Bounds().Dx()), 1, name)
		n := 0
		r := page.Bounds().Intersect(want.Rect)
		for y := r.Min.Y; y < r.Max.Y; y++ {
			for x := r.Min.X; x < r.Max.X; x++ {
				grey, _, _, _ := page.At(x, y).RGBA()
				if (grey < 0x8000) != (want.ColorIndexAt(x, y) == 1) {
					n++
				}
			}
		}
		share := float64(n) / float64(r.Dx()*r.Dy())
		t.Logf("%s: %.2f %% of the dots differ", name, share*100)
		require.Less(t, share, 0.02, name)
	}
}

// The PDF's text can be searched, accents and all.
func TestPDFText(t *testing.T) {
	pdftotext := peer(t, "pdftotext")
	var buf bytes.Buffer
	require.NoError(t, PDF(&buf, 203, samples(t)["person"]))
	cmd := exec.Command(pdftotext, "-", "-")
	cmd.Stdin = &buf
	out, err := cmd.Output()
	require.NoError(t, err)
	require.Contains(t, string(out), "Peña")
}
