package label

import (
	"image"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestVerify(t *testing.T) {
	all := samples(t)
	for _, name := range []string{"bent", "mixed", "stock", "place"} {
		l := all[name]
		for _, dpi := range [...]int{203, 300} {
			img, err := Bitmap(l, dpi)
			require.NoError(t, err)
			require.NoError(t, Verify(img, l), "%s at %d dpi", name, dpi)
		}
	}
}

func TestVerifyFindsWhatIsWrong(t *testing.T) {
	b := bundleOf(43)
	img, err := Bitmap(b, 203)
	require.NoError(t, err)
	require.ErrorContains(t, Verify(img, bundleOf(44)), bundleOf(44).Number.Digits())

	// A black bar over the middle of the QR code leaves the bar codes.
	spoilt := &image.Paletted{Pix: append([]uint8(nil), img.Pix...), Stride: img.Stride, Rect: img.Rect, Palette: img.Palette}
	for y := 250; y < 400; y++ {
		for x := 470; x < 770; x++ {
			spoilt.SetColorIndex(x, y, 1)
		}
	}
	require.ErrorContains(t, Verify(spoilt, b), "HTTPS://TAGS.EXAMPLE")
}
