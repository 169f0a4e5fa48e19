package trace

import (
	"math"
	"math/rand/v2"

	"rootrule/imaging"
	"rootrule/imaging/phantom"
	"rootrule/measure"
)

// scene is a root with one or two canals on a small picture, drawn in pixels
// (a millimetre of the object plane is a pixel, the origin the middle of the
// picture), so that the canals may lie beside each other, cross, or be filled.
type scene struct {
	width, height int
	canals        []pulp
	root          phantom.Line
	contrast      float64 // of the widest place of a canal, in standard deviations of the noise
	blur          float64 // standard deviation of the point spread, px
	texture       float64 // standard deviation of the bone, in those of the noise
	gradient      float64 // over the width of the picture, likewise
	seed          uint64
}

// pulp is a canal: round, tapering from one half-width to another.
type pulp struct {
	line     phantom.Line
	top, tip float64
	filled   float64 // the length along it that a filling takes
}

// half is the half-width at arc length s.
func (c pulp) half(s float64) float64 {
	return c.top + (c.tip-c.top)*min(max(s/c.line.Length(), 0), 1)
}

// truth is the centre line in pixels, a little longer than the canal.
func (s *scene) truth(k int) curve {
	line := s.canals[k].line
	n := int(3*line.Length()) + 60
	out := make(curve, 0, n)
	for i := range n {
		p := line.At(float64(i)/3 - 10)
		out = append(out, vec{p.X + float64(s.width)/2, p.Y + float64(s.height)/2, 0})
	}
	return out
}

// ends returns the orifice and the apex of a canal.
func (s *scene) ends(k int) (from, to measure.Point) {
	at := func(l float64) measure.Point {
		p := s.canals[k].line.At(l)
		return measure.Pt(p.X+float64(s.width)/2, p.Y+float64(s.height)/2)
	}
	return at(0), at(s.canals[k].line.Length())
}

const sceneNoise = 300 // grey values

// draw makes the picture.
func (s *scene) draw() *imaging.Image {
	size := Size{s.width, s.height, 1}
	grey := make([]float32, size.samples())
	unit := s.contrast * sceneNoise
	for y := range s.height {
		for x := range s.width {
			grey[y*s.width+x] = float32(s.at(phantom.MM{X: float64(x - s.width/2), Y: float64(y - s.height/2)}, unit))
		}
	}
	r := rand.New(rand.NewPCG(s.seed, 77))
	addGrain(grey, size, r, s.texture*sceneNoise, 5)
	grey = blurred(grey, size, s.blur)
	addGrain(grey, size, r, sceneNoise, 0.5)
	m := &imaging.Image{Width: s.width, Height: s.height, Pix: make([]uint16, len(grey))}
	for i, v := range grey {
		m.Pix[i] = uint16(min(max(v, 0), 65535))
	}
	return m
}

// at is the grey value of the object at a place: bone, the root with its
// ligament space and the lamina around it, the canals.
func (s *scene) at(p phantom.MM, unit float64) float64 {
	const wide, space, lamina = 75.0, 7.0, 8.0
	l, d := s.root.Nearest(p)
	r := wide - 40*min(max(l/s.root.Length(), 0), 1)
	if over := l - s.root.Length() + 10; over > 0 {
		r *= math.Sqrt(max(1-over*over/1600, 0))
	}
	if r == 0 {
		return 20000 + s.gradient*sceneNoise*p.X/float64(s.width)
	}
	root, ligament := chordOf(r, d), chordOf(r+space, d)
	v := 20000 + s.gradient*sceneNoise*p.X/float64(s.width)
	v += 30*root - 40*(ligament-root) + 25*(chordOf(r+space+lamina, d)-ligament)
	for _, c := range s.canals {
		l, d := c.line.Nearest(p)
		if l < -40 || l > c.line.Length() {
			continue
		}
		depth := unit * chordOf(c.half(l), d) / (2 * c.top)
		if c.filled > 0 && l < c.filled {
			depth *= -2.5
		}
		v -= depth
	}
	return v
}

func chordOf(r, d float64) float64 {
	if q := r*r - d*d; q > 0 {
		return 2 * math.Sqrt(q)
	}
	return 0
}

func blurred(v []float32, size Size, sd float64) []float32 {
	out, k := make([]float32, len(v)), gaussian(sd)
	rows := make([]float32, len(v))
	padded := make([]float32, size.X+len(k)-1)
	for y := range size.Y {
		blurRow(rows[y*size.X:(y+1)*size.X], v[y*size.X:(y+1)*size.X], k, padded)
	}
	for y := range size.Y {
		blurAcross(out[y*size.X:(y+1)*size.X], y, size.Y, k, func(i int) []float32 { return rows[i*size.X : (i+1)*size.X] })
	}
	return out
}

// addGrain adds noise of a standard deviation, smoothed over so many pixels.
func addGrain(v []float32, size Size, r *rand.Rand, sd, grain float64) {
	g := make([]float32, len(v))
	for i := range g {
		g[i] = float32(r.NormFloat64())
	}
	g = blurred(g, size, grain)
	square := 0.0
	for _, x := range g {
		square += float64(x) * float64(x) / float64(len(g))
	}
	k := float32(sd / math.Sqrt(square))
	for i := range v {
		v[i] += k * g[i]
	}
}

// newScene is a random scene of a kind: "one" canal, two "apart", "beside"
// each other or "across" each other, one "filled" to short of its end, one
// "weak", or "none" that can be seen.
func newScene(kind string, seed uint64) *scene {
	r := rand.New(rand.NewPCG(seed, 5))
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	s := &scene{
		width: 360, height: 560, seed: seed, blur: between(0.8, 2), texture: between(0, 1.2),
		gradient: between(-20, 20), contrast: between(4, 10),
	}
	tilt, bend := between(-8, 8), between(5, 35)*float64(1-2*r.IntN(2))
	straight, arc := between(120, 200), between(150, 230)
	start := phantom.MM{X: between(-15, 15) - 120*math.Sin(tilt*math.Pi/180) - bend, Y: -210}
	line := func(dx, dTilt, dBend float64) phantom.Line {
		rad := (bend + dBend) * math.Pi / 180
		return phantom.NewLine(phantom.MM{X: start.X + dx, Y: start.Y}, tilt+dTilt,
			phantom.Segment{Length: straight}, phantom.Segment{Length: arc, Curvature: rad / arc})
	}
	s.root = line(0, 0, 0)
	top, tip := between(7, 12), between(3.5, 5)
	one := pulp{line: line(0, 0, 0), top: top, tip: tip}
	s.canals = []pulp{one}
	second := func(dx, dTilt, dBend float64) {
		s.canals = append(s.canals, pulp{line: line(dx, dTilt, dBend), top: top * between(0.85, 1.15), tip: tip})
	}
	switch kind {
	case "apart":
		d := between(28, 40) * float64(1-2*r.IntN(2))
		second(d, 0, between(-3, 3))
		s.root = line(d/2, 0, 0)
	case "beside":
		second(between(8, 24)*float64(1-2*r.IntN(2)), 0, between(-4, 4))
	case "across":
		d := between(8, 16) * float64(1-2*r.IntN(2))
		second(d, math.Atan2(d, between(120, 220))*180/math.Pi, between(-3, 3))
	case "filled":
		s.canals[0].filled = s.root.Length() - between(8, 50)
	case "weak":
		s.contrast = between(2, 3)
	case "none":
		s.contrast = 0
	}
	return s
}
