package measure

import (
	"gonum.org/v1/gonum/stat/distuv"
	"math"
	"slices"
)

// shape says which pieces an ideal canal has.
type shape int

const (
	oneArc  shape = iota // a straight part, then an arc
	arcTail              // a straight part, an arc, a straight part
	twoArcs              // a straight part, an arc, another arc
	noShape shape = -1   // nothing could be fitted
)

// bend is the ideal canal closest to the marks: a straight part that goes over
// into arcs, fitted by least squares of the distances of the marks from it,
// each in units of its standard uncertainty. Because it is fitted to all marks
// at once, the angle, the radius and the place where the curve starts are what
// the marks as a whole say, not what two or three of them happen to say.
type bend struct {
	shape  shape
	marks  group
	start  int // index of the mark where the curve starts; −1: fitted
	origin vec
	frame  [3]vec
	size   float64 // length of the polyline through the marks
	prior  bool    // the start of the curve was held back by the prior
	fit    fit
	dof    int
}

// parameters of a bend, in order: offset and direction of the straight part
// (one number each on an image, two in a volume), the length of the straight
// part (unless a mark fixes it), the curvature of the first arc (one or two
// numbers), the length of the first arc and the curvature of the second.
func (b *bend) parameters() int {
	d := b.marks.dims - 1
	n := 3 * d
	if b.start < 0 {
		n++
	}
	switch b.shape {
	case arcTail:
		n++
	case twoArcs:
		n += 1 + d
	}
	return n
}

// arcs builds the ideal canal from its parameters. p are the marks, needed
// where one of them fixes the start of the curve.
func (b *bend) arcs(x []float64, p []vec, out arcs) arcs {
	d := b.marks.dims - 1
	next := func() (v [2]float64) {
		copy(v[:], x[:d])
		x = x[d:]
		return v
	}
	single := func() float64 {
		v := x[0]
		x = x[1:]
		return v
	}
	off, dir := next(), next()
	line := piece{p: b.origin.add(b.frame[1].mul(off[0])).add(b.frame[2].mul(off[1])), f2: b.frame[1], f3: b.frame[2]}
	line.turn(b.frame[0], dir)
	if b.start < 0 {
		line.length = single()
	} else {
		line.length = p[b.start].sub(line.p).dot(line.t)
	}
	k := next()
	arc := line.at(line.length)
	arc.k2, arc.k3, arc.length = k[0], k[1], math.Inf(1)
	out = append(out[:0], line, arc)
	if b.shape == oneArc {
		return out
	}
	out[1].length = single()
	last := arc.at(out[1].length)
	last.k2, last.k3, last.length = 0, 0, math.Inf(1)
	if b.shape == twoArcs {
		k = next()
		last.k2, last.k3 = k[0], k[1]
	}
	return append(out, last)
}

// turn points the piece along e turned by the two angles, with its frame.
func (c *piece) turn(e vec, by [2]float64) {
	c.t = e
	angle := math.Hypot(by[0], by[1])
	turned := piece{t: e, f2: c.f2, f3: c.f3, k2: by[0], k3: by[1]}
	if angle > 0 {
		turned = turned.at(1)
	}
	c.t, c.f2, c.f3 = turned.t, turned.f2, turned.f3
}

// Prior of the share of the trace that is straight, used only where the marks
// leave it open: six tenths, give or take a quarter. Common practice, no
// source; it keeps a nearly straight canal from having its curve in its last
// half millimetre.
const (
	priorStart  = 0.6
	priorSpread = 0.25
)

