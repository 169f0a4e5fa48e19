package phantom

import (
	"math"
	"math/rand/v2"
)

// random is a seeded source of its own: PCG gives the same numbers in every
// Go version, and the normal and Poisson variates are made here, because the
// standard library does not promise to keep its own.
type random struct {
	pcg   *rand.PCG
	spare float64
	has   bool
}

// newRandom returns the source of a seed and a stream; streams of one seed are
// independent (one for each row of a picture, one for clicks, and so on).
func newRandom(seed, stream uint64) *random {
	return &random{pcg: rand.NewPCG(seed, mix(stream))}
}

// mix scatters the bits of a counter (finaliser of SplitMix64, Steele, Lea &
// Flood 2014), so that neighbouring rows start far apart.
func mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// uniform is in [0, 1).
func (r *random) uniform() float64 { return float64(r.pcg.Uint64()>>11) / (1 << 53) }

// normal has mean 0 and standard deviation 1 (polar method, Marsaglia & Bray
// 1964).
func (r *random) normal() float64 {
	if r.has {
		r.has = false
		return r.spare
	}
	for {
		u, v := 2*r.uniform()-1, 2*r.uniform()-1
		q := u*u + v*v
		if q >= 1 || q == 0 {
			continue
		}
		f := math.Sqrt(-2 * math.Log(q) / q)
		r.spare, r.has = v*f, true
		return u * f
	}
}

// poisson counts quanta: exact by multiplication of uniforms (Knuth) below 30,
// the rounded normal approximation above, whose skewness is then below 0.2.
func (r *random) poisson(mean float64) float64 {
	if mean > 30 {
		return max(0, math.Round(mean+math.Sqrt(mean)*r.normal()))
	}
	limit, n := math.Exp(-mean), 0.0
	for p := r.uniform(); p > limit; p *= r.uniform() {
		n++
	}
	return n
}
