package outline

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// body is a probe followed up to a surface at the steepest edge.
type body struct {
	solid
	width    float64   // scale of the logistic edge, mm
	step     float64   // mm between samples of a profile
	offset   []float64 // where the edge lies, mm, outward positive
	contrast []float64
	lost     []bool
	weight   []float64 // in the last fit
	steady   []float64 // the contrast, smooth over the surface
	normal   []vec3
	spread   float64 // robust standard deviation of the offsets, mm
	texture  float64 // what texture and noise alone make of an offset, mm
	stray    float64 // and of a contrast
	chain    float64 // so many directions share an error
}

const noSurface = "the edges around it make no closed surface"

// followProbe turns an ellipsoid into a surface. It says what is wrong where
// that fails.
func followProbe(blocks []block, p probe) (body, string) {
	b := body{solid: *newSolid(p.ellipsoid)}
	for i, reach := range []float64{0.35, 0.25, 0.18} {
		if !b.reach(&blocks[max(p.level-min(i, 1), 0)], reach) {
			return b, noSurface
		}
	}
	for i := range 7 {
		bl := blockFor(blocks, b.frame.minor())
		lost := b.measure(bl, i == 0 || i == 3)
		if lost > len(b.rho)/8 {
			return b, "the dark region is open to the border of the volume"
		}
		if !b.adjust() {
			return b, noSurface
		}
	}
	return b, ""
}

// blockFor is the block on which a surface of that radius is measured.
func blockFor(blocks []block, minor float64) *block {
	l := 0
	for l+1 < len(blocks) && minor/blocks[l+1].finest() >= 12 {
		l++
	}
	return &blocks[l]
}

// reach takes the steepest place on each ray within a part of the radius,
// held back to where the surface is, and a smooth surface through these.
func (b *body) reach(bl *block, part float64) bool {
	const places = 21
	n := b.normals()
	slopes := make([][places]float64, len(b.rho))
	var middle []float64
	d := probeReach * bl.finest()
	for i := range b.rho {
		ray := b.frame.ray(ball.dir[i])
		for k := range places {
			p := b.frame.c.add(ray.mul(b.rho[i] * (1 + part*(2*float64(k)/(places-1)-1))))
			if v := bl.at(p.add(n[i].mul(d))) - bl.at(p.sub(n[i].mul(d))); v == v {
				slopes[i][k] = v
			}
		}
		middle = append(middle, slopes[i][places/2])
	}
	typical := math.Max(median(middle), 1e-9)
	y, w := make([]float64, len(b.rho)), make([]float64, len(b.rho))
	for i := range y {
		best := math.Inf(-1)
		for k, g := range slopes[i] {
			x := 2*float64(k)/(places-1) - 1
			if v := math.Min(g/typical, 1.2) - 0.5*x*x; v > best {
				best, y[i] = v, b.rho[i]*(1+part*x)
			}
		}
		w[i] = 1
	}
	b.shape = robustSphere(y, b.rho, w, 4, prior{0.05, 2}, 0.02, 4)
	return b.take(evaluate(b.shape))
}

// robustSphere fits harmonics to values of which some are far off: it begins
// at a first guess and weighs residuals by their spread, at least least.
func robustSphere(y, first, ok []float64, top int, p prior, least, chain float64) (c []float64) {
	fit := first
	w := make([]float64, len(y))
	for range 4 {
		var res []float64
		for i := range y {
			if ok[i] > 0 {
				res = append(res, y[i]-fit[i])
			}
		}
		if len(res) == 0 {
			break
		}
		spread := math.Max(1.4826*medianDistance(res, 0), least)
		for i := range w {
			w[i] = 0
			if ok[i] > 0 {
				w[i] = tukey((y[i]-fit[i])/(4*spread)) / (chain * spread * spread)
			}
		}
		c, _, _ = newNormalSphere(y, w, top).solve(p)
		fit = evaluate(c)
	}
	full := make([]float64, terms)
	copy(full, c)
	return full
}

// take takes on new distances and moves the frame along.
func (b *body) take(rho []float64) bool {
	for _, r := range rho {
		if !(r > 0.3 && r < 3) {
			return false
		}
	}
	b.rho = rho
	return b.reframe()
}

