package measure

import "math"

// area returns the signed area of a closed curve, exact for its cubics:
// ½ ∮ x dy − y dx, positive where the curve turns from x to y.
func (c curve) area() float64 {
	if len(c) == 0 {
		return 0
	}
	o, sum := c[0].p0, 0.0 // a near origin keeps the digits
	for _, s := range c {
		s.p0, s.p1 = s.p0.sub(o), s.p1.sub(o)
		sum += s.area()
	}
	return sum
}

// param returns the segment and the parameter in it for a parameter of a
// closed curve that counts segments.
func (c curve) param(t float64) (segment, float64) {
	n := float64(len(c))
	if t -= n * math.Floor(t/n); t >= n {
		t = 0
	}
	i := int(t)
	return c[i], t - float64(i)
}

func (c curve) point(t float64) vec {
	s, u := c.param(t)
	return s.at(u)
}

// diameters are the longest distance between two points of a closed curve
// (Feret's largest diameter) and the longest chord at a right angle to it, as
// the parameters of their ends.
type diameters struct{ a, b, c, d float64 }

// newDiameters searches both diameters over points sampled along the curve
// and refines them.
func newDiameters(o curve) diameters {
	n := max(4, 96/len(o))
	p := o.sample(n)
	p = p[:len(p)-1]
	step := 1 / float64(n)
	i, j := farthest(p)
	d := diameters{a: float64(i) * step, b: float64(j) * step}
	reach := step // how far the ends may still be off
	for range 30 {
		from := o.point(d.b)
		a := highest(d.a-reach, d.a+reach, func(t float64) float64 { return from.dist(o.point(t)) })
		from = o.point(a)
		b := highest(d.b-reach, d.b+reach, func(t float64) float64 { return from.dist(o.point(t)) })
		change := math.Abs(a-d.a) + math.Abs(b-d.b)
		if d.a, d.b = a, b; change < 2*flat {
			break
		}
		reach = math.Min(reach, 3*change+10*flat)
	}
	d.c, d.d = widestChord(p, d.direction(o))
	d.c, d.d = d.c*step, d.d*step
	d.c = highest(d.c-step, d.c+step, func(t float64) float64 {
		e := d
		e.c = t
		_, across := e.moved(o).lengths(o)
		return across
	})
	return d.moved(o)
}

// flat is the share of a segment over which a distance near its largest is the
// same to rounding.
const flat = 5e-8

// highest returns where f is largest between lo and hi, by golden section.
func highest(lo, hi float64, f func(t float64) float64) float64 {
	const g = 0.6180339887498949
	x, y := hi-g*(hi-lo), lo+g*(hi-lo)
	fx, fy := f(x), f(y)
	for hi-lo > flat {
		if fx > fy {
			hi, y, fy = y, x, fx
			x = hi - g*(hi-lo)
			fx = f(x)
		} else {
			lo, x, fx = x, y, fy
			y = lo + g*(hi-lo)
			fy = f(y)
		}
	}
	return (lo + hi) / 2
}

// lengths returns both diameters on the curve o.
func (d diameters) lengths(o curve) (longest, across float64) {
	return o.point(d.a).dist(o.point(d.b)), o.point(d.c).dist(o.point(d.d))
}

// direction is that of the longest diameter.
func (d diameters) direction(o curve) vec { return o.point(d.b).sub(o.point(d.a)).unit() }

// moved returns the diameters of a curve that differs little from the one
// that d was found on: the ends stay at their parameters, at which lengths are
// stationary, but for one that slides to keep the right angle.
func (d diameters) moved(o curve) diameters {
	axis := d.direction(o)
	level := o.point(d.c).dot(axis)
	for range 8 {
		s, t := o.param(d.d)
		step := (level - s.at(t).dot(axis)) / s.velocity(t).dot(axis)
		if !(math.Abs(step) < 1) {
			break
		}
		if d.d += step; math.Abs(step) < 1e-12 {
			break
		}
	}
	return d
}

// farthest returns the indices of the two points farthest from each other.
func farthest(p []vec) (int, int) {
	bi, bj, best := 0, 0, -1.0
	for i, a := range p {
		for j := i + 1; j < len(p); j++ {
			x, y := a.x-p[j].x, a.y-p[j].y
			if q := x*x + y*y; q > best {
				bi, bj, best = i, j, q
			}
		}
	}
	return bi, bj
}

// levels is the number of chords tried across an outline.
const levels = 64

// widestChord returns the ends, as indices with fractions, of the longest
// chord of the closed polygon p at a right angle to axis.
func widestChord(p []vec, axis vec) (from, to float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		lo, hi = math.Min(lo, q.dot(axis)), math.Max(hi, q.dot(axis))
	}
	step := (hi - lo) / levels
	if !(step > 0) || math.IsInf(step, 1) {
		return 0, 0
	}
	var low, high [levels]struct{ height, at float64 }
	for i := range low {
		low[i].height, high[i].height = math.Inf(1), math.Inf(-1)
	}
	side := axis.left()
	for i, a := range p {
		b := p[(i+1)%len(p)]
		la, lb := (a.dot(axis)-lo)/step, (b.dot(axis)-lo)/step
		first, last := math.Ceil(math.Min(la, lb)-0.5), math.Floor(math.Max(la, lb)-0.5)
		for k := int(math.Max(first, 0)); k <= int(math.Min(last, levels-1)); k++ {
			t := (float64(k) + 0.5 - la) / (lb - la)
			h := a.lerp(b, t).dot(side)
			if h < low[k].height {
				low[k].height, low[k].at = h, float64(i)+t
			}
			if h > high[k].height {
				high[k].height, high[k].at = h, float64(i)+t
			}
		}
	}
	best := -1.0
	for k := range low {
		if w := high[k].height - low[k].height; w > best {
			best, from, to = w, low[k].at, high[k].at
		}
	}
	return from, to
}

// crossesItself reports whether two edges of the closed polygon p, whose last
// point repeats the first, cross.
func crossesItself(p []vec) bool {
	n := len(p) - 1
	for i := range n {
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			if cross(p[i], p[i+1], p[j], p[j+1]) {
				return true
			}
		}
	}
	return false
}

// cross reports whether the segments ab and cd cross at an inner point.
func cross(a, b, c, d vec) bool {
	if math.Max(a.x, b.x) < math.Min(c.x, d.x) || math.Max(c.x, d.x) < math.Min(a.x, b.x) {
		return false
	}
	side := func(p, q, r vec) float64 { return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}
