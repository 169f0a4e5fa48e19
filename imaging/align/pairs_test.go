package align

import (
	"context"
	"errors"
	"math/rand/v2"
	"slices"
	"testing"

	"rootrule/imaging"
	"rootrule/measure"
)

// marked are pairs of marks through a map (before → after), with clicks of 0.7
// px in each direction (measure.DefaultClick).
func marked(r *rand.Rand, h homography, n, w, ht int) (pairs [][2]measure.Point) {
	click := func(x, y float64) measure.Point {
		return measure.Pt(x+measure.DefaultClick*r.NormFloat64(), y+measure.DefaultClick*r.NormFloat64())
	}
	for i := range n {
		x := float64(w) * (0.2 + 0.6*float64(i%2) + 0.05*r.Float64())
		y := float64(ht) * (0.15 + 0.7*float64(i/2)/float64((n-1)/2) + 0.05*r.Float64())
		u, v, _ := h.apply(x, y)
		pairs = append(pairs, [2]measure.Point{click(x, y), click(u, v)})
	}
	return pairs
}

func TestBadPairIsNamed(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	m := teeth()[1]
	for _, n := range []int{4, 5, 6, 8} {
		for _, bad := range []int{0, n - 1} {
			h := randomWarp(r, m.Width, m.Height, 0.01)
			pairs := marked(r, h, n, m.Width, m.Height)
			pairs[bad][1].X += 40
			pairs[bad][1].Y -= 15
			got, err := Images(context.Background(), retake(m, randomExposure(r)), retake(warped(m, h), randomExposure(r)), Options{Pairs: pairs})
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got.BadPairs, []int{bad}) {
				t.Errorf("%d pairs, %d off: named %v", n, bad, got.BadPairs)
			}
			if rms, _ := missed(homography(got.Matrix), h, m.Width, m.Height); rms > 0.3 {
				t.Errorf("%d pairs, %d off: missed by %.2f px", n, bad, rms)
			}
		}
	}
}

// haze is a picture in which nothing can be told: noise alone.
func haze(r *rand.Rand, w, h int) *imaging.Image {
	m := &imaging.Image{Width: w, Height: h, Pix: make([]uint16, w*h), Bits: 16}
	for i := range m.Pix {
		m.Pix[i] = uint16(20000 + 3000*r.NormFloat64())
	}
	return m
}

func TestPairsAloneCarryAMap(t *testing.T) {
	r := rand.New(rand.NewPCG(10, 10))
	before, after := haze(r, 400, 600), haze(r, 400, 600)
	h := randomWarp(r, 400, 600, 0)
	if _, err := Images(context.Background(), before, after, Options{}); !errors.Is(err, ErrUnrelated) {
		t.Fatalf("noise alone: got %v", err)
	}
	pairs := marked(r, h, 8, 400, 600)
	pairs[2][1].X += 60
	got, err := Images(context.Background(), before, after, Options{Pairs: pairs, Model: measure.ModelAffine})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.BadPairs, []int{2}) {
		t.Errorf("bad pairs %v", got.BadPairs)
	}
	rms, _ := missed(homography(got.Matrix), h, 400, 600)
	t.Logf("missed by %.2f px rms, residual %.2f px, uncertainty in the middle %.2f px", rms, got.Residual, got.Uncertainty(measure.Pt(200, 300)))
	if rms > 2 || !(got.Residual > 0.3 && got.Residual < 4) || len(got.Cautions) < 2 {
		t.Errorf("missed by %.2f px, residual %.2f px, cautions %q", rms, got.Residual, got.Cautions)
	}
}

func TestPairsOfOtherTeethAreRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 11))
	pairs := marked(r, randomWarp(r, 400, 600, 0), 6, 400, 600)
	for i := range pairs { // structures that are not the same lie anywhere
		pairs[i][1].X += 60 * r.NormFloat64()
		pairs[i][1].Y += 60 * r.NormFloat64()
	}
	_, err := Images(context.Background(), retake(teeth()[0], randomExposure(r)), retake(teeth()[2], randomExposure(r)), Options{Pairs: pairs})
	if err == nil {
		t.Error("accepted")
	}
}

func TestMirroredPairsAreRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 12))
	m := teeth()[1]
	pairs := mirroredPairs(marked(r, homography{{1, 0, 5}, {0, 1, -7}, {0, 0, 1}}, 6, m.Width, m.Height), m.Width)
	_, err := Images(context.Background(), retake(m, randomExposure(r)), retake(m, randomExposure(r)), Options{Pairs: pairs})
	if !errors.Is(err, ErrMirrored) {
		t.Errorf("got %v", err)
	}
}
