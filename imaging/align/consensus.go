package align

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"rootrule/measure"
)

// consensus is the change of the map that the blocks agree on.
type consensus struct {
	model      string
	cx, cy, r  float64 // middle and half size of the template: its numbers are of order 1
	params     []float64
	covariance *mat.SymDense
	misfit     float64 // standard deviation per axis of what the blocks say beyond their noise, px of the template
}

// freedom is the number of parameters of a model.
var freedom = map[string]int{measure.ModelSimilarity: 4, measure.ModelAffine: 6, measure.ModelProjective: 8}

func newConsensus(t *template, model string) *consensus {
	return &consensus{model: model, cx: float64(t.w-1) / 2, cy: float64(t.h-1) / 2, r: float64(max(t.w, t.h)) / 2}
}

// rows are the derivatives of the displacement at (x, y) by the parameters.
func (c *consensus) rows(x, y float64) (ex, ey [8]float64) {
	u, v := (x-c.cx)/c.r, (y-c.cy)/c.r
	if c.model == measure.ModelSimilarity {
		return [8]float64{1, 0, u, -v}, [8]float64{0, 1, v, u}
	}
	return [8]float64{1, u, v, 0, 0, 0, u * u, u * v}, [8]float64{0, 0, 0, 1, u, v, u * v, v * v}
}

// at is the displacement at (x, y).
func (c *consensus) at(x, y float64) (dx, dy float64) {
	ex, ey := c.rows(x, y)
	for k, p := range c.params {
		dx += ex[k] * p
		dy += ey[k] * p
	}
	return dx, dy
}

// step is the change as a map of the template.
func (c *consensus) step() homography {
	p := append(append([]float64{}, c.params...), 0, 0)
	var a homography
	if c.model == measure.ModelSimilarity {
		a = homography{{1 + p[2]/c.r, -p[3] / c.r, p[0]}, {p[3] / c.r, 1 + p[2]/c.r, p[1]}, {0, 0, 1}}
	} else {
		a = homography{{1 + p[1]/c.r, p[2] / c.r, p[0]}, {p[4] / c.r, 1 + p[5]/c.r, p[3]}, {-p[6] / (c.r * c.r), -p[7] / (c.r * c.r), 1}}
	}
	to, from := homography{{1, 0, -c.cx}, {0, 1, -c.cy}, {0, 0, 1}}, homography{{1, 0, c.cx}, {0, 1, c.cy}, {0, 0, 1}}
	return from.after(a).after(to)
}

// Constants of the robust fit.
const (
	cutDistance = 3.0 // Mahalanobis distance at which a block has a quarter of its say; chosen by trials
	fitPasses   = 12  // of reweighting
	neighbours  = 3.0 // pixels that noise makes alike: 1 4 6 4 1 twice, kept every other pixel (autocorrelation 1 + 2·0.4 per axis, squared)
	linearPart  = 0.25
	leastMisfit = 0.02 // px of the template: what is left of blur and tone; chosen by trials
)

// fit finds the change by reweighted least squares. Blocks keep their weights
// between passes and calls; all start at 1.
func (c *consensus) fit(moves []move) bool {
	n := freedom[c.model]
	if len(moves) < n {
		return false
	}
	c.misfit = math.Max(c.misfit, leastMisfit)
	scale := 4.0 // wide at first, so that a poor start throws nobody out
	for range fitPasses {
		if !c.solve(moves, n) {
			return false
		}
		spread := c.distances(moves)
		c.misfit = math.Max(leastMisfit, spread)
		scale = math.Max(1, scale*0.6)
		for i := range moves {
			m := &moves[i]
			q := m.apart / (cutDistance * scale)
			m.weight = 1 / ((1 + q*q) * (1 + q*q))
		}
	}
	return c.solve(moves, n)
}

// variances are a move's variances along its two main directions: noise, what
// the map can't follow, and what a long step leaves of linearity.
func (c *consensus) variances(m *move) (u, v float64, flatV bool) {
	bend := linearPart * math.Hypot(m.dx, m.dy)
	extra := c.misfit*c.misfit + bend*bend
	u = neighbours/m.info[0] + extra
	if m.info[1] <= 0 {
		return u, math.Inf(1), true
	}
	return u, neighbours/m.info[1] + extra, false
}

