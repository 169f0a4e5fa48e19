package trace

import "math"

// EndReach is how far in px along the line from its mark the tip or the stop
// of a bright line is looked for.
const EndReach = 8

// endWindow is how far beyond EndReach the profile is fitted.
const endWindow = 10

// end is a place where a bright line ends.
type end struct {
	at    float64 // along the line from the mark's foot, px, positive outwards
	unc   float64 // standard uncertainty along the line, px
	plain float64 // height of the edge over its noise; 0: there is none
}

// shift is how far the end lies outwards of the mark's foot; 0 where none is
// seen.
func (e end) shift() float64 {
	if e.plain == 0 {
		return 0
	}
	return e.at
}

// findEnd looks for the end of a bright line around index s of an extended
// line; inwards is +1 where the line goes on behind s, −1 where before it. A
// tip ends the line's contrast against its sides; a stop, through which the
// shaft of an instrument goes on, brightens both sides at one place. The
// plainer of the two is the end.
func (t *Map) findEnd(m centre, s float64, inwards int) end {
	var x, tip, left, right []float64
	for k := -EndReach - endWindow; k <= EndReach+endWindow; k++ {
		i := s - float64(k*inwards)
		if i < 0 || i > float64(len(m.line)-1) {
			continue
		}
		on, l, r := t.across(m, i)
		x, tip = append(x, float64(k)), append(tip, on-(l+r)/2)
		left, right = append(left, l), append(right, r)
	}
	if len(x) < 2*endWindow {
		return end{}
	}
	e := fitEnd(x, tip)
	if stop := bothSides(mirrored(x, left), mirrored(x, right)); stop.plain > e.plain {
		return stop
	}
	return e
}

// across returns the mean brightness on the line at index i, and beside it to
// the left and to the right.
func (t *Map) across(m centre, i float64) (on, left, right float64) {
	k := min(int(math.Round(i)), len(m.line)-1)
	p, d, half := m.line.at(i), m.line.tangent(k), m.half[k]
	mean := func(from, to float64) float64 {
		sum, n := 0.0, math.Ceil((to-from)*2)+1
		for j := range int(n) {
			u := from + (to-from)*float64(j)/(n-1)
			sum += t.grey(p.x-u*d.y, p.y+u*d.x) / n
		}
		return sum
	}
	near, far := 1.6*half+2*detectorBlur, 2.2*half+5*detectorBlur
	return mean(-half/2, half/2), mean(near, far), mean(-far, -near)
}

// leastStop is the standard uncertainty in px of a stop however plain it is:
// its side is round or bevelled by some tenths of a millimetre. From memory.
const leastStop = 0.6

// mirrored fits an edge that rises outwards.
func mirrored(x, y []float64) end {
	back := make([]float64, len(x))
	for i, v := range x {
		back[i] = -v
	}
	e := fitEnd(back, y)
	e.at = -e.at
	return e
}

// bothSides joins what is seen on both sides of a line, if it is the same
// thing: plain on both, and not farther apart than an oblique stop would be.
func bothSides(a, b end) end {
	if a.plain == 0 || b.plain == 0 || math.Abs(a.at-b.at) > 3 {
		return end{}
	}
	return end{at: (a.at + b.at) / 2, unc: max(math.Hypot(a.unc, b.unc)/2, math.Abs(a.at-b.at)/2, leastStop), plain: min(a.plain, b.plain)}
}

// fitEnd fits an edge that falls outwards, square or round, whichever is
// nearer. Where both are about as near, their difference is part of the
// uncertainty.
func fitEnd(x, y []float64) end {
	best, other := fitShape(x, y, flatEnd), fitShape(x, y, roundEnd)
	if other.rss < best.rss {
		best, other = other, best
	}
	noise := math.Sqrt(best.rss / float64(len(x)-7) * best.shared) // 7: four levels, place, width and shape
	e := end{at: best.place, unc: math.Hypot(noise/max(best.steepness, 1e-300), leastEnd), plain: best.step / max(noise, 1e-300)}
	if other.rss < 1.5*best.rss {
		e.unc = math.Hypot(e.unc, (best.place-other.place)/2)
	}
	if e.plain < 5 || e.unc > 1.5 || math.Abs(e.at) > EndReach-0.5 {
		e.plain = 0
	}
	return e
}

