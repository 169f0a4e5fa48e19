package outline

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"rootrule/imaging"
	"rootrule/measure"
)

// mapped makes a picture whose pixel p has the value that f, applied to the
// value at from(p), gives.
func mapped(m *imaging.Image, w, h int, from func(x, y int) (int, int), f func(uint16) uint16) *imaging.Image {
	out := &imaging.Image{Width: w, Height: h, Pix: make([]uint16, w*h), Bits: 16}
	for y := range h {
		for x := range w {
			sx, sy := from(x, y)
			out.Pix[y*w+x] = f(m.Pix[sy*m.Width+sx])
		}
	}
	return out
}

// TestInvariance shifts, turns, mirrors and rescales a picture: the outline
// goes along.
func TestInvariance(t *testing.T) {
	c := vec{160, 150}
	s := scene{w: 320, h: 300, bone: 20000, contrast: 5000, edge: 3, noise: 1500, slope: vec{5, -3}}
	m := s.paint(superellipse(c, 62, 43, 0.6, 2.2), 5)
	seed := vec{175, 160}
	base, err := Lesion(m, measure.Pt(seed.x, seed.y), Options{})
	if err != nil {
		t.Fatal(err)
	}
	same := func(v uint16) uint16 { return v }
	for _, k := range []struct {
		name string
		m    *imaging.Image
		to   func(p vec) vec // from the picture to the changed one
		dice float64
	}{
		{"shifted", mapped(m, 300, 280, func(x, y int) (int, int) { return x + 13, y + 7 }, same), func(p vec) vec { return vec{p.x - 13, p.y - 7} }, 0.999},
		{"turned", mapped(m, 300, 320, func(x, y int) (int, int) { return y, 299 - x }, same), func(p vec) vec { return vec{299 - p.y, p.x} }, 0.994},
		{"mirrored", mapped(m, 320, 300, func(x, y int) (int, int) { return 319 - x, y }, same), func(p vec) vec { return vec{319 - p.x, p.y} }, 0.994},
		{"half the contrast", mapped(m, 320, 300, func(x, y int) (int, int) { return x, y }, func(v uint16) uint16 { return v/2 + 900 }), func(p vec) vec { return p }, 0.9999},
	} {
		at := k.to(seed)
		o, err := Lesion(k.m, measure.Pt(at.x, at.y), Options{})
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		want := vecs(measure.ClosedOutline(base.Points))
		for i := range want {
			want[i] = k.to(want[i])
		}
		if d := dice(drawn(o), want); d < k.dice {
			t.Errorf("%s: Dice against the original's outline %.5f, want ≥ %.4f", k.name, d, k.dice)
		}
	}
}

// lobed is an outline without a picture: any star-shaped line.
func lobed(t *rapid.T) Outline {
	e := newEllipse(vec{rapid.Float64Range(-500, 500).Draw(t, "x"), rapid.Float64Range(-500, 500).Draw(t, "y")},
		rapid.Float64Range(20, 80).Draw(t, "a"), rapid.Float64Range(20, 80).Draw(t, "b"), rapid.Float64Range(0, 3).Draw(t, "turn"))
	c := newContour(e)
	n, high := rapid.IntRange(2, 6).Draw(t, "lobes"), rapid.Float64Range(0, 0.15).Draw(t, "height")
	for k := range c.rho {
		c.rho[k] = 1 + high*math.Cos(2*math.Pi*float64(n*k)/rays)
	}
	tr := traced{contour: c}
	tr.normal = c.normals()
	return newOutline(tr, plane{}, nil)
}

// TestShiftedKeepsDistance moves lines outward and inward: every point of the
// new one lies at that distance from the old one, and outward then inward ends
// no closer in than it began.
func TestShiftedKeepsDistance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := lobed(t)
		px := rapid.Float64Range(0.5, 12).Draw(t, "px")
		if rapid.Bool().Draw(t, "inward") {
			px = -0.6 * px
		}
		s, err := o.Shifted(px)
		if err != nil {
			t.Fatalf("%v", err)
		}
		line := o.t.dense(4)
		for k := 0; k < rays; k += 3 {
			if d := distance(line, s.t.point(k)); math.Abs(d-math.Abs(px)) > 0.3 { // a corner where dents fill up is rounded by as much
				t.Fatalf("moved by %.2f px, a point lies %.3f px away", px, d)
			}
		}
		if (s.AreaPx2 > o.AreaPx2) != (px > 0) {
			t.Fatalf("moved by %.2f px, the area went from %.1f to %.1f px²", px, o.AreaPx2, s.AreaPx2)
		}
	})
}

