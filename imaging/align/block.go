package align

import "math"

// template is the earlier picture at one resolution, ready to be compared:
// with its derivatives, in blocks.
type template struct {
	picture
	dx, dy []float32
	side   int  // of a block, px
	nx, ny int  // blocks
	toned  bool // the template has the grey values of the other picture: interpolate well, mistrust blocks whose grey values differ
}

func newTemplate(p *picture, side int) *template {
	t := &template{picture: *p, dx: make([]float32, len(p.v)), dy: make([]float32, len(p.v)), side: side}
	t.nx, t.ny = max(1, (p.w+side/2)/side), max(1, (p.h+side/2)/side)
	for y := 1; y < p.h-1; y++ {
		o := y * p.w
		row, up, down := p.v[o:o+p.w], p.v[o-p.w:o], p.v[o+p.w:o+2*p.w]
		dx, dy := t.dx[o:o+p.w], t.dy[o:o+p.w]
		for x := 1; x < len(row)-1; x++ {
			dx[x] = (row[x+1] - row[x-1]) / 2
			dy[x] = (down[x] - up[x]) / 2
		}
	}
	return t
}

// bounds are the pixels of block (i, j): columns [x0, x1), rows [y0, y1). The
// border of one pixel has no derivatives and belongs to no block.
func (t *template) bounds(i, j int) (x0, y0, x1, y1 int) {
	x0, x1 = 1+(t.w-2)*i/t.nx, 1+(t.w-2)*(i+1)/t.nx
	y0, y1 = 1+(t.h-2)*j/t.ny, 1+(t.h-2)*(j+1)/t.ny
	return
}

// sums are the moments of a block: of the derivatives x and y, the grey value t
// and the grey value z that the later picture has there.
type sums struct{ n, x, y, t, z, xx, xy, yy, xt, yt, tt, xz, yz, tz, zz float64 }

// compare sums up block (i, j) against the later picture through the map h,
// which takes pixels of the template to pixels of the other picture.
func (t *template) compare(i, j int, other *picture, h *homography) (s sums) {
	x0, y0, x1, y1 := t.bounds(i, j)
	mid := t.v[(y0+y1)/2*t.w+(x0+x1)/2]
	if mid != mid {
		mid = 0
	}
	limX, limY := float64(other.w-1), float64(other.h-1)
	for y := y0; y < y1; y++ {
		o := y * t.w
		fy := float64(y)
		bx, by, bw := h[0][1]*fy+h[0][2], h[1][1]*fy+h[1][2], h[2][1]*fy+h[2][2]
		row, dx, dy := t.v[o+x0:o+x1], t.dx[o+x0:o+x1], t.dy[o+x0:o+x1]
		for k, v := range row {
			fx := float64(x0 + k)
			w := 1 / (bw + h[2][0]*fx)
			u, q := (bx+h[0][0]*fx)*w, (by+h[1][0]*fx)*w
			if !(u >= 0 && q >= 0 && u < limX && q < limY) {
				continue
			}
			var z32 float32
			if t.toned {
				z32 = other.cubic(u, q)
			} else {
				z32 = other.linear(u, q)
			}
			gx, gy := dx[k], dy[k]
			if z32 != z32 || gx != gx || gy != gy || v != v {
				continue
			}
			s.add(float64(gx), float64(gy), float64(v-mid), float64(z32-mid))
		}
	}
	return s
}

func (s *sums) add(x, y, t, z float64) {
	s.n++
	s.x += x
	s.y += y
	s.t += t
	s.z += z
	s.xx += x * x
	s.xy += x * y
	s.yy += y * y
	s.xt += x * t
	s.yt += y * t
	s.tt += t * t
	s.xz += x * z
	s.yz += y * z
	s.tz += t * z
	s.zz += z * z
}

// linear is the grey value between four pixels.
func (p *picture) linear(x, y float64) float32 {
	i, j := int(x), int(y)
	a, b := float32(x-float64(i)), float32(y-float64(j))
	o := j*p.w + i
	up, down := p.v[o:o+2:o+2], p.v[o+p.w:o+p.w+2:o+p.w+2]
	top := up[0] + a*(up[1]-up[0])
	return top + b*(down[0]+a*(down[1]-down[0])-top)
}

// cubic is the grey value between sixteen pixels; next to the border between
// four.
func (p *picture) cubic(x, y float64) float32 {
	i, j := int(x), int(y)
	if i < 1 || j < 1 || i+2 >= p.w || j+2 >= p.h {
		return p.linear(x, y)
	}
	t, s := float32(x-float64(i)), float32(y-float64(j))
	t1, s1 := 1-t, 1-s
	a0, a3 := -t*t1*t1/2, -t*t*t1/2
	a1, a2 := 1+t*t*(3*t-5)/2, t*(1+t*(4-3*t))/2
	o := (j-1)*p.w + i - 1
	r0, r1 := p.v[o:o+4:o+4], p.v[o+p.w:o+p.w+4:o+p.w+4]
	r2, r3 := p.v[o+2*p.w:o+2*p.w+4:o+2*p.w+4], p.v[o+3*p.w:o+3*p.w+4:o+3*p.w+4]
	return -s*s1*s1/2*(a0*r0[0]+a1*r0[1]+a2*r0[2]+a3*r0[3]) +
		(1+s*s*(3*s-5)/2)*(a0*r1[0]+a1*r1[1]+a2*r1[2]+a3*r1[3]) +
		s*(1+s*(4-3*s))/2*(a0*r2[0]+a1*r2[1]+a2*r2[2]+a3*r2[3]) -
		s*s*s1/2*(a0*r3[0]+a1*r3[1]+a2*r3[2]+a3*r3[3])
}

