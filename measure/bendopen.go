package measure

import "math"

// open reports whether the marks leave open where the curve starts: the
// uncertainty of the length of the straight part exceeds a quarter of the
// curved length behind it, so that a linear law of propagation says little.
// Marks that lie on the bend far better than they claim leave nothing open.
func (b *bend) open() bool {
	if b.lost {
		return true
	}
	l := b.layout()
	if l.length < 0 || b.exact() {
		return false
	}
	u := math.Sqrt(b.inv.variance(l.length)) * b.widening()
	return !(u < 0.25*(b.end()-b.arcs[0].length)) || b.arcs[0].length <= 0 || b.dof() == 0
}

// exact reports whether the marks lie on the bend far better than they claim:
// a thousandth of their uncertainty. Such marks were not clicked.
func (b *bend) exact() bool {
	return b.dof() > 0 && b.chi2 < 1e-6*float64(b.dof())
}

// end returns the length along the pieces to the apex.
func (b *bend) end() float64 { return b.marks.along(b.arcs, b.marks.last()) }

// reads reads the curvature findings off the bend with their uncertainty.
// Where the start of the curve was found by the fit, each is the mean over all
// lengths of the straight part, each with the weight that the marks give it,
// and the uncertainty includes the spread between them: near the start of an
// arc a bend is too far from linear for the law of propagation alone. All
// lengths, and all deviations of the apex from the axis, are held equally
// likely before the marks are seen.
func (b *bend) reads(w *work) []estimate {
	l := b.layout()
	if l.length < 0 && !b.lost {
		return b.read()
	}
	mix := newMixture(reads, b.marks)
	for _, h := range b.neighbours(l) {
		arc := h.end() - h.arcs[0].length
		weight := math.Exp((b.chi2-h.chi2+h.inv.logDet())/2) * math.Pow(arc, float64(2*l.d))
		if arc > 0 && weight > mix.weight*1e-4 {
			h.residuals(h.layout(), true)
			mix.add(weight, h.read())
		}
	}
	if mix.weight == 0 {
		return b.read()
	}
	out := mix.estimates(w.source)
	out[readCurvature], out[readSharpest] = skewed(out[readCurvature]), skewed(out[readSharpest])
	for _, k := range []int{readSecond, readSecondRadius} { // the place where it starts is fitted too
		out[k] = out[k].through(out[k].v, spreadFactor)
	}
	if b.exact() {
		var exact [reads]float64
		readBend(b.arcs, b.marks, exact[:])
		for k := range out {
			out[k].v = exact[k]
		}
	}
	return out
}

// read is reads for a bend as it is.
func (b *bend) read() []estimate {
	e := b.propagate(reads, readBend)
	e[readRadius] = reciprocal(e[readCurvature])
	e[readSecondRadius] = reciprocal(e[readSecondCurvature])
	return e
}

// neighbours are bends with the straight part held at lengths about that of
// b: over three standard uncertainties either way, or over the whole trace
// where the marks leave it open.
func (b *bend) neighbours(l layout) []*bend {
	if b.open() && b.shape == oneArc {
		return b.everywhere(24)
	}
	u := math.Sqrt(b.inv.variance(l.length)) * b.widening()
	const side, step = 3, 0.8
	var out []*bend
	for _, sign := range []float64{1, -1} {
		c := b.copyOf()
		c.hold = startHeld
		for k := range side + 1 {
			if k == 0 && sign < 0 {
				continue
			}
			c.arcs[0].length = b.arcs[0].length + sign*step*float64(k)*u
			if c.arcs[0].length < 0 || c.arcs[0].length > 0.99*b.size {
				break
			}
			c.chain()
			if c.iterate(2) {
				out = append(out, c.copyOf())
			}
		}
	}
	return out
}

// everywhere are bends with the straight part held at n lengths over the trace.
func (b *bend) everywhere(n int) []*bend {
	c := b.copyOf()
	c.arcs[1].length = math.Inf(1)
	var out []*bend
	for _, h := range c.profile(n, 5) {
		if h.ok {
			d := *c
			d.hold = startHeld
			d.arcs, d.chi2, d.inv = h.arcs, h.chi2, h.inv
			out = append(out, &d)
		}
	}
	return out
}

// mixture is the weighted mean of estimates that exclude each other and have
// the same sources.
type mixture struct {
	weight       float64
	first        source
	mean, square []float64
	terms        [][]float64 // of each result, by source
}

func newMixture(results int, g group) *mixture {
	m := &mixture{first: g.first, mean: make([]float64, results), square: make([]float64, results), terms: make([][]float64, results)}
	all := make([]float64, results*g.sources())
	for k := range m.terms {
		m.terms[k] = all[k*g.sources() : (k+1)*g.sources()]
	}
	return m
}

func (m *mixture) add(weight float64, e []estimate) {
	m.weight += weight
	for k := range e {
		u := e[k].std()
		m.mean[k] += weight * e[k].v
		m.square[k] += weight * (e[k].v*e[k].v + u*u)
		for _, t := range e[k].terms {
			m.terms[k][t.from-m.first] += weight * t.by
		}
	}
}

// spreadFactor widens what the spread over the starts of the curve adds to an
// uncertainty, because marks lie at some starts only. By trial: 300 noisy
// traces each of a dozen canals.
const spreadFactor = 1.1

// estimates returns the means; what the spread between the parts adds to their
// variance is a source of its own.
func (m *mixture) estimates(extra func() source) []estimate {
	out := make([]estimate, len(m.mean))
	for k := range out {
		e := estimate{m.mean[k] / m.weight, make([]term, 0, len(m.terms[k])+1)}
		for i, by := range m.terms[k] {
			if by != 0 {
				e.terms = append(e.terms, term{m.first + source(i), by / m.weight})
			}
		}
		u := e.std()
		rest := m.square[k]/m.weight - e.v*e.v - u*u
		e.terms = append(e.terms, term{extra(), spreadFactor * math.Sqrt(math.Max(rest, 0))})
		out[k] = e
	}
	return out
}