// solve is one weighted least-squares fit.
func (c *consensus) solve(moves []move, n int) bool {
	f := newLeastSquares(n)
	for i := range moves {
		m := &moves[i]
		if m.weight <= 1e-4 {
			continue
		}
		ex, ey := c.rows(m.x, m.y)
		u, v, _ := c.variances(m)
		var row [8]float64
		for k := range n {
			row[k] = m.cos*ex[k] + m.sin*ey[k]
		}
		f.add(row[:], m.cos*m.dx+m.sin*m.dy, m.weight*m.prior/u)
		for k := range n {
			row[k] = m.cos*ey[k] - m.sin*ex[k]
		}
		f.add(row[:], m.cos*m.dy-m.sin*m.dx, m.weight*m.prior/v)
	}
	ch, ok := f.factor()
	if !ok {
		return false
	}
	x := mat.NewVecDense(n, nil)
	if ch.SolveVecTo(x, mat.NewVecDense(n, f.b)) != nil {
		return false
	}
	c.covariance = mat.NewSymDense(n, nil)
	if ch.InverseTo(c.covariance) != nil {
		return false
	}
	c.params = x.RawVector().Data
	return true
}

// distances sets how far each block lies from the fit, and returns the misfit
// that would make the median distance what it is for normal deviations.
func (c *consensus) distances(moves []move) float64 {
	const medianChi2 = 1.386 // of two degrees of freedom: 2 ln 2
	type pair struct{ d, u, v, eu, ev float64 }
	ps := make([]pair, len(moves))
	for i := range moves {
		m := &moves[i]
		m.fitX, m.fitY = c.at(m.x, m.y)
		rx, ry := m.dx-m.fitX, m.dy-m.fitY
		ru, rv := m.cos*rx+m.sin*ry, m.cos*ry-m.sin*rx
		u, v, _ := c.variances(m)
		m.apart = math.Sqrt(ru*ru/u + rv*rv/v)
		k := c.misfit * c.misfit
		ps[i] = pair{0, ru * ru, rv * rv, u - k, v - k}
	}
	d := make([]float64, len(ps))
	median := func(extra float64) float64 {
		for i, p := range ps {
			d[i] = p.u/(p.eu+extra) + p.v/(p.ev+extra)
		}
		return medianOf(d)
	}
	low, high := 0.0, 4.0 // px² of the template
	if median(0) <= medianChi2 {
		return 0
	}
	for range 12 {
		mid := (low + high) / 2
		if low == 0 {
			mid = high / 16
		}
		if median(mid) > medianChi2 {
			low = mid
		} else {
			high = mid
		}
	}
	return math.Sqrt(high)
}

// medianOf returns the median and reorders v.
func medianOf(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

func sortFloats(v []float64) { slices.Sort(v) }

// Limits of blocks that are believed.
const (
	usualNoise = 3.0  // times the median: what is left of a block there has half its say
	usualGain  = 0.25 // relative deviation of a block's contrast from the median: likewise
)

// setPriors takes their say from blocks that look changed by themselves: what
// is left of them after the best move is far more than of others, or their
// contrast is another. With matched grey values, so do blocks whose mean grey
// value is not what it is around: bone that was lost or has come back.
func setPriors(moves []move, t *template) {
	noise, gain := make([]float64, 0, len(moves)), make([]float64, 0, len(moves))
	for i := range moves {
		if m := &moves[i]; m.like > 0.5 {
			noise, gain = append(noise, m.noise), append(gain, m.gain)
		}
	}
	n, g := medianOf(noise), medianOf(gain)
	for i := range moves {
		m := &moves[i]
		m.prior = 1
		if n > 0 {
			q := m.noise / (usualNoise * n)
			m.prior /= 1 + q*q*q*q
		}
		if g > 0 && m.like > 0.9 { // noise lowers the contrast of blocks with little in them
			q := (m.gain/g - 1) / usualGain
			m.prior /= 1 + q*q*q*q
		}
	}
	if t.toned {
		mistrustOffsets(moves, t)
	}
}

// usualOffset is the number of robust standard deviations at which a block's
// mean grey value takes half its say. Chosen by trials.
const usualOffset = 4.0

func mistrustOffsets(moves []move, t *template) {
	points := make([]levelPoint, len(moves))
	for i := range moves {
		points[i] = levelPoint{moves[i].x, moves[i].y, moves[i].offset}
	}
	b := fitBow(points, float64(t.w)/2, float64(t.h)/2)
	off := make([]float64, len(moves))
	for i, p := range points {
		off[i] = math.Abs(p.v - b.at(p.x, p.y))
	}
	scale := usualOffset * medianOf(append([]float64{}, off...)) / normalMedian
	for i := range moves {
		q := off[i] / scale
		moves[i].prior /= 1 + q*q*q*q
	}
}
