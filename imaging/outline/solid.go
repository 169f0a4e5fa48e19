package outline

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// ellipsoid has its centre at c and three semi-axes at right angles.
type ellipsoid struct {
	c    vec3
	axes [3]vec3
}

func (e ellipsoid) det() float64 { return math.Abs(e.axes[0].dot(e.axes[1].cross(e.axes[2]))) }

// radius is that of the ball of the same volume.
func (e ellipsoid) radius() float64 { return math.Cbrt(e.det()) }

func (e ellipsoid) minor() float64 {
	return math.Min(e.axes[0].norm(), math.Min(e.axes[1].norm(), e.axes[2].norm()))
}

func (e ellipsoid) aspect() float64 {
	return math.Max(e.axes[0].norm(), math.Max(e.axes[1].norm(), e.axes[2].norm())) / e.minor()
}

// ray is the point of the ellipsoid's surface in direction d, from the centre.
func (e ellipsoid) ray(d vec3) vec3 {
	return e.axes[0].mul(d[0]).add(e.axes[1].mul(d[1])).add(e.axes[2].mul(d[2]))
}

// polar returns the direction of p in the ellipsoid's frame and how far out it
// lies.
func (e ellipsoid) polar(p vec3) (dir vec3, rho float64) {
	d := p.sub(e.c)
	for a, axis := range e.axes {
		dir[a] = d.dot(axis) / axis.dot(axis)
	}
	rho = dir.norm()
	if rho == 0 {
		return vec3{0, 0, 1}, 0
	}
	return dir.mul(1 / rho), rho
}

// solid is a closed surface, star-shaped about an ellipsoid's centre: in
// direction i of the mesh it lies at rho[i] times the ellipsoid.
type solid struct {
	frame ellipsoid
	rho   []float64
	shape []float64 // coefficients of rho
	cov   *mat.SymDense
}

func newSolid(e ellipsoid) *solid {
	s := &solid{frame: e, rho: make([]float64, len(ball.dir)), shape: make([]float64, terms)}
	s.shape[0] = 1
	for i := range s.rho {
		s.rho[i] = 1
	}
	return s
}

func (s *solid) point(i int) vec3 { return s.frame.c.add(s.frame.ray(ball.dir[i]).mul(s.rho[i])) }

func (s *solid) points() []vec3 {
	out := make([]vec3, len(s.rho))
	for i := range out {
		out[i] = s.point(i)
	}
	return out
}

// normals returns the outward unit normals at the points, the mean of the
// faces around each weighted by area.
func (s *solid) normals() []vec3 {
	p, n := s.points(), make([]vec3, len(s.rho))
	for _, f := range ball.faces {
		v := p[f[1]].sub(p[f[0]]).cross(p[f[2]].sub(p[f[0]]))
		for _, i := range f {
			n[i] = n[i].add(v)
		}
	}
	for i := range n {
		n[i] = n[i].unit()
		if n[i].dot(s.frame.ray(ball.dir[i])) < 0 { // the frame may be left-handed
			n[i] = n[i].mul(-1)
		}
	}
	return n
}

// volume is ⅓ ∮ ρ³ over the sphere, times the ellipsoid's determinant.
func (s *solid) volume() float64 {
	sum := 0.0
	for i, r := range s.rho {
		sum += ball.weight[i] * r * r * r / 3
	}
	return sum * s.frame.det()
}

// area is that of the triangles between the points.
func (s *solid) area() float64 {
	p, sum := s.points(), 0.0
	for _, f := range ball.faces {
		sum += p[f[1]].sub(p[f[0]]).cross(p[f[2]].sub(p[f[0]])).norm() / 2
	}
	return sum
}

// reframe describes the surface about the ellipsoid of its moments.
func (s *solid) reframe() bool {
	e, ok := s.momentEllipsoid()
	if !ok {
		return false
	}
	rho := make([]float64, len(s.rho))
	for i, d := range ball.dir {
		ray, r := e.ray(d), 1.0
		for range 8 { // scaling along the ray about a centre nearby converges fast
			dir, at := s.frame.polar(e.c.add(ray.mul(r)))
			sum := 0.0
			for k, h := range harmonics(dir) {
				sum += h * s.shape[k]
			}
			if !(sum > 0.1 && at > 0) {
				return false
			}
			step := sum / at
			r *= step
			if math.Abs(step-1) < 1e-5 {
				break
			}
		}
		rho[i] = r
	}
	s.frame, s.rho = e, rho
	return true
}

