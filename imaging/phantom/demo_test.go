package phantom

import (
	"bytes"
	"encoding/json"
	"image"
	"image/png"
	"math"
	"sync"
	"testing"

	"rootrule/imaging"
	"rootrule/measure"
)

var demo = sync.OnceValue(func() Case { return Demo(37) })

func TestDemoTellsOneTreatment(t *testing.T) {
	c := demo()
	stages := []string{measure.StagePreOperative, measure.StageWorkingLength, measure.StageRecall}
	if len(c.Exposures) != 3 || len(c.Marks.Images) != 3 || c.Marks.Version != 1 {
		t.Fatalf("%d exposures, %d marked, version %d", len(c.Exposures), len(c.Marks.Images), c.Marks.Version)
	}
	for i, e := range c.Exposures {
		m := c.Marks.Images[i]
		if e.Stage != stages[i] || m.Stage != e.Stage || m.ID != e.ID || m.Date != e.Date || m.File != e.FileName {
			t.Errorf("exposure %s and its marks disagree: %+v", e.ID, m)
		}
		if i > 0 && e.Date <= c.Exposures[i-1].Date {
			t.Errorf("exposure %s of %s is not after the one before", e.ID, e.Date)
		}
	}
	pre, recall := c.Exposures[0].Truth.Lesion, c.Exposures[2].Truth.Lesion
	near(t, "area of the lesion", pre.AreaMM2, math.Pi*2.25*1.75, 1e-12)
	near(t, "area a year later", recall.AreaMM2, math.Pi*1.2*0.95, 1e-12)
}

// Every mark of the reader lies near the truth: five standard deviations of the
// click noise in both directions.
func TestDemoMarksAreNearTruth(t *testing.T) {
	c := demo()
	for i, e := range c.Exposures {
		m, truth := c.Marks.Images[i], e.Truth
		for k, canal := range m.Canals {
			want := &truth.Canals[k]
			if len(canal.Marks) < 6 || canal.Orifice == 0 || canal.CurveStart == nil {
				t.Fatalf("%s %s: %d marks, orifice %d, curve %v", e.ID, canal.Name, len(canal.Marks), canal.Orifice, canal.CurveStart)
			}
			marked(t, "reference", canal.Marks[0], want.Reference)
			marked(t, "orifice", canal.Marks[canal.Orifice], want.Orifice)
			marked(t, "start of the curve", canal.Marks[*canal.CurveStart], want.CurveStart)
			marked(t, "apex", canal.Marks[len(canal.Marks)-1], want.Apex)
			near(t, "EAL reading, mm", *canal.EALMM, want.ReferenceLengthMM, 0.75)
		}
		for q, p := range m.Lesions[0].Outline {
			marked(t, "outline", p, truth.Lesion.Outline[q*outlineSamples/len(m.Lesions[0].Outline)])
		}
		for k, f := range m.Fillings {
			marked(t, "filling", f.Tip, truth.Fillings[k].Tip)
		}
	}
	for k, p := range c.Marks.Recalls[0].Pairs {
		marked(t, "pair before", p[0], c.Exposures[0].Truth.Landmarks[k].At)
		marked(t, "pair after", p[1], c.Exposures[2].Truth.Landmarks[k].At)
	}
}

func marked(t *testing.T, what string, got, want measure.Point) {
	t.Helper()
	if got.U != demoClick || got.Dist(want) > 5*math.Sqrt2*demoClick {
		t.Errorf("%s marked at %v, is at %v", what, got, want)
	}
}

// Known lengths in the picture: the file in place, and the crown's width by
// calliper, with the scale that the geometry gives there.
func TestDemoCalibrations(t *testing.T) {
	c := demo()
	file := c.Exposures[1].Truth.File
	near(t, "file, half millimetres", math.Mod(file.LengthMM*2, 1), 0, 1e-12)
	near(t, "file's scale, px/mm", file.LengthPx/file.LengthMM, 1.05/0.02, 1e-6)
	crown := c.Exposures[0].Truth.Crown
	near(t, "crown width, mm", crown[0].Dist(crown[1])/(1.05/0.02), calliperWidth, 1e-9)
}

// Two canals at depths ±z part by 2z·tan α when the tube moves by α, the
// detector staying parallel.
func TestDemoParallax(t *testing.T) {
	c := demo()
	apart := func(e Exposure) float64 {
		mb, ml := e.Truth.Canals[0], e.Truth.Canals[1]
		return ml.LineMM.At(ml.OrificeS).X - mb.LineMM.At(mb.OrificeS).X
	}
	k := c.Exposures[0].Truth.Canals
	want := (k[1].DepthMM - k[0].DepthMM) * math.Tan(c.Marks.Views[0].AngleDeg*math.Pi/180)
	near(t, "shift, mm", apart(c.Exposures[1])-apart(c.Exposures[0]), want, 1e-9)
}

