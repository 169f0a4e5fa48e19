package measure

import (
	"fmt"
	"math"
)

const (
	depthMethod3    = "shift between two views whose beams differ by %g° (detector %s), over the common height of both canals"
	trueAngleMethod = "Schneider's construction on the ideal canal fitted to the centre line in three dimensions from two views"
)

// beam is how two views see a point at the horizontal place x and the depth z:
// the first view shows x, the second across·x + deep·z. A detector held
// parallel to the teeth in both gives across = 1, deep = tan α, one turned with
// the beam across = cos α, deep = sin α (similar triangles, parallel beams).
type beam struct{ across, deep float64 }

func newBeam(v View) (b beam, problem string) {
	a := v.AngleDeg / degrees
	switch {
	case !(math.Abs(v.AngleDeg) > 0 && math.Abs(v.AngleDeg) < 90):
		return beam{}, fmt.Sprintf("a change of beam direction of %g° gives no depth", v.AngleDeg)
	case v.Detector == DetectorTurned:
		return beam{math.Cos(a), math.Sin(a)}, ""
	}
	return beam{1, math.Tan(a)}, ""
}

// depth is the depth of a point seen at x1 and at x2, from any one origin.
func (b beam) depth(x1, x2 float64) float64 { return (x2 - b.across*x1) / b.deep }

// pair is one canal seen in two views: its marks as one group of inputs, the
// first n of them in the first view.
type pair struct {
	canal  Canal
	made   made
	marks  group
	n      int
	start  int // index of the mark at which the curve starts, or −1
	second track
	// otherOrifice is the index of the orifice among the marks of the second
	// view.
	otherOrifice int
}

// view adds what two angled views of the same canals give.
func (w *work) view(v View) {
	ids := v.Images
	name := w.comparedImages(ids[0], ids[1])
	pairs := w.pairs(ids)
	b, problem := newBeam(v)
	s1, s2, caution := w.viewScales(ids)
	method := fmt.Sprintf(depthMethod3, v.AngleDeg, orElse(v.Detector, DetectorParallel))
	for i, p := range pairs {
		for _, q := range pairs[i+1:] {
			s := subject{w: w, image: name, of: relation(p.canal, q.canal), cautions: caution, made: append(p.made, q.made...)}
			if problem != "" {
				s.none(WhatDepthSeparation, s1.lengthUnit(), method, problem)
				continue
			}
			w.depthSeparation(s, b, s1, s2, p, q, method)
		}
	}
	for _, p := range pairs {
		s := subject{w: w, image: name, of: CanalSubject(p.canal), cautions: caution, made: p.made}
		if problem != "" {
			s.none(WhatTrueAngle, Degree, trueAngleMethod, problem)
			continue
		}
		w.trueAngle(s, b, s1, s2, p)
	}
}

// relation names two canals: "canals 46 MB, ML".
func relation(a, b Canal) string {
	if a.Tooth == b.Tooth {
		return of("canals", a.Tooth, a.Name) + ", " + b.Name
	}
	return of("canals", a.Tooth, a.Name) + ", " + of(b.Tooth, b.Name)
}

func orElse(s, fallback string) string {
	if s == "" {
		return fallback
	}
	return s
}

// pairs finds the canals that both images show, in the order of the first.
func (w *work) pairs(ids [2]string) []pair {
	var im [2]ImageMarks
	for _, m := range w.marks.Images {
		for k, id := range ids {
			if m.ID == id {
				im[k] = m
			}
		}
	}
	var out []pair
	for _, c := range im[0].Canals {
		other, ok := im[1].canal(c.Tooth, c.Name)
		if !ok || openCurve(vecs(c.Marks)) == nil {
			continue
		}
		n := len(c.Marks)
		first := w.group(ids[0], c.Marks)
		second := w.group(ids[1], other.Marks)
		g := group{p: append(first.p, second.p...), u: append(first.u, second.u...), first: first.first, dims: 2}
		p := pair{canal: c, made: made{c.By, other.By}, marks: g, n: n, start: startMark(c, min(max(c.Orifice, 0), n-2))}
		orifice := min(max(other.Orifice, 0), len(second.p)-2)
		p.second, p.otherOrifice = newTrack(orifice, fitBend(second.from(orifice), -1)), orifice
		out = append(out, p)
	}
	return out
}

// viewScales returns the scales of both views. Without a calibration of both,
// px are taken as equal.
func (w *work) viewScales(ids [2]string) (s1, s2 scale, caution []string) {
	var s [2]scale
	for k, id := range ids {
		if pic := w.images[id]; pic != nil {
			s[k] = pic.scale
		}
	}
	if !s[0].known || !s[1].known {
		same := scale{mmPerPx: exact(1)}
		return same, same, []string{"not both views are calibrated: in pixels, taken as equal in both"}
	}
	return s[0], s[1], nil
}

// heights is the number of heights at which two canals are compared.
const heights = 16

