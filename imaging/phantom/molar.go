package phantom

import "math"

// molar is a lower molar in a frame of its own: u to the distal, v down from
// the level of its cusp tips, both in mm; the frame sits at origin and leans by
// an angle. Widths, heights and root lengths are of the order of tooth tables
// (crown 7 mm high, roots 13 mm, 10–11 mm mesiodistally), no exact source.
type molar struct {
	origin   MM
	sin, cos float64
	box      box
	neck     float64 // v of the cemento-enamel junction at the proximal sides

	mesial, distal    *profile // u of the sides by v
	buccal, lingual   *profile // v of the occlusal surface by u
	shift             float64  // of the lingual cusps against the buccal ones, by parallax
	deep              *profile // buccolingual depth by v
	fork              float64  // v of the furcation
	roots             []*sweep // in the object plane
	pulp              []*sweep
	pulpOpen          float64 // how dark the pulp is, 0–1 (less in old teeth)
	enamelSide        *profile
	enamelTop         float64
	carious, restored *cavity
}

// tissue is what a ray meets in a tooth, in mm.
type tissue struct {
	dentine, enamel, pulp float64
	space, lamina         float64 // periodontal space and lamina dura
	metal, composite      float64
	inside                float64 // whole tooth
}

// shell widths in mm: periodontal space and lamina dura. Textbook order of
// magnitude (0.15–0.38 mm for the space), no exact source.
const (
	spaceWidth  = 0.24
	laminaWidth = 0.34
)

func (m *molar) local(p MM) (u, v float64) {
	r := p.sub(m.origin)
	return r.X*m.cos + r.Y*m.sin, r.Y*m.cos - r.X*m.sin
}

// global is the object point of local coordinates.
func (m *molar) global(u, v float64) MM {
	return MM{m.origin.X + u*m.cos - v*m.sin, m.origin.Y + u*m.sin + v*m.cos}
}

// at adds the tooth's tissues along the ray through p.
func (m *molar) at(p MM, t *tissue) {
	if !m.box.holds(p) {
		return
	}
	u, v := m.local(p)
	body := m.body(u, v)
	var sections [2]section
	for i, r := range m.roots {
		sections[i] = r.section(p)
	}
	grown := func(g float64) float64 {
		return union(body.path(g), sections[0].path(g), sections[1].path(g))
	}
	whole := grown(0)
	below := ramp((v - m.neck - 0.3) / 0.8) // the shells begin below the neck
	if below > 0 {
		space := grown(spaceWidth)
		t.space += (space - whole) * below
		t.lamina += (grown(spaceWidth+laminaWidth) - space) * below
	}
	if whole == 0 {
		return
	}
	enamel := max(whole-m.core(u, v, whole), 0)
	if v > m.neck+1.5 {
		enamel = 0
	}
	pulp := 0.0
	for _, w := range m.pulp {
		pulp = max(pulp, w.section(p).path(0))
	}
	pulp = min(pulp, whole-enamel)
	dentine := whole - enamel - pulp
	if m.carious != nil {
		c := m.carious.part(u, v)
		enamel *= 1 - c
		dentine *= 1 - c
	}
	if m.restored != nil {
		c := m.restored.part(u, v)
		path := c * m.restored.depth * min(1, whole/3)
		if m.restored.metal {
			t.metal += path
		} else {
			t.composite += path
			pulp *= 1 - c
		}
		lost := min(path, enamel+dentine) / max(enamel+dentine, 1e-6)
		enamel *= 1 - lost
		dentine *= 1 - lost
	}
	t.enamel += enamel
	t.dentine += dentine + pulp*(1-m.pulpOpen)
	t.pulp += pulp * m.pulpOpen
	t.inside += whole
}

// trunk is the crown and root trunk at a point.
type trunk struct {
	across float64 // position between the sides, from the middle, mm
	half   float64
	depth  float64
	top    float64 // part that the occlusal surface leaves, 0–1
	arch   float64 // distance above the furcation
	round  float64 // 0: box-like section (crown), 1: elliptical (root)
}

func (m *molar) body(u, v float64) trunk {
	l, r := m.mesial.at(v), m.distal.at(v)
	mid := (l + r) / 2
	return trunk{
		across: math.Abs(u - mid), half: (r - l) / 2, depth: m.deep.at(v),
		top:   m.cusps(u, v, 0),
		arch:  m.fork + 0.10*(u-mid)*(u-mid) - v,
		round: ramp((v - m.neck + 3) / 5),
	}
}

func (b trunk) path(g float64) float64 {
	q := b.across / (b.half + g)
	arch := b.arch + g
	if q >= 1 || b.top == 0 || arch <= 0 {
		return 0
	}
	q *= q
	lat := b.round*math.Sqrt(1-q) + (1-b.round)*math.Sqrt(math.Sqrt(1-q*q))
	if arch < 1.6 {
		a := 1 - arch/1.6
		lat *= math.Sqrt(1 - a*a)
	}
	return (b.depth + 2*g) * lat * b.top
}

// cusps is the part of the crown's depth that lies below the occlusal surface
// lowered by down: the mean of the buccal and the lingual half.
func (m *molar) cusps(u, v, down float64) float64 {
	return 0.5*slope(v-down-m.buccal.at(u)) + 0.5*slope(v-down-m.lingual.at(u-m.shift))
}

// slope is how a cusp widens below its surface: fast at first, full after 3 mm.
func slope(e float64) float64 {
	if e <= 0 {
		return 0
	}
	if e >= 3 {
		return 1
	}
	q := 1 - e/3
	return 0.35*math.Sqrt(1-q*q) + 0.65*(1-q*q)
}

// core is the path through dentine and pulp: the tooth without its enamel.
func (m *molar) core(u, v, whole float64) float64 {
	e := m.enamelSide.at(v)
	if e <= 0 {
		return whole
	}
	l, r := m.mesial.at(v)+e, m.distal.at(v)-e
	mid, half := (l+r)/2, (r-l)/2
	q := math.Abs(u-mid) / half
	if q >= 1 {
		return 0
	}
	q *= q
	round := ramp((v - m.neck + 3) / 5)
	lat := round*math.Sqrt(1-q) + (1-round)*math.Sqrt(math.Sqrt(1-q*q))
	return (m.deep.at(v) - 1.6*e) * lat * m.cusps(u*1.12, v, m.enamelTop)
}

// cavity is a part of the crown that caries has softened or a restoration
// fills: rounded rectangles in the tooth's frame.
type cavity struct {
	rooms []room
	edge  float64 // softness of the border, mm
	depth float64 // path through a full restoration, mm
	metal bool
	loss  float64 // part of the mineral that caries took
	rough *lattice
}

type room struct{ u0, v0, u1, v1, corner float64 }

// part is how much of a ray at (u, v) the cavity takes, 0–1.
func (c *cavity) part(u, v float64) float64 {
	d := math.Inf(1)
	for _, r := range c.rooms {
		x := math.Abs(u-(r.u0+r.u1)/2) - (r.u1-r.u0)/2 + r.corner
		y := math.Abs(v-(r.v0+r.v1)/2) - (r.v1-r.v0)/2 + r.corner
		d = min(d, math.Hypot(max(x, 0), max(y, 0))+min(max(x, y), 0)-r.corner)
	}
	if c.rough != nil {
		d += 0.5 * c.rough.at(u*0.9, v*0.9)
	}
	f := logistic(-d / c.edge)
	if c.loss > 0 {
		f *= c.loss
	}
	return f
}
