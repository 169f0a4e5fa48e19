package measure

import (
	"encoding/json"
	"fmt"
	"math"
)

// DefaultClick is the standard uncertainty, in pixels and in each direction,
// of a mark placed by hand when nothing better is known. Common practice, no
// source: a reader's own repeated marks replace it.
const DefaultClick = 0.7

// Point is a mark on an image, in pixels: pixel centres lie at integers,
// (0,0) is the centre of the top-left pixel, X grows to the right, Y down.
// U is the mark's standard uncertainty in each direction in pixels; 0 means
// [DefaultClick]. In JSON a point is [x, y] or [x, y, u].
type Point struct {
	X, Y float64
	U    float64
}

// Pt returns the point (x, y) with the default click uncertainty.
func Pt(x, y float64) Point { return Point{X: x, Y: y} }

// StdUnc returns the standard uncertainty of the mark in pixels.
func (p Point) StdUnc() float64 {
	if p.U > 0 {
		return p.U
	}
	return DefaultClick
}

// Dist returns the distance from p to q in pixels.
func (p Point) Dist(q Point) float64 { return math.Hypot(q.X-p.X, q.Y-p.Y) }

// MarshalJSON writes [x, y], with the uncertainty as a third number where the
// mark has its own.
func (p Point) MarshalJSON() ([]byte, error) {
	if p.U > 0 {
		return json.Marshal([]float64{p.X, p.Y, p.U})
	}
	return json.Marshal([]float64{p.X, p.Y})
}

// UnmarshalJSON reads [x, y] or [x, y, u].
func (p *Point) UnmarshalJSON(b []byte) error {
	var v []float64
	if err := json.Unmarshal(b, &v); err != nil {
		return fmt.Errorf("a mark is [x, y] or [x, y, u] in px: %w", err)
	}
	if len(v) != 2 && len(v) != 3 {
		return fmt.Errorf("a mark has 2 or 3 numbers, not %d", len(v))
	}
	*p = Point{X: v[0], Y: v[1]}
	if len(v) == 3 {
		p.U = v[2]
	}
	return nil
}
