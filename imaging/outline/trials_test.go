package outline

import (
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// trial is a phantom and its lesion.
type trial struct {
	image  *imaging.Image
	lesion *phantom.LesionTruth
	pixel  float64
}

// draw is a number between lo and hi, evenly in its logarithm.
func draw(r *rand.Rand, lo, hi float64) float64 {
	return lo * math.Pow(hi/lo, r.Float64())
}

// newTrial makes a radiograph of 360 × 360 px around a root's tip, from a wide
// range of lesions, bones, beams and tones. Without a lesion it is healthy.
// The bone lost is at least 3.5 times the texture's standard deviation, and
// the contrast at least 2.5 times the noise.
func newTrial(seed uint64, lesion bool) trial {
	r := rand.New(rand.NewPCG(seed, 21))
	even := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	s := phantom.NewSpec(seed)
	s.File = nil
	s.Width, s.Height = 360, 360
	s.Canal.AngleDeg, s.Canal.TiltDeg = even(0, 45), even(-10, 10)
	long := draw(r, 0.7, 3)
	wide := long / even(1, 1.8)
	depth := even(0.35, 0.95)
	s.Lesion = &phantom.LesionSpec{
		SemiMM: [2]float64{long, wide}, RotationDeg: even(0, 180), BeyondMM: even(0.1, 0.9) * wide,
		EdgeMM: even(0.03, 0.12) * wide, Depth: depth,
	}
	s.Texture = even(0, math.Min(0.15, depth/3.5))
	s.PixelMM = long / even(30, 90)
	s.Beam = phantom.Beam{Photons: draw(r, math.Max(100, 90/(depth*depth)), 8000), GaussSD: even(0, 5), PSF: even(0.8, 2)}
	if r.IntN(2) == 0 {
		s.Beam.Grain = even(0, s.Beam.PSF)
	}
	if r.IntN(3) == 0 {
		s.Tone.Gamma = even(0.8, 1.2)
	}
	s.Canal.OrificeMM = phantom.MM{}
	probe := s
	probe.Width, probe.Height = 4, 4
	_, at := phantom.Periapical(probe)
	c := at.Lesion.CentreMM
	s.Canal.OrificeMM = phantom.MM{X: even(-0.3, 0.3)*long - c.X, Y: even(-0.3, 0.3)*long - c.Y}
	if !lesion {
		s.Lesion = nil
	}
	m, truth := phantom.Periapical(s)
	return trial{m, truth.Lesion, s.PixelMM}
}

// seed is a point within the inner 70 % of the lesion, evenly over its area.
func (t trial) seed(r *rand.Rand) measure.Point {
	k, dir := 0.7*math.Sqrt(r.Float64()), 2*math.Pi*r.Float64()
	e := newEllipse(vec{t.lesion.Centre.X, t.lesion.Centre.Y}, k*t.lesion.SemiMM[0]/t.pixel, k*t.lesion.SemiMM[1]/t.pixel, t.lesion.RotationDeg*math.Pi/180)
	sin, cos := math.Sincos(dir)
	p := e.at(sin, cos)
	return measure.Pt(p.x, p.y)
}

// score counts how often the true value lies within k = 2.
type score struct{ within, of int }

func (s *score) count(f measure.Finding, truth float64) {
	s.of++
	if math.Abs(f.Value-truth) <= measure.CoverageFactor*f.StdUnc {
		s.within++
	}
}

func (s score) part() float64 { return float64(s.within) / float64(s.of) }

// findings are what measure makes of an outline.
func findings(o Outline) map[string]measure.Finding {
	m := measure.Marks{Version: 1, Images: []measure.ImageMarks{{ID: "a", File: "a.png", Lesions: []measure.Lesion{{Tooth: "46", Name: "D", Outline: o.Points}}}}}
	out := map[string]measure.Finding{}
	for _, f := range measure.Compute(m, measure.Given{}) {
		out[f.What] = f
	}
	return out
}

// TestPhantoms clicks into lesions of seeded radiographs.
func TestPhantoms(t *testing.T) {
	phantoms, clicks := trials(10), 2
	var good int
	var refused, poor int
	var sum, bias float64
	var area, longest, across score
	for i := range uint64(phantoms) {
		tr := newTrial(i+1, true)
		r := rand.New(rand.NewPCG(i, 22))
		for range clicks {
			seed := tr.seed(r)
			o, err := Lesion(tr.image, seed, Options{})
			if err != nil {
				t.Logf("phantom %d, seed (%.0f, %.0f): %v", i+1, seed.X, seed.Y, err)
				refused++
				continue
			}
			d := dice(drawn(o), vecs(tr.lesion.Outline))
			if d < 0.95 {
				t.Logf("phantom %d, seed (%.0f, %.0f): Dice %.3f, confidence %.2f", i+1, seed.X, seed.Y, d, o.Confidence)
				poor++
			}
			sum += d
			if d >= 0.97 {
				good++
			}
			bias += o.AreaPx2/tr.lesion.AreaPx2 - 1
			f := findings(o)
			area.count(f[measure.WhatArea], tr.lesion.AreaPx2)
			longest.count(f[measure.WhatLongestDiameter], tr.lesion.LongMM/tr.pixel)
			across.count(f[measure.WhatPerpendicularDiameter], tr.lesion.WideMM/tr.pixel)
		}
	}
	n := float64(area.of)
	t.Logf("%d clicks: %d refused, %d with a Dice of 0.97, %d with a Dice below 0.95, mean Dice %.4f, area bias %+.2f %%, covered: area %.3f, longest %.3f, across %.3f",
		phantoms*clicks, refused, good, poor, sum/n, 100*bias/n, area.part(), longest.part(), across.part())
	if refused > 2+phantoms*clicks/25 {
		t.Errorf("%d of %d clicks into a lesion refused, want at most 4 %%", refused, phantoms*clicks)
	}
	if sum/n < 0.975 || poor > 1+phantoms*clicks/20 {
		t.Errorf("mean Dice %.4f, %d below 0.95; want 0.975 and at most 5 %%", sum/n, poor)
	}
	if math.Abs(bias/n) > 0.015 {
		t.Errorf("area biased by %.2f %%, want at most 1.5 %%", 100*bias/n)
	}
	// 93–98.5 % is the aim, over many phantoms; ten of them leave ± 10 %.
	for _, c := range []struct {
		name string
		score
	}{{"area", area}, {"longest diameter", longest}, {"perpendicular diameter", across}} {
		if c.part() < 0.85 {
			t.Errorf("%s: true value within k = 2 in %.1f %% of trials, want 93 %% or so", c.name, 100*c.part())
		}
	}
}

// TestHealthy clicks all over radiographs without a lesion: into bone, root
// and the gap around it.
func TestHealthy(t *testing.T) {
	phantoms, clicks := trials(2), 10
	accepted := 0
	for i := range uint64(phantoms) {
		tr := newTrial(100+i, false)
		r := rand.New(rand.NewPCG(i, 23))
		for range clicks {
			seed := measure.Pt(359*r.Float64(), 359*r.Float64())
			if o, err := Lesion(tr.image, seed, Options{}); err == nil {
				t.Logf("phantom %d, seed (%.0f, %.0f): radius %.0f px, confidence %.2f", 100+i, seed.X, seed.Y, math.Sqrt(o.AreaPx2/math.Pi), o.Confidence)
				accepted++
			}
		}
	}
	if accepted > 1+phantoms*clicks/100 {
		t.Errorf("%d of %d clicks outside lesions accepted, want at most 1 %%", accepted, phantoms*clicks)
	}
}
