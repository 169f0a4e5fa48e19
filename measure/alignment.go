package measure

import (
	"errors"
	"fmt"
	"math"
)

// Alignment maps positions of one image to another: a projective map as a 3×3
// matrix with the last element 1, whose last row is 0 0 1 when it is affine.
type Alignment [3][3]float64

// Map returns where the alignment puts p. The result is NaN on the horizon of
// a projective map. A mark's own uncertainty is kept.
func (a Alignment) Map(p Point) Point {
	q := a.apply(vec{p.X, p.Y, 0})
	return Point{q.x, q.y, p.U}
}

func (a Alignment) apply(p vec) vec {
	w := a[2][0]*p.x + a[2][1]*p.y + a[2][2]
	if w == 0 {
		return vec{math.NaN(), math.NaN(), 0}
	}
	return vec{(a[0][0]*p.x + a[0][1]*p.y + a[0][2]) / w, (a[1][0]*p.x + a[1][1]*p.y + a[1][2]) / w, 0}
}

// usable reports whether the map is normalised and can be undone.
func (a Alignment) usable() bool {
	det := 0.0
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		det += a[0][i] * (a[1][j]*a[2][k] - a[1][k]*a[2][j])
		if !(math.Abs(a[0][i]) <= maxPosition && math.Abs(a[1][i]) <= maxPosition && math.Abs(a[2][i]) <= maxPosition) {
			return false
		}
	}
	return a[2][2] == 1 && math.Abs(det) > 1e-9
}

// inverse undoes the map; it is NaN where the map can't be undone.
func (a Alignment) inverse() (b Alignment) {
	for i := range 3 {
		for j := range 3 {
			k, l := (j+1)%3, (j+2)%3
			m, n := (i+1)%3, (i+2)%3
			b[i][j] = a[k][m]*a[l][n] - a[k][n]*a[l][m]
		}
	}
	scale := b[2][2]
	for i := range 3 {
		for j := range 3 {
			b[i][j] /= scale
		}
	}
	return b
}

// Models of an alignment.
const (
	ModelSimilarity = "similarity" // turn, one scale, shift: 4 numbers
	ModelAffine     = "affine"     // 6 numbers
	ModelProjective = "projective" // 8 numbers
)

// leastPairs is the number of pairs that a model needs.
var leastPairs = map[string]int{ModelSimilarity: 2, ModelAffine: 3, ModelProjective: 4}

// BestModel is the model that [Align] should use for n pairs so that at least
// two pairs more than it needs are left to check it: projective from six
// pairs on, affine from four, otherwise similarity. Common practice, no source.
func BestModel(n int) string {
	switch {
	case n >= leastPairs[ModelProjective]+2:
		return ModelProjective
	case n >= leastPairs[ModelAffine]+1:
		return ModelAffine
	}
	return ModelSimilarity
}

// errDegenerate is a set of pairs that fixes no map.
var errDegenerate = errors.New("the pairs do not fix a map: they lie in one line or in one place")

// Align fits the map of the given model that takes the second mark of each
// pair to the first ([before, after]), by least squares of the distances in
// the first image.
func Align(pairs [][2]Point, model string) (Alignment, error) {
	least, ok := leastPairs[model]
	if !ok {
		return Alignment{}, fmt.Errorf("align: unknown model %q: use similarity, affine or projective", model)
	}
	if len(pairs) < least {
		return Alignment{}, fmt.Errorf("align: %d pairs: the %s model needs at least %d", len(pairs), model, least)
	}
	to, from := make([]vec, len(pairs)), make([]vec, len(pairs))
	for i, p := range pairs {
		to[i], from[i] = vec{p[0].X, p[0].Y, 0}, vec{p[1].X, p[1].Y, 0}
	}
	a, err := fitMap(to, from, model)
	if err != nil {
		return Alignment{}, fmt.Errorf("align %d pairs, %s: %w", len(pairs), model, err)
	}
	return a, nil
}

