package trace

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// trialSpec is a phantom of random shape, blur, noise and bone texture on a
// small detector.
func trialSpec(seed uint64) phantom.Spec {
	r := rand.New(rand.NewPCG(seed, 1))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	s := phantom.NewSpec(seed)
	s.Width, s.Height, s.PixelMM = 560, 800, 0.03
	s.Canal.OrificeMM = phantom.MM{X: 0, Y: -6}
	s.Canal.TiltDeg, s.Canal.StraightMM = between(-12, 12), between(5, 8)
	s.Canal.AngleDeg = between(5, 45) * float64(1-2*r.IntN(2))
	s.Canal.RadiusMM = math.Max(4, between(3, 5)/(math.Abs(s.Canal.AngleDeg)*math.Pi/180))
	s.Beam.PSF, s.Beam.Photons = between(0.8, 1.6), between(4000, 16000)
	s.Texture = between(0, 0.06)
	s.Foreshortening = between(0.94, 1.04)
	s.File, s.Lesion = nil, nil
	return s
}

// off is a point somewhere within 3 px of p in each direction.
func off(r *rand.Rand, p measure.Point) measure.Point {
	return measure.Pt(p.X+6*r.Float64()-3, p.Y+6*r.Float64()-3)
}

// truth is a canal's centre line, a little longer than the canal, as places
// 0.3 px apart at most.
func truth(c phantom.CanalTruth) curve {
	const n = 3000
	out := make(curve, n+1)
	for i := range out {
		out[i] = at(c.PixelAt(c.OrificeS - 0.3 + (c.ApexS-c.OrificeS+0.6)*float64(i)/n))
	}
	return out
}

// away returns the distance of p from a line.
func (c curve) away(p measure.Point) float64 { return at(p).sub(c.at(c.nearest(at(p)))).norm() }

// lengthBetween returns the length of the true line between the feet of two
// marks.
func (c curve) lengthBetween(a, b measure.Point) float64 {
	from, to := c.nearest(at(a)), c.nearest(at(b))
	step := c.length() / float64(len(c)-1)
	return (to - from) * step
}

// Two clicks up to 3 px off find the canal: a root mean square of half a pixel
// from its true centre line, its length to half a per cent, and stated
// uncertainties that cover.
func TestCanalOnPhantoms(t *testing.T) {
	var squares, within, points float64
	for seed := uint64(1); seed <= 5; seed++ {
		m, tr := phantom.Periapical(trialSpec(seed))
		r := rand.New(rand.NewPCG(seed, 2))
		a, b := off(r, tr.Canals[0].Orifice), off(r, tr.Canals[0].Apex)
		l, err := Canal(m, a, b, nil, Options{Snap: true})
		if err != nil {
			t.Fatal(err)
		}
		want := truth(tr.Canals[0])
		sum := 0.0
		for _, p := range l.Points {
			d := want.away(p)
			sum += d * d
			if d < 2*p.U {
				within++
			}
		}
		squares, points = squares+sum, points+float64(len(l.Points))
		if rms := math.Sqrt(sum / float64(len(l.Points))); rms > 1 {
			t.Errorf("seed %d: %.2f px root mean square, want below 1 for each", seed, rms)
		}
		if got, want := l.Length(), want.lengthBetween(a, b); math.Abs(got-want) > 0.005*want {
			t.Errorf("seed %d: length %.2f px, want %.2f", seed, got, want)
		}
	}
	if rms := math.Sqrt(squares / points); rms > 0.5 {
		t.Errorf("%.3f px root mean square over all, want 0.5", rms)
	}
	if share := within / points; share < 0.9 { // neighbouring points share their errors: five lines are some 40 independent ones
		t.Errorf("%.1f %% of the points lie within 2 standard uncertainties", 100*share)
	}
}

