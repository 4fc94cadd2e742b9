package export

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/tags/label"
	"tagd/internal/tags/symbol"
)

// inked is a text as it was printed, with the box that its letters can take.
type inked struct {
	page                     int
	s                        string
	y                        float64 // base line
	left, top, right, bottom float64
}

// area is a rectangle that no text may touch.
type area struct {
	page                     int
	what                     string
	left, top, right, bottom float64
}

// record is a label.Device that writes down what it is told to draw.
type record struct {
	page  int
	texts []inked
	areas []area
}

func (r *record) Dot() float64 { return 25.4 / dpi }

func (r *record) Rect(x, y, w, h float64, _ label.Ink) {
	r.areas = append(r.areas, area{r.page, "rule", x, y, x + w, y + h})
}

func (r *record) Grid(x, y, step float64, cells []label.Cell) {
	a := area{r.page, "symbol", x, y, x, y}
	for _, c := range cells {
		a.right, a.bottom = max(a.right, x+step*float64(c.X+c.W)), max(a.bottom, y+step*float64(c.Y+c.H))
	}
	if cells[0].H == 1 { // a QR code: its quiet zone is all around it
		q := step * symbol.QuietQR
		a.left, a.top, a.right, a.bottom = a.left-q, a.top-q, a.right+q, a.bottom+q
	} else {
		q := step * symbol.QuietCode128
		a.left, a.right = a.left-q, a.right+q
	}
	r.areas = append(r.areas, a)
}

func (r *record) Line(_ float64, points []label.Point) {
	a := area{r.page, "box", points[0].X, points[0].Y, points[0].X, points[0].Y}
	for _, p := range points {
		a.left, a.top, a.right, a.bottom = min(a.left, p.X), min(a.top, p.Y), max(a.right, p.X), max(a.bottom, p.Y)
	}
	r.areas = append(r.areas, a)
}

func (r *record) Text(x, y float64, s string, face label.Face, size float64, _ label.Ink) {
	w, err := label.Column{W: 1e6, Max: size, Min: size, Face: face}.Set(s)
	if err != nil {
		panic(err)
	}
	em := size * point
	r.texts = append(r.texts, inked{r.page, s, y, x, y - w.Rise(), x + w.Width(), y + 0.211*em})
}

// recorded draws pages and checks what holds for every paper: nothing touches anything else, leaves
// the margins, or lacks its page number.
func recorded(t require.TestingT, pages []*page) *record {
	r := &record{}
	for i, p := range pages {
		r.page = i + 1
		require.NoError(t, p.Draw(r))
	}
	const eps = 0.01
	for i, p := range pages {
		var texts []inked
		for _, x := range r.texts {
			if x.page == i+1 {
				texts = append(texts, x)
				require.True(t, x.left >= margin-eps && x.right <= p.w-margin+eps && x.top >= margin-5 && x.bottom <= p.h-5, "%q leaves page %d", x.s, i+1)
			}
		}
		foot := fmt.Sprintf("page %d of %d · página %d de %d", i+1, len(pages), i+1, len(pages))
		require.True(t, slices.ContainsFunc(texts, func(x inked) bool { return x.s == foot }), foot)
		slices.SortFunc(texts, func(a, b inked) int { return cmp.Compare(a.top, b.top) })
		for j, a := range texts {
			for _, b := range texts[j+1:] {
				if b.top > a.bottom {
					break
				}
				if a.left < b.right-eps && b.left < a.right-eps && b.top < a.bottom-eps {
					require.Failf(t, "overlap", "%q and %q on page %d", a.s, b.s, i+1)
				}
			}
			for _, b := range r.areas {
				if b.page == i+1 && a.left < b.right-eps && b.left < a.right-eps && a.top < b.bottom-eps && b.top < a.bottom-eps {
					require.Failf(t, "overlap", "%q touches a %s on page %d", a.s, b.what, i+1)
				}
			}
		}
		for _, b := range r.areas {
			require.True(t, b.left >= 0 && b.top >= 0 && b.right <= p.w && b.bottom <= p.h, "a %s leaves page %d", b.what, i+1)
		}
	}
	return r
}

// find gives the texts that begin so.
func (r *record) find(prefix string) []inked {
	var out []inked
	for _, x := range r.texts {
		if strings.HasPrefix(x.s, prefix) {
			out = append(out, x)
		}
	}
	return out
}

// beside is the text on the same base line that ends at x; "" for none.
func (r *record) beside(a inked, x float64) string {
	for _, b := range r.texts {
		if b.page == a.page && b.y > a.y-0.01 && b.y < a.y+0.01 && b.right > x-0.01 && b.right < x+0.01 {
			return b.s
		}
	}
	return ""
}

// words is all that was printed, in order.
func (r *record) words() string {
	var all []string
	for _, x := range r.texts {
		all = append(all, x.s)
	}
	return strings.Join(all, " ")
}

func drawn(t *testing.T, paper printed, size Paper) (*record, int) {
	t.Helper()
	pages, err := paper.pages(size)
	require.NoError(t, err)
	return recorded(t, pages), len(pages)
}
