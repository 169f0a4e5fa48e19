package trace

import "math"

// strip is the picture straightened along a line: rows one after the other
// along it, columns across it, a pixel apart, the middle column on the line.
type strip struct {
	rows, half int
	v          []float32
}

func newStrip(rows, half int) *strip {
	return &strip{rows: rows, half: half, v: make([]float32, rows*(2*half+1))}
}

func (s *strip) row(i int) []float32 {
	n := 2*s.half + 1
	return s.v[i*n : (i+1)*n]
}

// straighten samples the picture at each place of c along its normal and
// averages the rows of each block.
func (t *Map) straighten(c curve, normal []vec, b blocks, half int) *strip {
	s := newStrip(b.n, half)
	inBands(b.n, 16, func(from, to int) {
		for k := from; k < to; k++ {
			first, last := b.rows(k)
			row := s.row(k)
			per := 1 / float64(last-first)
			for i := first; i < last; i++ {
				p, n := c[i], normal[i]
				for j := range row {
					u := float64(j - half)
					row[j] += float32(per * t.grey(p.x+u*n.x, p.y+u*n.y))
				}
			}
		}
	})
	return s
}

// correlation returns that of a row with a filter, off columns to the right of
// the middle; beyond the strip's sides, as at them.
func (s *strip) correlation(row, off int, filter []float64) float64 {
	v := s.row(row)
	first := s.half - len(filter)/2 + off
	sum := 0.0
	if first >= 0 && first+len(filter) <= len(v) {
		for k, x := range v[first : first+len(filter)] {
			sum += filter[k] * float64(x)
		}
		return sum
	}
	for k, f := range filter {
		sum += f * float64(v[min(max(first+k, 0), len(v)-1)])
	}
	return sum
}

// averaged returns v averaged along itself with a Gaussian of sd samples, cut
// at the ends.
func averaged(v []float64, sd float64) []float64 {
	r := int(3 * sd)
	k := make([]float64, r+1)
	for i := range k {
		k[i] = math.Exp(-float64(i*i) / (2 * sd * sd))
	}
	out := make([]float64, len(v))
	for i := range v {
		sum, weight := 0.0, 0.0
		for j := max(i-r, 0); j <= min(i+r, len(v)-1); j++ {
			w := k[abs(j-i)]
			sum += w * v[j]
			weight += w
		}
		out[i] = sum / weight
	}
	return out
}
