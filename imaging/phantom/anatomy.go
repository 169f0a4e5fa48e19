package phantom

import "math"

// canalSketch is a canal of the demo tooth, in the tooth's frame: from the
// coronal reference point on a cusp straight to the orifice and on, then an
// arc, then a short straight end.
type canalSketch struct {
	name      string
	u, v, deg float64 // reference point and heading
	orifice   float64 // arc lengths
	curve     float64
	radius    float64
	angle     float64 // signed, positive to the distal
	tail      float64
	lingual   float64 // depth out of the plane, mm
	wide      float64 // half-width at the orifice, mm
}

func demoCanals() []canalSketch {
	return []canalSketch{
		{name: "MB", u: -2.1, v: 0.25, deg: -1.5, orifice: 8.6, curve: 12.3, radius: 11, angle: 29, tail: 0.9, lingual: -1.6, wide: 0.34},
		{name: "ML", u: -1.65, v: 0.2, deg: -3.4, orifice: 8.9, curve: 12.9, radius: 12, angle: 26, tail: 1.0, lingual: 1.6, wide: 0.34},
		{name: "D", u: 1.65, v: 0.55, deg: 3.5, orifice: 8.3, curve: 12.8, radius: 18, angle: 13, tail: 1.2, lingual: 0, wide: 0.5},
	}
}

func (c canalSketch) apex() float64 { return c.curve + c.radius*math.Abs(c.angle)*math.Pi/180 + c.tail }

// line places the canal in the object plane; parallax is tan of the beam angle.
func (c canalSketch) line(m *molar, parallax float64) Line {
	start := m.global(c.u, c.v)
	start.X += c.lingual * parallax
	lean := math.Atan2(m.sin, m.cos) * 180 / math.Pi
	rad := math.Abs(c.angle) * math.Pi / 180
	return NewLine(start, c.deg-lean, Segment{Length: c.curve},
		Segment{c.radius * rad, math.Copysign(1/c.radius, c.angle)}, Segment{Length: c.tail})
}

// molarSketch is what differs between the molars of the demo.
type molarSketch struct {
	origin      MM
	lean        float64 // degrees, positive: the crown leans to the mesial
	width, neck float64 // mesiodistal, at the contacts and at the neck
	fork        float64
	roots       [2]rootSketch
}

type rootSketch struct {
	u, v, deg        float64
	straight         float64
	radius, angle    float64
	tail             float64
	top, middle, tip float64 // half-widths
	deepTop, deepTip float64
}

func (m *molar) root(r rootSketch) *sweep {
	lean := math.Atan2(m.sin, m.cos) * 180 / math.Pi
	rad := math.Abs(r.angle) * math.Pi / 180
	line := NewLine(m.global(r.u, r.v), r.deg-lean, Segment{Length: r.straight},
		Segment{r.radius * rad, math.Copysign(1/r.radius, r.angle)}, Segment{Length: r.tail})
	l := line.Length()
	return newSweep(line, 0, l,
		newProfile(0, r.top, 0.5*l, r.middle, 0.82*l, 0.55*r.middle+0.45*r.tip, l, r.tip),
		newProfile(0, r.deepTop, 0.55*l, 0.62*r.deepTop+0.38*r.deepTip, l, r.deepTip))
}

func newMolar(k molarSketch) *molar {
	sin, cos := math.Sincos(k.lean * math.Pi / 180)
	w, n := k.width, k.neck
	m := &molar{
		origin: k.origin, sin: sin, cos: cos, neck: 7, fork: k.fork, enamelTop: 1.8,
		mesial:     newProfile(0, -0.41*w, 1.2, -0.462*w, 2.8, -0.5*w, 4, -0.487*w, 5.6, -0.25*w-0.24*n, 7, -0.5*n, 8.6, -0.485*n, 11, -0.45*n, 13, -0.38*n),
		distal:     newProfile(0, 0.39*w, 1.2, 0.452*w, 2.8, 0.5*w, 4.2, 0.484*w, 5.7, 0.25*w+0.23*n, 7, 0.5*n, 8.6, 0.485*n, 11, 0.45*n, 13, 0.38*n),
		buccal:     newProfile(-0.5*w, 3.2, -0.45*w, 1.6, -0.36*w, 0.8, -0.22*w, 0.2, -0.05*w, 1.35, 0.14*w, 0.5, 0.27*w, 1.25, 0.33*w, 1.0, 0.44*w, 1.9, 0.5*w, 3.4),
		lingual:    newProfile(-0.5*w, 3.0, -0.43*w, 1.2, -0.24*w, -0.2, -0.01*w, 1.5, 0.2*w, 0.15, 0.4*w, 1.4, 0.5*w, 3.2),
		deep:       newProfile(0, 9.2, 3, 10.2, 5.5, 9.6, 7, 8.8, 9, 8.6, 12, 7.6),
		enamelSide: newProfile(0, 1.7, 2.6, 1.55, 4.6, 1.0, 6.2, 0.4, 7.2, 0),
	}
	for _, r := range k.roots {
		m.roots = append(m.roots, m.root(r))
	}
	m.box.include(m.global(0, -1), w/2+1)
	m.box.include(m.global(0, 13), w/2+1)
	for _, r := range m.roots {
		m.box.include(r.box.min, 1)
		m.box.include(r.box.max, 1)
	}
	return m
}

