package outline

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// voxels is a volume for tests: value holds the true grey values, columns
// fastest.
type voxels struct {
	size  [3]int
	step  [3]float64
	value []float32
}

func (v *voxels) Size() [3]int       { return v.size }
func (v *voxels) StepMM() [3]float64 { return v.step }
func (v *voxels) Row(i, j, k int, dst []float32) {
	copy(dst, v.value[(k*v.size[1]+j)*v.size[0]+i:])
}

// egg is an ellipsoid in a volume: bone outside, darker inside, a logistic
// edge of a width scale in mm along the ray from its centre, noise, and a
// root of a radius that reaches into it from below.
type egg struct {
	size     [3]int
	step     [3]float64
	centre   vec3
	axes     [3]vec3
	contrast float64
	edge     float64
	noise    float64
	texture  float64
	root     float64
}

func (e egg) volume() float64 { return 4 * math.Pi / 3 * ellipsoid{e.centre, e.axes}.det() }

func (e egg) paint(seed uint64) *voxels {
	v := &voxels{size: e.size, step: e.step, value: make([]float32, e.size[0]*e.size[1]*e.size[2])}
	form := ellipsoid{e.centre, e.axes}
	r := rand.New(rand.NewPCG(seed, 2))
	spots := newSpots(r, e)
	n := 0
	for k := range e.size[2] {
		for j := range e.size[1] {
			for i := range e.size[0] {
				p := vec3{float64(i) * e.step[0], float64(j) * e.step[1], float64(k) * e.step[2]}
				in := 0.0
				if d := p.sub(e.centre); e.contrast != 0 {
					_, rho := form.polar(p)
					out := d.norm() * (1 - 1/math.Max(rho, 1e-6))
					in = 1 / (1 + math.Exp(out/e.edge))
				}
				value := 1000 - e.contrast*in + e.noise*r.NormFloat64()
				if e.texture > 0 {
					value += e.texture * spots.at(p) * (1 - in)
				}
				if e.root > 0 && p[2] > e.centre[2]+0.3*e.axes[2].norm() {
					d := p.sub(e.centre)
					value += 900 / (1 + math.Exp((math.Hypot(d[0], d[1])-e.root)/(0.3*e.step[0])))
				}
				v.value[n] = float32(value)
				n++
			}
		}
	}
	return v
}

// spots is a texture of smooth waves in random directions, of wavelengths of 1
// to 3 mm.
type spots [12]struct {
	k     vec3
	phase float64
}

func newSpots(r *rand.Rand, e egg) (s spots) {
	for i := range s {
		dir := vec3{r.NormFloat64(), r.NormFloat64(), r.NormFloat64()}.unit()
		s[i].k, s[i].phase = dir.mul(2*math.Pi/(1+2*r.Float64())), 2*math.Pi*r.Float64()
	}
	return s
}

func (s *spots) at(p vec3) (sum float64) {
	for i := range s {
		sum += math.Cos(s[i].k.dot(p) + s[i].phase)
	}
	return sum / math.Sqrt(float64(len(s))/2)
}

// turnedAxes are semi-axes turned about x and z.
func turnedAxes(a, b, c, x, z float64) [3]vec3 {
	sx, cx := math.Sincos(x)
	sz, cz := math.Sincos(z)
	turn := func(v vec3) vec3 {
		v = vec3{v[0], cx*v[1] - sx*v[2], sx*v[1] + cx*v[2]}
		return vec3{cz*v[0] - sz*v[1], sz*v[0] + cz*v[1], v[2]}
	}
	return [3]vec3{turn(vec3{a, 0, 0}), turn(vec3{0, b, 0}), turn(vec3{0, 0, c})}
}

func plainEgg() egg {
	return egg{size: [3]int{72, 70, 68}, step: [3]float64{0.2, 0.2, 0.2}, centre: vec3{7.1, 6.9, 6.6},
		axes: turnedAxes(3.2, 2.4, 2.1, 0.4, 0.7), contrast: 600, edge: 0.12, noise: 80}
}

