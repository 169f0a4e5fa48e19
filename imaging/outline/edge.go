package outline

import (
	"math"
	"slices"
)

// edges is what the profiles across a contour show. Offsets and widths are in
// px of the picture, outward positive.
type edges struct {
	width    float64       // scale w of the logistic edge: 10–90 % over 4.4 w
	half     float64       // profiles reach so far on each side
	step     float64       // px between samples
	offset   [rays]float64 // where the edge lies
	contrast [rays]float64 // step at the edge, positive: darker inside
	steady   [rays]float64 // the contrast, smooth along the contour
	middle   [rays]float64 // grey value half way up the edge
	missing  int           // rays that leave the picture
	lost     [rays]bool
	normal   []vec
	texture  float64 // standard deviation of what the bone's texture and noise make of an offset, px; 0: unknown
	chain    float64 // so many neighbouring rays share an error
	stray    float64 // standard deviation of the contrast where there is no edge
}

// profileReach is how far a profile goes on each side, in widths of the edge:
// far enough for its height, no farther, because other things are there. By trial.
const profileReach = 2.5

// across is the number of neighbouring profiles averaged on a ray.
const across = 3

// profiles reads the grey values across the contour: n samples on each side.
func (p *plane) profiles(c *contour, normals []vec, n int, step float64) [rays][]float64 {
	pts := c.points()
	var out [rays][]float64
	buf := make([]float64, rays*(2*n+1))
	for k := range out {
		out[k] = buf[k*(2*n+1) : (k+1)*(2*n+1)]
		for j := range across {
			t := (float64(j) - float64(across-1)/2) / across
			q, nn := pts[k], normals[k]
			if t < 0 {
				q, nn = q.lerp(pts[(k+rays-1)%rays], -t), nn.lerp(normals[(k+rays-1)%rays], -t)
			} else if t > 0 {
				q, nn = q.lerp(pts[(k+1)%rays], t), nn.lerp(normals[(k+1)%rays], t)
			}
			for i := range out[k] {
				d := float64(i-n) * step
				out[k][i] += p.at(q.x+nn.x*d, q.y+nn.y*d) / across
			}
		}
	}
	return out
}

// edgeModel fits a + C·S(d) − C·δ·S′(d) to a profile, S the logistic function
// of d/w: a step of height C whose half height lies at δ.
type edgeModel struct {
	w    float64
	rows [3][]float64 // least-squares weights of a, C and −Cδ
	s    [2][]float64 // S and S′
}

func newEdgeModel(w, step float64, n int) edgeModel {
	m := edgeModel{w: w}
	size := 2*n + 1
	for i := range m.s {
		m.s[i] = make([]float64, size)
	}
	a := factor{n: 3}
	for i := range size {
		l := 1 / (1 + math.Exp(-float64(i-n)*step/w))
		m.s[0][i], m.s[1][i] = l, l*(1-l)/w
		b := [3]float64{1, l, m.s[1][i]}
		for r := range 3 {
			for q := range 3 {
				a.l[r][q] += b[r] * b[q]
			}
		}
	}
	a.decompose()
	inv := a.inverse()
	for r := range 3 {
		m.rows[r] = make([]float64, size)
		for i := range size {
			m.rows[r][i] = inv[r][0] + inv[r][1]*m.s[0][i] + inv[r][2]*m.s[1][i]
		}
	}
	return m
}

// fit returns a, C, −Cδ and the mean square of the residuals.
func (m *edgeModel) fit(profile []float64) (a, c, cd, rest float64) {
	for i, v := range profile {
		a += m.rows[0][i] * v
		c += m.rows[1][i] * v
		cd += m.rows[2][i] * v
	}
	for i, v := range profile {
		e := v - a - c*m.s[0][i] - cd*m.s[1][i]
		rest += e * e
	}
	return a, c, cd, rest / float64(len(profile)-3)
}

// widthStep is the factor between the edge widths tried.
const widthStep = 1.3

// measureEdges fits the edge model to the profiles across a contour. before
// is what was measured a little beside it: its width holds, and what it heard
// of the texture; without one, both are found.
func (p *plane) measureEdges(c *contour, before *edges) edges {
	normals := c.normals()
	e := edges{step: p.step, normal: normals}
	minor := c.frame.minor()
	widest := minor / 5
	if before == nil {
		n := samples(0.5*minor, p.step)
		profiles := p.profiles(c, normals, n, p.step)
		e.width = bestWidth(profiles[:], n, p.step, widest)
	} else {
		e.width = before.width
	}
	e.half = math.Min(math.Max(profileReach*e.width, 5*p.step), 0.55*minor)
	n := samples(e.half, p.step)
	m := newEdgeModel(e.width, p.step, n)
	e.measure(p.profiles(c, normals, n, p.step), m)
	if before == nil {
		e.listen(p, c, &m, n)
	} else {
		e.texture, e.chain, e.stray = before.texture, before.chain, before.stray
	}
	return e
}

func samples(half, step float64) int { return max(int(math.Round(half/step)), 4) }

