package rest

import (
	"context"
	"errors"
	"net/http"
	"time"

	"tagd/api"
	"tagd/internal/tags/symbol"
	"tagd/internal/web"
)

// photoTime is how long a person waits for what a photo says.
const photoTime = 20 * time.Second

func (a *ops) photos() {
	register(a, http.MethodPost, "/scans/photo", "read-photo", "Read the tags in a photo", a.readPhoto, group("scans"),
		about("PNG or JPEG, 32 MB at most. Nothing is recorded: what was read is given as the code of a scan. Finding nothing is an answer."))
	a.uploads("/scans/photo", "photo", nil, "image/png", "image/jpeg")
}

type photoIn struct {
	Deep bool `query:"deep" doc:"Look up to ten times as long: for a picture that cannot be had again."`
	Upload
}

func (a *ops) readPhoto(ctx context.Context, in *photoIn) (*answer[api.Photo], error) {
	_, photo, err := in.read("photo", symbol.MaxPhoto)
	if err != nil {
		return nil, err
	}
	effort := symbol.Quick
	if in.Deep {
		effort = symbol.Deep
	}
	ctx, cancel := context.WithTimeout(ctx, photoTime)
	defer cancel()
	found, err := a.photo.Read(ctx, photo, effort)
	switch {
	case errors.Is(err, symbol.ErrTooLarge):
		return nil, web.Refuse("too-large", "The photo was not read: "+err.Error()+".", "Send a smaller one.")
	case errors.Is(err, symbol.ErrNotPhoto):
		return nil, web.Refuse("invalid", "The photo was not read: "+err.Error()+".", "Send a PNG or JPEG.", web.Field{Location: "body.photo", Message: err.Error()})
	case err != nil:
		return nil, err
	}
	out := api.Photo{Found: []api.PhotoTag{}}
	for _, f := range found {
		out.Found = append(out.Found, api.PhotoTag{Code: f.Text, Symbology: f.Symbology, Number: f.Number.String()})
	}
	return &answer[api.Photo]{out}, nil
}