// problem states the least-squares problem of the bend.
func (b *bend) problem() problem {
	d := b.marks.dims - 1
	n := len(b.marks.p) * d
	p := problem{n: n, step: make([]float64, b.parameters())}
	if b.prior {
		p.n++
	}
	const h = 1e-4
	steps := p.step
	put := func(v float64, times int) {
		for range times {
			steps[0] = v
			steps = steps[1:]
		}
	}
	put(h*b.size, d)
	put(h, d)
	if b.start < 0 {
		put(h*b.size, 1)
	}
	put(h/b.size, d)
	if b.shape != oneArc {
		put(h*b.size, 1)
	}
	if b.shape == twoArcs {
		put(h/b.size, d)
	}
	model := make(arcs, 0, 3)
	p.residuals = func(x, r []float64) {
		model = b.arcs(x, b.marks.p, model)
		for i, q := range b.marks.p {
			_, r2, r3 := model.foot(q)
			r[i*d] = r2 / b.marks.u[i]
			if d == 2 {
				r[i*d+1] = r3 / b.marks.u[i]
			}
		}
		if b.prior {
			r[n] = (x[2*d]/b.size - priorStart) / priorSpread
		}
		for _, c := range model[:len(model)-1] {
			if c.length < 0 { // a piece can't be shorter than nothing
				for i := range r {
					r[i] += 1e3 * c.length / b.size
				}
			}
		}
	}
	return p
}

// chords are the directions of the pieces between marks, as angles to the
// first axis of a frame: a first look at the course of the curvature.
type chords struct {
	s      []float64 // length of the polyline at each mark
	h2, h3 []float64
	w      []float64 // weight: the square of the chord, since u(h) ∝ 1 / chord
}

func chordsOf(p []vec, frame [3]vec) chords {
	n := len(p) - 1
	c := chords{make([]float64, n+1), make([]float64, n), make([]float64, n), make([]float64, n)}
	for i := range n {
		v := p[i+1].sub(p[i])
		l := v.norm()
		c.s[i+1] = c.s[i] + l
		c.h2[i] = math.Atan2(v.dot(frame[1]), v.dot(frame[0]))
		c.h3[i] = math.Atan2(v.dot(frame[2]), v.dot(frame[0]))
		c.w[i] = l * l
	}
	return c
}

// ramp returns the mean of max(0, s − a) over chord i: the angle per curvature
// turned since a.
func (c chords) ramp(i int, a float64) float64 {
	lo, hi := math.Max(c.s[i]-a, 0), math.Max(c.s[i+1]-a, 0)
	return (hi*hi - lo*lo) / (2 * (c.s[i+1] - c.s[i]))
}

// guess fits the directions of the chords by a straight course up to a, then a
// steady turn up to e, then another steady turn (or none when tail is set).
// It returns the parameters of a bend and the weighted sum of squares.
func (c chords) guess(sh shape, a, e float64) (direction, k, k2 [2]float64, rss float64) {
	columns := 2
	if sh == twoArcs {
		columns = 3
	}
	for axis, h := range [2][]float64{c.h2, c.h3} {
		var m [3][3]float64
		var g [3]float64
		for i := range h {
			row := [3]float64{1, c.ramp(i, a)}
			if sh != oneArc {
				row[1] -= c.ramp(i, e)
				row[2] = c.ramp(i, e)
			}
			for j := range columns {
				g[j] += c.w[i] * row[j] * h[i]
				for l := range columns {
					m[j][l] += c.w[i] * row[j] * row[l]
				}
			}
			rss += c.w[i] * h[i] * h[i]
		}
		x, ok := solve3(m, g, columns)
		if !ok {
			return direction, k, k2, math.Inf(1)
		}
		direction[axis], k[axis], k2[axis] = x[0], x[1], x[2]
		for j := range columns {
			rss -= x[j] * g[j]
		}
	}
	return direction, k, k2, rss
}

// solve3 solves a positive definite system of 2 or 3 equations.
func solve3(m [3][3]float64, g [3]float64, n int) (x [3]float64, ok bool) {
	for j := range n {
		for i := j + 1; i < n; i++ {
			if !(m[j][j] > 1e-12*m[i][i]) {
				return x, false
			}
			f := m[i][j] / m[j][j]
			for k := j; k < n; k++ {
				m[i][k] -= f * m[j][k]
			}
			g[i] -= f * g[j]
		}
	}
	for j := n - 1; j >= 0; j-- {
		if m[j][j] == 0 {
			return x, false
		}
		x[j] = g[j]
		for k := j + 1; k < n; k++ {
			x[j] -= m[j][k] * x[k]
		}
		x[j] /= m[j][j]
	}
	return x, true
}

// start is a first guess of the parameters.
type start struct {
	x   []float64
	rss float64
}

