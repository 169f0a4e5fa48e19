package trace

import (
	"fmt"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// Size is the extent of a picture (Z = 1, or 0 for short) or of a volume, in
// samples. Samples are stored x fastest, then y, then z.
type Size struct{ X, Y, Z int }

// samples returns X·Y·Z with Z at least 1.
func (s Size) samples() int { return s.X * s.Y * max(s.Z, 1) }

// flat reports whether this is a picture.
func (s Size) flat() bool { return s.Z <= 1 }

// check compares the size with what is stored.
func (s Size) check(doing string, n int) error {
	if s.X < 1 || s.Y < 1 || s.Z < 0 || s.X > math.MaxInt32/s.Y || s.X*s.Y > math.MaxInt32/max(s.Z, 1) {
		return fmt.Errorf("%s: %d × %d × %d samples are no size of a picture or volume: give 1 or more along each axis, 2³¹ at most in all", doing, s.X, s.Y, s.Z)
	}
	if s.samples() != n {
		return fmt.Errorf("%s: %d samples given for %d × %d × %d: give one for each place", doing, n, s.X, s.Y, max(s.Z, 1))
	}
	return nil
}

// Filter says how ridges are looked for. The zero value looks for dark ridges
// with the customary constants.
type Filter struct {
	// Sigmas are the standard deviations of the Gaussians, in samples, one for
	// each scale; nil: 1, 3, 5, 7, 9. A ridge of half-width r answers best at
	// about r/√2 … r/√3.
	Sigmas []float64
	// Bright looks for bright ridges instead of dark ones.
	Bright bool
	// Alpha, Beta and Gamma are the constants of [Frangi]; 0: 0.5, 0.5 and 15.
	// Alpha and Beta are those of Frangi 1998, section 2.2. Gamma, half the
	// largest Hessian norm there, depends on the range of the grey values: 15
	// suits 0–255 and is the default of scikit-image 0.19.
	Alpha, Beta, Gamma float64
}

func (f Filter) withDefaults() Filter {
	or := func(v, otherwise float64) float64 {
		if v == 0 {
			return otherwise
		}
		return v
	}
	if f.Sigmas == nil {
		f.Sigmas = []float64{1, 3, 5, 7, 9}
	}
	f.Alpha, f.Beta, f.Gamma = or(f.Alpha, 0.5), or(f.Beta, 0.5), or(f.Gamma, 15)
	return f
}

// check refuses constants that mean nothing.
func (f Filter) check() error {
	for _, s := range f.Sigmas {
		if !(s > 0.1 && s < 1000) { // below a tenth the kernel is one sample
			return fmt.Errorf("ridge filter: scale %g samples: give 0.1 to 1000", s)
		}
	}
	if !(f.Alpha > 0 && f.Beta > 0 && f.Gamma > 0) {
		return fmt.Errorf("ridge filter: alpha %g, beta %g, gamma %g: give positive constants", f.Alpha, f.Beta, f.Gamma)
	}
	return nil
}

// Frangi returns the multi-scale vesselness of a picture or volume (Frangi,
// Niessen, Vincken & Viergever 1998, MICCAI, LNCS 1496:130–137, eq. 13 to 15):
// 0 … 1, the largest over the scales.
//
// Grey values are smoothed with sampled Gaussians that end at 4 standard
// deviations; beyond the border the picture is mirrored (edge samples twice).
// Derivatives are central differences, one-sided at the border, times the
// scale squared. These are the conventions of scikit-image's frangi, whose
// results it gives; computing in 32-bit floats, to about 10⁻⁶ of the largest.
// Axes shorter than 3 samples have no second derivative: the result is 0.
func Frangi(grey []float32, size Size, f Filter) ([]float32, error) {
	f = f.withDefaults()
	return f.apply(grey, size, f.frangi2, f.frangi3)
}

// Sato returns the multi-scale line measure of Sato et al. 1998 (Med Image
// Anal 2:143–168) for lines: in a picture the curvature across the ridge, in a
// volume √(λ₂λ₃) of the two strongest curvatures where both have the ridge's
// sign, else 0; times the scale squared, the largest over the scales, in grey
// values. Conventions as in [Frangi].
func Sato(grey []float32, size Size, f Filter) ([]float32, error) {
	f = f.withDefaults()
	return f.apply(grey, size, func(float64) rowScore { return sato2 }, func(float64) voxelScore { return sato3 })
}

// rowScore raises out to the measure of one row, whose smoothed rows −2 … +2,
// extended by their margins, are l. scale is σ²/4, negative for dark ridges.
type rowScore func(out []float32, l *[2*margin + 1][]float32, scale float32)

// voxelScore returns the measure of a scaled Hessian where it exceeds best,
// otherwise best.
type voxelScore func(h *hessian, best float32) float32

func (f Filter) apply(grey []float32, size Size, pick2 func(sigma float64) rowScore, pick3 func(sigma float64) voxelScore) ([]float32, error) {
	if err := size.check("ridge filter", len(grey)); err != nil {
		return nil, err
	}
	if err := f.check(); err != nil {
		return nil, err
	}
	out := make([]float32, len(grey))
	if size.X < 3 || size.Y < 3 || !size.flat() && size.Z < 3 {
		return out, nil
	}
	sign := -1.0
	if f.Bright {
		sign = 1
	}
	grey = centred(grey)
	for _, sigma := range f.Sigmas {
		k, scale := gaussian(sigma), float32(sign*sigma*sigma/4)
		if size.flat() {
			score, w := pick2(sigma), size.X
			flatScale(grey, size, k, scale, func(y int, l *[2*margin + 1][]float32, scale float32) {
				score(out[y*w:(y+1)*w], l, scale)
			})
		} else {
			deepScale(out, grey, size, k, scale, pick3(sigma))
		}
	}
	return out, nil
}

// centred returns the values less their mean, so that 32-bit sums of small
// contrasts on a high level keep their digits.
func centred(v []float32) []float32 {
	sum := 0.0
	for _, x := range v {
		sum += float64(x)
	}
	mean := float32(sum / float64(len(v)))
	out := make([]float32, len(v))
	for i, x := range v {
		out[i] = x - mean
	}
	return out
}

// inBands calls do for bands of 0 … n−1, about size lines each, on all
// processors.
func inBands(n, size int, do func(from, to int)) {
	bands := max(1, (n+size/2)/size)
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), bands) {
		wait.Go(func() {
			for {
				b := int(next.Add(1)) - 1
				if b >= bands {
					return
				}
				do(b*n/bands, (b+1)*n/bands)
			}
		})
	}
	wait.Wait()
}

