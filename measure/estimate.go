package measure

import (
	"math"
	"slices"
)

// source names one independent cause of error: one coordinate of one mark,
// one known length, one stated spacing. Findings that share a source are
// correlated through it.
type source int

// term is the part of a value's standard uncertainty that comes from one
// source, signed: ∂f/∂x · u(x).
type term struct {
	from source
	by   float64
}

// estimate is a value with what each source contributes to its uncertainty
// (JCGM 100:2008, 5.1.2: u² = Σ (∂f/∂x)² u²(x) over independent inputs).
// Because contributions keep their sign and their source, sums, ratios and
// differences of estimates treat shared inputs as 5.2.2 asks. The terms are
// sorted by source.
type estimate struct {
	v     float64
	terms []term
}

// exact is a value without uncertainty.
func exact(v float64) estimate { return estimate{v: v} }

// known is an input of its own: a value with a standard uncertainty.
func known(v, u float64, from source) estimate {
	if u == 0 {
		return exact(v)
	}
	return estimate{v, []term{{from, u}}}
}

// std returns the combined standard uncertainty.
func (e estimate) std() float64 {
	sum := 0.0
	for _, t := range e.terms {
		sum += t.by * t.by
	}
	return math.Sqrt(sum)
}

// quantity gives the estimate a unit. Whatever is not a finite number becomes
// undefined.
func (e estimate) quantity(u Unit) Quantity {
	q := Quantity{e.v, e.std(), u}
	if !q.Defined() || math.IsNaN(q.StdUnc) || math.IsInf(q.StdUnc, 0) {
		return Undefined(u)
	}
	return q
}

// scaled multiplies by an exact factor.
func (e estimate) scaled(k float64) estimate { return e.through(e.v*k, k) }

// magnitude returns |e|. What is known to be near nothing keeps the
// uncertainty of the signed value.
func (e estimate) magnitude() estimate {
	if e.v < 0 {
		return e.scaled(-1)
	}
	return e
}

// shifted adds an exact number.
func (e estimate) shifted(d float64) estimate { return estimate{e.v + d, e.terms} }

// through is a function of one estimate: its value and its derivative there.
func (e estimate) through(v, derivative float64) estimate {
	out := estimate{v, make([]term, len(e.terms))}
	for i, t := range e.terms {
		out.terms[i] = term{t.from, t.by * derivative}
	}
	return out
}

// combine is a function of two estimates: its value and its derivatives.
func combine(v float64, a estimate, da float64, b estimate, db float64) estimate {
	out := estimate{v, make([]term, 0, len(a.terms)+len(b.terms))}
	i, j := 0, 0
	for i < len(a.terms) || j < len(b.terms) {
		switch {
		case j == len(b.terms) || i < len(a.terms) && a.terms[i].from < b.terms[j].from:
			out.terms = append(out.terms, term{a.terms[i].from, a.terms[i].by * da})
			i++
		case i == len(a.terms) || b.terms[j].from < a.terms[i].from:
			out.terms = append(out.terms, term{b.terms[j].from, b.terms[j].by * db})
			j++
		default:
			out.terms = append(out.terms, term{a.terms[i].from, a.terms[i].by*da + b.terms[j].by*db})
			i, j = i+1, j+1
		}
	}
	return out
}

func (e estimate) plus(b estimate) estimate  { return combine(e.v+b.v, e, 1, b, 1) }
func (e estimate) minus(b estimate) estimate { return combine(e.v-b.v, e, 1, b, -1) }
func (e estimate) times(b estimate) estimate { return combine(e.v*b.v, e, b.v, b, e.v) }
func (e estimate) over(b estimate) estimate {
	return combine(e.v/b.v, e, 1/b.v, b, -e.v/(b.v*b.v))
}

// widened adds a cause of error of its own, independent of all others.
func (e estimate) widened(u float64, from source) estimate { return e.plus(known(0, u, from)) }

