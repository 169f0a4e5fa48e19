package outline

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// Surface is the closed surface of a lesion in a volume. Places are in mm
// along columns, rows and slices from the centre of the first voxel.
type Surface struct {
	// VolumeMM3 is the volume within the smooth surface, so that a voxel on it
	// counts by the part that lies inside.
	VolumeMM3, VolumeStdUnc float64
	// DiametersMM are the longest diameter, the longest at a right angle to it,
	// and the extent at a right angle to both.
	DiametersMM [3]float64
	// SectionsMM are the longest diameters of the sections through the centre
	// along columns and rows, columns and slices, rows and slices.
	SectionsMM [3]float64
	// CentreMM is the centre of the volume within.
	CentreMM [3]float64
	// StdUncMM is the standard uncertainty of the surface across itself.
	StdUncMM float64
	// Confidence is how surely this is the closed surface of a dark region, 0–1.
	Confidence float64
	Cautions   []string
	// Points are on the surface; Faces join three of them each, anticlockwise
	// as seen from outside. They enclose VolumeMM3: the points stand a little
	// farther out than the smooth surface, the middles of the faces in.
	Points [][3]float64
	Faces  [][3]int
}

// Volume outlines the dark region around a seed, given in voxels. The error
// matches [ErrNoEdge] when no closed surface surrounds it.
func Volume(s Samples, seed [3]float64, o Options) (Surface, error) {
	size, step := s.Size(), s.StepMM()
	var c [3]int
	var at vec3
	for a := range 3 {
		if !(seed[a] >= 0 && seed[a] <= float64(size[a]-1)) {
			return Surface{}, &noEdge{fmt.Sprintf("the point (%.0f, %.0f, %.0f) lies outside the volume of %d × %d × %d voxels", seed[0], seed[1], seed[2], size[0], size[1], size[2])}
		}
		c[a], at[a] = int(math.Round(seed[a])), seed[a]*step[a]
	}
	blocks := newBlocks(s, c)
	probes := searchBlocks(blocks[:], at)
	bodies := make([]body, len(probes))
	problems := make([]string, len(probes))
	inParallel(len(probes), func(i int) { bodies[i], problems[i] = followProbe(blocks[:], probes[i]) })
	best, rank, why := 0, math.Inf(-1), "no surface was found around it"
	for i := range bodies {
		if problems[i] != "" {
			if math.IsInf(rank, -1) {
				why = problems[i]
			}
		} else if r := bodies[i].signs().rank3(); r > rank {
			best, rank, why = i, r, ""
		}
	}
	if why == "" {
		b := &bodies[best]
		if sg := b.signs(); sg.confidence3() < o.least() {
			why = sg.reason()
		} else {
			return b.surface(), nil
		}
	}
	return Surface{}, &noEdge{fmt.Sprintf("no closed surface around (%.0f, %.0f, %.0f): %s: click inside a dark region", seed[0], seed[1], seed[2], why)}
}

// surface makes the result of a body.
func (b *body) surface() Surface {
	var s Surface
	s.VolumeMM3 = b.volume()
	s.VolumeStdUnc, s.StdUncMM = b.uncertainty()
	s.Confidence = b.signs().confidence3()
	s.CentreMM = b.frame.c
	points := b.points()
	s.DiametersMM = diameters3(points)
	shape := b.harmonics()
	s.SectionsMM = b.sections(shape)
	s.Points = b.drawn(shape)
	s.Faces = slices.Clone(fineBall().faces)
	if ax := b.frame.axes; ax[0].cross(ax[1]).dot(ax[2]) < 0 {
		for i, f := range s.Faces {
			s.Faces[i] = [3]int{f[0], f[2], f[1]}
		}
	}
	s.Cautions = b.cautions(s.Confidence)
	return s
}

// cautions says in words what to look at by eye.
func (b *body) cautions(confidence float64) []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	lost := 0.0
	for i, l := range b.lost {
		if l {
			lost += ball.weight[i] / (4 * math.Pi)
		}
	}
	if lost > 0 {
		add("%.0f %% of the surface lies at the border of the volume and may go on beyond it", 100*lost)
	}
	if hidden := b.bridged(); hidden > bridgeFrom {
		add("%.0f %% of the surface is hidden or unclear and was bridged", 100*hidden)
	}
	if confidence < 0.95 { // as for outlines
		add("the surface is faint against the bone's texture: check it by eye")
	}
	return out
}

// harmonics are the coefficients of the surface in its own frame.
func (s *solid) harmonics() []float64 {
	c, _, _ := newNormalSphere(s.rho, ball.weight, degree).solve(prior{0, degree})
	return c
}

// fineBall is the mesh of surfaces handed out: 2562 points, 5120 faces.
var fineBall = sync.OnceValue(func() *mesh { return newMesh(4) })

// drawn returns the points of the fine mesh on the surface, moved out so far
// that the faces between them enclose its volume.
func (s *solid) drawn(shape []float64) [][3]float64 {
	fine := fineBall()
	rays := make([]vec3, len(fine.dir))
	for i, d := range fine.dir {
		rays[i] = s.frame.ray(d).mul(dotProduct(fine.waves[i], shape))
	}
	enclosed := 0.0
	for _, f := range fine.faces {
		enclosed += rays[f[0]].dot(rays[f[1]].cross(rays[f[2]])) / 6
	}
	out := make([][3]float64, len(rays))
	k := math.Cbrt(s.volume() / math.Abs(enclosed))
	for i, r := range rays {
		out[i] = s.frame.c.add(r.mul(k))
	}
	return out
}

// sections returns the longest diameters of the three sections through the
// centre along the volume's own directions.
func (s *solid) sections(shape []float64) (d [3]float64) {
	const points = 180
	for plane, axes := range [3][2]int{{0, 1}, {0, 2}, {1, 2}} {
		var line [points]vec3
		for k := range line {
			var v vec3
			v[axes[1]], v[axes[0]] = math.Sincos(2 * math.Pi * float64(k) / points)
			dir, at := s.frame.polar(s.frame.c.add(v))
			line[k] = v.mul(dotProduct(harmonics(dir), shape) / at)
		}
		for i := range line {
			for _, q := range line[:i] {
				d[plane] = math.Max(d[plane], line[i].sub(q).norm())
			}
		}
	}
	return d
}

func dotProduct(a, b []float64) (sum float64) {
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// diameters3 returns the longest distance between two points, the longest at a
// right angle to it, and the extent at a right angle to both.
func diameters3(p []vec3) (d [3]float64) {
	var u, v vec3
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			if q := p[i].sub(p[j]); q.dot(q) > d[0] {
				d[0], u = q.dot(q), q
			}
		}
	}
	d[0], u = math.Sqrt(d[0]), u.unit()
	e1 := u.cross(vec3{1, 0, 0})
	if math.Abs(u[0]) > 0.7 {
		e1 = u.cross(vec3{0, 1, 0})
	}
	e1 = e1.unit()
	e2 := u.cross(e1)
	for k := range 180 { // the widest of the shadows cast along u, every degree
		sin, cos := math.Sincos(math.Pi * float64(k) / 180)
		w := e1.mul(cos).add(e2.mul(sin))
		if x := extent(p, w); x > d[1] {
			d[1], v = x, w
		}
	}
	d[2] = extent(p, u.cross(v))
	return d
}

// extent is how far points reach along a direction.
func extent(p []vec3, dir vec3) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range p {
		x := q.dot(dir)
		lo, hi = math.Min(lo, x), math.Max(hi, x)
	}
	return hi - lo
}
