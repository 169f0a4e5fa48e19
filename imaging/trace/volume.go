package trace

import (
	"fmt"
	"math"
	"slices"
)

// Volume is what a trace needs of a stack of slices: evenly spaced voxels with
// axes at right angles.
type Volume interface {
	// Size returns the number of voxels along each axis.
	Size() Size
	// Spacing returns their distances along x, y and z in mm.
	Spacing() [3]float64
	// Row copies the values at x0 … x0+len(dst)−1 of row y of slice z.
	Row(dst []float32, x0, y, z int)
}

// Place is a place in a volume: mm from the centre of the first voxel along
// the volume's own axes.
type Place [3]float64

// Line3 is a traced line in a volume from the first mark to the last.
type Line3 struct {
	// Points lie about a voxel apart.
	Points []Place
	// Unc is the standard uncertainty of each point across the line, in mm in
	// each direction.
	Unc []float64
	// Confidence is as in [Line].
	Confidence []float64
	// StdUnc is the root mean square of Unc, Spacing as in [Line], in mm.
	StdUnc   float64
	Spacing  float64
	Cautions []string
}

// Length returns the length of the line in mm.
func (l Line3) Length() float64 {
	c := make(curve, len(l.Points))
	for i, p := range l.Points {
		c[i] = vec{p[0], p[1], p[2]}
	}
	return c.length()
}

// roomVoxels is the largest number of voxels of a room; larger ones are looked
// at more coarsely.
const roomVoxels = 12_000_000

// room is the part of a volume around the marks, in cubic voxels; the ridge
// looked for is bright in it.
type room struct {
	size   Size
	first  vec     // mm, of voxel 0
	edge   float64 // mm
	values []float32
}

// CanalIn traces a line in a volume between two marks, through the marks in
// between. With [Options.Snap] its ends move across onto the ridge.
func CanalIn(v Volume, from, to Place, via []Place, o Options) (Line3, error) {
	marks := slices.Concat([]Place{from}, via, []Place{to})
	if err := checkPlaces(v, marks); err != nil {
		return Line3{}, err
	}
	turned := slices.Compare(to[:], from[:]) < 0
	if turned { // the line doesn't depend on which end is marked first
		slices.Reverse(marks)
	}
	r := newRoom(v, marks, o.Bright)
	rough, err := r.path(marks)
	if err != nil {
		return Line3{}, err
	}
	line := r.finish(rough, marks, o.Snap)
	if turned {
		slices.Reverse(line.Points)
		slices.Reverse(line.Unc)
		slices.Reverse(line.Confidence)
	}
	return line, nil
}

func checkPlaces(v Volume, marks []Place) error {
	size, step := v.Size(), v.Spacing()
	n := [3]int{size.X, size.Y, size.Z}
	for k := range 3 {
		if n[k] < 8 || !(step[k] > 0) {
			return fmt.Errorf("trace: a volume of %d × %d × %d voxels of %g × %g × %g mm: give at least 8 voxels along each axis and their spacing", n[0], n[1], n[2], step[0], step[1], step[2])
		}
	}
	for i, p := range marks {
		for k := range 3 {
			if !(p[k] > -step[k]/2 && p[k] < (float64(n[k])-0.5)*step[k]) {
				return fmt.Errorf("trace: the mark at %.5g, %.5g, %.5g mm lies outside the volume: put it inside", p[0], p[1], p[2])
			}
		}
		if i > 0 && toVec(p).sub(toVec(marks[i-1])).norm() < shortest*min(step[0], step[1], step[2]) {
			return fmt.Errorf("trace: the marks at %.5g, %.5g, %.5g and %.5g, %.5g, %.5g mm are less than %g voxels apart: put them on the two ends", marks[i-1][0], marks[i-1][1], marks[i-1][2], p[0], p[1], p[2], shortest)
		}
	}
	return nil
}

func toVec(p Place) vec { return vec{p[0], p[1], p[2]} }

// newRoom cuts the room around the marks out of the volume: a third of their
// extent more on all sides, 3 mm at least.
func newRoom(v Volume, marks []Place, bright bool) *room {
	step, size := v.Spacing(), v.Size()
	n := [3]int{size.X, size.Y, size.Z}
	r := &room{edge: min(step[0], step[1], step[2])}
	low, high := marks[0], marks[0]
	for _, m := range marks {
		for k := range 3 {
			low[k], high[k] = min(low[k], m[k]), max(high[k], m[k])
		}
	}
	around := max(toVec(high).sub(toVec(low)).norm()/3, 3)
	for k := range 3 {
		low[k] = max(low[k]-around, 0)
		high[k] = min(high[k]+around, float64(n[k]-1)*step[k])
	}
	d := toVec(high).sub(toVec(low))
	r.edge = max(r.edge, math.Cbrt(d.x*d.y*d.z/roomVoxels))
	r.first = toVec(low)
	r.size = Size{int(d.x/r.edge) + 1, int(d.y/r.edge) + 1, int(d.z/r.edge) + 1}
	r.values = make([]float32, r.size.samples())
	sign := float32(-1)
	if bright {
		sign = 1
	}
	r.fill(v, sign)
	return r
}

