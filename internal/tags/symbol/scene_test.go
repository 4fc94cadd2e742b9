package symbol

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/basicfont"
	"golang.org/x/image/math/fixed"

	"tagd/internal/tags"
)

// The photos of these tests are made: a bundle tag of 4 by 6 inches with a Code 128 along its foot
// (X 0.75 mm), a second one up its side (X 0.5 mm) and a QR code (module 0.88 mm), hung before
// bundled bars, and pictured with all that goes wrong in a shop. They are no measure of a printed
// tag's grade, only of one reader against another.

const (
	tagW, tagH = 101.6, 152.4 // mm
	tagPPM     = 8            // pixels of the drawn tag to a millimetre
)

// invented is what the n-th made tag says.
func invented(t testing.TB, n int) (digits, text string) {
	number, err := tags.New(tags.Bundle, 1+n%7, 1000+37*n)
	require.NoError(t, err)
	text, err = tags.Format("TAGS.EXAMPLE", tags.Tag{Number: number, Copy: 1, Job: fmt.Sprintf("24-%03d", n), List: "3", Mark: fmt.Sprintf("B%d", 1200+n), Size: "#5", Count: 40 + n, Heats: []string{fmt.Sprintf("H%05d", 777*n)}})
	require.NoError(t, err)
	return number.Digits(), text
}

// drawTag draws a tag, dark on white.
func drawTag(t testing.TB, digits, text string) plane {
	bars, err := Code128(digits)
	require.NoError(t, err)
	qr, err := QR(text, LevelQ)
	require.NoError(t, err)
	ppm := float64(tagPPM)
	p := newPlane(int(tagW*ppm), int(tagH*ppm))
	for i := range p.pix {
		p.pix[i] = 255
	}
	rect := func(x, y, w, h float64) {
		for py := max(0, int(y*ppm)); py < min(p.h, int((y+h)*ppm)); py++ {
			for px := max(0, int(x*ppm)); px < min(p.w, int((x+w)*ppm)); px++ {
				p.pix[py*p.w+px] = 0
			}
		}
	}
	write := func(x, y, height float64, s string) {
		face := basicfont.Face7x13
		img := image.NewGray(image.Rect(0, 0, 7*len(s), 13))
		d := font.Drawer{Dst: img, Src: image.White, Face: face, Dot: fixed.P(0, 11)}
		d.DrawString(s)
		unit := height / 9
		for py := range 13 {
			for px := range 7 * len(s) {
				if img.GrayAt(px, py).Y > 128 {
					rect(x+float64(px)*unit, y+float64(py)*unit, unit+0.5/ppm, unit+0.5/ppm)
				}
			}
		}
	}
	const picket, ladder, module = 0.75, 0.5, 0.875
	for i, dark := range bars {
		if dark {
			rect((tagW-112*picket)/2+float64(i)*picket, tagH-21.8, picket, 12.8)
			rect(4, 15.9+12*ladder+float64(111-i)*ladder, 7.5, ladder)
		}
	}
	n := float64(qr.Size())
	for y := range qr.Size() {
		for x := range qr.Size() {
			if qr.Dark(x, y) {
				rect(tagW-47.6+(46.6-n*module)/2+float64(x)*module, 16.8+(46.6-n*module)/2+float64(y)*module, module, module)
			}
		}
	}
	rect(4, 15.5, tagW-8, 0.25)
	write(4, 5, 4, digits)
	write(14, 20, 9, "B1204")
	write(14, 37, 15, "40")
	write(14, 55, 9, "#5 60")
	write(14, 70, 9, "14'-10\"")
	write(16, 90, 14, "|____|")
	write(6, 112, 5, "24-118 INVENTED JOB")
	write(6, 121, 3, "SHIP TO NOWHERE 7")
	write(4, tagH-6, 4, digits)
	return p
}

// shot is how a photo is taken.
type shot struct {
	name         string
	w, h         int
	scale        float64 // pixels to a millimetre of tag, in the middle
	turn         float64 // degrees
	tiltX, tiltY float64 // degrees away from square on
	aimX, aimY   float64 // point of the tag in the middle of the photo, in mm from the tag's middle
	curl         float64 // radius in mm of the bundle it is wrapped round; 0 flat
	blur, motion float64 // standard deviation, and length, in pixels
	light        float64 // share of full light
	shade        float64 // how much darker one side is
	glare        float64 // strength of a bright spot
	noise        float64 // standard deviation
	quality      int     // of the JPEG
}

