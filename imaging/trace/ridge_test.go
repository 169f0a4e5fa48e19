package trace

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// reference is the vesselness in 64-bit floats, written down directly: dense
// sums for the Gaussians, differences of differences, eigenvalues by LAPACK's
// method; of Frangi's measure, or of Sato's.
type reference struct {
	size Size
	f    Filter
	sato bool
}

// along applies do to every line along an axis.
func (r reference) along(v []float64, axis int, do func(line []float64) []float64) []float64 {
	n := [3]int{r.size.X, r.size.Y, r.size.Z}
	stride := [3]int{1, r.size.X, r.size.X * r.size.Y}[axis]
	out := make([]float64, len(v))
	for i := range v {
		if i/stride%n[axis] != 0 {
			continue
		}
		line := make([]float64, n[axis])
		for k := range line {
			line[k] = v[i+k*stride]
		}
		for k, x := range do(line) {
			out[i+k*stride] = x
		}
	}
	return out
}

func blurLine(sigma float64) func([]float64) []float64 {
	radius := int(4*sigma + 0.5)
	return func(line []float64) []float64 {
		out := make([]float64, len(line))
		for i := range line {
			sum, weight := 0.0, 0.0
			for k := -radius; k <= radius; k++ {
				j := i + k
				for j < 0 || j >= len(line) { // c b a | a b c | c b a
					if j < 0 {
						j = -1 - j
					} else {
						j = 2*len(line) - 1 - j
					}
				}
				w := math.Exp(-float64(k*k) / (2 * sigma * sigma))
				sum += w * line[j]
				weight += w
			}
			out[i] = sum / weight
		}
		return out
	}
}

func slopeLine(line []float64) []float64 {
	n := len(line)
	out := make([]float64, n)
	for i := range line {
		lo, hi := max(i-1, 0), min(i+1, n-1)
		out[i] = (line[hi] - line[lo]) / float64(hi-lo)
	}
	return out
}

func (r reference) measure(grey []float32) []float64 {
	f := r.f.withDefaults()
	axes := 3
	if r.size.flat() {
		axes = 2
		r.size.Z = 1
	}
	best := make([]float64, len(grey))
	for _, sigma := range f.Sigmas {
		v := make([]float64, len(grey))
		for i, g := range grey {
			v[i] = float64(g)
			if !f.Bright {
				v[i] = -v[i]
			}
		}
		for a := range axes {
			v = r.along(v, a, blurLine(sigma))
		}
		var h [3][3][]float64
		for a := range axes {
			first := r.along(v, a, slopeLine)
			for b := range axes {
				h[a][b] = r.along(first, b, slopeLine)
			}
		}
		for i := range best {
			m := mat.NewSymDense(axes, nil)
			for a := range axes {
				for b := a; b < axes; b++ {
					m.SetSym(a, b, sigma*sigma*h[a][b][i])
				}
			}
			var e mat.EigenSym
			e.Factorize(m, false)
			best[i] = math.Max(best[i], r.score(e.Values(nil), f))
		}
	}
	return best
}

// score is the measure of eigenvalues in rising order.
func (r reference) score(l []float64, f Filter) float64 {
	if r.sato {
		if len(l) == 2 {
			return math.Max(-l[0], 0)
		}
		if l[1] >= 0 {
			return 0
		}
		return math.Sqrt(l[0] * l[1])
	}
	slices.SortFunc(l, func(a, b float64) int { return int(math.Copysign(1, math.Abs(a)-math.Abs(b))) })
	norm := 0.0
	for _, x := range l {
		norm += x * x
	}
	v := 1 - math.Exp(-norm/(2*f.Gamma*f.Gamma))
	if len(l) == 2 {
		if l[1] >= 0 {
			return 0
		}
		return v * math.Exp(-l[0]*l[0]/(l[1]*l[1])/(2*f.Beta*f.Beta))
	}
	if l[1] >= 0 || l[2] >= 0 {
		return 0
	}
	plate, blob := l[1]*l[1]/(l[2]*l[2]), l[0]*l[0]/(l[1]*l[2])
	return v * (1 - math.Exp(-plate/(2*f.Alpha*f.Alpha))) * math.Exp(-blob/(2*f.Beta*f.Beta))
}

