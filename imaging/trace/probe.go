package trace

import (
	"math"
	"slices"
)

// probe measures from afar where the axis of symmetry of a profile lies and
// how strong its ridge is, for ridges of about one width. Its odd part is the
// derivative of a Gaussian less that of a wider one, in the proportion that
// leaves any even slope of the background out; its even part is the derivative
// of that.
type probe struct {
	half      float64   // half-width of the ridges it answers best to, px
	odd, even []float64 // at −reach … reach, px apart
	noise     float64   // of odd, for white noise of 1
}

const (
	// wider is the ratio of the two Gaussians of a probe: close enough that the
	// probe keeps to the ridge's own surroundings (by trial).
	wider = 1.6
	// roundness is the standard deviation of the probe that answers best to a
	// ridge, over the half-width of the ridge, for a profile like the chord of a
	// cylinder (by numeric search: 0.80 from 5 to 22 px).
	roundness = 0.8
)

func newProbe(half float64) probe {
	sigma := roundness * half
	reach := int(math.Ceil(3 * wider * sigma))
	p := probe{half: half, odd: make([]float64, 2*reach+1)}
	w := wider * sigma
	share := momentRatio(sigma, w, reach)
	for i := range p.odd {
		u := float64(i - reach)
		p.odd[i] = u * (math.Exp(-u*u/(2*sigma*sigma)) - share*math.Exp(-u*u/(2*w*w)))
		p.noise += p.odd[i] * p.odd[i]
	}
	p.noise = math.Sqrt(p.noise)
	p.odd, p.even = withDerivative(p.odd)
	return p
}

// momentRatio is the share of the wide Gaussian that makes the odd part blind
// to an even slope: the ratio of the sums of u² under both.
func momentRatio(narrow, wide float64, reach int) float64 {
	var a, b float64
	for i := 1; i <= reach; i++ {
		u := float64(i)
		a += u * u * math.Exp(-u*u/(2*narrow*narrow))
		b += u * u * math.Exp(-u*u/(2*wide*wide))
	}
	return a / b
}

// withDerivative returns an odd filter with a zero added at both ends, and its
// derivative: what the filter's answer changes by, a pixel of offset.
func withDerivative(odd []float64) (padded, derivative []float64) {
	padded = append(append([]float64{0}, odd...), 0)
	derivative = make([]float64, len(padded))
	for i := range padded {
		if i > 0 {
			derivative[i] -= padded[i-1] / 2
		}
		if i < len(padded)-1 {
			derivative[i] += padded[i+1] / 2
		}
	}
	return padded, derivative
}

// probes returns probes for half-widths from least to most, a quarter apart.
func probes(least, most float64) []probe {
	var p []probe
	for h := least; h <= most*1.001; h *= 1.25 {
		p = append(p, newProbe(h))
	}
	return p
}

// steady is over how many blocks along a line the strength and the width of a
// ridge are taken to be the same (standard deviation): they change slowly
// beside its course.
const steady = 4.0

// probed measures the ridge with probes: the width of each block's ridge, its
// offset and weight.
func probed(s *strip, p []probe) measured {
	n := s.rows
	strength := make([][]float64, len(p))
	for k := range p {
		strength[k] = make([]float64, n)
		for i := range n {
			strength[k][i] = s.correlation(i, 0, p[k].even) / p[k].noise
		}
		strength[k] = averaged(strength[k], steady)
	}
	m := newMeasured(n)
	for i, k := range widths(strength) {
		m.half[i] = p[k].half
		m.set(i, s.correlation(i, 0, p[k].odd), strength[k][i]*p[k].noise, p[k].noise)
	}
	return m
}

// widths chooses for each block the probe that fits the ridge's width, by their
// strengths in units of noise: the finest whose strength is the largest around and not far
// below the best of all; broader ones may answer to what the ridge lies in.
func widths(strength [][]float64) []int {
	n := len(strength[0])
	choice, weight := make([]float64, n), make([]float64, n)
	snr := make([]float64, len(strength))
	for i := range choice {
		for k := range strength {
			snr[k] = strength[k][i]
		}
		best := slices.Max(snr)
		choice[i] = float64(finest(snr, 0.7*best))
		weight[i] = max(best, 0)
	}
	return steadied(choice, weight)
}

// finest returns the first local maximum of at least a level.
func finest(v []float64, level float64) int {
	for k := range v {
		if v[k] >= level && (k == 0 || v[k] >= v[k-1]) && (k == len(v)-1 || v[k] > v[k+1]) {
			return k
		}
	}
	return len(v) - 1
}

// steadied returns choices averaged along the line, weighted.
func steadied(choice, weight []float64) []int {
	product := make([]float64, len(choice))
	for i := range choice {
		weight[i] += 1e-12
		product[i] = choice[i] * weight[i]
	}
	sum, w := averaged(product, 2*steady), averaged(weight, 2*steady)
	out := make([]int, len(choice))
	for i := range out {
		out[i] = int(math.Round(sum[i] / w[i]))
	}
	return out
}
