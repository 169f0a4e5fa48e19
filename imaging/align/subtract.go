package align

import (
	"errors"
	"image"
	"math"

	"rootrule/imaging"
)

// Centre is the grey value of no difference in [Difference].Pix.
const Centre = 32768

// Difference is the later picture less the earlier one, in the frame of the
// earlier one, after its grey values were matched. Brighter than [Centre] is
// denser than before, whatever the files' polarity.
type Difference struct {
	Width, Height int
	Pix           []uint16 // Centre + difference in grey values of the earlier picture
	Known         []bool   // pixels that both pictures show
	// Noise is the standard deviation of the difference in unchanged parts, in
	// grey values of the earlier picture.
	Noise float64
	// Units is the difference, averaged over about 9 × 9 px, in standard
	// deviations of what that average is where nothing changed; NaN where not
	// known.
	Units []float32
	// Changed are the places where Units goes beyond [ChangeLimit].
	Changed []image.Rectangle
}

// ChangeLimit is the number of standard deviations from which on a difference
// counts as a change.
const ChangeLimit = 4

// Subtract takes the earlier picture from the later one. Grey values are
// matched by their distributions over what did not change (Ruttimann, Webber
// & Schmidt 1986, J Periodont Res 21:486–493).
func Subtract(before, after *imaging.Image, r Result, o Options) (Difference, error) {
	if before.Width != r.width || before.Height != r.height {
		return Difference{}, errors.New("subtract two images: the result belongs to another pair of images: align these first")
	}
	w, h := before.Width, before.Height
	s := newSubtraction(before, after, r, o)
	if s.usable() < w*h/20 {
		return Difference{}, errors.New("subtract two images: less than a twentieth of the image is shown by both and unchanged: there is nothing to match grey values with")
	}
	for range 2 { // with what changed taken out, once more
		s.match()
		s.level()
		s.equalBlur()
		s.dropOutliers()
	}
	return s.difference(), nil
}

// blurUnc is the uncertainty, in px², of half the variance by which the two
// blurs differ, once that is fitted. Chosen by trials.
const blurUnc = 1.0

// leastEdge is the uncertainty, in px, of the place of an edge in two pictures
// with different blur, even where the map is exact. Chosen by trials.
const leastEdge = 0.15

// subtraction is a difference in the making; all pictures are w × h.
type subtraction struct {
	w, h   int
	before []float32
	after  []float32 // as it is; NaN where unknown
	diff   []float32
	still  []bool    // thought to be unchanged
	bend   []float32 // Laplacian of the earlier picture, softened
	edge   float64   // px, uncertainty of the place of an edge
}

func newSubtraction(before, after *imaging.Image, r Result, o Options) *subtraction {
	w, h := before.Width, before.Height
	s := &subtraction{w: w, h: h, edge: math.Hypot(r.Residual, leastEdge), before: make([]float32, w*h), after: make([]float32, w*h), diff: make([]float32, w*h), still: make([]bool, w*h)}
	pix, known := Warp(after, r, w, h)
	warped := &imaging.Image{Width: w, Height: h, Pix: pix, WhiteIsZero: after.WhiteIsZero}
	readA, readB := rowReader(before, false), rowReader(warped, false)
	for y := range h {
		readA(y, s.before[y*w:(y+1)*w])
		readB(y, s.after[y*w:(y+1)*w])
	}
	s.dropSaturated(before, after, known)
	for i, k := range known {
		s.still[i] = k
		if !k {
			s.after[i] = nan32
		}
	}
	for _, c := range r.Changed {
		s.exclude(c)
	}
	mark := &picture{w: w, h: h, step: 1, v: make([]float32, w*h)}
	for _, outline := range o.Exclude {
		mark.leaveOut(outline)
	}
	for i, v := range mark.v {
		if v != v {
			s.still[i] = false
		}
	}
	return s
}

// dropSaturated takes what either picture does not resolve, and a border of a
// few pixels around it, for not known.
func (s *subtraction) dropSaturated(before, after *imaging.Image, known []bool) {
	const border = 3 // px: the point spread
	lowA, highA := limits(before)
	lowB, highB := limits(after)
	for i := range known {
		if !(s.before[i] <= lowA || s.before[i] >= highA || s.after[i] <= lowB || s.after[i] >= highB) || s.after[i] != s.after[i] {
			continue
		}
		x, y := i%s.w, i/s.w
		for j := max(0, y-border); j <= min(s.h-1, y+border); j++ {
			for k := max(0, x-border); k <= min(s.w-1, x+border); k++ {
				known[j*s.w+k] = false
			}
		}
	}
}

func (s *subtraction) exclude(c image.Rectangle) {
	c = c.Intersect(image.Rect(0, 0, s.w, s.h))
	for y := c.Min.Y; y < c.Max.Y; y++ {
		for x := c.Min.X; x < c.Max.X; x++ {
			s.still[y*s.w+x] = false
		}
	}
}

func (s *subtraction) usable() (n int) {
	for _, k := range s.still {
		if k {
			n++
		}
	}
	return n
}

// match brings the later picture's grey values to the distribution of the
// earlier one's over what is unchanged.
func (s *subtraction) match() {
	var a, b histogram
	for i, k := range s.still {
		if k {
			a.count(s.before[i])
			b.count(s.after[i])
		}
	}
	curve := matchCurve(&b, &a)
	for i, v := range s.after {
		if v == v {
			s.diff[i] = curve.at(v) - s.before[i]
		} else {
			s.diff[i] = nan32
		}
	}
}

