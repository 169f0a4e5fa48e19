package measure

import (
	"fmt"
	"math"
)

const (
	residualMethod = "root mean square distance of the pairs after a least-squares %s map of the second image onto the first, with its %d degrees of freedom"
	checkMethod    = "root mean square distance of the pairs after the map made from the images"
	statedMethod   = "√2 × the standard uncertainty stated with the map made from the images"
)

// frame is how the second image of a recall is brought into the frame of the
// first: by a map made from the images, or by pairs of marks.
type frame struct {
	aligned bool
	pairs   group // all marks before, then all marks after
	model   string
	images  *Alignment // made from the images; nil: from the pairs
	u       float64    // its standard uncertainty in px
}

// frame works out what aligns the images of a recall and adds how well it fits.
func (w *work) frame(s subject, sc scale, r Recall) frame {
	g := w.pairGroup(r)
	if r.Map == nil {
		model, ok := w.residual(s, sc, r, g)
		return frame{aligned: ok, pairs: g, model: model}
	}
	u := DefaultMap
	if r.MapUPX != nil {
		u = *r.MapUPX
	}
	to, from := w.stretch(r.Before), w.stretch(r.After)
	at := Alignment{{to, 0, 0}, {0, 1, 0}, {0, 0, 1}}.after(*r.Map).after(Alignment{{1 / from, 0, 0}, {0, 1, 0}, {0, 0, 1}})
	f := frame{aligned: true, pairs: g, model: ModelProjective, images: &at, u: u}
	if len(g.p) == 0 {
		s.add(WhatAlignmentResidual, sc.length(exact(math.Sqrt2*u)), statedMethod)
		return f
	}
	sum, clicks := f.misses()
	n := float64(len(r.Pairs))
	rms := math.Sqrt(sum / n)
	q := estimate{rms, []term{{w.source(), math.Sqrt((rms*rms/2 + clicks/n) / (4 * n))}}}
	s.add(WhatAlignmentResidual, sc.length(q), checkMethod, f.badPairs()...)
	return f
}

// misses is the sum of the squared distances by which the map made from the
// images misses the pairs, and what the clicks make of it.
func (f frame) misses() (sum, clicks float64) {
	n := len(f.pairs.p) / 2
	for i := range n {
		d := f.images.apply(f.pairs.p[n+i]).dist(f.pairs.p[i])
		sum += d * d
		clicks += f.pairs.u[i]*f.pairs.u[i] + f.pairs.u[n+i]*f.pairs.u[n+i]
	}
	return sum, clicks
}

// badPairs names pairs that the map made from the images misses by more than
// four standard uncertainties, which happens by chance once in 3000 pairs.
func (f frame) badPairs() (cautions []string) {
	n := len(f.pairs.p) / 2
	for i := range n {
		off := f.images.apply(f.pairs.p[n+i]).dist(f.pairs.p[i])
		if off > 4*math.Hypot(math.Hypot(f.pairs.u[i], f.pairs.u[n+i]), f.u) {
			cautions = append(cautions, fmt.Sprintf("pair %d misses the map made from the images by %.1f px: check it", i+1, off))
		}
	}
	return cautions
}

// around returns the pairs that stand for the map where the points p of the
// second image lie. A map made from the images is put as four pairs at the
// corners of the square about them, each with the whole uncertainty of the map
// and independent of the others: maps err less than that from place to place,
// so that sizes are stated on the safe side.
func (f frame) around(w *work, p []vec) group {
	if f.images == nil {
		return f.pairs
	}
	lo, hi := f.images.apply(p[0]), f.images.apply(p[0])
	for _, q := range p {
		q = f.images.apply(q)
		lo = vec{math.Min(lo.x, q.x), math.Min(lo.y, q.y), 0}
		hi = vec{math.Max(hi.x, q.x), math.Max(hi.y, q.y), 0}
	}
	centre, half := lo.lerp(hi, 0.5), math.Max(hi.x-lo.x, hi.y-lo.y)/2
	back := f.images.inverse()
	g := group{dims: 2, first: w.next}
	for _, c := range []vec{{-1, -1, 0}, {1, -1, 0}, {1, 1, 0}, {-1, 1, 0}} {
		g.p, g.u = append(g.p, centre.add(c.mul(half))), append(g.u, f.u)
	}
	for _, q := range g.p[:4:4] {
		g.p, g.u = append(g.p, back.apply(q)), append(g.u, 0)
	}
	w.next += source(g.sources())
	return g
}

// inverse undoes the map; it is NaN where the map can't be undone.
func (a Alignment) inverse() (b Alignment) {
	for i := range 3 {
		for j := range 3 {
			k, l := (j+1)%3, (j+2)%3
			m, n := (i+1)%3, (i+2)%3
			b[i][j] = a[k][m]*a[l][n] - a[k][n]*a[l][m]
		}
	}
	scale := b[2][2]
	for i := range 3 {
		for j := range 3 {
			b[i][j] /= scale
		}
	}
	return b
}

