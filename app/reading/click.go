package reading

import (
	"math"

	"rootrule/measure"
)

// Click is what is known of how exactly a reader sets a mark, pooled over all
// places that were marked twice. Its zero value knows nothing. It holds no
// patient data.
type Click struct {
	Squares float64 // px², summed over the places and both directions
	Places  int     // marked twice
}

// LeastPlaces is the number of places from which on a reader's own uncertainty
// is used: with six places, twelve degrees of freedom, it is known to about a
// fifth (JCGM 100:2008, table E.1).
const LeastPlaces = 6

// With returns the pool with more repeated places: repeats[i] are the marks of
// place i, two each. The standard deviation of one mark follows from
// [measure.ReaderClick].
func (c Click) With(repeats [][]measure.Point) (Click, error) {
	u, err := measure.ReaderClick(repeats)
	if err != nil {
		return c, err
	}
	n := len(repeats)
	return Click{c.Squares + u*u*2*float64(n), c.Places + n}, nil
}

// StdUnc is the standard uncertainty of one mark in px, in each direction, and
// whether enough places are known to use it.
func (c Click) StdUnc() (px float64, enough bool) {
	if c.Places == 0 {
		return 0, false
	}
	return math.Sqrt(c.Squares / float64(2*c.Places)), c.Places >= LeastPlaces
}