// depthSeparation adds how much deeper the first canal lies than the second:
// the mean over their common height in the first view.
func (w *work) depthSeparation(s subject, b beam, s1, s2 scale, p, q pair, method string) {
	top := math.Max(p.marks.p[0].y, q.marks.p[0].y)
	bottom := math.Min(p.marks.p[p.n-1].y, q.marks.p[q.n-1].y)
	if p.marks.p[0].y > p.marks.p[p.n-1].y { // roots point up
		top = math.Min(p.marks.p[0].y, q.marks.p[0].y)
		bottom = math.Max(p.marks.p[p.n-1].y, q.marks.p[q.n-1].y)
	}
	if (bottom-top)*(p.marks.p[p.n-1].y-p.marks.p[0].y) <= 0 || (bottom-top)*(q.marks.p[q.n-1].y-q.marks.p[0].y) <= 0 {
		s.none(WhatDepthSeparation, s1.lengthUnit(), method, "the canals have no height in common")
		return
	}
	d := p.meanDepth(b, s1, s2, top, bottom).minus(q.meanDepth(b, s1, s2, top, bottom))
	unit := Millimetre
	if !s1.known {
		unit = Pixel
	}
	s.add(WhatDepthSeparation, d.quantity(unit), method)
}

// meanDepth is the mean depth of the canal between two heights of the first
// view, from the origin of the images.
func (p pair) meanDepth(b beam, s1, s2 scale, top, bottom float64) estimate {
	var seen [2]propagated // mean x in each view, in px
	r := propagate(p.marks, 2, func(m []vec, out []float64) {
		first, second := openCurve(m[:p.n]), p.second.curve(m[p.n:])
		out[0], out[1] = 0, 0
		for k := range heights {
			y := top + (bottom-top)*(float64(k)+0.5)/heights
			out[0] += first.atHeight(y).x / heights
			out[1] += second.atHeight(p.heightInSecond(m, y)).x / heights
		}
	})
	copy(seen[:], r)
	x1 := seen[0].estimate.times(s1.mmPerPx)
	x2 := seen[1].estimate.times(s2.mmPerPx)
	return x2.minus(x1.scaled(b.across)).scaled(1 / b.deep)
}

// heightInSecond is the height in the second view of what lies at the height y
// in the first: both ends of the canal are the same in both views, and between
// them heights go in proportion, which allows for another foreshortening.
func (p pair) heightInSecond(m []vec, y float64) float64 {
	a1, b1 := m[0].y, m[p.n-1].y
	a2, b2 := m[p.n].y, m[len(m)-1].y
	return a2 + (y-a1)*(b2-a2)/(b1-a1)
}

// atHeight returns the first point of the curve at the height y; beyond the
// ends, on the end tangent.
func (c curve) atHeight(y float64) vec {
	for i, s := range c {
		up := s.p1.y > s.p0.y
		if i < len(c)-1 && (up && y > s.p1.y || !up && y < s.p1.y) {
			continue
		}
		t := (y - s.p0.y) / (s.p1.y - s.p0.y)
		inside := math.Min(math.Max(t, 0), 1)
		for range 20 {
			v := s.velocity(inside).y
			step := (y - s.at(inside).y) / v
			next := math.Min(math.Max(inside+step, 0), 1)
			if math.Abs(next-inside) < 1e-13 {
				break
			}
			inside = next
		}
		v := s.velocity(inside)
		return s.at(inside).add(v.mul((y - s.at(inside).y) / v.y))
	}
	return vec{}
}

// inSpace returns the marks of the first view in three dimensions, in the unit
// of the scales, from the first mark: x and y as the first view shows them,
// z the depth.
func (p pair) inSpace(m []vec, b beam, s1, s2 float64) []vec {
	second := p.second.curve(m[p.n:])
	out := make([]vec, p.n)
	for i, q := range m[:p.n] {
		x2 := m[p.n].x
		switch {
		case i == p.n-1:
			x2 = m[len(m)-1].x
		case i > 0:
			x2 = second.atHeight(p.heightInSecond(m, q.y)).x
		}
		x1 := (q.x - m[0].x) * s1
		out[i] = vec{x1, (q.y - m[0].y) * s1, b.depth(x1, (x2-m[p.n].x)*s2)}
	}
	return out
}

// trueAngle adds Schneider's angle of the canal in three dimensions. A first
// line in space comes from marks paired by height; then the ideal canal is
// fitted to the marks of both views as each view shows it, so that nothing is
// interpolated between marks.
func (w *work) trueAngle(s subject, b beam, s1, s2 scale, p pair) {
	k1, k2 := s1.mmPerPx.v, s2.mmPerPx.v
	first := p.guess(b, k1, k2)
	if first == nil {
		s.none(WhatTrueAngle, Degree, trueAngleMethod, "the two traces can't be paired by height, or have too few marks")
		return
	}
	fitted := first.copyOf()
	fitted.marks = p.seen(b, k1, k2, w)
	if fitted.dof() < 0 || !fitted.iterate(60) {
		s.none(WhatTrueAngle, Degree, trueAngleMethod, "the marks of the two views do not determine a line in space")
		return
	}
	fitted.residuals(fitted.layout(), true)
	through := newTransfer(fitted.reads(w)[readSchneider], fitted.marks, fitted.widening())
	angle := through.marks(p.marks, func(m []vec) []vec { return p.places(m, k1, k2) })
	const h = 1e-3
	by1 := through.of(p.places(p.marks.p, k1*(1+h), k2), p.places(p.marks.p, k1*(1-h), k2)) / (2 * h * k1)
	by2 := through.of(p.places(p.marks.p, k1, k2*(1+h)), p.places(p.marks.p, k1, k2*(1-h))) / (2 * h * k2)
	angle = combine(angle.v, angle, 1, s1.mmPerPx, by1)
	angle = combine(angle.v, angle, 1, s2.mmPerPx, by2)
	var caution []string
	if fitted.open() {
		caution = append(caution, whyOpen)
	}
	if !fitted.explains() {
		caution = append(caution, whyIrregular)
	}
	s.angle(WhatTrueAngle, angle, trueAngleMethod, caution...)
}