// shots are the kinds of photos, each drawn anew for every seed.
var shots = []func(r *rand.Rand) shot{
	func(r *rand.Rand) shot { return plain(r, "plain") },
	func(r *rand.Rand) shot { s := plain(r, "turned"); s.turn = r.Float64() * 360; s.scale = 3.4; return s },
	func(r *rand.Rand) shot { s := plain(r, "on its side"); s.turn = 90 + r.Float64()*6 - 3; return s },
	func(r *rand.Rand) shot {
		s := plain(r, "small")
		s.scale, s.turn = 1.8+r.Float64()*0.5, r.Float64()*40-20
		return s
	},
	func(r *rand.Rand) shot { s := plain(r, "near"); s.w, s.h, s.scale = 1600, 1200, 7; return s },
	func(r *rand.Rand) shot {
		s := plain(r, "perspective")
		s.tiltX, s.tiltY, s.turn, s.scale = r.Float64()*110-55, r.Float64()*110-55, r.Float64()*30-15, 4
		return s
	},
	func(r *rand.Rand) shot { s := plain(r, "blur"); s.blur = 1.5 + r.Float64()*0.8; return s },
	func(r *rand.Rand) shot { s := plain(r, "moved"); s.motion = 5 + r.Float64()*5; return s },
	func(r *rand.Rand) shot {
		s := plain(r, "low light")
		s.light, s.noise, s.turn = 0.06+r.Float64()*0.06, 5, r.Float64()*30-15
		return s
	},
	func(r *rand.Rand) shot { s := plain(r, "noise"); s.noise = 25 + r.Float64()*25; return s },
	func(r *rand.Rand) shot { s := plain(r, "shade"); s.shade, s.light = 1, 0.5; return s },
	func(r *rand.Rand) shot { s := plain(r, "glare"); s.glare = 2; return s },
	func(r *rand.Rand) shot {
		s := plain(r, "far")
		s.w, s.h, s.scale = 2000, 1500, 1.8+r.Float64()*0.6
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "far low")
		s.w, s.h, s.scale, s.light, s.noise = 2000, 1500, 2.4, 0.2, 5
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "slant")
		a := 50 + r.Float64()*14
		b := r.Float64() * 2 * math.Pi
		s.tiltX, s.tiltY, s.turn, s.scale = a*math.Cos(b), a*math.Sin(b), r.Float64()*90-45, 4
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "mixed")
		s.turn, s.scale, s.blur, s.noise, s.light, s.shade = r.Float64()*360, 3, 1.1, 8, 0.3, 0.6
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "close to QR")
		s.w, s.h, s.scale, s.aimX, s.aimY, s.blur = 1600, 1200, 16+r.Float64()*8, 26, -36, 1+r.Float64()*2
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "close to bars")
		s.w, s.h, s.scale, s.aimX, s.aimY, s.blur = 1600, 1200, 12+r.Float64()*4, 0, 60, 1+r.Float64()*3
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "curled upright")
		s.curl, s.turn = 48+r.Float64()*24, 90+r.Float64()*10-5
		return s
	},
	func(r *rand.Rand) shot {
		s := plain(r, "curled the other way")
		s.curl, s.turn = 48+r.Float64()*24, 180+r.Float64()*10-5
		return s
	},
	func(r *rand.Rand) shot { s := plain(r, "curled"); s.curl = 48 + r.Float64()*24; return s },
}

func plain(r *rand.Rand, name string) shot {
	return shot{name: name, w: 1024, h: 768, scale: 3.8 + r.Float64(), turn: r.Float64()*10 - 5, tiltX: r.Float64()*16 - 8, tiltY: r.Float64()*16 - 8, blur: 0.5, light: 0.85, shade: 0.2, noise: 3, quality: 75 + r.IntN(20)}
}

