package align

import (
	"runtime"
	"sync"

	"rootrule/imaging"
)

// Warp shows the later picture in the frame of the earlier one: w × h stored
// grey values, and for each whether the later picture shows it; where it does
// not, the value is 0. Interpolation is cubic (Keys 1981, IEEE Trans. ASSP
// 29:1153–1160, a = −1/2).
func Warp(after *imaging.Image, r Result, w, h int) (pixels []uint16, mask []bool) {
	pixels, mask = make([]uint16, w*h), make([]bool, w*h)
	back := homography(r.Matrix).inverse()
	rows(h, func(y int) {
		for x := range w {
			u, v, k := back.apply(float64(x), float64(y))
			if z, ok := cubicAt(after, u, v); ok && k > 0 {
				pixels[y*w+x], mask[y*w+x] = uint16(min(max(z+0.5, 0), 65535)), true
			}
		}
	})
	return pixels, mask
}

// rows calls do for each of n rows, on all processors.
func rows(n int, do func(y int)) {
	var wait sync.WaitGroup
	k := min(runtime.GOMAXPROCS(0), n)
	for i := range k {
		wait.Go(func() {
			for y := i; y < n; y += k {
				do(y)
			}
		})
	}
	wait.Wait()
}

// cubicAt is the grey value at (x, y); not ok outside the picture. Near the
// border the outermost pixels are continued.
func cubicAt(m *imaging.Image, x, y float64) (float64, bool) {
	if !(x >= 0 && y >= 0 && x <= float64(m.Width-1) && y <= float64(m.Height-1)) {
		return 0, false
	}
	i, j := int(x), int(y)
	a, b := cubicWeights(x-float64(i)), cubicWeights(y-float64(j))
	sum := 0.0
	if i >= 1 && j >= 1 && i+2 < m.Width && j+2 < m.Height {
		for k, wy := range b {
			row := m.Pix[(j-1+k)*m.Width+i-1:][:4]
			sum += wy * (a[0]*float64(row[0]) + a[1]*float64(row[1]) + a[2]*float64(row[2]) + a[3]*float64(row[3]))
		}
		return sum, true
	}
	for k, wy := range b {
		row := m.Pix[min(max(j-1+k, 0), m.Height-1)*m.Width:]
		for l, wx := range a {
			sum += wy * wx * float64(row[min(max(i-1+l, 0), m.Width-1)])
		}
	}
	return sum, true
}

// cubicWeights are those of the pixels −1, 0, 1 and 2 for a place t of the way
// from 0 to 1.
func cubicWeights(t float64) [4]float64 {
	return [4]float64{
		-t * (1 - t) * (1 - t) / 2,
		1 + t*t*(3*t-5)/2,
		t * (1 + t*(4-3*t)) / 2,
		-t * t * (1 - t) / 2,
	}
}
