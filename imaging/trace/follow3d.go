package trace

import (
	"math"

	"rootrule/measure"
)

// follower3 moves a line in a volume onto the axis of a ridge, as follower
// does on a picture: along two directions across it at once.
type follower3 struct {
	r      *room
	ref    curve
	normal [2][]vec
	blocks blocks
	offset [2][]float64
	seen   [2]measured
	fit    [2]smooth
}

// probeHalves are the half-widths looked for, in voxels.
var probeHalves = []float64{1.4, 1.75, 2.2, 2.75, 3.4, 4.2}

func newFollower3(r *room, c curve) *follower3 {
	f := &follower3{r: r, ref: c.reference3()}
	n := len(f.ref)
	f.blocks = blocks{n, max(n/2, 1)}
	for k := range 2 {
		f.normal[k], f.offset[k] = make([]vec, n), make([]float64, n)
	}
	across := vec{1, 0, 0}
	if d := f.ref.tangent(0); math.Abs(d.x) > 0.7 {
		across = vec{0, 1, 0}
	}
	for i, p := range f.ref {
		d := f.ref.tangent(i)
		across = across.add(-across.dot(d), d).unit() // carried along without twisting
		f.normal[0][i], f.normal[1][i] = across, d.cross(across)
		off := c.at(c.nearest(p)).sub(p)
		for k := range 2 {
			f.offset[k][i] = off.dot(f.normal[k][i])
		}
	}
	return f
}

// reference3 is reference in voxels, which are larger than pixels.
func (c curve) reference3() curve { return c.resampled(1).faired(60).resampled(1) }

func (f *follower3) line() curve {
	c := make(curve, len(f.ref))
	for i, p := range f.ref {
		c[i] = p.add(f.offset[0][i], f.normal[0][i]).add(f.offset[1][i], f.normal[1][i])
	}
	return c
}

// settle measures the ridge along the line and moves the line to it.
func (f *follower3) settle() {
	s := newSections(f)
	f.seen = s.measured()
	for k := range 2 {
		f.fit[k] = f.seen[k].smoothed(f.blocks.mean(f.offset[k]), f.blocks)
		f.offset[k] = f.blocks.spread(f.fit[k].value)
	}
}

// sections are the sections across a line, averaged over each block: squares
// of half a voxel's step.
type sections struct {
	half int
	v    [][]float64
}

const sectionStep = 0.5

func newSections(f *follower3) *sections {
	widest := probeHalves[len(probeHalves)-1]
	s := &sections{half: int(2.5 * widest / sectionStep), v: make([][]float64, f.blocks.n)}
	c := f.line()
	w := 2*s.half + 1
	inBands(f.blocks.n, 8, func(from, to int) {
		for b := from; b < to; b++ {
			s.v[b] = make([]float64, w*w)
			first, last := f.blocks.rows(b)
			for i := first; i < last; i++ {
				for k := range s.v[b] {
					p := c[i].add(float64(k%w-s.half)*sectionStep, f.normal[0][i])
					p = p.add(float64(k/w-s.half)*sectionStep, f.normal[1][i])
					s.v[b][k] += f.r.value(p) / float64(last-first)
				}
			}
		}
	})
	return s
}

// disc is a probe of sections: along one direction the odd part of a probe
// with a Gaussian, along the other a Gaussian.
type disc struct {
	half      float64
	odd, even [2][]float64
	noise     float64
}

func newDisc(half float64, reach int) disc {
	d := disc{half: half}
	sigma, w := roundness*half/sectionStep, 2*reach+1
	share := momentRatio2(sigma, reach)
	profile := func(u, v float64) float64 {
		r2 := u*u + v*v
		return u * (math.Exp(-r2/(2*sigma*sigma)) - share*math.Exp(-r2/(2*wider*wider*sigma*sigma)))
	}
	for k := range 2 {
		d.odd[k], d.even[k] = make([]float64, w*w), make([]float64, w*w)
	}
	for i := range w * w {
		x, y := float64(i%w-reach), float64(i/w-reach)
		for k, uv := range [2][2]float64{{x, y}, {y, x}} {
			d.odd[k][i] = profile(uv[0], uv[1])
			d.even[k][i] = (profile(uv[0]+1, uv[1]) - profile(uv[0]-1, uv[1])) / 2 / sectionStep
		}
		d.noise += d.odd[0][i] * d.odd[0][i]
	}
	for k := range 2 {
		level(d.even[k])
	}
	d.noise = math.Sqrt(d.noise)
	return d
}

