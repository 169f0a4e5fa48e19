package measure

import "math"

// segment is one piece of a smooth curve between two marks: a cubic with
// given end points and end derivatives (Hermite form), t from 0 to 1.
type segment struct{ p0, p1, d0, d1 vec }

// newSegment joins p0 to p1 with the unit tangents t0 and t1. The length of
// the end derivatives is that of the cubic closest to a circular arc: for an
// arc of angle φ and chord c it is 2c / (1 + cos(φ/2)), which is 4r·tan(φ/4)
// (Goldapp 1991, Comput Aided Geom Des 8:227–238, the form with end tangents
// on the circle); the length of a 45° arc is then right to 5 parts in 10⁶.
func newSegment(p0, p1, t0, t1 vec) segment {
	chord := p1.sub(p0)
	c := chord.norm()
	if c == 0 {
		return segment{p0, p1, vec{}, vec{}}
	}
	c0, c1 := chord.dot(t0)/c, chord.dot(t1)/c
	sum := c0*c1 - math.Sqrt(math.Max((1-c0*c0)*(1-c1*c1), 0)) // cos of the sum of both angles
	half := math.Sqrt(math.Max((1+sum)/2, 0))
	m := 2 * c / (1 + half)
	return segment{p0, p1, t0.mul(m), t1.mul(m)}
}

func (s *segment) at(t float64) vec {
	u := 1 - t
	return s.p0.mul(u * u * (1 + 2*t)).add(s.p1.mul(t * t * (3 - 2*t))).
		add(s.d0.mul(t * u * u)).add(s.d1.mul(-t * t * u))
}

func (s *segment) velocity(t float64) vec {
	u := 1 - t
	return s.p1.sub(s.p0).mul(6 * t * u).add(s.d0.mul(u * (1 - 3*t))).add(s.d1.mul(t * (3*t - 2)))
}

// gauss5 are the nodes and weights of Gauss–Legendre quadrature with 5 points
// on [0, 1] (Abramowitz & Stegun 25.4.30, table 25.4).
var gauss5 = [5][2]float64{
	{0.5, 64.0 / 225},
	{0.5 - 0.5384693101056831/2, 0.4786286704993665 / 2}, {0.5 + 0.5384693101056831/2, 0.4786286704993665 / 2},
	{0.5 - 0.9061798459386640/2, 0.2369268850561891 / 2}, {0.5 + 0.9061798459386640/2, 0.2369268850561891 / 2},
}

// length returns the length of the segment between parameters a and b by
// adaptive quadrature, to about one part in 10¹⁰.
func (s *segment) length(a, b float64) float64 {
	return s.refine(a, b, s.gauss(a, b), 12)
}

func (s *segment) refine(a, b, whole float64, depth int) float64 {
	m := (a + b) / 2
	left, right := s.gauss(a, m), s.gauss(m, b)
	if depth == 0 || math.Abs(left+right-whole) <= 1e-9*math.Abs(whole) {
		return left + right
	}
	return s.refine(a, m, left, depth-1) + s.refine(m, b, right, depth-1)
}

func (s *segment) gauss(a, b float64) float64 {
	sum := 0.0
	for i := range gauss5 {
		g := &gauss5[i]
		sum += g[1] * s.velocity(a+(b-a)*g[0]).norm()
	}
	return sum * (b - a)
}

// gauss3 are the nodes and weights of Gauss–Legendre quadrature with 3 points
// on [0, 1] (Abramowitz & Stegun, table 25.4), exact to degree 5.
var gauss3 = [3][2]float64{
	{0.5, 8.0 / 18}, {0.5 - 0.7745966692414834/2, 5.0 / 18}, {0.5 + 0.7745966692414834/2, 5.0 / 18},
}

// area returns the signed area swept by the segment as seen from the origin,
// ½ ∫ x dy − y dx, exact: the integrand has degree 5.
func (s *segment) area() float64 {
	sum := 0.0
	for _, g := range gauss3 {
		sum += g[1] * s.at(g[0]).cross(s.velocity(g[0])).z
	}
	return sum / 2
}

