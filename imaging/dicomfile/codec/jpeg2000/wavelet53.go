package jpeg2000

// kernel53 is the reversible wavelet (T.800 F.3.8.1, equations F-5 and F-6).
var kernel53 = kernel[int32]{
	{odd: false, row: updateRow53, column: updateColumn53},
	{odd: true, row: predictRow53, column: predictColumn53},
}

func updateRow53(a []int32, first int) {
	n := len(a)
	if first == 0 {
		a[0] -= (2*a[1] + 2) >> 2
		first = 2
	}
	i := first
	for ; i+1 < n; i += 2 {
		a[i] -= (a[i-1] + a[i+1] + 2) >> 2
	}
	if i < n {
		a[i] -= (2*a[i-1] + 2) >> 2
	}
}

func updateColumn53(dst, before, after []int32) {
	before, after = before[:len(dst)], after[:len(dst)]
	for i := range dst {
		dst[i] -= (before[i] + after[i] + 2) >> 2
	}
}

func predictRow53(a []int32, first int) {
	n := len(a)
	if first == 0 {
		a[0] += a[1]
		first = 2
	}
	i := first
	for ; i+1 < n; i += 2 {
		a[i] += (a[i-1] + a[i+1]) >> 1
	}
	if i < n {
		a[i] += a[i-1]
	}
}

func predictColumn53(dst, before, after []int32) {
	before, after = before[:len(dst)], after[:len(dst)]
	for i := range dst {
		dst[i] += (before[i] + after[i]) >> 1
	}
}
