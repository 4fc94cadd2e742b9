package symbol

import (
	"image"
	"image/color"
	"math"

	"github.com/makiuchi-d/gozxing"
)

// plane is a picture of light values, 0 dark to 255 light, row by row without gaps.
type plane struct {
	w, h int
	pix  []byte
}

func newPlane(w, h int) plane { return plane{w, h, make([]byte, w*h)} }

// planeOf takes the light of a picture. A gray picture and the luma of a JPEG are used where they
// lie, with the decoder's padding on the right and without a copy. Transparent parts are white.
func planeOf(img image.Image) plane {
	b := img.Bounds()
	switch img := img.(type) {
	case *image.YCbCr:
		return inPlace(img.Y[img.YOffset(b.Min.X, b.Min.Y):], img.YStride, b.Dx(), b.Dy())
	case *image.Gray:
		return inPlace(img.Pix[img.PixOffset(b.Min.X, b.Min.Y):], img.Stride, b.Dx(), b.Dy())
	}
	p := newPlane(b.Dx(), b.Dy())
	for y := range p.h {
		row := p.pix[y*p.w:][:p.w]
		if img, ok := img.(image.RGBA64Image); ok {
			for x := range row {
				row[x] = onWhite(img.RGBA64At(b.Min.X+x, b.Min.Y+y))
			}
			continue
		}
		for x := range row {
			row[x] = onWhite(color.RGBA64Model.Convert(img.At(b.Min.X+x, b.Min.Y+y)).(color.RGBA64))
		}
	}
	return p
}

// inPlace makes a plane as wide as the stride when the last row has its padding too, and a copy
// when it has not, or when most of the stride belongs to another picture.
func inPlace(pix []byte, stride, w, h int) plane {
	if len(pix) >= stride*h && stride < w+32 {
		return plane{stride, h, pix[:stride*h]}
	}
	p := newPlane(w, h)
	for y := range h {
		copy(p.pix[y*w:][:w], pix[y*stride:])
	}
	return p
}

// onWhite is the luma of ITU-R BT.601, which JPEG uses too, before a white ground.
func onWhite(c color.RGBA64) byte {
	luma := (19595*uint32(c.R) + 38470*uint32(c.G) + 7471*uint32(c.B)) >> 16
	return byte(min(luma+65535-uint32(c.A), 65535) >> 8)
}

// half is the plane at half its size, each pixel the mean of four.
func (p plane) half() plane {
	q := newPlane(max(1, p.w/2), max(1, p.h/2))
	if p.w < 2 || p.h < 2 {
		return p.resize(q.w, q.h)
	}
	for y := range q.h {
		a, b := p.pix[2*y*p.w:][:p.w], p.pix[(2*y+1)*p.w:][:p.w]
		row := q.pix[y*q.w:][:q.w]
		for x := range row {
			row[x] = byte((int(a[2*x]) + int(a[2*x+1]) + int(b[2*x]) + int(b[2*x+1]) + 2) / 4)
		}
	}
	return q
}

// within is the plane with its longer side at most most pixels long.
func (p plane) within(most int) plane {
	long := max(p.w, p.h)
	for long >= 2*most {
		p = p.half()
		long = max(p.w, p.h)
	}
	if long <= most {
		return p
	}
	return p.resize(max(1, p.w*most/long), max(1, p.h*most/long))
}

// scaled is the plane times factor: larger, or smaller without skipping pixels.
func (p plane) scaled(factor float64) plane {
	for factor <= 0.5 {
		p, factor = p.half(), 2*factor
	}
	return p.resize(max(1, int(float64(p.w)*factor)), max(1, int(float64(p.h)*factor)))
}

// resize samples w by h pixels, between neighbours as they lie; good down to half the size.
func (p plane) resize(w, h int) plane {
	sx, sy := float64(p.w)/float64(w), float64(p.h)/float64(h)
	return p.warp(w, h, sx, 0, sx/2-0.5, 0, sy, sy/2-0.5)
}

