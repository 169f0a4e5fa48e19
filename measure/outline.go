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
	i, j := farthest(p)
	d := diameters{a: float64(i) / float64(n), b: float64(j) / float64(n)}
	d.refineLongest(o, 20)
	d.c, d.d = widestChord(p, o.point(d.b).sub(o.point(d.a)).unit())
	d.c, d.d = d.c/float64(n), d.d/float64(n)
	d.refineAcross(o, 40)
	return d
}

// lengths returns both diameters on the curve o.
func (d diameters) lengths(o curve) (longest, across float64) {
	return o.point(d.a).dist(o.point(d.b)), o.point(d.c).dist(o.point(d.d))
}

// direction is that of the longest diameter.
func (d diameters) direction(o curve) vec { return o.point(d.b).sub(o.point(d.a)).unit() }

// moved returns the diameters of a curve that differs little from the one
// that d was found on.
func (d diameters) moved(o curve) diameters {
	d.refineLongest(o, 1)
	d.refineAcross(o, 1)
	return d
}

// refineLongest makes ∂|pa − pb|² vanish in both parameters by Newton's method.
func (d *diameters) refineLongest(o curve, steps int) {
	for range steps {
		sa, ta := o.param(d.a)
		sb, tb := o.param(d.b)
		w, va, vb := sa.at(ta).sub(sb.at(tb)), sa.velocity(ta), sb.velocity(tb)
		haa := va.dot(va) + w.dot(sa.acceleration(ta))
		hbb := vb.dot(vb) - w.dot(sb.acceleration(tb))
		hab := -va.dot(vb)
		det := haa*hbb - hab*hab
		if !(haa < 0 && det > 0) { // not a maximum: the ends may slide freely
			return
		}
		ga, gb := w.dot(va), -w.dot(vb)
		da, db := (hbb*ga-hab*gb)/det, (haa*gb-hab*ga)/det
		d.a -= math.Max(-0.5, math.Min(0.5, da))
		d.b -= math.Max(-0.5, math.Min(0.5, db))
		if math.Abs(da)+math.Abs(db) < 1e-12 {
			return
		}
	}
}

// refineAcross finds the chord at a right angle to the longest diameter whose
// end tangents are parallel, by Newton's method on (level difference, cross
// product of the tangents).
func (d *diameters) refineAcross(o curve, steps int) {
	axis := o.point(d.b).sub(o.point(d.a)).unit()
	for range steps {
		sc, tc := o.param(d.c)
		sd, td := o.param(d.d)
		vc, vd := sc.velocity(tc), sd.velocity(td)
		f := sc.at(tc).sub(sd.at(td)).dot(axis)
		g := vc.cross(vd).z
		fc, fd := vc.dot(axis), -vd.dot(axis)
		gc, gd := sc.acceleration(tc).cross(vd).z, vc.cross(sd.acceleration(td)).z
		det := fc*gd - fd*gc
		if det == 0 {
			return
		}
		dc, dd := (f*gd-g*fd)/det, (fc*g-gc*f)/det
		if !(math.Abs(dc) < 1 && math.Abs(dd) < 1) { // parallel over a stretch
			dc, dd = 0, f/fd
			if !(math.Abs(dd) < 1) {
				return
			}
		}
		d.c, d.d = d.c-dc, d.d-dd
		if math.Abs(dc)+math.Abs(dd) < 1e-12 {
			return
		}
	}
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
