package phantom

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.9g, want %.9g ± %g", what, got, want, tolerance)
	}
}

// Elementary geometry of a straight part and an arc: arc = Rθ, chord =
// 2R sin(θ/2), and the chord leaves the tangent at θ/2 (Euclid III.32), so that
// Schneider's angle (Schneider 1971) is half of Weine's.
func TestCanalIdentities(t *testing.T) {
	for _, c := range []struct {
		name string
		CanalSpec
	}{
		{"30 degrees", CanalSpec{StraightMM: 9, RadiusMM: 8, AngleDeg: 30}},
		{"to the left", CanalSpec{StraightMM: 7, RadiusMM: 5, AngleDeg: -55, TiltDeg: -12}},
		{"severe and short", CanalSpec{StraightMM: 4, RadiusMM: 2.5, AngleDeg: 88, TiltDeg: 20, OrificeMM: MM{3, -7}}},
		{"hardly curved", CanalSpec{StraightMM: 12, RadiusMM: 60, AngleDeg: 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			spec := NewSpec(1)
			spec.Canal = c.CanalSpec
			k := newTooth(spec).truth().Canals[0]
			theta := math.Abs(c.AngleDeg) * math.Pi / 180
			near(t, "length", k.LengthMM, c.StraightMM+c.RadiusMM*theta, 1e-12)
			near(t, "Schneider angle", k.SchneiderDeg, math.Abs(c.AngleDeg)/2, 1e-9)
			near(t, "Schneider angle in an unwarped picture", k.SchneiderImageDeg, math.Abs(c.AngleDeg)/2, 1e-9)
			near(t, "turn", k.LineMM.HeadingDeg(k.ApexS)-k.LineMM.HeadingDeg(0), c.AngleDeg, 1e-12)
			chord := k.LineMM.At(k.ApexS).sub(k.LineMM.At(k.CurveS)).norm()
			near(t, "chord", chord, 2*c.RadiusMM*math.Sin(theta/2), 1e-12)
			near(t, "length in the picture", k.LengthPx, k.LengthMM/0.02, 1e-4)
		})
	}
}

func TestTailTurnsSchneiderTowardsWeine(t *testing.T) {
	spec := NewSpec(1)
	spec.Canal = CanalSpec{StraightMM: 8, RadiusMM: 6, AngleDeg: 40, TailMM: 2.5}
	k := newTooth(spec).truth().Canals[0]
	th := 40 * math.Pi / 180
	// The chord from the start of the arc to the foramen, by components.
	along, aside := 6*math.Sin(th)+2.5*math.Cos(th), 6*(1-math.Cos(th))+2.5*math.Sin(th)
	near(t, "Schneider angle", k.SchneiderDeg, math.Atan2(aside, along)*180/math.Pi, 1e-9)
	near(t, "length", k.LengthMM, 8+6*th+2.5, 1e-12)
}

func TestStraightCanal(t *testing.T) {
	spec := NewSpec(1)
	spec.Canal = CanalSpec{StraightMM: 11, TiltDeg: 5}
	k := newTooth(spec).truth().Canals[0]
	near(t, "length", k.LengthMM, 11, 1e-12)
	near(t, "Schneider angle", k.SchneiderDeg, 0, 1e-6)
}

// Nearest undoes At with a step to the side, everywhere nearer than the
// smallest radius, also on the continuations beyond both ends.
func TestNearestUndoesAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const minRadius = 4.0
		var segments []Segment
		for range rapid.IntRange(1, 3).Draw(t, "segments") {
			turn := rapid.Float64Range(-0.5, 0.5).Draw(t, "turn") // three stay below a right angle, so that the line never comes back on itself
			radius := rapid.Float64Range(minRadius, 40).Draw(t, "radius")
			if math.Abs(turn) < 0.02 {
				segments = append(segments, Segment{Length: rapid.Float64Range(0.5, 9).Draw(t, "straight")})
				continue
			}
			segments = append(segments, Segment{radius * math.Abs(turn), math.Copysign(1/radius, turn)})
		}
		l := NewLine(MM{1, -2}, rapid.Float64Range(-30, 30).Draw(t, "heading"), segments...)
		s := rapid.Float64Range(-3, l.Length()+3).Draw(t, "s")
		d := rapid.Float64Range(-1.5, 1.5).Draw(t, "d")
		p := l.At(s).add(d, side(l.HeadingDeg(s)*math.Pi/180))
		gs, gd := l.Nearest(p)
		if math.Abs(gs-s) > 1e-9 || math.Abs(gd-d) > 1e-9 {
			t.Fatalf("nearest to the point at s = %g, d = %g: s = %g, d = %g", s, d, gs, gd)
		}
	})
}

func TestProjectionGoesBothWays(t *testing.T) {
	g := Geometry{Width: 900, Height: 1300, PixelMM: 0.03, Magnification: 1.08, Foreshortening: 0.92,
		Warp: Matrix{{1.012, 0.018, -12}, {-0.014, 0.988, 9}, {6e-6, -9e-6, 1}}}
	j := g.Projection()
	for _, p := range []MM{{0, 0}, {-9.5, 3.25}, {7, 14}} {
		q := j.MM(j.Pixel(p))
		near(t, "x", q.X, p.X, 1e-11)
		near(t, "y", q.Y, p.Y, 1e-11)
	}
	plain := Geometry{Width: 900, Height: 1300, PixelMM: 0.03, Magnification: 1.08, Foreshortening: 0.92}.Projection()
	middle := plain.Pixel(MM{})
	near(t, "middle x", middle.X, 449.5, 1e-9)
	near(t, "middle y", middle.Y, 649.5, 1e-9)
	right, down := plain.Pixel(MM{X: 1}), plain.Pixel(MM{Y: 1})
	near(t, "1 mm across", right.X-middle.X, 1.08/0.03, 1e-9)
	near(t, "1 mm down", down.Y-middle.Y, 1.08*0.92/0.03, 1e-9)
}
