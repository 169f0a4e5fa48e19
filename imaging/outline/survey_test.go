package outline

import (
	"math"
	"math/rand/v2"

	"rootrule/imaging"
	"rootrule/measure"
)

// survey is a radiograph painted for trials, of regions that are no ellipses:
// bone with a texture of several scales, a lesion of any star-shaped form, a
// root that reaches into it, brightness that changes across the picture.
// Beer–Lambert exponents as of the phantom package: per mm, bone 0.055, dentine
// 0.115; bone 8 mm deep.
type survey struct {
	w, h    int
	pixel   float64 // mm
	form    shape   // px
	edge    float64 // width scale of the logistic edge, px
	depth   float64 // part of the bone lost
	texture float64 // relative standard deviation of the bone
	noise   float64 // of the exponent
	blur    float64 // px, of the noise
	slope   vec     // of the exponent, per px
	tip     vec     // of the root
	up      vec     // unit vector from the tip along the root
	thick   float64 // radius of the root at the tip, px; 0: no root
	floor   bool    // the sinus above: a bright line and air beyond
	gap     bool    // no more than a third of the edge's height on the right
	kind    string
	overlap float64 // part of the lesion under the root
}

const greyPerExponent = 9000

// cloud is noise of several scales on a grid of 0.06 mm, standard deviation 1.
type cloud struct {
	n int
	v []float32
}

func newCloud(r *rand.Rand, n int) cloud {
	sum := make([]float64, n*n)
	for _, layer := range []struct{ cells, size float64 }{{2, 0.35}, {5, 0.4}, {12, 0.5}, {30, 0.6}} {
		f := blurred(r, n, layer.cells)
		sd := 0.0
		for _, v := range f {
			sd += v * v / float64(n*n)
		}
		for i, v := range f {
			sum[i] += layer.size * v / math.Sqrt(sd)
		}
	}
	c := cloud{n, make([]float32, n*n)}
	for i, v := range sum {
		c.v[i] = float32(v / 0.94)
	}
	return c
}

// blurred is white noise after three box filters each way, about a Gaussian.
func blurred(r *rand.Rand, n int, sd float64) []float64 {
	v := make([]float64, n*n)
	for i := range v {
		v[i] = r.NormFloat64()
	}
	half := int(sd)
	line, out := make([]float64, n), make([]float64, n)
	pass := func(first, step int) {
		for k := range n {
			line[k] = v[first+k*step]
		}
		for range 3 {
			sum := 0.0
			for k := -half; k <= half; k++ {
				sum += line[(k+n)%n]
			}
			for k := range n {
				out[k] = sum
				sum += line[(k+half+1)%n] - line[(k-half+n)%n]
			}
			copy(line, out)
		}
		for k := range n {
			v[first+k*step] = line[k]
		}
	}
	for j := range n {
		pass(j*n, 1)
	}
	for i := range n {
		pass(i, n)
	}
	return v
}

func (c cloud) at(x, y float64) float64 {
	i, j := int(x), int(y)
	fx, fy := float32(x-float64(i)), float32(y-float64(j))
	get := func(i, j int) float32 { return c.v[(j%c.n)*c.n+i%c.n] }
	a, b := get(i, j)+fx*(get(i+1, j)-get(i, j)), get(i, j+1)+fx*(get(i+1, j+1)-get(i, j+1))
	return float64(a + fy*(b-a))
}

// radii tabulates the form's radius and its gradient factor, for speed.
type radii struct{ r, lean [1 << 10]float64 }

func newRadii(s shape) *radii {
	t := new(radii)
	const h = 1e-4
	for i := range t.r {
		a := 2 * math.Pi * float64(i) / float64(len(t.r))
		t.r[i] = s.radius(a)
		t.lean[i] = 1 / math.Hypot(1, (s.radius(a+h)-s.radius(a-h))/(2*h)/t.r[i])
	}
	return t
}

// depth is the distance inside the form's edge.
func (t *radii) depth(d vec) float64 {
	a := math.Atan2(d.y, d.x) / (2 * math.Pi) * float64(len(t.r))
	k := int(math.Round(a)+float64(len(t.r))) % len(t.r)
	return (t.r[k] - d.norm()) * t.lean[k]
}

