package outline

import (
	"math"

	"rootrule/imaging"
)

// Sides of the part of a picture that is looked at.
const (
	levels = 7    // halvings: the coarsest pixel is 64 px wide
	view   = 76   // pixels of a level that are searched on each side of the seed
	span   = 384  // pixels of a level that are kept on each side: an outline measured there, three times as long as wide, with the seed far off its middle
	reach  = 1280 // px of the picture: a radius of 400 px, likewise
)

// plane is a part of the picture at one resolution. Its pixel (i, j) has its
// centre at (x0 + i·step, y0 + j·step) of the picture, is the mean of step ×
// step pixels, and is NaN where any of them lies outside the picture. Dense
// is high, whatever the file's polarity.
type plane struct {
	x0, y0, step float64
	w, h         int
	v            []float32
}

// pyramid holds the surroundings of a seed at full resolution and halved
// again and again. The grid begins at the seed, so that a shifted picture with
// a shifted seed gives the same planes.
type pyramid struct{ planes [levels]plane }

// newPyramid reads the surroundings of a pixel.
func newPyramid(m *imaging.Image, cx, cy int) *pyramid {
	p := new(pyramid)
	r := min(reach, largestSide(m, cx, cy))
	p.planes[0] = cut(m, cx, cy, min(span, r), 1)
	p.planes[1] = cut(m, cx, cy, min(2*span, r), 2)
	whole := cut(m, cx, cy, r, 4)
	for l := 2; l < levels; l++ {
		p.planes[l] = whole
		whole = whole.half()
	}
	return p
}

// largestSide is how far the picture reaches from a pixel, and a little
// farther, in whole pixels of the coarsest plane.
func largestSide(m *imaging.Image, cx, cy int) int {
	d := max(cx, cy, m.Width-cx, m.Height-cy) + view
	const whole = 1 << (levels - 1)
	return (d + whole - 1) / whole * whole
}

// cut averages the square of ±r pixels around (cx, cy) over step × step
// pixels; r is a multiple of step.
func cut(m *imaging.Image, cx, cy, r, step int) plane {
	n := 2 * r / step
	p := plane{x0: float64(cx-r) + float64(step-1)/2, y0: float64(cy-r) + float64(step-1)/2, step: float64(step), w: n, h: n, v: make([]float32, n*n)}
	scale := 1 / float32(step*step)
	if m.WhiteIsZero {
		scale = -scale
	}
	left := (max(0, r-cx) + step - 1) / step // pixels of the plane that lie wholly within the picture
	right := min(2*r, m.Width+r-cx) / step
	for j := range n {
		row := p.v[j*n : (j+1)*n]
		y := cy - r + j*step
		if y < 0 || y+step > m.Height || left >= right {
			fill(row, nan32)
			continue
		}
		fill(row[:left], nan32)
		fill(row[right:], nan32)
		for dy := range step {
			addRow(row[left:right], m.Pix[(y+dy)*m.Width+cx-r+left*step:], step)
		}
		for i := left; i < right; i++ {
			row[i] *= scale
		}
	}
	return p
}

// addRow adds step pixels at a time to each of dst.
func addRow(dst []float32, src []uint16, step int) {
	src = src[:len(dst)*step]
	switch step {
	case 1:
		for i, v := range src {
			dst[i] = float32(v)
		}
	case 2:
		for i := range dst {
			dst[i] += float32(uint32(src[2*i]) + uint32(src[2*i+1]))
		}
	default:
		for i := range dst {
			s := uint32(0)
			for _, v := range src[i*step : (i+1)*step] {
				s += uint32(v)
			}
			dst[i] += float32(s)
		}
	}
}

var nan32 = float32(math.NaN())

func fill(v []float32, with float32) {
	for i := range v {
		v[i] = with
	}
}

// half returns the plane at half the resolution.
func (p plane) half() plane {
	q := plane{x0: p.x0 + p.step/2, y0: p.y0 + p.step/2, step: 2 * p.step, w: p.w / 2, h: p.h / 2}
	q.v = make([]float32, q.w*q.h)
	for j := range q.h {
		a, b := p.v[2*j*p.w:(2*j+1)*p.w], p.v[(2*j+1)*p.w:(2*j+2)*p.w]
		row := q.v[j*q.w : (j+1)*q.w]
		for i := range row {
			row[i] = (a[2*i] + a[2*i+1] + b[2*i] + b[2*i+1]) / 4
		}
	}
	return q
}

