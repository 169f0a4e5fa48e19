package measure

import (
	"fmt"
	"math"
	"time"
)

const (
	residualMethod = "root mean square distance of the pairs after a least-squares %s map of the second image onto the first, with its %d degrees of freedom"
	changeInFrame  = "%s in the second image, brought into the frame of the first, − %s in the first: one scale, whose error cancels in part"
	changeApart    = "%s in the second image − %s in the first, each by the scale of its own image"
)

// A compared lesion: the outline before and after, as inputs.
type compared struct {
	s             subject
	before, after Lesion
	scale         scale // of the first image
	second        scale // of the second; used where the images are not aligned
	years         float64
}

// recall adds what comparing two images gives.
func (w *work) recall(r Recall) {
	before, after := w.imageMarks(r.Before), w.imageMarks(r.After)
	pic, second := w.images[r.Before], w.images[r.After]
	if pic == nil || second == nil {
		return
	}
	name := r.Before + ", " + r.After
	s := subject{w: w, image: name, of: ImageSubject, cautions: pic.scale.cautions}
	g := w.pairGroup(r)
	model, fits := w.residual(s, pic.scale, r, g)
	for _, a := range before.Lesions {
		for _, b := range after.Lesions {
			if a.Tooth != b.Tooth || a.Name != b.Name || r.Lesion != "" && a.Name != r.Lesion {
				continue
			}
			c := compared{subject{w: w, image: name, of: LesionSubject(a), cautions: pic.scale.cautions}, a, b, pic.scale, second.scale, years(before.Date, after.Date)}
			w.compare(c, r, g, model, fits)
			w.volumeChange(c)
		}
	}
}

func (w *work) imageMarks(id string) ImageMarks {
	for _, im := range w.marks.Images {
		if im.ID == id {
			return im
		}
	}
	return ImageMarks{}
}

// years is the time between two dates in years of 365.25 days; NaN when a date
// is missing.
func years(before, after string) float64 {
	a, err1 := time.Parse(time.DateOnly, before)
	b, err2 := time.Parse(time.DateOnly, after)
	if err1 != nil || err2 != nil {
		return math.NaN()
	}
	return b.Sub(a).Hours() / 24 / 365.25
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

// compare adds the changes of a lesion between two images.
func (w *work) compare(c compared, r Recall, pairs group, model string, aligned bool) {
	x, y := w.outlineGroup(r.Before, c.before.Outline), w.outlineGroup(r.After, c.after.Outline)
	for _, p := range [][]vec{x.p, y.p} {
		if why := outlineProblem(p); why != "" {
			c.s.none(WhatAreaChange, c.scale.areaUnit(), fmt.Sprintf(changeApart, "area", "area"), why)
			c.s.none(WhatDiameterChange, c.scale.lengthUnit(), fmt.Sprintf(changeApart, "longest diameter", "longest diameter"), why)
			return
		}
	}
	if !aligned && c.scale.known != c.second.known {
		c.s.none(WhatAreaChange, SquareMillimetre, fmt.Sprintf(changeApart, "area", "area"), "one of the images has no calibration, and they are not aligned")
		return
	}
	area0, long0 := sizes(x, nil)
	var area1, long1 estimate
	method, second := changeApart, c.second
	if aligned {
		method, second = changeInFrame, c.scale
		area1, long1 = w.mappedSizes(y, pairs, model)
	} else {
		c.s.cautions = append(c.s.cautions, "the images are not aligned: another angulation changes sizes by itself")
		area1, long1 = sizes(y, nil)
	}
	toArea := func(e estimate, s scale) estimate { return s.squared(e) }
	toLength := func(e estimate, s scale) estimate { return s.times(e) }
	w.change(c, WhatAreaChange, c.scale.areaUnit(), toArea(area0, c.scale), toArea(area1, second), fmt.Sprintf(method, "area", "area"))
	w.change(c, WhatDiameterChange, c.scale.lengthUnit(), toLength(long0, c.scale), toLength(long1, second), fmt.Sprintf(method, "longest diameter", "longest diameter"))
}

// times and squared turn px and px² into mm and mm² where the scale is known.
func (s scale) times(e estimate) estimate {
	if !s.known {
		return e
	}
	return e.times(s.mmPerPx)
}

func (s scale) squared(e estimate) estimate { return s.times(s.times(e)) }

// change adds a difference, its percentage of the first value, and its rate
// per year.
func (w *work) change(c compared, what string, unit Unit, before, after estimate, method string) {
	d := after.minus(before)
	c.s.add(what, d.quantity(unit), method)
	percent := after.over(before).shifted(-1).scaled(100)
	c.s.add(what+percentSuffix, percent.quantity(Percent), "change / value in the first image")
	if c.years > 0 {
		c.s.add(what+perYearSuffix, d.scaled(1/c.years).quantity(unit), fmt.Sprintf("change / %.2f years", c.years))
	}
}

// Suffixes of WhatAreaChange, WhatDiameterChange and WhatVolumeChange: the
// change in per cent of the first value, and the change per year.
const (
	percentSuffix = "_percent"
	perYearSuffix = "_per_year"
)

// sizes are the area and the longest diameter of an outline in px, on a map.
func sizes(g group, through func(p []vec) []vec) (area, longest estimate) {
	var b builder
	seen := func(p []vec) curve {
		if through != nil {
			p = through(p)
		}
		return b.closed(p)
	}
	o := seen(g.p)
	found := newDiameters(o)
	r := propagate(g, 2, func(p []vec, out []float64) {
		c := seen(p)
		out[0] = c.area()
		out[1], _ = found.moved(c).lengths(c)
	})
	return r[0].estimate.magnitude(), r[1].estimate
}

// mappedSizes are the sizes of an outline in the frame of the first image,
// with the uncertainty of the map.
func (w *work) mappedSizes(y, pairs group, model string) (area, longest estimate) {
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

const volumeMethod = "as measured in the volume and recorded with the lesion"

// volume adds a recorded volume.
func (w *work) volume(s subject, l Lesion) {
	if l.VolumeMM3 != nil {
		s.cautions = nil
		s.add(WhatVolume, l.volume(w).quantity(CubicMillimetre), volumeMethod)
	}
}

// DefaultVolume is the relative standard uncertainty of a volume recorded
// without one. Common practice, no source.
const DefaultVolume = 0.05

func (l Lesion) volume(w *work) estimate {
	u := DefaultVolume * *l.VolumeMM3
	if l.VolumeUMM3 != nil {
		u = *l.VolumeUMM3
	}
	return known(*l.VolumeMM3, u, w.source())
}

func (w *work) volumeChange(c compared) {
	if c.before.VolumeMM3 == nil || c.after.VolumeMM3 == nil {
		return
	}
	c.s.cautions = nil
	w.change(c, WhatVolumeChange, CubicMillimetre, c.before.volume(w), c.after.volume(w), "volume in the second recording − volume in the first")
}
