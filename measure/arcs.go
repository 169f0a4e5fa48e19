package measure

import "math"

// piece is a part of constant curvature of an ideal canal: it starts at p in
// the direction t, and its curvature vector is k2·f2 + k3·f3, where t, f2, f3
// is an orthonormal frame. On an image f3 points out of the image and k3 is 0.
type piece struct {
	p, t, f2, f3 vec
	k2, k3       float64
	length       float64 // +Inf for the last piece
}

// bent is the curvature below which a piece counts as straight: a turn of
// 10⁻⁹ over the largest image.
const bent = 1e-15

func (c piece) curvature() float64 { return math.Sqrt(c.k2*c.k2 + c.k3*c.k3) }

// at returns the piece that goes on after the length s, with the same
// curvature: its position and its frame, turned without twist.
func (c piece) at(s float64) piece {
	k := c.curvature()
	out := c
	out.length = c.length - s
	if k < bent {
		out.p = c.p.add(c.t.mul(s))
		return out
	}
	n := c.f2.mul(c.k2 / k).add(c.f3.mul(c.k3 / k))
	sin, cos := math.Sincos(k * s)
	half := math.Sin(k * s / 2)
	out.p = c.p.add(c.t.mul(sin / k)).add(n.mul(2 * half * half / k))
	out.t = c.t.mul(cos).add(n.mul(sin))
	turned := c.t.mul(-sin).add(n.mul(cos))
	// f2 and f3 keep their component across the plane of the arc.
	out.f2 = c.f2.add(turned.sub(n).mul(c.k2 / k))
	out.f3 = c.f3.add(turned.sub(n).mul(c.k3 / k))
	return out
}

// foot returns the length along the piece to the point closest to q, and the
// two components of q's distance from it, along f2 and f3 turned with the
// piece.
func (c piece) foot(q vec) (s, r2, r3 float64) {
	d := q.sub(c.p)
	x, y2, y3 := d.dot(c.t), d.dot(c.f2), d.dot(c.f3)
	k := c.curvature()
	if k < bent {
		return x, y2, y3
	}
	y, z := (y2*c.k2+y3*c.k3)/k, (y3*c.k2-y2*c.k3)/k
	// Distance outside a circle through the origin, without cancellation for
	// small curvature: √(x²+(y−1/k)²) − 1/k.
	g := k*(x*x+y*y) - 2*y
	out := g / (1 + math.Sqrt(math.Max(1+k*g, 0)))
	return math.Atan2(k*x, 1-k*y) / k, (-out*c.k2 - z*c.k3) / k, (-out*c.k3 + z*c.k2) / k
}

// arcs is an ideal canal: pieces of constant curvature, each going on in the
// direction in which the one before it ends.
type arcs []piece

// foot returns the length along the arcs to the point closest to q, with the
// components of the distance.
func (a arcs) foot(q vec) (s, r2, r3 float64) {
	start := 0.0
	for i, c := range a {
		s, r2, r3 = c.foot(q)
		if s <= c.length || i == len(a)-1 {
			break
		}
		start += c.length
	}
	return start + s, r2, r3
}

// at returns the point and the direction at the length s.
func (a arcs) at(s float64) (p, t vec) {
	for i, c := range a {
		if s <= c.length || i == len(a)-1 {
			end := c.at(s)
			return end.p, end.t
		}
		s -= c.length
	}
	return vec{}, vec{}
}
