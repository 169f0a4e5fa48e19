package phantom

import (
	"math"

	"rootrule/measure"
)

// Matrix is a projective map of the plane in homogeneous coordinates, applied
// to columns (x, y, 1).
type Matrix [3][3]float64

// Identity is the map that changes nothing.
var Identity = Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}

func (m Matrix) times(n Matrix) Matrix {
	var r Matrix
	for i := range 3 {
		for j := range 3 {
			r[i][j] = m[i][0]*n[0][j] + m[i][1]*n[1][j] + m[i][2]*n[2][j]
		}
	}
	return r
}

func (m Matrix) apply(x, y float64) (float64, float64) {
	w := m[2][0]*x + m[2][1]*y + m[2][2]
	return (m[0][0]*x + m[0][1]*y + m[0][2]) / w, (m[1][0]*x + m[1][1]*y + m[1][2]) / w
}

// inverse is the adjugate over the determinant.
func (m Matrix) inverse() Matrix {
	minor := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*minor(0, 0) + m[0][1]*minor(0, 1) + m[0][2]*minor(0, 2)
	if det == 0 || math.IsNaN(det) {
		panic("phantom: a projection that flattens the plane")
	}
	var r Matrix
	for i := range 3 {
		for j := range 3 {
			r[j][i] = minor(i, j) / det
		}
	}
	return r
}

// Projection takes the object plane in mm to pixels and back.
type Projection struct{ ToPixel, ToMM Matrix }

// Geometry is how an exposure projects the object plane: first magnified about
// the middle of the picture, y also foreshortened, then warped in pixels.
type Geometry struct {
	Width, Height int
	PixelMM       float64 // pixel pitch of the detector
	// Magnification enlarges both directions; Foreshortening multiplies y once
	// more (below 1 the tooth looks short, above 1 long). 0 means 1.
	Magnification, Foreshortening float64
	// Warp maps pixels of the unwarped picture to pixels of the picture. The
	// zero matrix means [Identity].
	Warp Matrix
}

// Projection returns the map of the geometry.
func (g Geometry) Projection() Projection {
	if g.Width <= 0 || g.Height <= 0 || g.PixelMM <= 0 {
		panic("phantom: a picture needs a width, a height and a pixel pitch")
	}
	k := orOne(g.Magnification) / g.PixelMM
	m := Matrix{
		{k, 0, float64(g.Width-1) / 2},
		{0, k * orOne(g.Foreshortening), float64(g.Height-1) / 2},
		{0, 0, 1},
	}
	if g.Warp != (Matrix{}) {
		m = g.Warp.times(m)
	}
	return Projection{ToPixel: m, ToMM: m.inverse()}
}

func orOne(v float64) float64 {
	if v == 0 {
		return 1
	}
	return v
}

// Pixel returns where the object point p is seen.
func (j Projection) Pixel(p MM) measure.Point {
	x, y := j.ToPixel.apply(p.X, p.Y)
	return measure.Point{X: x, Y: y}
}

// Pixels returns where the object points are seen.
func (j Projection) Pixels(ps []MM) []measure.Point {
	out := make([]measure.Point, len(ps))
	for i, p := range ps {
		out[i] = j.Pixel(p)
	}
	return out
}

// MM returns the object point that is seen at pixel p.
func (j Projection) MM(p measure.Point) MM {
	x, y := j.ToMM.apply(p.X, p.Y)
	return MM{x, y}
}