func TestVolume(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(e *egg)
		volume float64 // relative
	}{
		{"ellipsoid", func(*egg) {}, 0.01},
		{"ball", func(e *egg) { e.axes = turnedAxes(2.5, 2.5, 2.5, 0, 0) }, 0.01},
		{"half as wide as long", func(e *egg) { e.axes = turnedAxes(4, 2, 2, 0.3, 1.1) }, 0.015},
		{"flat", func(e *egg) { e.axes = turnedAxes(3.5, 3.3, 1.9, 1, 0.2) }, 0.015},
		{"slices of 0.4 mm", func(e *egg) { e.step[2] = 0.4; e.size[2] = 36 }, 0.015},
		{"two noise SD", func(e *egg) { e.noise = 300 }, 0.02},
		{"texture", func(e *egg) { e.texture = 60 }, 0.02},
		{"sharp", func(e *egg) { e.edge = 0.05 }, 0.01},
		{"soft", func(e *egg) { e.edge = 0.25 }, 0.015},
		{"a root inside", func(e *egg) { e.root = 1 }, 0.02},
		{"small", func(e *egg) { e.axes = turnedAxes(1.1, 0.9, 0.9, 0.4, 0.7); e.edge = 0.08; e.noise = 40 }, 0.03},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := plainEgg()
			c.change(&e)
			seed := e.centre.add(e.axes[0].mul(0.4)).add(e.axes[1].mul(-0.4))
			s, err := Volume(e.paint(3), [3]float64{seed[0] / e.step[0], seed[1] / e.step[1], seed[2] / e.step[2]}, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if q := s.VolumeMM3/e.volume() - 1; math.Abs(q) > c.volume {
				t.Errorf("volume %.3f mm³, want %.3f: off by %.2f %%, want ≤ %.1f %%", s.VolumeMM3, e.volume(), 100*q, 100*c.volume)
			}
			if off := math.Abs(s.VolumeMM3 - e.volume()); off > 3*s.VolumeStdUnc {
				t.Errorf("volume off by %.3f mm³, its standard uncertainty is %.3f", off, s.VolumeStdUnc)
			}
			want := []float64{2 * e.axes[0].norm(), 2 * e.axes[1].norm(), 2 * e.axes[2].norm()}
			if !closed(s) {
				t.Error("the surface isn't closed")
			}
			for i, w := range sectionsOf(e) {
				if math.Abs(s.SectionsMM[i]/w-1) > 0.03 {
					t.Errorf("section %d: longest diameter %.3f mm, want %.3f", i+1, s.SectionsMM[i], w)
				}
			}
			for i, w := range want {
				if math.Abs(s.DiametersMM[i]/w-1) > 0.04 {
					t.Errorf("diameter %d: %.3f mm, want %.3f", i+1, s.DiametersMM[i], w)
				}
			}
		})
	}
}

func TestVolumeRefusals(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(e *egg)
		seed   [3]float64
	}{
		{"even bone", func(e *egg) { e.contrast = 0 }, [3]float64{35, 35, 33}},
		{"texture only", func(e *egg) { e.contrast, e.texture = 0, 100 }, [3]float64{35, 35, 33}},
		{"beside the lesion", func(e *egg) { e.centre = vec3{3.5, 6.9, 6.6} }, [3]float64{60, 35, 33}},
		{"something bright", func(e *egg) { e.contrast = -600 }, [3]float64{35, 35, 33}},
		{"open to the border", func(e *egg) { e.centre[0] = 0.5 }, [3]float64{5, 35, 33}},
		{"outside", func(*egg) {}, [3]float64{-1, 3, 3}},
		{"not a number", func(*egg) {}, [3]float64{math.NaN(), 3, 3}},
	} {
		e := plainEgg()
		c.change(&e)
		if s, err := Volume(e.paint(4), c.seed, Options{}); !errors.Is(err, ErrNoEdge) {
			t.Errorf("%s: got %.1f mm³, confidence %.2f, error %v; want ErrNoEdge", c.name, s.VolumeMM3, s.Confidence, err)
		}
	}
	if _, err := Volume(&voxels{size: [3]int{3, 3, 3}, step: [3]float64{1, 1, 1}, value: make([]float32, 27)}, [3]float64{1, 1, 1}, Options{}); !errors.Is(err, ErrNoEdge) {
		t.Errorf("27 voxels: error %v, want ErrNoEdge", err)
	}
}