// newChamber is a pulp chamber between two sides with a horn at each; roof and
// floor are levels in its middle.
func newChamber(left, right, roof, floor float64) chamber {
	mid := (roof + floor) / 2
	return chamber{
		roof: newProfile(left, mid+0.4, left+0.25, roof-0.3, left+0.55, roof-1.5, left+0.95, roof-0.3, (left+right)/2, roof+0.15,
			right-0.9, roof-0.3, right-0.55, roof-1.2, right-0.25, roof-0.3, right, mid+0.4),
		floor: newProfile(left, mid+0.4, left+0.3, floor+0.5, left+0.7, floor+0.7, left+1.3, floor+0.2, (left+right)/2, floor-0.15,
			right-1.3, floor+0.2, right-0.7, floor+0.7, right-0.3, floor+0.5, right, mid+0.4),
		depth: 2.5,
	}
}

// addCanal gives the tooth a pulp canal along a line.
func (m *molar) addCanal(line Line, from, to, top, tip float64) {
	l := to - from
	m.canals = append(m.canals, newSweep(line, from, to,
		newProfile(from, top, from+0.25*l, 0.72*top+0.28*tip, to, tip),
		newProfile(from, 4.4*top, from+0.4*l, 3.8*top, to, 3*tip)))
}

func molar37() molarSketch {
	return molarSketch{
		origin: MM{-0.9, -10.6}, lean: 2, width: 10.5, neck: 8.2, fork: 10.4,
		roots: [2]rootSketch{
			{u: -2.1, v: 7.6, deg: -4, straight: 4.6, radius: 12.5, angle: 29, tail: 0.9, top: 1.92, middle: 1.5, tip: 0.5, deepTop: 8.2, deepTip: 2.4},
			{u: 1.95, v: 7.6, deg: 4, straight: 6.1, radius: 20, angle: 12, tail: 1.0, top: 1.95, middle: 1.42, tip: 0.48, deepTop: 7.8, deepTip: 2.2},
		},
	}
}

func molar36() molarSketch {
	return molarSketch{
		origin: MM{-11.75, -10.9}, lean: 0, width: 11.1, neck: 8.6, fork: 10.0,
		roots: [2]rootSketch{
			{u: -2.25, v: 7.6, deg: -10, straight: 4.2, radius: 11, angle: 33, tail: 0.8, top: 1.95, middle: 1.55, tip: 0.52, deepTop: 8.4, deepTip: 2.4},
			{u: 2.15, v: 7.6, deg: 9, straight: 5.0, radius: 18, angle: 12, tail: 2.0, top: 2.0, middle: 1.5, tip: 0.5, deepTop: 8, deepTip: 2.2},
		},
	}
}

func molar38() molarSketch {
	return molarSketch{
		origin: MM{10.2, -9.5}, lean: 12, width: 10.3, neck: 7.7, fork: 12.8,
		roots: [2]rootSketch{
			{u: -1.85, v: 7.6, deg: 0, straight: 3.4, radius: 11, angle: 30, tail: 0.2, top: 1.9, middle: 1.5, tip: 0.55, deepTop: 7.6, deepTip: 2.6},
			{u: 1.7, v: 7.6, deg: 2, straight: 3.4, radius: 11, angle: 26, tail: 0.3, top: 1.95, middle: 1.55, tip: 0.5, deepTop: 7.4, deepTip: 2.4},
		},
	}
}
