package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// background is the autocovariance of what lies over a ridge's mean profile,
// texture and noise, by distance across the line.
type background []float64

// newBackground measures it on a strip, within reach of the middle: what is
// left of each column when its course along the line is taken off.
func newBackground(s *strip, reach int) background {
	w := 2*reach + 1
	columns := make([][]float64, w)
	for k := range columns {
		columns[k] = make([]float64, s.rows)
		for b := range columns[k] {
			columns[k][b] = float64(s.row(b)[s.half-reach+k])
		}
		for b, m := range averaged(columns[k], steady) {
			columns[k][b] -= m
		}
	}
	out := make(background, w)
	for lag := range out {
		sum := 0.0
		for k := 0; k+lag < w; k++ {
			for b, v := range columns[k] {
				sum += v * columns[k+lag][b]
			}
		}
		// the sum has w − lag terms a row: divided by w it is tapered, which
		// keeps the matrix positive definite
		out[lag] = sum / float64(s.rows*w)
	}
	out[0] += out[0]*0.01 + 1e-9
	return out
}

// template finds ridges with the profile of a cylinder's chord, of one width,
// over a background: generalised least squares (Aitken 1935), blind to the
// level and the slope beside the ridge.
type template struct {
	half      float64   // half-width of the ridge, px
	even, odd []float64 // for the strength and the offset of the ridge
	sharp     []float64 // how an offset shows in odd
	evenNoise float64   // standard deviations that the background gives them
	oddNoise  float64
}

// detectorBlur is the standard deviation of a detector's point spread in px:
// of the order of intraoral sensors and of scanned films. From memory.
const detectorBlur = 1.5

// newTemplate returns the template of a half-width; false when the
// background's matrix can't be inverted.
func (c background) newTemplate(half float64) (template, bool) {
	reach := min(int(math.Ceil(1.8*half+2*detectorBlur))+1, (len(c)-1)/2)
	n := 2*reach + 1
	profile, slope, level, line := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		u := float64(i - reach)
		profile[i], level[i], line[i] = chordProfile(u, half), 1, u
		slope[i] = chordProfile(u-0.5, half) - chordProfile(u+0.5, half)
	}
	w, ok := c.whitener(n)
	if !ok {
		return template{}, false
	}
	t := template{half: half}
	t.even, t.evenNoise = w.blind(profile, level)
	t.odd, t.oddNoise = w.blind(slope, line)
	t.odd, t.sharp = withDerivative(t.odd)
	return t, t.evenNoise > 0 && t.oddNoise > 0
}

// whitener solves with the covariance of n neighbouring columns.
type whitener struct {
	cov  *mat.SymDense
	chol mat.Cholesky
}

func (c background) whitener(n int) (*whitener, bool) {
	w := &whitener{cov: mat.NewSymDense(n, nil)}
	for i := range n {
		for j := i; j < n; j++ {
			w.cov.SetSym(i, j, c[j-i])
		}
	}
	return w, w.chol.Factorize(w.cov)
}

// blind returns the whitened filter of a profile f, made blind to g, and its
// noise; noise 0 when the covariance is near singular.
func (w *whitener) blind(f, g []float64) ([]float64, float64) {
	vf, vg := mat.NewVecDense(len(f), f), mat.NewVecDense(len(g), g)
	var a, b, noise mat.VecDense
	if w.chol.SolveVecTo(&a, vf) != nil || w.chol.SolveVecTo(&b, vg) != nil {
		return f, 0
	}
	a.AddScaledVec(&a, -mat.Dot(vg, &a)/mat.Dot(vg, &b), &b)
	noise.MulVec(w.cov, &a)
	return a.RawVector().Data, math.Sqrt(max(mat.Dot(&a, &noise), 0))
}

// chordProfile is the chord of a cylinder of radius r at distance u from its
// axis over its diameter, blurred as a detector does.
func chordProfile(u, r float64) float64 { return chordBlurred(u, r, detectorBlur) }

// chordBlurred is chordProfile for another blur.
func chordBlurred(u, r, blur float64) float64 {
	sum := 0.0
	for k, w := range blurWeights {
		if q := (u + float64(k-len(blurWeights)/2)/3*blur) / r; q*q < 1 {
			sum += w * math.Sqrt(1-q*q)
		}
	}
	return sum
}

