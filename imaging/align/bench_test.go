package align

import (
	"context"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// benchPair is the same tooth twice, with another tone, noise and warp.
func benchPair(warp phantom.Matrix) (before, after *imaging.Image) {
	a, b := phantom.NewSpec(7), phantom.NewSpec(7)
	a.File, b.File = nil, nil
	before, _ = phantom.Periapical(a)
	b.Warp, b.Beam.Photons, b.Tone = warp, 3500, phantom.Tone{Gain: 7800, Gamma: 0.85, Offset: 900}
	after, _ = phantom.Periapical(b)
	return before, after
}

func benchmark(b *testing.B, model string, warp phantom.Matrix) {
	before, after := benchPair(warp)
	for b.Loop() {
		if _, err := Images(context.Background(), before, after, Options{Model: model}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAffine1500x1000(b *testing.B) {
	benchmark(b, measure.ModelAffine, phantom.Matrix{{1.04, 0.07, 28}, {-0.06, 0.96, 24}, {0, 0, 1}})
}

func BenchmarkProjective1500x1000(b *testing.B) {
	benchmark(b, measure.ModelProjective, phantom.Matrix{{1.03, 0.05, -25}, {-0.045, 0.97, 30}, {2e-5, -2.5e-5, 1}})
}
