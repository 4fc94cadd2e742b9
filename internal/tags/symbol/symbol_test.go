package symbol

import (
	"fmt"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	boombuler "github.com/boombuler/barcode/qr"
	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"tagd/internal/tags"
)

// widths128 are the element widths of the symbol characters of Code 128 by value, bar and space in
// turn, from ISO/IEC 15417, table 1.
var widths128 = strings.Fields(`
	212222 222122 222221 121223 121322 131222 122213 122312 132212 221213 221312 231212 112232 122132 122231 113222
	123122 123221 223211 221132 221231 213212 223112 312131 311222 321122 321221 312212 322112 322211 212123 212321
	232121 111323 131123 131321 112313 132113 132311 211313 231113 231311 112133 112331 132131 113123 113321 133121
	313121 211331 231131 213113 213311 213131 311123 311321 331121 312113 312311 332111 314111 221411 431111 111224
	111422 121124 121421 141122 141221 112214 112412 122114 122411 142112 142211 241211 221114 413111 241112 134111
	111242 121142 121241 114212 124112 124211 411212 421112 421211 212141 214121 412121 111143 111341 131141 114113
	114311 411113 411311 113141 114131 311141 411131 211412 211214 211232 2331112`)

// values128 takes bars apart into the values of their symbol characters.
func values128(t *testing.T, bars Bars) []int {
	var widths strings.Builder
	for i := 0; i < len(bars); {
		j := i
		for j < len(bars) && bars[j] == bars[i] {
			j++
		}
		fmt.Fprint(&widths, j-i)
		i = j
	}
	var values []int
	for rest := widths.String(); rest != ""; {
		found := false
		for value, w := range widths128 {
			if strings.HasPrefix(rest, w) && (len(w) == len(rest) || len(w) == 6) {
				values, rest, found = append(values, value), rest[len(w):], true
				break
			}
		}
		require.True(t, found, "no symbol character begins %s", rest)
	}
	return values
}

// check128 is the check character's value by ISO/IEC 15417: the start character plus the position
// times the value of every other, by 103.
func check128(values ...int) int {
	sum := values[0]
	for i, v := range values[1:] {
		sum += (i + 1) * v
	}
	return sum % 103
}

// The worked example: start A, H, I, code C, 34, 56, 78 sums to 1406 and has the check value 67. The
// library begins in set B instead, which is as right and gives 68.
func TestCode128Check(t *testing.T) {
	require.Equal(t, 67, check128(103, 'H'-32, 'I'-32, 99, 34, 56, 78))
	require.Equal(t, 42, check128(103, 'A'-32, 'B'-32, 'C'-32, 'D'-32, 'E'-32, 'F'-32))
	require.Equal(t, 73, check128(105, 34, 56, 78))

	for _, c := range []struct {
		text           string
		check, modules int
		values         []int
	}{
		{"HI345678", 68, 101, []int{104, 'H' - 32, 'I' - 32, 99, 34, 56, 78}},
		{"J100/A1/007", 22, 156, nil},
		{"345678", 73, 68, []int{105, 34, 56, 78}},
		{"ABCDEF", 43, 101, nil},
	} {
		bars, check, err := encode128(c.text)
		require.NoError(t, err)
		require.Equal(t, c.check, check, c.text)
		require.Len(t, bars, c.modules, c.text)
		values := values128(t, bars)
		n := len(values)
		require.Equal(t, []int{check, 106}, values[n-2:])
		require.Equal(t, check, check128(values[:n-2]...))
		if c.values != nil {
			require.Equal(t, c.values, values[:n-2])
		}
		got, err := decode128(bars)
		require.NoError(t, err)
		require.Equal(t, c.text, got)
	}
}

func anyDigits(t *rapid.T) string {
	n, err := tags.New(tags.Kind(rapid.IntRange(1, 6).Draw(t, "kind")), rapid.IntRange(1, 999).Draw(t, "plant"), rapid.IntRange(1, 99_999_999).Draw(t, "serial"))
	require.NoError(t, err)
	return n.Digits()
}