// blurWeights is a Gaussian over ±3 standard deviations in thirds.
var blurWeights = func() (w [19]float64) {
	sum := 0.0
	for k := range w {
		w[k] = math.Exp(-float64((k-9)*(k-9)) / 18)
		sum += w[k]
	}
	for k := range w {
		w[k] /= sum
	}
	return w
}()

// templates returns templates for half-widths a third to either side of those
// found, 15 % apart; none when the background allows none.
func (c background) templates(half []float64) []template {
	least, most := math.Inf(1), 0.0
	for _, h := range half {
		least, most = min(least, h), max(most, h)
	}
	var halves []float64
	for h := least / 1.35; h <= most*1.35*1.001; h *= 1.15 {
		halves = append(halves, h)
	}
	out, ok := make([]template, len(halves)), make([]bool, len(halves))
	inBands(len(halves), 1, func(from, to int) {
		for k := from; k < to; k++ {
			out[k], ok[k] = c.newTemplate(halves[k])
		}
	})
	if slices.Contains(ok, false) {
		return nil
	}
	return out
}

// fitting chooses for each block the template with the strongest answer,
// averaged along the line, among those near the half-width found before.
func fitting(s *strip, t []template, half []float64) []int {
	n := s.rows
	snr := make([][]float64, len(t))
	inBands(len(t), 1, func(from, to int) {
		for k := from; k < to; k++ {
			snr[k] = make([]float64, n)
			for i := range n {
				snr[k][i] = s.correlation(i, 0, t[k].even) / t[k].evenNoise
			}
			snr[k] = averaged(snr[k], steady)
		}
	})
	choice, weight := make([]float64, n), make([]float64, n)
	for i := range n {
		best := -1
		for k := range t {
			near := math.Abs(math.Log(t[k].half/half[i])) < 0.35 // as far as templates looks
			if near && (best < 0 || snr[k][i] > snr[best][i]) {
				best = k
			}
		}
		choice[i], weight[i] = float64(best), max(snr[best][i], 0)
	}
	return steadied(choice, weight)
}

// matched measures the ridge with the templates picked.
func matched(s *strip, t []template, pick []int) measured {
	n := s.rows
	m := newMeasured(n)
	sharp := make([]float64, n)
	for i, k := range pick {
		sharp[i] = s.correlation(i, 0, t[k].sharp)
		m.half[i] = t[k].half
		m.ridge[i] = s.correlation(i, 0, t[k].even) / t[k].evenNoise
	}
	sharp = averaged(sharp, steady)
	for i, k := range pick {
		m.set(i, s.correlation(i, 0, t[k].odd), sharp[i], t[k].oddNoise)
	}
	return m
}

// sought looks for the offset of the strongest ridge over stretches of several
// blocks, as far as half its half-width away.
func sought(s *strip, t []template, pick []int) measured {
	n := s.rows
	far := 1
	for _, k := range pick {
		far = max(far, int(t[k].half/2)+1)
	}
	score := make([][]float64, 2*far+1)
	for o := range score {
		score[o] = make([]float64, n)
		for i, k := range pick {
			score[o][i] = s.correlation(i, o-far, t[k].even) / t[k].evenNoise
		}
		score[o] = averaged(score[o], steady)
	}
	m := newMeasured(n)
	for i, k := range pick {
		reach := int(t[k].half/2) + 1
		best := far
		for o := far - reach; o <= far+reach; o++ {
			if score[o][i] > score[best][i] {
				best = o
			}
		}
		m.half[i] = t[k].half
		m.offset[i] = float64(best-far) + peak(score, best, i)
		m.weight[i] = max(score[best][i], 0.01)
	}
	return m
}

// peak returns how far from o the parabola through three scores is highest.
func peak(score [][]float64, o, i int) float64 {
	if o == 0 || o == len(score)-1 {
		return 0
	}
	l, c, r := score[o-1][i], score[o][i], score[o+1][i]
	bend := 2*c - l - r
	if bend <= 0 {
		return 0
	}
	return min(max((r-l)/(2*bend), -0.5), 0.5)
}