// measure fits the edge model across the surface and returns how many profiles
// leave the volume. fresh finds the edge's width and listens to the texture.
func (b *body) measure(bl *block, fresh bool) (missing int) {
	b.step = bl.finest()
	b.normal = b.normals()
	minor := b.frame.minor()
	if fresh {
		n := samples(0.5*minor, b.step)
		b.width = bestWidth(b.profiles(bl, 0, n), n, b.step, minor/5)
	}
	half := math.Min(math.Max(profileReach*b.width, 5*b.step), 0.6*minor)
	n := samples(half, b.step)
	m := newEdgeModel(b.width, b.step, n)
	size := len(b.rho)
	b.contrast, b.lost = make([]float64, size), make([]bool, size)
	shift := make([]float64, size)
	for i, prof := range b.profiles(bl, 0, n) {
		_, c, cd, _ := m.fit(prof)
		if b.lost[i] = c != c; b.lost[i] {
			missing++
			continue
		}
		b.contrast[i], shift[i] = c, cd
	}
	b.steadyContrast(missing)
	limit := 1.5*b.width + b.step
	// Blur of a variance per direction moves the half height of a curved edge in
	// by the variance times the mean curvature (the heat equation moves a level
	// set by its curvature); what the blocks add is known and taken back.
	inward := bl.blur() / b.frame.radius()
	b.offset = make([]float64, size)
	for i := range b.offset {
		if !b.lost[i] {
			b.offset[i] = math.Min(math.Max(-shift[i]/b.steady[i], -limit), limit) + inward
		}
	}
	if fresh {
		b.listen(bl, &m, n, half)
	}
	return missing
}

// profiles reads n samples on each side of the surface, moved outward by away.
func (b *body) profiles(bl *block, away float64, n int) [][]float64 {
	out := make([][]float64, len(b.rho))
	buf := make([]float64, len(b.rho)*(2*n+1))
	for i := range out {
		out[i] = buf[i*(2*n+1) : (i+1)*(2*n+1)]
		p := b.point(i)
		for k := range out[i] {
			out[i][k] = bl.at(p.add(b.normal[i].mul(away + float64(k-n)*b.step)))
		}
	}
	return out
}

// steadyContrast makes the contrast slowly changing over the surface.
func (b *body) steadyContrast(missing int) {
	size := len(b.rho)
	b.steady = make([]float64, size)
	seen, ok, first := make([]float64, 0, size), make([]float64, size), make([]float64, size)
	for i, c := range b.contrast {
		if !b.lost[i] {
			seen, ok[i] = append(seen, c), 1
		}
	}
	if len(seen) == 0 {
		return
	}
	mid := math.Max(median(seen), 1e-9)
	y := make([]float64, size)
	for i, c := range b.contrast {
		y[i], first[i] = c/mid, 1
	}
	for i, v := range evaluate(robustSphere(y, first, ok, 2, prior{0.3, 0}, 1e-6, 8)) {
		b.steady[i] = mid * math.Max(v, 0.4)
	}
}

// listen measures what the edge model sees outside, where there is no edge.
func (b *body) listen(bl *block, m *edgeModel, n int, half float64) {
	var variance, strays, chains []float64
	for _, away := range []float64{1.2, 2, 2.8} {
		y, seen, steps := make([]float64, len(b.rho)), []float64{}, []float64{}
		for i, prof := range b.profiles(bl, away*half, n) {
			if _, c, cd, _ := m.fit(prof); c == c {
				y[i] = cd / b.steady[i]
				seen, steps = append(seen, y[i]), append(steps, c)
			}
		}
		if len(seen) < len(y)/2 {
			continue
		}
		mid := median(seen)
		sd := 1.4826 * medianDistance(seen, mid)
		for i := range y {
			y[i] = math.Min(math.Max(y[i]-mid, -3*sd), 3*sd)
		}
		variance = append(variance, sd*sd)
		strays = append(strays, 1.4826*medianDistance(steps, median(steps)))
		chains = append(chains, neighbours(y))
	}
	b.texture, b.stray, b.chain = 0, 0, 1
	if len(variance) > 0 {
		b.texture, b.stray, b.chain = 0.7*math.Sqrt(mean(variance)), mean(strays), mean(chains) // at the edge of the lesion half the texture has gone
	}
}

