package phantom_test

import (
	"fmt"

	"rootrule/imaging/phantom"
)

// A canal of 9 mm and then 30° at a radius of 8 mm, in a picture that is 4 %
// magnified.
func ExamplePeriapical() {
	spec := phantom.NewSpec(1)
	spec.Magnification = 1.04
	img, truth := phantom.Periapical(spec)
	canal := truth.Canals[0]
	fmt.Printf("%d × %d pixels\n", img.Width, img.Height)
	fmt.Printf("canal %.3f mm, %.1f px, Schneider %.1f°\n", canal.LengthMM, canal.LengthPx, canal.SchneiderDeg)
	fmt.Printf("file %.1f mm, lesion %.3f mm²\n", truth.File.LengthMM, truth.Lesion.AreaMM2)
	// Output:
	// 1000 × 1500 pixels
	// canal 13.189 mm, 685.8 px, Schneider 15.0°
	// file 21.0 mm, lesion 7.351 mm²
}
