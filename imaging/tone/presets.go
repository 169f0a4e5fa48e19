package tone

import (
	"math"

	"rootrule/imaging"
)

// Purpose is what a window is chosen for.
type Purpose int

// The purposes.
const (
	AsOpened       Purpose = iota // see [Start]
	FullRange                     // from the darkest to the brightest pixel
	Bone                          // the bone around the roots
	Canal                         // dentine, and the canals in it
	EnamelAndMetal                // enamel, fillings, instruments
)

// Purposes lists them in the order in which they are offered.
var Purposes = []Purpose{AsOpened, FullRange, Bone, Canal, EnamelAndMetal}

// For returns the window of each purpose for an image, in the order of
// [Purposes]. The greys are divided into four classes by the two-level
// criterion of Otsu (1979, IEEE Trans Syst Man Cybern 9:62–66) extended to
// three limits: on a periapical radiograph about air and soft tissue, bone,
// dentine, and enamel and metal. A purpose's window reaches from the mean of
// the class below to the mean of the class above it. On a picture that starts
// inverted the bright end is that of small values.
func For(m *imaging.Image) []Window {
	start := Start(m)
	h := histogram(m.Pix)
	means, low, high := h.classes()
	from := func(a, b float64) Window {
		return wider(Window{Low: math.Min(a, b), High: math.Max(a, b), Invert: start.Invert})
	}
	dark, bright := low, high
	if start.Invert {
		dark, bright = high, low
		means[0], means[1], means[2], means[3] = means[3], means[2], means[1], means[0]
	}
	return []Window{start, from(dark, bright), from(means[0], means[2]), from(means[1], means[3]), from(means[2], bright)}
}

// wider makes a window of no width one that can be shown.
func wider(w Window) Window {
	if w.High-w.Low < minWidth {
		w.High = w.Low + minWidth
	}
	return w
}

// cells is how finely a histogram is divided to find classes.
const cells = 128

// greys is a histogram of an image between its darkest and brightest values.
type greys struct {
	low, width float64 // of the first cell, of a cell
	count      [cells]float64
}

func histogram(pix []uint16) greys {
	low, high := inner(pix, 0.0005) // single defect pixels don't count; common practice, no source
	h := greys{low: low, width: math.Max(high-low, minWidth) / cells}
	var cell [Levels]uint8
	for v := range cell {
		cell[v] = uint8(clamp((float64(v)-low)/h.width, 0, cells-1))
	}
	var count [cells]int
	for _, v := range pix {
		count[cell[v]]++
	}
	for i, n := range count {
		h.count[i] = float64(n)
	}
	return h
}

// classes returns the means of four classes of greys, with the limits of all.
// The limits between the classes are those that leave the classes the least
// variance, found among all: the sums of each run of cells are made once.
func (h greys) classes() (means [4]float64, low, high float64) {
	var n, s [cells + 1]float64 // sums of counts and of values up to a cell
	for i, c := range h.count {
		n[i+1], s[i+1] = n[i]+c, s[i]+c*(float64(i)+0.5)
	}
	// between is what a class of cells i up to j adds to the variance between
	// the classes.
	between := func(i, j int) float64 {
		if w := n[j] - n[i]; w > 0 {
			return (s[j] - s[i]) * (s[j] - s[i]) / w
		}
		return 0
	}
	var pair [cells + 1]struct { // the best limit of two classes from a cell to the end
		at    int
		value float64
	}
	for i := range cells {
		for j := i + 1; j < cells; j++ {
			if v := between(i, j) + between(j, cells); v > pair[i].value {
				pair[i].at, pair[i].value = j, v
			}
		}
	}
	best, limits := -1.0, [5]int{0, 0, 0, 0, cells}
	for i := 1; i < cells-2; i++ {
		for j := i + 1; j < cells-1; j++ {
			if v := between(0, i) + between(i, j) + pair[j].value; v > best {
				best, limits = v, [5]int{0, i, j, pair[j].at, cells}
			}
		}
	}
	for k := range means {
		means[k] = h.mean(limits[k], limits[k+1], n[:], s[:])
	}
	return means, h.low, h.low + cells*h.width
}

// mean is the mean grey of the cells i up to j; their middle where they are
// empty.
func (h greys) mean(i, j int, n, s []float64) float64 {
	at := float64(i+j) / 2
	if w := n[j] - n[i]; w > 0 {
		at = (s[j] - s[i]) / w
	}
	return h.low + at*h.width
}
