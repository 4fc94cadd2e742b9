package symbol

import (
	"cmp"
	"image"
	"math"
	"slices"
)

// block is the side of the squares that a plane is judged in, in pixels. A bar must be a few blocks
// high, a module about 1.5 pixels wide or more, and no space wider than two blocks.
const block = 8

// tensor is the structure tensor of a block: the sums of the products of its gradients, as the
// doubled angle of their direction (dx, dy) and their sum. |(dx, dy)| / sum is 1 where all
// gradients run one way, as in stripes, and near 0 in noise, text and QR codes.
type tensor struct{ dx, dy, sum float64 }

// contrast is the least sum of squared gradients of a block that is more than flat or noise.
const contrast = 60 * block * block

// grain is a plane seen block by block: how much its light changes, and which way.
type grain struct {
	w, h   int      // in blocks
	raw    []tensor // of each block
	smooth []tensor // with its eight neighbours: a block's own few pixels are noisy
}

func grainOf(p plane) grain {
	g := grain{w: p.w / block, h: p.h / block}
	g.raw, g.smooth = make([]tensor, g.w*g.h), make([]tensor, g.w*g.h)
	for y := range g.h {
		for x := range g.w {
			g.raw[y*g.w+x] = p.tensor(x*block, y*block)
		}
	}
	for i := range g.smooth {
		var t tensor
		g.around(i, closeBy, func(j int) {
			r := g.raw[j]
			t.dx, t.dy, t.sum = t.dx+r.dx, t.dy+r.dy, t.sum+r.sum
		})
		g.smooth[i] = t
	}
	return g
}

// sameWay says whether two tensors' directions are within 13 degrees of each other.
func sameWay(a, b tensor) bool {
	const cos = 0.9 // of the doubled angle
	return a.dx*b.dx+a.dy*b.dy > cos*math.Hypot(a.dx, a.dy)*math.Hypot(b.dx, b.dy)
}

// tensor sums over the block whose first pixel is (x0, y0).
func (p plane) tensor(x0, y0 int) tensor {
	var xx, yy, xy int
	for y := max(y0, 1); y < min(y0+block, p.h-1); y++ {
		x1 := max(x0, 1)
		n := min(x0+block, p.w-1) - x1
		row := p.pix[y*p.w+x1-1:][:n+2]
		above, below := p.pix[(y-1)*p.w+x1:][:n], p.pix[(y+1)*p.w+x1:][:n]
		for x := range above {
			gx, gy := int(row[x+2])-int(row[x]), int(below[x])-int(above[x])
			xx, yy, xy = xx+gx*gx, yy+gy*gy, xy+gx*gy
		}
	}
	return tensor{float64(xx - yy), float64(2 * xy), float64(xx + yy)}
}

// around visits block i and those up to reach blocks from it.
func (g grain) around(i, reach int, visit func(j int)) {
	x, y := i%g.w, i/g.w
	for ny := max(y-reach, 0); ny <= min(y+reach, g.h-1); ny++ {
		for nx := max(x-reach, 0); nx <= min(x+reach, g.w-1); nx++ {
			visit(ny*g.w + nx)
		}
	}
}

// across says whether block to is next to block from, or further in about the direction across
// from's stripes.
func (g grain) across(from, to int) bool {
	dx, dy := float64(to%g.w-from%g.w), float64(to/g.w-from/g.w)
	if max(math.Abs(dx), math.Abs(dy)) <= 1 {
		return true
	}
	t := g.smooth[from]
	return t.dx*(dx*dx-dy*dy)+t.dy*2*dx*dy > 0.8*math.Hypot(t.dx, t.dy)*(dx*dx+dy*dy)
}

// connected gives the blocks that hang together with block start by pairs, up to reach blocks apart,
// that join accepts, and marks them in seen.
func (g grain) connected(start, reach int, seen []bool, join func(from, to int) bool) (members []int) {
	seen[start] = true
	members = append(members, start)
	for next := 0; next < len(members); next++ {
		from := members[next]
		g.around(from, reach, func(to int) {
			if !seen[to] && join(from, to) {
				seen[to] = true
				members = append(members, to)
			}
		})
	}
	return members
}

// stripeArea is a part of a plane in which dark and light stripes run side by side, as in a linear
// symbol: an oblique box with its middle at (x, y). Seen at a slant, the stripes of a symbol need
// not stand square on its length.
type stripeArea struct {
	x, y          float64
	across        float64 // direction square on the stripes, in radians from the x axis
	axis          float64 // direction of the area's length, as far as it crosses the stripes
	length, width float64 // half the extent along the axis, and along the stripes, in pixels
	weight        float64 // how much contrast and area
}

// How far apart blocks of one symbol may be. A wide bar or space can be a block or two without a
// change of light, which splits a large symbol; but whoever bridges such gaps also joins small symbols
// to what stands beside them.
const (
	closeBy = 1
	apart   = 2
)