// tubes is a picture or volume of crossing dark tubes on a high level, with
// noise.
func tubes(size Size, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	v := make([]float32, size.samples())
	for i := range v {
		x, y, z := float64(i%size.X), float64(i/size.X%size.Y), float64(i/size.X/size.Y)
		a := y - 0.4*float64(size.Y) - 3*math.Sin(x/9) + 0.2*z
		b := x - 0.6*float64(size.X) + 0.3*y
		c := z - 0.5*float64(max(size.Z, 1)) + 0.1*x
		v[i] = float32(30000 - 4000*math.Exp(-(a*a+c*c)/18) - 2500*math.Exp(-(b*b+c*c)/8) + 200*r.NormFloat64())
	}
	return v
}

func TestRidgeMeasuresMatchDirectComputation(t *testing.T) {
	cases := []struct {
		name string
		size Size
		f    Filter
	}{
		{"picture, defaults", Size{61, 47, 1}, Filter{Gamma: 900}},
		{"picture, five scales", Size{80, 33, 0}, Filter{Sigmas: []float64{1, 2, 3, 4, 5}, Gamma: 500}},
		{"picture, bright", Size{40, 50, 1}, Filter{Sigmas: []float64{1.5, 2.5}, Gamma: 400, Bright: true}},
		{"picture smaller than the kernel", Size{7, 5, 1}, Filter{Sigmas: []float64{3, 6}, Gamma: 300}},
		{"volume", Size{26, 22, 18}, Filter{Sigmas: []float64{1, 2, 3}, Gamma: 600}},
		{"volume, bright", Size{15, 18, 21}, Filter{Sigmas: []float64{1.2}, Gamma: 600, Bright: true}},
		{"thin volume", Size{20, 16, 3}, Filter{Sigmas: []float64{2}, Gamma: 600}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			grey := tubes(c.size, 7)
			got, err := Frangi(grey, c.size, c.f)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, "Frangi", got, reference{size: c.size, f: c.f}.measure(grey), 1e-3)
			got, err = Sato(grey, c.size, c.f)
			if err != nil {
				t.Fatal(err)
			}
			compare(t, "Sato", got, reference{size: c.size, f: c.f, sato: true}.measure(grey), 1e-4)
		})
	}
}

// compare checks values to a part of the largest. Frangi's measure jumps where
// two eigenvalues of unlike sign are equally strong: one place in a thousand
// may be on the other side.
func compare(t *testing.T, what string, got []float32, want []float64, tolerance float64) {
	t.Helper()
	largest, off := slices.Max(want), 0
	for i, w := range want {
		if math.Abs(float64(got[i])-w) > tolerance*largest {
			off++
		}
	}
	if largest == 0 || off > len(want)/1000 {
		t.Errorf("%s: %d of %d values off by more than %g of the largest, %g", what, off, len(want), tolerance, largest)
	}
}

// Values of skimage.filters.frangi(a, sigmas=[1, 2], gamma=15), scikit-image
// 0.19.3, in 64-bit floats, with a[y, x] = 100 + 50·sin(1.3x + 0.7y) +
// 30·cos(0.5·x·y).
func TestFrangiAgreesWithScikitImage(t *testing.T) {
	const w, h = 8, 6
	a := make([]float32, w*h)
	for i := range a {
		x, y := float64(i%w), float64(i/w)
		a[i] = float32(100 + 50*math.Sin(1.3*x+0.7*y) + 30*math.Cos(0.5*x*y))
	}
	got, err := Frangi(a, Size{w, h, 1}, Filter{Sigmas: []float64{1, 2}})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range skimageFrangi {
		if math.Abs(float64(got[i])-want) > 1e-5 {
			t.Errorf("at %d, %d: %.7f, want %.7f", i%w, i/w, got[i], want)
		}
	}
}

// A long Gaussian valley of depth A and width s: at its middle the scale-space
// curvature is A·s/(s²+σ²)^1.5·σ², by the convolution of Gaussians; central
// differences of step 2 take a few per cent off at σ = 3.
func TestSatoOfAValley(t *testing.T) {
	const w, h, depth, s, sigma = 81, 40, 1000.0, 4.0, 3.0
	grey := make([]float32, w*h)
	for i := range grey {
		x := float64(i%w - 40)
		grey[i] = float32(5000 - depth*math.Exp(-x*x/(2*s*s)))
	}
	got, err := Sato(grey, Size{w, h, 1}, Filter{Sigmas: []float64{sigma}})
	if err != nil {
		t.Fatal(err)
	}
	wide := s*s + sigma*sigma
	want := depth * s / math.Sqrt(wide) / wide * sigma * sigma
	if g := float64(got[20*w+40]); math.Abs(g-want) > 0.06*want {
		t.Errorf("in the middle of the valley %.1f, want %.1f", g, want)
	}
	if g := got[20*w+5]; g > 1 {
		t.Errorf("far from the valley %.3f, want 0", g)
	}
}