// scan is the number of places along the trace at which a piece is tried to
// start.
const scan = 16

// starts returns the best first guesses for the shape.
func (b *bend) starts() []start {
	c := chordsOf(b.marks.p, b.frame)
	size := c.s[len(c.s)-1]
	var all []start
	for i := range scan {
		a := size * float64(i) / scan
		if b.start >= 0 {
			a = c.s[b.start]
		}
		ends := []float64{size}
		if b.shape != oneArc {
			ends = ends[:0]
			for e := i + 1; e < scan; e++ {
				ends = append(ends, size*float64(e)/scan)
			}
		}
		for _, e := range ends {
			if e <= a {
				continue
			}
			dir, k, k2, rss := c.guess(b.shape, a, e)
			all = append(all, start{b.pack(dir, a, k, e-a, k2), rss})
		}
		if b.start >= 0 && b.shape == oneArc {
			break
		}
	}
	slices.SortStableFunc(all, func(x, y start) int {
		switch {
		case x.rss < y.rss:
			return -1
		case x.rss > y.rss:
			return 1
		}
		return 0
	})
	return all
}

// pack puts a guess into the order of the parameters.
func (b *bend) pack(dir [2]float64, a float64, k [2]float64, arc float64, k2 [2]float64) []float64 {
	d := b.marks.dims - 1
	x := make([]float64, 0, 8)
	x = append(x, 0, 0)[:d]
	x = append(x, dir[:d]...)
	if b.start < 0 {
		x = append(x, a)
	}
	x = append(x, k[:d]...)
	if b.shape != oneArc {
		x = append(x, arc)
	}
	if b.shape == twoArcs {
		x = append(x, k2[:d]...)
	}
	return x
}

// tries is the number of first guesses that are refined, each at least a
// sixth of the trace away from the better ones.
const tries = 2

// run fits the shape; ok is false when the marks are too few or the fit finds
// nothing.
func (b *bend) run() bool {
	b.dof = len(b.marks.p)*(b.marks.dims-1) - b.parameters()
	if b.dof < 0 {
		return false
	}
	p := b.problem()
	best, found := fit{chi2: math.Inf(1)}, false
	done := 0
	for _, s := range b.starts() {
		if done == tries {
			break
		}
		if math.IsInf(s.rss, 1) {
			continue
		}
		if f := p.solve(s.x); f.cov != nil && f.chi2 < best.chi2 {
			best, found = f, true
		}
		done++
	}
	b.fit = best
	return found && !math.IsNaN(best.chi2)
}

// significant is the probability below which a departure from the simpler
// canal is not put down to chance. Common practice, no source.
const significant = 1e-3

// fitBend fits the simplest ideal canal that explains the marks: a straight
// part and an arc; with a straight part behind it; with another arc behind it.
// start is the index of the mark where the curve starts, or −1. It returns nil
// when there are too few marks or they determine nothing.
func fitBend(g group, start int) *bend {
	b := newBend(g, start)
	if b == nil || !b.runHeld() {
		return nil
	}
	for _, s := range []shape{arcTail, twoArcs} {
		c := *b
		c.shape, c.prior = s, false
		if c.run() && c.better(b) {
			b = &c
		}
	}
	return b
}

func newBend(g group, start int) *bend {
	if len(g.p) < 3 {
		return nil
	}
	b := &bend{marks: g, start: start, origin: g.p[0]}
	for i := 1; i < len(g.p); i++ {
		b.size += g.p[i].dist(g.p[i-1])
	}
	b.frame = frameAlong(g.p[1].sub(g.p[0]), g.dims)
	return b
}

// frameAlong returns an orthonormal frame whose first axis is along d; on an
// image the third points out of the image.
func frameAlong(d vec, dims int) [3]vec {
	e := d.unit()
	if dims == 2 {
		return [3]vec{e, e.left(), {0, 0, 1}}
	}
	side := vec{1, 0, 0}
	if math.Abs(e.x) > 0.9 {
		side = vec{0, 1, 0}
	}
	side = e.cross(side).unit()
	return [3]vec{e, side, e.cross(side)}
}

