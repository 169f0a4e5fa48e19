package outline

import (
	"errors"
	"math"
	"testing"

	"rootrule/measure"
)

// TestShapes outlines regions whose edge is known exactly, from a seed well
// off their middle.
func TestShapes(t *testing.T) {
	c := vec{150.3, 139.6}
	plain := scene{w: 300, h: 280, bone: 20000, contrast: 6000, edge: 2, noise: 600}
	for _, k := range []struct {
		name  string
		shape shape
		scene func(s *scene)
		dice  float64
		area  float64 // relative
	}{
		{"circle", superellipse(c, 60, 60, 0, 2), nil, 0.99, 0.01},
		{"ellipse", superellipse(c, 80, 45, 0.5, 2), nil, 0.99, 0.01},
		{"long ellipse", superellipse(c, 96, 38, 2.2, 2), nil, 0.985, 0.015},
		{"full superellipse", superellipse(c, 70, 55, 0.3, 3), nil, 0.98, 0.02},
		{"rhombic superellipse", superellipse(c, 75, 60, 1, 1.6), nil, 0.98, 0.02},
		{"three lobes", star(c, 65, 3, 0.12, 0.4), nil, 0.98, 0.015},
		{"five lobes", star(c, 65, 5, 0.08, 0.1), nil, 0.98, 0.015},
		{"tiny", superellipse(c, 7, 6, 0.4, 2), func(s *scene) { s.edge, s.noise = 0.7, 300 }, 0.95, 0.04},
		{"small", superellipse(c, 14, 11, 0.4, 2), func(s *scene) { s.edge = 1 }, 0.97, 0.03},
		{"sharp", superellipse(c, 80, 45, 0.5, 2), func(s *scene) { s.edge = 0.4 }, 0.99, 0.01},
		{"soft", superellipse(c, 80, 55, 0.5, 2), func(s *scene) { s.edge = 9 }, 0.985, 0.015},
		{"two noise SD", superellipse(c, 80, 55, 0.5, 2), func(s *scene) { s.noise = 3000 }, 0.98, 0.02},
		{"one noise SD", superellipse(c, 80, 65, 0.5, 2), func(s *scene) { s.noise = 6000 }, 0.97, 0.03},
		{"gradient of half the contrast", superellipse(c, 70, 50, 0.5, 2), func(s *scene) { s.slope = vec{20, 15} }, 0.985, 0.015},
		{"contrast 1.4 to 0.6", superellipse(c, 70, 50, 0.5, 2), func(s *scene) { s.uneven = 0.8 }, 0.985, 0.015},
		{"white is zero", superellipse(c, 70, 50, 0.5, 2), func(s *scene) { s.whiteZero = true }, 0.99, 0.01},
		{"no noise", superellipse(c, 70, 50, 0.5, 2), func(s *scene) { s.noise = 0 }, 0.998, 0.002},
	} {
		t.Run(k.name, func(t *testing.T) {
			s := plain
			if k.scene != nil {
				k.scene(&s)
			}
			m := s.paint(k.shape, 7)
			for _, dir := range []float64{0.3, 3.4} {
				sin, cos := math.Sincos(dir)
				at := c.add(vec{cos, sin}.mul(0.65 * k.shape.radius(dir)))
				o, err := Lesion(m, measure.Pt(at.x, at.y), Options{})
				if err != nil {
					t.Errorf("seed %.1f: %v", at, err)
					continue
				}
				truth := k.shape.line(720)
				if d := dice(drawn(o), truth); d < k.dice {
					t.Errorf("seed %.1f: Dice %.4f, want ≥ %.3f", at, d, k.dice)
				}
				if q := o.AreaPx2/k.shape.area() - 1; math.Abs(q) > k.area {
					t.Errorf("seed %.1f: area off by %.2f %%, want ≤ %.1f %%", at, 100*q, 100*k.area)
				}
				if q := math.Abs(polygonArea(drawn(o)) - o.AreaPx2); q > 0.5*o.AreaStdUnc+1e-4*o.AreaPx2 {
					t.Errorf("seed %.1f: the marks enclose %.0f px² more or less than the %.0f stated", at, q, o.AreaPx2)
				}
			}
		})
	}
}

// TestSizes goes through the radii that the package promises.
func TestSizes(t *testing.T) {
	for _, r := range []float64{5, 12, 40, 130, 260, 390} {
		n := int(3*r) + 80
		c := vec{float64(n)/2 + 0.2, float64(n)/2 - 0.3}
		s := scene{w: n, h: n, bone: 20000, contrast: 6000, edge: math.Max(0.5, r/25), noise: 800}
		shape := superellipse(c, 1.15*r, r/1.15, 0.7, 2)
		o, err := Lesion(s.paint(shape, 3), measure.Pt(c.x+0.3*r, c.y-0.4*r), Options{})
		if err != nil {
			t.Errorf("radius %.0f: %v", r, err)
			continue
		}
		want := 0.985
		if r < 10 {
			want = 0.93 // a fifth of a pixel is 4 % of the radius
		}
		if d := dice(drawn(o), shape.line(720)); d < want {
			t.Errorf("radius %.0f: Dice %.4f, want ≥ %.3f", r, d, want)
		}
	}
}

func TestRefusals(t *testing.T) {
	flat := scene{w: 200, h: 200, bone: 20000, noise: 500, edge: 1}
	c := vec{100, 100}
	bright := flat
	bright.contrast = -6000
	dark := flat
	dark.contrast = 6000
	for _, k := range []struct {
		name  string
		scene scene
		shape shape
		seed  measure.Point
	}{
		{"even bone", flat, superellipse(c, 40, 40, 0, 2), measure.Pt(100, 100)},
		{"inside something bright", bright, superellipse(c, 40, 30, 0, 2), measure.Pt(100, 100)},
		{"beside the lesion", dark, superellipse(vec{50, 100}, 30, 25, 0, 2), measure.Pt(160, 100)},
		{"open to the border", dark, superellipse(vec{5, 100}, 50, 40, 0, 2), measure.Pt(20, 100)},
		{"in the corner of an even picture", flat, superellipse(c, 40, 40, 0, 2), measure.Pt(0, 0)},
		{"a long gap", dark, superellipse(c, 300, 12, 0.3, 2), measure.Pt(100, 100)},
		{"a half plane", dark, superellipse(vec{-2000, 100}, 2100, 2100, 0, 2), measure.Pt(60, 100)},
		{"outside the picture", dark, superellipse(c, 40, 40, 0, 2), measure.Pt(-3, 100)},
		{"not a number", dark, superellipse(c, 40, 40, 0, 2), measure.Pt(math.NaN(), 100)},
	} {
		for seed := range uint64(2) {
			o, err := Lesion(k.scene.paint(k.shape, seed), k.seed, Options{})
			if !errors.Is(err, ErrNoEdge) {
				t.Errorf("%s: got an outline of radius %.1f, confidence %.2f, error %v; want ErrNoEdge", k.name, math.Sqrt(o.AreaPx2/math.Pi), o.Confidence, err)
			}
		}
	}
}

func TestTinyPictures(t *testing.T) {
	for _, size := range [][2]int{{1, 1}, {2, 300}, {7, 5}, {20, 20}} {
		s := scene{w: size[0], h: size[1], bone: 20000, noise: 500, edge: 1}
		m := s.paint(superellipse(vec{}, 1, 1, 0, 2), 1)
		if _, err := Lesion(m, measure.Pt(0, 0), Options{}); !errors.Is(err, ErrNoEdge) {
			t.Errorf("%v: error %v, want ErrNoEdge", size, err)
		}
	}
}
