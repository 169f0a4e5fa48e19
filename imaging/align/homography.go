package align

import (
	"math"

	"rootrule/measure"
)

// homography is a projective map of the plane on columns (x, y, 1).
type homography [3][3]float64

// apply returns where (x, y) goes, and the denominator, which is not positive
// on and beyond the horizon.
func (h *homography) apply(x, y float64) (u, v, w float64) {
	w = h[2][0]*x + h[2][1]*y + h[2][2]
	return (h[0][0]*x + h[0][1]*y + h[0][2]) / w, (h[1][0]*x + h[1][1]*y + h[1][2]) / w, w
}

// after returns the map that does b first, then h.
func (h homography) after(b homography) (c homography) {
	for i := range 3 {
		for j := range 3 {
			c[i][j] = h[i][0]*b[0][j] + h[i][1]*b[1][j] + h[i][2]*b[2][j]
		}
	}
	return c
}

// inverse is the adjugate, scaled so that the last element is 1. A map that
// flattens the plane gives NaN.
func (h homography) inverse() (r homography) {
	minor := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return h[a][c]*h[b][d] - h[a][d]*h[b][c]
	}
	det := h[0][0]*minor(0, 0) + h[0][1]*minor(0, 1) + h[0][2]*minor(0, 2)
	for i := range 3 {
		for j := range 3 {
			r[j][i] = minor(i, j) / det
		}
	}
	return r.normal()
}

// normal scales the map so that its last element is 1.
func (h homography) normal() homography {
	k := 1 / h[2][2]
	for i := range 3 {
		for j := range 3 {
			h[i][j] *= k
		}
	}
	return h
}

// scaled is the map between pictures whose pixels are step times as large.
func (h homography) scaled(step float64) homography {
	h[0][2] /= step
	h[1][2] /= step
	h[2][0] *= step
	h[2][1] *= step
	return h
}

// linear is the derivative of the map at (x, y).
func (h *homography) linear(x, y float64) (a, b, c, d float64) {
	u, v, w := h.apply(x, y)
	return (h[0][0] - u*h[2][0]) / w, (h[0][1] - u*h[2][1]) / w, (h[1][0] - v*h[2][0]) / w, (h[1][1] - v*h[2][1]) / w
}

// farthest is the largest distance between what two maps make of the corners
// of a w × h picture.
func (h *homography) farthest(o *homography, width, height float64) float64 {
	d := 0.0
	for _, c := range [4][2]float64{{0, 0}, {width, 0}, {0, height}, {width, height}} {
		ux, uy, _ := h.apply(c[0], c[1])
		vx, vy, _ := o.apply(c[0], c[1])
		d = math.Max(d, math.Hypot(ux-vx, uy-vy))
	}
	return d
}

// finite reports whether the map holds numbers only and keeps the four corners
// of a w × h picture on this side of the horizon.
func (h *homography) finite(width, height float64) bool {
	for _, c := range [4][2]float64{{0, 0}, {width, 0}, {0, height}, {width, height}} {
		u, v, w := h.apply(c[0], c[1])
		if !(w > 0) || math.IsInf(u, 0) || math.IsInf(v, 0) || math.IsNaN(u+v) {
			return false
		}
	}
	return true
}

func (h homography) point(p measure.Point) measure.Point {
	return measure.Alignment(h).Map(p)
}

// singular are the larger and the smaller singular value of [a b; c d].
func singular(a, b, c, d float64) (large, small float64) {
	p, q := math.Hypot(a+d, c-b)/2, math.Hypot(a-d, c+b)/2
	return p + q, math.Abs(p - q)
}