// runHeld fits with the prior of the start of the curve, and again without it
// when the marks say more about the start than the prior does.
func (b *bend) runHeld() bool {
	if b.start >= 0 {
		return b.run()
	}
	b.prior = true
	if !b.run() {
		return false
	}
	at := 2 * (b.marks.dims - 1)
	if math.Sqrt(b.fit.cov[at][at]) > 0.3*priorSpread*b.size {
		return true
	}
	free := *b
	free.prior = false
	if free.fit = free.problem().solve(b.fit.x); free.fit.cov != nil && free.fit.x[at] > 0 && free.fit.x[at] < b.size {
		*b = free
	}
	return true
}

// better reports whether b explains the marks better than the simpler a by
// more than its further parameters do by chance: against the stated
// uncertainty of the marks (chi-square), or against what b itself leaves over
// (F test), which finds the shape of marks that are truer than they claim.
func (b *bend) better(a *bend) bool {
	more := float64(b.parameters() - a.parameters())
	gain := a.fit.chi2 - b.fit.chi2
	if gain <= 0 || b.straight() {
		return false
	}
	if (distuv.ChiSquared{K: more}).Survival(gain) < significant {
		return true
	}
	if b.dof < 1 {
		return false
	}
	rest := math.Max(b.fit.chi2/float64(b.dof), 1e-20)
	return (distuv.F{D1: more, D2: float64(b.dof)}).Survival(gain/more/rest) < significant
}

// straight reports whether a length of the bend came out as nothing.
func (b *bend) straight() bool {
	m := b.arcs(b.fit.x, b.marks.p, nil)
	for _, c := range m[:len(m)-1] {
		if !(c.length >= 0 && c.length < 2*b.size) {
			return true
		}
	}
	return false
}

// explains reports whether the marks lie on the bend within their uncertainty.
func (b *bend) explains() bool {
	if b.dof == 0 {
		return true
	}
	return (distuv.ChiSquared{K: float64(b.dof)}).Survival(b.fit.chi2) > significant
}

// each calls f with the parameters and the marks moved by plus and by minus
// one standard uncertainty of every source.
func (b *bend) propagate(results int, f func(x []float64, p []vec, out []float64)) []estimate {
	out := make([]estimate, results)
	centre, plus, minus := make([]float64, results), make([]float64, results), make([]float64, results)
	f(b.fit.x, b.marks.p, centre)
	for k := range out {
		out[k].v = centre[k]
	}
	widen := 1.0
	if !b.explains() {
		widen = math.Sqrt(b.fit.chi2 / float64(b.dof))
	}
	prob := b.problem()
	r1, r2 := make([]float64, prob.n), make([]float64, prob.n)
	p := b.marks.p // moved in place and put back
	x1, x2 := make([]float64, len(b.fit.x)), make([]float64, len(b.fit.x))
	for i := range p {
		frame, at := b.marks.frame(i), p[i]
		for d := range b.marks.dims {
			by := frame[d].mul(b.marks.u[i] * widen)
			p[i] = at.add(by)
			prob.residuals(b.fit.x, r1)
			p[i] = at.sub(by)
			prob.residuals(b.fit.x, r2)
			b.move(r1, r2, x1, x2)
			f(x2, p, minus)
			p[i] = at.add(by)
			f(x1, p, plus)
			p[i] = at
			for k := range out {
				if t := (plus[k] - minus[k]) / 2; t != 0 {
					out[k].terms = append(out[k].terms, term{b.marks.first + source(i*b.marks.dims+d), t})
				}
			}
		}
	}
	return out
}

// move gives the parameters that the fit would have if the residuals changed
// by plus and minus half of r1 − r2: δx = −(JᵀJ)⁻¹ Jᵀ δr.
func (b *bend) move(r1, r2, x1, x2 []float64) {
	n := len(b.fit.x)
	var g [8]float64
	for i, row := range b.fit.jac {
		if d := (r1[i] - r2[i]) / 2; d != 0 {
			for j := range n {
				g[j] += row[j] * d
			}
		}
	}
	for j := range n {
		d := 0.0
		for k := range n {
			d += b.fit.cov[j][k] * g[k]
		}
		x1[j], x2[j] = b.fit.x[j]-d, b.fit.x[j]+d
	}
}
