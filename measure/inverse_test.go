package measure

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestInverseTakesPointsBack: there and back is the same place, to rounding.
func TestInverseTakesPointsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sin, cos := math.Sincos(rapid.Float64Range(-1, 1).Draw(t, "turn"))
		s := rapid.Float64Range(0.3, 3).Draw(t, "size")
		small := rapid.Float64Range(-1e-4, 1e-4)
		a := Alignment{{s * cos, -s * sin, rapid.Float64Range(-500, 500).Draw(t, "dx")},
			{s * sin, s * cos, rapid.Float64Range(-500, 500).Draw(t, "dy")}, {small.Draw(t, "px"), small.Draw(t, "py"), 1}}
		back, ok := a.Inverse()
		if !ok || back[2][2] != 1 {
			t.Fatalf("%v has the inverse %v, %v", a, back, ok)
		}
		p := Pt(rapid.Float64Range(0, 2000).Draw(t, "x"), rapid.Float64Range(0, 1500).Draw(t, "y"))
		if q := back.Map(a.Map(p)); q.Dist(p) > 1e-6 {
			t.Fatalf("%v comes back as %v", p, q)
		}
	})
	if _, ok := (Alignment{{1, 2, 0}, {2, 4, 0}, {0, 0, 1}}).Inverse(); ok {
		t.Error("a map onto a line has an inverse")
	}
}
