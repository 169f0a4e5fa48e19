package desk

import (
	"testing"

	"rootrule/measure"
)

// TestCurvesAreWorkedOutOnce for the same marks, and anew for others.
func TestCurvesAreWorkedOutOnce(t *testing.T) {
	var c curves
	made := 0
	ask := func(closed bool, marks ...measure.Point) []measure.Point {
		return c.through(marks, closed, func() []measure.Point { made++; return marks })
	}
	a, b := measure.Pt(1, 2), measure.Pt(3, 4)
	ask(false, a, b)
	if got := ask(false, a, b); made != 1 || len(got) != 2 {
		t.Errorf("the same marks are worked out %d times", made)
	}
	ask(true, a, b)
	ask(false, a)
	ask(false, b, a)
	ask(false, a, measure.Point{X: 3, Y: 4, U: 0.5})
	if made != 5 {
		t.Errorf("of five different lines %d are worked out", made)
	}
	for i := range 2 * keepCurves {
		ask(false, measure.Pt(float64(i), 0), a)
	}
	if len(c.kept) > keepCurves {
		t.Errorf("%d lines are kept", len(c.kept))
	}
}
