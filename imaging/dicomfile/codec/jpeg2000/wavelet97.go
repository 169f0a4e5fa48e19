package jpeg2000

// Lifting parameters of the irreversible wavelet (T.800 Table F.4).
const (
	alpha97 = -1.586134342059924
	beta97  = -0.052980118572961
	gamma97 = 0.882911075530934
	delta97 = 0.443506852043971
	scale97 = 1.230174104914001 // K
)

// kernel97 is the irreversible wavelet (T.800 F.3.8.2, equation F-7): two
// scalings and four lifting steps.
var kernel97 = kernel[float32]{
	scaling97(false, scale97),
	scaling97(true, 1/scale97),
	lifting97(false, delta97),
	lifting97(true, gamma97),
	lifting97(false, beta97),
	lifting97(true, alpha97),
}

func scaling97(odd bool, k float32) step[float32] {
	return step[float32]{
		odd: odd,
		row: func(a []float32, first int) {
			for i := first; i < len(a); i += 2 {
				a[i] *= k
			}
		},
		column: func(dst, _, _ []float32) {
			for i := range dst {
				dst[i] *= k
			}
		},
	}
}

func lifting97(odd bool, k float32) step[float32] {
	return step[float32]{
		odd: odd,
		row: func(a []float32, first int) {
			n := len(a)
			if first == 0 {
				a[0] -= k * 2 * a[1]
				first = 2
			}
			i := first
			for ; i+1 < n; i += 2 {
				a[i] -= k * (a[i-1] + a[i+1])
			}
			if i < n {
				a[i] -= k * 2 * a[i-1]
			}
		},
		column: func(dst, before, after []float32) {
			before, after = before[:len(dst)], after[:len(dst)]
			for i := range dst {
				dst[i] -= k * (before[i] + after[i])
			}
		},
	}
}
