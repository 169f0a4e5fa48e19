package align

import (
	"context"
	"image"
	"math/rand/v2"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// crowned is a picture without noise with a metal crown over the tooth: what is
// denser than soft tissue above the level of the orifice becomes denser.
func crowned(m *imaging.Image, bottom int) *imaging.Image {
	out := *m
	out.Pix = append([]uint16{}, m.Pix...)
	for i, v := range m.Pix[:bottom*m.Width] {
		if v > cleanGain/2 {
			out.Pix[i] = uint16(min(float64(v)+1.1*cleanGain, 65535))
		}
	}
	return &out
}

// coneCut is a radiograph whose corner the beam did not reach.
func coneCut(m *imaging.Image, radius int) *imaging.Image {
	out := *m
	out.Pix = append([]uint16{}, m.Pix...)
	for i := range out.Pix {
		x, y := i%m.Width-radius/3, i/m.Width-radius/3
		if x < radius && y < radius && (x-radius)*(x-radius)+(y-radius)*(y-radius) > radius*radius {
			out.Pix[i] = 300
		}
	}
	return &out
}

// TestAccuracy compares with the exact projections of a phantom. The
// tolerances are the project's targets for pictures of 1500 × 1000 px; noise
// and detail are the same here at half that size.
func TestAccuracy(t *testing.T) {
	const patient = 300
	spec := cleanSpec(patient, 0.04)
	spec.Lesion.SemiMM = [2]float64{2.2, 1.6}
	clean, _ := phantom.Periapical(spec)
	orifice := spec.Projection().Pixel(spec.Canal.OrificeMM)
	for _, c := range []struct {
		name      string
		model     string
		change    func(*phantom.Spec)
		crown     bool
		cone      int
		tolerance float64 // px rms
	}{
		{name: "affine, same content", model: measure.ModelAffine, tolerance: 0.08},
		{name: "projective, same content", model: measure.ModelProjective, tolerance: 0.10},
		{name: "lesion shrunk", model: measure.ModelProjective, change: func(s *phantom.Spec) { s.Lesion.SemiMM = [2]float64{1.3, 0.9} }, tolerance: 0.12},
		{name: "lesion grew", model: measure.ModelProjective, change: func(s *phantom.Spec) { s.Lesion.SemiMM = [2]float64{3, 2.4} }, tolerance: 0.12},
		{name: "lesion vanished", model: measure.ModelAffine, change: func(s *phantom.Spec) { s.Lesion = nil }, tolerance: 0.12},
		{name: "post added", model: measure.ModelProjective, change: func(s *phantom.Spec) {
			s.File = &phantom.FileSpec{LengthMM: 9, ShortMM: 5, DiameterMM: 1}
		}, tolerance: 0.2},
		{name: "crown added", model: measure.ModelProjective, crown: true, tolerance: 0.2},
		{name: "corner missing", model: measure.ModelProjective, cone: 180, tolerance: 0.12},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := rand.New(rand.NewPCG(patient, 4))
			tilt := 0.0
			if c.model == measure.ModelProjective {
				tilt = 0.02
			}
			s := spec
			l := *spec.Lesion
			s.Lesion = &l
			if c.change != nil {
				c.change(&s)
			}
			h := randomWarp(r, s.Width, s.Height, tilt)
			s.Warp = phantom.Matrix(h)
			later, _ := phantom.Periapical(s)
			if c.crown {
				_, y, _ := h.apply(orifice.X, orifice.Y)
				later = crowned(later, int(y)-10)
			}
			after := retake(later, exposure{77, 3500, 7800, 0.85, 900})
			if c.cone > 0 {
				after = coneCut(after, c.cone)
			}
			got, err := Images(context.Background(), retake(clean, exposure{78, 6000, 9000, 1, 0}), after, Options{Model: c.model})
			if err != nil {
				t.Fatal(err)
			}
			rms, worst := missed(homography(got.Matrix), h, s.Width, s.Height)
			t.Logf("missed by %.3f px rms, %.3f at most; said %.3f; changed %d places", rms, worst, got.Residual, len(got.Changed))
			if rms > c.tolerance {
				t.Errorf("missed by %.3f px rms, tolerance %.2f", rms, c.tolerance)
			}
			if rms > 3*got.Residual {
				t.Errorf("missed by %.3f px rms, but said %.3f", rms, got.Residual)
			}
			if c.crown && !touches(got.Changed, image.Rect(0, 0, s.Width, int(orifice.Y))) {
				t.Errorf("the crown is not among the changed places %v", got.Changed)
			}
		})
	}
}

func touches(places []image.Rectangle, r image.Rectangle) bool {
	for _, p := range places {
		if p.Overlaps(r) {
			return true
		}
	}
	return false
}