// fitMap fits the map from → to. Points are brought to a common centre and
// size first (Hartley 1997, IEEE PAMI 19:580–593).
func fitMap(to, from []vec, model string) (Alignment, error) {
	ct, st := centreAndSize(to)
	cf, sf := centreAndSize(from)
	if !(st > 0 && sf > 0) {
		return Alignment{}, errDegenerate
	}
	t, f := make([]vec, len(to)), make([]vec, len(to))
	for i := range to {
		t[i], f[i] = to[i].sub(ct).mul(1/st), from[i].sub(cf).mul(1/sf)
	}
	var h Alignment
	var err error
	switch model {
	case ModelSimilarity:
		h, err = fitSimilarity(t, f)
	case ModelAffine:
		h, err = fitLinear(t, f, false, nil)
	default:
		h, err = fitProjective(t, f)
	}
	if err != nil {
		return Alignment{}, err
	}
	into := Alignment{{1 / sf, 0, -cf.x / sf}, {0, 1 / sf, -cf.y / sf}, {0, 0, 1}}
	back := Alignment{{st, 0, ct.x}, {0, st, ct.y}, {0, 0, 1}}
	a := back.after(h).after(into)
	if !(math.Abs(a[2][2]) > 1e-12) {
		return Alignment{}, errDegenerate
	}
	for i := range a {
		for j := range a[i] {
			a[i][j] /= a[2][2]
			if i == 2 && model != ModelProjective {
				a[i][j] = [3]float64{0, 0, 1}[j]
			}
		}
	}
	return a, nil
}

// after returns the map that does b first, then a.
func (a Alignment) after(b Alignment) (c Alignment) {
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				c[i][j] += a[i][k] * b[k][j]
			}
		}
	}
	return c
}

func centreAndSize(p []vec) (centre vec, size float64) {
	for _, q := range p {
		centre = centre.add(q.mul(1 / float64(len(p))))
	}
	for _, q := range p {
		size += q.dist(centre) / float64(len(p))
	}
	return centre, size
}

// fitSimilarity is the least-squares turn, scale and shift of centred points.
func fitSimilarity(t, f []vec) (Alignment, error) {
	var dot, cross, square float64
	for i := range t {
		dot += f[i].dot(t[i])
		cross += f[i].cross(t[i]).z
		square += f[i].dot(f[i])
	}
	if !(square > 0) {
		return Alignment{}, errDegenerate
	}
	c, s := dot/square, cross/square
	return Alignment{{c, -s, 0}, {s, c, 0}, {0, 0, 1}}, nil
}

// fitLinear solves the linear equations of an affine map, or of a projective
// one with each equation divided by weight, the denominator of the last pass.
// What rounding leaves of the normal equations goes in a second pass.
func fitLinear(t, f []vec, projective bool, weight []float64) (Alignment, error) {
	n := 6
	if projective {
		n = 8
	}
	var x row
	for range 2 {
		e := normals{n: n}
		for i := range t {
			w := 1.0
			if weight != nil {
				w = 1 / weight[i]
			}
			u, v := f[i].x*w, f[i].y*w
			for axis, target := range [2]float64{t[i].x, t[i].y} {
				var j row
				j[3*axis], j[3*axis+1], j[3*axis+2] = u, v, w
				if projective {
					j[6], j[7] = -target*u, -target*v
				}
				off := -target * w
				for k := range n {
					off += j[k] * x[k]
				}
				e.add(off, &j)
			}
		}
		fixed, ok := e.factor(0)
		if !ok {
			return Alignment{}, errDegenerate
		}
		step := fixed.solve(&e.g)
		for k := range n {
			x[k] -= step[k]
		}
	}
	return Alignment{{x[0], x[1], x[2]}, {x[3], x[4], x[5]}, {x[6], x[7], 1}}, nil
}

// fitProjective repeats the linear fit with the denominators of the last pass,
// so that distances in the image are made least and not their products with
// the denominators.
func fitProjective(t, f []vec) (Alignment, error) {
	h, err := fitLinear(t, f, true, nil)
	weight := make([]float64, len(t))
	for range 20 {
		if err != nil {
			return Alignment{}, err
		}
		for i, p := range f {
			weight[i] = h[2][0]*p.x + h[2][1]*p.y + 1
			if !(weight[i] > 1e-6) {
				return Alignment{}, errors.New("the pairs ask for a map that folds the image: check that each pair marks one structure")
			}
		}
		last := h
		h, err = fitLinear(t, f, true, weight)
		if err == nil && math.Abs(h[2][0]-last[2][0])+math.Abs(h[2][1]-last[2][1]) < 1e-13 {
			break
		}
	}
	return h, err
}
