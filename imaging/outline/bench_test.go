package outline

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"rootrule/imaging/internal/inputs"
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

func BenchmarkLesion2000x1500(b *testing.B) {
	m, truth := phantom.Periapical(big())
	c := truth.Lesion.Centre
	within := pixelsIn(truth.Lesion.Outline, m.Width, m.Height)
	inputs.Leave(b, "lesion2d", m.Pix, m.Height, m.Width)
	inputs.Leave(b, "lesion2d_truth", within, m.Height, m.Width)
	var o Outline
	for b.Loop() {
		var err error
		if o, err = Lesion(m, measure.Pt(c.X+20, c.Y+15), Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(diceOfPixels(pixelsIn(measure.NewOutline(o.Points).Points(16), m.Width, m.Height), within), "Dice")
}

// pixelsIn is 1 for each pixel whose centre lies inside a closed line, else 0.
func pixelsIn(line []measure.Point, w, h int) []uint8 {
	out := make([]uint8, w*h)
	for y := range h {
		var at []float64
		for i, p := range line {
			q := line[(i+1)%len(line)]
			if (p.Y > float64(y)) != (q.Y > float64(y)) {
				at = append(at, p.X+(float64(y)-p.Y)/(q.Y-p.Y)*(q.X-p.X))
			}
		}
		slices.Sort(at)
		for i := 0; i+1 < len(at); i += 2 {
			for x := max(0, int(math.Ceil(at[i]))); x < min(w, int(math.Ceil(at[i+1]))); x++ {
				out[y*w+x] = 1
			}
		}
	}
	return out
}

// diceOfPixels is 2|A∩B| / (|A|+|B|) (Dice 1945).
func diceOfPixels(a, b []uint8) float64 {
	both, all := 0.0, 0.0
	for i := range a {
		both += float64(a[i] & b[i])
		all += float64(a[i] + b[i])
	}
	return 2 * both / all
}

func BenchmarkCorrected2000x1500(b *testing.B) {
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

func BenchmarkShifted2000x1500(b *testing.B) {
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

// ballOf256 is the volume of the segmentation peers' trials: 256³ voxels, an
// ellipsoid of radius 51.2 voxels stretched by 0.9 and 1.1, its edge 1.5 voxels
// wide, noise of a fifteenth of the contrast.
func ballOf256() (*voxels, func(p vec3) bool) {
	const n = 256
	v := &voxels{size: [3]int{n, n, n}, step: [3]float64{1, 1, 1}, value: make([]float32, n*n*n)}
	far := func(p vec3) float64 {
		return math.Sqrt(math.Pow((p[0]-n/2)/0.9, 2) + math.Pow(p[1]-n/2, 2) + math.Pow((p[2]-n/2)/1.1, 2))
	}
	r := rand.New(rand.NewPCG(1, 2))
	for i := range v.value {
		d := far(vec3{float64(i % n), float64(i / n % n), float64(i / n / n)})
		v.value[i] = float32(1000 - 900/(1+math.Exp((d-n/5.0)/1.5)) + 60*r.NormFloat64())
	}
	return v, func(p vec3) bool { return far(p) < n/5.0 }
}

func BenchmarkVolume256Cubed(b *testing.B) {
	v, within := ballOf256()
	inputs.Leave(b, "lesion3d", v.value, v.size[2], v.size[1], v.size[0])
	inputs.Leave(b, "lesion3d_truth", truthOf(v, within), v.size[2], v.size[1], v.size[0])
	var s Surface
	for b.Loop() {
		var err error
		if s, err = Volume(v, [3]float64{128, 128, 128}, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(diceOfVoxels(s, v, within), "Dice")
}

// truthOf is 1 for each voxel whose centre lies inside, else 0.
func truthOf(v *voxels, within func(p vec3) bool) []uint8 {
	out := make([]uint8, len(v.value))
	for i := range out {
		if within(vec3{float64(i % v.size[0]), float64(i / v.size[0] % v.size[1]), float64(i / v.size[0] / v.size[1])}) {
			out[i] = 1
		}
	}
	return out
}

// diceOfVoxels compares the voxels whose centres lie within a surface with
// those that should: along each row, by where it crosses the faces.
func diceOfVoxels(s Surface, v *voxels, within func(p vec3) bool) float64 {
	crossings := make([][]float64, v.size[1]*v.size[2])
	for _, f := range s.Faces {
		a, b, c := s.Points[f[0]], s.Points[f[1]], s.Points[f[2]]
		det := (b[1]-a[1])*(c[2]-a[2]) - (c[1]-a[1])*(b[2]-a[2])
		lo := func(i int) int { return int(math.Ceil(min(a[i], b[i], c[i]))) }
		hi := func(i int) int { return int(math.Floor(max(a[i], b[i], c[i]))) }
		for k := lo(2); k <= hi(2); k++ {
			for j := lo(1); j <= hi(1); j++ {
				y, z := float64(j)-a[1], float64(k)-a[2]
				p := (y*(c[2]-a[2]) - z*(c[1]-a[1])) / det
				q := (z*(b[1]-a[1]) - y*(b[2]-a[2])) / det
				if p >= 0 && q >= 0 && p+q < 1 {
					row := k*v.size[1] + j
					crossings[row] = append(crossings[row], a[0]+p*(b[0]-a[0])+q*(c[0]-a[0]))
				}
			}
		}
	}
	var both, sum float64
	for row, x := range crossings {
		for i := range v.size[0] {
			in := false
			for _, c := range x {
				in = in != (c < float64(i))
			}
			want := within(vec3{float64(i), float64(row % v.size[1]), float64(row / v.size[1])})
			if in {
				sum++
			}
			if want {
				sum++
			}
			if in && want {
				both++
			}
		}
	}
	return 2 * both / sum
}
