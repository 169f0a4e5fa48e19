package measure

import (
	"math"
	"slices"
)

// shape says which pieces an ideal canal has.
type shape int

const (
	oneArc  shape = iota // a straight part, then an arc
	arcTail              // a straight part, an arc, a straight part
	twoArcs              // a straight part, an arc, another arc
)

// hold says which lengths of a bend stay as they are in a fit.
type hold int

const (
	nothingHeld hold = iota
	startHeld        // the length of the straight part
	lengthsHeld      // that of the first arc too
)

// bend is the ideal canal closest to the marks: a straight part that goes over
// into arcs, fitted by least squares of the distances of the marks from it,
// each in units of its standard uncertainty. Because it is fitted to all marks
// at once, the angle, the radius and the place where the curve starts are what
// the marks as a whole say, not what two or three of them happen to say.
type bend struct {
	shape shape
	marks group
	start int  // index of the mark at which the curve starts; −1: fitted
	hold  hold // lengths that are not fitted
	lost  bool // nothing says where the curve starts
	size  float64
	arcs  arcs // the fitted pieces
	chi2  float64
	rows  []row // derivatives of the residuals, dims − 1 rows per mark
	byA   []float64
	inv   factor
}

// The parameters of a bend are increments to its pieces, in this order: offset
// and tilt of the straight part (one number each on an image, two in a
// volume), its length (unless held or marked), the curvature of the first arc
// (one or two numbers), the length of the first arc, the curvature of the
// second.
type layout struct{ d, length, curvature, arc, second, n int }

func (b *bend) layout() layout {
	l := layout{d: b.marks.space() - 1, length: -1, arc: -1, second: -1}
	l.n = 2 * l.d
	next := func(k int) int { l.n += k; return l.n - k }
	if b.start < 0 && b.hold == nothingHeld {
		l.length = next(1)
	}
	l.curvature = next(l.d)
	if b.shape != oneArc && b.hold != lengthsHeld {
		l.arc = next(1)
	}
	if b.shape == twoArcs {
		l.second = next(l.d)
	}
	return l
}

// dof is the number of residuals above the number of parameters.
func (b *bend) dof() int { return len(b.marks.p)*b.marks.across() - b.layout().n }

// move applies increments of the parameters.
func (b *bend) move(l layout, x *row) {
	line := &b.arcs[0]
	var tilt, k, k2 [2]float64
	copy(tilt[:], x[l.d:2*l.d])
	copy(k[:], x[l.curvature:l.curvature+l.d])
	line.p = line.p.add(line.f2.mul(x[0]))
	if l.d == 2 {
		line.p = line.p.add(line.f3.mul(x[1]))
	}
	tilted := piece{t: line.t, f2: line.f2, f3: line.f3, k2: tilt[0], k3: tilt[1]}
	turned := tilted.at(1)
	line.t, line.f2, line.f3 = turned.t, turned.f2, turned.f3
	if l.length >= 0 {
		line.length = math.Min(math.Max(line.length+x[l.length], 0), 0.99*b.size)
	}
	b.arcs[1].k2 += k[0]
	b.arcs[1].k3 += k[1]
	if l.arc >= 0 {
		b.arcs[1].length = math.Min(math.Max(b.arcs[1].length+x[l.arc], 0), b.size)
	}
	if l.second >= 0 {
		copy(k2[:], x[l.second:l.second+l.d])
		b.arcs[2].k2 += k2[0]
		b.arcs[2].k3 += k2[1]
	}
	b.chain()
}

// chain puts each piece where the one before it ends.
func (b *bend) chain() {
	if b.start >= 0 {
		b.arcs[0].length = b.marks.alongLine(b.arcs[0], b.start)
	}
	for i := 1; i < len(b.arcs); i++ {
		end := b.arcs[i-1].at(b.arcs[i-1].length)
		c := &b.arcs[i]
		c.p, c.t, c.f2, c.f3 = end.p, end.t, end.f2, end.f3
	}
}

// residuals evaluates the distances of the marks from the pieces, and with
// them the normal equations; keep stores the derivatives for later.
func (b *bend) residuals(l layout, keep bool) normals {
	e := normals{n: l.n}
	if keep {
		n := len(b.marks.p) * b.marks.across()
		b.rows, b.byA = slices.Grow(b.rows[:0], n), slices.Grow(b.byA[:0], n)
	}
	for i := range b.marks.p {
		o := b.observe(i)
		j, a := b.derivatives(l, &o)
		for k := range o.n {
			e.add(o.r[k]*o.w[k], &j[k])
			if keep {
				b.rows, b.byA = append(b.rows, j[k]), append(b.byA, a[k])
			}
		}
	}
	return e
}

