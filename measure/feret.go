package measure

import "math"

// directions is the number of directions over half a turn in which the width
// of an outline is looked at.
const directions = 24

// widths are the widths of an outline in several directions as correlated
// normal quantities. The longest diameter is the largest of them, and the
// largest of noisy quantities is too large on average: much for an outline
// that is nearly round, next to nothing for a long one.
type widths struct {
	mean [directions]float64
	cov  [directions][directions]float64
}

// newWidths looks at the outline o through the marks g in directions from that
// of its longest diameter on. A width moves with the marks next to the two
// places where it touches the outline (weights of a uniform Catmull–Rom curve).
func newWidths(o curve, g group, longest vec) widths {
	p := o.sample(touches)
	p = p[:len(p)-1]
	n := len(g.p)
	start := math.Atan2(longest.y, longest.x)
	var w widths
	var dirs [directions]vec
	moves := make([]float64, directions*n) // by one standard uncertainty of each mark
	for k := range dirs {
		sin, cos := math.Sincos(start + math.Pi*float64(k)/directions)
		dirs[k] = vec{cos, sin, 0}
		lo, hi := extremes(p, dirs[k])
		w.mean[k] = p[hi].sub(p[lo]).dot(dirs[k])
		g.touch(moves[k*n:(k+1)*n], hi, 1)
		g.touch(moves[k*n:(k+1)*n], lo, -1)
	}
	for k := range dirs {
		for l := range k + 1 {
			c := 0.0
			for m, by := range moves[k*n : (k+1)*n] {
				c += by * moves[l*n+m]
			}
			w.cov[k][l] = c * dirs[k].dot(dirs[l])
			w.cov[l][k] = w.cov[k][l]
		}
	}
	return w
}

// touches is the number of places per segment at which a width may touch.
const touches = 4

// extremes returns the indices of the points that lie lowest and highest in a
// direction.
func extremes(p []vec, dir vec) (lo, hi int) {
	low, high := math.Inf(1), math.Inf(-1)
	for i, q := range p {
		h := q.x*dir.x + q.y*dir.y
		if h > high {
			high, hi = h, i
		}
		if h < low {
			low, lo = h, i
		}
	}
	return lo, hi
}

// touch adds what the marks about a sampled place do to it.
func (g group) touch(moves []float64, sample int, sign float64) {
	n, t := len(g.p), float64(sample%touches)/touches
	first := sample/touches - 1 + n
	for i, weight := range [4]float64{-t * (1 - t) * (1 - t) / 2, 1 + t*t*(3*t-5)/2, t * (1 + t*(4-3*t)) / 2, -t * t * (1 - t) / 2} {
		m := (first + i) % n
		moves[m] += sign * weight * g.u[m]
	}
}

// towards moves the widths to those of a smoother outline: what they differ
// from the widths of the ellipse e (half axes along and across the first
// direction turned by angle), less what noise makes of it (the estimator of
// James & Stein 1961).
func (w *widths) towards(e [directions]float64) {
	var mean, spread, noise float64
	for k := range e {
		mean += (w.mean[k] - e[k]) / directions
		noise += w.cov[k][k] / directions
	}
	for k := range e {
		d := w.mean[k] - e[k] - mean
		spread += d * d / directions
	}
	keep := 0.0
	if spread > 0 {
		keep = math.Max(0, 1-noise/spread)
	}
	for k := range e {
		w.mean[k] = e[k] + mean + keep*(w.mean[k]-e[k]-mean)
	}
}

// largest returns by how much the largest of the widths exceeds the largest of
// their means on average, and its standard deviation. The widths are taken from
// the first direction outward, once beginning to either side.
func (w *widths) largest() (excess, sd float64) {
	top := math.Inf(-1)
	for _, m := range w.mean {
		top = math.Max(top, m)
	}
	m1, v1 := w.largestFrom(0)
	m2, v2 := w.largestFrom(1)
	return (m1+m2)/2 - top, math.Sqrt((v1 + v2) / 2)
}

