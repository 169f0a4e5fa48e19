package outline

import (
	"testing"

	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// big is a radiograph of 2000 × 1500 px.
func big() phantom.Spec {
	s := phantom.NewSpec(1)
	s.Width, s.Height, s.PixelMM = 2000, 1500, 0.018
	s.Canal.OrificeMM = phantom.MM{X: 0, Y: -11}
	return s
}

func BenchmarkLesion(b *testing.B) {
	m, truth := phantom.Periapical(big())
	c := truth.Lesion.Centre
	for b.Loop() {
		if _, err := Lesion(m, measure.Pt(c.X+20, c.Y+15), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCorrected(b *testing.B) {
	m, truth := phantom.Periapical(big())
	o, err := Lesion(m, truth.Lesion.Centre, Options{})
	if err != nil {
		b.Fatal(err)
	}
	from := o.Points[3]
	to := measure.Pt(from.X+5, from.Y+5)
	for b.Loop() {
		if _, err := o.Corrected(from, to); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkShifted(b *testing.B) {
	m, truth := phantom.Periapical(big())
	o, err := Lesion(m, truth.Lesion.Centre, Options{})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := o.Shifted(-6); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkVolume(b *testing.B) {
	e := plainEgg()
	e.size, e.centre = [3]int{160, 160, 160}, vec3{16, 15.7, 16.3}
	v := e.paint(1)
	for b.Loop() {
		if _, err := Volume(v, [3]float64{82, 80, 81}, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
