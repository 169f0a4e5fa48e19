package phantom

import (
	"math"

	"rootrule/measure"
)

// Marks sets marks as a careful reader would: n on each canal, from the
// orifice to the apex, 8 along the file, 18 around the lesion, at the true
// positions plus normal click noise of clickSD px in each direction. With noise
// each mark states it as its uncertainty; with clickSD 0 the marks are exact
// and state none. One of a curved canal's marks lies at the start of its arc,
// and CurveStart names it. The scale comes from the file.
func (t Truth) Marks(n int, clickSD float64, seed uint64) measure.Marks {
	c := newClicker(clickSD, seed)
	m := measure.ImageMarks{ID: "phantom", File: "phantom.png", Stage: measure.StageWorkingLength}
	for i := range t.Canals {
		k := &t.Canals[i]
		m.Canals = append(m.Canals, k.marks(k.OrificeS, n, c))
	}
	if t.File != nil {
		m.Calibration = append(m.Calibration, t.File.calibration(8, c))
	}
	if t.Lesion != nil {
		m.Lesions = append(m.Lesions, t.Lesion.marks(18, c))
	}
	for _, f := range t.Fillings {
		m.Fillings = append(m.Fillings, f.marks(c))
	}
	return measure.Marks{Version: 1, Images: []measure.ImageMarks{m}}
}

// clicker places marks with seeded noise.
type clicker struct {
	sd float64
	r  *random
}

func newClicker(sd float64, seed uint64) *clicker {
	return &clicker{sd, newRandom(seed, 2<<32)}
}

func (c *clicker) at(p measure.Point) measure.Point {
	return measure.Point{X: p.X + c.sd*c.r.normal(), Y: p.Y + c.sd*c.r.normal(), U: c.sd}
}

func (c *clicker) all(ps []measure.Point) []measure.Point {
	out := make([]measure.Point, len(ps))
	for i, p := range ps {
		out[i] = c.at(p)
	}
	return out
}

// marks traces the canal from arc length start to the apex.
func (k *CanalTruth) marks(start float64, n int, c *clicker) measure.Canal {
	if n < 2 {
		panic("phantom: a canal needs two marks at least")
	}
	step := (k.ApexS - start) / float64(n-1)
	s := make([]float64, n)
	for i := range s {
		s[i] = start + float64(i)*step
	}
	out := measure.Canal{Tooth: k.Tooth, Name: k.Name}
	snap := func(to float64, first int) int { // moves the nearest free mark there
		i := min(max(int(math.Round((to-start)/step)), first), n-2)
		s[i] = to
		return i
	}
	if start < k.OrificeS && n > 2 {
		out.Orifice = snap(k.OrificeS, 1)
	}
	if k.AngleDeg != 0 && n > out.Orifice+2 {
		i := snap(k.CurveS, out.Orifice+1)
		out.CurveStart = &i
	}
	for _, v := range s {
		out.Marks = append(out.Marks, c.at(k.PixelAt(v)))
	}
	return out
}

// calibration marks the file from tip to stop.
func (f *FileTruth) calibration(n int, c *clicker) measure.Calibration {
	ps := f.project.Pixels(f.line.sample(f.tip, f.stop, n))
	return measure.Calibration{Kind: measure.CalibrationFile, LengthMM: f.LengthMM, Marks: c.all(ps), Tooth: f.Tooth}
}

func (l *LesionTruth) marks(n int, c *clicker) measure.Lesion {
	return measure.Lesion{Tooth: l.Tooth, Name: l.Name, Outline: c.all(l.project.Pixels(l.shape.outline(n)))}
}

func (f FillingTruth) marks(c *clicker) measure.Filling {
	return measure.Filling{Tooth: f.Tooth, Canal: f.Canal, Tip: c.at(f.Tip), Apex: c.at(f.Apex)}
}