func TestRidgeFilterTransposed(t *testing.T) {
	size := Size{50, 37, 1}
	grey := tubes(size, 3)
	turned := make([]float32, len(grey))
	for i, v := range grey {
		turned[i%size.X*size.Y+i/size.X] = v
	}
	a, _ := Frangi(grey, size, Filter{Gamma: 500})
	b, _ := Frangi(turned, Size{size.Y, size.X, 1}, Filter{Gamma: 500})
	for i, v := range a {
		if d := float64(v - b[i%size.X*size.Y+i/size.X]); math.Abs(d) > 1e-4 {
			t.Fatalf("at %d: %g and %g", i, v, b[i%size.X*size.Y+i/size.X])
		}
	}
}

func TestRidgeFilterRefusals(t *testing.T) {
	v := make([]float32, 30)
	for name, f := range map[string]func() error{
		"size and samples differ": func() error { _, err := Frangi(v, Size{7, 5, 1}, Filter{}); return err },
		"no size":                 func() error { _, err := Frangi(nil, Size{0, 5, 1}, Filter{}); return err },
		"overflowing size":        func() error { _, err := Sato(nil, Size{1 << 40, 1 << 40, 1}, Filter{}); return err },
		"scale of 0":              func() error { _, err := Frangi(v, Size{6, 5, 1}, Filter{Sigmas: []float64{0}}); return err },
		"scale not a number":      func() error { _, err := Sato(v, Size{6, 5, 1}, Filter{Sigmas: []float64{math.NaN()}}); return err },
		"negative gamma":          func() error { _, err := Frangi(v, Size{6, 5, 1}, Filter{Gamma: -1}); return err },
	} {
		if f() == nil {
			t.Errorf("%s: no error", name)
		}
	}
	out, err := Frangi(v, Size{15, 2, 1}, Filter{})
	if err != nil || slices.Max(out) != 0 {
		t.Errorf("a picture of two rows: %v, %v, want zeros", out, err)
	}
}

func TestEigenvalues(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 20000 {
		var h hessian
		for _, p := range []*float32{&h.xx, &h.yy, &h.zz, &h.xy, &h.xz, &h.yz} {
			*p = float32(r.NormFloat64())
			if r.IntN(4) == 0 {
				*p = 0
			}
		}
		m := mat.NewSymDense(3, []float64{
			float64(h.xx), float64(h.xy), float64(h.xz),
			float64(h.xy), float64(h.yy), float64(h.yz),
			float64(h.xz), float64(h.yz), float64(h.zz),
		})
		var e mat.EigenSym
		e.Factorize(m, false)
		want := e.Values(nil)
		a, b, c := h.eigenvalues()
		got := []float64{a, b, c}
		slices.Sort(got)
		for i := range want {
			if scale := math.Max(math.Abs(want[0]), math.Abs(want[2])); math.Abs(got[i]-want[i]) > 1e-6*scale {
				t.Fatalf("%+v: %v, want %v", h, got, want)
			}
		}
	}
}

var skimageFrangi = []float64{
	0.0000000, 0.0000000, 0.0601167, 0.5869232, 0.4095855, 0.0228792, 0.0000000, 0.0000000,
	0.0000000, 0.0000000, 0.1416514, 0.7746408, 0.2234857, 0.0000000, 0.0000000, 0.0000000,
	0.0000000, 0.0466648, 0.7708531, 0.8255118, 0.0403674, 0.0218948, 0.0000000, 0.1178246,
	0.0846219, 0.5541050, 0.9211310, 0.2740111, 0.0282715, 0.0462130, 0.1388045, 0.3286668,
	0.4171773, 0.7763222, 0.7076116, 0.0410693, 0.0000000, 0.0000000, 0.2516088, 0.4414914,
	0.5561459, 0.7292178, 0.2996696, 0.0000000, 0.0000000, 0.0073718, 0.4084600, 0.4273434,
}