// momentEllipsoid is the ellipsoid with the volume, centroid and directions of
// the solid.
func (s *solid) momentEllipsoid() (ellipsoid, bool) {
	var c vec3
	m := mat.NewSymDense(3, nil)
	volume := 0.0
	for i, r := range s.rho {
		v := s.frame.ray(ball.dir[i]).mul(r)
		w := ball.weight[i] * r * r * r
		volume += w / 3
		c = c.add(v.mul(w / 4))
		for a := range 3 {
			for b := a; b < 3; b++ {
				m.SetSym(a, b, m.At(a, b)+w/5*v[a]*v[b])
			}
		}
	}
	c = c.mul(1 / volume)
	for a := range 3 {
		for b := a; b < 3; b++ {
			m.SetSym(a, b, m.At(a, b)/volume-c[a]*c[b])
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(m, true) {
		return ellipsoid{}, false
	}
	var q mat.Dense
	eig.VectorsTo(&q)
	e := ellipsoid{c: s.frame.c.add(c)}
	for a, v := range eig.Values(nil) {
		if !(v > 0) {
			return ellipsoid{}, false
		}
		for b := range 3 {
			e.axes[a][b] = q.At(b, a) * math.Sqrt(5*v)
		}
	}
	k := math.Cbrt(s.volume() / (4 * math.Pi / 3 * e.det()))
	for a := range e.axes {
		e.axes[a] = e.axes[a].mul(k)
	}
	return e, true
}

// normalSphere holds the normal equations of a weighted fit of spherical
// harmonics.
type normalSphere struct {
	a   *mat.SymDense
	rhs *mat.VecDense
}

// newNormalSphere adds up values y with weights w, the inverse variances; top
// is the highest degree used.
func newNormalSphere(y, w []float64, top int) normalSphere {
	n := (top + 1) * (top + 1)
	sum, rhs := make([]float64, n*n), make([]float64, n)
	for i, b := range ball.waves {
		if w[i] == 0 {
			continue
		}
		for k, v := range b[:n] {
			bw := v * w[i]
			rhs[k] += bw * y[i]
			row := sum[k*n+k : (k+1)*n]
			for j, u := range b[k:n] {
				row[j] += bw * u
			}
		}
	}
	return normalSphere{mat.NewSymDense(n, sum), mat.NewVecDense(n, rhs)}
}

// solve finds the most probable harmonics under a prior, with their evidence
// and what their covariance is made from; see normal.solve.
func (e normalSphere) solve(p prior) (c []float64, chol *mat.Cholesky, evidence float64) {
	n := e.rhs.Len()
	a := mat.NewSymDense(n, nil)
	a.CopySym(e.a)
	for k := range n {
		d := a.At(k, k)*(1+1e-9) + 1e-12
		if sd := p.sd(degreeOf(k)); sd > 0 {
			sd /= math.Sqrt(float64(2*degreeOf(k) + 1)) // the degree as a whole has that size
			d += 1 / (sd * sd)
			evidence -= math.Log(sd)
		}
		a.SetSym(k, k, d)
	}
	chol = new(mat.Cholesky)
	if !chol.Factorize(a) {
		return make([]float64, n), nil, math.Inf(-1)
	}
	var x mat.VecDense
	_ = chol.SolveVecTo(&x, e.rhs) // a condition warning: the ridge keeps it harmless
	return x.RawVector().Data, chol, evidence + mat.Dot(&x, e.rhs)/2 - chol.LogDet()/2
}

// fitSolid fits with each of the priors and returns the most probable
// harmonics with the covariance of the posterior.
func fitSolid(y, w []float64, priors []prior) (c []float64, cov *mat.SymDense, ok bool) {
	e := newNormalSphere(y, w, degree)
	var at *mat.Cholesky
	best := math.Inf(-1)
	for _, p := range priors {
		if x, chol, evidence := e.solve(p); evidence > best {
			c, at, best = x, chol, evidence
		}
	}
	if at == nil {
		return nil, nil, false
	}
	cov = mat.NewSymDense(terms, nil)
	_ = at.InverseTo(cov) // as above
	return c, cov, true
}

func evaluate(c []float64) []float64 {
	out := make([]float64, len(ball.waves))
	for i, b := range ball.waves {
		out[i] = dotProduct(c, b)
	}
	return out
}
