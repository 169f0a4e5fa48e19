package measure

import "math"

// Inverse returns the map the other way, with the last element 1; false where
// the map can't be undone.
func (a Alignment) Inverse() (b Alignment, ok bool) {
	b = a.inverse()
	sum := 0.0
	for _, row := range b {
		for _, v := range row {
			sum += v
		}
	}
	return b, !math.IsNaN(sum) && !math.IsInf(sum, 0)
}

// After returns the map that does b first, then a.
func (a Alignment) After(b Alignment) Alignment { return a.after(b) }
