package outline

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"rootrule/measure"
)

// newEgg draws an ellipsoid of 2 to 7 mm in voxels of 0.1 to 0.3 mm.
func newEgg(seed uint64) (egg, vec3) {
	r := rand.New(rand.NewPCG(seed, 41))
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	a, b, c := draw(r, 1, 3.5), u(0.6, 1), u(0.6, 1)
	voxel := draw(r, math.Max(0.1, a/14), math.Min(0.3, a/7))
	e := egg{step: [3]float64{voxel, voxel, voxel}, axes: turnedAxes(a, a*b, a*c, u(0, 3), u(0, 3)), contrast: u(300, 900)}
	if r.IntN(4) == 0 {
		e.step[2] *= 1.5
	}
	for i := range 3 {
		e.size[i] = int(2*(a+1.6)/e.step[i]) + 4
		e.centre[i] = float64(e.size[i]-1)/2*e.step[i] + u(-0.4, 0.4)
	}
	e.edge = u(0.5, 1.2) * voxel
	e.noise = e.contrast * draw(r, 0.03, 0.4)
	if r.IntN(2) == 0 {
		e.texture = e.contrast * u(0, 0.2)
	}
	if r.IntN(4) == 0 {
		e.root = u(0.5, 0.9)
	}
	at := e.centre.add(e.axes[0].mul(u(-0.5, 0.5))).add(e.axes[1].mul(u(-0.4, 0.4))).add(e.axes[2].mul(u(-0.4, 0)))
	return e, vec3{at[0] / e.step[0], at[1] / e.step[1], at[2] / e.step[2]}
}

// TestEggs clicks into ellipsoids drawn at random.
func TestEggs(t *testing.T) {
	n := trials(5)
	var mu sync.Mutex
	var refused, covered, rooted int
	var errors []float64
	bias := 0.0
	inTurn(n, func(i int) {
		e, seed := newEgg(uint64(i))
		s, err := Volume(e.paint(uint64(i)), seed, Options{})
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			refused++
			t.Logf("%d: axes %.1f %.1f %.1f voxel %.2f noise/ %.1f texture/ %.1f root %.1f: %v", i, e.axes[0].norm(), e.axes[1].norm(), e.axes[2].norm(), e.step[0], e.contrast/e.noise, e.contrast/e.texture, e.root, err)
			return
		}
		q := s.VolumeMM3/e.volume() - 1
		in := math.Abs(s.VolumeMM3-e.volume()) <= measure.CoverageFactor*s.VolumeStdUnc
		if in {
			covered++
		}
		if e.root > 0 {
			rooted++
		}
		errors = append(errors, math.Abs(q))
		bias += q
		if math.Abs(q) > 0.02 || !in {
			t.Logf("%d: axes %.1f %.1f %.1f voxel %.2f edge %.2f noise/ %.1f texture/ %.1f root %.1f: %+.2f %%, u %.2f %%", i, e.axes[0].norm(), e.axes[1].norm(), e.axes[2].norm(), e.step[0], e.edge, e.contrast/e.noise, e.contrast/e.texture, e.root, 100*q, 100*s.VolumeStdUnc/e.volume())
		}
	})
	k := float64(len(errors))
	t.Logf("%d volumes, %d refused, median error %.2f %%, bias %+.2f %%, covered %.1f %%", n, refused, 100*median(errors), 100*bias/k, 100*float64(covered)/k)
	if refused > n/10 || (n >= 30 && float64(covered) < 0.9*k) || median(errors) > 0.02 {
		t.Errorf("want at most a tenth refused, a median error of 2 %% and nine tenths covered")
	}
}