func TestShiftedTooFar(t *testing.T) {
	tr := traced{contour: newContour(newEllipse(vec{50, 50}, 30, 20, 0))}
	tr.normal = tr.contour.normals()
	o := newOutline(tr, plane{}, nil)
	if _, err := o.Shifted(-21); err == nil {
		t.Error("an ellipse of 30 × 20 px moved inward by 21 px: no error")
	}
	s, err := o.Shifted(-12)
	if err != nil {
		t.Fatal(err)
	}
	if s, err = s.Shifted(12); err != nil || s.AreaPx2 > o.AreaPx2 {
		t.Errorf("in and out again: area %.1f px², at first %.1f (%v)", s.AreaPx2, o.AreaPx2, err)
	}
}

// TestShiftedCircle has a closed form.
func TestShiftedCircle(t *testing.T) {
	tr := traced{contour: newContour(newEllipse(vec{10, 20}, 40, 40, 0.3))}
	tr.normal = tr.contour.normals()
	o := newOutline(tr, plane{}, nil)
	for _, px := range []float64{-39, -10, -0.5, 0, 0.5, 25, 300} {
		s, err := o.Shifted(px)
		if err != nil {
			t.Errorf("moved by %.1f px: %v", px, err)
			continue
		}
		if want := math.Pi * (40 + px) * (40 + px); math.Abs(s.AreaPx2/want-1) > 0.003 && math.Abs(s.AreaPx2-want) > 1 {
			t.Errorf("moved by %.1f px: area %.2f px², want %.2f", px, s.AreaPx2, want)
		}
	}
}

// TestCorrected drags a stretch: the outline passes through the new place, and
// the far side stays.
func TestCorrected(t *testing.T) {
	c := vec{160, 150}
	s := scene{w: 320, h: 300, bone: 20000, contrast: 5000, edge: 3, noise: 800}
	m := s.paint(superellipse(c, 62, 43, 0.6, 2), 5)
	o, err := Lesion(m, measure.Pt(165, 150), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for k := 0; k < rays; k += 13 {
		from := o.t.point(k)
		to := from.add(o.t.ray(k).mul(0.15))
		n, err := o.Corrected(measure.Pt(from.x, from.y), measure.Pt(to.x, to.y))
		if err != nil {
			t.Errorf("ray %d: %v", k, err)
			continue
		}
		line := drawn(n)
		if d := distance(line, to); d > 1 {
			t.Errorf("ray %d: passes the new place at %.2f px", k, d)
		}
		if d := distance(line, o.t.point((k+rays/2)%rays)); d > 2.5 {
			t.Errorf("ray %d: the far side moved by %.2f px", k, d)
		}
		if n.AreaPx2 <= o.AreaPx2 {
			t.Errorf("ray %d: dragged outward, the area went from %.0f to %.0f px²", k, o.AreaPx2, n.AreaPx2)
		}
		back, err := n.Corrected(measure.Pt(to.x, to.y), measure.Pt(from.x, from.y))
		if err != nil {
			t.Errorf("ray %d, back: %v", k, err)
			continue
		}
		if d := dice(drawn(back), drawn(o)); d < 0.99 {
			t.Errorf("ray %d, back: Dice %.4f", k, d)
		}
	}
	if _, err := o.Corrected(o.Points[0], measure.Pt(c.x, c.y)); err == nil {
		t.Error("dragged to the middle: no error")
	}
}

// TestLoop starts from rough lines around the lesion.
func TestLoop(t *testing.T) {
	c := vec{160, 150}
	s := scene{w: 320, h: 300, bone: 20000, contrast: 5000, edge: 3, noise: 1500}
	shape := superellipse(c, 62, 43, 0.6, 2)
	m := s.paint(shape, 5)
	for _, k := range []struct {
		name  string
		scale float64
		n     int
	}{{"tight", 1, 8}, {"wide", 1.25, 6}, {"inside", 0.8, 5}, {"a triangle", 1.4, 3}} {
		var loop []measure.Point
		for _, p := range shape.line(k.n) {
			loop = append(loop, measure.Pt(c.x+k.scale*(p.x-c.x), c.y+k.scale*(p.y-c.y)))
		}
		o, err := Loop(m, loop, Options{})
		if err != nil {
			t.Errorf("%s: %v", k.name, err)
			continue
		}
		if d := dice(drawn(o), shape.line(720)); d < 0.985 {
			t.Errorf("%s: Dice %.4f", k.name, d)
		}
	}
	for _, loop := range [][]measure.Point{nil, {measure.Pt(1, 1), measure.Pt(9, 9)}, {measure.Pt(-5, 1), measure.Pt(9, 9), measure.Pt(20, 3)},
		{measure.Pt(5, 5), measure.Pt(5, 5), measure.Pt(5, 5)}, {measure.Pt(20, 20), measure.Pt(60, 25), measure.Pt(30, 60)}} {
		if o, err := Loop(m, loop, Options{}); err == nil {
			t.Errorf("loop %v: outline of %.0f px², want a refusal", loop, o.AreaPx2)
		}
	}
}
