package symbol

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"

	"tagd/internal/tags"
)

// Bounds of a photo.
const (
	MaxPhoto  = 32 << 20  // bytes of the file
	MaxMemory = 150 << 20 // bytes that reading it may take
)

// Why a photo is not read. The errors of Read wrap these, with a sentence for the person who sent it.
var (
	ErrNotPhoto = errors.New("not a photo that can be read")
	ErrTooLarge = errors.New("photo too large")
)

// Found is one tag in a photo: all symbols that say the same number, or one symbol of somebody else.
type Found struct {
	Number    tags.Number // 0 for a symbol of somebody else, whose Text nothing of ours vouches for
	Tag       *tags.Tag   // what our QR code said besides; nil if only the Code 128 was read
	Text      string      // of the QR code if there is one, else of the Code 128
	Symbology string      // of that symbol by ISO/IEC 15424: "]Q1" or "]C0"
}

// Reader reads photos, at most some at a time: each takes up to MaxMemory and a processor.
type Reader struct{ slots chan struct{} }

// NewReader makes a reader of so many photos at a time, at least one.
func NewReader(parallel int) *Reader {
	return &Reader{make(chan struct{}, max(1, parallel))}
}

// Read finds the tags in a PNG or JPEG photo; none is no error. It waits until fewer photos than the
// reader's bound are being read. When ctx is done it gives up at the next try and gives ctx's error.
// A file that is no such photo, or damaged, is ErrNotPhoto; one beyond the bounds is ErrTooLarge.
func (r *Reader) Read(ctx context.Context, photo []byte, effort Effort) ([]Found, error) {
	if len(photo) > MaxPhoto {
		return nil, refuse(ErrTooLarge, "the photo has %d MB: at most %d MB are read. Take it at about 12 megapixels, as JPEG", len(photo)>>20, MaxPhoto>>20)
	}
	decode, err := inspect(photo)
	if err != nil {
		return nil, err
	}
	select {
	case r.slots <- struct{}{}:
		defer func() { <-r.slots }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	img, err := open(photo, decode)
	if err != nil {
		return nil, err
	}
	return look(ctx, planeOf(img), effort)
}

// photoError is a sentence, and the reason it stands for.
type photoError struct {
	says   string
	reason error
}

func (e *photoError) Error() string { return e.says }
func (e *photoError) Unwrap() error { return e.reason }

func refuse(reason error, format string, args ...any) error {
	return &photoError{fmt.Sprintf(format, args...), reason}
}

// unpacker is a decoder of one format.
type unpacker func(photo []byte) (image.Image, error)

// inspect looks at a photo's head: what it is, and how much memory it would take. Nothing of the
// picture itself is unpacked.
func inspect(photo []byte) (unpacker, error) {
	var config image.Config
	var err error
	var perPixel float64
	var decode unpacker
	switch {
	case bytes.HasPrefix(photo, []byte("\xff\xd8\xff")):
		config, err = jpeg.DecodeConfig(bytes.NewReader(photo))
		perPixel = jpegCost(photo, config.ColorModel)
		decode = func(b []byte) (image.Image, error) { return jpeg.Decode(bytes.NewReader(b)) }
	case bytes.HasPrefix(photo, []byte("\x89PNG\r\n\x1a\n")):
		config, err = png.DecodeConfig(bytes.NewReader(photo))
		perPixel = pngCost(photo, config.ColorModel)
		decode = func(b []byte) (image.Image, error) { return png.Decode(bytes.NewReader(b)) }
	default:
		return nil, refuse(ErrNotPhoto, "the file is neither a JPEG nor a PNG picture: send one of these")
	}
	if err != nil {
		return nil, refuse(ErrNotPhoto, "the picture is damaged: %v. Take it again", err)
	}
	// Besides the decoder's, a plane where the light does not lie ready, and smaller ones.
	cost := (perPixel + 1.5) * float64(config.Width) * float64(config.Height)
	if cost > MaxMemory {
		return nil, refuse(ErrTooLarge, "the picture of %d x %d pixels would take %.0f MB to read: at most %d MB are used. Take it at about 12 megapixels, as JPEG", config.Width, config.Height, cost/(1<<20), MaxMemory>>20)
	}
	return decode, nil
}

// jpegCost is the bytes a pixel that the standard library's JPEG decoder takes: a byte a sample, for
// progressive files 4 more (all coefficients are kept), and 4 a pixel where it converts colours.
func jpegCost(photo []byte, model color.Model) float64 {
	samples, progressive := 4.0, true // until the frame header is found
	for at := 2; at+4 <= len(photo) && photo[at] == 0xff; {
		marker, size := photo[at+1], int(photo[at+2])<<8|int(photo[at+3])
		if marker == 0xff { // a fill byte
			at++
			continue
		}
		frame := photo[at+4 : min(max(at+2+size, at+4), len(photo))]
		if marker >= 0xc0 && marker <= 0xc2 && len(frame) >= 6 && len(frame) >= 6+3*int(frame[5]) {
			progressive = marker == 0xc2
			samples = sampling(frame[6:], int(frame[5]))
			break
		}
		at += 2 + size
	}
	cost := samples
	if progressive {
		cost += 4 * samples
	}
	if model != color.GrayModel && model != color.YCbCrModel {
		cost += 4
	}
	return cost
}

// sampling is the samples a pixel of a JPEG frame with n components, each of three bytes: its name,
// its horizontal and vertical sampling factors, its table.
func sampling(components []byte, n int) float64 {
	most, sum := 1, 0
	for i := range n {
		factors := components[3*i+1]
		area := int(factors>>4) * int(factors&15)
		most, sum = max(most, area), sum+area
	}
	if n == 1 {
		return 1
	}
	return max(1, float64(sum)/float64(most))
}

// pngCost is the bytes a pixel that the standard library's PNG decoder takes. A file whose head says
// gray can still turn transparent, which takes four channels; an interlaced one has its last pass
// beside the whole.
func pngCost(photo []byte, model color.Model) float64 {
	cost := 4.0
	switch model {
	case color.Gray16Model, color.RGBA64Model, color.NRGBA64Model:
		cost = 8
	default:
		if _, ok := model.(color.Palette); ok {
			cost = 1
		}
	}
	const interlace = 28 // after signature, chunk head, width, height and four single bytes
	if len(photo) > interlace && photo[interlace] != 0 {
		cost *= 1.5
	}
	return cost
}

// open unpacks a photo. A decoder that panics has met a damaged one.
func open(photo []byte, decode unpacker) (img image.Image, err error) {
	err = errors.New("the decoder failed")
	guarded(func() { img, err = decode(photo) })
	if err != nil {
		return nil, refuse(ErrNotPhoto, "the picture is damaged: %v. Take it again", err)
	}
	if img.Bounds().Empty() {
		return nil, refuse(ErrNotPhoto, "the picture is empty")
	}
	return img, nil
}
