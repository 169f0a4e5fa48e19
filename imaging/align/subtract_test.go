package align

import (
	"context"
	"image"
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// recallPair is a tooth before and after: with its lesion scaled by healed, the
// detector's point spread psf px and not 1.3 px, another exposure and a warp.
func recallPair(patient uint64, healed, psf float64) (before, after *imaging.Image, lesion []measure.Point) {
	r := rand.New(rand.NewPCG(patient, 3))
	s := cleanSpec(patient, 0.04)
	a, truth := phantom.Periapical(s)
	s.Beam.PSF = psf
	s.Warp = phantom.Matrix(randomWarp(r, s.Width, s.Height, 0.01))
	l := *s.Lesion
	l.SemiMM[0], l.SemiMM[1] = healed*l.SemiMM[0], healed*l.SemiMM[1]
	s.Lesion = &l
	b, _ := phantom.Periapical(s)
	return retake(a, randomExposure(r)), retake(b, randomExposure(r)), truth.Lesion.Outline
}

func subtracted(t *testing.T, before, after *imaging.Image) Difference {
	t.Helper()
	r, err := Images(context.Background(), before, after, Options{})
	if err != nil {
		t.Fatal(err)
	}
	d, err := Subtract(before, after, r, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// beyond is the part of the known pixels beyond ChangeLimit.
func beyond(d Difference) float64 {
	n, out := 0, 0
	for _, u := range d.Units {
		if u == u {
			n++
			if math.Abs(float64(u)) > ChangeLimit {
				out++
			}
		}
	}
	return float64(out) / float64(n)
}

func TestUnchangedPairShowsNothing(t *testing.T) {
	for _, c := range []struct {
		name    string
		patient uint64
		psf     float64
	}{
		{"same sensor", 200, 1.3},
		{"sharper sensor", 201, 0.8},
		{"softer sensor", 202, 1.8},
	} {
		before, after, _ := recallPair(c.patient, 1, c.psf)
		d := subtracted(t, before, after)
		sum, n := 0.0, 0.0
		for i, k := range d.Known {
			if k {
				sum += float64(d.Pix[i]) - Centre
				n++
			}
		}
		t.Logf("%s: %.2g beyond, %d places, noise %.0f, mean %.1f", c.name, beyond(d), len(d.Changed), d.Noise, sum/n)
		if len(d.Changed) > 0 || beyond(d) > 1e-3 {
			t.Errorf("%s: %.2g of the pixels beyond the limit, changed at %v", c.name, beyond(d), d.Changed)
		}
		if math.Abs(sum/n) > 0.1*d.Noise {
			t.Errorf("%s: mean %.1f is off the middle grey, noise %.1f", c.name, sum/n, d.Noise)
		}
	}
}

func TestHealingIsSeen(t *testing.T) {
	before, after, lesion := recallPair(203, 0.6, 1.5)
	d := subtracted(t, before, after)
	box := image.Rectangle{}
	for i, p := range lesion {
		q := image.Rect(int(p.X), int(p.Y), int(p.X)+1, int(p.Y)+1)
		if i == 0 {
			box = q
		}
		box = box.Union(q)
	}
	denser, seen := 0, 0
	for i, u := range d.Units {
		if image.Pt(i%d.Width, i/d.Width).In(box) && u == u && u > ChangeLimit {
			denser++
		}
	}
	for _, c := range d.Changed {
		if !c.Overlaps(box.Inset(-16)) {
			t.Errorf("change seen at %v, away from the lesion %v", c, box)
		}
		seen++
	}
	t.Logf("%d px denser by more than the limit, %d places", denser, seen)
	if denser < box.Dx()*box.Dy()/5 || seen == 0 { // bone came back in (1 − 0.36) of an ellipse, part of it behind the root
		t.Errorf("of the lesion's box of %d px, %d are seen to be denser", box.Dx()*box.Dy(), denser)
	}
}
