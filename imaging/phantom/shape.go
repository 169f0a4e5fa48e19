package phantom

import "math"

// profile is a smooth function of one variable through a few knots (monotone
// cubic after Fritsch & Carlson 1980, so that it never overshoots), kept as a
// fine table; constant beyond the ends. It draws shapes and carries no truth.
type profile struct {
	x0, perX float64
	v        []float64
}

const profileSteps = 256

// newProfile takes the knots as x0, y0, x1, y1, … with x rising.
func newProfile(knots ...float64) *profile {
	n := len(knots) / 2
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i], y[i] = knots[2*i], knots[2*i+1]
	}
	m := monotoneSlopes(x, y)
	p := &profile{x0: x[0], perX: profileSteps / (x[n-1] - x[0]), v: make([]float64, profileSteps+2)}
	k := 0
	for i := range p.v {
		t := min(x[0]+float64(i)/p.perX, x[n-1])
		for k < n-2 && t > x[k+1] {
			k++
		}
		h := x[k+1] - x[k]
		u := (t - x[k]) / h
		p.v[i] = (1+2*u)*(1-u)*(1-u)*y[k] + u*(1-u)*(1-u)*h*m[k] + u*u*(3-2*u)*y[k+1] + u*u*(u-1)*h*m[k+1]
	}
	return p
}

func monotoneSlopes(x, y []float64) []float64 {
	n := len(x)
	m := make([]float64, n)
	secant := func(i int) float64 { return (y[i+1] - y[i]) / (x[i+1] - x[i]) }
	m[0], m[n-1] = secant(0), secant(n-2)
	for i := 1; i < n-1; i++ {
		if a, b := secant(i-1), secant(i); a*b > 0 {
			m[i] = 2 * a * b / (a + b) // harmonic mean: monotone by construction
		}
	}
	return m
}

func (p *profile) at(x float64) float64 {
	t := min(max((x-p.x0)*p.perX, 0), profileSteps)
	i := int(t)
	return p.v[i] + (t-float64(i))*(p.v[i+1]-p.v[i])
}

// sweep is a body along a line with an elliptical section: half-width in the
// picture and depth along the beam, both by arc length. Its ends are round.
type sweep struct {
	line        Line
	from, to    float64 // arc lengths of the ends
	half, depth *profile
	box         box
}

func newSweep(line Line, from, to float64, half, depth *profile) *sweep {
	w := &sweep{line: line, from: from, to: to, half: half, depth: depth}
	r := 0.0
	for _, v := range half.v {
		r = max(r, v)
	}
	for _, p := range line.sample(from, to, 64) {
		w.box.include(p, r+1)
	}
	return w
}

// section is where a point lies in the section of a sweep that faces it.
type section struct{ dist, half, depth float64 }

// section returns the section for p; its half-width is 0 far away.
func (w *sweep) section(p MM) section {
	if !w.box.holds(p) {
		return section{}
	}
	s, d := w.line.Nearest(p)
	a, b := w.from+w.half.at(w.from), w.to-w.half.at(w.to)
	t := min(max(s, a), b)
	if s != t { // round ends
		d = math.Sqrt(d*d + (s-t)*(s-t))
	}
	return section{math.Abs(d), w.half.at(s), w.depth.at(s)}
}

// path is the path of the ray through the body grown by g mm on all sides.
func (c section) path(g float64) float64 {
	if c.half == 0 {
		return 0
	}
	q := c.dist / (c.half + g)
	if q >= 1 {
		return 0
	}
	return (c.depth + 2*g) * math.Sqrt(1-q*q)
}

// box is a rectangle of the object plane; the zero box is empty.
type box struct {
	min, max MM
	filled   bool
}

func (b *box) include(p MM, r float64) {
	if !b.filled {
		*b = box{MM{p.X - r, p.Y - r}, MM{p.X + r, p.Y + r}, true}
		return
	}
	b.min = MM{min(b.min.X, p.X-r), min(b.min.Y, p.Y-r)}
	b.max = MM{max(b.max.X, p.X+r), max(b.max.Y, p.Y+r)}
}

func (b *box) holds(p MM) bool {
	return p.X >= b.min.X && p.X <= b.max.X && p.Y >= b.min.Y && p.Y <= b.max.Y
}

// union joins the paths through bodies of one material without counting their
// overlap twice, with a soft transition (the norm of order eight).
func union(paths ...float64) float64 {
	sum := 0.0
	for _, v := range paths {
		v *= v
		v *= v
		sum += v * v
	}
	return math.Sqrt(math.Sqrt(math.Sqrt(sum)))
}

// ramp rises smoothly from 0 at x ≤ 0 to 1 at x ≥ 1.
func ramp(x float64) float64 {
	x = min(max(x, 0), 1)
	return x * x * (3 - 2*x)
}