// neighbours returns how many directions share an error, from the correlation
// r of neighbouring ones: Σ r^d over the about 6d neighbours at the distance d,
// that is 1 + 6r/(1−r)².
func neighbours(y []float64) float64 {
	var both, own float64
	links := 0
	for i, next := range ball.next {
		own += y[i] * y[i] / float64(len(y))
		for _, j := range next {
			both += y[i] * y[j]
			links++
		}
	}
	r := 0.0
	if own > 0 {
		r = math.Min(math.Max(both/float64(links)/own, 0), 0.8)
	}
	return 1 + 6*r/((1-r)*(1-r))
}

// adjust moves the surface to the edges measured, as far as they agree on a
// smooth one.
func (b *body) adjust() bool {
	size := len(b.rho)
	y, fit, w, lean := make([]float64, size), make([]float64, size), make([]float64, size), make([]float64, size)
	for i := range y {
		lean[i] = b.frame.ray(ball.dir[i]).dot(b.normal[i])
		y[i], fit[i] = b.rho[i]+b.offset[i]/lean[i], 1
	}
	b.weight = make([]float64, size)
	const passes = 6
	for pass := range passes {
		var res []float64
		for i := range y {
			if !b.lost[i] {
				res = append(res, (y[i]-fit[i])*lean[i])
			}
		}
		b.spread = math.Max(1.4826*medianDistance(res, 0), 0.02*b.step)
		u := math.Max(b.texture, math.Min(b.spread, 2*b.texture))
		if b.texture == 0 {
			u = b.spread
		}
		limit := limitOf(b.spread, b.texture, pass, passes)
		for i := range w {
			b.weight[i] = 0
			if !b.lost[i] {
				b.weight[i] = tukey((y[i]-fit[i])*lean[i]/limit) * plausible(b.contrast[i]/b.steady[i])
			}
			w[i] = b.weight[i] * lean[i] * lean[i] / (u * u * b.chain)
		}
		priors := shapes
		if pass < 3 { // first against an ellipsoid
			priors = shapes[:1]
		}
		var ok bool
		if b.shape, b.cov, ok = fitSolid(y, w, priors); !ok {
			return false
		}
		fit = evaluate(b.shape)
	}
	return b.take(fit)
}

// signs are those of a contour, on the surface.
func (b *body) signs() signs {
	c := make([]float64, len(b.contrast))
	copy(c, b.contrast)
	mid := median(c)
	s := signs{contrast: mid, aspect: b.frame.aspect(), radius: b.frame.radius(), rough: b.spread / b.frame.radius(), agree: mean(b.weight)}
	if mid > 0 {
		s.weak, s.weakest = c[len(c)*3/10]/mid, c[len(c)/12]/mid
		s.clear = mid / math.Max(b.stray, 1e-3*mid)
	}
	return s
}

// uncertainty returns the standard uncertainty of the volume and of the
// surface across itself: from the covariance of the shape, and a common shift.
func (b *body) uncertainty() (volume, across float64) {
	shift := math.Hypot(shiftOfWidth*b.width, shiftOfPixel*b.step)
	n := b.cov.SymmetricDim()
	g := mat.NewVecDense(n, nil)
	det := b.frame.det()
	for i, r := range b.rho {
		for k := range n {
			g.SetVec(k, g.AtVec(k)+det*ball.weight[i]*r*r*ball.waves[i][k])
		}
		h := mat.NewVecDense(n, ball.waves[i][:n])
		lean := b.frame.ray(ball.dir[i]).norm()
		across += mat.Inner(h, b.cov, h) * lean * lean / float64(len(b.rho))
	}
	volume = math.Hypot(math.Sqrt(mat.Inner(g, b.cov, g)), b.area()*shift)
	return volume, math.Sqrt(across + shift*shift)
}

// bridged is the part of the surface where the edge counted for little.
func (b *body) bridged() float64 {
	sum := 0.0
	for i, w := range b.weight {
		if w < 0.25 {
			sum += ball.weight[i] / (4 * math.Pi)
		}
	}
	return sum
}