// pairGroup is the pairs of a recall as one group of inputs: all marks before,
// then all marks after.
func (w *work) pairGroup(r Recall) group {
	before, after := make([]Point, len(r.Pairs)), make([]Point, len(r.Pairs))
	for i, p := range r.Pairs {
		before[i], after[i] = p[0], p[1]
	}
	x, y := w.group(r.Before, before), w.group(r.After, after)
	return group{p: append(x.p, y.p...), u: append(x.u, y.u...), first: x.first, dims: 2}
}

// residual adds how well the pairs fit, and returns the model of the map and
// whether there is one.
func (w *work) residual(s subject, sc scale, r Recall, g group) (model string, ok bool) {
	n := len(r.Pairs)
	model = BestModel(n)
	method := fmt.Sprintf(residualMethod, model, max(2*n-parametersOf[model], 0))
	if n == 0 {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, "no pairs of marks: the images are not aligned")
		return model, false
	}
	if _, err := fitMap(g.p[:n], g.p[n:], model); err != nil || n < leastPairs[model] {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, "needs pairs of marks spread over both images: "+fmt.Sprint(orDegenerate(err)))
		return model, false
	}
	dof := 2*n - parametersOf[model]
	if dof <= 0 {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, "as many pairs as the map needs: nothing is left to check it")
		return model, true
	}
	rms := pairResidual(g.p, model)
	// The spread of a root mean square of 2n − p normal deviations. Few of them may
	// look too good or too bad, so that what the clicks make has half of the say.
	clicks := 0.0
	for _, u := range g.u {
		clicks += u * u / float64(n)
	}
	q := estimate{rms, []term{{w.source(), math.Sqrt((rms*rms/2 + clicks) / (2 * float64(dof)))}}}
	s.add(WhatAlignmentResidual, sc.length(q), method, badPairs(g, model)...)
	return model, true
}

func orDegenerate(err error) error {
	if err == nil {
		return errDegenerate
	}
	return err
}

// parametersOf is the number of numbers in a model.
var parametersOf = map[string]int{ModelSimilarity: 4, ModelAffine: 6, ModelProjective: 8}

// pairResidual is √(Σ distance² / degrees of freedom · 2): the root mean square
// distance that pairs would have were the map known.
func pairResidual(p []vec, model string) float64 {
	n := len(p) / 2
	a, err := fitMap(p[:n], p[n:], model)
	if err != nil {
		return math.NaN()
	}
	sum := 0.0
	for i := range n {
		d := a.apply(p[n+i]).sub(p[i])
		sum += d.dot(d)
	}
	return math.Sqrt(2 * sum / float64(2*n-parametersOf[model]))
}

// badPairs names pairs that a map through the others misses by more than four
// of their standard uncertainties.
func badPairs(g group, model string) (cautions []string) {
	n := len(g.p) / 2
	if n <= leastPairs[model] {
		return nil
	}
	for i := range n {
		to := append(append([]vec{}, g.p[:i]...), g.p[i+1:n]...)
		from := append(append([]vec{}, g.p[n:n+i]...), g.p[n+i+1:]...)
		a, err := fitMap(to, from, model)
		if err != nil {
			continue
		}
		spread := 0.0
		for k := range to {
			spread = math.Max(spread, a.apply(from[k]).dist(to[k]))
		}
		off, u := a.apply(g.p[n+i]).dist(g.p[i]), math.Hypot(g.u[i], g.u[n+i])
		if off > 8*u && off > 4*spread {
			cautions = append(cautions, fmt.Sprintf("pair %d misses the map of the others by %.1f px: check it", i+1, off))
		}
	}
	return cautions
}

// mappedSizes are the sizes of an outline in the frame of the first image,
// with the uncertainty of the map.
func (w *work) mappedSizes(y group, f frame) (area, longest estimate) {
	pairs, model := f.around(w, y.p), f.model
	n := len(pairs.p) / 2
	at, err := fitMap(pairs.p[:n], pairs.p[n:], model)
	if err != nil {
		return undefined(), undefined()
	}
	image := func(a Alignment) []vec {
		out := make([]vec, len(y.p))
		for i, q := range y.p {
			out[i] = a.apply(q)
		}
		return out
	}
	if outlineProblem(image(at)) != "" {
		return undefined(), undefined()
	}
	area, longest = sizes(y, func(p []vec) []vec {
		out := make([]vec, len(p))
		for i, q := range p {
			out[i] = at.apply(q)
		}
		return out
	})
	found := newDiameters(closedCurve(image(at)))
	r := propagate(pairs, 2, func(p []vec, out []float64) {
		a, err := fitMap(p[:n], p[n:], model)
		if err != nil {
			a = at
		}
		c := closedCurve(image(a))
		out[0] = math.Abs(c.area())
		out[1], _ = found.moved(c).lengths(c)
	})
	return area.plus(estimate{terms: r[0].terms}), longest.plus(estimate{terms: r[1].terms})
}