// warp makes a plane of w by h pixels of which (x, y) is the light at (a x + b y + c, d x + e y + f)
// of p, interpolated between four pixels; outside p it is white.
func (p plane) warp(w, h int, a, b, c, d, e, f float64) plane {
	const one = 1 << 16
	q := newPlane(w, h)
	for y := range h {
		row := q.pix[y*w:][:w]
		u, v := int((b*float64(y)+c)*one), int((e*float64(y)+f)*one)
		du, dv := int(a*one), int(d*one)
		for x := range row {
			row[x] = p.between(u, v)
			u, v = u+du, v+dv
		}
	}
	return q
}

// between is the light at (u, v), in 65536ths of a pixel, interpolated between four pixels. Up to a
// pixel beyond the edge the edge counts, further out it is white.
func (p plane) between(u, v int) byte {
	x, y := u>>16, v>>16
	fx, fy := u>>8&255, v>>8&255
	if uint(x) < uint(p.w-1) && uint(y) < uint(p.h-1) {
		i := y*p.w + x
		r, s := p.pix[i:i+2], p.pix[i+p.w:i+p.w+2]
		top := int(r[0])<<8 + fx*(int(r[1])-int(r[0]))
		low := int(s[0])<<8 + fx*(int(s[1])-int(s[0]))
		return byte((top<<8 + fy*(low-top) + 1<<15) >> 16)
	}
	if x < -1 || y < -1 || x > p.w || y > p.h {
		return 255
	}
	return p.pix[min(max(y, 0), p.h-1)*p.w+min(max(x, 0), p.w-1)]
}

// smooth weighs each pixel with its eight neighbours, 1 2 1 both ways.
func (p plane) smooth() plane {
	if p.w < 3 || p.h < 3 {
		return p
	}
	q := newPlane(p.w, p.h)
	sums := make([]int, p.w)
	for y := range p.h {
		above, row, below := p.pix[max(y-1, 0)*p.w:][:p.w], p.pix[y*p.w:][:p.w], p.pix[min(y+1, p.h-1)*p.w:][:p.w]
		for x := range sums {
			sums[x] = int(above[x]) + 2*int(row[x]) + int(below[x])
		}
		out := q.pix[y*p.w:][:p.w]
		out[0], out[p.w-1] = byte(sums[0]/4), byte(sums[p.w-1]/4)
		for x := 1; x < p.w-1; x++ {
			out[x] = byte((sums[x-1] + 2*sums[x] + sums[x+1] + 8) / 16)
		}
	}
	return q
}

// sharpen adds to each pixel what it differs from the mean of the square of radius r round it,
// strength 8ths of it.
func (p plane) sharpen(r, strength int) plane {
	q := newPlane(p.w, p.h)
	stride := p.w + 1
	sums := make([]int32, stride*(p.h+1))
	for y := range p.h {
		var row int32
		for x := range p.w {
			row += int32(p.pix[y*p.w+x])
			sums[(y+1)*stride+x+1] = sums[y*stride+x+1] + row
		}
	}
	for y := range p.h {
		y0, y1 := max(y-r, 0), min(y+r+1, p.h)
		for x := range p.w {
			x0, x1 := max(x-r, 0), min(x+r+1, p.w)
			sum := int(sums[y1*stride+x1] - sums[y0*stride+x1] - sums[y1*stride+x0] + sums[y0*stride+x0])
			v := int(p.pix[y*p.w+x])
			v += strength * (v - sum/((y1-y0)*(x1-x0))) / 8
			q.pix[y*p.w+x] = byte(min(max(v, 0), 255))
		}
	}
	return q
}

// squeeze makes the plane smaller by a factor in one direction only, which undoes the slant of a
// tag that was pictured from the side.
func (p plane) squeeze(angle, factor float64) plane {
	sin, cos := math.Sincos(angle)
	// The matrix that lengthens by 1/factor along the angle, from the smaller plane to p.
	k := 1/factor - 1
	a, b, d := 1+k*cos*cos, k*sin*cos, 1+k*sin*sin
	// The smaller plane must hold the corners.
	det := a*d - b*b
	ia, ib, id := d/det, -b/det, a/det
	w, h := float64(p.w), float64(p.h)
	hw := (math.Abs(ia)*w + math.Abs(ib)*h) / 2
	hh := (math.Abs(ib)*w + math.Abs(id)*h) / 2
	return p.warp(int(2*hw), int(2*hh), a, b, w/2-a*hw-b*hh, b, d, h/2-b*hw-d*hh)
}