// atLength returns the parameter at which the segment has the length l from
// its start, by Newton's method with bisection as the guard.
func (s *segment) atLength(l float64) float64 {
	total := s.length(0, 1)
	if l <= 0 || total == 0 {
		return 0
	}
	if l >= total {
		return 1
	}
	lo, hi, t := 0.0, 1.0, l/total
	for range 40 {
		f := s.length(0, t) - l
		if math.Abs(f) <= 1e-12*total {
			break
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		t -= f / s.velocity(t).norm()
		if !(t > lo && t < hi) {
			t = (lo + hi) / 2
		}
	}
	return t
}

// curve is a chain of segments that meet with a common tangent.
type curve []segment

// length returns the whole length.
func (c curve) length() float64 {
	sum := 0.0
	for _, s := range c {
		sum += s.length(0, 1)
	}
	return sum
}

// quickLength is length without the check of its accuracy, about one part in
// 10⁶: enough for derivatives.
func (c curve) quickLength() float64 {
	sum := 0.0
	for i := range c {
		sum += c[i].gauss(0, 1)
	}
	return sum
}

// cumulative returns the length from the start to the start of each segment,
// and to the end.
func (c curve) cumulative() []float64 {
	out := make([]float64, len(c)+1)
	for i, s := range c {
		out[i+1] = out[i] + s.length(0, 1)
	}
	return out
}

// at returns the point and the unit tangent at length l from the start;
// beyond the ends, those of the end.
func (c curve) at(l float64) (p, tangent vec) {
	if len(c) == 0 {
		return vec{}, vec{}
	}
	i, t := c.segmentAt(l)
	return c[i].at(t), c[i].velocity(t).unit()
}

// sample returns points along the curve, both ends and every mark included,
// n per segment.
func (c curve) sample(n int) []vec {
	out := make([]vec, 0, n*len(c)+1)
	for _, s := range c {
		for k := range n {
			out = append(out, s.at(float64(k)/float64(n)))
		}
	}
	if len(c) > 0 {
		out = append(out, c[len(c)-1].p1)
	}
	return out
}

// segmentAt returns the segment, and the parameter in it, at the length l from
// the start; beyond the ends, those of the end.
func (c curve) segmentAt(l float64) (i int, t float64) {
	for i, s := range c {
		n := s.length(0, 1)
		if l <= n || i == len(c)-1 {
			return i, s.atLength(l)
		}
		l -= n
	}
	return 0, 0
}

// nearest returns the length from the start to the point of the curve that is
// closest to q. Beyond the ends the curve goes on straight, so that the result
// may be negative or larger than the length.
func (c curve) nearest(q vec) float64 {
	at, t := c.nearestAt(q)
	start := 0.0
	for i := range at {
		start += c[i].length(0, 1)
	}
	inside := math.Min(math.Max(t, 0), 1)
	return start + c[at].length(0, inside) + (t-inside)*c[at].velocity(inside).norm()
}

// nearestAt is nearest as a segment and the parameter in it, which leaves 0–1
// beyond the ends of the curve.
func (c curve) nearestAt(q vec) (at int, t float64) {
	const tries = 4
	best := math.Inf(1)
	for i := range c {
		for k := range tries {
			if d := c[i].at((float64(k) + 0.5) / tries).sub(q); d.dot(d) < best {
				best, at = d.dot(d), i
			}
		}
	}
	lo, hi := max(at-1, 0), min(at+1, len(c)-1)
	best = math.Inf(1)
	for i := lo; i <= hi; i++ {
		u := c[i].nearest(q, i == 0, i == len(c)-1)
		inside := math.Min(math.Max(u, 0), 1)
		if d := c[i].at(inside).add(c[i].velocity(inside).mul(u - inside)).dist(q); d < best {
			best, at, t = d, i, u
		}
	}
	return at, t
}

// nearest returns the parameter of the point closest to q, by Newton's method
// on the foot of the perpendicular from the best of a few samples on. At an
// open end it may leave 0–1 along the end tangent.
func (s *segment) nearest(q vec, openStart, openEnd bool) float64 {
	best, t := math.Inf(1), 0.0
	for k := 0; k <= 4; k++ {
		if d := s.at(float64(k) / 4).dist(q); d < best {
			best, t = d, float64(k)/4
		}
	}
	for range 20 {
		v := s.velocity(t)
		step := q.sub(s.at(t)).dot(v) / v.dot(v)
		next := math.Min(math.Max(t+step, 0), 1)
		if math.Abs(next-t) < 1e-13 {
			break
		}
		t = next
	}
	v := s.velocity(t)
	beyond := q.sub(s.at(t)).dot(v) / v.dot(v)
	if openStart && t == 0 && beyond < 0 || openEnd && t == 1 && beyond > 0 {
		return t + beyond
	}
	return t
}
