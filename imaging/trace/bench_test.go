package trace

import (
	"math"
	"math/rand/v2"
	"testing"

	"rootrule/imaging/internal/inputs"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// tubeCost is a cost with a cheap winding valley in noise.
func tubeCost(size Size) Grid {
	r := rand.New(rand.NewPCG(0, 0))
	g := Grid{Size: size, Cost: make([]float32, size.samples())}
	last, axes := float64(size.Y), 2
	if !size.flat() {
		last, axes = float64(size.Z), 3
	}
	for i := range g.Cost {
		c := g.cell(i)
		t := float64(c.Y) / last
		a, b := float64(c.X)-float64(size.X)*(0.5+0.2*math.Sin(3*t)), 0.0
		if axes == 3 {
			t = float64(c.Z) / last
			a = float64(c.Y) - float64(size.Y)*(0.5+0.2*math.Sin(3*t))
			b = float64(c.X) - float64(size.X)*(0.5+0.15*math.Cos(2.5*t))
		}
		g.Cost[i] = float32(1.02 - math.Exp(-(a*a+b*b)/18) + 0.1*r.Float64())
	}
	return g
}

func benchmarkPath(b *testing.B, g Grid, from, to Cell) {
	var cost float64
	for b.Loop() {
		var err error
		if _, cost, err = LeastCost(g, from, to); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(cost*1e6, "millionths-of-cost") // go test shows four digits of small values
}

func BenchmarkPath1500x1000(b *testing.B) {
	g := tubeCost(Size{1000, 1500, 1})
	inputs.Leave(b, "cost2d", g.Cost, 1500, 1000)
	benchmarkPath(b, g, Cell{500, 10, 0}, Cell{500, 1490, 0})
}

func BenchmarkPath300Cubed(b *testing.B) {
	g := tubeCost(Size{300, 300, 300})
	inputs.Leave(b, "cost3d", g.Cost, 300, 300, 300)
	benchmarkPath(b, g, Cell{195, 150, 5}, Cell{120, 180, 295})
}

func benchmarkFilter(b *testing.B, size Size, apply func([]float32, Size, Filter) ([]float32, error)) {
	grey := tubes(size, 1)
	if size.flat() {
		inputs.Leave(b, "ridges2d", grey, size.Y, size.X)
	} else {
		inputs.Leave(b, "ridges3d", grey, size.Z, size.Y, size.X)
	}
	for b.Loop() {
		if _, err := apply(grey, size, Filter{Sigmas: []float64{1, 2, 3, 4, 5}, Gamma: 500}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkVesselness1500x1000(b *testing.B) { benchmarkFilter(b, Size{1000, 1500, 1}, Frangi) }
func BenchmarkSato1500x1000(b *testing.B)       { benchmarkFilter(b, Size{1000, 1500, 1}, Sato) }
func BenchmarkVesselness256Cubed(b *testing.B)  { benchmarkFilter(b, Size{256, 256, 256}, Frangi) }
func BenchmarkSato256Cubed(b *testing.B)        { benchmarkFilter(b, Size{256, 256, 256}, Sato) }

// large is a picture of 2000 × 1500 with its canal.
func large() (*Map, phantom.CanalTruth) {
	s := phantom.NewSpec(1)
	s.Width, s.Height, s.PixelMM, s.File = 1500, 2000, 0.015, nil
	m, t := phantom.Periapical(s)
	return NewMap(m, false), t.Canals[0]
}

func BenchmarkNewMap2000x1500(b *testing.B) {
	t, _ := large()
	for b.Loop() {
		NewMap(t.img, false)
	}
}

func BenchmarkCanal2000x1500(b *testing.B) {
	t, c := large()
	for b.Loop() {
		if _, err := t.Canal(c.Orifice, c.Apex, nil, true); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLiveStart2000x1500(b *testing.B) {
	t, c := large()
	for b.Loop() {
		if _, err := t.Live(&c.Orifice, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkLiveStep2000x1500(b *testing.B) {
	t, c := large()
	l, err := t.Live(&c.Orifice, nil)
	if err != nil {
		b.Fatal(err)
	}
	k := 0
	for b.Loop() {
		k++
		if _, err := l.To(measure.Pt(c.Apex.X+float64(k%40), c.Apex.Y-float64(k%23))); err != nil {
			b.Fatal(err)
		}
	}
}
