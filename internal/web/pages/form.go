package pages

import (
	"errors"
	"net/http"
	"time"

	"github.com/labstack/echo/v4"

	"tagd/internal/event"
	"tagd/internal/floor"
	"tagd/internal/web"
)

// origin is who sends a form, and what it asks for. The key stands for the form, not for the moment: the same
// form sent again is the same deed.
func origin(c echo.Context, deed string) (floor.Origin, error) {
	if _, err := c.FormParams(); err != nil {
		return floor.Origin{}, brokenForm(err)
	}
	form := c.Request().PostForm
	return floor.Origin{Device: device(c), Key: form.Get("key"), Happened: time.Now(), Request: deed + " " + form.Encode()}, nil
}

// brokenForm is the problem of a form that ended, or was none.
func brokenForm(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return web.Refuse("bad-request", "The form cannot be read: "+err.Error()+".", "Send it again.")
}

// refusal is what a form was not taken for, which its page shows. Another error stays one.
func refusal(err error) (says string, other error) {
	var no *event.Refusal
	if errors.As(err, &no) {
		return no.Error(), nil
	}
	return "", err
}
