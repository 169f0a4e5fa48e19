package measure

import (
	"fmt"
	"math"
)

const (
	obstructionMethod = "length of the smooth line through its marks"
	depthMethod       = "distance along the canal from the orifice to the coronal end"
	toApexMethod      = "distance along the canal from the apical end to the radiographic apex"
	reachMethod       = "straight part of the canal from the orifice − depth of the coronal end: positive where straight access reaches it"
	besideMethod      = "distance from the coronal end to the nearest other canal of the tooth (%s)"
	dentineMethod     = "distance from the obstruction to the mark on the root surface"
)

// obstruction adds the findings of something in a canal.
func (w *work) obstruction(pic *picture, o Obstruction) {
	g := w.group(pic.id, o.Marks)
	s := subject{w: w, image: pic.id, of: ObstructionSubject(o), cautions: pic.scale.cautionsFor(direction(g.p), o.Tooth), made: made{o.By}}
	unit := pic.scale.lengthUnit()
	if openCurve(g.p) == nil || !finite(g.p) {
		const why = "needs two marks in different places"
		s.none(WhatObstructionLength, unit, obstructionMethod, why)
		s.none(WhatObstructionDepth, unit, depthMethod, why)
		s.none(WhatObstructionToApex, unit, toApexMethod, why)
		return
	}
	s.add(WhatObstructionLength, pic.scale.length(w.traceLength(g, trackOf(g))), obstructionMethod)
	if l := pic.line(o.Tooth, o.Canal); l != nil {
		w.obstructionInCanal(s, pic, g, l)
	} else {
		s.none(WhatObstructionDepth, unit, depthMethod, "the canal is not traced")
		s.none(WhatObstructionToApex, unit, toApexMethod, "the canal is not traced")
	}
	w.obstructionBeside(s, pic, g, o)
	w.dentine(s, pic, g, o)
}

// obstructionInCanal adds where the obstruction lies along its canal.
func (w *work) obstructionInCanal(s subject, pic *picture, g group, l *line) {
	n := len(l.g.p)
	s.made = append(s.made, l.By)
	// The canal keeps its sources; those of the obstruction follow in a copy.
	both := group{p: append(append([]vec{}, l.g.p...), g.p[0], g.p[len(g.p)-1]), u: append(append([]float64{}, l.g.u...), g.u[0], g.u[len(g.u)-1]), dims: 2, first: w.next}
	w.next += source(both.sources())
	r := propagate(both, 2, func(p []vec, out []float64) {
		c := l.t.curve(p[:n])
		begin := c[:l.segmentAfter(l.orifice)].length()
		out[0] = c.nearest(p[n]) - begin
		out[1] = c.length() - c.nearest(p[n+1])
	})
	s.add(WhatObstructionDepth, pic.scale.length(r[0].estimate), depthMethod)
	s.add(WhatObstructionToApex, pic.scale.length(r[1].estimate), toApexMethod)
	unit := pic.scale.lengthUnit()
	switch {
	case l.b == nil:
		s.none(WhatStraightToObstruction, unit, reachMethod, whyTooFew)
	case !l.b.curved():
		s.none(WhatStraightToObstruction, unit, reachMethod, whyStraight)
	case l.b.open():
		s.none(WhatStraightToObstruction, unit, reachMethod, whyOpen)
	default:
		straight := l.b.reads(w)[readStraight]
		s.add(WhatStraightToObstruction, pic.scale.length(straight.minus(r[0].estimate)), reachMethod)
	}
}

// obstructionBeside adds the distance of the coronal end to the nearest other
// canal of the tooth.
func (w *work) obstructionBeside(s subject, pic *picture, g group, o Obstruction) {
	var nearest *line
	least := math.Inf(1)
	for _, l := range pic.canals {
		if l.Tooth != o.Tooth || l.Name == o.Canal {
			continue
		}
		if d := l.c.distance(g.p[0]); d < least {
			nearest, least = l, d
		}
	}
	if nearest == nil {
		return
	}
	n := len(nearest.g.p)
	s.made = append(s.made, nearest.By)
	both := group{p: append(append([]vec{}, nearest.g.p...), g.p[0]), u: append(append([]float64{}, nearest.g.u...), g.u[0]), dims: 2, first: w.next}
	w.next += source(both.sources())
	d := propagate1(both, func(p []vec) float64 { return nearest.t.curve(p[:n]).distance(p[n]) })
	s.add(WhatObstructionToCanal, pic.scale.length(d.estimate), fmt.Sprintf(besideMethod, nearest.Name))
}

// dentine adds the dentine left between the obstruction and each mark on the
// root surface.
func (w *work) dentine(s subject, pic *picture, g group, o Obstruction) {
	for i, side := range o.Sides {
		m := w.group(pic.id, []Point{side})
		n := len(g.p)
		both := group{p: append(append([]vec{}, g.p...), m.p[0]), u: append(append([]float64{}, g.u...), m.u[0]), dims: 2, first: w.next}
		w.next += source(both.sources())
		d := propagate1(both, func(p []vec) float64 { return openCurve(p[:n]).distance(p[n]) })
		s.add(fmt.Sprintf("%s_%d", WhatDentine, i+1), pic.scale.length(d.estimate), dentineMethod)
	}
}

// distance returns the distance of q from the curve, ends included.
func (c curve) distance(q vec) float64 {
	p, _ := c.at(math.Min(math.Max(c.nearest(q), 0), c.length()))
	return p.dist(q)
}
