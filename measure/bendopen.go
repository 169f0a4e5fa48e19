package measure

import "math"

// open reports whether the marks leave open where the curve starts: the
// uncertainty of the length of the straight part exceeds a quarter of the
// curved length behind it, so that a linear law of propagation says little.
// Marks that lie on the bend far better than they claim leave nothing open.
func (b *bend) open() bool {
	l := b.layout()
	if l.length < 0 || b.dof() > 0 && b.chi2 < 1e-6*float64(b.dof()) {
		return false
	}
	u := math.Sqrt(b.inv.variance(l.length)) * b.widening()
	return !(u < 0.25*(b.end()-b.arcs[0].length)) || b.arcs[0].length <= 0 || b.dof() == 0
}

// end returns the length along the pieces to the apex.
func (b *bend) end() float64 {
	s, _, _ := b.arcs.foot(b.marks.p[len(b.marks.p)-1])
	return s
}

// anyStart is propagate for marks that leave open where the curve starts: the
// mean of each result, and its variance, over all lengths of the straight
// part, each with the weight that the marks give it. All lengths, and all
// deviations of the apex from the axis, are held equally likely before the
// marks are seen. ok is false when the marks determine nothing.
func anyStart(g group, extra func() source, results int, f func(a arcs, p []vec, out []float64)) (out []estimate, ok bool) {
	b := newBend(g, -1)
	if b == nil {
		return nil, false
	}
	b.held = true
	const n = 24
	states := b.profile(n, 5)
	least := math.Inf(1)
	for _, h := range states {
		if h.ok {
			least = math.Min(least, h.chi2)
		}
	}
	mix := newMixture(results)
	for _, h := range states {
		if !h.ok {
			continue
		}
		b.arcs, b.chi2, b.inv = h.arcs, h.chi2, h.inv
		arc := b.end() - b.arcs[0].length
		weight := math.Exp((least-h.chi2+h.inv.logDet())/2) * arc * arc
		if arc <= 0 || !(weight > mix.weight*1e-4) {
			continue
		}
		b.residuals(b.layout(), true)
		mix.add(weight, b.propagate(results, f))
	}
	return mix.estimates(extra), mix.weight > 0
}

// mixture is the weighted mean of estimates that exclude each other.
type mixture struct {
	weight float64
	mean   []estimate
	square []float64
}

func newMixture(results int) *mixture {
	return &mixture{mean: make([]estimate, results), square: make([]float64, results)}
}

func (m *mixture) add(weight float64, e []estimate) {
	m.weight += weight
	for k := range e {
		m.mean[k] = m.mean[k].plus(e[k].scaled(weight))
		u := e[k].std()
		m.square[k] += weight * (e[k].v*e[k].v + u*u)
	}
}

// estimates returns the means; what the spread between the parts adds to their
// variance is a source of its own.
func (m *mixture) estimates(extra func() source) []estimate {
	out := make([]estimate, len(m.mean))
	for k := range out {
		e := m.mean[k].scaled(1 / m.weight)
		u := e.std()
		rest := m.square[k]/m.weight - e.v*e.v - u*u
		out[k] = e.widened(math.Sqrt(math.Max(rest, 0)), extra())
	}
	return out
}
