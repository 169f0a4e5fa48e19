package trace

import (
	"math"
	"slices"

	"rootrule/imaging"
	"rootrule/measure"
)

// Map is a picture prepared for tracing: what a step costs at each place. It
// takes some tenths of a second to make for a large picture, and is then good
// for any number of lines, from several goroutines at once.
type Map struct {
	img    *imaging.Image
	bright bool
	sign   float64 // of stored values, so that the ridge looked for is bright
	factor int     // pixels per cell of the grid, along x and y
	grid   Grid
	// filling is the grid for bright lines of a picture prepared for dark ones.
	filling Grid
}

// searchCells is about how many cells the path is looked for in: enough that a
// canal of a periapical radiograph is several cells wide (by trial).
const searchCells = 600_000

// searchSigmas are the scales of the ridge filter in cells. A periapical
// radiograph is 30–45 mm long, a cell then 0.03–0.05 mm: ridges from 0.1 to
// 1.2 mm wide answer.
var searchSigmas = []float64{1, 1.7, 2.9, 5, 8}

// NewMap prepares a picture for dark canals, or for bright files and fillings.
func NewMap(m *imaging.Image, bright bool) *Map {
	t := &Map{img: m, bright: bright, sign: -1, factor: 1}
	if bright != m.WhiteIsZero {
		t.sign = 1
	}
	for (m.Width/t.factor)*(m.Height/t.factor) > searchCells*3/2 {
		t.factor++
	}
	t.costs()
	return t
}

// costs makes the grid of the path search, and for dark canals that for bright
// fillings.
func (t *Map) costs() {
	grey, size := t.reduced()
	t.grid = Grid{Size: size, Cost: make([]float32, len(grey))}
	common := commonRidge
	if t.bright {
		common = commonBright
	} else {
		t.filling = Grid{Size: size, Cost: make([]float32, len(grey))}
	}
	if size.X >= 3 && size.Y >= 3 {
		for _, sigma := range searchSigmas {
			t.raise(grey, sigma, common)
		}
	}
	for _, cost := range [][]float32{t.grid.Cost, t.filling.Cost} {
		for i, v := range cost {
			cost[i] = stepCost(v)
		}
	}
}

// raise raises strengths to those of the ridges of one width. Broad ridges are
// looked for in a coarser picture.
func (t *Map) raise(grey []float32, sigma, common float64) {
	k := max(1, int(sigma/2))
	coarse, cs := boxed(grey, t.grid.Size, k)
	if cs.X < 3 || cs.Y < 3 {
		return
	}
	var opposite []float32
	if !t.bright {
		opposite = make([]float32, len(coarse))
	}
	r := longRidges(coarse, cs, sigma/float64(k), opposite)
	t.grid.raise(r, cs, k, common)
	if !t.bright {
		t.filling.raise(opposite, cs, k, commonBright)
	}
}

// raise raises the strengths of g to those of a coarser picture, in units of
// what a share of that exceeds.
func (g *Grid) raise(r []float32, cs Size, k int, common float64) {
	per := 1 / exceeded(r, common)
	for y := range g.Y {
		row, from := g.Cost[y*g.X:(y+1)*g.X], r[min(y/k, cs.Y-1)*cs.X:][:cs.X]
		for x := range row {
			row[x] = max(row[x], per*from[min(x/k, cs.X-1)])
		}
	}
}

// commonRidge is the share of places whose ridge is plainer than the unit of
// strength (by trial: a smaller one loses weak canals to plain borders).
const commonRidge = 0.45

// commonBright is the same for bright lines: metal and fillings stand out of
// anything else (by trial).
const commonBright = 0.06

// exceeded returns the value that a share of all exceed, by a sample of them;
// a little more than 0 where it is 0.
func exceeded(v []float32, share float64) float32 {
	some := make([]float32, 0, len(v)/5+1)
	for i := 0; i < len(v); i += 5 {
		some = append(some, v[i])
	}
	slices.Sort(some)
	return max(some[int(float64(len(some))*(1-share))], 1e-6)
}

// Costs of a step along a plain ridge, and where there is none (by trial).
const (
	lowestCost  = 0.02
	highestCost = 1.02
)

// stepCost is what a step costs where a ridge is so strong. It levels off
// early: a plain ridge elsewhere must not attract a line off a weak one.
func stepCost(strength float32) float32 {
	return lowestCost + (highestCost-lowestCost)/(1+strength*strength)
}

// boxed averages a picture over squares of k samples.
func boxed(v []float32, size Size, k int) ([]float32, Size) {
	if k == 1 {
		return v, size
	}
	s := Size{size.X / k, size.Y / k, 1}
	out := make([]float32, s.samples())
	for y := range s.Y {
		row := out[y*s.X : (y+1)*s.X]
		for dy := range k {
			line := v[(y*k+dy)*size.X:]
			for x := range row {
				for _, c := range line[x*k : x*k+k] {
					row[x] += c / float32(k*k)
				}
			}
		}
	}
	return out, s
}

// reduced averages the picture over squares of factor pixels, as differences
// from its mean.
func (t *Map) reduced() ([]float32, Size) {
	k, w := t.factor, t.img.Width
	size := Size{max(w/k, 1), max(t.img.Height/k, 1), 1}
	out := make([]float32, size.samples())
	per := float32(t.sign / float64(k*k))
	inBands(size.Y, 64, func(from, to int) {
		sums := make([]uint32, size.X)
		for y := from; y < to; y++ {
			clear(sums)
			for dy := range k {
				addBoxes(sums, t.img.Pix[(y*k+dy)*w:], k)
			}
			for x, v := range sums {
				out[y*size.X+x] = float32(v) * per
			}
		}
	})
	return centred(out), size
}

// addBoxes adds k neighbouring values each to sums.
func addBoxes(sums []uint32, row []uint16, k int) {
	for x := range sums {
		for _, v := range row[x*k : x*k+k] {
			sums[x] += uint32(v)
		}
	}
}

// cell returns the cell that holds a place of the picture.
func (t *Map) cell(p measure.Point) Cell {
	at := func(v float64, n int) int {
		return min(max(int(math.Round((v-float64(t.factor-1)/2)/float64(t.factor))), 0), n-1)
	}
	return Cell{at(p.X, t.grid.X), at(p.Y, t.grid.Y), 0}
}

// place returns the middle of a cell on the picture.
func (t *Map) place(c Cell) vec {
	at := func(i int) float64 { return float64(i*t.factor) + float64(t.factor-1)/2 }
	return vec{at(c.X), at(c.Y), 0}
}

// grey returns the stored value at a place between pixels, by bilinear
// interpolation; beyond the border, that at the border. Its sign makes the
// ridge looked for bright.
func (t *Map) grey(x, y float64) float64 {
	m := t.img
	x = min(max(x, 0), float64(m.Width-1))
	y = min(max(y, 0), float64(m.Height-1))
	i, j := min(int(x), max(m.Width-2, 0)), min(int(y), max(m.Height-2, 0))
	u, v := x-float64(i), y-float64(j)
	right, down := min(1, m.Width-1), min(1, m.Height-1)*m.Width
	p := m.Pix[j*m.Width+i:]
	top := (1-u)*float64(p[0]) + u*float64(p[right])
	bottom := (1-u)*float64(p[down]) + u*float64(p[down+right])
	return t.sign * ((1-v)*top + v*bottom)
}
