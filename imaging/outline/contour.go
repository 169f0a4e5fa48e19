package outline

import "math"

// rays is the number of directions in which a contour is held.
const rays = 96

// contour is a closed line, star-shaped about the centre of an ellipse: on ray
// k, at the parameter angle 2πk/rays, it lies at rho[k] times the ellipse. A
// contour that is the ellipse itself has ones throughout, so that smoothness
// is measured against the ellipse and not against a circle.
type contour struct {
	frame ellipse
	rho   [rays]float64
}

var rayAngles = func() (a [rays][2]float64) {
	for k := range a {
		a[k][0], a[k][1] = math.Sincos(2 * math.Pi * float64(k) / rays)
	}
	return a
}()

func newContour(e ellipse) contour {
	c := contour{frame: e}
	for k := range c.rho {
		c.rho[k] = 1
	}
	return c
}

// ray is the direction of ray k, of the length of the ellipse there.
func (c *contour) ray(k int) vec {
	return c.frame.a.mul(rayAngles[k][1]).add(c.frame.b.mul(rayAngles[k][0]))
}

func (c *contour) point(k int) vec { return c.frame.c.add(c.ray(k).mul(c.rho[k])) }

func (c *contour) points() []vec {
	out := make([]vec, rays)
	for k := range out {
		out[k] = c.point(k)
	}
	return out
}

// dense returns the contour's points with n − 1 more between each two.
func (c *contour) dense(n int) []vec {
	out := make([]vec, 0, n*rays)
	for k := range rays {
		for i := range n {
			f := float64(i) / float64(n)
			// Cubic through four rays (Catmull–Rom): smooth in rho.
			r := [4]float64{c.rho[(k+rays-1)%rays], c.rho[k], c.rho[(k+1)%rays], c.rho[(k+2)%rays]}
			rho := r[1] + f/2*(r[2]-r[0]+f*(2*r[0]-5*r[1]+4*r[2]-r[3]+f*(3*(r[1]-r[2])+r[3]-r[0])))
			sin, cos := math.Sincos(2 * math.Pi * (float64(k) + f) / rays)
			out = append(out, c.frame.c.add(c.frame.a.mul(rho*cos)).add(c.frame.b.mul(rho*sin)))
		}
	}
	return out
}

// normals returns the outward unit normals at the points, from the harmonics
// of rho.
func (c *contour) normals() []vec {
	p := c.points()
	out := make([]vec, rays)
	for k := range out {
		// Fourth-order central difference: exact to 1e-5 for what is smooth here.
		at := func(d int) vec { return p[(k+d+rays)%rays] }
		t := at(1).sub(at(-1)).mul(8).sub(at(2).sub(at(-2)))
		n := vec{t.y, -t.x}
		if n.dot(c.ray(k)) < 0 {
			n = n.mul(-1)
		}
		out[k] = n.unit()
	}
	return out
}

// moments returns the area, the centroid and the second moments about it of a
// closed polygon (Green's theorem).
func moments(p []vec) (area float64, c vec, xx, xy, yy float64) {
	o := p[0]
	for i := range p {
		a, b := p[i].sub(o), p[(i+1)%len(p)].sub(o)
		k := a.cross(b)
		area += k / 2
		c = c.add(a.add(b).mul(k / 6))
		xx += k * (a.x*a.x + a.x*b.x + b.x*b.x) / 12
		yy += k * (a.y*a.y + a.y*b.y + b.y*b.y) / 12
		xy += k * (2*a.x*a.y + 2*b.x*b.y + a.x*b.y + b.x*a.y) / 24
	}
	c = c.mul(1 / area)
	xx, xy, yy = xx/area-c.x*c.x, xy/area-c.x*c.y, yy/area-c.y*c.y
	return math.Abs(area), c.add(o), xx, xy, yy
}

// momentEllipse is the ellipse with the area, centroid and directions of a
// closed polygon.
func momentEllipse(p []vec) ellipse {
	area, c, xx, xy, yy := moments(p)
	mean, half := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
	angle := math.Atan2(2*xy, xx-yy) / 2
	major, minor := math.Sqrt(mean+half), math.Sqrt(math.Max(mean-half, 1e-12))
	k := math.Sqrt(area / (math.Pi * major * minor))
	return newEllipse(c, major*k, minor*k, angle)
}

// reframed describes the closed polygon p about the ellipse of its moments.
// False when p is not star-shaped about its centre.
func reframed(p []vec) (contour, bool) { return inFrame(momentEllipse(p), p) }

// inFrame describes the closed polygon p about an ellipse.
func inFrame(e ellipse, p []vec) (contour, bool) {
	c := contour{frame: e}
	det := c.frame.a.cross(c.frame.b)
	n := len(p)
	angle, radius := make([]float64, n+1), make([]float64, n+1)
	for i, q := range p {
		d := q.sub(c.frame.c)
		u, v := d.cross(c.frame.b)/det, c.frame.a.cross(d)/det
		angle[i], radius[i] = math.Atan2(v, u), math.Hypot(u, v)
	}
	forward := turnsForward(angle[:n])
	if !forward {
		reverse(angle[:n])
		reverse(radius[:n])
	}
	angle[n], radius[n] = angle[0], radius[0]
	for i := 1; i <= n; i++ {
		for angle[i] < angle[i-1]-math.Pi {
			angle[i] += 2 * math.Pi
		}
		if angle[i] <= angle[i-1] {
			return c, false
		}
	}
	i := 0
	for k := range rays {
		t := 2 * math.Pi * float64(k) / rays
		for t < angle[0] {
			t += 2 * math.Pi
		}
		for t >= angle[0]+2*math.Pi {
			t -= 2 * math.Pi
		}
		if t < angle[i] {
			i = 0
		}
		for i < n-1 && t > angle[i+1] {
			i++
		}
		c.rho[k] = chordAt(angle[i], radius[i], angle[i+1], radius[i+1], t)
	}
	return c, true
}

// chordAt is the distance from the centre at angle t of the chord between two
// points given by angle and distance.
func chordAt(a0, r0, a1, r1, t float64) float64 {
	s := math.Sin(a1 - a0)
	return r0 * r1 * s / (r0*math.Sin(t-a0) + r1*math.Sin(a1-t))
}

func turnsForward(angle []float64) bool {
	n, forward := len(angle), 0
	for i := range angle {
		if d := math.Remainder(angle[(i+1)%n]-angle[i], 2*math.Pi); d > 0 {
			forward++
		}
	}
	return 2*forward > n
}

func reverse(v []float64) {
	for i, j := 0, len(v)-1; i < j; i, j = i+1, j-1 {
		v[i], v[j] = v[j], v[i]
	}
}
