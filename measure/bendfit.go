package measure

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// significant is the probability below which a departure from a simpler
// canal is not put down to chance. Common practice, no source.
const significant = 1e-3

// rounding is the square of a deviation, in standard uncertainties of a mark,
// that the arithmetic itself leaves: a hundred-thousandth of one.
const rounding = 1e-10

// scan is the number of lengths of the straight part that are tried.
const scan = 10

// fitBend fits the simplest ideal canal that explains the marks: a straight
// part and an arc; with a straight part behind it; with another arc behind it.
// start is the index of the mark where the curve starts, or −1. It returns nil
// when there are too few marks or they determine nothing.
func fitBend(g group, start int) *bend {
	b := newBend(g, start)
	if b == nil || !b.fitOneArc() {
		return nil
	}
	if p := b.chance(); p < 0.05 || p > 0.95 { // else the arc is all there is to find
		one := b
		for _, s := range []shape{arcTail, twoArcs} {
			if c := one.withThird(s); c != nil && c.better(b) {
				b = c
			}
		}
	}
	b.residuals(b.layout(), true)
	return b
}

// newBend is a straight line through the first two marks.
func newBend(g group, start int) *bend {
	if len(g.p) < 3 {
		return nil
	}
	b := &bend{marks: g, start: start}
	for i := 1; i < len(g.p); i++ {
		b.size += g.p[i].dist(g.p[i-1])
	}
	line := piece{p: g.p[0], t: g.p[1].sub(g.p[0]).unit()}
	line.f2, line.f3 = line.t.left().unit(), vec{0, 0, 1}
	if g.dims == 3 {
		side := vec{0, 0, 1}
		if math.Abs(line.t.z) > 0.7 {
			side = vec{1, 0, 0}
		}
		line.f2 = side.cross(line.t).unit()
		line.f3 = line.t.cross(line.f2)
	}
	b.arcs = arcs{line, {length: math.Inf(1)}}
	if !line.t.finite() || line.t == (vec{}) || b.size == 0 {
		return nil
	}
	b.chain()
	return b
}

// copyOf returns a bend with pieces of its own.
func (b *bend) copyOf() *bend {
	c := *b
	c.arcs = append(arcs{}, b.arcs...)
	c.rows, c.byA = nil, nil
	return &c
}

// fitOneArc fits a straight part and an arc. The length of the straight part
// makes the problem non-linear, so it is tried at several places along the
// trace and fitted from the best of these on; where that leaves too much over,
// from the next best as well.
func (b *bend) fitOneArc() bool {
	if b.dof() < 0 {
		return false
	}
	if b.start >= 0 {
		return b.iterate(40)
	}
	profile := b.profile(scan, 2)
	var best *bend
	for _, p := range promising(profile, 3) {
		c := b.copyOf()
		c.arcs = p.arcs
		if c.iterate(40) && c.placed() && (best == nil || c.chi2 < best.chi2) {
			best = c
		}
		if best != nil && best.chance() > 0.05 {
			break
		}
	}
	if best != nil {
		*b = *best
		return true
	}
	return b.fitLost(profile)
}

// fitLost fits where there is no one place where the curve starts: in a
// straight canal, which is looked at from its middle, and in one whose last
// mark alone is off the line, which is looked at from where the fit is best.
func (b *bend) fitLost(profile []held) bool {
	from := profile[len(profile)/2]
	if best := promising(profile, 1); len(best) > 0 && from.chi2 > rounding*float64(len(b.marks.p)) {
		from = best[0]
	}
	b.lost, b.hold, b.arcs = true, startHeld, from.arcs
	return b.iterate(40)
}

// placed reports whether the marks say anything of where the curve starts: its
// standard uncertainty is below the length of the whole trace.
func (b *bend) placed() bool {
	return math.Sqrt(b.inv.variance(b.layout().length)) < b.size
}

// promising returns the n bends of a profile that leave the least over.
func promising(profile []held, n int) []held {
	good := slices.DeleteFunc(slices.Clone(profile), func(h held) bool { return !h.ok })
	slices.SortStableFunc(good, func(a, b held) int { return cmp.Compare(a.chi2, b.chi2) })
	return good[:min(n, len(good))]
}

// held is the best bend whose straight part has a given length.
type held struct {
	ok   bool
	chi2 float64
	arcs arcs
	inv  factor
}

