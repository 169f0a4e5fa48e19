package measure

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// helix returns n marks of turns of a helix of radius r and rise per radian c,
// whose length is θ√(r²+c²) and whose curvature is r/(r²+c²).
func helix(r, c, turns float64, n int) []P3 {
	out := make([]P3, n)
	for i := range out {
		a := 2 * math.Pi * turns * float64(i) / float64(n-1)
		out[i] = P3{X: r * math.Cos(a), Y: r * math.Sin(a), Z: c * a}
	}
	return out
}

func TestHelixInSpace(t *testing.T) {
	const r, c, turns = 6.0, 4.0, 0.6
	l := NewLine3(helix(r, c, turns, 25))
	want := 2 * math.Pi * turns * math.Hypot(r, c)
	if got := l.Length(); math.Abs(got-want) > 2e-5*want {
		t.Errorf("length %.6f, want %.6f", got, want)
	}
	curvature := r / (r*r + c*c)
	for _, s := range []float64{want / 4, want / 2, 3 * want / 4} {
		if got := l.CurvatureAt(s, 3); math.Abs(got-curvature) > 0.01*curvature {
			t.Errorf("curvature at %.1f mm %.5f, want %.5f", s, got, curvature)
		}
	}
	if k, _ := l.MaxCurvature(3); math.Abs(k-curvature) > 0.02*curvature {
		t.Errorf("largest curvature %.5f, want %.5f", k, curvature)
	}
	if k, at := l.MaxCurvature(1000); !math.IsNaN(k) || !math.IsNaN(at) {
		t.Errorf("a window longer than the line gives %v at %v", k, at)
	}
}

// turned3 turns points about two axes and shifts them.
func turned3(p []P3, a, b float64) []P3 {
	sa, ca := math.Sincos(a)
	sb, cb := math.Sincos(b)
	out := make([]P3, len(p))
	for i, q := range p {
		x, y := ca*q.X-sa*q.Y, sa*q.X+ca*q.Y
		out[i] = P3{X: x + 3, Y: cb*y - sb*q.Z - 8, Z: sb*y + cb*q.Z + 1, U: q.U}
	}
	return out
}

// A canal in one plane has the same findings wherever the plane lies in space,
// and those of the same canal on an image.
func TestCanalInSpaceIsThatOnAnImage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := idealCanal{rapid.Float64Range(8, 13).Draw(t, "straight"), [][2]float64{{rapid.Float64Range(30, 60).Draw(t, "angle"), rapid.Float64Range(6, 12).Draw(t, "radius")}}}
		if rapid.Bool().Draw(t, "s") {
			c.arcs = append(c.arcs, [2]float64{-35, 7})
		}
		marks, start := c.marks(16, true)
		flat := make([]P3, len(marks))
		for i, m := range marks {
			flat[i] = P3{X: m.X / pxPerMM, Y: m.Y / pxPerMM, U: 0.01}
		}
		space := turned3(flat, rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(-3, 3).Draw(t, "b"))
		canal := Canal3{Tooth: "46", Name: "ML", Marks: space, CurveStart: start}
		want := map[string]float64{
			WhatLength: c.length() / pxPerMM, WhatPruettAngle: c.arcs[0][0], WhatPruettRadius: c.arcs[0][1],
			WhatCurveStartFromOrifice: c.l,
		}
		if len(c.arcs) == 1 {
			want[WhatSchneiderAngle] = c.arcs[0][0] / 2
		} else {
			want[WhatSecondAngle], want[WhatSecondRadius] = 35, 7
		}
		seen := map[string]float64{}
		for _, f := range ComputeCanal3("volume", canal) {
			seen[f.What] = f.Value
		}
		for what, w := range want {
			if got, ok := seen[what]; !ok || math.Abs(got-w) > 1e-5*w {
				t.Errorf("%s: %.7f, want %.7f", what, got, w)
			}
		}
	})
}

func TestTrueCurvatureFromTwoViewsWithoutNoise(t *testing.T) {
	for _, c := range []truthCase{
		viewCase([]spaceCanal{{10, 0, 3, 10, 40, 8, 30}, {13, 2, 3, 10, 40, 8, 30}}, 20, DetectorParallel, 8, 0.5, false),
		viewCase([]spaceCanal{{10, 0, -4, 11, 30, 9, 70}, {13, -1, -4, 11, 30, 9, 70}}, 15, DetectorTurned, 9, 0.5, true),
		viewCase([]spaceCanal{{10, 0, 0, 11, 50, 7, 120}, {13, 4, 0, 11, 50, 7, 120}}, -25, DetectorTurned, 10, 0.5, false),
	} {
		for key, want := range c.truth {
			found := false
			for _, f := range Compute(c.marks, Given{}) {
				if f.Image+"/"+f.Of+"/"+f.What == key {
					found = true
					if !(math.Abs(f.Value-want) < 2e-3) {
						t.Errorf("%s, %s: %.6f, want %g", c.name, key, f.Value, want)
					}
				}
			}
			if !found {
				t.Errorf("%s: no %s", c.name, key)
			}
		}
	}
}
