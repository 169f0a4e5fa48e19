package outline

import (
	"math"
	"math/rand/v2"
	"slices"

	"rootrule/imaging"
	"rootrule/measure"
)

// shape is a star-shaped region: its edge lies at radius(t) from the centre in
// direction t.
type shape struct {
	centre vec
	radius func(t float64) float64
}

func (s shape) line(n int) []vec {
	out := make([]vec, n)
	for i := range out {
		t := 2 * math.Pi * float64(i) / float64(n)
		sin, cos := math.Sincos(t)
		out[i] = s.centre.add(vec{cos, sin}.mul(s.radius(t)))
	}
	return out
}

func (s shape) area() float64 { return polygonArea(s.line(1 << 12)) }

func polygonArea(p []vec) float64 {
	a, _, _, _, _ := moments(p)
	return a
}

// superellipse has semi-axes a, b turned by angle, and the exponent e: 2 is an
// ellipse, more is fuller.
func superellipse(c vec, a, b, angle, e float64) shape {
	return shape{c, func(t float64) float64 {
		sin, cos := math.Sincos(t - angle)
		return math.Pow(math.Pow(math.Abs(cos)/a, e)+math.Pow(math.Abs(sin)/b, e), -1/e)
	}}
}

// star is a circle with n lobes of a relative height.
func star(c vec, r float64, n int, height, angle float64) shape {
	return shape{c, func(t float64) float64 { return r * (1 + height*math.Cos(float64(n)*(t-angle))) }}
}

// scene is how a shape is painted.
type scene struct {
	w, h      int
	bone      float64 // grey value outside
	contrast  float64 // darker inside by so much
	edge      float64 // width scale of the logistic edge, px
	noise     float64 // standard deviation per pixel
	slope     vec     // change of grey value per px
	uneven    float64 // relative change of the contrast from one side to the other
	whiteZero bool
}

func (s scene) paint(shape shape, seed uint64) *imaging.Image {
	r := rand.New(rand.NewPCG(seed, 1))
	m := &imaging.Image{Width: s.w, Height: s.h, Pix: make([]uint16, s.w*s.h), Bits: 16, WhiteIsZero: s.whiteZero}
	for y := range s.h {
		for x := range s.w {
			d := vec{float64(x), float64(y)}.sub(shape.centre)
			t := math.Atan2(d.y, d.x)
			in := 1 / (1 + math.Exp(-(shape.radius(t)-d.norm())/s.edge))
			v := s.bone + s.slope.dot(d) - s.contrast*(1+s.uneven/2*math.Cos(t))*in + s.noise*r.NormFloat64()
			v = math.Round(math.Min(math.Max(v, 0), 65535))
			if s.whiteZero {
				v = 65535 - v
			}
			m.Pix[y*s.w+x] = uint16(v)
		}
	}
	return m
}

// dice is twice the common area of two closed polygons over the sum of their
// areas, by exact chords on 600 lines.
func dice(a, b []vec) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range slices.Concat(a, b) {
		lo, hi = math.Min(lo, p.y), math.Max(hi, p.y)
	}
	const lines = 600
	var both, sum float64
	for i := range lines {
		y := lo + (hi-lo)*(float64(i)+0.5)/lines
		p, q := crossings(a, y), crossings(b, y)
		sum += covered(p) + covered(q)
		for i := 0; i+1 < len(p); i += 2 {
			for j := 0; j+1 < len(q); j += 2 {
				both += math.Max(0, math.Min(p[i+1], q[j+1])-math.Max(p[i], q[j]))
			}
		}
	}
	return 2 * both / sum
}

func crossings(p []vec, y float64) []float64 {
	var xs []float64
	for i, a := range p {
		b := p[(i+1)%len(p)]
		if (a.y > y) != (b.y > y) {
			xs = append(xs, a.x+(y-a.y)/(b.y-a.y)*(b.x-a.x))
		}
	}
	slices.Sort(xs)
	return xs
}

func covered(x []float64) (sum float64) {
	for i := 0; i+1 < len(x); i += 2 {
		sum += x[i+1] - x[i]
	}
	return sum
}

// drawn is the closed line that measure draws and measures.
func drawn(o Outline) []vec { return vecs(measure.ClosedOutline(o.Points)) }

func vecs(p []measure.Point) []vec {
	out := make([]vec, len(p))
	for i, q := range p {
		out[i] = vec{q.X, q.Y}
	}
	return out
}