// bend undoes a curve: what lay crowded on one side, as the far side of a tag round a bundle does,
// is spread. A positive k spreads the left side, a negative the right; upright bends top and bottom.
func (p plane) bend(k float64, upright bool) plane {
	q := newPlane(p.w, p.h)
	curve := func(i, n int) int {
		t := (float64(i)+0.5)/float64(n)*2 - 1
		return int((t-k*(t*t-1)+1)/2*float64(n)*65536) - 32768
	}
	for y := range p.h {
		v := y << 16
		if upright {
			v = curve(y, p.h)
		}
		for x := range p.w {
			u := x << 16
			if !upright {
				u = curve(x, p.w)
			}
			q.pix[y*p.w+x] = p.between(u, v)
		}
	}
	return q
}

// cut is the part of the plane in a box, sampled so that its longer side has size pixels.
func (p plane) cut(x0, y0, w, h float64, size int) plane {
	step := max(w, h) / float64(size)
	for step >= 2 {
		p = p.half()
		x0, y0, w, h, step = x0/2, y0/2, w/2, h/2, step/2
	}
	return p.warp(max(1, int(w/step)), max(1, int(h/step)), step, 0, x0+step/2-0.5, 0, step, y0+step/2-0.5)
}

// stretch spreads the light of each neighbourhood of about three blocks over the whole range, so
// that shadow and low contrast go away. Flat parts stay flat.
func (p plane) stretch(block int) plane {
	const least = 16 // a smaller range than this is noise
	bw, bh := (p.w+block-1)/block, (p.h+block-1)/block
	low, high := make([]int, bw*bh), make([]int, bw*bh)
	for by := range bh {
		for bx := range bw {
			lo, hi := 255, 0
			for y := by * block; y < min((by+1)*block, p.h); y++ {
				for _, v := range p.pix[y*p.w+bx*block : y*p.w+min((bx+1)*block, p.w)] {
					lo, hi = min(lo, int(v)), max(hi, int(v))
				}
			}
			low[by*bw+bx], high[by*bw+bx] = lo, hi
		}
	}
	q := newPlane(p.w, p.h)
	for by := range bh {
		for bx := range bw {
			lo, hi := 255, 0
			for y := max(by-1, 0); y <= min(by+1, bh-1); y++ {
				for x := max(bx-1, 0); x <= min(bx+1, bw-1); x++ {
					lo, hi = min(lo, low[y*bw+x]), max(hi, high[y*bw+x])
				}
			}
			if hi-lo < least {
				lo = hi - least
			}
			var table [256]byte
			for v := range table {
				table[v] = byte(min(max((v-lo)*255/(hi-lo), 0), 255))
			}
			for y := by * block; y < min((by+1)*block, p.h); y++ {
				from, to := y*p.w+bx*block, y*p.w+min((bx+1)*block, p.w)
				for i := from; i < to; i++ {
					q.pix[i] = table[p.pix[i]]
				}
			}
		}
	}
	return q
}

// source lets gozxing read a plane where it lies.
type source struct {
	gozxing.LuminanceSourceBase
	p plane
}

func sourceOf(p plane) *source {
	return &source{gozxing.LuminanceSourceBase{Width: p.w, Height: p.h}, p}
}

func (s *source) GetRow(y int, _ []byte) ([]byte, error) { return s.p.pix[y*s.p.w:][:s.p.w], nil }
func (s *source) GetMatrix() []byte                      { return s.p.pix }
func (s *source) Invert() gozxing.LuminanceSource        { return gozxing.LuminanceSourceInvert(s) }
func (s *source) String() string                         { return gozxing.LuminanceSourceString(s) }