func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

func (s *survey) paint(seed uint64) *imaging.Image {
	r := rand.New(rand.NewPCG(seed, 31))
	side := min(int(float64(max(s.w, s.h))*s.pixel/0.06)+8, 500)
	bone := newCloud(r, side)
	form := newRadii(s.form)
	m := &imaging.Image{Width: s.w, Height: s.h, Pix: make([]uint16, s.w*s.h), Bits: 16}
	noise := noiseField(r, s.w, s.h, s.blur)
	under, inside := 0, 0
	for y := range s.h {
		for x := range s.w {
			p := vec{float64(x), float64(y)}
			d := p.sub(s.form.centre)
			b := 8 * (1 + s.texture*bone.at(p.x*s.pixel/0.06, p.y*s.pixel/0.06))
			in := form.depth(d)
			if s.floor {
				t := s.form.radius(-math.Pi / 2)
				over := -(d.y + t) - 3*s.edge // beyond the sinus' floor
				b = b*(1-0.55*logistic(over/s.edge)) + 1.5*math.Exp(-0.5*math.Pow((over+2*s.edge)/(2*s.edge), 2))
			}
			dentine := s.dentine(p)
			if in > 0 {
				inside++
				if dentine > 0 {
					under++
				}
			}
			if s.gap {
				b *= 1 - 0.67*s.depth*logistic((d.x/d.norm()-0.85)*20)*logistic(-in/s.edge)
			}
			b = (b - math.Min(dentine, b)/2) * (1 - s.depth*logistic(in/s.edge))
			v := 0.3 + 0.055*b + 0.115*dentine + s.slope.dot(d) + s.noise*float64(noise[y*s.w+x])
			m.Pix[y*s.w+x] = uint16(math.Min(math.Max(math.Round(v*greyPerExponent), 0), 65535))
		}
	}
	s.overlap = float64(under) / float64(max(inside, 1))
	return m
}

// dentine is the path through the root in mm, its canal and the ligament
// space left out.
func (s *survey) dentine(p vec) float64 {
	if s.thick == 0 {
		return 0
	}
	d := p.sub(s.tip)
	along, off := d.dot(s.up), math.Abs(d.cross(s.up))
	r := s.thick + 0.14*math.Max(along, 0)
	if along < s.thick {
		q := (s.thick - along) / s.thick
		if q >= 1 {
			return 0
		}
		r *= math.Sqrt(1 - q*q)
	}
	path := func(r float64) float64 { return 2 * math.Sqrt(math.Max(r*r-off*off, 0)) * s.pixel }
	out := path(r)
	if along > 0.5*s.thick {
		out = math.Max(out-path(0.2*r), 0)
	}
	return out
}

// noiseField is noise of standard deviation 1, its neighbours alike over a
// distance of sd px.
func noiseField(r *rand.Rand, w, h int, sd float64) []float32 {
	v := make([]float32, w*h)
	for i := range v {
		v[i] = float32(r.NormFloat64())
	}
	if sd < 0.3 {
		return v
	}
	// Neighbours' mean: 1 2 1 each way holds the standard deviation at 3/8.
	out := make([]float32, w*h)
	for y := 1; y+1 < h; y++ {
		for x := 1; x+1 < w; x++ {
			k := y*w + x
			sum := 4*v[k] + 2*(v[k-1]+v[k+1]+v[k-w]+v[k+w]) + v[k-w-1] + v[k-w+1] + v[k+w-1] + v[k+w+1]
			out[k] = sum / 6
		}
	}
	return out
}

