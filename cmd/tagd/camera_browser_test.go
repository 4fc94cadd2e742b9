package main

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
	xdraw "golang.org/x/image/draw"
)

// film is what a camera sees of a tag that hangs before it, as a film of one picture: the film of a browser's
// camera is JPEG after JPEG.
func film(t *testing.T, tag []byte) []byte {
	t.Helper()
	picture, err := png.Decode(bytes.NewReader(tag))
	require.NoError(t, err)
	scene := image.NewRGBA(image.Rect(0, 0, 1280, 720))
	draw.Draw(scene, scene.Bounds(), image.NewUniform(color.Gray{Y: 0xB0}), image.Point{}, draw.Src)
	of := picture.Bounds()
	high := 640
	wide := of.Dx() * high / of.Dy()
	if wide > 1200 {
		wide, high = 1200, of.Dy()*1200/of.Dx()
	}
	xdraw.CatmullRom.Scale(scene, image.Rect(640-wide/2, 360-high/2, 640+wide/2, 360+high/2), picture, of, draw.Over, nil)
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, scene, &jpeg.Options{Quality: 90}))
	return bytes.Repeat(b.Bytes(), 30)
}

// TestTheCameraReadsATag: a tag that hangs before the device's camera is read, and scanned as a scanner would.
func TestTheCameraReadsATag(t *testing.T) {
	chromium(t)
	sh, d := morningOf(t, "camera")
	tag, err := d.c.Tag(d.ctx, d.numbers["S401"], "png", 203, "")
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(camera(), film(t, tag), 0o644))
	b := newTab(t, sh.url)
	b.open("/at/Y1")
	b.until(`document.querySelector('#camera')`)
	require.Equal(t, "accepted", b.answered(func() { ask[bool](b, `(document.querySelector('#camera').click(), true)`) }))
	require.Contains(t, ask[string](b, `document.querySelector('main#work').innerText`), "S401")
	require.Empty(t, b.complaints())
}
