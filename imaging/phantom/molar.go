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
	chamber           chamber
	canals            []*sweep // in the object plane
	sealed            bool     // the chamber is filled with composite
	uneven            *lattice // of the periodontal space
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
	var roots [2]section
	for i, r := range m.roots {
		roots[i] = r.section(p)
	}
	grown := func(g float64) float64 { return union(body.path(g), roots[0].path(g), roots[1].path(g)) }
	whole := grown(0)
	m.shells(p, v, whole, grown, t)
	if whole > 0 {
		m.inside(p, u, v, whole, t)
	}
}

// shells adds the periodontal space and the lamina dura, which begin below the
// neck and are uneven.
func (m *molar) shells(p MM, v, whole float64, grown func(float64) float64, t *tissue) {
	below := ramp((v - m.neck - 0.3) / 0.8)
	if below == 0 {
		return
	}
	n := m.uneven.at(p.X*0.55, p.Y*0.55)
	width := spaceWidth * (1 + 0.6*n)
	space := grown(width)
	t.space += (space - whole) * below
	t.lamina += (grown(width+laminaWidth) - space) * below * (1 - 0.9*m.uneven.at(p.X*0.8+50, p.Y*0.8))
}

// inside adds what lies within the tooth's outline.
func (m *molar) inside(p MM, u, v, whole float64, t *tissue) {
	enamel := max(whole-m.core(u, v, whole), 0)
	pulp := m.chamber.path(u, v)
	for _, w := range m.canals {
		if c := w.section(p).path(0); c > 0 {
			pulp = union(pulp, c)
		}
	}
	pulp = min(pulp, whole-enamel)
	hard := 1.0
	if m.carious != nil {
		hard -= m.carious.part(u, v)
	}
	dentine := (whole - enamel - pulp) * hard
	enamel *= hard
	if m.restored != nil {
		path := m.restoration(u, v, whole)
		if m.restored.metal {
			t.metal += path
		} else {
			t.composite += path
		}
		left := 1 - min(1, path/max(enamel+dentine+pulp, 1e-6))
		enamel, dentine, pulp = enamel*left, dentine*left, pulp*left
	}
	t.enamel += enamel
	t.dentine += dentine
	t.pulp += pulp
	t.inside += whole
}

// restoration is the path through a filling of the crown, the chamber included
// when that is sealed.
func (m *molar) restoration(u, v, whole float64) float64 {
	path := m.restored.part(u, v) * m.restored.depth * min(1, whole/3)
	if m.sealed {
		path = max(path, 1.6*m.chamber.path(u, v))
	}
	return path
}

// chamber is the pulp chamber in the tooth's frame: between a roof, which the
// horns raise, and a floor.
type chamber struct {
	roof, floor *profile // v by u; they meet at the sides
	depth       float64
}

func (c chamber) path(u, v float64) float64 {
	e := min(v-c.roof.at(u), c.floor.at(u)-v)
	if e <= 0 {
		return 0
	}
	q := 1 - min(e/0.9, 1)
	return c.depth * math.Sqrt(1-q*q)
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
		arch:  m.fork + 1.1*ramp(math.Abs(u-mid)/1.8) - v,
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
	return 0.5*math.Sqrt(1-q*q) + 0.5*(1-q*q)
}

// core is the path through dentine and pulp: the tooth without its enamel.
func (m *molar) core(u, v, whole float64) float64 {
	e := m.enamelSide.at(v)
	if v > m.neck+0.2 {
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
	rooms     []room
	edge      float64 // softness of the border, mm
	depth     float64 // path through a full restoration, mm
	metal     bool
	loss      float64 // part of the mineral that caries took
	rough     *lattice
	roughness float64 // of the outline, mm
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
		d += c.roughness * c.rough.at(u*0.9, v*0.9)
	}
	f := logistic(-d / c.edge)
	if c.loss > 0 {
		f *= c.loss
	}
	return f
}
