package tone

import (
	"math"

	"rootrule/imaging"
)

// Profile returns the stored grey values along the straight line from (x0, y0)
// to (x1, y1), image pixels, at steps of about one pixel, both ends included,
// and the length of a step in pixels. Between pixel centres values are
// interpolated linearly; beyond the image they are NaN. No window and no
// enhancement has a part in it. Two ends in one place give one value.
func Profile(m *imaging.Image, x0, y0, x1, y1 float64) (values []float64, step float64) {
	length := math.Hypot(x1-x0, y1-y0)
	if !finite(length) || length > maxProfile {
		return nil, 0
	}
	n := int(math.Ceil(length))
	values = make([]float64, n+1)
	for i := range values {
		t := 0.0
		if n > 0 {
			t = float64(i) / float64(n)
		}
		values[i] = valueAt(m, x0+t*(x1-x0), y0+t*(y1-y0))
	}
	if n == 0 {
		return values, 0
	}
	return values, length / float64(n)
}

// maxProfile is longer than the diagonal of any picture that can be opened.
const maxProfile = 1 << 18

// valueAt interpolates the stored values at a point of an image.
func valueAt(m *imaging.Image, x, y float64) float64 {
	w, h := m.Size()
	if !(x >= 0 && y >= 0 && x <= float64(w-1) && y <= float64(h-1)) {
		return math.NaN()
	}
	i, j := min(int(x), max(w-2, 0)), min(int(y), max(h-2, 0))
	fx, fy := x-float64(i), y-float64(j)
	right, below := min(i+1, w-1), min(j+1, h-1)
	top := m.At(i, j)*(1-fx) + m.At(right, j)*fx
	bottom := m.At(i, below)*(1-fx) + m.At(right, below)*fx
	return top*(1-fy) + bottom*fy
}
