package measure

import (
	"fmt"
	"math"
)

// DefaultOffset is the distance in mm from the radiographic apex to the
// working length when nothing is said: no resorption (Weine, Endodontic
// Therapy, from memory: 1.0; 1.5 with bone resorption, 2.0 with bone and root
// resorption).
const DefaultOffset = 1.0

// DefaultEAL is the standard uncertainty in mm of an electronic apex locator:
// the usual band of ±0.5 mm read as an expanded uncertainty, k = 2.
const DefaultEAL = 0.25

// canal adds the findings of one canal on one image.
func (w *work) canal(pic *picture, c Canal) {
	s := subject{w: w, image: pic.id, of: CanalSubject(c), cautions: pic.scale.cautions}
	g := w.group(c.Marks)
	if openCurve(g.p) == nil {
		s.none(WhatLength, pic.scale.lengthUnit(), lengthMethod, "needs two marks in different places")
		return
	}
	fixed := markedStart(c)
	px := propagate1(g, func(p []vec) float64 { return canalCurve(p, c.Orifice, fixed).length() }).corrected(w.source())
	w.canalLength(s, pic.scale, px, c)
	w.schneider(subject{w: w, image: s.image, of: s.of}, g, c)
}

const lengthMethod = "length of the smooth line through the marks"

// markedStart returns the index of the mark where the curve starts, or −1
// when none is marked or the index makes no sense.
func markedStart(c Canal) int {
	if c.CurveStart == nil || *c.CurveStart <= c.Orifice || *c.CurveStart >= len(c.Marks)-1 || c.Orifice < 0 {
		return -1
	}
	return *c.CurveStart
}

// canalCurve is the smooth line through the marks of a canal.
func canalCurve(p []vec, orifice, start int) curve {
	if start < 0 {
		return openCurve(p)
	}
	return openCurve(p)
}

// canalLength adds the length and what is compared with it.
func (w *work) canalLength(s subject, sc scale, px estimate, c Canal) {
	s.add(WhatLength, sc.length(px), lengthMethod)
	offset := DefaultOffset
	if c.OffsetMM != nil {
		offset = *c.OffsetMM
	}
	method := fmt.Sprintf("length − %g mm", offset)
	if !sc.known {
		s.none(WhatWorkingLength, Millimetre, method, "needs a calibration")
		if c.EALMM != nil {
			s.none(WhatEALDifference, Millimetre, ealMethod, "needs a calibration")
		}
		return
	}
	mm := px.times(sc.mmPerPx)
	s.add(WhatWorkingLength, mm.shifted(-offset).quantity(Millimetre), method)
	if c.EALMM != nil {
		w.eal(s, mm, *c.EALMM)
	}
}

const ealMethod = "apex locator reading − radiographic length"

func (w *work) eal(s subject, mm estimate, reading float64) {
	q := known(reading, DefaultEAL, w.source()).minus(mm).quantity(Millimetre)
	var caution []string
	if math.Abs(q.Value) > q.Expanded() {
		caution = append(caution, "apex locator and radiograph differ by more than their uncertainty")
	}
	s.add(WhatEALDifference, q, ealMethod, caution...)
}

const (
	schneiderMarked = "Schneider 1971: axis of the marks from the orifice to the marked start of the curve, against the line from there to the apex"
	schneiderFound  = "Schneider 1971: straight part of the straight-and-arc line fitted to the marks, against the line from its end to the apex"
)

// schneider adds the Schneider angle: with the start of the curve marked, or
// found by a fit. Three marks from the orifice on are the construction itself.
func (w *work) schneider(s subject, g group, c Canal) {
	start, orifice := markedStart(c), min(max(c.Orifice, 0), len(g.p)-2)
	if start < 0 && orifice == len(g.p)-3 {
		start = orifice + 1
	}
	if start >= 0 {
		angle := propagate1(g, func(p []vec) float64 {
			return signedAngle(axis(p[orifice:start+1]), p[len(p)-1].sub(p[start]))
		})
		s.add(WhatSchneiderAngle, angle.scaled(degrees).magnitude().quantity(Degree), schneiderMarked)
		return
	}
	b := fitBend(g.from(orifice), -1)
	if b == nil {
		s.none(WhatSchneiderAngle, Degree, schneiderFound, "needs at least three marks from the orifice to the apex")
		return
	}
	angle := b.propagate(1, func(x []float64, p []vec, out []float64) {
		a := b.arcs(x, p, nil)
		out[0] = signedAngle(a[0].t, p[len(p)-1].sub(a[1].p))
	})[0]
	s.add(WhatSchneiderAngle, angle.scaled(degrees).magnitude().quantity(Degree), schneiderFound)
}

// axis returns the direction of the straight line closest to p (least squares
// of the perpendicular distances), from the first to the last point.
func axis(p []vec) vec {
	var mean vec
	for _, q := range p {
		mean = mean.add(q)
	}
	mean = mean.mul(1 / float64(len(p)))
	var xx, xy, yy float64
	for _, q := range p {
		d := q.sub(mean)
		xx, xy, yy = xx+d.x*d.x, xy+d.x*d.y, yy+d.y*d.y
	}
	angle := math.Atan2(2*xy, xx-yy) / 2
	dir := vec{math.Cos(angle), math.Sin(angle), 0}
	if dir.dot(p[len(p)-1].sub(p[0])) < 0 {
		return dir.mul(-1)
	}
	return dir
}