// window holds the smoothed lines (rows of a picture, planes of a volume) two
// before and two behind the line at.
type window struct {
	n, at  int
	lines  [2*margin + 1][]float32
	smooth func(dst []float32, i int)
}

func newWindow(n, size int, smooth func(dst []float32, i int)) *window {
	w := &window{n: n, smooth: smooth}
	for k := range w.lines {
		w.lines[k] = make([]float32, size)
	}
	return w
}

// start fills the window around line i.
func (w *window) start(i int) {
	w.at = i
	for k := range w.lines {
		if j := i - margin + k; j >= 0 && j < w.n {
			w.smooth(w.lines[k], j)
		}
	}
	for k := range w.lines {
		w.fillBeyond(k)
	}
}

// advance moves the window by one line.
func (w *window) advance() {
	first := w.lines[0]
	copy(w.lines[:], w.lines[1:])
	w.lines[2*margin] = first
	w.at++
	if j := w.at + margin; j < w.n {
		w.smooth(first, j)
	}
	w.fillBeyond(2 * margin)
}

// fillBeyond continues the lines beyond the border, if line k lies there.
func (w *window) fillBeyond(k int) {
	switch j := w.at - margin + k; {
	case j < 0:
		beyond(w.lines[k], w.lines[k-j], w.lines[k-j+1], w.lines[k-j+2], -j)
	case j >= w.n:
		s := j - w.n + 1
		beyond(w.lines[k], w.lines[k-s], w.lines[k-s-1], w.lines[k-s-2], s)
	}
}