// move is what a block says: by how much the map has to move there, with the
// information (inverse covariance, of independent pixels) along its two main
// directions.
type move struct {
	x, y       float64 // centre of the block, px of the template
	dx, dy     float64 // px of the template
	cos, sin   float64 // first main direction
	info       [2]float64
	gain       float64
	like       float64 // correlation coefficient after the best move
	part       float64 // of the block's pixels that were compared
	noise      float64 // standard deviation of what is left, grey values of the other picture
	weight     float64 // say in the last fit, 0–1
	apart      float64 // Mahalanobis distance from the last fit
	offset     float64 // mean grey value of the other picture less that of the template, after the best move
	prior      float64 // say by itself, 0–1
	fitX, fitY float64 // of the last fit
}

// solve fits z = gain·t + offset + gain·(x·dx + y·dy) by least squares, with
// gain and offset eliminated.
func (s *sums) solve(toned bool) (m move, ok bool) {
	n := s.n
	tt, zz, tz := s.tt-s.t*s.t/n, s.zz-s.z*s.z/n, s.tz-s.t*s.z/n
	if n < 12 || !(tt > 0 && zz > 0) { // 12: three times the parameters
		return m, false
	}
	xt, yt := s.xt-s.x*s.t/n, s.yt-s.y*s.t/n
	xz, yz := s.xz-s.x*s.z/n-xt*tz/tt, s.yz-s.y*s.z/n-yt*tz/tt
	xx, xy, yy := s.xx-s.x*s.x/n-xt*xt/tt, s.xy-s.x*s.y/n-xt*yt/tt, s.yy-s.y*s.y/n-yt*yt/tt
	half, turn := (xx-yy)/2, 0.0
	r := math.Hypot(half, xy)
	if r > 0 {
		turn = math.Atan2(xy, half) / 2
	}
	m.sin, m.cos = math.Sincos(turn)
	eig := [2]float64{(xx+yy)/2 + r, (xx+yy)/2 - r}
	if !(eig[0] > 1e-9*tt) {
		return m, false
	}
	b := [2]float64{m.cos*xz + m.sin*yz, m.cos*yz - m.sin*xz}
	var a [2]float64
	left := zz - tz*tz/tt
	for k, e := range eig {
		if e > 1e-6*eig[0] {
			a[k] = b[k] / e
			left -= a[k] * b[k]
		}
	}
	left = max(left, 1e-6*zz)
	ax, ay := m.cos*a[0]-m.sin*a[1], m.sin*a[0]+m.cos*a[1]
	m.gain = (tz - ax*xt - ay*yt) / tt
	m.like = math.Sqrt(1 - left/zz)
	m.noise = math.Sqrt(left / (n - 4))
	m.offset = (s.z - s.t - ax*s.x - ay*s.y) / n
	if !(m.gain > 0) {
		return m, false
	}
	grain := 0.0
	if toned {
		grain = n * gradientNoise * noisePart * m.noise * m.noise
	}
	var d [2]float64
	for k, e := range eig {
		if e <= 1e-6*eig[0] {
			continue
		}
		signal := max(e-grain, leastSignal*e)
		d[k] = a[k] * e / signal / m.gain
		m.info[k] = signal * signal / e * m.gain * m.gain / (m.noise * m.noise)
	}
	m.dx, m.dy = m.cos*d[0]-m.sin*d[1], m.sin*d[0]+m.cos*d[1]
	return m, true
}

// Noise in the template's own derivatives makes every move look smaller and
// surer than it is; what it adds to the squares of the derivatives is taken off
// (attenuation, Fuller 1987, Measurement Error Models, 1.1).
const (
	// gradientNoise is the variance of (v[x+1]−v[x−1])/2 for noise of variance 1
	// through 1 4 6 4 1, every other pixel kept: (1 − 1/70)/2.
	gradientNoise = 0.49
	noisePart     = 0.5 // of the variance left over that is the template's noise; the other half is the other picture's
	leastSignal   = 0.5 // of the squared derivatives that is never taken for noise
)

// moves compares all blocks.
func (t *template) moves(other *picture, h *homography) []move {
	out := make([]move, 0, t.nx*t.ny)
	for j := range t.ny {
		for i := range t.nx {
			s := t.compare(i, j, other, h)
			x0, y0, x1, y1 := t.bounds(i, j)
			size := float64((x1 - x0) * (y1 - y0))
			if s.n < leastPart*size {
				continue
			}
			if m, ok := s.solve(t.toned); ok {
				m.x, m.y, m.part = float64(x0+x1-1)/2, float64(y0+y1-1)/2, s.n/size
				out = append(out, m)
			}
		}
	}
	return out
}

// leastPart is the part of a block that has to lie in both pictures. Chosen.
const leastPart = 0.4
