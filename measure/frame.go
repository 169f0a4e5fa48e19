package measure

import (
	"fmt"
	"math"
	"slices"
)

const (
	residualMethod = "root mean square distance of the pairs after a least-squares %s map of the second image onto the first, with its %d degrees of freedom"
	checkMethod    = "root mean square distance of the pairs after the map made from the images"
	statedMethod   = "√2 × the standard uncertainty stated with the map made from the images"
)

// Why there is no verdict on what two images show.
const (
	notAligned  = "the images are not aligned: another angulation changes sizes by itself"
	fewPairs    = "fewer than four pairs of marks: nothing checks the alignment"
	oneMapNot   = "the pairs do not fit one map within their uncertainty: marks on other structures, or images too oblique to each other"
	mirrorsMap  = "the alignment mirrors the image: check left and right"
	obliqueTo   = "the alignment stretches the image by %.0f %% more in one direction than across it: too oblique to compare"
	noPairs     = "no pairs of marks: the images are not aligned"
	spreadPairs = "needs pairs of marks spread over both images: %v"
)

// Limits of an alignment that a verdict may rest on. Common practice, no
// source, but for the number of pairs: four fix a projective map.
const (
	verdictPairs   = 4
	verdictStretch = 1.3   // of one direction against the one across it
	misfit         = 0.001 // chance below which pairs do not fit one map
	fitting        = 0.01  // chance above which the others do without one
)

// frame is how the second image of a recall is brought into the frame of the
// first: by a map made from the images, or by pairs of marks.
type frame struct {
	at     *Alignment // nil: not aligned
	pairs  group      // all marks before, then all marks after
	model  string     // of the map through the pairs
	images bool       // the map was made from the images
	u      float64    // its standard uncertainty in px
	moved  []movedMap // what the clicks on the pairs make of the map
	doubt  string     // why no verdict may rest on it
}

// frame works out what aligns the images of a recall and adds how well it fits.
func (w *work) frame(s subject, sc scale, r Recall) frame {
	f := frame{pairs: w.pairGroup(r), model: BestModel(len(r.Pairs))}
	if r.Map == nil {
		w.framePairs(&f, s, sc, r)
		return f
	}
	f.images, f.u = true, DefaultMap
	if r.MapUPX != nil {
		f.u = *r.MapUPX
	}
	to, from := w.stretch(r.Before), w.stretch(r.After)
	at := Alignment{{to, 0, 0}, {0, 1, 0}, {0, 0, 1}}.after(*r.Map).after(Alignment{{1 / from, 0, 0}, {0, 1, 0}, {0, 0, 1}})
	f.at = &at
	if len(r.Pairs) == 0 {
		s.add(WhatAlignmentResidual, sc.length(exact(math.Sqrt2*f.u)), statedMethod)
		return f
	}
	if chi2 := f.chi2(at, f.u, -1); chance(chi2, 2*len(r.Pairs)) < misfit {
		f.doubt = oneMapNot
	}
	n := float64(len(r.Pairs))
	s.add(WhatAlignmentResidual, sc.length(w.rms(f, at, 2*n)), checkMethod, f.badPairs()...)
	return f
}

// framePairs aligns by the pairs. One pair that keeps the others from fitting
// is left out and named.
func (w *work) framePairs(f *frame, s subject, sc scale, r Recall) {
	bad := f.badPair()
	var cautions []string
	if bad >= 0 {
		cautions = []string{fmt.Sprintf("pair %d misses the map of the others by %.1f px: left out", bad+1, f.missOf(bad))}
		r.Pairs = append(append([][2]Point{}, r.Pairs[:bad]...), r.Pairs[bad+1:]...)
		f.pairs = w.pairGroup(r)
		f.model = f.modelWithout()
	}
	n := len(r.Pairs)
	dof := 2*n - parametersOf[f.model]
	method := fmt.Sprintf(residualMethod, f.model, max(dof, 0))
	if n == 0 {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, noPairs)
		return
	}
	at, err := fitMap(f.pairs.p[:n], f.pairs.p[n:], f.model)
	if err != nil || n < leastPairs[f.model] {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, fmt.Sprintf(spreadPairs, orDegenerate(err)))
		return
	}
	f.at, f.moved = &at, movedMaps(f.pairs, f.model, at)
	if n < verdictPairs {
		f.doubt = fewPairs
	}
	if dof <= 0 {
		s.none(WhatAlignmentResidual, sc.lengthUnit(), method, "as many pairs as the map needs: nothing is left to check it")
		return
	}
	if chance(f.chi2(at, 0, -1), dof) < misfit {
		f.doubt = oneMapNot
		cautions = append(cautions, oneMapNot)
	}
	s.add(WhatAlignmentResidual, sc.length(w.rms(*f, at, float64(dof))), method, cautions...)
}

