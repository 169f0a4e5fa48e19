package trace

import (
	"math"

	"gonum.org/v1/gonum/blas/blas32"
)

// truncation is where a Gaussian kernel ends, in standard deviations: beyond
// it lie 6 parts in 10⁵ of its area. The same as scipy.ndimage's default.
const truncation = 4.0

// gaussian returns the sampled Gaussian of standard deviation sd, normalised to
// sum 1, at −r … r with r = ⌊4·sd + ½⌋.
func gaussian(sd float64) []float32 {
	r := int(truncation*sd + 0.5)
	k := make([]float64, 2*r+1)
	sum := 0.0
	for i := range k {
		x := float64(i-r) / sd
		k[i] = math.Exp(-x * x / 2)
		sum += k[i]
	}
	out := make([]float32, len(k))
	for i := range k {
		out[i] = float32(k[i] / sum)
	}
	return out
}

// mirror returns the index inside 0 … n−1 that stands for i when the signal is
// reflected about the outer edges of its border samples (c b a | a b c | c b a).
func mirror(i, n int) int {
	i %= 2 * n
	if i < 0 {
		i += 2 * n
	}
	if i >= n {
		i = 2*n - 1 - i
	}
	return i
}

// addScaled adds k times src to dst.
func addScaled(dst []float32, k float32, src []float32) {
	blas32.Axpy(k, blas32.Vector{N: len(dst), Inc: 1, Data: src}, blas32.Vector{N: len(dst), Inc: 1, Data: dst})
}

// blurRow convolves a row with kernel k into dst. padded is working space of
// len(src) + len(k) − 1.
func blurRow(dst, src, k, padded []float32) {
	n, r := len(src), len(k)/2
	copy(padded[r:], src)
	for i := 1; i <= r; i++ {
		padded[r-i] = src[mirror(-i, n)]
		padded[r+n-1+i] = src[mirror(n-1+i, n)]
	}
	clear(dst)
	for i, c := range k {
		addScaled(dst, c, padded[i:i+n])
	}
}

// blurAcross sets dst to the sum of the lines at i−r … i+r of n lines, weighted
// with the kernel; line returns one of them.
func blurAcross(dst []float32, i, n int, k []float32, line func(i int) []float32) {
	clear(dst)
	for j, c := range k {
		addScaled(dst, c, line(mirror(i+j-len(k)/2, n)))
	}
}

// margin is how far rows and planes are continued beyond the border for second
// differences.
const margin = 2

// extend continues a line by its margins so that central differences give at
// the border what one-sided ones would: f₋₁ = 2f₀ − f₁ makes the first central
// difference one-sided, f₋₂ = 4f₀ − 4f₁ + f₂ the difference of those as well.
// The line's own samples lie at margin … len−margin−1 of v, at least 3 of them.
func extend(v []float32) {
	n := len(v) - 2*margin
	a := v[margin:]
	v[1] = 2*a[0] - a[1]
	v[0] = 4*a[0] - 4*a[1] + a[2]
	a[n] = 2*a[n-1] - a[n-2]
	a[n+1] = 4*a[n-1] - 4*a[n-2] + a[n-3]
}

// beyond does for whole lines what extend does for samples: dst becomes the
// line one (step 1) or two (step 2) beyond the border line a, whose inner
// neighbours are b and c.
func beyond(dst, a, b, c []float32, step int) {
	if step == 1 {
		for i := range dst {
			dst[i] = 2*a[i] - b[i]
		}
		return
	}
	for i := range dst {
		dst[i] = 4*a[i] - 4*b[i] + c[i]
	}
}