// momentRatio2 is momentRatio over a square.
func momentRatio2(sigma float64, reach int) float64 {
	var a, b float64
	for i := -reach; i <= reach; i++ {
		for j := -reach; j <= reach; j++ {
			u, r2 := float64(i), float64(i*i+j*j)
			a += u * u * math.Exp(-r2/(2*sigma*sigma))
			b += u * u * math.Exp(-r2/(2*wider*wider*sigma*sigma))
		}
	}
	return a / b
}

// level takes the mean off a filter.
func level(f []float64) {
	mean := 0.0
	for _, v := range f {
		mean += v / float64(len(f))
	}
	for i := range f {
		f[i] -= mean
	}
}

func dot(a, b []float64) float64 {
	sum := 0.0
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// measured returns what the sections say along both directions.
func (s *sections) measured() [2]measured {
	n := len(s.v)
	discs := make([]disc, len(probeHalves))
	strength := make([][]float64, len(discs))
	inBands(len(discs), 1, func(from, to int) {
		for k := from; k < to; k++ {
			discs[k] = newDisc(probeHalves[k], s.half)
			strength[k] = make([]float64, n)
			for i := range n {
				strength[k][i] = (dot(s.v[i], discs[k].even[0]) + dot(s.v[i], discs[k].even[1])) / 2 / discs[k].noise
			}
			strength[k] = averaged(strength[k], steady)
		}
	})
	out := [2]measured{newMeasured(n), newMeasured(n)}
	for i, k := range widths(strength) {
		d := discs[k]
		for a := range 2 {
			out[a].half[i] = d.half
			out[a].ridge[i] = dot(s.v[i], d.even[a]) / d.noise
			out[a].set(i, dot(s.v[i], d.odd[a]), strength[k][i]*d.noise, d.noise)
		}
	}
	return out
}

// finish makes the smooth line of a rough one, in mm.
func (r *room) finish(rough curve, marks []Place, snap bool) Line3 {
	f := newFollower3(r, rough.resampled(1).faired(6))
	for range 4 {
		f.settle()
	}
	m := f.centre().extended(6)
	m = m.cut(m.line.nearest(r.voxel(marks[0])), m.line.nearest(r.voxel(marks[len(marks)-1])))
	l := Line3{Confidence: m.confidence, Spacing: m.reach * r.edge}
	if !snap {
		for i, mark := range marks {
			m.bend(r.voxel(mark), measure.DefaultClick, i, len(marks))
		}
	}
	for i, p := range m.line {
		l.Points = append(l.Points, r.place(p))
		l.Unc = append(l.Unc, m.unc[i]*r.edge)
	}
	l.StdUnc = rootMeanSquare(l.Unc)
	if c := weakness(l.Confidence); c != "" {
		l.Cautions = append(l.Cautions, c)
	}
	return l
}

func (f *follower3) centre() centre {
	c := centre{line: f.line(), reach: max(f.fit[0].reach, f.fit[1].reach) * f.blocks.length(), half: f.blocks.spread(f.seen[0].half)}
	a, b := f.blocks.spread(f.fit[0].variance), f.blocks.spread(f.fit[1].variance)
	p, q := f.blocks.spread(f.seen[0].confidence()), f.blocks.spread(f.seen[1].confidence())
	for i := range a {
		c.unc = append(c.unc, math.Sqrt(max((a[i]+b[i])/2, 0)))
		c.confidence = append(c.confidence, min(max((p[i]+q[i])/2, 0), 1))
	}
	return c
}
