package trace

import "math"

// deepScale raises out to the measure at one scale of a volume. Each processor
// keeps five smoothed planes, no smoothed volume.
func deepScale(out, grey []float32, size Size, k []float32, scale float32, score voxelScore) {
	w, h, d := size.X, size.Y, size.Z
	row := func(y, z int) []float32 { i := (z*h + y) * w; return grey[i : i+w] }
	inBands(d, max(24, d/8), func(from, to int) {
		sum, plane, padded := make([]float32, w), make([]float32, w*h), make([]float32, w+len(k)-1)
		win := newWindow(d, (w+2*margin)*(h+2*margin), func(dst []float32, z int) {
			for y := range h {
				blurAcross(plane[y*w:(y+1)*w], z, d, k, func(z int) []float32 { return row(y, z) })
			}
			for y := range h {
				blurAcross(sum, y, h, k, func(y int) []float32 { return plane[y*w : (y+1)*w] })
				line := planeRow(dst, w, y)
				blurRow(line[margin:margin+w], sum, k, padded)
				extend(line)
			}
			extendPlane(dst, w, h)
		})
		for z := from; z < to; z++ {
			if z == from {
				win.start(z)
			} else {
				win.advance()
			}
			for y := range h {
				i := (z*h + y) * w
				scoreRow(out[i:i+w], &win.lines, y, scale, score)
			}
		}
	})
}

// planeRow returns the extended row y, −margin … h+margin−1, of an extended
// plane.
func planeRow(plane []float32, w, y int) []float32 {
	i := (y + margin) * (w + 2*margin)
	return plane[i : i+w+2*margin]
}

// extendPlane continues a plane by its margins of rows.
func extendPlane(p []float32, w, h int) {
	r := func(y int) []float32 { return planeRow(p, w, y) }
	for s := 1; s <= margin; s++ {
		beyond(r(-s), r(0), r(1), r(2), s)
		beyond(r(h-1+s), r(h-1), r(h-2), r(h-3), s)
	}
}

// hessian is a symmetric matrix of second derivatives.
type hessian struct{ xx, yy, zz, xy, xz, yz float32 }

// scoreRow scores row y of the plane in the middle.
func scoreRow(out []float32, planes *[2*margin + 1][]float32, y int, scale float32, score voxelScore) {
	n := len(out)
	at := func(dz, dy int) []float32 { return planeRow(planes[margin+dz], n, y+dy) }
	inner := func(dz, dy int) []float32 { return at(dz, dy)[margin:][:n] }
	wide := func(dz, dy int) []float32 { return at(dz, dy)[:n+4] }
	mid, above2, below2, front2, back2 := wide(0, 0), inner(0, -2), inner(0, 2), inner(-2, 0), inner(2, 0)
	above, below, front, back := wide(0, -1), wide(0, 1), wide(-1, 0), wide(1, 0)
	fa, fb, ba, bb := inner(-1, -1), inner(-1, 1), inner(1, -1), inner(1, 1)
	var m hessian
	for x := range out {
		centre := 2 * mid[x+2]
		m.xx = scale * (mid[x+4] - centre + mid[x])
		m.yy = scale * (below2[x] - centre + above2[x])
		m.zz = scale * (back2[x] - centre + front2[x])
		m.xy = scale * (below[x+3] - below[x+1] - above[x+3] + above[x+1])
		m.xz = scale * (back[x+3] - back[x+1] - front[x+3] + front[x+1])
		m.yz = scale * (bb[x] - ba[x] - fb[x] + fa[x])
		out[x] = score(&m, out[x])
	}
}

// frangi3 is eq. 13 of Frangi 1998, with |λ₁| ≤ |λ₂| ≤ |λ₃|.
func (f Filter) frangi3(float64) voxelScore {
	perPlate, perBlob, perNorm := float32(1/(2*f.Alpha*f.Alpha)), float32(1/(2*f.Beta*f.Beta)), float32(1/(2*f.Gamma*f.Gamma))
	return func(h *hessian, best float32) float32 {
		if h.xx+h.yy+h.zz >= 0 {
			return best // the two strongest curvatures aren't both of the ridge's sign
		}
		norm := (h.xx*h.xx + h.yy*h.yy + h.zz*h.zz + 2*(h.xy*h.xy+h.xz*h.xz+h.yz*h.yz)) * perNorm
		if norm <= best {
			return best // 1 − exp(−norm) ≤ norm
		}
		l1, l2, l3 := h.byStrength()
		if l2 >= 0 || l3 >= 0 {
			return best
		}
		plate, blob := float32(l2/l3), float32(l1*l1/(l2*l3))
		return max(best, oneMinusExpNeg(plate*plate*perPlate)*expNeg(blob*perBlob)*oneMinusExpNeg(norm))
	}
}

// sato3 is the line measure √(λ₂λ₃).
func sato3(h *hessian, best float32) float32 {
	a, b, c := h.eigenvalues()
	lo := min(a, b, c)
	mid := a + b + c - lo - max(a, b, c)
	if mid >= 0 {
		return best
	}
	return max(best, float32(math.Sqrt(lo*mid)))
}

// byStrength returns the eigenvalues in order of magnitude.
func (h *hessian) byStrength() (l1, l2, l3 float64) {
	l1, l2, l3 = h.eigenvalues()
	if math.Abs(l1) > math.Abs(l2) {
		l1, l2 = l2, l1
	}
	if math.Abs(l2) > math.Abs(l3) {
		l2, l3 = l3, l2
	}
	if math.Abs(l1) > math.Abs(l2) {
		l1, l2 = l2, l1
	}
	return l1, l2, l3
}

// eigenvalues returns the eigenvalues, in no order, to about 10⁻⁷ of the
// largest. With A = qI + pB, tr B = 0 and tr B² = 6, those of B are 2cos of a
// third of the angle whose cosine is det B/2 (Smith 1961, Commun ACM 4:168).
// The one farthest from the others, t = cos(…) in √¾ … 1, is the well-conditioned
// root of 4t³ − 3t = r: a cubic through its ends and slopes, and one step of
// Newton's method. The others follow without cancellation.
func (h *hessian) eigenvalues() (float64, float64, float64) {
	xx, yy, zz := float64(h.xx), float64(h.yy), float64(h.zz)
	xy, xz, yz := float64(h.xy), float64(h.xz), float64(h.yz)
	q := (xx + yy + zz) / 3
	xx, yy, zz = xx-q, yy-q, zz-q
	p2 := (xx*xx + yy*yy + zz*zz + 2*(xy*xy+xz*xz+yz*yz)) / 6
	if p2 < 1e-37 {
		return q, q, q
	}
	p := math.Sqrt(p2)
	r := (xx*(yy*zz-yz*yz) - xy*(xy*zz-yz*xz) + xz*(xy*yz-yy*xz)) / (2 * p2 * p)
	if r < 0 {
		r, p = -r, -p
	}
	r = min(r, 1)
	t := 0.8660254037844386 + r*(1./6+r*(-0.0425206597771+r*0.0098284))
	t -= ((4*t*t-3)*t - r) / (12*t*t - 3)
	apart := p * math.Sqrt(max(3*(1-t*t), 0))
	return q + 2*p*t, q - p*t + apart, q - p*t - apart
}
