package phantom

import "math"

// jaw is the scene of the demo case: lower molars of the left side in bone.
type jaw struct {
	teeth    []*molar
	crest    *profile // y of the alveolar crest by x
	gum      *profile // y of the gingival margin by x
	bone     *trabeculae
	broad    *lattice // slow changes: cheek, exposure, bone density
	lesion   *ellipse // nil: none
	edge     float64  // softness of the lesion, mm
	metal    []*sweep // instruments
	rubber   []*sweep // their stops
	fillings []*sweep // root fillings
	nerve    nerveCanal
}

// Attenuation per mm of the demo's further materials; chosen for contrast.
const (
	muCompact   = 0.075
	muCancel    = 0.066
	muAmalgam   = 1.2
	muComposite = 0.24
	muFilling   = 1.0
	muSteel     = 3.0
	muRubber    = 0.22
)

func (j *jaw) attenuation(p MM) float64 {
	var t tissue
	for _, m := range j.teeth {
		m.at(p, &t)
	}
	lost := 0.0
	if j.lesion != nil {
		lost = logistic(j.lesion.depth(p) / j.edge)
	}
	slow := j.broad.at(p.X/11, p.Y/11)
	a := muSoft*(13+3*slow+8*logistic((p.Y-j.gum.at(p.X))/0.25)) + j.boneAt(p, &t, lost, slow)
	a += muDentin*t.dentine + muEnamel*t.enamel + muSoft*t.pulp + muAmalgam*t.metal + muComposite*t.composite
	for _, w := range j.fillings {
		a += muFilling * w.section(p).path(0)
	}
	for _, w := range j.metal {
		a += muSteel * w.section(p).path(0)
	}
	for _, w := range j.rubber {
		a += muRubber * w.section(p).path(0)
	}
	return a
}

// boneAt is the attenuation of the bone around what the teeth take.
func (j *jaw) boneAt(p MM, t *tissue, lost, slow float64) float64 {
	below := p.Y - j.crest.at(p.X)
	if below < -4 {
		return 0
	}
	tooth := ramp((t.inside + t.space) / 3)
	cover := (1-tooth)*logistic(below/0.09) + tooth*logistic((below-0.2)/0.65) // in front of a root the margin lies at several depths
	compact := 2.2 + 2.0*ramp(below/12) + j.ramus(p)
	cancel := (3.5 + 5.5*ramp(below/9)) * (1 + 0.2*slow)
	free := softMax(cancel-0.9*(t.inside+t.space), 0.3*cancel, 2)
	free *= 1 + 0.21*j.bone.at(p)
	rim := 0.0 // the compact border of the crest
	if e := (below - 0.3) / 0.18; tooth < 1 && math.Abs(e) < 5 {
		rim = 1.5 * (1 - tooth) * math.Exp(-0.5*e*e)
	}
	wall, hollow := j.nerve.at(p)
	free *= 1 - 0.3*hollow
	return cover * (muCompact*(compact*(1-0.25*lost)+(rim+0.7*t.lamina+wall)*(1-lost)) +
		muCancel*free*(1-0.85*lost) - 0.006*t.space)
}

// ramus is the compact bone of the oblique line, which rises to the distal.
func (j *jaw) ramus(p MM) float64 {
	d := (p.X-5)*0.47 + (p.Y-1)*0.88 // below the line from (5, 1) upwards to the right
	return 1.5 * ramp(d/1.2) * ramp((p.X-1)/9) * (1 - 0.5*ramp((d-1)/5))
}

// nerveCanal is the mandibular canal: a band with thin compact walls.
type nerveCanal struct {
	line Line
	half float64 // mm, between the walls' middles
}

// at returns the path through the walls (mm) and how far p lies inside (0–1).
func (n nerveCanal) at(p MM) (wall, hollow float64) {
	_, d := n.line.Nearest(p)
	e := math.Abs(d) - n.half
	if e > 1.5 {
		return 0, 0
	}
	return 1.3 * math.Exp(-0.5*e*e/(0.22*0.22)), logistic(-e / 0.25)
}

// softMax is the larger of a and b, rounded over where they differ by less than
// about width.
func softMax(a, b, width float64) float64 {
	d := a - b
	return (a + b + math.Sqrt(d*d+width*width)) / 2
}