// derivatives returns the derivatives of the distances of a mark from the
// pieces, times their weights. Moving a parameter moves the foot of the mark;
// only the part of that across the line counts. a are the derivatives by the
// length of the straight part, which is a parameter only where l has one.
func (b *bend) derivatives(l layout, o *observation) (j [2]row, a [2]float64) {
	put := func(k int, moved vec) {
		j[0][k] = -o.w[0] * moved.dot(o.dir[0])
		j[1][k] = -o.w[1] * moved.dot(o.dir[1])
	}
	line := b.arcs[0]
	arm := o.foot.p.sub(line.p)
	put(0, line.f2)
	put(l.d, line.f3.cross(arm))
	if l.d == 2 {
		put(1, line.f3)
		put(3, line.f2.cross(arm).mul(-1))
	}
	if o.at == 0 {
		return j, a
	}
	a = [2]float64{-o.w[0] * line.t.dot(o.dir[0]), -o.w[1] * line.t.dot(o.dir[1])}
	switch {
	case l.length >= 0:
		j[0][l.length], j[1][l.length] = a[0], a[1]
	case b.start >= 0 && b.marks.sights == nil: // tilting the line moves the foot of the marked start
		arm := b.marks.p[b.start].sub(line.p)
		for k := range j {
			j[k][l.d] += a[k] * arm.dot(line.f2)
			if l.d == 2 {
				j[k][3] += a[k] * arm.dot(line.f3)
			}
		}
	}
	if o.at == 2 {
		b.derivatives3(l, o, put)
		return j, a
	}
	put(l.curvature, o.foot.f2.mul(o.lift))
	if l.d == 2 {
		put(l.curvature+1, o.foot.f3.mul(o.lift))
	}
	return j, a
}

// derivatives3 is the part of derivatives for the third piece: what is behind
// the first arc is carried and turned by it.
func (b *bend) derivatives3(l layout, o *observation, put func(int, vec)) {
	arc, last := b.arcs[1], b.arcs[2]
	arm := o.foot.p.sub(last.p)
	for k := range l.d {
		carried, turned := arc.byCurvature(k)
		put(l.curvature+k, carried.add(turned.cross(arm)))
	}
	bent := last.f2.mul(arc.k2).add(last.f3.mul(arc.k3))
	if l.arc >= 0 {
		put(l.arc, last.t.add(last.t.cross(bent).cross(arm)))
	}
	if l.second >= 0 {
		put(l.second, o.foot.f2.mul(o.lift))
		if l.d == 2 {
			put(l.second+1, o.foot.f3.mul(o.lift))
		}
	}
}

// byCurvature returns how the end of the piece is carried, and the rotation
// vector by which it is turned, when one of its two components of curvature
// grows by one. It is the derivative of the exponential map of the piece,
// taken numerically: only fits with two curves need it.
func (c *piece) byCurvature(component int) (carried, turned vec) {
	h := 1e-5 / c.length
	up, down := *c, *c
	if component == 0 {
		up.k2 += h
		down.k2 -= h
	} else {
		up.k3 += h
		down.k3 -= h
	}
	a, b := up.at(c.length), down.at(c.length)
	mid := c.at(c.length)
	dt, d2, d3 := a.t.sub(b.t), a.f2.sub(b.f2), a.f3.sub(b.f3)
	turned = mid.t.cross(dt).add(mid.f2.cross(d2)).add(mid.f3.cross(d3)).mul(0.5)
	return a.p.sub(b.p).mul(0.5 / h), turned.mul(0.5 / h)
}

// iterate minimises the sum of squares from where the bend is, by the method
// of Levenberg and Marquardt (Marquardt 1963, J SIAM 11:431–441). ok is false
// when the marks do not determine the parameters.
func (b *bend) iterate(steps int) (ok bool) {
	l := b.layout()
	damping := 1e-4
	e := b.residuals(l, false)
	var saved [3]piece
	for range steps {
		f, regular := e.factor(damping)
		if !regular {
			if damping > 1e6 {
				break
			}
			damping = math.Max(damping*10, 1e-6)
			continue
		}
		x := f.solve(&e.g)
		for i := range x {
			x[i] = -x[i]
		}
		copy(saved[:], b.arcs)
		b.move(l, &x)
		next := b.residuals(l, false)
		// Near its least the sum of squares is flat to rounding; the steps are not.
		if next.chi2 <= e.chi2*(1+1e-12)+1e-26 {
			done := b.negligible(l, &x) || next.chi2 < 1e-24 // the marks lie on it to rounding
			e, damping = next, damping/10
			if done {
				break
			}
			continue
		}
		copy(b.arcs, saved[:])
		if b.negligible(l, &x) || damping > 1e8 {
			break
		}
		damping = math.Max(damping*10, 1e-6)
	}
	b.chi2 = e.chi2
	b.inv, ok = e.factor(0)
	return ok && !math.IsNaN(b.chi2)
}

// negligible reports whether a step moves nothing by more than 10⁻¹² of the
// size of the trace.
func (b *bend) negligible(l layout, x *row) bool {
	worst := 0.0
	for i := range l.n {
		size := b.size
		switch {
		case i >= l.d && i < 2*l.d:
			size = 1
		case i >= l.curvature && i < l.curvature+l.d, l.second >= 0 && i >= l.second:
			size = 1 / b.size
		}
		worst = math.Max(worst, math.Abs(x[i])/size)
	}
	return worst < 1e-12
}
