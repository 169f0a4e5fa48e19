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
	t.grid = t.costs()
	return t
}

// costs returns the grid of the path search.
func (t *Map) costs() Grid {
	grey, size := t.reduced()
	strength := make([]float32, len(grey))
	if size.X >= 3 && size.Y >= 3 {
		for _, sigma := range searchSigmas {
			raise(strength, size, grey, sigma)
		}
	}
	for i, v := range strength {
		strength[i] = stepCost(v)
	}
	return Grid{Size: size, Cost: strength}
}

// raise raises strength to that of the ridges of one width, in units of their
// surroundings. Broad ridges are looked for in a coarser picture.
func raise(strength []float32, size Size, grey []float32, sigma float64) {
	k := max(1, int(sigma/2))
	coarse, cs := boxed(grey, size, k)
	if cs.X < 3 || cs.Y < 3 {
		return
	}
	r := longRidges(coarse, cs, sigma/float64(k))
	level := surroundings(r, cs)
	for i := range r {
		r[i] /= level[i]
	}
	for y := range size.Y {
		for x := range size.X {
			i := y*size.X + x
			strength[i] = max(strength[i], r[min(y/k, cs.Y-1)*cs.X+min(x/k, cs.X-1)])
		}
	}
}

func boxed(v []float32, size Size, k int) ([]float32, Size) {
	if k == 1 {
		return v, size
	}
	s := Size{size.X / k, size.Y / k, 1}
	out := make([]float32, s.samples())
	for y := range s.Y {
		for x := range s.X {
			sum := float32(0)
			for dy := range k {
				for _, c := range v[(y*k+dy)*size.X+x*k:][:k] {
					sum += c
				}
			}
			out[y*s.X+x] = sum / float32(k*k)
		}
	}
	return out, s
}

func surroundings(r []float32, size Size) []float32 {
	l := median(r)
	out := make([]float32, len(r))
	for i := range out {
		out[i] = l
	}
	return out
}

func median(v []float32) float32 {
	some := []float32{}
	for i := 0; i < len(v); i += 5 {
		some = append(some, v[i])
	}
	slices.Sort(some)
	return max(some[int(float64(len(some))*tQ)], 1e-6)
}

// noise returns the standard deviation of the noise of a sample: that of the
// mask (1 −2 1)×(1 −2 1), which removes everything smooth, divided by its norm
// 6 (Immerkær 1996, Comput Vis Image Underst 64:300–302), by the median.
func noise(grey []float32, size Size) float64 {
	w := size.X
	var v []float32
	for y := 1; y < size.Y-1; y += 2 {
		a, b, c := grey[(y-1)*w:], grey[y*w:], grey[(y+1)*w:]
		for x := 1; x < w-1; x += 3 {
			second := func(r []float32) float32 { return r[x-1] - 2*r[x] + r[x+1] }
			d := second(a) - 2*second(b) + second(c)
			v = append(v, max(d, -d))
		}
	}
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return float64(v[len(v)/2]) / (0.6745 * 6) // median of |normal| is 0.6745
}

// responseNoise is the standard deviation of a Gaussian's second derivative
// times the scale squared, for white noise of 1 per sample at scale 1: the
// square root of 3/(16π).
const responseNoise = 0.2443

// brightest returns the response that one place in a hundred exceeds.
func brightest(v []float32) float64 {
	var some []float32
	for i := 0; i < len(v); i += 7 {
		some = append(some, v[i])
	}
	slices.Sort(some)
	return float64(some[len(some)*99/100])
}

// stepCost is what a step costs where the ridge filter answers with r times
// the background. It levels off: a strong ridge elsewhere must not attract a
// line off a weak one. By trial on phantoms.
func stepCost(r float32) float32 {
	half, least := float32(tHalf), float32(tLeast)
	q := r / half
	return least + 1/(1+q*q)
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
