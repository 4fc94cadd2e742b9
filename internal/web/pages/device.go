package pages

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"github.com/labstack/echo/v4"

	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
	"tagd/internal/web"
)

// devicePage is where a device is set up: what its scanner types, how large a finger's width is on its screen,
// what it is called, and what its browser can do.
type devicePage struct {
	Name    string
	Lines   modules // the test as Code 128
	Square  modules // and as QR
	Sizes   []cardSize
	Typed   string
	Test    *tags.Typed
	Ended   string // the key that ended the scan, where script saw it
	Verdict string
}

func (d devicePage) verdict() string { return d.Verdict }

// modules is a symbol to draw, with its quiet zones: a path in a box of W by H modules.
type modules struct {
	W, H int
	Path string
}

// The ID-1 card of ISO/IEC 7810, which banks give out, is 85.60 mm by 53.98 mm; its short side also fits across
// a phone.
const cardSide = 53.98 // mm

// cardSize is one of the sizes that a device may have measured: so many pixels are 15 mm, and so many a card.
type cardSize struct {
	Target string
	Card   int
	Chosen bool
}

// targets are the sizes in pixels of what is pressed that a device may choose: 15 mm, in steps of 8.
var targets = []string{"48", "56", "64", "72", "80", "88", "96", "104", "112", "120"}

// theTest is the symbols of the scanner's test, which are always the same.
var theTest = sync.OnceValue(func() (d devicePage) {
	bars, err := symbol.Text128(tags.TestText)
	if err != nil {
		panic(err) // the text is ours
	}
	square, err := symbol.QR(tags.TestText, symbol.LevelM)
	if err != nil {
		panic(err)
	}
	const height = 60
	d.Lines = modules{len(bars) + 2*symbol.QuietCode128, height, dark(len(bars), 1, symbol.QuietCode128, 4, height-8, func(x, _ int) bool { return bars[x] })}
	side := square.Size() + 2*symbol.QuietQR
	d.Square = modules{side, side, dark(square.Size(), square.Size(), symbol.QuietQR, symbol.QuietQR, 1, square.Dark)}
	return d
})

// dark is the path of a symbol's dark modules, those side by side as one, from left and top on.
func dark(columns, rows, left, top, height int, is func(x, y int) bool) string {
	var b strings.Builder
	for y := range rows {
		for x := 0; x < columns; x++ {
			from := x
			for x < columns && is(x, y) {
				x++
			}
			if x > from {
				fmt.Fprintf(&b, "M%d %dh%dv%dh%dz", left+from, top+y, x-from, height, from-x)
			}
		}
	}
	return b.String()
}

func (p *pages) devicePage(c echo.Context) error { return p.showDevice(c, theTest()) }

func (p *pages) showDevice(c echo.Context, d devicePage) error {
	d.Name = device(c)
	chosen := pressed(c)
	for _, t := range targets {
		px, _ := strconv.ParseFloat(t, 64)
		d.Sizes = append(d.Sizes, cardSize{Target: t, Card: int(px*cardSide/15 + .5), Chosen: t == chosen})
	}
	if d.Verdict == "" {
		d.Verdict = "ready"
	}
	return p.renderIn(c, onFloor, "device.html", p.word(language(c), "this device"), nil, d)
}

// tryScanner tells what the scanner typed for the test.
func (p *pages) tryScanner(c echo.Context) error {
	d := theTest()
	d.Typed, d.Ended = c.FormValue("code"), c.FormValue("end")
	if d.Typed == "" {
		return p.showDevice(c, d)
	}
	test := tags.ReadTest(d.Typed)
	d.Test, d.Verdict = &test, "check"
	switch {
	case !test.Known:
		d.Verdict = "refused"
	case test.Layout == "" && !test.Caps:
		d.Verdict = "accepted"
	}
	return p.showDevice(c, d)
}

// setDevice keeps the name of a device, or the size that it measured.
func (p *pages) setDevice(c echo.Context) error {
	if size := c.FormValue("target"); size != "" {
		for _, t := range targets {
			if t == size {
				keep(c, "target", t)
			}
		}
	}
	if name := strings.Join(strings.Fields(c.FormValue("name")), "-"); name != "" && name != device(c) {
		renamed, err := deviceName(name, device(c))
		if err != nil {
			return err
		}
		keep(c, "device", renamed)
	}
	return c.Redirect(http.StatusSeeOther, "/device")
}

// mostDevice is the most characters of the name that a person gives a device.
const mostDevice = 24

// deviceName is the name that a person gave a device, with the end of the one that it had from the beginning: two
// devices of one name would share their open load.
func deviceName(name, was string) (string, error) {
	for _, r := range name {
		if (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '-' && r != '.' {
			return "", web.Refuse("invalid", "The device was not renamed: "+strconv.Quote(string(r))+" cannot stand in its name.",
				"Use letters without accents, digits and blanks.", web.Field{Location: "name", Message: "letters without accents, digits and blanks"})
		}
	}
	if len(name) > mostDevice {
		return "", web.Refuse("invalid", fmt.Sprintf("The device was not renamed: its name may have %d characters.", mostDevice),
			"Use a shorter one.", web.Field{Location: "name", Message: "too long"})
	}
	end := was[max(0, len(was)-6):]
	return strings.TrimSuffix(name, "-"+end) + "-" + end, nil
}