// group is a set of marks as inputs: positions, the standard uncertainty of
// each in each direction, and the sources those errors have.
type group struct {
	p     []vec
	u     []float64
	first source
	dims  int       // 2 on an image, 3 in a volume
	z     []float64 // uncertainty along z where it differs from u; nil: as u
	// sights are given for marks on images of one line in space, one a mark.
	sights []sight
	closed bool // the marks go round
}

// sources is the number of sources that a group of n marks has.
func (g group) sources() int { return len(g.p) * g.dims }

// frame returns the directions in which the mark i is moved to see what its
// error does: along the line, and across it. They turn and mirror with the
// marks, so that uncertainties do not depend on how an image is turned.
func (g group) frame(i int) [3]vec {
	n := len(g.p)
	along := g.p[min(i+1, n-1)].sub(g.p[max(i-1, 0)]).unit()
	if g.closed {
		along = g.p[(i+1)%n].sub(g.p[(i+n-1)%n]).unit()
	}
	if along == (vec{}) {
		return [3]vec{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	}
	if g.dims == 2 {
		return [3]vec{along, along.left(), {}}
	}
	across := vec{1, 0, 0}
	if math.Abs(along.x) > 0.9 {
		across = vec{0, 1, 0}
	}
	across = along.cross(across).unit()
	return [3]vec{along, across, along.cross(across)}
}

// from returns the marks from index i on, with their sources.
func (g group) from(i int) group {
	out := group{p: g.p[i:], u: g.u[i:], first: g.first + source(i*g.dims), dims: g.dims}
	if g.z != nil {
		out.z = g.z[i:]
	}
	return out
}

// sd is the standard uncertainty of mark i in the direction of the unit vector d.
func (g group) sd(i int, d vec) float64 {
	if g.z == nil {
		return g.u[i]
	}
	z := d.z * d.z
	return math.Sqrt((1-z)*g.u[i]*g.u[i] + z*g.z[i]*g.z[i])
}

// propagated is an estimate with the error that the curvature of its function
// makes of the noise of the marks: bias = ½ Σ ∂²f/∂x² u²(x), the mean of the
// second-order term of JCGM 100:2008, 5.1.2, note.
type propagated struct {
	estimate
	bias float64
}

// propagate evaluates a function of several results at the marks and at marks
// moved by ± one standard uncertainty, and returns each result with its terms
// (numeric Jacobian by central differences).
func propagate(g group, results int, f func(p []vec, out []float64)) []propagated {
	p := slices.Clone(g.p)
	centre, plus, minus := make([]float64, results), make([]float64, results), make([]float64, results)
	f(p, centre)
	out := make([]propagated, results)
	terms := make([]term, results*g.sources())
	for k := range out {
		out[k].v = centre[k]
		out[k].terms = terms[k*g.sources() : k*g.sources() : (k+1)*g.sources()]
	}
	for i := range p {
		frame, at := g.frame(i), p[i]
		for d := range g.dims {
			p[i] = at.add(frame[d].mul(g.u[i]))
			f(p, plus)
			p[i] = at.add(frame[d].mul(-g.u[i]))
			f(p, minus)
			for k := range out {
				if by := (plus[k] - minus[k]) / 2; by != 0 {
					out[k].terms = append(out[k].terms, term{g.first + source(i*g.dims+d), by})
				}
				out[k].bias += (plus[k] + minus[k] - 2*centre[k]) / 2
			}
		}
		p[i] = at
	}
	return out
}

// propagate1 is propagate for a function with one result.
func propagate1(g group, f func(p []vec) float64) propagated {
	return propagate(g, 1, func(p []vec, out []float64) { out[0] = f(p) })[0]
}

// corrected deals with the bias of a propagated value. A bias below a quarter
// of the standard uncertainty is left in the value and added to the
// uncertainty in squares (JCGM 100:2008, F.2.4.5); a larger one is subtracted,
// and a fifth of it kept as uncertainty of the correction.
func (r propagated) corrected(from source) estimate {
	if math.Abs(r.bias) < r.std()/4 {
		return r.widened(r.bias, from)
	}
	return r.shifted(-r.bias).widened(r.bias/5, from)
}
