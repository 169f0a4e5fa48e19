package phantom

import (
	"math"
	"runtime"
	"sync"

	"rootrule/imaging"
	"rootrule/measure"
)

// Beam is what happens between the object and the counted quanta.
type Beam struct {
	Photons   float64 // quanta per pixel in the open beam; 0: no quantum noise
	GaussSD   float64 // electronic noise, in quanta
	PSF       float64 // standard deviation of the point spread function, px
	Grain     float64 // the part of PSF that follows the noise and makes it coarse, px
	Scatter   float64 // scattered part of the radiation, 0–1
	ScatterMM float64 // standard deviation of the scatter's spread on the detector, mm
}

// Tone turns attenuation into stored grey values:
// Offset + Gain × 3 × (attenuation / 3)^Gamma, attenuation being −ln of the
// transmitted part and limited to 0–3, the result to 0–2^Bits−1.
type Tone struct {
	Bits   int     // 8–16; 0 means 16
	Gain   float64 // grey values per unit of attenuation; 0: 0.3 × full scale
	Gamma  float64 // 0 means 1
	Offset float64
}

// toneSpan is the attenuation that the tone curve covers: e^-3 is 5 % of the
// open beam, under the densest part of a tooth. Chosen, no source.
const toneSpan = 3

func (t Tone) withDefaults() Tone {
	if t.Bits == 0 {
		t.Bits = 16
	}
	if t.Bits < 8 || t.Bits > 16 {
		panic("phantom: grey values have 8 to 16 bits")
	}
	if t.Gain == 0 {
		t.Gain = 0.3 * float64(uint(1)<<t.Bits-1)
	}
	t.Gamma = orOne(t.Gamma)
	return t
}

// grey returns the stored value of a transmitted part, given with the tone's
// defaults filled in.
func (t Tone) grey(transmitted float64) uint16 {
	a := min(max(-math.Log(max(transmitted, 1e-6))/toneSpan, 0), 1)
	if t.Gamma != 1 {
		a = math.Pow(a, t.Gamma)
	}
	full := float64(uint(1)<<t.Bits - 1)
	return uint16(math.Round(min(max(t.Offset+t.Gain*toneSpan*a, 0), full)))
}

// expose makes the picture of an object given by its attenuation (−ln of the
// transmitted part) at each point of the object plane. The attenuation is
// called from several goroutines.
func expose(seed uint64, g Geometry, b Beam, t Tone, attenuation func(MM) float64) *imaging.Image {
	t = t.withDefaults()
	f := newField(g.Width, g.Height)
	m := g.Projection().ToMM
	f.rows(func(y int, row []float32) {
		for x := range row {
			px, py := m.apply(float64(x), float64(y))
			row[x] = float32(math.Exp(-attenuation(MM{px, py})))
		}
	})
	f.scatter(b.Scatter, b.ScatterMM/g.PixelMM)
	f.blur(math.Sqrt(max(b.PSF*b.PSF-b.Grain*b.Grain, 0)))
	f.noise(seed, b)
	f.blur(min(b.Grain, b.PSF))
	pix := make([]uint16, g.Width*g.Height)
	f.rows(func(y int, row []float32) {
		for x, v := range row {
			pix[y*g.Width+x] = t.grey(float64(v))
		}
	})
	return &imaging.Image{
		Width: g.Width, Height: g.Height, Pix: pix, Bits: t.Bits,
		High: float64(uint(1)<<t.Bits - 1),
		Spacing: measure.Spacing{RowMM: g.PixelMM, ColMM: g.PixelMM, Kind: measure.SpacingDetector,
			Note: "pixel pitch of the synthetic detector; the object is magnified"},
		Source: imaging.Source{Format: "synthetic", Photometric: "grey", Frame: 1, Frames: 1},
	}
}

// field is a picture of transmitted parts.
type field struct {
	w, h int
	v    []float32
}

func newField(w, h int) *field { return &field{w, h, make([]float32, w*h)} }

// rows calls do for each row, on all processors.
func (f *field) rows(do func(y int, row []float32)) {
	var wait sync.WaitGroup
	n := min(runtime.GOMAXPROCS(0), f.h)
	for k := range n {
		wait.Go(func() {
			for y := k; y < f.h; y += n {
				do(y, f.v[y*f.w:(y+1)*f.w])
			}
		})
	}
	wait.Wait()
}

// noise replaces the transmitted parts by counted ones. Each row has a random
// stream of its own, so that the result does not depend on the processors.
func (f *field) noise(seed uint64, b Beam) {
	if b.Photons <= 0 {
		return
	}
	f.rows(func(y int, row []float32) {
		r := newRandom(seed, uint64(y))
		for x, v := range row {
			n := r.poisson(float64(v)*b.Photons) + b.GaussSD*r.normal()
			row[x] = float32(n / b.Photons)
		}
	})
}

// blur convolves with a Gaussian of standard deviation sd in px; the border is
// continued outwards.
func (f *field) blur(sd float64) {
	if sd < 0.05 { // narrower than the pixel grid can show
		return
	}
	k := gaussKernel(sd)
	t := newField(f.w, f.h)
	f.rows(func(y int, row []float32) { convolveRow(t.v[y*f.w:(y+1)*f.w], row, k) })
	f.rows(func(y int, row []float32) {
		clear(row)
		for i, c := range k {
			yy := min(max(y+i-len(k)/2, 0), f.h-1)
			for x, v := range t.v[yy*f.w : (yy+1)*f.w] {
				row[x] += c * v
			}
		}
	})
}

func gaussKernel(sd float64) []float32 {
	r := int(math.Ceil(4 * sd))
	k := make([]float32, 2*r+1)
	sum := 0.0
	for i := range k {
		sum += math.Exp(-0.5 * float64((i-r)*(i-r)) / (sd * sd))
	}
	for i := range k {
		k[i] = float32(math.Exp(-0.5*float64((i-r)*(i-r))/(sd*sd)) / sum)
	}
	return k
}

func convolveRow(dst, src, k []float32) {
	r, w := len(k)/2, len(src)
	for x := range dst {
		var a float32
		if x >= r && x+r < w {
			for i, v := range src[x-r : x+r+1] {
				a += k[i] * v
			}
		} else {
			for i, c := range k {
				a += c * src[min(max(x+i-r, 0), w-1)]
			}
		}
		dst[x] = a
	}
}

// scatter mixes in a widely blurred copy, made on a coarse grid.
func (f *field) scatter(part, sd float64) {
	if part <= 0 {
		return
	}
	step := max(1, int(sd/8)) // eight samples per standard deviation are ample
	c := newField((f.w+step-1)/step+1, (f.h+step-1)/step+1)
	c.rows(func(y int, row []float32) {
		for x := range row {
			row[x] = f.v[min(y*step, f.h-1)*f.w+min(x*step, f.w-1)]
		}
	})
	c.blur(sd / float64(step))
	f.rows(func(y int, row []float32) {
		for x := range row {
			row[x] = float32(1-part)*row[x] + float32(part)*c.between(float32(x)/float32(step), float32(y)/float32(step))
		}
	})
}

// between is bilinear interpolation, for the smooth scatter only.
func (f *field) between(x, y float32) float32 {
	i, j := min(int(x), f.w-2), min(int(y), f.h-2)
	u, v := x-float32(i), y-float32(j)
	a := f.v[j*f.w+i:]
	b := f.v[(j+1)*f.w+i:]
	return (1-v)*((1-u)*a[0]+u*a[1]) + v*((1-u)*b[0]+u*b[1])
}