// level takes away the slow part of the difference that the exposure makes:
// a robust plane-and-bow (second degree) through the medians of 32 × 32 px.
func (s *subtraction) level() {
	const side = 32
	var moves []levelPoint
	var vals []float64
	for y := 0; y+side <= s.h; y += side {
		for x := 0; x+side <= s.w; x += side {
			vals = vals[:0]
			for j := y; j < y+side; j += 2 {
				for i := x; i < x+side; i += 2 {
					if s.still[j*s.w+i] {
						vals = append(vals, float64(s.diff[j*s.w+i]))
					}
				}
			}
			if len(vals) > side*side/8 {
				moves = append(moves, levelPoint{float64(x) + side/2, float64(y) + side/2, medianOf(vals)})
			}
		}
	}
	bow := fitBow(moves, float64(s.w)/2, float64(s.h)/2)
	for y := range s.h {
		for x := range s.w {
			s.diff[y*s.w+x] -= float32(bow.at(float64(x), float64(y)))
		}
	}
}

// equalBlur takes away what a difference of the two point spreads leaves at
// edges: to first order a multiple of the Laplacian (a Gaussian blur of variance
// v adds v/2 of it), fitted where the picture is steep.
func (s *subtraction) equalBlur() {
	soft := boxMean(boxMean(s.before, s.w, s.h, 2), s.w, s.h, 2)
	s.bend = make([]float32, len(soft))
	bend := s.bend
	var size []float64
	for y := 1; y < s.h-1; y++ {
		for x := 1; x < s.w-1; x++ {
			i := y*s.w + x
			bend[i] = soft[i-1] + soft[i+1] + soft[i-s.w] + soft[i+s.w] - 4*soft[i]
			if s.still[i] && i%7 == 0 {
				size = append(size, math.Abs(float64(bend[i])))
			}
		}
	}
	medianOf(size) // sorts
	if len(size) < 1000 {
		return
	}
	steep := float32(size[len(size)*97/100]) // the most bent 3 %: far above noise
	var up, down float64
	for i, b := range bend {
		if d := s.diff[i]; s.still[i] && d == d && (b > steep || b < -steep) {
			up += float64(b) * float64(d)
			down += float64(b) * float64(b)
		}
	}
	if down > 0 {
		k := float32(up / down)
		for i, b := range bend {
			s.diff[i] -= k * b
		}
	}
}

// dropOutliers takes what differs by far from the parts thought unchanged.
func (s *subtraction) dropOutliers() {
	smooth := boxMean(s.diff, s.w, s.h, 4)
	var sample []float64
	for i := 0; i < len(smooth); i += 7 {
		if s.still[i] && smooth[i] == smooth[i] {
			sample = append(sample, math.Abs(float64(smooth[i])))
		}
	}
	limit := float32(5 * medianOf(sample) / normalMedian) // normalMedian: median of |x|, standard normal
	for i, v := range smooth {
		if s.still[i] && !(v < limit && v > -limit) {
			s.still[i] = false
		}
	}
}

// difference measures the noise and finishes.
func (s *subtraction) difference() Difference {
	d := Difference{Width: s.w, Height: s.h, Pix: make([]uint16, s.w*s.h), Known: make([]bool, s.w*s.h)}
	var sample []float64
	for i, v := range s.diff {
		d.Pix[i] = Centre
		if v == v {
			d.Known[i] = true
			d.Pix[i] = uint16(min(max(float64(v)+Centre+0.5, 0), 65535))
			if s.still[i] && i%5 == 0 {
				sample = append(sample, math.Abs(float64(v)))
			}
		}
	}
	d.Noise = medianOf(sample) / normalMedian
	smooth := boxMean(boxMean(s.diff, s.w, s.h, 2), s.w, s.h, 2)
	d.Units = s.inUnits(smooth)
	d.Changed = changedPlaces(d.Units, s.w, s.h)
	return d
}

// changedPlaces are the cells of which more than a quarter lies beyond the limit.
func changedPlaces(units []float32, w, h int) []image.Rectangle {
	const cell = 16
	var out []image.Rectangle
	for y := 0; y < h; y += cell {
		for x := 0; x < w; x += cell {
			n := 0
			for j := y; j < min(y+cell, h); j++ {
				for _, u := range units[j*w+x : j*w+min(x+cell, w)] {
					if u > ChangeLimit || u < -ChangeLimit {
						n++
					}
				}
			}
			if n > cell*cell/4 {
				out = append(out, image.Rect(x, y, min(x+cell, w), min(y+cell, h)))
			}
		}
	}
	return joined(out)
}

// inUnits divides a smoothed difference by its standard deviation where
// nothing changed, taken by grey value and by steepness: quantum noise depends
// on the one, and what is left of the map's and the blur's errors on the other.
func (s *subtraction) inUnits(smooth []float32) []float32 {
	bins := newNoiseBins(s)
	for i, k := range s.still {
		if k && i%3 == 0 && smooth[i] == smooth[i] {
			b := bins.of(i)
			bins.values[b] = append(bins.values[b], math.Abs(float64(smooth[i])))
		}
	}
	bins.close()
	out := make([]float32, len(smooth))
	for i, v := range smooth {
		out[i] = v / s.deviation(bins, i)
	}
	return out
}

// deviation is the standard deviation of the smoothed difference at a pixel
// where nothing changed.
func (s *subtraction) deviation(bins *noiseBins, i int) float32 {
	noise, place, blur := float64(bins.sd[bins.of(i)]), s.edge*float64(bins.grad[i])/2, blurUnc*float64(s.bend[i])
	return float32(math.Sqrt(noise*noise + place*place + blur*blur))
}
