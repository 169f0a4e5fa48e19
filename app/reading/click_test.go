package reading

import (
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/measure"
)

// TestClickPoolsAsIfMeasuredAtOnce: reading by reading gives what all repeats
// at once give, and that is the reader's error.
func TestClickPoolsAsIfMeasuredAtOnce(t *testing.T) {
	const sd = 0.6
	r := rand.New(rand.NewPCG(1, 2))
	mark := func(x, y float64) measure.Point { return measure.Pt(x+sd*r.NormFloat64(), y+sd*r.NormFloat64()) }
	var c Click
	var all [][]measure.Point
	for range 200 {
		var some [][]measure.Point
		for i := range 3 {
			x, y := float64(100*i), 50.0
			some = append(some, []measure.Point{mark(x, y), mark(x, y)})
		}
		next, err := c.With(some)
		if err != nil {
			t.Fatal(err)
		}
		c, all = next, append(all, some...)
	}
	u, enough := c.StdUnc()
	want, err := measure.ReaderClick(all)
	if err != nil || !enough || math.Abs(u-want) > 1e-9 || math.Abs(u-sd) > 0.05 {
		t.Errorf("pooled %g px (%v), at once %g px, the reader's error is %g: %v", u, enough, want, sd, err)
	}
}

func TestClickNeedsRealRepeats(t *testing.T) {
	var c Click
	if _, enough := c.StdUnc(); enough {
		t.Error("nothing is enough")
	}
	same := measure.Pt(3, 4)
	if next, err := c.With([][]measure.Point{{same, same}}); err == nil || next != c {
		t.Error("marks that were not placed anew are taken")
	}
	c, err := c.With([][]measure.Point{{measure.Pt(0, 0), measure.Pt(1, 0)}})
	if u, enough := c.StdUnc(); err != nil || enough || math.Abs(u-0.5) > 1e-12 { // variance ½ along x, none along y
		t.Errorf("one place: %g px, enough %v, %v", u, enough, err)
	}
}
