package trace

import "math"

// directions is the number of directions a long ridge is looked for in, over
// half a turn: 11° apart, well within the 20° that a ridge six times as long as
// wide lets pass.
const directions = 16

// elongation is the standard deviation of the average along a ridge over that
// of the Gaussian across it. Texture is as long as it is wide, a canal much
// longer; but it bends (by trial).
const elongation = 3.0

// oneSided is how much the slope across a ridge counts against it: at the edge
// of something broad the curvature φ(z)·|z| is less than twice the slope φ(z)
// up to two standard deviations from it, and little is left there.
const oneSided = 2

// derivatives are those of a picture smoothed with a Gaussian, times σ for
// slopes and −σ² for curvatures: positive across bright ridges.
type derivatives struct{ x, y, xx, xy, yy []float32 }

func newDerivatives(grey []float32, size Size, sigma float64) derivatives {
	n := len(grey)
	all := make([]float32, 5*n)
	d := derivatives{all[:n], all[n : 2*n], all[2*n : 3*n], all[3*n : 4*n], all[4*n:]}
	first := float32(sigma / 2)
	flatScale(grey, size, gaussian(sigma), float32(-sigma*sigma/4), func(y int, l *[2*margin + 1][]float32, scale float32) {
		i := y * size.X
		dx, dy, xx, xy, yy := d.x[i:], d.y[i:], d.xx[i:], d.xy[i:], d.yy[i:]
		up2, up, mid, down, down2 := l[0][2:], l[1], l[2], l[3], l[4][2:]
		for x := range size.X {
			centre := 2 * mid[x+2]
			dx[x] = first * (mid[x+3] - mid[x+1])
			dy[x] = first * (down[x+2] - up[x+2])
			xx[x] = scale * (mid[x+4] - centre + mid[x])
			xy[x] = scale * (down[x+3] - down[x+1] - up[x+3] + up[x+1])
			yy[x] = scale * (down2[x] - centre + up2[x])
		}
	})
	return d
}

// longRidges returns at each place of a picture how much of a ridge of one
// width lies there: the curvature across it less the slope across it, both
// averaged along the direction in which this is largest, or 0. It does so for
// the ridges looked for and, where opposite is not nil, for those of the other
// sign.
func longRidges(grey []float32, size Size, sigma float64, opposite []float32) []float32 {
	d := newDerivatives(grey, size, sigma)
	out := make([]float32, len(grey))
	pad := int(math.Ceil(2 * elongation * sigma))
	inBands(size.Y, 48, func(from, to int) {
		b := newRowBand(size, from, to, pad)
		for k := range directions {
			sin, cos := math.Sincos(math.Pi * float64(k) / directions)
			b.across(d, float32(sin), float32(cos))
			b.along(out, opposite, newTaps(sigma, sin, cos, b.stride))
		}
	})
	return out
}

// rowBand is a band of rows with enough around it for sums along any
// direction.
type rowBand struct {
	size               Size
	from, to, pad      int
	stride             int
	curvature, slope   []float32 // across one direction, with margins
	curvatures, slopes []float32 // of a row, averaged
}

func newRowBand(size Size, from, to, pad int) *rowBand {
	stride := size.X + 2*pad
	n := (to - from + 2*pad) * stride
	return &rowBand{size, from, to, pad, stride, make([]float32, n), make([]float32, n), make([]float32, size.X), make([]float32, size.X)}
}

// across fills the band with what lies across the direction (cos, sin); beyond
// the border, as at the border.
func (b *rowBand) across(d derivatives, sin, cos float32) {
	w := b.size.X
	for y := b.from - b.pad; y < b.to+b.pad; y++ {
		i, j := min(max(y, 0), b.size.Y-1)*w, (y-b.from+b.pad)*b.stride
		curvature, slope := b.curvature[j:j+b.stride], b.slope[j:j+b.stride]
		for x := range w {
			curvature[b.pad+x] = sin*sin*d.xx[i+x] - 2*sin*cos*d.xy[i+x] + cos*cos*d.yy[i+x]
			slope[b.pad+x] = cos*d.y[i+x] - sin*d.x[i+x]
		}
		for x := range b.pad {
			curvature[x], curvature[b.pad+w+x] = curvature[b.pad], curvature[b.pad+w-1]
			slope[x], slope[b.pad+w+x] = slope[b.pad], slope[b.pad+w-1]
		}
	}
}

// tap is a weighted sample at some distance.
type tap struct {
	by     int
	weight float32
}

// newTaps returns the average along a direction: a Gaussian in steps of sigma,
// rounded to whole samples.
func newTaps(sigma, sin, cos float64, stride int) []tap {
	n := int(2 * elongation)
	var taps []tap
	total := 0.0
	for k := -n; k <= n; k++ {
		s := float64(k) * sigma
		w := math.Exp(-float64(k*k) / (2 * elongation * elongation))
		taps = append(taps, tap{int(math.Round(s*sin))*stride + int(math.Round(s*cos)), float32(w)})
		total += w
	}
	for i := range taps {
		taps[i].weight /= float32(total)
	}
	return taps
}

// along raises out to what the band has along one direction.
func (b *rowBand) along(out, opposite []float32, taps []tap) {
	for y := b.from; y < b.to; y++ {
		clear(b.curvatures)
		clear(b.slopes)
		i := (y-b.from+b.pad)*b.stride + b.pad
		for _, t := range taps {
			j := i + t.by
			addScaled(b.curvatures, t.weight, b.curvature[j:j+b.size.X])
			addScaled(b.slopes, t.weight, b.slope[j:j+b.size.X])
		}
		row := out[y*b.size.X : (y+1)*b.size.X]
		for x, c := range b.curvatures {
			s := b.slopes[x]
			row[x] = max(row[x], c-oneSided*max(s, -s))
		}
		if opposite == nil {
			continue
		}
		row = opposite[y*b.size.X : (y+1)*b.size.X]
		for x, c := range b.curvatures {
			s := b.slopes[x]
			row[x] = max(row[x], -c-oneSided*max(s, -s))
		}
	}
}