// Without snapping the line runs exactly through all marks.
func TestCanalEndsAtTheMarks(t *testing.T) {
	m, tr := phantom.Periapical(trialSpec(3))
	r := rand.New(rand.NewPCG(3, 2))
	c := tr.Canals[0]
	a, via, b := off(r, c.Orifice), off(r, c.PixelAt(5)), off(r, c.Apex)
	l, err := Canal(m, a, b, []measure.Point{via}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	first, last := l.Points[0], l.Points[len(l.Points)-1]
	if first.X != a.X || first.Y != a.Y || last.X != b.X || last.Y != b.Y {
		t.Errorf("the line runs from %v to %v, want %v to %v", first, last, a, b)
	}
	if first.U < measure.DefaultClick {
		t.Errorf("a mark that stays where it was clicked has u %.2f px, want %.2f or more", first.U, measure.DefaultClick)
	}
	nearest := math.Inf(1)
	for _, p := range l.Points {
		nearest = min(nearest, p.Dist(via))
	}
	if nearest != 0 {
		t.Errorf("the line passes the mark in between at %.3f px, want 0", nearest)
	}
	if len(l.Confidence) != len(l.Points) {
		t.Errorf("%d confidences for %d points", len(l.Confidence), len(l.Points))
	}
}

// The line is the same from both ends, and turns with the picture.
func TestCanalReversedAndTransposed(t *testing.T) {
	m, tr := phantom.Periapical(trialSpec(4))
	r := rand.New(rand.NewPCG(4, 2))
	a, b := off(r, tr.Canals[0].Orifice), off(r, tr.Canals[0].Apex)
	l, err := Canal(m, a, b, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	back, err := Canal(m, b, a, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := len(l.Points)
	for i, p := range l.Points {
		if back.Points[n-1-i] != p {
			t.Fatalf("point %d: %v, back %v", i, p, back.Points[n-1-i])
		}
	}
	swap := func(p measure.Point) measure.Point { return measure.Point{X: p.Y, Y: p.X, U: p.U} }
	turned, err := Canal(transposed(m), swap(a), swap(b), nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var c curve
	for _, p := range l.Points {
		c = append(c, at(p))
	}
	for _, p := range turned.Points {
		if d := c.away(swap(p)); d > p.U { // other sums, other rounding, another of many equal paths
			t.Fatalf("the line on the transposed picture lies %.3f px from the line at %v", d, swap(p))
		}
	}
}

func transposed(m *imaging.Image) *imaging.Image {
	out := *m
	out.Width, out.Height, out.Pix = m.Height, m.Width, make([]uint16, len(m.Pix))
	for i, v := range m.Pix {
		out.Pix[i%m.Width*m.Height+i/m.Width] = v
	}
	return &out
}

// A picture whose low values mean bright gives the same line.
func TestCanalWhereWhiteIsZero(t *testing.T) {
	m, tr := phantom.Periapical(trialSpec(5))
	a, b := tr.Canals[0].Orifice, tr.Canals[0].Apex
	l, err := Canal(m, a, b, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := *m
	n.WhiteIsZero, n.Pix = true, make([]uint16, len(m.Pix))
	for i, v := range m.Pix {
		n.Pix[i] = 65535 - v
	}
	other, err := Canal(&n, a, b, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, p := range l.Points {
		if p.Dist(other.Points[i]) > 1e-3 {
			t.Fatalf("point %d: %v and %v", i, p, other.Points[i])
		}
	}
}

// On noise alone there is an error, not a line.
func TestCanalOnNoise(t *testing.T) {
	m := &imaging.Image{Width: 300, Height: 400, Pix: make([]uint16, 120000)}
	for seed := uint64(1); seed <= 3; seed++ {
		r := rand.New(rand.NewPCG(seed, 1))
		for i := range m.Pix {
			m.Pix[i] = uint16(20000 + 300*r.NormFloat64())
		}
		l, err := Canal(m, measure.Pt(150, 40), measure.Pt(140, 360), nil, Options{})
		if err == nil && len(l.Cautions) == 0 {
			t.Errorf("seed %d: a line known to %.1f px without a caution", seed, l.StdUnc)
		}
	}
}

func TestCanalRefusals(t *testing.T) {
	m := &imaging.Image{Width: 60, Height: 40, Pix: make([]uint16, 2400)}
	cases := []struct {
		name     string
		from, to measure.Point
	}{
		{"outside", measure.Pt(-3, 5), measure.Pt(30, 20)},
		{"not a number", measure.Pt(math.NaN(), 5), measure.Pt(30, 20)},
		{"the same place", measure.Pt(10, 10), measure.Pt(11, 10)},
	}
	for _, c := range cases {
		if _, err := Canal(m, c.from, c.to, nil, Options{}); err == nil {
			t.Errorf("%s: no error", c.name)
		}
	}
}

// The smallest and plainest pictures are refused without a panic: there is no
// line in them.
func TestCanalOnPlainPictures(t *testing.T) {
	for _, size := range [][2]int{{1, 12}, {2, 9}, {8, 8}, {40, 7}, {64, 64}} {
		w, h := size[0], size[1]
		m := &imaging.Image{Width: w, Height: h, Pix: make([]uint16, w*h)}
		for _, o := range []Options{{}, {Bright: true, Snap: true}} {
			if _, err := Canal(m, measure.Pt(0, 0), measure.Pt(float64(w-1), float64(h-1)), nil, o); err == nil {
				t.Errorf("%d × %d: no error", w, h)
			}
		}
	}
}

// A drag shows at each position the line that a trace from there would give.
func TestLiveMatchesCanal(t *testing.T) {
	m, tr := phantom.Periapical(trialSpec(7))
	c := tr.Canals[0]
	p := NewMap(m, false)
	live, err := p.Live(&c.Orifice, &c.Apex)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []float64{3, 5, 7} {
		mark := c.PixelAt(s)
		got, err := live.To(mark)
		if err != nil {
			t.Fatal(err)
		}
		want, err := p.Canal(c.Orifice, c.Apex, []measure.Point{mark}, false)
		if err != nil {
			t.Fatal(err)
		}
		var line curve
		for _, q := range want.Points {
			line = append(line, at(q))
		}
		for _, q := range got.Points {
			if d := line.away(q); d > 3 { // both are known to a quarter of that, and fewer steps are taken
				t.Fatalf("at %g mm: %.2f px apart at %v", s, d, q)
			}
		}
	}
	if _, err := p.Live(nil, nil); err == nil {
		t.Error("no neighbours give no error")
	}
	if _, err := live.To(measure.Pt(-9, 0)); err == nil {
		t.Error("a mark outside gives no error")
	}
}

func ExampleCanal() {
	spec := phantom.NewSpec(1)
	spec.File, spec.Texture = nil, 0.02
	picture, truth := phantom.Periapical(spec)
	canal := truth.Canals[0]
	line, err := Canal(picture, canal.Orifice, canal.Apex, nil, Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f of the true length\n", line.Length()/canal.LengthPx)
	// Output: 1.00 of the true length
}