// fill samples the volume at the room's voxels, by trilinear interpolation.
func (r *room) fill(v Volume, sign float32) {
	step, size := v.Spacing(), v.Size()
	x := r.axis(r.first.x, step[0], r.size.X, size.X)
	y := r.axis(r.first.y, step[1], r.size.Y, size.Y)
	z := r.axis(r.first.z, step[2], r.size.Z, size.Z)
	x0 := x[0].i
	width := min(x[len(x)-1].i+2, size.X) - x0
	inBands(r.size.Z, 8, func(from, to int) {
		row := make([]float32, width)
		for k := from; k < to; k++ {
			for j := range r.size.Y {
				out := r.values[(k*r.size.Y+j)*r.size.X:][:r.size.X]
				for _, a := range [2]part{{z[k].i, 1 - z[k].t}, {z[k].i + 1, z[k].t}} {
					for _, b := range [2]part{{y[j].i, 1 - y[j].t}, {y[j].i + 1, y[j].t}} {
						if w := sign * float32(a.t*b.t); w != 0 {
							v.Row(row, x0, b.i, a.i)
							addBetween(out, row, x, x0, w)
						}
					}
				}
			}
		}
	})
}

// part is a voxel and the share of the next one.
type part struct {
	i int
	t float64
}

// axis returns where the room's voxels lie along an axis of the volume.
func (r *room) axis(first, step float64, n, voxels int) []part {
	out := make([]part, n)
	for k := range out {
		x := min((first+float64(k)*r.edge)/step, float64(voxels-1))
		i := min(int(x), voxels-2)
		out[k] = part{i, x - float64(i)}
	}
	return out
}

func addBetween(out, row []float32, x []part, x0 int, w float32) {
	for k := range out {
		i, t := x[k].i-x0, float32(x[k].t)
		out[k] += w * ((1-t)*row[i] + t*row[i+1])
	}
}

// voxel returns a place in voxels of the room.
func (r *room) voxel(p Place) vec {
	d := toVec(p).sub(r.first)
	return vec{d.x / r.edge, d.y / r.edge, d.z / r.edge}
}

// place returns voxels of the room as a place.
func (r *room) place(v vec) Place {
	p := r.first.add(r.edge, v)
	return Place{p.x, p.y, p.z}
}

// roomSigmas are the scales of the ridge filter in voxels: canals are 2 to 8
// voxels wide in dental volumes.
var roomSigmas = []float64{1, 1.6, 2.5}

// commonTube is commonRidge for volumes, where few places answer at all.
const commonTube = 0.1

// path returns the least-cost path through the marks, in voxels.
func (r *room) path(marks []Place) (curve, error) {
	grid := Grid{Size: r.size, Cost: make([]float32, len(r.values))}
	for _, sigma := range roomSigmas {
		f, err := Sato(r.values, r.size, Filter{Sigmas: []float64{sigma}, Bright: true})
		if err != nil {
			return nil, err
		}
		unit := exceeded(f, commonTube)
		for i, v := range f {
			grid.Cost[i] = max(grid.Cost[i], v/unit)
		}
	}
	for i, v := range grid.Cost {
		grid.Cost[i] = stepCost(v)
	}
	c := curve{r.voxel(marks[0])}
	for i := 1; i < len(marks); i++ {
		cells, _, err := LeastCost(grid, r.cell(marks[i-1]), r.cell(marks[i]))
		if err != nil {
			return nil, err
		}
		for _, k := range inner(cells) {
			c = append(c, vec{float64(k.X), float64(k.Y), float64(k.Z)})
		}
		c = append(c, r.voxel(marks[i]))
	}
	return c, nil
}

func (r *room) cell(p Place) Cell {
	v := r.voxel(p)
	at := func(x float64, n int) int { return min(max(int(math.Round(x)), 0), n-1) }
	return Cell{at(v.x, r.size.X), at(v.y, r.size.Y), at(v.z, r.size.Z)}
}

// value returns the value between voxels, by trilinear interpolation; outside,
// that at the border.
func (r *room) value(p vec) float64 {
	axis := func(x float64, n int) (int, float64) {
		x = min(max(x, 0), float64(n-1))
		i := min(int(x), max(n-2, 0))
		return i, x - float64(i)
	}
	i, u := axis(p.x, r.size.X)
	j, v := axis(p.y, r.size.Y)
	k, w := axis(p.z, r.size.Z)
	at := func(dj, dk int) float64 {
		a := r.values[((k+dk)*r.size.Y+j+dj)*r.size.X+i:]
		return (1-u)*float64(a[0]) + u*float64(a[1])
	}
	return (1-w)*((1-v)*at(0, 0)+v*at(1, 0)) + w*((1-v)*at(0, 1)+v*at(1, 1))
}
