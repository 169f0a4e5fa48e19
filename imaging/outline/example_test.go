package outline_test

import (
	"errors"
	"fmt"
	"math"

	"rootrule/imaging/outline"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// One click into a lesion, and one into healthy bone.
func ExampleLesion() {
	spec := phantom.NewSpec(1)
	spec.Width, spec.Height = 500, 500
	spec.Canal.OrificeMM = phantom.MM{X: -2.5, Y: -13}
	img, truth := phantom.Periapical(spec)
	c := truth.Lesion.Centre

	o, err := outline.Lesion(img, measure.Pt(c.X+20, c.Y+30), outline.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("area within 2 %%: %v, within its uncertainty: %v\n",
		math.Abs(o.AreaPx2/truth.Lesion.AreaPx2-1) < 0.02,
		math.Abs(o.AreaPx2-truth.Lesion.AreaPx2) < measure.CoverageFactor*o.AreaStdUnc)

	_, err = outline.Lesion(img, measure.Pt(60, 440), outline.Options{})
	fmt.Println("in bone:", errors.Is(err, outline.ErrNoEdge))
	// Output:
	// area within 2 %: true, within its uncertainty: true
	// in bone: true
}