func TestDemoFileAndFillingsLieOnTheirLines(t *testing.T) {
	c := demo()
	e := c.Exposures[1]
	f := e.Truth.File
	sum, n := 0.0, 0.0
	for i := 3; i < 150; i += 7 {
		s := f.LengthMM * float64(i) / (lineSamples - 1) // from the tip
		half := 1.05/0.02*(0.075+0.01*s) + 4             // the instrument and its blur
		off := centroid(e.Image, f.Line[i+1], f.Line[i-1], half, 1)
		near(t, "file off its line, px", off, 0, 2) // bone, tooth and noise behind it are uneven
		sum, n = sum+off, n+1
	}
	near(t, "mean of the file off its line, px", sum/n, 0, 0.2)
	recall := c.Exposures[2]
	for i, fill := range recall.Truth.Fillings {
		k := recall.Truth.Canals[i]
		near(t, "filling short of the apex, mm", k.ApexS-fill.ShortMM, k.ApexS-1, 1e-12)
		on, beyond := k.PixelAt(k.ApexS-1.6), k.PixelAt(k.ApexS-0.6)
		if bright, dark := mean(recall.Image, on, 4), mean(recall.Image, beyond, 4); bright < 1.05*dark {
			t.Errorf("%s: filling %g, beyond it %g", fill.Canal, bright, dark)
		}
	}
}

// mean is the mean grey in a square about p.
func mean(img *imaging.Image, p measure.Point, r int) float64 {
	sum := 0.0
	for y := -r; y <= r; y++ {
		for x := -r; x <= r; x++ {
			sum += bilinear(img, p.X+float64(x), p.Y+float64(y))
		}
	}
	return sum / float64((2*r+1)*(2*r+1))
}

func TestDemoPNGKeepsEveryPixel(t *testing.T) {
	e := demo().Exposures[0]
	b, err := e.PNG()
	if err != nil {
		t.Fatal(err)
	}
	m, err := png.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	g, ok := m.(*image.Gray16)
	if !ok {
		t.Fatalf("the PNG is %T", m)
	}
	for i, v := range e.Image.Pix {
		if got := g.Gray16At(i%e.Image.Width, i/e.Image.Width).Y; got != v {
			t.Fatalf("pixel %d is %d, was %d", i, got, v)
		}
	}
}

func TestDemoMarksAreAMarksFile(t *testing.T) {
	b, err := json.Marshal(demo().Marks)
	if err != nil {
		t.Fatal(err)
	}
	var back measure.Marks
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(&back); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(back)
	if err != nil || !bytes.Equal(b, again) {
		t.Errorf("marks changed on the way through JSON: %v", err)
	}
}

func TestDemoSeedChangesTextureNotAnatomy(t *testing.T) {
	v := demoVisits()[0]
	v.geometry.Width, v.geometry.Height = 400, 300
	a, b, c := v.expose(1, 0), v.expose(1, 0), v.expose(2, 0)
	if digest(a.Image) != digest(b.Image) {
		t.Error("the same seed gave other pixels")
	}
	if digest(a.Image) == digest(c.Image) {
		t.Error("another seed gave the same pixels")
	}
	if a.Truth.Canals[0].Apex != c.Truth.Canals[0].Apex {
		t.Error("another seed moved an apex")
	}
}

func TestClickNoise(t *testing.T) {
	c := newClicker(0.7, 3)
	mean, variance := moments(20000, func() float64 { return c.at(measure.Point{X: 5}).X - 5 })
	near(t, "mean", mean, 0, 5*0.7/math.Sqrt(20000))
	near(t, "standard deviation", math.Sqrt(variance), 0.7, 5*0.7/math.Sqrt(2*20000))
}

func TestMarksWithoutNoiseAreExact(t *testing.T) {
	truth := newTooth(NewSpec(1)).truth()
	m := truth.Marks(9, 0, 1).Images[0]
	k := truth.Canals[0]
	if m.Canals[0].Marks[0] != k.Orifice || m.Canals[0].Marks[*m.Canals[0].CurveStart] != k.CurveStart || m.Canals[0].Marks[8] != k.Apex {
		t.Errorf("marks %v are not the truth", m.Canals[0].Marks)
	}
	c := m.Calibration[0]
	if c.Marks[0] != truth.File.Tip || c.Marks[len(c.Marks)-1] != truth.File.Stop || c.LengthMM != 21 {
		t.Errorf("calibration %+v is not the file", c)
	}
}

func BenchmarkDemoExposure(b *testing.B) {
	v := demoVisits()[0]
	for b.Loop() {
		v.expose(1, 0)
	}
}