// forms are the outlines of lesions, of about the radius r.
var forms = map[string]func(c vec, r float64, u func(lo, hi float64) float64) shape{
	"ellipse": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		q := u(1, 1.5)
		return superellipse(c, r*q, r/q, u(0, 3.14), 2)
	},
	"full": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		q := u(1, 1.3)
		return superellipse(c, r*q, r/q, u(0, 3.14), u(2.3, 3.2))
	},
	"kidney": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		at, dent, q := u(0, 6.28), u(0.15, 0.35), u(1, 1.25)
		return shape{c, func(t float64) float64 {
			d := math.Remainder(t-at, 2*math.Pi) / 0.6
			return superellipse(c, r*q, r/q, at+math.Pi/2, 2).radius(t) * (1 - dent*math.Exp(-d*d))
		}}
	},
	"two lobes": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		at, k, q := u(0, 6.28), u(0.1, 0.24), u(0.8, 1)
		return shape{c, func(t float64) float64 {
			return r * (1 + k*math.Cos(2*(t-at)) + 0.25*k*math.Cos(4*(t-at))) * (1 + (1-q)/2*math.Cos(t-at))
		}}
	},
	"flattened": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		q, cut := u(1, 1.25), u(0.55, 0.8)*r
		round := superellipse(c, r*q, r/q*1.1, 0, 2)
		return shape{c, func(t float64) float64 { // cut off at the height cut, the corners rounded
			a := round.radius(t)
			if s := -math.Sin(t); s > 0.05 {
				b := cut / s
				return math.Pow(math.Pow(a, -8)+math.Pow(b, -8), -1.0/8)
			}
			return a
		}}
	},
	"uneven": func(c vec, r float64, u func(lo, hi float64) float64) shape {
		var a, f [7]float64
		for m := 2; m < 7; m++ {
			a[m], f[m] = u(0, 0.25)/float64(m), u(0, 6.28)
		}
		return shape{c, func(t float64) float64 {
			v := 1.0
			for m := 2; m < 7; m++ {
				v += a[m] * math.Cos(float64(m)*t-f[m])
			}
			return r * v
		}}
	},
}

var kinds = []string{"ellipse", "full", "kidney", "two lobes", "flattened", "uneven"}

// newSurvey draws a lesion 2 to 12 mm wide at 0.02 to 0.05 mm a pixel.
func newSurvey(seed uint64, lesion bool) survey {
	r := rand.New(rand.NewPCG(seed, 32))
	u := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	s := survey{pixel: draw(r, 0.02, 0.05), kind: kinds[int(seed)%len(kinds)]}
	radius := draw(r, 1, 5) / s.pixel
	radius = math.Min(radius, 220)
	s.w, s.h = int(3.4*radius)+90, int(3.4*radius)+90
	c := vec{float64(s.w)/2 + u(-0.2, 0.2)*radius, float64(s.h)/2 + u(-0.2, 0.2)*radius}
	s.form = forms[s.kind](c, radius, u)
	s.edge = math.Max(u(0.03, 0.12)*radius, 0.7)
	s.depth = u(0.3, 0.95)
	s.texture = u(0.01, math.Min(0.12, s.depth/3))
	s.noise = draw(r, 0.004, 0.055*8*s.depth/2.5)
	if r.IntN(2) == 0 {
		s.blur = 1
	}
	lie := u(0, 2*math.Pi)
	sin, cos := math.Sincos(lie)
	s.slope = vec{cos, sin}.mul(u(0, 0.5) * 0.055 * 8 * s.depth / radius / 2)
	if r.IntN(5) > 0 {
		a := u(-0.5, 0.5) - math.Pi/2
		if s.kind == "flattened" {
			a += math.Pi
		}
		sin, cos := math.Sincos(a)
		s.up = vec{cos, sin}
		s.tip = c.add(s.up.mul(s.form.radius(a) * (1 - u(-0.1, 1)))).add(vec{-sin, cos}.mul(u(-0.3, 0.3) * radius))
		s.thick = u(0.6, 1) / s.pixel
	}
	s.floor = s.kind == "flattened" && r.IntN(2) == 0
	if !lesion {
		s.depth = 0
	}
	return s
}

// seed is a point well inside that isn't under the root.
func (s *survey) seed(r *rand.Rand) measure.Point {
	for {
		t := 2 * math.Pi * r.Float64()
		sin, cos := math.Sincos(t)
		p := s.form.centre.add(vec{cos, sin}.mul(0.65 * math.Sqrt(r.Float64()) * s.form.radius(t)))
		if s.dentine(p) == 0 || r.IntN(20) == 0 {
			return measure.Pt(p.x, p.y)
		}
	}
}