// Every number makes start C, its seven pairs, the check character and stop, in 112 modules.
func TestCode128OfNumbers(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		digits := anyDigits(rt)
		bars, err := Code128(digits)
		require.NoError(rt, err)
		require.Len(rt, bars, 112)
		require.True(rt, bars[0] && bars[111])
		want := []int{105}
		for i := 0; i < 14; i += 2 {
			want = append(want, int(digits[i]-'0')*10+int(digits[i+1]-'0'))
		}
		require.Equal(rt, append(want, check128(want...), 106), values128(t, bars))
	})
}

func TestCode128Refuses(t *testing.T) {
	for _, s := range []string{"", "1001000000420", "100100000042050", "1001000000420A", "1-001-00000042-05", "1001000000420\u00f1"} {
		bars, err := Code128(s)
		require.Error(t, err, "%q", s)
		require.Nil(t, bars)
	}
	// U+00F1 to U+00F4 are function characters to the library.
	for _, s := range []string{"PEÑA", "peña", "ó", "\x1f", "\x7f", "\xff"} {
		_, _, err := encode128(s)
		require.ErrorContains(t, err, "cannot carry", "%q", s)
	}
	_, _, err := encode128(strings.Repeat("A", 81))
	require.Error(t, err)
}

// Capacities of the alphanumeric and numeric modes from ISO/IEC 18004, table 7: the text of so many
// characters still fits the version, one more does not.
func TestQRVersions(t *testing.T) {
	for _, c := range []struct {
		level    Level
		version  int
		capacity int
		digit    string
	}{
		{LevelM, 1, 20, "A"}, {LevelM, 4, 90, "A"}, {LevelM, 5, 122, "A"}, {LevelM, 10, 311, "A"},
		{LevelQ, 1, 16, "A"}, {LevelQ, 5, 87, "A"}, {LevelQ, 6, 108, "A"}, {LevelQ, 7, 125, "A"}, {LevelQ, 8, 157, "A"}, {LevelQ, 10, 221, "A"},
		{LevelM, 1, 34, "7"}, {LevelQ, 1, 27, "7"}, {LevelM, 2, 63, "7"},
	} {
		m, err := QR(strings.Repeat(c.digit, c.capacity), c.level)
		require.NoError(t, err)
		require.Equal(t, 17+4*c.version, m.Size())
		m, err = QR(strings.Repeat(c.digit, c.capacity+1), c.level)
		require.NoError(t, err)
		require.Equal(t, 17+4*(c.version+1), m.Size())
	}
	_, err := QR(strings.Repeat("A", 3391), LevelM)
	require.NoError(t, err)
	_, err = QR(strings.Repeat("A", 3392), LevelM)
	require.ErrorContains(t, err, "cannot hold 3392")
}

func TestQRRefuses(t *testing.T) {
	for _, s := range []string{"", "a", "123\x00", "Ñ", "\xff", "A#", "A\n"} {
		m, err := QR(s, LevelQ)
		require.Error(t, err, "%q", s)
		require.Zero(t, m.Size())
	}
	_, err := QR("A", Level(7))
	require.ErrorContains(t, err, "level 7")
	require.Equal(t, "Q", LevelQ.String())
	require.Equal(t, "M", LevelM.String())
}

// A sign before digits is no part of a number: the text must come back with it.
func TestQRKeepsSigns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[-+]?[0-9]{1,12}[-+.]?[0-9]{0,6}`).Draw(t, "text")
		m, err := QR(text, LevelM)
		require.NoError(t, err)
		got, err := decodeQR(m)
		require.NoError(t, err)
		require.Equal(t, text, got)
	})
}

// A stranger to the encoder agrees on the size of every symbol, and its symbols decode alike.
func TestQRAgainstBoombuler(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[A-Z$%*+./: -][0-9A-Z $%*+./:-]{0,150}`).Draw(t, "text")
		ours, err := QR(text, LevelQ)
		require.NoError(t, err)
		theirs, err := boombuler.Encode(text, boombuler.Q, boombuler.AlphaNumeric)
		require.NoError(t, err)
		require.Equal(t, theirs.Bounds().Dx(), ours.Size())
		bits, err := gozxing.NewSquareBitMatrix(ours.Size())
		require.NoError(t, err)
		for y := range ours.Size() {
			for x := range ours.Size() {
				if r, _, _, _ := theirs.At(x, y).RGBA(); r == 0 {
					bits.Set(x, y)
				}
			}
		}
		result, err := decoder.NewDecoder().Decode(bits, nil)
		require.NoError(t, err)
		require.Equal(t, text, result.GetText())
	})
}

