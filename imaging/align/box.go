package align

// boxMean is the mean over (2r+1)² pixels, fewer at the border; NaN where one
// of them is NaN.
func boxMean(v []float32, w, h, r int) []float32 {
	rows, out := make([]float32, len(v)), make([]float32, len(v))
	for y := range h {
		row, to := v[y*w:(y+1)*w], rows[y*w:(y+1)*w]
		for x := range to {
			s, from, end := float32(0), max(0, x-r), min(w, x+r+1)
			for _, q := range row[from:end] {
				s += q
			}
			to[x] = s / float32(end-from)
		}
	}
	for y := range h {
		from, end := max(0, y-r), min(h, y+r+1)
		to := out[y*w : (y+1)*w]
		for k := from; k < end; k++ {
			for x, q := range rows[k*w : (k+1)*w] {
				to[x] += q
			}
		}
		for x := range to {
			to[x] /= float32(end - from)
		}
	}
	return out
}
