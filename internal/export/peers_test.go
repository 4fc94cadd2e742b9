package export

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
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

// printed is a paper of this package.
type printed interface {
	pages(Paper) ([]*page, error)
	PDF(io.Writer, Paper) error
}

// Rendered by poppler at the 200 dpi of an office scanner, every page has its size and zbarimg reads
// every symbol on it and nothing else.
func TestReadersReadPapers(t *testing.T) {
	pdftoppm, zbarimg, pdftotext := peer(t, "pdftoppm"), peer(t, "zbarimg"), peer(t, "pdftotext")
	long := sheetOf(12)
	long.Host = strings.Repeat("LONG.", 12) + "EXAMPLE"
	for name, c := range map[string]struct {
		printed
		paper Paper
		size  string // dots at 200 dpi
	}{
		"75 bundles": {sheetOf(75), Letter, "1700 2200"}, // ASME Y14.1: 8.5 x 11 in
		"cautions":   {oneStop(12), A4, "1654 2339"},     // ISO 216: 210 x 297 mm
		"long host":  {long, A4, "1654 2339"},
		"recall":     {recallOf(40), Letter, "1700 2200"},
		"trace":      {traceOf(), A4, "1654 2339"},
	} {
		t.Run(name, func(t *testing.T) {
			pages, err := c.pages(c.paper)
			require.NoError(t, err)
			dir := t.TempDir()
			file := filepath.Join(dir, "paper.pdf")
			var buf bytes.Buffer
			require.NoError(t, c.PDF(&buf, c.paper))
			require.NoError(t, os.WriteFile(file, buf.Bytes(), 0o644))
			out, err := exec.Command(pdftoppm, "-r", "200", "-gray", file, filepath.Join(dir, "p")).CombinedOutput()
			require.NoError(t, err)
			require.Empty(t, string(out), "poppler has nothing to say about the file")
			files, err := filepath.Glob(filepath.Join(dir, "p-*.pgm"))
			require.NoError(t, err)
			require.Len(t, files, len(pages))
			for i, p := range pages {
				data, err := os.ReadFile(files[i])
				require.NoError(t, err)
				require.Equal(t, c.size, strings.Split(string(data[:20]), "\n")[1])
				want := []string{}
				for j, code := range p.codes {
					want = append(want, [...]string{"CODE-128:", "QR-Code:"}[j]+code)
				}
				out, err := exec.Command(zbarimg, "-q", files[i]).Output()
				if len(want) > 0 {
					require.NoError(t, err)
				}
				got := strings.Fields(string(out))
				slices.Sort(got)
				require.Equal(t, want, got, fmt.Sprintf("page %d", i+1))
			}
			text, err := exec.Command(pdftotext, "-layout", file, "-").Output()
			require.NoError(t, err)
			for _, x := range recorded(t, pages).rows() {
				require.Contains(t, string(text), x.s)
			}
		})
	}
}
