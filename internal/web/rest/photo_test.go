package rest_test

import (
	"bytes"
	"mime/multipart"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/api"
)

// A picture of a tag says the tag, bare or as a form; what is no picture is refused, and finding
// nothing is an answer.
func TestPhoto(t *testing.T) {
	s := openShop(t)
	place, err := s.Place(s.ctx, api.MakePlace{Name: "A-14"})
	require.NoError(t, err)
	picture, err := s.Tag(s.ctx, place.Place.Number, "png", 203, "")
	require.NoError(t, err)
	got, err := s.ReadPhoto(s.ctx, picture, false)
	require.NoError(t, err)
	require.Len(t, got.Found, 1)
	require.Equal(t, place.Place.Number, got.Found[0].Number)
	require.Equal(t, "accepted: place opened", verdict(s.at("Y1", got.Found[0].Code)))

	var form bytes.Buffer
	w := multipart.NewWriter(&form)
	f, err := w.CreateFormFile("photo", "tag.png")
	require.NoError(t, err)
	_, err = f.Write(picture)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	status, _, body := s.ask("POST", "/api/v1/scans/photo", w.FormDataContentType(), form.String())
	require.Equal(t, 200, status, body)
	require.Contains(t, body, place.Place.Number)

	for name, tt := range map[string]struct {
		data   []byte
		status int
	}{
		"text":      {[]byte("no picture"), 422},
		"half":      {picture[:len(picture)/2], 422},
		"nothing":   {nil, 422},
		"too large": {append(picture, make([]byte, 33<<20)...), 413},
	} {
		t.Run(name, func(t *testing.T) {
			status, kind, body := s.ask("POST", "/api/v1/scans/photo", "image/png", string(tt.data))
			require.Equal(t, []any{tt.status, "application/problem+json"}, []any{status, kind}, body)
		})
	}
}
