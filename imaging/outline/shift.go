package outline

import (
	"fmt"
	"math"
)

// Shifted returns the outline moved outward by px everywhere along its
// normals, inward where px is negative. It is the border of all that lies
// within px of the outline's inside, or farther than −px from its outside, so
// that it never crosses itself: outward, dents fill up; inward, spurs vanish.
// An error when nothing would be left.
func (o Outline) Shifted(px float64) (Outline, error) {
	if px == 0 {
		return o, nil
	}
	line := o.t.dense(2)
	t := o.t
	rho, ok := t.moved(line, px)
	t.rho = rho
	if ok {
		t.contour, ok = reframed(t.dense(4))
	}
	if !ok {
		return o, fmt.Errorf("shift the outline: moved by %.1f px a radius of %.1f px has nothing left: shift it less", px, o.t.frame.radius())
	}
	s := newOutline(t, o.surface, nil)
	s.AreaStdUnc, s.StdUnc, s.Confidence, s.Cautions = o.AreaStdUnc, o.StdUnc, o.Confidence, o.Cautions
	return s, nil
}

// moved returns where each ray meets the line at the distance px outside the
// closed line, by bisection.
func (c *contour) moved(line []vec, px float64) (rho [rays]float64, ok bool) {
	for k := range rays {
		ray := c.ray(k)
		length := ray.norm()
		lo, hi := c.rho[k], c.rho[k]+3*px/length // a slanted stretch moves farther along its ray
		if px < 0 {
			lo, hi = 0, c.rho[k]
			if distance(line, c.frame.c) < -px {
				return rho, false
			}
		}
		for (hi-lo)*length > 1e-3 {
			mid := (lo + hi) / 2
			d := distance(line, c.frame.c.add(ray.mul(mid)))
			if (px > 0 && d < px) || (px < 0 && d > -px) {
				lo = mid
			} else {
				hi = mid
			}
		}
		rho[k] = (lo + hi) / 2
	}
	return rho, true
}

// distance is that of a point from a closed line.
func distance(line []vec, p vec) float64 {
	best := math.Inf(1)
	a := line[len(line)-1]
	for _, b := range line {
		d, e := p.sub(a), b.sub(a)
		f := math.Min(math.Max(d.dot(e)/e.dot(e), 0), 1)
		g := d.sub(e.mul(f))
		best = math.Min(best, g.dot(g))
		a = b
	}
	return math.Sqrt(best)
}