// stripes finds areas of coherent stripes whose blocks are up to reach apart, the weightiest first.
func (g grain) stripes(reach int) []stripeArea {
	const coherent = 0.45
	striped := make([]bool, len(g.raw))
	for i, t := range g.smooth {
		striped[i] = g.raw[i].sum > contrast && math.Hypot(t.dx, t.dy) > coherent*t.sum
	}
	var areas []stripeArea
	seen := make([]bool, len(g.raw))
	for start := range striped {
		if !striped[start] || seen[start] {
			continue
		}
		sum := g.smooth[start]
		members := g.connected(start, reach, seen, func(from, to int) bool {
			if !striped[to] || !g.across(from, to) || !sameWay(g.smooth[from], g.smooth[to]) || !sameWay(sum, g.smooth[to]) {
				return false
			}
			sum.dx, sum.dy = sum.dx+g.smooth[to].dx, sum.dy+g.smooth[to].dy
			return true
		})
		if len(members) >= 10 {
			sum.sum = 0
			for _, m := range members {
				sum.sum += g.raw[m].sum
			}
			areas = append(areas, areaOf(members, g.w, sum))
		}
	}
	slices.SortFunc(areas, func(a, b stripeArea) int { return cmp.Compare(b.weight, a.weight) })
	return areas
}

// textures finds areas that change all ways at once, as QR codes and lettering do: boxes in pixels,
// the busiest first.
func (g grain) textures() []image.Rectangle {
	const coherent, share = 0.5, 0.5
	// A QR code changes as much as anything in the picture does, all over.
	var sums []float64
	mixed := make([]bool, len(g.raw))
	for i, t := range g.smooth {
		if mixed[i] = math.Hypot(t.dx, t.dy) < coherent*t.sum; mixed[i] {
			sums = append(sums, t.sum)
		}
	}
	if len(sums) == 0 {
		return nil
	}
	slices.Sort(sums)
	least := max(3*contrast, share*sums[len(sums)-1-len(sums)/500])
	busy := make([]bool, len(g.raw))
	for i, t := range g.smooth {
		busy[i] = mixed[i] && t.sum > least
	}
	type texture struct {
		box    image.Rectangle
		weight float64
	}
	var all []texture
	seen := make([]bool, len(g.raw))
	for start := range busy {
		if !busy[start] || seen[start] {
			continue
		}
		members := g.connected(start, closeBy, seen, func(_, to int) bool { return busy[to] })
		var box image.Rectangle
		var sum float64
		for _, m := range members {
			x, y := m%g.w, m/g.w
			box = box.Union(image.Rect(x, y, x+1, y+1))
			sum += g.raw[m].sum
		}
		if w, h := box.Dx(), box.Dy(); w >= 4 && h >= 4 && w <= 3*h && h <= 3*w && len(members) > w*h/3 {
			box.Min, box.Max = box.Min.Mul(block), box.Max.Mul(block)
			all = append(all, texture{box, sum})
		}
	}
	slices.SortFunc(all, func(a, b texture) int { return cmp.Compare(b.weight, a.weight) })
	var boxes []image.Rectangle
	for _, t := range all {
		boxes = append(boxes, t.box)
	}
	return boxes
}

// areaOf is the box round the blocks of an area.
func areaOf(members []int, bw int, sum tensor) stripeArea {
	n := float64(len(members))
	var mx, my, xx, yy, xy float64
	for _, m := range members {
		x, y := float64(m%bw), float64(m/bw)
		mx, my, xx, yy, xy = mx+x, my+y, xx+x*x, yy+y*y, xy+x*y
	}
	mx, my = mx/n, my/n
	xx, yy, xy = xx/n-mx*mx, yy/n-my*my, xy/n-mx*my
	a := stripeArea{across: math.Atan2(sum.dy, sum.dx) / 2, weight: sum.sum}
	a.axis = a.across
	// The length of a long area is its symbol's, unless it runs along the stripes.
	if spread := math.Hypot(xx-yy, 2*xy); spread > 0.6*(xx+yy) {
		axis := math.Atan2(2*xy, xx-yy) / 2
		if off := math.Mod(axis-a.across+5*math.Pi/2, math.Pi) - math.Pi/2; math.Abs(off) < 0.9 {
			a.axis = a.across + off
		}
	}
	sin, cos := math.Sincos(a.axis)
	bars, barc := math.Sincos(a.across + math.Pi/2)
	det := cos*bars - sin*barc
	us, vs := make([]float64, len(members)), make([]float64, len(members))
	for i, m := range members {
		x, y := (float64(m%bw)+0.5)*block, (float64(m/bw)+0.5)*block
		us[i], vs[i] = (x*bars-y*barc)/det, (y*cos-x*sin)/det
	}
	slices.Sort(us)
	slices.Sort(vs)
	// A few strays on a side must not stretch the box along the stripes.
	last := len(members) - 1
	u0, u1, v0, v1 := us[0], us[last], vs[last/20], vs[last-last/20]
	u, v := (u0+u1)/2, (v0+v1)/2
	a.x, a.y = u*cos+v*barc, u*sin+v*bars
	a.length, a.width = (u1-u0)/2+block/2, (v1-v0)/2+block/2
	return a
}