// bestWidth is the edge width that explains the middle half of the profiles
// best.
func bestWidth(profiles [][]float64, n int, step, widest float64) float64 {
	best, width := math.Inf(1), 0.0
	for w := 0.5 * step; w < widest*widthStep; w *= widthStep {
		m := newEdgeModel(w, step, n)
		rest := make([]float64, 0, len(profiles))
		for _, prof := range profiles {
			if _, c, _, r := m.fit(prof); r == r && c > 0 {
				rest = append(rest, r)
			}
		}
		if len(rest) < len(profiles)/4 {
			continue
		}
		slices.Sort(rest)
		sum := 0.0
		for _, r := range rest[:len(rest)*3/4] {
			sum += r
		}
		if sum /= float64(len(rest) * 3 / 4); sum < best {
			best, width = sum, w
		}
	}
	if width == 0 {
		return step
	}
	return width
}

func (e *edges) measure(profiles [rays][]float64, m edgeModel) {
	var shift [rays]float64
	for k, prof := range profiles {
		a, c, cd, _ := m.fit(prof)
		if c != c { // leaves the picture
			e.lost[k] = true
			e.missing++
			continue
		}
		e.contrast[k], shift[k], e.middle[k] = c, cd, a+c/2
	}
	e.steady = e.steadily(&e.contrast)
	least := math.Max(0.4*mean(e.steady[:]), 1e-9)
	for k := range e.steady {
		e.steady[k] = math.Max(e.steady[k], least)
	}
	limit := 1.5*m.w + e.step
	for k := range e.offset {
		if !e.lost[k] {
			e.offset[k] = math.Min(math.Max(-shift[k]/e.steady[k], -limit), limit)
		}
	}
}

// listen measures what the same edge model sees where there is no edge: on
// lines outside the contour, at one and two profile lengths from it.
func (e *edges) listen(p *plane, c *contour, m *edgeModel, n int) {
	var variance, chains, strays []float64
	for _, away := range []float64{1.2, 2, 2.8} {
		out := *c
		for k := range out.rho {
			out.rho[k] += away * e.half / c.ray(k).norm()
		}
		var y, zero, w [rays]float64
		var seen, steps []float64
		for k, prof := range p.profiles(&out, e.normal, n, p.step) {
			if _, c, cd, _ := m.fit(prof); cd == cd {
				steps = append(steps, c)
				y[k], w[k] = cd/math.Max(e.steady[k], 1e-9), 1
				seen = append(seen, y[k])
			}
		}
		if len(seen) < rays/2 {
			continue
		}
		mid := median(seen)
		sd := 1.4826 * medianDistance(seen, mid)
		for k := range w {
			y[k] -= mid
			w[k] *= tukey(y[k] / (4 * sd))
		}
		variance = append(variance, sd*sd)
		chains = append(chains, chain(y, zero, w))
		strays = append(strays, 1.4826*medianDistance(steps, median(steps)))
	}
	if len(variance) == 0 {
		return
	}
	sum, links := 0.0, 0.0
	for i := range variance {
		sum += variance[i] / float64(len(variance))
		links += chains[i] / float64(len(variance))
	}
	for _, v := range strays {
		e.stray += v / float64(len(strays))
	}
	// Inside the lesion the texture has gone, at its edge half of it.
	e.texture, e.chain = math.Sqrt(sum)*0.7, links
}

// steadily returns values along the contour made slowly changing (two
// harmonics), with what deviates from that left out.
func (e *edges) steadily(values *[rays]float64) (out [rays]float64) {
	var seen []float64
	for k, v := range values {
		if !e.lost[k] {
			seen = append(seen, v)
		}
	}
	if len(seen) == 0 {
		return out
	}
	mid := median(seen)
	scale := math.Max(math.Abs(mid), 1e-9)
	spread := 1.4826*medianDistance(seen, mid)/scale + 1e-6
	var y, fit, w [rays]float64
	for k, v := range values {
		y[k], fit[k] = v/scale, mid/scale
	}
	for range 4 {
		for k := range w {
			w[k] = 0
			if !e.lost[k] {
				w[k] = tukey((y[k]-fit[k])/(3.5*spread)) / (4 * spread * spread)
			}
		}
		s := fitSeries(y[:], w[:], 2, prior{0.3, 0})
		fit = s.all()
	}
	for k := range out {
		out[k] = scale * fit[k]
	}
	return out
}

func mean(v []float64) (m float64) {
	for _, x := range v {
		m += x / float64(len(v))
	}
	return m
}

// tukey is the weight of a residual in units of its limit (biweight, Beaton &
// Tukey 1974).
func tukey(x float64) float64 {
	if x *= x; x >= 1 {
		return 0
	} else {
		return (1 - x) * (1 - x)
	}
}

// median sorts v.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

func medianDistance(v []float64, from float64) float64 {
	d := make([]float64, len(v))
	for i, x := range v {
		d[i] = math.Abs(x - from)
	}
	return median(d)
}