// largestFrom returns mean and variance of the largest width (Clark 1961, Oper
// Res 9:145–162: the maximum of two normal quantities, taken as normal again,
// with the next). side says which side comes first.
func (w *widths) largestFrom(side int) (m, v float64) {
	m, v = w.mean[0], w.cov[0][0]
	with := w.cov[0]
	for i := 1; i < directions; i++ {
		k := (i + 1) / 2
		if (i+side)%2 == 0 {
			k = directions - k
		}
		both := v + w.cov[k][k]
		a := math.Sqrt(math.Max(both-2*with[k], 1e-12*both))
		alpha := (m - w.mean[k]) / a
		upper, density := 0.5*math.Erfc(-alpha/math.Sqrt2), math.Exp(-alpha*alpha/2)/math.Sqrt(2*math.Pi)
		next := m*upper + w.mean[k]*(1-upper) + a*density
		square := (m*m+v)*upper + (w.mean[k]*w.mean[k]+w.cov[k][k])*(1-upper) + (m+w.mean[k])*a*density
		for l := range with {
			with[l] = with[l]*upper + w.cov[k][l]*(1-upper)
		}
		m, v = next, math.Max(square-next*next, 0)
	}
	return m, v
}

// ellipseWidths returns the widths, in the directions of widths, of the
// ellipse that has the second moments of the area inside the closed polygon p.
func ellipseWidths(p []vec, longest vec) (out [directions]float64) {
	var area, cx, cy, xx, xy, yy float64
	o := p[0]
	for i := range p {
		a, b := p[i].sub(o), p[(i+1)%len(p)].sub(o)
		c := a.cross(b).z
		area += c / 2
		cx += c * (a.x + b.x) / 6
		cy += c * (a.y + b.y) / 6
		xx += c * (a.x*a.x + a.x*b.x + b.x*b.x) / 12
		yy += c * (a.y*a.y + a.y*b.y + b.y*b.y) / 12
		xy += c * (2*a.x*a.y + a.x*b.y + b.x*a.y + 2*b.x*b.y) / 24
	}
	cx, cy = cx/area, cy/area
	xx, yy, xy = xx/area-cx*cx, yy/area-cy*cy, xy/area-cx*cy
	start := math.Atan2(longest.y, longest.x)
	for k := range out {
		sin, cos := math.Sincos(start + math.Pi*float64(k)/directions)
		// An ellipse with half axes a, b has the second moments a²/4, b²/4.
		out[k] = 4 * math.Sqrt(math.Max(cos*cos*xx+2*sin*cos*xy+sin*sin*yy, 0))
	}
	return out
}

// withoutExcess deals with the noise of the diameters of the outline o. The
// standard deviation of the largest width is smaller than that of the width in
// one direction, and so is that of the longest diameter; its excess is taken
// off where it matters, as far as the marks show the noise that they claim.
// The width across has lost some of its freedom with the choice of the first.
func (w *work) withoutExcess(longest, across propagated, o curve, g group, along vec) (estimate, estimate) {
	p := o.sample(touches)
	p = p[:len(p)-1]
	all := newWidths(o, g, along)
	all.towards(ellipseWidths(p, along))
	bias, sd := all.largest()
	one := math.Sqrt(all.cov[0][0])
	share := sd / one
	longest.bias = bias * longest.std() / one * math.Sqrt(g.outlineUnrest())
	longest.estimate = longest.through(longest.v, share)
	const kept = 0.45 // of the excess, as its own uncertainty; by trial
	first := longest.widened(kept*longest.bias, w.source())
	if math.Abs(longest.bias) > longest.std()/4 {
		first = first.shifted(-longest.bias)
	} else {
		first = longest.widened(longest.bias, w.source())
	}
	return first, across.through(across.v, math.Sqrt((1+share*share)/2))
}

// outlineUnrest is the share, 0 to 1, of their claimed variance that the marks
// of an outline show: their distances, seen from the middle, from a Fourier
// series of low order.
func (g group) outlineUnrest() float64 {
	n := len(g.p)
	orders := min(4, (n-3)/2)
	if orders < 2 {
		return 1
	}
	var centre vec
	for _, q := range g.p {
		centre = centre.add(q.mul(1 / float64(n)))
	}
	e := normals{n: 2*orders + 1}
	for i, q := range g.p {
		d := q.sub(centre)
		angle := math.Atan2(d.y, d.x)
		j := row{1 / g.u[i]}
		for k := 1; k <= orders; k++ {
			sin, cos := math.Sincos(float64(k) * angle)
			j[2*k-1], j[2*k] = cos/g.u[i], sin/g.u[i]
		}
		e.add(d.norm()/g.u[i], &j)
	}
	f, ok := e.factor(0)
	if !ok {
		return 1
	}
	x := f.solve(&e.g)
	rest := e.chi2
	for k := range e.n {
		rest -= x[k] * e.g[k]
	}
	return math.Min(math.Max(rest, 0)/float64(n-e.n), 1)
}
