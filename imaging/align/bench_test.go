package align

import (
	"context"
	"slices"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/internal/inputs"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// benchPair is the same tooth twice, with another tone, noise and warp; in the
// second the lesion is the given part of its size.
func benchPair(warp phantom.Matrix, lesion float64) (before, after *imaging.Image) {
	a, b := phantom.NewSpec(7), phantom.NewSpec(7)
	a.File, b.File = nil, nil
	before, _ = phantom.Periapical(a)
	b.Warp, b.Beam.Photons, b.Tone = warp, 3500, phantom.Tone{Gain: 7800, Gamma: 0.85, Offset: 900}
	shrunk := *b.Lesion
	shrunk.SemiMM[0] *= lesion
	shrunk.SemiMM[1] *= lesion
	b.Lesion = &shrunk
	after, _ = phantom.Periapical(b)
	return before, after
}

// benchmark aligns a pair, says how well, and leaves it for others.
func benchmark(b *testing.B, name, model string, warp phantom.Matrix, lesion float64) {
	before, after := benchPair(warp, lesion)
	inputs.Leave(b, name+"_before", before.Pix, before.Height, before.Width)
	inputs.Leave(b, name+"_after", after.Pix, after.Height, after.Width)
	inputs.Leave(b, name+"_truth", slices.Concat(warp[0][:], warp[1][:], warp[2][:]), 3, 3)
	var r Result
	for b.Loop() {
		var err error
		if r, err = Images(context.Background(), before, after, Options{Model: model}); err != nil {
			b.Fatal(err)
		}
	}
	rms, _ := missed(homography(r.Matrix), homography(warp), before.Width, before.Height)
	b.ReportMetric(rms, "px-rms")
}

func BenchmarkAffine1500x1000(b *testing.B) {
	benchmark(b, "affine", measure.ModelAffine, phantom.Matrix{{1.04, 0.07, 28}, {-0.06, 0.96, 24}, {0, 0, 1}}, 1)
}

func BenchmarkProjective1500x1000(b *testing.B) {
	benchmark(b, "projective", measure.ModelProjective, obliqueWarp, 1)
}

// BenchmarkChanged1500x1000 aligns after the lesion has lost two thirds of its
// area.
func BenchmarkChanged1500x1000(b *testing.B) {
	benchmark(b, "changed", measure.ModelProjective, obliqueWarp, 0.6)
}

var obliqueWarp = phantom.Matrix{{1.03, 0.05, -25}, {-0.045, 0.97, 30}, {2e-5, -2.5e-5, 1}}
