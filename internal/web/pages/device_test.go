package pages_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"tagd/internal/bar"
	"tagd/internal/barlist"
	"tagd/internal/tags"
	"tagd/internal/tags/symbol"
)

// TestDevice: without script a device learns what spoils its scans, how large its keys are, and its name.
func TestDevice(t *testing.T) {
	b, _ := open(t)
	require.Equal(t, 200, b.get("/device"))
	b.sees("This device", "Scan one of the symbols", `data-answer="ready"`)
	was := b.cookies["device"].Value

	for _, tt := range []struct {
		typed string
		sees  []string
	}{
		{"]C0" + tags.TestText, []string{`data-answer="accepted"`, "The scanner types what stands there", "]C0"}},
		{"TAGDÖZY-AQßWM.$%(1234567890", []string{`data-answer="check"`, "German keyboard", "Set the scanner to this country"}},
		{"tagd:yz/aq-wm.$%*1234567890", []string{`data-answer="check"`, "Caps Lock is on"}},
		{"<b>10010000004205", []string{`data-answer="refused"`, "not what the symbols say", "&lt;b&gt;10010000004205"}},
	} {
		require.Equal(t, 200, b.send("/device/scanner", fields("code", tt.typed)))
		b.sees(tt.sees...)
	}
	require.Equal(t, 200, b.send("/device/scanner", fields("code", tags.TestText, "end", "Tab")))
	b.sees("set the scanner to end with Enter")
	b.lang = "es"
	require.Equal(t, 200, b.send("/device/scanner", fields("code", "TAGDÑYZ-AQ'WM.$%(1234567890")))
	b.sees("teclado español")
	b.lang = "en"

	require.Equal(t, 303, b.send("/device", fields("target", "88")))
	require.Equal(t, 200, b.get("/at/S1"))
	b.sees(`data-target="88"`)
	require.Equal(t, 303, b.send("/device", fields("target", "89")))
	require.Equal(t, 303, b.send("/device", fields("name", "Tablet 3")))
	require.Equal(t, 200, b.get("/device"))
	end := was[len(was)-6:]
	b.sees(`data-target="88"`, `value="Tablet-3-`+end+`"`)
	require.Equal(t, 303, b.send("/device", fields("name", "Tablet-4-"+end)))
	require.Equal(t, "Tablet-4-"+end, b.cookies["device"].Value, "its end stays one end")
	require.Equal(t, 422, b.send("/device", fields("name", "Tablet;4")))
	b.sees("cannot stand in its name")
	require.Equal(t, 422, b.send("/device", fields("name", "a tablet with a very long name")))
}

// fields are the fields of a form without a key, name and value in turn.
func fields(of ...string) url.Values {
	form := url.Values{}
	for i := 0; i < len(of); i += 2 {
		form.Add(of[i], of[i+1])
	}
	return form
}

// A photo of a tag is a scan of it, with no script and over plain HTTP.
func TestPhotoOfATag(t *testing.T) {
	b, f := open(t)
	take(t, f, barlist.Line{Mark: "4F207", Length: 14 * bar.Foot, Pieces: 20})
	snap := func(photo []byte) int {
		require.Equal(t, 200, b.get("/at/S1"))
		var body bytes.Buffer
		w := multipart.NewWriter(&body)
		require.NoError(t, w.WriteField("key", b.key()))
		part, err := w.CreateFormFile("photo", "tag.png")
		require.NoError(t, err)
		_, err = part.Write(photo)
		require.NoError(t, err)
		require.NoError(t, w.Close())
		r := httptest.NewRequest("POST", "/at/S1/photo", &body)
		r.Header.Set("Content-Type", w.FormDataContentType())
		return b.do(r)
	}
	require.Equal(t, 200, snap(picture(t, "HTTPS://TAGS.EXAMPLE/T/10010000000131/C1/M4F207")))
	b.sees("Cut this next", "Scan the tag again when all 20 are cut")
	require.Equal(t, 422, snap(picture(t, "")))
	b.sees("No tag could be read")
	require.Equal(t, 422, snap([]byte("no picture")))
}

// picture is a PNG with one QR code, or none.
func picture(t *testing.T, text string) []byte {
	const zoom = 8
	img := image.NewGray(image.Rect(0, 0, 480, 480))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	if text != "" {
		m, err := symbol.QR(text, symbol.LevelM)
		require.NoError(t, err)
		for y := range m.Size() * zoom {
			for x := range m.Size() * zoom {
				if m.Dark(x/zoom, y/zoom) {
					img.SetGray(x+80, y+80, color.Gray{})
				}
			}
		}
	}
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, img))
	return out.Bytes()
}
