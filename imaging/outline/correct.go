package outline

import (
	"fmt"
	"math"

	"rootrule/measure"
)

// pinReach is how far along the contour, in radians of direction, a correction
// by hand silences the picture: about a twelfth of the way round on each side.
const pinReach = 0.5

// Corrected returns the outline drawn to the point to, as when its stretch at
// from is dragged there. The outline then passes through to; what the picture
// shows close by no longer counts, the rest of the outline adapts, and earlier
// corrections hold. An error when to is so far off that the outline would
// cross itself.
func (o Outline) Corrected(from, to measure.Point) (Outline, error) {
	pin, old := vec{to.X, to.Y}, vec{from.X, from.Y}
	pins := []vec{pin}
	for _, p := range o.pins { // dragging a pinned place moves its pin
		if p.sub(old).norm() > 2 && p.sub(pin).norm() > 2 {
			pins = append(pins, p)
		}
	}
	t := o.t
	if f := t.frame.inside(pin); !(f > 0.25 && f < 2.5) {
		return o, fmt.Errorf("correct the outline: (%.0f, %.0f) lies %.1f times as far out as the outline: drag it less far at once", to.X, to.Y, f)
	}
	for range 3 {
		before := t.edges
		t.edges = o.surface.measureEdges(&t.contour, &before)
		if !t.adjust(pins) {
			return o, fmt.Errorf("correct the outline: through (%.0f, %.0f) it would cross itself: drag it less far at once", to.X, to.Y)
		}
	}
	c := newOutline(t, o.surface, pins)
	c.Confidence = math.Max(c.Confidence, o.Confidence) // a hand's correction makes it no worse
	return c, nil
}

// pinned makes the fit heed corrections: y and w are the places and weights on
// the rays.
func (t *traced) pinned(pins []vec, y, w *[rays]float64) {
	for _, p := range pins {
		at, _ := t.polar(p)
		for k := range w {
			d := math.Remainder(2*math.Pi*float64(k)/rays-at, 2*math.Pi) / pinReach
			w[k] *= 1 - math.Exp(-d*d)
		}
	}
	for _, p := range pins {
		k, rho := t.nearestRay(p)
		u := measure.DefaultClick / t.ray(k).dot(t.normal[k])
		y[k], w[k] = rho, 1/(u*u)
	}
}

// through bends the shape so that it passes through all pins: bumps of the
// width pinReach/2, whose heights follow from each other.
func (t *traced) through(pins []vec, rho *[rays]float64) {
	if len(pins) == 0 {
		return
	}
	for range 30 { // Gauss–Seidel: bumps overlap little
		worst := 0.0
		for _, p := range pins {
			k, want := t.nearestRay(p)
			gap := want - rho[k]
			worst = math.Max(worst, math.Abs(gap))
			for j := range rho {
				d := math.Remainder(2*math.Pi*float64(j-k)/rays, 2*math.Pi) / (pinReach / 2)
				rho[j] += gap * math.Exp(-d*d)
			}
		}
		if worst < 1e-4 {
			return
		}
	}
}

// polar returns the direction and the distance of a point in the contour's
// frame.
func (c *contour) polar(p vec) (angle, rho float64) {
	d := p.sub(c.frame.c)
	det := c.frame.a.cross(c.frame.b)
	u, v := d.cross(c.frame.b)/det, c.frame.a.cross(d)/det
	return math.Atan2(v, u), math.Hypot(u, v)
}

// nearestRay returns the ray closest to a point and where it lies along it.
func (c *contour) nearestRay(p vec) (k int, rho float64) {
	angle, rho := c.polar(p)
	return (int(math.Round(angle/(2*math.Pi)*rays)) + rays) % rays, rho
}
