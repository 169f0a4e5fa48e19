package measure

import (
	"fmt"
	"math"
	"slices"
)

// JoinedBelow is the distance in mm between two centre lines below which they
// count as one canal: about the diameter of the canals themselves. Common
// practice, no source.
const JoinedBelow = 0.3

const (
	distanceMethod   = "mean distance of the second centre line from the first, from the orifices to where they join or the nearer apex"
	confluenceMethod = "length along the first canal from its apex to where the centre lines come within %g mm of each other and stay so"
)

// DistancePoint is one point of the distance profile of two centre lines: the
// length along the first from its orifice, and the distance of the second
// there, both in mm (px without a calibration).
type DistancePoint struct{ Along, Distance float64 }

// DistanceProfile returns the distance between the smooth lines of two canals
// at n lengths along the first, from the orifice on: the width of the isthmus
// between them. scale is mm per px; 1 gives px. It is empty where either canal
// has no line.
func DistanceProfile(a, b Canal, scale float64, n int) []DistancePoint {
	w := &work{}
	first, second := newLine(w.group("", a.Marks), a), newLine(w.group("", b.Marks), b)
	if first == nil || second == nil || n < 2 {
		return nil
	}
	out := make([]DistancePoint, n)
	for i := range out {
		g := newGap(first, second, (first.length-first.begin)*float64(i)/float64(n-1))
		out[i] = DistancePoint{g.s * scale, g.distance * scale}
	}
	return out
}

// relations adds distance and confluence of each two canals of one tooth.
func (w *work) relations(pic *picture) {
	for i, a := range pic.canals {
		for _, b := range pic.canals[i+1:] {
			if a.Tooth == b.Tooth && a.Tooth != "" {
				w.relation(pic, a, b)
			}
		}
	}
}

// samples is the number of places at which two canals are compared.
const samples = 13

// gap is the distance of two centre lines at one place.
type gap struct {
	s        float64 // length along the first line from its orifice
	distance float64
	terms    []term
}

// newGap measures the distance at the length s from the orifice of a.
func newGap(a, b *line, s float64) gap {
	i, t := a.segmentAt(a.begin + s)
	p := a.c[i].at(t)
	j, u := b.c.nearestAt(p)
	u = math.Min(math.Max(u, 0), 1)
	apart := p.sub(b.c[j].at(u))
	g := gap{s: s, distance: apart.norm()}
	g.terms = make([]term, 0, 4*(a.g.dims+b.g.dims)/2)
	g.terms = a.pull(g.terms, i, t, apart.unit())
	g.terms = b.pull(g.terms, j, u, apart.unit().mul(-1))
	slices.SortFunc(g.terms, func(x, y term) int { return int(x.from) - int(y.from) })
	return g
}

// pull adds to terms what the marks of the line do to its point at the
// parameter t of segment i in the direction of dir, the directions of the line
// staying.
func (l *line) pull(terms []term, i int, t float64, dir vec) []term {
	for end, mark := range l.marksOf(i) {
		if mark < 0 {
			continue
		}
		weight := (1 - t) * (1 - t) * (1 + 2*t)
		if end == 1 {
			weight = 1 - weight
		}
		frame := l.g.frame(mark)
		for d := range l.g.dims {
			terms = append(terms, term{l.g.first + source(mark*l.g.dims+d), weight * l.g.u[mark] * frame[d].dot(dir)})
		}
	}
	return terms
}

// relation adds the distance of two canals and the level of their confluence.
func (w *work) relation(pic *picture, a, b *line) {
	s := subject{w: w, image: pic.id, of: relation(a.Canal, b.Canal), cautions: pic.scale.cautions, made: made{a.By, b.By}}
	limit := 0.0
	if pic.scale.known {
		limit = JoinedBelow / pic.scale.mmPerPx.v
	}
	gaps := make([]gap, samples)
	reach := a.length - a.begin
	for k := range gaps {
		gaps[k] = newGap(a, b, reach*float64(k)/(samples-1))
	}
	apart := samples
	for apart > 0 && gaps[apart-1].distance < limit {
		apart--
	}
	if apart < 2 {
		s.none(WhatCanalDistance, pic.scale.lengthUnit(), distanceMethod, "the centre lines are nowhere apart")
		return
	}
	mean := exact(0)
	for _, g := range gaps[:apart] {
		mean = mean.plus(estimate{g.distance, g.terms}.scaled(1 / float64(apart)))
	}
	s.add(WhatCanalDistance, pic.scale.length(mean), distanceMethod)
	w.confluence(s, pic.scale, a, b, gaps, apart, limit)
}

// confluence adds the level at which the distance falls below the limit, which
// lies between the last gap apart and the one behind it.
func (w *work) confluence(s subject, sc scale, a, b *line, gaps []gap, apart int, limit float64) {
	method := fmt.Sprintf(confluenceMethod, JoinedBelow)
	switch {
	case !sc.known:
		s.none(WhatConfluenceFromApex, Pixel, method, needsCalibration)
		return
	case apart == samples:
		s.none(WhatConfluenceFromApex, Millimetre, method, "the canals do not join")
		return
	}
	lo, hi := gaps[apart-1], gaps[apart]
	for range 30 {
		if mid := newGap(a, b, (lo.s+hi.s)/2); mid.distance > limit {
			lo = mid
		} else {
			hi = mid
		}
	}
	at := estimate{hi.s, hi.terms}.through(hi.s, -1/approach(a, b, hi.s))
	end := estimate{a.length - a.begin, a.pull(nil, len(a.c)-1, 1, a.c[len(a.c)-1].d1.unit())}
	s.add(WhatConfluenceFromApex, sc.length(end.minus(at)), method)
}

// approach is how the distance of b from a changes per length along a about the
// length s from the orifice of a, read where it is shallower: on either side, at
// most a tenth below their mean, since lines that have joined stay so. The
// shallower side is where the level may be farthest off.
func approach(a, b *line, s float64) float64 {
	h := 0.04 * a.length
	from, to := math.Max(s-h, 0), math.Min(s+h, a.length-a.begin)
	d0, d, d1 := newGap(a, b, from).distance, newGap(a, b, s).distance, newGap(a, b, to).distance
	mean := (d1 - d0) / (to - from)
	shallow := math.Max((d-d0)/(s-from), (d1-d)/(to-s))
	return math.Min(shallow, 0.9*mean)
}