// profile fits the bend with the length of the straight part held at each of
// n lengths over the trace.
func (b *bend) profile(n, steps int) []held {
	c := b.copyOf()
	c.hold = startHeld
	out := make([]held, n)
	pieces := make(arcs, n*len(c.arcs))
	for i := range out {
		c.arcs[0].length = b.size * (float64(i) + 0.5) / float64(n)
		c.arcs[1].k2, c.arcs[1].k3 = 0, 0
		c.chain()
		ok := c.iterate(steps)
		own := pieces[i*len(c.arcs) : (i+1)*len(c.arcs)]
		copy(own, c.arcs)
		out[i] = held{ok, c.chi2, own, c.inv}
	}
	return out
}

// withThird fits a third piece behind the arc, starting from the best of a few
// places along the trace; nil when there are too few marks for it.
func (b *bend) withThird(s shape) *bend {
	c := newBend(b.marks, b.start)
	c.shape = s
	c.arcs = append(c.arcs, piece{length: math.Inf(1)})
	if c.dof() < 0 {
		return nil
	}
	var best *bend
	const parts = 5
	for i := range parts {
		for j := i + 1; j < parts; j++ {
			try := c.copyOf()
			try.hold = lengthsHeld
			a := b.size * float64(i) / parts
			if b.start >= 0 {
				a = b.arcs[0].length
			}
			try.arcs[0].length, try.arcs[1].length = a, b.size*float64(j)/parts-a
			if try.arcs[1].length <= 0 {
				continue
			}
			try.chain()
			if try.iterate(3); best == nil || try.chi2 < best.chi2 {
				best = try
			}
		}
	}
	if best == nil {
		return nil
	}
	if best.hold = nothingHeld; !best.iterate(40) {
		return nil
	}
	return best
}

// better reports whether b explains the marks better than the simpler a by
// more than its further parameters do by chance: against the stated
// uncertainty of the marks (chi-square), or against what b itself leaves over
// (F test), which finds the shape of marks that are truer than they claim.
func (b *bend) better(a *bend) bool {
	more := b.layout().n - a.layout().n
	gain := a.chi2 - b.chi2
	if !(gain > 0) || math.IsInf(gain, 0) || b.arcs[0].length <= 0 || b.arcs[1].length <= 0 {
		return false
	}
	if a.chi2 < rounding*float64(len(a.marks.p)) { // nothing is left to explain
		return false
	}
	if chance(gain, more) < significant {
		return true
	}
	if b.dof() < 1 {
		return false
	}
	rest := math.Max(b.chi2/float64(b.dof()), 1e-20)
	f := distuv.F{D1: float64(more), D2: float64(b.dof())}
	return f.Survival(gain/float64(more)/rest) < significant
}

// chance is the probability of a sum of squares as large as that of the bend,
// were the marks scattered about it as they claim.
func (b *bend) chance() float64 {
	return chance(b.chi2, b.dof())
}

// chance is the probability of a sum of squares of normal deviations above
// chi2; 1 where there is no freedom for any, 0 where chi2 is no number.
func chance(chi2 float64, dof int) float64 {
	switch {
	case dof <= 0:
		return 1
	case !(chi2 >= 0) || math.IsInf(chi2, 0):
		return 0
	}
	return distuv.ChiSquared{K: float64(dof)}.Survival(chi2)
}

// explains reports whether the marks lie on the bend within their uncertainty.
func (b *bend) explains() bool { return b.chance() > significant }

// widening is the factor by which uncertainties grow where the marks lie
// farther from the bend than they should (the Birge ratio).
func (b *bend) widening() float64 {
	if b.explains() {
		return 1
	}
	return math.Sqrt(b.chi2 / float64(b.dof()))
}

