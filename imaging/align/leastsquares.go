package align

import "gonum.org/v1/gonum/mat"

// leastSquares gathers the normal equations of a small linear fit.
type leastSquares struct {
	n int
	a []float64 // lower triangle, row by row
	b []float64
}

func newLeastSquares(n int) *leastSquares {
	return &leastSquares{n, make([]float64, n*(n+1)/2), make([]float64, n)}
}

// add takes the equation row·x = v with a weight.
func (s *leastSquares) add(row []float64, v, weight float64) {
	at := 0
	for k := range s.n {
		wk := weight * row[k]
		s.b[k] += wk * v
		for l := range k + 1 {
			s.a[at] += wk * row[l]
			at++
		}
	}
}

// factor is the Cholesky factor of the normal equations; not ok where they
// have no one solution.
func (s *leastSquares) factor() (ch mat.Cholesky, ok bool) {
	m := mat.NewSymDense(s.n, nil)
	at := 0
	for k := range s.n {
		for l := range k + 1 {
			m.SetSym(k, l, s.a[at])
			at++
		}
	}
	return ch, ch.Factorize(m) && ch.Cond() < 1e12
}

func (s *leastSquares) solve() ([]float64, bool) {
	ch, ok := s.factor()
	if !ok {
		return nil, false
	}
	x := mat.NewVecDense(s.n, nil)
	if ch.SolveVecTo(x, mat.NewVecDense(s.n, s.b)) != nil {
		return nil, false
	}
	return x.RawVector().Data, true
}
