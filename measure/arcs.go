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

func (c *piece) curvature() float64 { return math.Sqrt(c.k2*c.k2 + c.k3*c.k3) }

// at returns the piece that goes on after the length s, with the same
// curvature: its position and its frame, turned without twist.
func (c *piece) at(s float64) piece {
	k := c.curvature()
	if k < bent {
		out := *c
		out.p = c.p.add(c.t.mul(s))
		return out
	}
	half := math.Sin(k * s / 2)
	return c.turned(k, math.Sin(k*s), 2*half*half)
}

// turned returns the piece that goes on after a turn given by its sine and by
// 1 − its cosine; k is the curvature.
func (c *piece) turned(k, sin, versine float64) piece {
	n := c.f2.mul(c.k2 / k).add(c.f3.mul(c.k3 / k))
	out := *c
	out.p = c.p.add(c.t.mul(sin / k)).add(n.mul(versine / k))
	out.t = c.t.mul(1 - versine).add(n.mul(sin))
	// f2 and f3 keep their component across the plane of the arc.
	change := c.t.mul(-sin).add(n.mul(-versine))
	out.f2 = c.f2.add(change.mul(c.k2 / k))
	out.f3 = c.f3.add(change.mul(c.k3 / k))
	return out
}

// closest returns the piece from the point closest to q on, the two components
// of q's distance from it along f2 and f3 there, and how far the point moves
// across the piece when its curvature grows by one: (1 − cos ks)/k² at the
// length s.
func (c *piece) closest(q vec) (foot piece, r [2]float64, lift float64) {
	d := q.sub(c.p)
	x, y2, y3 := d.dot(c.t), d.dot(c.f2), d.dot(c.f3)
	k := c.curvature()
	if k < bent {
		foot = *c
		foot.p = c.p.add(c.t.mul(x))
		return foot, [2]float64{y2, y3}, x * x / 2
	}
	r2, r3, y := c.beside(k, x, y2, y3)
	sin, cos := k*x, 1-k*y
	rho := math.Sqrt(sin*sin + cos*cos)
	sin, cos = sin/rho, cos/rho
	versine := 1 - cos
	if cos > 0 {
		versine = sin * sin / (1 + cos)
	}
	return c.turned(k, sin, versine), [2]float64{r2, r3}, versine / (k * k)
}

// beside returns the components of the distance from the arc of a point with
// the coordinates x, y2, y3 in the frame of the piece, and its coordinate y
// towards the centre. √(x²+(y−1/k)²) − 1/k is taken without cancellation for
// small curvature.
func (c *piece) beside(k, x, y2, y3 float64) (r2, r3, y float64) {
	y = (y2*c.k2 + y3*c.k3) / k
	z := (y3*c.k2 - y2*c.k3) / k
	g := k*(x*x+y*y) - 2*y
	out := g / (1 + math.Sqrt(math.Max(1+k*g, 0)))
	return (-out*c.k2 - z*c.k3) / k, (-out*c.k3 + z*c.k2) / k, y
}

// along returns the length along the piece to the point closest to q.
func (c *piece) along(q vec) float64 {
	d := q.sub(c.p)
	x := d.dot(c.t)
	k := c.curvature()
	if k < bent {
		return x
	}
	y := (d.dot(c.f2)*c.k2 + d.dot(c.f3)*c.k3) / k
	return math.Atan2(k*x, 1-k*y) / k
}

// arcs is an ideal canal: pieces of constant curvature, each going on in the
// direction in which the one before it ends.
type arcs []piece

// pieceAt returns the index of the piece on which the point closest to q lies.
func (a arcs) pieceAt(q vec) int {
	for i := range len(a) - 1 {
		if a[i].along(q) <= a[i].length {
			return i
		}
	}
	return len(a) - 1
}

// along returns the length along the arcs to the point closest to q.
func (a arcs) along(q vec) float64 {
	at, start := a.pieceAt(q), 0.0
	for i := range at {
		start += a[i].length
	}
	return start + a[at].along(q)
}

// at returns the point and the direction at the length s.
func (a arcs) at(s float64) (p, t vec) {
	i := 0
	for i < len(a)-1 && s > a[i].length {
		s -= a[i].length
		i++
	}
	end := a[i].at(s)
	return end.p, end.t
}
