package pages

import (
	"context"
	"errors"
	"io"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
	"tagd/internal/web"
)

// photoTime is how long a person waits for what a photo says.
const photoTime = 20 * time.Second

// snap takes a photo of a tag as a scan of it: for a phone without scanner, whose browser gives no camera to
// pages that come by plain HTTP.
func (p *pages) snap(c echo.Context) error {
	lang := language(c)
	part, err := c.FormFile("photo")
	if errors.Is(err, http.ErrMissingFile) {
		return web.Refuse("invalid", p.word(lang, "photo none"), p.word(lang, "photo again"))
	}
	if err != nil {
		return brokenForm(err)
	}
	file, err := part.Open()
	if err != nil {
		return err
	}
	defer file.Close()
	photo, err := io.ReadAll(file)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(c.Request().Context(), photoTime)
	defer cancel()
	found, err := p.photo.Read(ctx, photo, symbol.Quick)
	if err != nil && !errors.Is(err, symbol.ErrTooLarge) && !errors.Is(err, symbol.ErrNotPhoto) {
		return err
	}
	code, several := oneTag(found)
	switch {
	case several:
		return web.Refuse("invalid", p.word(lang, "photo several"), p.word(lang, "photo again"))
	case code == "":
		return web.Refuse("invalid", p.word(lang, "photo none"), p.word(lang, "photo again"))
	}
	c.Request().Form.Set("code", code)
	return p.scan(c)
}

// oneTag is the text of the one tag in a photo. Its two symbols say the same number, and its QR says more.
func oneTag(found []symbol.Found) (code string, several bool) {
	var of tags.Number
	for _, f := range found {
		if f.Number == 0 {
			continue
		}
		if of != 0 && f.Number != of {
			return "", true
		}
		of = f.Number
		if len(f.Text) > len(code) {
			code = f.Text
		}
	}
	if of == 0 && len(found) == 1 {
		return found[0].Text, false
	}
	return code, of == 0 && len(found) > 1
}
