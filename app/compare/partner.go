package compare

import (
	"math"

	"rootrule/imaging"
	"rootrule/measure"
)

// Partner finds the place on one image that looks as the place p does on
// another, near where guess puts it: guess maps stored pixels of from to those
// of to. It compares small pieces by their correlation, which neither
// brightness nor contrast changes (Lewis 1995, Fast Normalized
// Cross-Correlation, Vision Interface), up to reach pixels of to around the
// guess. The second result is the correlation coefficient there; where nothing
// looks alike, below [Alike], the guess itself is returned.
func Partner(from, to *imaging.Image, p measure.Point, guess measure.Alignment, reach float64) (measure.Point, float64) {
	at := guess.Map(p)
	c, ok := cutPiece(from, p, guess)
	if !ok || math.IsNaN(at.X+at.Y) {
		return measure.Pt(at.X, at.Y), 0
	}
	// Steps of two pixels first, then every pixel around the best.
	best, _ := c.search(to, at, reach, 2)
	best, likeness := c.search(to, best, 2, 1)
	if !(likeness >= Alike) {
		return measure.Pt(at.X, at.Y), math.Max(likeness, 0)
	}
	return c.peak(to, best), likeness
}

// Alike is the correlation coefficient from which on two pieces count as the
// same structure. Common practice, no source.
const Alike = 0.6

// half is half the side of a piece in pixels of the second image: about half a
// millimetre on a usual detector, so that an edge and its surroundings are in
// it.
const half = 14

// piece is a small part of an image, sampled as it lies on the other one, less
// its mean and of unit length.
type piece [(2*half + 1) * (2*half + 1)]float64

// cutPiece samples the surroundings of p on the grid of the second image; false
// where they are not on the image or have no structure.
func cutPiece(m *imaging.Image, p measure.Point, guess measure.Alignment) (*piece, bool) {
	back, ok := guess.Inverse()
	if !ok {
		return nil, false
	}
	at := guess.Map(p)
	var c piece
	i := 0
	for dy := -half; dy <= half; dy++ {
		for dx := -half; dx <= half; dx++ {
			q := back.Map(measure.Pt(at.X+float64(dx), at.Y+float64(dy)))
			v, ok := between(m, q.X, q.Y)
			if !ok {
				return nil, false
			}
			c[i] = v
			i++
		}
	}
	return &c, c.normalise()
}

// normalise takes the mean away and makes the length 1; false without
// structure.
func (c *piece) normalise() bool {
	mean, square := 0.0, 0.0
	for _, v := range c {
		mean += v / float64(len(c))
	}
	for i := range c {
		c[i] -= mean
		square += c[i] * c[i]
	}
	if !(square > 0) {
		return false
	}
	for i := range c {
		c[i] /= math.Sqrt(square)
	}
	return true
}

// search returns the place within reach of at, in whole steps from it, where
// the second image is most like the piece, and how much.
func (c *piece) search(m *imaging.Image, at measure.Point, reach, step float64) (measure.Point, float64) {
	best, likeness := at, math.Inf(-1)
	n := math.Floor(reach / step)
	for j := -n; j <= n; j++ {
		for i := -n; i <= n; i++ {
			q := measure.Pt(at.X+i*step, at.Y+j*step)
			if l := c.like(m, q); l > likeness {
				best, likeness = q, l
			}
		}
	}
	return best, likeness
}

// like is the correlation coefficient of the piece and the second image about
// the pixel nearest to q.
func (c *piece) like(m *imaging.Image, q measure.Point) float64 {
	x, y := int(math.Round(q.X)), int(math.Round(q.Y))
	if x < half || y < half || x >= m.Width-half || y >= m.Height-half {
		return math.Inf(-1)
	}
	var sum, square, dot float64
	i := 0
	for j := y - half; j <= y+half; j++ {
		for _, pix := range m.Pix[j*m.Width+x-half : j*m.Width+x+half+1] {
			v := float64(pix)
			sum, square, dot = sum+v, square+v*v, dot+v*c[i]
			i++
		}
	}
	variance := square - sum*sum/float64(len(c))
	if !(variance > 0) {
		return math.Inf(-1)
	}
	return dot / math.Sqrt(variance)
}

// peak refines a whole-pixel best place by a parabola along each axis.
func (c *piece) peak(m *imaging.Image, at measure.Point) measure.Point {
	at = measure.Pt(math.Round(at.X), math.Round(at.Y))
	mid := c.like(m, at)
	shift := func(dx, dy float64) float64 {
		low, high := c.like(m, measure.Pt(at.X-dx, at.Y-dy)), c.like(m, measure.Pt(at.X+dx, at.Y+dy))
		bend := low - 2*mid + high
		if !(bend < 0) || math.IsInf(bend, 0) {
			return 0
		}
		return math.Min(math.Max((low-high)/(2*bend), -0.5), 0.5)
	}
	return measure.Pt(at.X+shift(1, 0), at.Y+shift(0, 1))
}

// between is the grey value at (x, y), linear between pixel centres; false
// outside.
func between(m *imaging.Image, x, y float64) (float64, bool) {
	if !(x >= 0 && y >= 0 && x < float64(m.Width-1) && y < float64(m.Height-1)) {
		return 0, false
	}
	i, j := int(x), int(y)
	fx, fy := x-float64(i), y-float64(j)
	row := m.Pix[j*m.Width+i:]
	a := float64(row[0])*(1-fx) + float64(row[1])*fx
	b := float64(row[m.Width])*(1-fx) + float64(row[m.Width+1])*fx
	return a*(1-fy) + b*fy, true
}