// fitShape searches the place and the width of an edge of one shape, the
// levels being linear, and refines the place by a parabola.
func fitShape(x, y []float64, g edgeShape) levels {
	best := levels{rss: math.Inf(1)}
	width := 1.0
	for _, w := range []float64{0.7, 1, 1.4, 2, 2.8} {
		for s := -float64(EndReach); s <= EndReach; s += 0.5 {
			if f := fitLevels(x, y, s, w, g); f.rss < best.rss {
				best, width = f, w
			}
		}
	}
	for h := 0.25; h > 0.1; h /= 2 {
		l, r := fitLevels(x, y, best.place-h, width, g), fitLevels(x, y, best.place+h, width, g)
		if bend := l.rss + r.rss - 2*best.rss; bend > 0 {
			best = fitLevels(x, y, best.place+min(max(h*(l.rss-r.rss)/(2*bend), -2*h), 2*h), width, g)
		}
	}
	return best
}

// leastEnd is the standard uncertainty in px of an end however plain it is. A
// detector blurs the quanta, not the grey values that stand for their
// logarithm: the middle of the grey edge of something dense lies up to a third
// of the blur's standard deviation inside its true edge, as far as density,
// blur and tone curve make it, which the picture doesn't say (by trial on
// phantoms of many: 0.3 px root mean square).
const leastEnd = 0.3

// edgeShape is the rise of an edge, inside from 0 on: d px inside it, blurred
// with standard deviation w.
type edgeShape func(d, w float64) float64

// flatEnd is something cut off square.
func flatEnd(d, w float64) float64 { return math.Erfc(-d/w/math.Sqrt2) / 2 }

// roundEnd is something with a round side: its chord rises with the square
// root. Unblurred it is 1 at the end of the window.
func roundEnd(d, w float64) float64 {
	sum, weight := 0.0, 0.0
	for k := -6; k <= 6; k++ { // ±3 standard deviations
		z := float64(k) / 2
		g := math.Exp(-z * z / 2)
		sum += g * math.Sqrt(max(d+z*w, 0)/endWindow)
		weight += g
	}
	return sum / weight
}

// levels is a fit of an edge at a given place.
type levels struct {
	place     float64
	rss       float64 // residual sum of squares
	step      float64 // how high the edge rises over the first pixels
	steepness float64 // norm of the derivative of the model by the place
	shared    float64 // see shared
}

// fitLevels fits y = a + b·g(d) + c·d·Φ(d/w) + e·d, with d = s − x: a slope
// outside, an edge, and another slope inside.
func fitLevels(x, y []float64, s, w float64, g edgeShape) levels {
	var a [4][5]float64
	for i := range x {
		d := s - x[i]
		row := [5]float64{1, g(d, w), d * flatEnd(d, w), d, y[i]}
		for j := range 4 {
			for k := range 5 {
				a[j][k] += row[j] * row[k]
			}
		}
	}
	b := solve4(a)
	model := func(d float64) float64 { return b[0] + b[1]*g(d, w) + b[2]*d*flatEnd(d, w) + b[3]*d }
	const h = 0.05
	f := levels{place: s, step: model(endWindow/2) - b[0] - b[3]*endWindow/2}
	fit, weight := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		d := s - x[i]
		fit[i], weight[i] = model(d), 1
		f.rss += (y[i] - fit[i]) * (y[i] - fit[i])
		slope := (model(d+h) - model(d-h)) / (2 * h)
		f.steepness += slope * slope
	}
	f.steepness = math.Sqrt(f.steepness)
	f.shared = shared(y, fit, weight)
	return f
}

// solve4 solves four linear equations by elimination with pivots; unknowns
// that the equations leave open are 0.
func solve4(a [4][5]float64) (x [4]float64) {
	for c := range 4 {
		p := c
		for r := c + 1; r < 4; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p] = a[p], a[c]
		if math.Abs(a[c][c]) < 1e-12 {
			continue
		}
		for r := c + 1; r < 4; r++ {
			f := a[r][c] / a[c][c]
			for k := c; k < 5; k++ {
				a[r][k] -= f * a[c][k]
			}
		}
	}
	for c := 3; c >= 0; c-- {
		if math.Abs(a[c][c]) < 1e-12 {
			continue
		}
		x[c] = a[c][4]
		for k := c + 1; k < 4; k++ {
			x[c] -= a[c][k] * x[k]
		}
		x[c] /= a[c][c]
	}
	return x
}
