package jpegls

import mathbits "math/bits"

// context is one set of accumulators of the regular mode (T.87 A.2.1).
type context struct {
	a int32 // sum of the magnitudes of the errors
	b int32 // bias
	c int32 // prediction correction
	n int32 // number of errors since the last halving
}

// Limits of the prediction correction C (T.87 A.2.1).
const minC, maxC = -128, 127

// golombParameter returns k, the smallest with N·2^k ≥ A (T.87 A.5.1).
func golombParameter(a, n int32) uint {
	k := max(mathbits.Len32(uint32(a))-mathbits.Len32(uint32(n)), 0)
	if int64(n)<<(uint(k)&63) < int64(a) {
		k++
	}
	return uint(k)
}

// update takes in a prediction error (T.87 A.6.1, Code segment A.12, and A.6.2,
// Code segment A.13).
func (x *context) update(err, step, reset int32) {
	x.a += max(err, -err)
	x.b += err * step
	if x.n == reset {
		x.a >>= 1
		x.b >>= 1
		x.n >>= 1
	}
	x.n++
	// Code segment A.13 without branches, which no processor could foretell:
	// down and up are −1 where the bias leaves −N+1 … 0.
	down, up := (x.b+x.n-1)>>31, -x.b>>31
	x.b = min(max(x.b+x.n&down-x.n&up, 1-x.n), 0)
	x.c = min(max(x.c+down-up, minC), maxC)
}

// runContext is one of the two sets of accumulators for the sample that ends a
// run (T.87 A.7.2).
type runContext struct {
	a, n     int32
	negative int32 // Nn: how many errors were negative
	kind     int32 // RItype: 1 when Ra and Rb are alike, 0 when not
}

func (x *runContext) golombParameter() uint {
	return golombParameter(x.a+(x.n>>1)*x.kind, x.n) // T.87 Code segment A.20
}

// unmap turns the number that was coded into a prediction error (the inverse of
// T.87 Code segments A.21 and A.22).
func (x *runContext) unmap(coded int32, k uint) int32 {
	t := coded + x.kind
	odd := t & 1
	magnitude := (t + odd) >> 1
	negativeIsOdd := k != 0 || 2*x.negative >= x.n
	if negativeIsOdd == (odd == 1) {
		return -magnitude
	}
	return magnitude
}

// update takes in an error (T.87 Code segment A.23).
func (x *runContext) update(err, coded, reset int32) {
	if err < 0 {
		x.negative++
	}
	x.a += (coded + 1 - x.kind) >> 1
	if x.n == reset {
		x.a >>= 1
		x.n >>= 1
		x.negative >>= 1
	}
	x.n++
}