// propagate evaluates a function of several results on the fitted pieces and
// on the first and the last mark, with the uncertainty that comes from all
// marks: directly, and through the fit, which follows a mark that moves by
// δx = −(JᵀJ)⁻¹ Jᵀ δr.
func (b *bend) propagate(results int, f func(a arcs, g group, out []float64)) []estimate {
	d := differentiator{b: b, f: f, moved: b.copyOf(), plus: make([]float64, results), minus: make([]float64, results)}
	out := make([]estimate, results)
	by := make([]float64, results)
	f(b.arcs, b.marks, by)
	n := b.marks.sources()
	terms := make([]term, results*n)
	for k := range out {
		out[k] = estimate{by[k], terms[k*n : k*n : (k+1)*n]}
	}
	slopes := d.byParameters()
	widen := b.widening()
	for i := range b.marks.p {
		frame := b.marks.frame(i)
		for axis := range b.marks.dims {
			move := frame[axis].mul(b.marks.u[i] * widen)
			x := b.response(i, move)
			clear(by)
			if i == 0 || i == b.marks.last() || i == b.start {
				d.byMark(i, move, by)
			}
			for k := range out {
				for j := range b.inv.n {
					by[k] += slopes[j][k] * x[j]
				}
				if by[k] != 0 {
					out[k].terms = append(out[k].terms, term{b.marks.first + source(i*b.marks.dims+axis), by[k]})
				}
			}
		}
	}
	return out
}

// differentiator takes derivatives of a function of the pieces and the marks.
type differentiator struct {
	b, moved    *bend
	f           func(a arcs, g group, out []float64)
	plus, minus []float64
}

// byParameters returns the derivatives by each parameter, by central
// differences over a tenth of its standard uncertainty.
func (d *differentiator) byParameters() [][]float64 {
	l, moved := d.b.layout(), d.moved
	slopes := make([][]float64, l.n)
	all := make([]float64, l.n*len(d.plus))
	for j := range slopes {
		var x row
		x[j] = 0.1 * math.Sqrt(d.b.inv.variance(j))
		copy(moved.arcs, d.b.arcs)
		moved.move(l, &x)
		d.f(moved.arcs, d.b.marks, d.plus)
		h := 2 * x[j]
		x[j] = -x[j]
		copy(moved.arcs, d.b.arcs)
		moved.move(l, &x)
		d.f(moved.arcs, d.b.marks, d.minus)
		slopes[j] = all[j*len(d.plus) : (j+1)*len(d.plus)]
		for k := range d.plus {
			slopes[j][k] = (d.plus[k] - d.minus[k]) / h
		}
	}
	return slopes
}

// byMark adds what moving one mark does while the parameters stay.
func (d *differentiator) byMark(i int, move vec, by []float64) {
	moved := d.moved
	copy(moved.arcs, d.b.arcs)
	p := d.b.marks.p // moved in place and put back
	at := p[i]
	p[i] = at.add(move)
	moved.chain()
	d.f(moved.arcs, d.b.marks, d.plus)
	p[i] = at.sub(move)
	moved.chain()
	d.f(moved.arcs, d.b.marks, d.minus)
	p[i] = at
	for k := range by {
		by[k] += (d.plus[k] - d.minus[k]) / 2
	}
}

// response returns how the parameters of the fit change when mark i moves.
func (b *bend) response(i int, by vec) (x row) {
	l := b.layout()
	var g row
	o := b.observe(i)
	for k := range o.n {
		d := by.dot(o.flat[k]) * o.w[k]
		for j := range l.n {
			g[j] += b.rows[i*o.n+k][j] * d
		}
	}
	if i == b.start { // moving the marked start moves the whole curve
		t := b.arcs[0].t
		if b.marks.sights != nil {
			t = b.marks.sights[i].of(t)
		}
		d := by.dot(t) / t.dot(t)
		for m, r := range b.rows {
			for j := range l.n {
				g[j] += r[j] * b.byA[m] * d
			}
		}
	}
	x = b.inv.solve(&g)
	for j := range x {
		x[j] = -x[j]
	}
	return x
}

// curved reports whether the bend is more than the marks' uncertainty makes of
// a straight canal: its first curvature exceeds three standard uncertainties.
func (b *bend) curved() bool {
	l := b.layout()
	k, v := b.arcs[1].curvature(), 0.0
	for j := range l.d {
		v = math.Max(v, b.inv.variance(l.curvature+j))
	}
	return k > 3*math.Sqrt(v)*b.widening()
}

// unsettled reports whether the place where the curve starts is known to less
// than half of the curved length behind it.
func (b *bend) unsettled() bool {
	l := b.layout()
	if l.length < 0 {
		return false
	}
	return !(math.Sqrt(b.inv.variance(l.length)) < 0.5*(b.end()-b.arcs[0].length)) || b.arcs[0].length <= 0
}