// guess is the ideal canal fitted to points in space that come from pairing
// the two traces by height; nil where that fails.
func (p pair) guess(b beam, k1, k2 float64) *bend {
	orifice := p.orifice()
	g := group{p: p.inSpace(p.marks.p, b, k1, k2)[orifice:], dims: 3}
	for i := range g.p {
		u := p.marks.u[i] * k1
		g.u = append(g.u, u)
		g.z = append(g.z, 2*u/math.Abs(b.deep))
	}
	if !finite(g.p) || openCurve(g.p) == nil {
		return nil
	}
	return fitBend(g, p.start-orifice)
}

func (p pair) orifice() int { return min(max(p.canal.Orifice, 0), p.n-2) }

// seen is the marks of both views, from the orifice on, as inputs of a fit in
// space.
func (p pair) seen(b beam, k1, k2 float64, w *work) group {
	views := [2]sight{{vec{1, 0, 0}, vec{0, 1, 0}}, {vec{b.across, 0, b.deep}, vec{0, 1, 0}}}
	g := group{p: p.places(p.marks.p, k1, k2), dims: 2, first: w.next}
	for i := range g.p {
		view, k := 0, k1
		if i >= p.n-p.orifice() {
			view, k = 1, k2
		}
		g.sights = append(g.sights, views[view])
		g.u = append(g.u, p.marks.u[p.index(i)]*k)
	}
	w.next += source(g.sources())
	return g
}

// index is the mark that place i comes from.
func (p pair) index(i int) int {
	if o := p.orifice(); i < p.n-o {
		return i + o
	} else {
		return i + o + p.otherOrifice
	}
}

// places returns the marks of both views from the orifice on in the unit of
// the scales, from the first mark of their view; heights in the second view
// are brought to those of the first by the ends of the canal.
func (p pair) places(m []vec, k1, k2 float64) []vec {
	out := make([]vec, 0, len(m))
	origin, end := m[0], m[p.n-1]
	for _, q := range m[p.orifice():p.n] {
		out = append(out, vec{(q.x - origin.x) * k1, (q.y - origin.y) * k1, 0})
	}
	o2, e2 := m[p.n], m[len(m)-1]
	for _, q := range m[p.n+p.otherOrifice:] {
		height := (q.y - o2.y) * (end.y - origin.y) / (e2.y - o2.y)
		out = append(out, vec{(q.x - o2.x) * k2, height * k1, 0})
	}
	return out
}

// transfer carries an estimate whose sources are points in space over to the
// marks that the points were computed from.
type transfer struct {
	e     estimate
	by    map[source]term
	g     group
	widen float64
	rest  []term // sources other than the points
}

func newTransfer(e estimate, g group, widen float64) transfer {
	t := transfer{e: e, by: map[source]term{}, g: g, widen: widen}
	for _, x := range e.terms {
		if x.from >= g.first && x.from < g.first+source(g.sources()) {
			t.by[x.from] = x
		} else {
			t.rest = append(t.rest, x)
		}
	}
	return t
}

// of is the change of the estimate when its points go from minus to plus.
func (t transfer) of(plus, minus []vec) float64 {
	sum := 0.0
	for i := range t.g.p {
		move, frame := plus[i].sub(minus[i]), t.g.frame(i)
		for d := range t.g.dims {
			by := t.by[t.g.first+source(t.g.dims*i+d)].by
			sum += by * move.dot(frame[d]) / (t.g.u[i] * t.widen)
		}
	}
	return sum
}

// marks returns the estimate with the sources of the marks from which f
// computes the points.
func (t transfer) marks(m group, f func(p []vec) []vec) estimate {
	out := estimate{v: t.e.v}
	p := append([]vec{}, m.p...)
	for i := range p {
		frame, at := m.frame(i), p[i]
		for d := range m.dims {
			p[i] = at.add(frame[d].mul(m.u[i] * t.widen))
			plus := f(p)
			p[i] = at.sub(frame[d].mul(m.u[i] * t.widen))
			minus := f(p)
			p[i] = at
			if by := t.of(plus, minus) / 2; by != 0 {
				out.terms = append(out.terms, term{m.first + source(i*m.dims+d), by})
			}
		}
	}
	return out.plus(estimate{terms: t.rest})
}
