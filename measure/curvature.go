package measure

import "math"

const (
	schneiderMarked = "Schneider 1971: axis of the marks from the orifice to the start of the curve, against the line from there to the apex"
	schneiderFound  = "Schneider 1971: straight part of the ideal canal fitted to the marks, against the line from its end to the apex"
	schneiderOpen   = "Schneider 1971: mean over all starts of the curve that the marks allow"
	weineMethod     = "Weine: angle between the straight coronal part and the tangent at the apical end of the curve"
	pruettMethod    = "Pruett, Clement & Carnes 1997: angle of the circle tangent to the coronal and apical straight parts, fitted to all marks"
	radiusMethod    = "Pruett, Clement & Carnes 1997: radius of the circle tangent to the coronal and apical straight parts, fitted to all marks"
	accessMethod    = "canal access angle (Günday, Sazak & Garip 2005, construction from memory): line from orifice to apex against the coronal axis"
	sharpestMethod  = "largest curvature of the ideal canal fitted to the marks: straight parts and arcs"
	startMethod     = "length along the canal from the apex to the start of the curve"
	straightMethod  = "length along the canal from the orifice to the start of the curve"
	curvedMethod    = "length of the curved part of the ideal canal fitted to the marks"
	secondMethod    = "second curve of an S-shaped canal: angle of its arc in the ideal canal fitted to the marks"
	secondRMethod   = "second curve of an S-shaped canal: radius of its arc in the ideal canal fitted to the marks"
)

const (
	whyTooFew    = "needs at least four marks from the orifice to the apex, or a mark where the curve starts"
	whyStraight  = "no curve beyond the uncertainty of the marks"
	whyOpen      = "the marks leave open where the curve starts: mark it, or add marks about it"
	whyIrregular = "the canal is not made of straight parts and arcs: the fit leaves more than the uncertainty of the marks"
)

// curvature adds the curvature findings of a canal from the ideal canal b
// fitted to its marks from the orifice on; start is the mark at which the
// curve starts, negative where it is found by the fit.
func (w *work) curvature(s subject, sc scale, g group, orifice, start int, b *bend) {
	s.cautions = nil // angles need no calibration
	if start >= 0 {
		angle := propagate1(g, func(p []vec) float64 {
			return turn(axis(p[orifice:start+1]), p[len(p)-1].sub(p[start]))
		})
		s.angle(WhatSchneiderAngle, angle.estimate, schneiderMarked)
	}
	if b == nil {
		if start < 0 {
			s.none(WhatSchneiderAngle, Degree, schneiderFound, whyTooFew)
		}
		return
	}
	c := curvatures{s, sc, b, b.reads(w)}
	if b.open() {
		why := whyOpen
		if !b.curved() {
			why = whyStraight
		}
		c.addOpen(why)
		return
	}
	if !b.explains() {
		c.cautions = append(c.cautions, whyIrregular)
	}
	c.addAngles(start < 0, schneiderFound)
	c.addLengths()
}

// curvatures are the readings of one canal, to be added as findings.
type curvatures struct {
	subject
	scale scale
	b     *bend
	read  []estimate
}

// angle adds an angle given in radians.
func (s subject) angle(what string, rad estimate, method string, cautions ...string) {
	s.add(what, rad.scaled(degrees).magnitude().quantity(Degree), method, cautions...)
}

// addOpen adds what can be said when the start of the curve is open.
func (c curvatures) addOpen(why string) {
	c.cautions = append(c.cautions, why)
	c.addAngles(true, schneiderOpen)
	c.none(WhatPruettRadius, c.scale.lengthUnit(), radiusMethod, why)
	c.none(WhatMaxCurvature, c.scale.perLength(), sharpestMethod, why)
	c.add(WhatCurveStartFromApex, c.scale.length(c.read[readStart]), startMethod)
}

func (c curvatures) addAngles(schneider bool, method string) {
	if schneider {
		c.angle(WhatSchneiderAngle, c.read[readSchneider], method)
	}
	c.angle(WhatWeineAngle, c.read[readAngle], weineMethod)
	c.angle(WhatPruettAngle, c.read[readAngle], pruettMethod)
	c.angle(WhatAccessAngle, c.read[readAccess], accessMethod)
}