// around returns the part of p within ±r of its pixels around the point (x, y)
// of the picture.
func (p plane) around(x, y float64, r int) plane {
	ci, cj := int(math.Round((x-p.x0)/p.step)), int(math.Round((y-p.y0)/p.step))
	i0, i1 := max(ci-r, 0), min(ci+r+1, p.w)
	j0, j1 := max(cj-r, 0), min(cj+r+1, p.h)
	q := plane{x0: p.x0 + float64(i0)*p.step, y0: p.y0 + float64(j0)*p.step, step: p.step, w: max(i1-i0, 0), h: max(j1-j0, 0)}
	q.v = make([]float32, q.w*q.h)
	for j := range q.h {
		copy(q.v[j*q.w:(j+1)*q.w], p.v[(j0+j)*p.w+i0:])
	}
	return q
}

// at interpolates linearly at the point (x, y) of the picture; NaN outside.
func (p *plane) at(x, y float64) float64 {
	u, v := (x-p.x0)/p.step, (y-p.y0)/p.step
	i, j := int(math.Floor(u)), int(math.Floor(v))
	if i < 0 || j < 0 || i+1 >= p.w || j+1 >= p.h {
		return math.NaN()
	}
	fu, fv := float32(u-float64(i)), float32(v-float64(j))
	a, b := p.v[j*p.w+i:], p.v[(j+1)*p.w+i:]
	top := a[0] + fu*(a[1]-a[0])
	low := b[0] + fu*(b[1]-b[0])
	return float64(top + fv*(low-top))
}

// slopes is the gradient of a plane after Gaussian smoothing, in grey values
// per pixel of the plane; 0 where it reaches outside the picture.
type slopes struct {
	plane
	gx, gy []float32
}

// slopeSD is the standard deviation of the smoothing in pixels of the plane: a
// tenth of the smallest radius that is looked for at a level. By trial.
const slopeSD = 1.4

func newSlopes(p plane) *slopes {
	s := &slopes{plane: p, gx: make([]float32, p.w*p.h), gy: make([]float32, p.w*p.h)}
	g := smooth(p, slopeSD)
	for j := 1; j+1 < p.h; j++ {
		for i := 1; i+1 < p.w; i++ {
			k := j*p.w + i
			dx, dy := (g[k+1]-g[k-1])/2, (g[k+p.w]-g[k-p.w])/2
			if dx-dx == 0 && dy-dy == 0 { // no NaN
				s.gx[k], s.gy[k] = dx, dy
			}
		}
	}
	return s
}

// along returns the slope at (x, y) in direction (nx, ny), from the nearest
// pixel.
func (s *slopes) along(x, y, nx, ny float64) float64 {
	i, j := int((x-s.x0)/s.step+0.5), int((y-s.y0)/s.step+0.5)
	if i < 0 || j < 0 || i >= s.w || j >= s.h {
		return 0
	}
	k := j*s.w + i
	return float64(s.gx[k])*nx + float64(s.gy[k])*ny
}

// smooth convolves with a Gaussian; results that reach outside are NaN.
func smooth(p plane, sd float64) []float32 {
	r := int(math.Ceil(3 * sd))
	kernel := make([]float32, 2*r+1)
	sum := 0.0
	for i := range kernel {
		sum += math.Exp(-0.5 * float64((i-r)*(i-r)) / (sd * sd))
	}
	for i := range kernel {
		kernel[i] = float32(math.Exp(-0.5*float64((i-r)*(i-r))/(sd*sd)) / sum)
	}
	across := make([]float32, len(p.v))
	for j := range p.h {
		dst, src := across[j*p.w:(j+1)*p.w], p.v[j*p.w:(j+1)*p.w]
		fill(dst, nan32)
		for i := r; i+r < p.w; i++ {
			var a float32
			for t, c := range kernel {
				a += c * src[i-r+t]
			}
			dst[i] = a
		}
	}
	out := make([]float32, len(p.v))
	fill(out, nan32)
	for j := r; j+r < p.h; j++ {
		dst := out[j*p.w : (j+1)*p.w]
		clear(dst)
		for t, c := range kernel {
			for i, v := range across[(j-r+t)*p.w : (j-r+t+1)*p.w] {
				dst[i] += c * v
			}
		}
	}
	return out
}