func TestMatrixOutside(t *testing.T) {
	m, err := QR("A", LevelM)
	require.NoError(t, err)
	require.True(t, m.Dark(0, 0))
	for _, p := range [][2]int{{-1, 0}, {0, -1}, {21, 0}, {0, 21}} {
		require.False(t, m.Dark(p[0], p[1]))
	}
}

// drawSymbols draws one above the other, with their quiet zones: bars at x pixels a module, a QR code
// at y.
func drawSymbols(bars Bars, m Matrix, x, y int) *image.Gray {
	side := (m.Size() + 2*QuietQR) * y
	w, top := max((len(bars)+2*QuietCode128)*x, side), 20*x
	img := image.NewGray(image.Rect(0, 0, w, 2*top+side))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	fill := func(r image.Rectangle) {
		for py := r.Min.Y; py < r.Max.Y; py++ {
			for px := r.Min.X; px < r.Max.X; px++ {
				img.Pix[img.PixOffset(px, py)] = 0
			}
		}
	}
	for i, dark := range bars {
		if dark {
			fill(image.Rect((i+QuietCode128)*x, x, (i+QuietCode128+1)*x, top))
		}
	}
	for my := range m.Size() {
		for mx := range m.Size() {
			if m.Dark(mx, my) {
				px, py := (mx+QuietQR)*y, (my+QuietQR)*y+2*top
				fill(image.Rect(px, py, px+y, py+y))
			}
		}
	}
	return img
}

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

// zbar gives all that zbarimg reads in a file.
func zbar(path, file string) string {
	out, _ := exec.Command(path, "-q", "--raw", file).Output()
	return string(out)
}

// zxing gives all that ZXingReader reads in a file. Version 1.4 aborts when it finds the same linear
// symbol twice, so it is asked for one format at a time, and for linear ones at one scale and turn.
func zxing(path, file string) string {
	qr, _ := exec.Command(path, "-format", "QRCode", file).Output()
	bars, _ := exec.Command(path, "-format", "Code128", "-noscale", "-norotate", file).Output()
	return string(qr) + string(bars)
}

func TestPeersReadOurSymbols(t *testing.T) {
	for _, program := range []struct {
		name string
		read func(path, file string) string
	}{{"zbarimg", zbar}, {"ZXingReader", zxing}} {
		t.Run(program.name, func(t *testing.T) {
			path := peer(t, program.name)
			for n := range 8 {
				digits, text := invented(t, n)
				bars, err := Code128(digits)
				require.NoError(t, err)
				m, err := QR(text, Level(n%2))
				require.NoError(t, err)
				file := filepath.Join(t.TempDir(), "symbols.png")
				f, err := os.Create(file)
				require.NoError(t, err)
				require.NoError(t, png.Encode(f, drawSymbols(bars, m, 2+n%3, 3+n%4)))
				require.NoError(t, f.Close())
				got := program.read(path, file)
				require.Regexp(t, `(?m)(^|")`+digits+`("|$)`, got)
				require.Contains(t, got, text)
			}
		})
	}
}

func TestCheckImage(t *testing.T) {
	for n := range 12 {
		digits, text := invented(t, n)
		bars, err := Code128(digits)
		require.NoError(t, err)
		m, err := QR(text, LevelQ)
		require.NoError(t, err)
		img := drawSymbols(bars, m, 2+n%8, 3+n%9)
		require.NoError(t, CheckImage(img, digits, text), "%d and %d pixels a module", 2+n%8, 3+n%9)
		other, _ := invented(t, n+100)
		require.ErrorContains(t, CheckImage(img, digits, other), "says "+other)
	}
}

const benchText = "HTTPS://TAGS.EXAMPLE/T/10010000004205/C1/J24-118/L3/MB1204/S%235/N40/HH12345"

func BenchmarkCode128(b *testing.B) {
	for b.Loop() {
		if _, err := Code128("10010000004205"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkQR(b *testing.B) {
	for b.Loop() {
		if _, err := QR(benchText, LevelQ); err != nil {
			b.Fatal(err)
		}
	}
}