// take makes the photo of a tag.
func take(tag plane, s shot, r *rand.Rand) *image.Gray {
	mip, ppm := tag, float64(tagPPM)
	for ppm > 1.7*s.scale {
		mip, ppm = mip.half(), ppm/2
	}
	// Points of the tag, in mm from its middle, turn about it and are seen from far millimetres away.
	const far = 400.0
	rad := math.Pi / 180
	st, ct := math.Sincos(s.turn * rad)
	sx, cx := math.Sincos(s.tiltX * rad)
	sy, cy := math.Sincos(s.tiltY * rad)
	// Rows of the turning matrix Ry Rx Rz, without its third column (the tag is flat).
	m := [3][2]float64{
		{cy*ct + sy*sx*st, -cy*st + sy*sx*ct},
		{cx * st, cx * ct},
		{-sy*ct + cy*sx*st, sy*st + cy*sx*ct},
	}
	midX, midY := float64(s.w)/2+r.Float64()*40-20, float64(s.h)/2+r.Float64()*40-20
	barTurn, barWide, barPhase := r.Float64()*math.Pi, 18+r.Float64()*30, r.Float64()*100
	sb, cb := math.Sincos(barTurn)
	shadeTurn := r.Float64() * 2 * math.Pi
	ss, cs := math.Sincos(shadeTurn)
	gx, gy := midX+(r.Float64()-0.5)*90*s.scale, midY+(r.Float64()-0.5)*130*s.scale
	light := make([]float64, s.w*s.h)
	midX, midY = midX-s.aimX*s.scale, midY-s.aimY*s.scale
	for y := range s.h {
		for x := range s.w {
			X, Y := (float64(x)-midX)/s.scale, (float64(y)-midY)/s.scale
			// Solve X = far (m0 . p) / (far + m2 . p) and likewise Y for p = (u, v).
			a, b := far*m[0][0]-X*m[2][0], far*m[0][1]-X*m[2][1]
			c, d := far*m[1][0]-Y*m[2][0], far*m[1][1]-Y*m[2][1]
			det := a*d - b*c
			u, v := (X*far*d-b*Y*far)/det, (a*Y*far-X*far*c)/det
			dim := 1.0
			if s.curl > 0 {
				bent := u / s.curl
				if math.Abs(bent) < 0.999 {
					dim = math.Sqrt(1 - bent*bent)
					u = s.curl * math.Asin(bent)
				} else {
					u = 1e9
				}
			}
			var value float64
			if math.Abs(u) < tagW/2 && math.Abs(v) < tagH/2 {
				ink := float64(mip.between(int((u+tagW/2)*ppm*65536-32768), int((v+tagH/2)*ppm*65536-32768)))
				value = (28 + ink/255*205) * (0.4 + 0.6*dim)
			} else {
				// Round bars side by side, rusty, with ribs.
				across := (float64(x)*cb + float64(y)*sb + barPhase) / barWide
				round := across - math.Floor(across) - 0.5
				rib := 8 * math.Sin((float64(y)*cb-float64(x)*sb)/barWide*9+2*math.Floor(across))
				value = 110*math.Sqrt(1-3.6*round*round) + rib
			}
			side := (float64(x)/float64(s.w)-0.5)*cs + (float64(y)/float64(s.h)-0.5)*ss
			value *= s.light * (1 - s.shade*(0.5+side))
			if s.glare > 0 {
				dx, dy := (float64(x)-gx)/s.scale, (float64(y)-gy)/s.scale
				value += 255 * s.glare * math.Exp(-(dx*dx+dy*dy)/(2*14*14))
			}
			light[y*s.w+x] = value
		}
	}
	if s.motion > 0 {
		light = moved(light, s.w, s.h, s.motion, r.Float64()*math.Pi)
	}
	light = blurred(light, s.w, s.h, s.blur)
	img := image.NewGray(image.Rect(0, 0, s.w, s.h))
	for i, v := range light {
		img.Pix[i] = byte(min(max(v+r.NormFloat64()*s.noise+0.5, 0), 255))
	}
	return img
}

func blurred(v []float64, w, h int, sigma float64) []float64 {
	n := int(3*sigma) + 1
	kernel, sum := make([]float64, 2*n+1), 0.0
	for i := range kernel {
		d := float64(i - n)
		kernel[i] = math.Exp(-d * d / (2 * sigma * sigma))
		sum += kernel[i]
	}
	pass := func(from []float64, step, count, lines, lineStep int) []float64 {
		to := make([]float64, len(from))
		for l := range lines {
			for i := range count {
				s := 0.0
				for k, weight := range kernel {
					j := min(max(i+k-n, 0), count-1)
					s += weight * from[l*lineStep+j*step]
				}
				to[l*lineStep+i*step] = s / sum
			}
		}
		return to
	}
	return pass(pass(v, 1, w, h, w), w, h, w, 1)
}

func moved(v []float64, w, h int, length, angle float64) []float64 {
	to := make([]float64, len(v))
	sin, cos := math.Sincos(angle)
	const steps = 8
	for k := range steps {
		d := (float64(k)/(steps-1) - 0.5) * length
		dx, dy := int(math.Round(d*cos)), int(math.Round(d*sin))
		for y := range h {
			for x := range w {
				to[y*w+x] += v[min(max(y+dy, 0), h-1)*w+min(max(x+dx, 0), w-1)] / steps
			}
		}
	}
	return to
}

// asJPEG packs a picture as a colour JPEG, as a phone makes it.
func asJPEG(t testing.TB, img *image.Gray, quality int) []byte {
	b := img.Bounds()
	c := image.NewYCbCr(b, image.YCbCrSubsampleRatio420)
	for y := range b.Dy() {
		copy(c.Y[y*c.YStride:][:b.Dx()], img.Pix[y*img.Stride:][:b.Dx()])
	}
	for i := range c.Cb {
		c.Cb[i], c.Cr[i] = 128, 128
	}
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, c, &jpeg.Options{Quality: quality}))
	return out.Bytes()
}