// TestPartialVolume counts a surface's voxels by the part of each that lies
// inside, 2 × 2 × 2 points a voxel.
func TestPartialVolume(t *testing.T) {
	e := plainEgg()
	s := newSolid(ellipsoid{e.centre, e.axes})
	for i, b := range ball.waves {
		s.rho[i] = 1 + 0.05*b[7] - 0.03*b[12]
	}
	s.shape[7], s.shape[12] = 0.05, -0.03
	const part = 2
	count := 0
	for k := range e.size[2] * part {
		for j := range e.size[1] * part {
			for i := range e.size[0] * part {
				p := vec3{(float64(i)+0.5)/part - 0.5, (float64(j)+0.5)/part - 0.5, (float64(k)+0.5)/part - 0.5}.mul(0.2)
				dir, rho := s.frame.polar(p)
				if rho > 1.4 {
					continue
				}
				if rho < 0.75 {
					count++
					continue
				}
				h := harmonics(dir)
				if rho < 1+0.05*h[7]-0.03*h[12] {
					count++
				}
			}
		}
	}
	want := float64(count) * 0.008 / (part * part * part)
	if got := s.volume(); math.Abs(got/want-1) > 2e-3 {
		t.Errorf("volume %.4f mm³, counted %.4f", got, want)
	}
	before := s.volume()
	if !s.reframe() {
		t.Fatal("no frame")
	}
	if got := s.volume(); math.Abs(got/before-1) > 1e-3 {
		t.Errorf("volume %.4f mm³ about the new frame, %.4f before", got, before)
	}
}

// TestHarmonics checks that they are orthogonal over the mesh, each of mean
// square 1.
func TestHarmonics(t *testing.T) {
	for a := range terms {
		for b := range a + 1 {
			sum := 0.0
			for i, w := range ball.weight {
				sum += w * ball.waves[i][a] * ball.waves[i][b] / (4 * math.Pi)
			}
			want := 0.0
			if a == b {
				want = 1
			}
			if math.Abs(sum-want) > 0.02 {
				t.Errorf("harmonics %d and %d: mean product %.4f, want %.0f", a, b, sum, want)
			}
		}
	}
}

func TestSTL(t *testing.T) {
	solid := newSolid(ellipsoid{vec3{1, 2, 3}, turnedAxes(3, 2, 1, 0, 0)})
	s := Surface{Points: solid.drawn(solid.harmonics()), Faces: fineBall().faces}
	for name, place := range map[string]func([3]float64) [3]float64{
		"as it is": nil,
		"mirrored": func(p [3]float64) [3]float64 { return [3]float64{-p[0], p[1], p[2]} },
	} {
		var b bytes.Buffer
		if err := s.WriteSTL(&b, place); err != nil {
			t.Fatal(err)
		}
		if want := 84 + 50*len(s.Faces); b.Len() != want {
			t.Fatalf("%s: %d bytes, want %d", name, b.Len(), want)
		}
		volume := 0.0
		for i := range s.Faces {
			var f [12]float32
			if _, err := binary.Decode(b.Bytes()[84+50*i:], binary.LittleEndian, &f); err != nil {
				t.Fatal(err)
			}
			at := func(k int) vec3 { return vec3{float64(f[k]), float64(f[k+1]), float64(f[k+2])} }
			volume += at(3).dot(at(6).cross(at(9))) / 6
			if n := at(6).sub(at(3)).cross(at(9).sub(at(3))).unit(); n.dot(at(0)) < 0.999 {
				t.Fatalf("%s: facet %d has the normal %v, its corners %v", name, i, at(0), n)
			}
		}
		if want := solid.volume(); math.Abs(volume/want-1) > 1e-5 { // float32
			t.Errorf("%s: the facets enclose %.3f mm³, want %.3f", name, volume, want)
		}
	}
}

// closed reports whether each edge of the faces belongs to two of them, once in
// each direction, and the surface is a ball's: V − E + F = 2 (Euler).
func closed(s Surface) bool {
	edges := map[[2]int]int{}
	for _, f := range s.Faces {
		for i := range 3 {
			edges[[2]int{f[i], f[(i+1)%3]}]++
		}
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int{e[1], e[0]}] != 1 {
			return false
		}
	}
	return len(s.Points)-len(edges)/2+len(s.Faces) == 2
}

// sectionsOf are the longest diameters of an ellipsoid's sections through its
// centre: for the matrix A of xᵀAx = 1, twice the inverse root of the smaller
// eigenvalue of its 2 × 2 part.
func sectionsOf(e egg) (d [3]float64) {
	var m [3][3]float64
	for _, axis := range e.axes {
		q := axis.dot(axis)
		for i := range 3 {
			for j := range 3 {
				m[i][j] += axis[i] * axis[j] / (q * q)
			}
		}
	}
	for k, p := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
		a, b, c := m[p[0]][p[0]], m[p[0]][p[1]], m[p[1]][p[1]]
		d[k] = 2 / math.Sqrt((a+c)/2-math.Hypot((a-c)/2, b))
	}
	return d
}
