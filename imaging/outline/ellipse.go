package outline

import "math"

// vec is a point or a direction of the picture, in px.
type vec struct{ x, y float64 }

func (a vec) add(b vec) vec             { return vec{a.x + b.x, a.y + b.y} }
func (a vec) sub(b vec) vec             { return vec{a.x - b.x, a.y - b.y} }
func (a vec) mul(k float64) vec         { return vec{a.x * k, a.y * k} }
func (a vec) dot(b vec) float64         { return a.x*b.x + a.y*b.y }
func (a vec) cross(b vec) float64       { return a.x*b.y - a.y*b.x }
func (a vec) norm() float64             { return math.Hypot(a.x, a.y) }
func (a vec) unit() vec                 { return a.mul(1 / a.norm()) }
func (a vec) lerp(b vec, t float64) vec { return a.add(b.sub(a).mul(t)) }

// ellipse has its centre at c and two semi-axes as vectors at a right angle.
type ellipse struct{ c, a, b vec }

func newEllipse(c vec, a, b, angle float64) ellipse {
	sin, cos := math.Sincos(angle)
	return ellipse{c, vec{a * cos, a * sin}, vec{-b * sin, b * cos}}
}

// at returns the point at parameter angle t.
func (e ellipse) at(sin, cos float64) vec {
	return vec{e.c.x + e.a.x*cos + e.b.x*sin, e.c.y + e.a.y*cos + e.b.y*sin}
}

// radius is that of the circle of the same area.
func (e ellipse) radius() float64 { return math.Sqrt(math.Abs(e.a.cross(e.b))) }

// aspect is the longer semi-axis over the shorter.
func (e ellipse) aspect() float64 {
	a, b := e.a.norm(), e.b.norm()
	return math.Max(a, b) / math.Min(a, b)
}

// minor is the shorter semi-axis.
func (e ellipse) minor() float64 { return math.Min(e.a.norm(), e.b.norm()) }

// inside returns how far out p lies: 0 in the centre, 1 on the ellipse.
func (e ellipse) inside(p vec) float64 {
	d := p.sub(e.c)
	det := e.a.cross(e.b)
	return math.Hypot(d.cross(e.b)/det, e.a.cross(d)/det)
}
