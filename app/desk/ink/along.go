package ink

import (
	"image"
	"math"
)

// every returns the points along a polyline that are step apart, the first
// included.
func every(pts []Point, step float64) []Point {
	if len(pts) == 0 || step <= 0 {
		return nil
	}
	out := []Point{pts[0]}
	left := step
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		at := left
		for ; at <= l; at += step {
			out = append(out, a.Plus((b.X-a.X)*at/l, (b.Y-a.Y)*at/l))
		}
		left = at - l
	}
	return out
}

// cut returns the pieces of length on of a polyline, with gaps of length off
// between them.
func cut(pts []Point, on, off float64) [][]Point {
	var out [][]Point
	at := 0.0 // length from the start to pts[i-1]
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		for n := math.Floor(at / (on + off)); l > 0 && n*(on+off) < at+l; n++ {
			from := math.Max(n*(on+off)-at, 0) / l
			to := math.Min(n*(on+off)+on-at, l) / l
			if from < to {
				out = append(out, []Point{
					a.Plus((b.X-a.X)*from, (b.Y-a.Y)*from), a.Plus((b.X-a.X)*to, (b.Y-a.Y)*to)})
			}
		}
		at += l
	}
	return out
}

// clip shortens a segment to what lies within m of r; false when nothing does
// (Liang and Barsky 1984, ACM Trans Graph 3:1–22).
func clip(a, b Point, r image.Rectangle, m float64) (Point, Point, bool) {
	t0, t1 := 0.0, 1.0
	dx, dy := b.X-a.X, b.Y-a.Y
	for _, e := range [4][2]float64{
		{-dx, a.X + m}, {dx, float64(r.Max.X) + m - a.X},
		{-dy, a.Y + m}, {dy, float64(r.Max.Y) + m - a.Y},
	} {
		switch p, q := e[0], e[1]; {
		case p == 0 && q < 0:
			return a, b, false
		case p < 0:
			t0 = math.Max(t0, q/p)
		case p > 0:
			t1 = math.Min(t1, q/p)
		}
	}
	return a.Plus(t0*dx, t0*dy), a.Plus(t1*dx, t1*dy), t0 <= t1
}
