package measure

import (
	"math"
	"strings"
	"testing"
)

// grid are places spread over an image.
var grid = []Point{Pt(100, 80), Pt(900, 120), Pt(860, 700), Pt(120, 640), Pt(480, 90), Pt(510, 690), Pt(300, 400)}

func TestAlignFindsTheMap(t *testing.T) {
	for _, c := range []struct {
		model string
		want  Alignment
	}{
		{ModelSimilarity, Alignment{{0.98, -0.17, 30}, {0.17, 0.98, -12}, {0, 0, 1}}},
		{ModelAffine, Alignment{{1.02, 0.03, -14}, {-0.05, 0.97, 22}, {0, 0, 1}}},
		{ModelProjective, Alignment{{1.02, 0.03, -14}, {-0.05, 0.97, 22}, {3e-5, -2e-5, 1}}},
	} {
		pairs := make([][2]Point, len(grid))
		for i, p := range grid {
			pairs[i] = [2]Point{c.want.Map(p), p}
		}
		for _, n := range []int{leastPairs[c.model], len(grid)} {
			got, err := Align(pairs[:n], c.model)
			if err != nil {
				t.Fatalf("%s of %d: %v", c.model, n, err)
			}
			for _, p := range grid {
				if d := got.Map(p).Dist(c.want.Map(p)); d > 1e-8 {
					t.Errorf("%s of %d: %v lies %g px off", c.model, n, p, d)
				}
			}
		}
	}
}

func TestAlignRefusesPairsThatFixNothing(t *testing.T) {
	line := [][2]Point{}
	for i := range 6 {
		p := Pt(float64(100*i), float64(50*i))
		line = append(line, [2]Point{p, p})
	}
	for _, c := range []struct {
		name, model, want string
		pairs             [][2]Point
	}{
		{"in one line, affine", ModelAffine, "do not fix a map", line},
		{"in one line, projective", ModelProjective, "do not fix a map", line},
		{"in one place", ModelSimilarity, "do not fix a map", [][2]Point{line[1], line[1]}},
		{"too few", ModelProjective, "needs at least 4", line[:3]},
		{"unknown model", "elastic", "unknown model", line},
	} {
		if _, err := Align(c.pairs, c.model); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestABadPairIsNamed(t *testing.T) {
	r := recallCase(8, 0.1)
	m := r.noisy(seeded(1))
	m.Recalls[0].Pairs[2][1].X += 40
	for _, f := range Compute(m, Given{}) {
		if f.What == WhatAlignmentResidual && !strings.Contains(strings.Join(f.Cautions, "; "), "pair 3 misses") {
			t.Errorf("cautions %q", f.Cautions)
		}
	}
}

// The scale cancels in per cent when both outlines are in one frame, however
// badly it is known.
func TestOneScaleCancelsInPercent(t *testing.T) {
	for _, u := range []float64{0.01, 2} {
		m := recallCase(8, u).marks
		for _, f := range Compute(m, Given{}) {
			if f.What == WhatAreaChangePercent && f.StdUnc > 1.2 {
				t.Errorf("u(length) %g mm: area change %.1f ± %.1f %%", u, f.Value, f.StdUnc)
			}
		}
	}
}

func TestImagesThatAreNotAlignedSaySo(t *testing.T) {
	m := recallCase(0, 0.1).marks
	m.Images[1].Calibration = []Calibration{length(20, 0.1, Pt(0, 0), Pt(0, 420))}
	for _, f := range Compute(m, Given{}) {
		switch f.What {
		case WhatAlignmentResidual:
			if f.Defined() {
				t.Errorf("a residual of no pairs: %v", f.Value)
			}
		case WhatAreaChange:
			if !f.Defined() || !strings.Contains(strings.Join(f.Cautions, "; "), "not aligned") {
				t.Errorf("area change %v, cautions %q", f.Value, f.Cautions)
			}
		}
	}
}

func TestVolumeChange(t *testing.T) {
	m := recallCase(8, 0.1).marks
	m.Images[0].Lesions[0].VolumeMM3, m.Images[0].Lesions[0].VolumeUMM3 = ptr(65.4498), ptr(2.0) // spheres of 5 and 3 mm
	m.Images[1].Lesions[0].VolumeMM3 = ptr(14.1372)
	for _, f := range Compute(m, Given{}) {
		if f.What == WhatVolumeChange && (math.Abs(f.Value+51.3126) > 1e-9 || Verdict(f.Quantity) != "smaller") {
			t.Errorf("volume change %v ± %v: %s", f.Value, f.Expanded(), Verdict(f.Quantity))
		}
	}
}
