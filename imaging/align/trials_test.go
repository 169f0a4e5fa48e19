package align

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// teeth are pictures without noise of so many patients, made once.
var teeth = sync.OnceValue(func() (out []*imaging.Image) {
	for k := range patients {
		m, _ := phantom.Periapical(cleanSpec(uint64(100+k), 0.05))
		out = append(out, m)
	}
	return out
})

var (
	patients = 5
	retakes  = 3 // of each patient
)

// TestSameToothIsAccepted and the two after it watch the verdict's error rates.
// In a run of 24 patients, of 240 pairs of one tooth none was refused (at least
// 0.72 alike), of 552 pairs of different teeth none was accepted (at most 0.40
// alike), and all of 24 mirrored pairs were recognised.
func TestSameToothIsAccepted(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	off, said, least := 0.0, 0.0, 1.0
	for k, m := range teeth() {
		for range retakes {
			h := randomWarp(r, m.Width, m.Height, 0.02)
			p := newProblem(retake(m, randomExposure(r)), retake(warped(m, h), randomExposure(r)), Options{Model: measure.ModelProjective})
			found, err := p.solve(context.Background())
			if err != nil {
				t.Errorf("patient %d: refused: %v", k, err)
				continue
			}
			least = min(least, found.fine.part)
			got := p.result(found)
			rms, _ := missed(homography(got.Matrix), h, m.Width, m.Height)
			if rms > max(0.5, 2*got.Residual) {
				t.Errorf("patient %d: missed by %.2f px, said %.2f", k, rms, got.Residual)
			}
			off += rms * rms
			said += got.Residual * got.Residual
		}
	}
	n := float64(patients * retakes)
	t.Logf("at least %.2f alike (limit %.2f), missed by %.3f px rms, said %.3f", least, leastAlike, math.Sqrt(off/n), math.Sqrt(said/n))
	if q := math.Sqrt(off / said); !(q > 0.5 && q < 2) {
		t.Errorf("missed by %.2f times what was said", q)
	}
}

func TestOtherTeethAreRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	n, wrong, most := 0, 0, 0.0
	for i, a := range teeth() {
		for j, b := range teeth() {
			if i == j || patients < 10 && j != (i+1)%patients {
				continue
			}
			h := randomWarp(r, a.Width, a.Height, 0.02)
			p := newProblem(retake(a, randomExposure(r)), retake(warped(b, h), randomExposure(r)), Options{Model: measure.ModelProjective})
			n++
			_, err := p.solve(context.Background())
			if !errors.Is(err, ErrUnrelated) {
				wrong++
				t.Errorf("patients %d and %d: got %v", i, j, err)
			}
			most = max(most, p.alike)
		}
	}
	t.Logf("%d pairs of different teeth, %d not refused, at most %.2f alike (limit %.2f)", n, wrong, most, leastAlike)
}

func TestMirroredTeethAreRefused(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for k, m := range teeth() {
		h := randomWarp(r, m.Width, m.Height, 0.01)
		_, err := Images(context.Background(), retake(m, randomExposure(r)), mirroredImage(retake(warped(m, h), randomExposure(r))), Options{})
		if !errors.Is(err, ErrMirrored) {
			t.Errorf("patient %d: got %v", k, err)
		}
	}
}

func TestObliqueIsRefused(t *testing.T) {
	m := teeth()[0]
	r := rand.New(rand.NewPCG(8, 8))
	w, h := float64(m.Width-1), float64(m.Height-1)
	for _, c := range []struct {
		name  string
		warp  homography
		wrong bool
	}{
		{"stretch of 1.2", homography{{0.95, 0, 0.025 * w}, {0, 1.14, -0.07 * h}, {0, 0, 1}}, false},
		{"stretch of 1.4", homography{{0.85, 0, 0.075 * w}, {0, 1.19, -0.095 * h}, {0, 0, 1}}, true},
		{"perspective of 1.1", homography{{1, 0, 0}, {0, 1, 0}, {0, 0.1 / h, 1}}, false},
		{"perspective of 1.3", homography{{1.1, 0, 0}, {0, 1.1, 0}, {0, 0.3 / h, 1}}, true},
	} {
		_, err := Images(context.Background(), retake(m, randomExposure(r)), retake(warped(m, c.warp), randomExposure(r)), Options{})
		if c.wrong && !errors.Is(err, ErrOblique) || !c.wrong && err != nil {
			t.Errorf("%s: got %v", c.name, err)
		}
	}
}

// TestAnotherSensor has a later picture with pixels half as large again.
func TestAnotherSensor(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 13))
	a, b := cleanSpec(104, 0.04), cleanSpec(104, 0.06)
	before, truth := phantom.Periapical(a)
	b.Warp = phantom.Matrix(randomWarp(r, b.Width, b.Height, 0.01))
	after, later := phantom.Periapical(b)
	got, err := Images(context.Background(), retake(before, randomExposure(r)), retake(after, randomExposure(r)), Options{})
	if err != nil {
		t.Fatal(err)
	}
	h := homography(later.Projection.ToPixel).after(homography(truth.Projection.ToMM))
	if rms, _ := missed(homography(got.Matrix), h, a.Width, a.Height); rms > 0.15 {
		t.Errorf("missed by %.3f px rms, said %.3f", rms, got.Residual)
	}
}
