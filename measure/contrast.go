package measure

import "math"

const contrastMethod = "mean grey inside the outline − mean in a ring about it (from 1.15 to 1.5 times its size), in standard deviations of the ring; stored pixel values"

// Ring about a lesion that its grey is compared with, as factors of its size.
// Common practice, no source: near enough to be the same bone, far enough to
// be outside the soft edge.
const (
	ringInner = 1.15
	ringOuter = 1.5
)

// moments are the number, mean and standard deviation of grey values.
type moments struct{ n, mean, m2 float64 }

func (m *moments) add(x float64) {
	m.n++
	d := x - m.mean
	m.mean += d / m.n
	m.m2 += d * (x - m.mean)
}

func (m moments) sd() float64 { return math.Sqrt(m.m2 / (m.n - 1)) }

// contrast adds the contrast of a lesion where the grey values are at hand.
func (w *work) contrast(s subject, grey Grey, outline []vec, stretch float64) {
	if grey == nil {
		return
	}
	inside, ring := greyAbout(grey, closedCurve(outline).sample(8), stretch)
	const few = 20
	if inside.n < few || ring.n < few || !(ring.sd() > 0) {
		s.none(WhatContrast, NoiseUnit, contrastMethod, "too few pixels inside the outline or about it, or no noise")
		return
	}
	value := (inside.mean - ring.mean) / ring.sd()
	// Neighbouring pixels of a radiograph are correlated over about 3 px each
	// way, so that 9 of them count as one (common practice, no source); the
	// standard deviation itself is known to 1/√(2n).
	const alike = 9
	ratio := inside.sd() / ring.sd()
	u := math.Sqrt(alike * (ratio*ratio/inside.n + 1/ring.n + value*value/(2*ring.n)))
	s.cautions = nil
	s.add(WhatContrast, Quantity{value, u, NoiseUnit}, contrastMethod)
}

// greyAbout takes the moments of the pixels inside the closed polygon p and of
// those in the ring about it.
func greyAbout(grey Grey, p []vec, stretch float64) (inside, ring moments) {
	var centre vec
	for _, q := range p {
		centre = centre.add(q.mul(1 / float64(len(p))))
	}
	reach := 0.0
	for _, q := range p {
		reach = math.Max(reach, q.dist(centre))
	}
	reach *= ringOuter
	width, height := grey.Size()
	for y := max(0, int(centre.y-reach)); y <= min(height-1, int(centre.y+reach)); y++ {
		for x := max(0, int((centre.x-reach)/stretch)); x <= min(width-1, int((centre.x+reach)/stretch)); x++ {
			q := vec{float64(x) * stretch, float64(y), 0}
			size := sizeAt(p, centre, q)
			switch {
			case size <= 1:
				inside.add(grey.At(x, y))
			case size >= ringInner && size <= ringOuter:
				ring.add(grey.At(x, y))
			}
		}
	}
	return inside, ring
}

// sizeAt returns the factor by which the polygon p must grow about its centre
// to reach q: below 1 inside. For an outline that is not star-shaped about the
// centre it is the farthest edge in that direction.
func sizeAt(p []vec, centre, q vec) float64 {
	d := q.sub(centre)
	far := 0.0
	for i := range len(p) - 1 {
		a, b := p[i].sub(centre), p[i+1].sub(centre)
		ca, cb := a.cross(d).z, b.cross(d).z
		if ca*cb > 0 || ca == cb {
			continue
		}
		hit := a.lerp(b, ca/(ca-cb))
		if hit.dot(d) > 0 {
			far = math.Max(far, hit.norm())
		}
	}
	if n := d.norm(); n > 0 {
		return n / far
	}
	return 0
}
