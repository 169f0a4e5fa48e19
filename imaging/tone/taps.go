package tone

import "math"

// unity is the sum of the weights of one device pixel, as a fixed-point 1.
// Fifteen bits leave room for a 16-bit value times a weight in 32 bits.
const unity = 1 << 15

// taps say which source pixels make up each device pixel along one axis:
// device pixel i is the sum of weight[n]·source[at[i]+n-from[i]] for n from
// from[i] up to from[i+1]. The weights of a pixel sum to [unity].
type taps struct {
	at, from []int
	weight   []uint32
}

// axis maps the device pixels of one axis to source pixels. Origin and scale
// are those of the view along it; the source has been halved n times and has
// size pixels of an image of full pixels.
type axis struct {
	origin, scale float64
	halved        int
	size, full    int
}

// span returns the device pixels, from first up to but not including last,
// whose centre lies on the image, limited to an area of n pixels.
func (a axis) span(n int) (first, last int) {
	lo := math.Ceil(a.origin - 0.5*a.scale)
	hi := math.Ceil(a.origin + (float64(a.full)-0.5)*a.scale)
	return int(clamp(lo, 0, float64(n))), int(clamp(hi, 0, float64(n)))
}

// fill computes the taps of n device pixels from first on.
func (t *taps) fill(a axis, first, n int) {
	t.at, t.from, t.weight = t.at[:0], t.from[:0], t.weight[:0]
	for i := range n {
		t.from = append(t.from, len(t.weight))
		x := float64(first+i) - a.origin
		if a.scale > 1 {
			t.between(a, x/a.scale)
		} else {
			t.over(a, (x-0.5)/a.scale, (x+0.5)/a.scale)
		}
	}
	t.from = append(t.from, len(t.weight))
}

// between interpolates linearly between the two pixel centres beside x.
func (t *taps) between(a axis, x float64) {
	x = clamp(x, 0, float64(a.size-1))
	at := min(int(x), max(a.size-2, 0))
	w := uint32((x-float64(at))*unity + 0.5)
	t.at = append(t.at, at)
	if t.weight = append(t.weight, unity-w); w > 0 {
		t.weight = append(t.weight, w)
	}
}

// over averages over the image from x0 to x1, in full-size pixel centres, each
// source pixel weighted by how much of it is covered.
func (t *taps) over(a axis, x0, x1 float64) {
	shrink := float64(int(1) << a.halved)
	end := float64(a.full) / shrink
	e0, e1 := clamp((x0+0.5)/shrink, 0, end), clamp((x1+0.5)/shrink, 0, end)
	at := int(e0)
	t.at = append(t.at, at)
	first, sum := len(t.weight), uint32(0)
	for k := at; k == at || float64(k) < e1-1e-6; k++ {
		covered := math.Min(e1, float64(k+1)) - math.Max(e0, float64(k))
		w := uint32(covered/(e1-e0)*unity + 0.5)
		t.weight = append(t.weight, w)
		sum += w
	}
	middle := (first + len(t.weight)) / 2
	t.weight[middle] += unity - sum // wraps round below zero as it should
}

// reach returns the source pixels, from first up to but not including last,
// that the taps read.
func (t *taps) reach() (first, last int) {
	n := len(t.at) - 1
	return t.at[0], t.at[n] + t.from[n+1] - t.from[n]
}