// rms is √(Σ distance² · 2 / degrees of freedom): the root mean square
// distance that the pairs would have were the map known. Its uncertainty is the
// spread of that of so many normal deviations. Few of them may look too good or
// too bad, so that what the clicks make has half of the say.
func (w *work) rms(f frame, at Alignment, dof float64) estimate {
	n := len(f.pairs.p) / 2
	sum, clicks := 0.0, 0.0
	for i := range n {
		d := at.apply(f.pairs.p[n+i]).dist(f.pairs.p[i])
		sum += d * d
	}
	for _, u := range f.pairs.u {
		clicks += u * u / float64(n)
	}
	rms := math.Sqrt(2 * sum / dof)
	return estimate{rms, []term{{w.source(), math.Sqrt((rms*rms/2 + clicks) / (2 * dof))}}}
}

// chi2 is the sum of the squared distances of the pairs after the map, in
// units of what their clicks and the map's own uncertainty make; the pair
// without is left out.
func (f frame) chi2(at Alignment, u float64, without int) (sum float64) {
	n := len(f.pairs.p) / 2
	for i := range n {
		if i == without {
			continue
		}
		off := at.apply(f.pairs.p[n+i]).dist(f.pairs.p[i]) / f.sd(at, i, u)
		sum += off * off
	}
	return sum
}

// sd is the standard uncertainty, in the first image and in each direction, of
// the distance of pair i after a map with the uncertainty u.
func (f frame) sd(at Alignment, i int, u float64) float64 {
	n := len(f.pairs.p) / 2
	longest, shortest, _ := at.stretches(f.pairs.p[n+i])
	return math.Hypot(math.Hypot(f.pairs.u[i], u), f.pairs.u[n+i]*math.Sqrt(longest*shortest))
}

// badPairs names pairs that the map made from the images misses by more than
// four standard uncertainties, which happens by chance once in 3000 pairs.
func (f frame) badPairs() (cautions []string) {
	n := len(f.pairs.p) / 2
	for i := range n {
		off := f.at.apply(f.pairs.p[n+i]).dist(f.pairs.p[i])
		if off > 4*f.sd(*f.at, i, f.u) {
			cautions = append(cautions, fmt.Sprintf("pair %d misses the map made from the images by %.1f px: check it", i+1, off))
		}
	}
	return cautions
}

// modelWithout is the model for the pairs without one: that of all, if it
// leaves something to check it by.
func (f frame) modelWithout() string {
	if n := len(f.pairs.p)/2 - 1; n < leastPairs[f.model]+1 {
		return BestModel(n)
	}
	return f.model
}

// without fits the map to all pairs but one, and gives the chance that the
// others fit as badly as they do; 0 where they leave nothing to check it by.
func (f frame) without(i int) (at Alignment, fits float64) {
	n := len(f.pairs.p) / 2
	model := f.modelWithout()
	to := append(append([]vec{}, f.pairs.p[:i]...), f.pairs.p[i+1:n]...)
	from := append(append([]vec{}, f.pairs.p[n:n+i]...), f.pairs.p[n+i+1:]...)
	dof := 2*len(to) - parametersOf[model]
	at, err := fitMap(to, from, model)
	if err != nil || dof <= 0 || len(to) < leastPairs[model] {
		return at, 0
	}
	return at, chance(f.chi2(at, 0, i), dof)
}

// badPair is the index of the one pair without which the others fit, when all
// together do not; −1 when there is none, or more than one may be it.
func (f frame) badPair() int {
	n := len(f.pairs.p) / 2
	dof := 2*n - parametersOf[f.model]
	if dof <= 0 {
		return -1
	}
	at, err := fitMap(f.pairs.p[:n], f.pairs.p[n:], f.model)
	if err != nil || chance(f.chi2(at, 0, -1), dof) >= misfit {
		return -1
	}
	bad := -1
	for i := range n {
		if _, fits := f.without(i); fits > fitting {
			if bad >= 0 {
				return -1
			}
			bad = i
		}
	}
	return bad
}

// missOf is the distance of a pair after the map of the others, in px.
func (f frame) missOf(i int) float64 {
	n := len(f.pairs.p) / 2
	at, _ := f.without(i)
	return at.apply(f.pairs.p[n+i]).dist(f.pairs.p[i])
}

