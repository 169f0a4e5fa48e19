package outline

import "math"

// Samples is a block of voxels as [Volume] reads it; volume.Volume is one.
// Dense is high.
type Samples interface {
	// Size returns the numbers of columns, rows and slices.
	Size() [3]int
	// StepMM returns the distances between their centres.
	StepMM() [3]float64
	// Row puts the values of row j of slice k from column i on into dst.
	Row(i, j, k int, dst []float32)
}

// vec3 is a point or a direction in a block, in mm along columns, rows and
// slices from the centre of its first voxel.
type vec3 [3]float64

func (a vec3) add(b vec3) vec3    { return vec3{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vec3) sub(b vec3) vec3    { return vec3{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a vec3) mul(k float64) vec3 { return vec3{a[0] * k, a[1] * k, a[2] * k} }
func (a vec3) dot(b vec3) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec3) norm() float64      { return math.Sqrt(a.dot(a)) }
func (a vec3) unit() vec3         { return a.mul(1 / a.norm()) }
func (a vec3) cross(b vec3) vec3 {
	return vec3{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// Sides of the part of a volume that is looked at.
const (
	blockLevels = 3  // halvings: the coarsest voxel has four times the side
	blockSpan   = 80 // voxels of a level on each side of the seed
)

// block is a part of the volume at one resolution; NaN where its voxels reach
// outside.
type block struct {
	origin, step vec3
	raw          vec3 // between the volume's own voxels
	n            [3]int
	v            []float32
}

// newBlocks reads the surroundings of voxel c at full resolution and halved.
func newBlocks(s Samples, c [3]int) [blockLevels]block {
	var b [blockLevels]block
	for l := range b {
		b[l] = newBlock(s, c, l)
	}
	return b
}

// newBlock averages cubes of 2^level voxels around voxel c.
func newBlock(s Samples, c [3]int, level int) block {
	size, step := s.Size(), s.StepMM()
	side := 1 << level
	var lo, n [3]int
	for a := range 3 {
		below := min(blockSpan, c[a]/side)                 // whole cubes below the seed's
		above := min(blockSpan, (size[a]-c[a])/side)       // and from the seed on
		lo[a], n[a] = c[a]-below*side, max(below+above, 0) // the grid begins at the seed
	}
	b := block{n: n, v: make([]float32, n[0]*n[1]*n[2])}
	for a := range 3 {
		b.origin[a] = (float64(lo[a]) + float64(side-1)/2) * step[a]
		b.step[a], b.raw[a] = step[a]*float64(side), step[a]
	}
	if len(b.v) == 0 {
		return b
	}
	row := make([]float32, n[0]*side)
	scale := 1 / float32(side*side*side)
	for k := range n[2] * side {
		for j := range n[1] * side {
			s.Row(lo[0], lo[1]+j, lo[2]+k, row)
			dst := b.v[(k/side*n[1]+j/side)*n[0]:][:n[0]]
			for i, v := range row {
				dst[i/side] += v * scale
			}
		}
	}
	return b
}

// at interpolates linearly in three directions; NaN outside.
func (b *block) at(p vec3) float64 {
	var i [3]int
	var f [3]float32
	for a := range 3 {
		u := (p[a] - b.origin[a]) / b.step[a]
		w := math.Floor(u)
		if !(w >= 0 && w < float64(b.n[a]-1)) {
			return math.NaN()
		}
		i[a], f[a] = int(w), float32(u-w)
	}
	x, xy := b.n[0], b.n[0]*b.n[1]
	v := b.v[i[2]*xy+i[1]*x+i[0]:]
	line := func(o int) float32 { return v[o] + f[0]*(v[o+1]-v[o]) }
	near := line(0) + f[1]*(line(x)-line(0))
	far := line(xy) + f[1]*(line(xy+x)-line(xy))
	return float64(near + f[2]*(far-near))
}

// finest is the shortest side of a voxel.
func (b *block) finest() float64 { return math.Min(b.step[0], math.Min(b.step[1], b.step[2])) }

// blur is the variance in mm² per direction of what averaging voxels and
// interpolating between the averages spreads a value by: the variance of a row
// of step/raw points, and that of linear interpolation, f(1 − f), over all f.
func (b *block) blur() (variance float64) {
	for a := range 3 {
		variance += ((b.step[a]*b.step[a]-b.raw[a]*b.raw[a])/12 + b.step[a]*b.step[a]/6) / 3
	}
	return variance
}
