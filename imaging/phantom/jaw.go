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
	nerve    []*sweep // the walls of the mandibular canal
}

// Attenuation per mm of the demo's further materials; chosen for contrast.
const (
	muCompact   = 0.075
	muCancel    = 0.052
	muAmalgam   = 1.2
	muComposite = 0.24
	muFilling   = 0.75
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
	a := muSoft*(13+3*slow+5*logistic((p.Y-j.gum.at(p.X))/0.25)) + j.boneAt(p, &t, lost, slow)
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
	if below < -1 {
		return 0
	}
	cover := logistic(below / 0.09)
	compact := 2.4 + 2.2*ramp(below/12)
	cancel := (3.5 + 5.5*ramp(below/9)) * (1 + 0.15*slow)
	free := max(cancel-0.9*(t.inside+t.space), 0.32*cancel)
	free *= 1 + 0.2*j.bone.at(p)
	rim := 1.6 * math.Exp(-0.5*(below-0.3)*(below-0.3)/(0.16*0.16))
	if t.inside+t.space > 0 {
		rim = 0
	}
	wall := 0.0
	for _, w := range j.nerve {
		wall += w.section(p).path(0)
	}
	return cover * (muCompact*(compact*(1-0.3*lost)+(rim+0.30*t.lamina+wall)*(1-lost)) +
		muCancel*free*(1-0.9*lost) - 0.010*t.space)
}
