package trace

import "math"

// flatScale gives score the smoothed rows of a picture, row by row.
func flatScale(grey []float32, size Size, k []float32, scale float32, score func(y int, l *[2*margin + 1][]float32, scale float32)) {
	w, h := size.X, size.Y
	row := func(y int) []float32 { return grey[y*w : (y+1)*w] }
	inBands(h, 64, func(from, to int) {
		sum, padded := make([]float32, w), make([]float32, w+len(k)-1)
		win := newWindow(h, w+2*margin, func(dst []float32, y int) {
			blurAcross(sum, y, h, k, row)
			blurRow(dst[margin:margin+w], sum, k, padded)
			extend(dst)
		})
		for y := from; y < to; y++ {
			if y == from {
				win.start(y)
			} else {
				win.advance()
			}
			score(y, &win.lines, scale)
		}
	})
}

// frangi2 returns the vesselness of a row: eq. 15 of Frangi 1998.
func (f Filter) frangi2(float64) rowScore {
	perNorm := float32(1 / (2 * f.Gamma * f.Gamma))
	blobness := newBlobness(f.Beta)
	return func(out []float32, l *[2*margin + 1][]float32, scale float32) {
		n := len(out)
		up2, up, mid, down, down2 := l[0][2:][:n], l[1][:n+4], l[2][:n+4], l[3][:n+4], l[4][2:][:n]
		for x := range out {
			centre := 2 * mid[x+2]
			a := scale * (mid[x+4] - centre + mid[x])
			c := scale * (down2[x] - centre + up2[x])
			trace := a + c
			if trace >= 0 {
				continue // the stronger curvature has the wrong sign
			}
			b := scale * (down[x+3] - down[x+1] - up[x+3] + up[x+1])
			norm := (a*a + c*c + 2*b*b) * perNorm
			if norm <= out[x] {
				continue // 1 − exp(−norm) ≤ norm
			}
			d := float32(math.Sqrt(float64((a-c)*(a-c) + 4*b*b)))
			blob := (trace + d) / (trace - d)
			if v := blobness.at(blob*blob) * oneMinusExpNeg(norm); v > out[x] {
				out[x] = v
			}
		}
	}
}

// sato2 raises out to the curvature across the ridge, in grey values.
func sato2(out []float32, l *[2*margin + 1][]float32, scale float32) {
	n := len(out)
	up2, up, mid, down, down2 := l[0][2:][:n], l[1][:n+4], l[2][:n+4], l[3][:n+4], l[4][2:][:n]
	for x := range out {
		centre := 2 * mid[x+2]
		a := scale * (mid[x+4] - centre + mid[x])
		c := scale * (down2[x] - centre + up2[x])
		b := scale * (down[x+3] - down[x+1] - up[x+3] + up[x+1])
		d := float32(math.Sqrt(float64((a-c)*(a-c) + 4*b*b)))
		if v := (d - a - c) / 2; v > out[x] {
			out[x] = v
		}
	}
}

// blobness tabulates exp(−t/2β²) for t from 0 to 1, linear between entries: at
// the customary β = ½ to 5 parts in 10⁷.
type blobness [2048 + 1]float32

func newBlobness(beta float64) *blobness {
	b := new(blobness)
	for i := range b {
		b[i] = float32(math.Exp(-float64(i) / 1024 / (2 * beta * beta)))
	}
	return b
}

func (b *blobness) at(t float32) float32 {
	t *= 1024
	i := int(t) & 2047
	return b[i] + (t-float32(i))*(b[i+1]-b[i])
}

// expNeg returns exp(−x) for x ≥ 0 to 3 parts in 10⁷: 2ⁱ·2ᶠ with the Taylor
// polynomial of 2ᶠ for |f| ≤ ½.
func expNeg(x float32) float32 {
	if x > 80 { // 2e-35
		return 0
	}
	y := x * -math.Log2E
	i := int32(y - 0.5)
	f := (y - float32(i)) * math.Ln2
	p := 1 + f*(1+f*(1./2+f*(1./6+f*(1./24+f*(1./120+f*(1./720))))))
	return p * math.Float32frombits(uint32(i+127)<<23)
}

// oneMinusExpNeg returns 1 − exp(−x) for x ≥ 0 to a few parts in 10⁷, small
// results included.
func oneMinusExpNeg(x float32) float32 {
	if x > 0.25 {
		return 1 - expNeg(x)
	}
	return x * (1 - x*(1./2-x*(1./6-x*(1./24-x*(1./120-x*(1./720))))))
}
