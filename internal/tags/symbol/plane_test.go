package symbol

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every kind of picture gives the light that the colour model's own conversion gives, on white where
// it is transparent.
func TestPlaneOf(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	b := image.Rect(3, 5, 3+17, 5+11)
	palette := color.Palette{color.White, color.Black, color.NRGBA{200, 30, 90, 255}, color.NRGBA{0, 0, 0, 100}}
	pictures := map[string]interface {
		image.Image
		Set(x, y int, c color.Color)
	}{
		"gray": image.NewGray(b), "gray 16": image.NewGray16(b), "rgba": image.NewRGBA(b), "nrgba": image.NewNRGBA(b),
		"nrgba 64": image.NewNRGBA64(b), "paletted": image.NewPaletted(b, palette), "cmyk": image.NewCMYK(b),
	}
	for name, img := range pictures {
		for y := b.Min.Y; y < b.Max.Y; y++ {
			for x := b.Min.X; x < b.Max.X; x++ {
				img.Set(x, y, color.NRGBA{byte(r.IntN(256)), byte(r.IntN(256)), byte(r.IntN(256)), byte(r.IntN(256))})
			}
		}
		p := planeOf(img)
		require.Equal(t, [2]int{17, 11}, [2]int{p.w, p.h}, name)
		for y := range p.h {
			for x := range p.w {
				red, green, blue, alpha := img.At(b.Min.X+x, b.Min.Y+y).RGBA()
				want := (0.299*float64(red) + 0.587*float64(green) + 0.114*float64(blue) + 65535 - float64(alpha)) / 257
				require.InDelta(t, want, p.pix[y*p.w+x], 1.6, name)
			}
		}
	}
}

// The luma of a JPEG is 12 MB that are not copied.
func TestPlaneLiesInPlace(t *testing.T) {
	whole := image.NewYCbCr(image.Rect(0, 0, 64, 48), image.YCbCrSubsampleRatio420)
	cut := whole.SubImage(image.Rect(0, 0, 50, 41)).(*image.YCbCr)
	p := planeOf(cut)
	require.Equal(t, [2]int{64, 41}, [2]int{p.w, p.h}, "with the decoder's padding")
	require.Same(t, &whole.Y[0], &p.pix[0])
	gray := image.NewGray(image.Rect(0, 0, 9, 9))
	require.Same(t, &gray.Pix[0], &planeOf(gray).pix[0])
	// A part of a picture is its own plane only.
	part := planeOf(gray.SubImage(image.Rect(2, 3, 5, 9)))
	require.Equal(t, [2]int{3, 6}, [2]int{part.w, part.h})
}

func slope(w, h int, a, b float64) plane {
	p := newPlane(w, h)
	for y := range h {
		for x := range w {
			p.pix[y*w+x] = byte(math.Round(a*float64(x) + b*float64(y) + 20))
		}
	}
	return p
}

// A slope of light stays the same slope when it is made smaller, larger, or smooth.
func TestResizing(t *testing.T) {
	p := slope(90, 60, 1, 2)
	for name, q := range map[string]plane{
		"half": p.half(), "within": p.within(40), "scaled": p.scaled(0.3), "resize": p.resize(61, 33), "up": p.scaled(2),
		"cut": p.cut(0, 0, 90, 60, 77), "smooth": p.smooth(),
	} {
		sx, sy := float64(p.w)/float64(q.w), float64(p.h)/float64(q.h)
		for y := 1; y < q.h-1; y++ {
			for x := 1; x < q.w-1; x++ {
				want := (float64(x)+0.5)*sx - 0.5 + 2*((float64(y)+0.5)*sy-0.5) + 20
				require.InDelta(t, want, q.pix[y*q.w+x], 3.5, "%s at %d, %d", name, x, y)
			}
		}
	}
	require.Equal(t, 40, max(p.within(40).w, p.within(40).h))
	for _, tiny := range []plane{newPlane(1, 1), newPlane(1, 9), newPlane(2, 2), newPlane(9, 1)} {
		for _, q := range []plane{tiny.half(), tiny.within(1), tiny.scaled(0.1), tiny.scaled(3), tiny.smooth(), tiny.sharpen(3, 8), tiny.stretch(32), tiny.squeeze(0.3, 0.6), tiny.bend(0.2, true), tiny.cut(-2, -2, 5, 5, 30)} {
			require.Len(t, q.pix, q.w*q.h)
		}
		require.Empty(t, grainOf(tiny).stripes(closeBy))
		require.Empty(t, grainOf(tiny).textures())
	}
}

func TestStretch(t *testing.T) {
	p := newPlane(128, 128)
	for i := range p.pix {
		p.pix[i] = byte(100 + i%2*40)
	}
	q := p.stretch(32)
	require.Equal(t, []byte{0, 255}, q.pix[:2])
	for i := range p.pix {
		p.pix[i] = byte(100 + i%2*4)
	}
	require.Less(t, int(p.stretch(32).pix[1])-int(p.stretch(32).pix[0]), 80, "noise is not made contrast")
}

// Sharpening a step makes its two sides differ more and leaves flat parts as they are.
func TestSharpen(t *testing.T) {
	p := newPlane(40, 40)
	for i := range p.pix {
		p.pix[i] = 100
		if i%40 >= 20 {
			p.pix[i] = 150
		}
	}
	q := p.sharpen(3, 8)
	row := q.pix[20*40:][:40]
	require.Equal(t, byte(100), row[5])
	require.Equal(t, byte(150), row[35])
	require.Less(t, row[19], byte(90))
	require.Greater(t, row[20], byte(160))
}

// Stripes are found where they are, with their direction and size.
func TestStripes(t *testing.T) {
	for _, degrees := range []float64{0, 20, 45, 90, 130, 179} {
		p := newPlane(400, 300)
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		for y := range p.h {
			for x := range p.w {
				u, v := (float64(x)-220)*cos+(float64(y)-160)*sin, (float64(y)-160)*cos-(float64(x)-220)*sin
				p.pix[y*p.w+x] = 200
				if math.Abs(u) < 100 && math.Abs(v) < 30 && math.Sin(u) > 0 {
					p.pix[y*p.w+x] = 40
				}
			}
		}
		areas := grainOf(p).stripes(closeBy)
		require.NotEmpty(t, areas, degrees)
		a := areas[0]
		require.InDelta(t, 220, a.x, 8)
		require.InDelta(t, 160, a.y, 8)
		off := math.Mod(a.axis*180/math.Pi-degrees+900, 180)
		require.Less(t, min(off, 180-off), 3.0, "axis %v for %v", a.axis*180/math.Pi, degrees)
		require.InDelta(t, 100, a.length, 14)
		require.InDelta(t, 30, a.width, 14)
	}
}

// A QR code is the busiest area of its picture.
func TestTextures(t *testing.T) {
	_, text := invented(t, 3)
	m, err := QR(text, LevelQ)
	require.NoError(t, err)
	p := newPlane(600, 500)
	for i := range p.pix {
		p.pix[i] = 220
	}
	at := image.Rect(300, 200, 300+m.Size()*4, 200+m.Size()*4)
	for y := at.Min.Y; y < at.Max.Y; y++ {
		for x := at.Min.X; x < at.Max.X; x++ {
			if m.Dark((x-at.Min.X)/4, (y-at.Min.Y)/4) {
				p.pix[y*p.w+x] = 20
			}
		}
	}
	boxes := grainOf(p).textures()
	require.NotEmpty(t, boxes)
	require.True(t, boxes[0].In(at.Inset(-2*block)), "%v of %v", boxes[0], at)
	require.Greater(t, boxes[0].Dx(), at.Dx()*2/3)
}
