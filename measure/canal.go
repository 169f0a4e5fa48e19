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
	if openCurve(g.p) == nil || !finite(g.p) {
		s.none(WhatLength, pic.scale.lengthUnit(), lengthMethod, "needs two marks in different places")
		return
	}
	orifice := min(max(c.Orifice, 0), len(g.p)-2)
	start := startMark(c, orifice)
	b := fitBend(g.from(orifice), start-orifice)
	w.canalLength(s, pic.scale, w.traceLength(g, newTrack(orifice, b)), c)
	w.curvature(s, pic.scale, g, orifice, start, b)
}

const lengthMethod = "length of the smooth line through the marks"

// startMark returns the index of the mark at which the curve starts: the one
// that is marked so, or the middle one of three marks from the orifice on,
// which is Schneider's own construction. Negative: none.
func startMark(c Canal, orifice int) int {
	last := len(c.Marks) - 1
	switch {
	case c.CurveStart != nil && *c.CurveStart > orifice && *c.CurveStart < last:
		return *c.CurveStart
	case c.CurveStart == nil && orifice == last-2:
		return orifice + 1
	}
	return -1
}

// traceLength is the length in px of the smooth line through the marks along a
// track.
func (w *work) traceLength(g group, t track) estimate {
	return propagate1(g, func(p []vec) float64 { return t.curve(p).length() }).corrected(w.source())
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
