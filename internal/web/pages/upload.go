package pages

import (
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
)

// mostOnPage is the most bytes of a file that goes to and fro within a page.
const mostOnPage = 8 << 20

// sent is the file of a form: sent with it, or brought again by the page as text, in base64. Missing says
// what to do when there is none, and command takes one that is too large for a page.
func sent(c echo.Context, missing, command string) (name, text string, data []byte, err error) {
	if text = c.FormValue("data"); text != "" {
		data, err = base64.StdEncoding.DecodeString(text)
		if err != nil {
			err = &event.Refusal{Field: "file", Says: "did not come back as it was sent; choose it again"}
		}
		return c.FormValue("name"), text, data, err
	}
	h, err := c.FormFile("file")
	if errors.Is(err, http.ErrMissingFile) || errors.Is(err, http.ErrNotMultipart) {
		return "", "", nil, &event.Refusal{Field: "file", Says: "is missing; " + missing}
	}
	if err != nil {
		return "", "", nil, brokenForm(err)
	}
	if h.Size > mostOnPage {
		return h.Filename, "", nil, &event.Refusal{Field: "file", Says: fmt.Sprintf("is larger than the %d MB that a page takes; take it with the command: %s", mostOnPage>>20, command)}
	}
	from, err := h.Open()
	if err != nil {
		return "", "", nil, err
	}
	defer from.Close()
	data, err = io.ReadAll(from)
	return h.Filename, base64.StdEncoding.EncodeToString(data), data, err
}