// noVerdict says why no verdict may rest on the alignment where the points p
// of the second image lie; empty where one may.
func (f frame) noVerdict(p []vec) string {
	if f.at == nil {
		return notAligned
	}
	if f.doubt != "" {
		return f.doubt
	}
	var centre vec
	for _, q := range p {
		centre = centre.add(q.mul(1 / float64(len(p))))
	}
	longest, shortest, mirrors := f.at.stretches(centre)
	switch {
	case mirrors:
		return mirrorsMap
	case !(longest < verdictStretch*shortest):
		return fmt.Sprintf(obliqueTo, 100*(longest/shortest-1))
	}
	return ""
}

// stretches are the largest and the smallest factor by which the map changes
// lengths at p (the singular values of its Jacobian), and whether it mirrors.
func (a Alignment) stretches(p vec) (longest, shortest float64, mirrors bool) {
	w := a[2][0]*p.x + a[2][1]*p.y + a[2][2]
	q := a.apply(p)
	xx, xy := (a[0][0]-q.x*a[2][0])/w, (a[0][1]-q.x*a[2][1])/w
	yx, yy := (a[1][0]-q.y*a[2][0])/w, (a[1][1]-q.y*a[2][1])/w
	turn, skew := math.Hypot(xx+yy, yx-xy)/2, math.Hypot(xx-yy, yx+xy)/2
	return turn + skew, math.Abs(turn - skew), turn < skew
}

// brought returns the marks of a group of the second image in the frame of the
// first, with their own sources; the group itself where there is no map.
func (f frame) brought(g group) group {
	if f.at == nil {
		return g
	}
	out := g
	out.p, out.u = make([]vec, len(g.p)), make([]float64, len(g.p))
	for i, q := range g.p {
		longest, shortest, _ := f.at.stretches(q)
		out.p[i], out.u[i] = f.at.apply(q), g.u[i]*math.Sqrt(longest*shortest)
	}
	return out
}

// movedMap is a map with one coordinate of one mark moved by ± its standard
// uncertainty.
type movedMap struct {
	from        source
	plus, minus Alignment
}

// movedMaps are the maps through the pairs with each coordinate of each mark
// moved in its turn.
func movedMaps(pairs group, model string, at Alignment) []movedMap {
	n := len(pairs.p) / 2
	p := slices.Clone(pairs.p)
	fit := func() Alignment {
		a, err := fitMap(p[:n], p[n:], model)
		if err != nil {
			return at
		}
		return a
	}
	var out []movedMap
	for i, q := range p {
		if pairs.u[i] == 0 {
			continue
		}
		for d, by := range [2]vec{{pairs.u[i], 0, 0}, {0, pairs.u[i], 0}} {
			m := movedMap{from: pairs.first + source(2*i+d)}
			p[i] = q.add(by)
			m.plus = fit()
			p[i] = q.sub(by)
			m.minus = fit()
			out = append(out, m)
		}
		p[i] = q
	}
	return out
}

// mapErrors is what the uncertainty of the map makes of values of points p of
// the second image, which value computes from their places in the first:
// estimates of nothing, with terms (numeric Jacobian by central differences).
func (w *work) mapErrors(f frame, p []vec, results int, value func(p []vec, out []float64)) []estimate {
	maps := f.moved
	if f.images {
		maps = movedMaps(f.around(w, p), ModelProjective, *f.at)
	}
	at := make([]vec, len(p))
	seen := func(a Alignment, out []float64) {
		for i := range p {
			at[i] = a.apply(p[i])
		}
		value(at, out)
	}
	plus, minus, out := make([]float64, results), make([]float64, results), make([]estimate, results)
	for _, m := range maps {
		seen(m.plus, plus)
		seen(m.minus, minus)
		for k := range out {
			out[k].terms = append(out[k].terms, term{m.from, (plus[k] - minus[k]) / 2})
		}
	}
	return out
}

// around returns the pairs that stand for a map made from the images where the
// points p of the second image lie: four at the corners of the square about
// them, each with the whole uncertainty of the map and independent of the
// others. Maps err less than that from place to place, so that sizes are stated
// on the safe side.
func (f frame) around(w *work, p []vec) group {
	lo, hi := f.at.apply(p[0]), f.at.apply(p[0])
	for _, q := range p {
		q = f.at.apply(q)
		lo = vec{math.Min(lo.x, q.x), math.Min(lo.y, q.y), 0}
		hi = vec{math.Max(hi.x, q.x), math.Max(hi.y, q.y), 0}
	}
	centre, half := lo.lerp(hi, 0.5), math.Max(hi.x-lo.x, hi.y-lo.y)/2
	back := f.at.inverse()
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

func orDegenerate(err error) error {
	if err == nil {
		return errDegenerate
	}
	return err
}

// parametersOf is the number of numbers in a model.
var parametersOf = map[string]int{ModelSimilarity: 4, ModelAffine: 6, ModelProjective: 8}