// addLengths adds radii, curvatures and lengths, which a straight canal lacks.
func (c curvatures) addLengths() {
	length, per := c.scale.lengthUnit(), c.scale.perLength()
	if !c.b.curved() {
		c.none(WhatPruettRadius, length, radiusMethod, whyStraight)
		c.none(WhatMaxCurvature, per, sharpestMethod, whyStraight)
		c.none(WhatCurveStartFromApex, length, startMethod, whyStraight)
		c.none(WhatCurvedLength, length, curvedMethod, whyStraight)
		return
	}
	c.add(WhatPruettRadius, c.scale.length(c.read[readRadius]), radiusMethod)
	c.add(WhatMaxCurvature, c.scale.curvature(c.read[readSharpest]), sharpestMethod)
	c.add(WhatMaxCurvatureFromApex, c.scale.length(c.read[readSharpestAt]), "length along the canal from the apex to the middle of its sharpest part")
	c.add(WhatCurveStartFromApex, c.scale.length(c.read[readStart]), startMethod)
	c.add(WhatCurveStartFromOrifice, c.scale.length(c.read[readStraight]), straightMethod)
	c.add(WhatCurvedLength, c.scale.length(c.read[readCurved]), curvedMethod)
	if c.b.arcs.against() && c.read[readSecond].v*degrees >= secondLimb && c.read[readAngle].magnitude().v*degrees >= secondLimb {
		c.angle(WhatSecondAngle, c.read[readSecond], secondMethod)
		c.add(WhatSecondRadius, c.scale.length(c.read[readSecondRadius]), secondRMethod)
	}
}

// secondLimb is the angle in degrees that both limbs must reach for a canal to
// count as S-shaped: the limit of straight in Schneider's scheme.
const secondLimb = 5

// What is read off an ideal canal, by index into the results of [readBend].
const (
	readSchneider = iota // rad, signed on an image
	readAngle            // rad turned by the first curve, signed on an image
	readCurvature        // per unit of length, of the first curve
	readStart            // length from the apex to the start of the curve
	readStraight         // length from the orifice to the start of the curve
	readCurved           // length of the curved part
	readRadius           // of the first curve
	readSecond           // rad turned by the second curve
	readSecondCurvature
	readSecondRadius
	readAccess // rad
	readSharpest
	readSharpestAt // length from the apex to the middle of the sharpest part
	reads
)

// readBend reads the curvature findings off the pieces of an ideal canal,
// between the points of it that are closest to the orifice and the apex mark.
func readBend(a arcs, g group, out []float64) {
	end, begin := g.along(a, g.last()), g.along(a, 0)
	orifice, _ := a.at(begin)
	apex, _ := a.at(end)
	straight := a[0].length
	axis, leave := a[0].t, a[1].p
	out[readSchneider] = turn(axis, apex.sub(leave))
	out[readAccess] = turn(axis, apex.sub(orifice))
	out[readStart] = end - straight
	out[readStraight] = straight - begin
	first, second := end-straight, 0.0
	if len(a) == 3 {
		first, second = a[1].length, end-straight-a[1].length
	}
	side := sideOf(&a[1])
	angle, k := a[1].curvature()*first, a[1].curvature()
	out[readSecond], out[readSecondCurvature] = 0, 0
	out[readSharpest], out[readSharpestAt] = k, second+first/2
	out[readCurved] = first
	if len(a) == 3 && a[2].curvature() > 0 {
		k2 := a[2].curvature()
		out[readCurved] += second
		if k2 > k {
			out[readSharpest], out[readSharpestAt] = k2, second/2
		}
		if a.against() {
			out[readSecond], out[readSecondCurvature] = k2*second, k2
		} else {
			angle += k2 * second
			k = angle / (first + second)
		}
	}
	out[readAngle], out[readCurvature], out[readRadius] = side*angle, side*k, 1/k
	out[readSecondRadius] = 1 / out[readSecondCurvature]
}

// against reports whether the second curve turns against the first.
func (a arcs) against() bool {
	return len(a) == 3 && a[1].k2*a[2].k2+a[1].k3*a[2].k3 < 0
}

// sideOf is −1 for a piece that turns to the right on an image, 1 otherwise.
func sideOf(c *piece) float64 {
	if c.f3 == (vec{0, 0, 1}) && c.k3 == 0 && c.k2 < 0 {
		return -1
	}
	return 1
}

// turn is the angle from a to b in radians: signed within an image, so that
// noise about nothing stays about nothing, without sign in a volume.
func turn(a, b vec) float64 {
	if a.z == 0 && b.z == 0 {
		return signedAngle(a, b)
	}
	return a.angleTo(b)
}

// reciprocal is 1/e with the second-order term of its variance (JCGM 100:2008,
// 5.1.2, note): with the relative uncertainty c of e, u ≈ c·√(1 + 2c²)/v. Its
// mean lies about c² too high; where that exceeds a quarter of u it is taken
// off.
func reciprocal(e estimate) estimate {
	c := e.std() / math.Abs(e.v)
	v := 1 / math.Abs(e.v)
	out := e.through(v, -v*v*math.Sqrt(1+2*c*c))
	if c > 0.25 {
		out.v *= 1 - c*c
	}
	return out
}

// skewed widens the uncertainty of a curvature whose start is fitted too: it
// errs farther to the sharp side than to the flat one.
func skewed(e estimate) estimate {
	c := e.std() / e.v
	return e.through(e.v, math.Sqrt(1+4*c*c))
}
