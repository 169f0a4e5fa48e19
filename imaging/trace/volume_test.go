package trace

import (
	"math"
	"math/rand/v2"
	"testing"
)

// box is a volume in memory.
type box struct {
	size Size
	step [3]float64
	v    []float32
}

func (b *box) Size() Size          { return b.size }
func (b *box) Spacing() [3]float64 { return b.step }
func (b *box) Row(dst []float32, x0, y, z int) {
	copy(dst, b.v[(z*b.size.Y+y)*b.size.X+x0:])
}

// tubeLine is a line in mm: straight down, then an arc of a radius in a plane
// turned about z.
func tubeLine(s float64) Place {
	const straight, radius, azimuth = 6.0, 8.0, 0.6
	u, w := s, 0.0
	if a := (s - straight) / radius; a > 0 {
		u, w = straight+radius*math.Sin(a), radius*(1-math.Cos(a))
	}
	return Place{4 + w*math.Cos(azimuth), 4.3 + w*math.Sin(azimuth), 2 + u}
}

// tube is a volume with a dark canal along tubeLine, tapering, and a darker
// broad one beside it.
func tube(step [3]float64, seed uint64, noise float64) *box {
	b := &box{size: Size{int(10 / step[0]), int(9 / step[1]), int(16 / step[2])}, step: step}
	b.v = make([]float32, b.size.samples())
	r := rand.New(rand.NewPCG(seed, 9))
	for i := range b.v {
		x, y, z := float64(i%b.size.X)*step[0], float64(i/b.size.X%b.size.Y)*step[1], float64(i/b.size.X/b.size.Y)*step[2]
		best := math.Inf(1)
		for s := max(z-2-1, 0); s <= min(z-2+2.5, 12); s += 0.05 {
			p := tubeLine(s)
			best = min(best, math.Hypot(math.Hypot(x-p[0], y-p[1]), z-p[2]))
		}
		edge := func(d, r float64) float64 { return 1 / (1 + math.Exp((d-r)/0.05)) }
		dentine := 1650 - 1500*edge(best, 0.42-0.015*(z-2))
		dentine -= 1500 * edge(math.Hypot(x-8, y-2), 0.6)
		b.v[i] = float32(dentine + noise*r.NormFloat64())
	}
	return b
}

func tubeTruth() curve {
	var c curve
	for s := 0.0; s <= 12; s += 0.02 {
		c = append(c, toVec(tubeLine(s)))
	}
	return c
}

func TestCanalInVolume(t *testing.T) {
	cases := []struct {
		name  string
		step  [3]float64
		noise float64
		rms   float64 // of a voxel's edge
	}{
		{"cubic voxels", [3]float64{0.15, 0.15, 0.15}, 150, 0.25},
		{"thick slices", [3]float64{0.15, 0.15, 0.25}, 80, 0.35},
	}
	want := tubeTruth()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			v := tube(c.step, 1, c.noise)
			from, to := tubeLine(0.5), tubeLine(11.5)
			from[0] += 2 * c.step[0]
			to[1] -= 2 * c.step[1]
			l, err := CanalIn(v, from, to, nil, Options{Snap: true})
			if err != nil {
				t.Fatal(err)
			}
			squares, within := 0.0, 0.0
			for i, p := range l.Points {
				d := toVec(p).sub(want.at(want.nearest(toVec(p)))).norm()
				squares += d * d / float64(len(l.Points))
				if d < 2.45*l.Unc[i] { // 95 % of a normal spread in two directions
					within += 1 / float64(len(l.Points))
				}
			}
			if rms := math.Sqrt(squares); rms > c.rms*c.step[0] {
				t.Errorf("%.3f mm root mean square, want %.3f", rms, c.rms*c.step[0])
			}
			if within < 0.8 {
				t.Errorf("%.0f %% of the points within the uncertainty stated", 100*within)
			}
			if got := l.Length(); math.Abs(got-11) > 0.02*11 {
				t.Errorf("length %.3f mm, want 11", got)
			}
		})
	}
}

func TestCanalInVolumeEndsAtTheMarks(t *testing.T) {
	v := tube([3]float64{0.2, 0.2, 0.2}, 2, 100)
	from, via, to := tubeLine(0.6), tubeLine(6), tubeLine(11)
	from[0] += 0.3
	l, err := CanalIn(v, from, to, []Place{via}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	back, err := CanalIn(v, to, from, []Place{via}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	n := len(l.Points)
	near := func(a, b Place) bool { return toVec(a).sub(toVec(b)).norm() < 1e-9 }
	if !near(l.Points[0], from) || !near(l.Points[n-1], to) {
		t.Errorf("the line runs from %v to %v, want %v to %v", l.Points[0], l.Points[n-1], from, to)
	}
	for i := range l.Points {
		if l.Points[i] != back.Points[n-1-i] {
			t.Fatalf("point %d differs from the other end: %v and %v", i, l.Points[i], back.Points[n-1-i])
		}
	}
}

func TestCanalInVolumeRefusals(t *testing.T) {
	v := &box{Size{20, 20, 20}, [3]float64{0.2, 0.2, 0.2}, make([]float32, 8000)}
	if _, err := CanalIn(v, Place{-1, 0, 0}, Place{2, 2, 2}, nil, Options{}); err == nil {
		t.Error("a mark outside gives no error")
	}
	if _, err := CanalIn(v, Place{1, 1, 1}, Place{1, 1, 1.1}, nil, Options{}); err == nil {
		t.Error("marks at one place give no error")
	}
	v.step[1] = 0
	if _, err := CanalIn(v, Place{1, 1, 1}, Place{2, 2, 2}, nil, Options{}); err == nil {
		t.Error("no spacing gives no error")
	}
}
